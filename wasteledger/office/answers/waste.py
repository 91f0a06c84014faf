"""Answers about what was caught: what went in, where it stands, what left, and what came of it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date, datetime

from dateutil.relativedelta import relativedelta

from wasteledger.model.entries import (
    ContainerOpened,
    Deposit,
    PickupReleased,
    Receipt,
    Swap,
    UnitReplaced,
)
from wasteledger.model.filings import PaperKind, StatementTopic
from wasteledger.model.findings import Weight
from wasteledger.model.register import ContainerTypeDetails, StreamDetails
from wasteledger.office.amounts import stated
from wasteledger.office.answers.inquiry import Inquiry, Noted
from wasteledger.office.answers.points import Point, here, missing, shown, some, times
from wasteledger.office.answers.separators import ENTER
from wasteledger.office.answers.weights_back import not_back, weights_that_disagree
from wasteledger.office.balance import opinion
from wasteledger.office.words import count, short_day
from wasteledger.units import Mass


def bulk_mercury(asked: Inquiry) -> Iterator[Point]:
    """Question 16."""
    yield asked.stated(StatementTopic.NO_BULK_MERCURY, "no liquid mercury is kept or used")
    yield here("Cupboards can be looked into.")


def all_recycled(asked: Inquiry) -> Iterator[Point]:
    """Question 17: what went in, by stream, and for what left the proof of recycling."""
    put_in = _put_in(asked)
    names = {one.ref: re.split("[:,]", one.details.name)[0] for one in asked.registered(StreamDetails)}
    if put_in:
        streams = Counter(stream for stream, _ in put_in)
        words = ", ".join(f"{names.get(stream, stream)} {times(number)}" for stream, number in streams.most_common())
        yield shown(f"Put into containers: {words}.", (seq for _, seq in put_in))
    else:
        yield missing("Nothing was put into a container in the period.")
    wanted = {stream: one.seq for one in asked.registered(ContainerTypeDetails) for stream in one.details.streams}
    never = [stream for stream in sorted(wanted) if stream not in {stream for stream, _ in put_in}]
    if never and put_in:
        which = some([names.get(stream, stream) for stream in never])
        words = f"Nothing was put in of: {which}; the journal does not say whether any came up."
        yield missing(words, (wanted[stream] for stream in never))
    left = asked.within(PickupReleased)
    if left:
        proofs = _papers_back(asked, "recycled")
        proved = [noted for noted in left if noted.body.pickup in proofs]
        number = sum(len(noted.body.containers) for noted in left)
        yield shown(
            f"{count(number, 'container')} left with {count(len(left), 'pickup')}; recycling is proved of "
            f"{len(proved)}.",
            (*(noted.seq for noted in left), *(proofs[noted.body.pickup].seq for noted in proved)),
        )
        yield from _open_papers(asked, left, proofs, "No proof of recycling of")
    else:
        yield missing("Nothing left in the period.")
    yield from _second_opinion(asked)
    yield asked.stated(StatementTopic.CAPSULES_RECYCLED, "capsules go to recycling")


def other_bins(asked: Inquiry) -> Iterator[Point]:
    """Question 18."""
    says = "amalgam goes into no red bag, sharps box, rubbish or drain"
    yield asked.stated(StatementTopic.AMALGAM_KEPT_FROM_OTHER_BINS, says)
    yield from asked.filed(PaperKind.PROCEDURE, "Written procedure")
    yield here("Bins and boxes can be looked into.")


def yearly_transfer(asked: Inquiry) -> Iterator[Point]:
    """Question 22: the days on which waste left, and what has stood longer than a year."""
    left = asked.until_end(PickupReleased)
    recent = [noted for noted in left if noted.on >= asked.since]
    a_year_ago: date = asked.until - relativedelta(years=1)
    if recent:
        days = some([f"{short_day(noted.on)} ({noted.body.pickup})" for noted in recent], 6)
        yield shown(f"Left on {days}.", (noted.seq for noted in recent))
    if not left:
        yield missing("Nothing has left yet.")
    elif left[-1].on < a_year_ago:
        yield missing(f"Nothing has left since {short_day(left[-1].on)}, over a year.", (left[-1].seq,))
    elif not recent:
        yield shown(f"Nothing left in the period; the last time was on {short_day(left[-1].on)}.", (left[-1].seq,))
    old = [
        (f"{one.body.container} since {short_day(asked.day(first))}", one.seq)
        for one in on_site(asked)
        if (first := _first_waste(asked, one.body.container)) is not None and asked.day(first) < a_year_ago
    ]
    if old:
        words = f"First waste over a year old: {some([name for name, _ in old])}."
        yield missing(words, (seq for _, seq in old), do="wasteledger pickup plan")


def last_recycler(asked: Inquiry) -> Iterator[Point]:
    """Question 24: for every pickup of the period the facility that its papers name last, with its address."""
    left = asked.within(PickupReleased)
    if not left:
        yield shown("Nothing left in the period.")
        return
    named: dict[str, list[Noted[PickupReleased]]] = {}
    seqs: dict[str, list[int]] = {}
    silent: list[Noted[PickupReleased]] = []
    for noted in left:
        papers = [one for one in asked.until_end(Receipt) if one.body.pickup == noted.body.pickup]
        final = next((one for one in reversed(papers) if one.body.final_facility), None)
        if final is None:
            silent.append(noted)
            continue
        facility = noted.body.facility
        where = final.body.final_facility or ""
        if where.casefold() == facility.name.casefold() and facility.address:
            where = f"{facility.name}, {', '.join(facility.address)}"
        named.setdefault(where, []).append(noted)
        seqs.setdefault(where, []).extend((noted.seq, final.seq))
    for where, ones in named.items():
        yield shown(f"{where}: {some([noted.body.pickup for noted in ones])}.", seqs[where])
    if silent:
        refs = some([noted.body.pickup for noted in silent])
        words = f"No paper that came back names the last facility of: {refs}."
        yield missing(words, (noted.seq for noted in silent), do="wasteledger pickup receive … --final-facility …")
    for facility in {noted.body.facility.name: noted.body.facility for noted in left}.values():
        sent = [noted for noted in left if noted.body.facility.name == facility.name]
        address = ", ".join(facility.address)
        if address:
            words = f"Sent to {facility.name}, {address}{f', permit {facility.permit}' if facility.permit else ''}."
            yield shown(words, (noted.seq for noted in sent))
        else:
            do = ENTER
            yield missing(f"Sent to {facility.name}; no address is entered.", (noted.seq for noted in sent), do=do)


def amount(asked: Inquiry) -> Iterator[Point]:
    """Question 25: what left in the period as stated then, weighed and estimated apart, and what was received of it."""
    left = asked.within(PickupReleased)
    if not left:
        yield shown("Nothing left in the period.")
        return
    containers = [one for noted in left for one in noted.body.containers]
    weighed = [one for one in containers if one.basis == "weighed"]
    estimated = [one for one in containers if one.basis == "estimate"]
    for group in (weighed, estimated):
        if group:
            words = f"{count(len(group), 'container')} left with {stated(group).words}."
            yield shown(words, (noted.seq for noted in left))
    refs = {noted.body.pickup for noted in left}
    papers = [noted for noted in asked.until_end(Receipt) if noted.body.pickup in refs]
    received = {one.container: (one.net_mg, noted.seq) for noted in papers for one in noted.body.containers}
    if received:
        total = Mass(sum(net for net, _ in received.values()))
        words = f"Of these the facility states {total} for {count(len(received), 'container')}."
        yield shown(words, (seq for _, seq in received.values()))
    totals = [noted for noted in papers if noted.body.total_mg is not None and not noted.body.containers]
    if totals:
        total = Mass(sum(noted.body.total_mg or 0 for noted in totals))
        words = f"Of {count(len(totals), 'pickup')} the facility states {total} in all."
        yield shown(words, (noted.seq for noted in totals))
    yield from weights_that_disagree(asked, left)
    unstated = {one.container for one in containers} - received.keys() - _of_pickups(left, totals)
    if unstated:
        yield missing(f"No received weight of: {some(sorted(unstated))}.")


def _put_in(asked: Inquiry) -> list[tuple[str, int]]:
    found = [(noted.body.stream, noted.seq) for noted in asked.within(Swap)]
    found += [(noted.body.stream, noted.seq) for noted in asked.within(Deposit)]
    found += [(noted.body.stream, noted.seq) for noted in asked.within(UnitReplaced)]
    return found


def _second_opinion(asked: Inquiry) -> Iterator[Point]:
    """What the second opinion finds in the days of the period: waste that did not come where it was to be expected."""
    # Single entries may tell of days before the first trap was in service; nothing can be missing of those.
    began = [asked.day(one.in_service_at) for one in asked.reader.traps(retired=True)]
    first = max(asked.since, min(began, default=asked.since))
    if not began or first > asked.until:
        return
    found = opinion(asked.reader, asked.zone, asked.until, since=first, until=asked.until, with_weighings=False)
    pressing = [one for one in found.findings if one.weight is not Weight.NOTE]
    if pressing:
        more = f" And {len(pressing) - 1} more." if len(pressing) > 1 else ""
        do = f"wasteledger balance --from {first.isoformat()} --to {asked.until.isoformat()}"
        found_in = {seq for one in pressing for seq in one.seqs}
        seqs = [seq for seq in found_in if asked.reader.get_entry(seq).happened_at < asked.end]
        yield missing(f"Second opinion, {pressing[0].place}: {pressing[0].says}{more}", seqs, do=do)


def _papers_back(asked: Inquiry, proves: str) -> dict[str, Noted[Receipt]]:
    return {noted.body.pickup: noted for noted in asked.until_end(Receipt) if noted.body.proves in (proves, "both")}


def _open_papers(
    asked: Inquiry, left: Sequence[Noted[PickupReleased]], back: dict[str, Noted[Receipt]], says: str
) -> Iterator[Point]:
    for noted in left:
        if noted.body.pickup not in back:
            later = [one for one in asked.later(Receipt) if one.body.proves in ("recycled", "both")]
            yield not_back(asked, noted, later, says)


def on_site(asked: Inquiry) -> list[Noted[ContainerOpened]]:
    """Containers that had been opened and had not left at the end of the period."""
    gone = {one.container for noted in asked.until_end(PickupReleased) for one in noted.body.containers}
    return [noted for noted in asked.until_end(ContainerOpened) if noted.body.container not in gone]


def _first_waste(asked: Inquiry, container: str) -> datetime | None:
    standing = asked.reader.find_container(container)
    first = standing.first_waste_at if standing is not None else None
    return first if first is not None and first < asked.end else None


def _of_pickups(left: Sequence[Noted[PickupReleased]], totals: Sequence[Noted[Receipt]]) -> set[str]:
    refs = {noted.body.pickup for noted in totals}
    return {one.container for noted in left if noted.body.pickup in refs for one in noted.body.containers}
