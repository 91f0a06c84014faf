"""The undated part of the ordinances in force: labels, containers, papers, categories, codes, marks, practices.

Each answer names the ordinance that it comes from, in the order in force. What a nearer ordinance sets aside is left
out, and so is, where a day is given, what does not stand on it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Generic, TypeVar

from wasteledger.ordinance.merge import in_force
from wasteledger.ordinance.rules import (
    Category,
    ContainerNeeds,
    FillMarks,
    LabelWords,
    Ordinance,
    Practice,
    Provision,
    RemovalMinimum,
    ReportContents,
    Scope,
    SharingRule,
    ShipmentPaper,
    Uncounted,
    WasteCode,
)

Said = TypeVar("Said", bound=Provision)


@dataclass(frozen=True, slots=True)
class SaidBy(Generic[Said]):
    """A provision, and the ordinance that it stands in."""

    ordinance: Ordinance
    provision: Said


def label_words(
    ordinances: Sequence[Ordinance], stream: str, *, on: date | None = None
) -> tuple[SaidBy[LabelWords], ...]:
    """The fixed lines that each ordinance wants on a container of that waste stream."""
    return tuple(said for said in _labels(ordinances, stream, on) if said.provision.lines)


def label_elements(
    ordinances: Sequence[Ordinance], stream: str, *, on: date | None = None
) -> tuple[SaidBy[LabelWords], ...]:
    """What each ordinance wants filled in on the label of a container of that waste stream."""
    return tuple(said for said in _labels(ordinances, stream, on) if said.provision.elements)


def container_needs(
    ordinances: Sequence[Ordinance], stream: str, *, on: date | None = None
) -> tuple[SaidBy[ContainerNeeds], ...]:
    """What a container of that waste stream must be, and what never goes into it."""
    found = _all_of(ordinances, ContainerNeeds, on)
    return tuple(said for said in found if not said.provision.streams or stream in said.provision.streams)


def sharing_rules(ordinances: Sequence[Ordinance], *, on: date | None = None) -> tuple[SaidBy[SharingRule], ...]:
    """Which two streams may lie together."""
    return tuple(_all_of(ordinances, SharingRule, on))


def shipment_papers(ordinances: Sequence[Ordinance], *, on: date | None = None) -> tuple[SaidBy[ShipmentPaper], ...]:
    """What goes with a pickup."""
    return tuple(_all_of(ordinances, ShipmentPaper, on))


def categories(ordinances: Sequence[Ordinance], *, on: date | None = None) -> tuple[SaidBy[Category], ...]:
    """The generator categories, those of one ordinance together, the least waste first."""
    by_ordinance = _all_of(ordinances, Category, on)
    places = {ordinance.id: place for place, ordinance in enumerate(ordinances)}
    return tuple(sorted(by_ordinance, key=lambda said: (places[said.ordinance.id], said.provision.rank)))


def uncounted(ordinances: Sequence[Ordinance], *, on: date | None = None) -> tuple[SaidBy[Uncounted], ...]:
    """Streams that are left out of the month's count; each ordinance leaves them out of its own count only."""
    return tuple(_all_of(ordinances, Uncounted, on))


def reports(ordinances: Sequence[Ordinance], *, on: date | None = None) -> tuple[SaidBy[ReportContents], ...]:
    """What the reports to each authority say."""
    return tuple(_all_of(ordinances, ReportContents, on))


def waste_codes(ordinances: Sequence[Ordinance], *, on: date | None = None) -> tuple[SaidBy[WasteCode], ...]:
    """The codes under which papers name the waste."""
    return tuple(_all_of(ordinances, WasteCode, on))


def practices(ordinances: Sequence[Ordinance], *, on: date | None = None) -> tuple[SaidBy[Practice], ...]:
    """What is always to be done, or never."""
    return tuple(_all_of(ordinances, Practice, on))


def scopes(ordinances: Sequence[Ordinance], *, on: date | None = None) -> tuple[SaidBy[Scope], ...]:
    """Whom each ordinance speaks to."""
    return tuple(_all_of(ordinances, Scope, on))


def removal_minimum(ordinances: Sequence[Ordinance], installed_on: date) -> SaidBy[RemovalMinimum] | None:
    """The highest share that a separator installed on that day must hold back; None when no ordinance sets one."""
    found = [said for said in _all_of(ordinances, RemovalMinimum) if _speaks_of(said.provision, installed_on)]
    return max(found, key=lambda said: said.provision.at_least_percent, default=None)


def lowest_fill_marks(ordinances: Sequence[Ordinance]) -> tuple[SaidBy[FillMarks], SaidBy[FillMarks]] | None:
    """Where the lowest mark for planning a pickup, and the lowest for closing, are set; None when none is."""
    found = list(_all_of(ordinances, FillMarks))
    if not found:
        return None
    plan = min(found, key=lambda said: said.provision.plan_at_permille)
    close = min(found, key=lambda said: said.provision.close_at_permille)
    return plan, close


def _labels(ordinances: Sequence[Ordinance], stream: str, on: date | None) -> Iterator[SaidBy[LabelWords]]:
    for said in _all_of(ordinances, LabelWords, on):
        if not said.provision.streams or stream in said.provision.streams:
            yield said


def _all_of(ordinances: Sequence[Ordinance], kind: type[Said], on: date | None = None) -> Iterator[SaidBy[Said]]:
    for ordinance in in_force(ordinances):
        for provision in ordinance.provisions:
            if not isinstance(provision, kind) or provision.is_set_aside:
                continue
            if on is None or provision.stands_on(on):
                yield SaidBy(ordinance, provision)


def _speaks_of(minimum: RemovalMinimum, installed_on: date) -> bool:
    begun = minimum.installed_from is None or installed_on >= minimum.installed_from
    ended = minimum.installed_before is not None and installed_on >= minimum.installed_before
    return begun and not ended
