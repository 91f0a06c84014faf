"""Answers about the containers on site: whether there are any, how they are made, and what rules ask of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wasteledger.model.entries import ContainerClosed, ContainerMoved, ContainerOpened
from wasteledger.model.filings import DutyDone
from wasteledger.model.register import ContainerTypeDetails, Register, TrapDetails
from wasteledger.office.answers.inquiry import Inquiry, Noted, Registered, cited
from wasteledger.office.answers.points import Point, here, missing, shown, some, times
from wasteledger.office.answers.waste import on_site
from wasteledger.office.words import count, short_day
from wasteledger.ordinance import Duty, Provision, container_needs, label_elements, label_words
from wasteledger.ordinance.rules import ContainerNeeds, LabelWords
from wasteledger.ordinance.words import ContainerNeed

_OPEN = "wasteledger container open REF --type …"


def containers_here(asked: Inquiry) -> Iterator[Point]:
    """Question 19: what stood on site at the end of the period."""
    standing = on_site(asked)
    if standing:
        places = _places(asked)
        listed = [f"{one.body.container} ({', '.join(one.body.streams)}{_at(one, places)})" for one in standing]
        words = f"On site on {short_day(asked.until)}: {some(listed, 8)}."
        yield shown(words, (one.seq for one in standing))
    else:
        yield missing("No container stands here.", do=_OPEN)
    closed = {noted.body.container for noted in asked.until_end(ContainerClosed)}
    taken = {stream for one in standing if one.body.container not in closed for stream in one.body.streams}
    used = sorted({one.details.stream for one in asked.registered(TrapDetails)} - taken)
    if used:
        yield missing(f"No open container takes: {', '.join(used)}.", do=_OPEN)


def containers_sound(asked: Inquiry) -> Iterator[Point]:
    """Question 20: how they are made, what labels are to say, and when they were looked at."""
    standing = on_site(asked)
    yield from _asked_of(asked, standing)
    yield from _how_made(asked, standing)
    looks = [noted for noted in asked.within(DutyDone) if noted.body.duty == Duty.LOOK_AT_CONTAINERS]
    if looks:
        words = f"Containers looked at {times(len(looks))} in the period, last on {short_day(looks[-1].on)}."
        yield shown(words, (noted.seq for noted in looks))
    if standing:
        yield here(f"Lids, walls and labels can be seen at {count(len(standing), 'container')}.")
    else:
        yield missing("No container stands here.")


def _places(asked: Inquiry) -> dict[str, str]:
    return {noted.body.container: noted.body.place for noted in asked.until_end(ContainerMoved)}


def _at(one: Noted[ContainerOpened], places: dict[str, str]) -> str:
    place = places.get(one.body.container, one.body.place)
    return f"; {place}" if place else ""


def _asked_of(asked: Inquiry, standing: Sequence[Noted[ContainerOpened]]) -> Iterator[Point]:
    """What each rule in force asks of the containers on site and of their labels, under the rule's own title."""
    found: dict[str, Provision] = {}
    for stream in sorted({stream for one in standing for stream in one.body.streams}):
        for ask in (container_needs, label_words, label_elements):
            for said in ask(asked.ordinances, stream, on=asked.until):
                found.setdefault(f"{said.ordinance.id}:{said.provision.id}", said.provision)
    for provision in found.values():
        words: list[str] = []
        match provision:
            case ContainerNeeds():
                words += [need.words for need in provision.needs]
                words += [f"no {what} added" for what in provision.never_add]
            case LabelWords():
                words += [f"“{line}”" for line in provision.lines]
                words += [element.words for element in provision.elements]
        yield shown(f"{provision.title} ({cited(provision)}): {'; '.join(words)}.")


def _how_made(asked: Inquiry, standing: Sequence[Noted[ContainerOpened]]) -> Iterator[Point]:
    """How the types in use are made, as entered, and what of that the rules ask and nobody entered."""
    types = _types(asked)
    for ref in sorted({one.body.container_type for one in standing} & types.keys()):
        ours = [one for one in standing if one.body.container_type == ref]
        yield from _made(asked, types[ref], ours)


def _made(
    asked: Inquiry, one: Registered[ContainerTypeDetails], ours: Sequence[Noted[ContainerOpened]]
) -> Iterator[Point]:
    features = one.details.features or ()
    if features:
        made = ", ".join(feature.replace("_", "-") for feature in features)
        yield shown(f"{one.details.name}: {made}, as entered.", (one.seq,))
    for lacking, which in _lacking(asked, ours, features).items():
        names = ", ".join(noted.body.container for noted in which)
        words = f"{one.details.name} ({names}): not entered as {', '.join(lacking)}, which rules in force ask."
        do = "enter features in the plan: wasteledger register update"
        yield missing(words, (one.seq, *(noted.seq for noted in which)), do=do)


def _lacking(
    asked: Inquiry, ours: Sequence[Noted[ContainerOpened]], features: Sequence[str]
) -> dict[tuple[str, ...], list[Noted[ContainerOpened]]]:
    """The containers of a type by what they lack: what is asked depends on the streams in each."""
    found: dict[tuple[str, ...], list[Noted[ContainerOpened]]] = {}
    for one in ours:
        wanted: set[ContainerNeed] = set()
        for stream in one.body.streams:
            for said in container_needs(asked.ordinances, stream, on=asked.until):
                wanted.update(said.provision.needs)
        # Whether a lid is shut at this moment is no feature of its container.
        wanted.discard(ContainerNeed.CLOSED)
        lacks = tuple(need.words for need in ContainerNeed if need in wanted and need.value not in features)
        if lacks:
            found.setdefault(lacks, []).append(one)
    return found


def _types(asked: Inquiry) -> dict[str, Registered[ContainerTypeDetails]]:
    """Every type as the register had it last: a container of a type that was retired stands on."""
    return {
        noted.body.ref: Registered(noted.body.ref, noted.body.details, noted.seq, noted.on)
        for noted in asked.until_end(Register)
        if isinstance(noted.body.details, ContainerTypeDetails)
    }
