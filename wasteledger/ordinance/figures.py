"""The undated part of the ordinances in force: words on labels, waste codes, fill marks, removal minima, practices.

Each answer names the ordinance that it comes from. What a nearer ordinance sets aside is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Generic, TypeVar

from wasteledger.ordinance.merge import in_force
from wasteledger.ordinance.rules import (
    FillMarks,
    LabelWords,
    Ordinance,
    Practice,
    Provision,
    RemovalMinimum,
    Scope,
    WasteCode,
)

Said = TypeVar("Said", bound=Provision)


@dataclass(frozen=True, slots=True)
class SaidBy(Generic[Said]):
    """A provision, and the ordinance that it stands in."""

    ordinance: Ordinance
    provision: Said


def label_words(ordinances: Sequence[Ordinance], stream: str) -> tuple[SaidBy[LabelWords], ...]:
    """The lines of words that each ordinance wants on a container of that waste stream, in the order in force."""
    found = _all_of(ordinances, LabelWords)
    return tuple(said for said in found if not said.provision.streams or stream in said.provision.streams)


def waste_codes(ordinances: Sequence[Ordinance]) -> tuple[SaidBy[WasteCode], ...]:
    """The codes under which papers name the waste."""
    return tuple(_all_of(ordinances, WasteCode))


def practices(ordinances: Sequence[Ordinance]) -> tuple[SaidBy[Practice], ...]:
    """What is always to be done, or never."""
    return tuple(_all_of(ordinances, Practice))


def scopes(ordinances: Sequence[Ordinance]) -> tuple[SaidBy[Scope], ...]:
    """Whom each ordinance speaks to."""
    return tuple(_all_of(ordinances, Scope))


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


def _all_of(ordinances: Sequence[Ordinance], kind: type[Said]) -> Iterator[SaidBy[Said]]:
    for ordinance in in_force(ordinances):
        for provision in ordinance.provisions:
            if isinstance(provision, kind) and not provision.is_set_aside:
                yield SaidBy(ordinance, provision)


def _speaks_of(minimum: RemovalMinimum, installed_on: date) -> bool:
    begun = minimum.installed_from is None or installed_on >= minimum.installed_from
    ended = minimum.installed_before is not None and installed_on >= minimum.installed_before
    return begun and not ended
