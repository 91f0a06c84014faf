"""Answers about traps and filters, what is drawn through the lines, and sinks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta

from wasteledger.model.entries import LineCleaning, Swap
from wasteledger.model.facts import Subject
from wasteledger.model.filings import PaperKind, StatementTopic
from wasteledger.model.register import CleanerDetails, Register, RoomDetails, TrapDetails
from wasteledger.office.answers.inquiry import Inquiry, Noted, Registered, cited
from wasteledger.office.answers.points import Point, here, missing, shown, some, times
from wasteledger.office.answers.separators import ENTER
from wasteledger.office.provision_words import says
from wasteledger.office.words import count, short_day
from wasteledger.ordinance import CleanerFault, cleaner_findings, in_force
from wasteledger.ordinance.rules import CleanerLimit


def traps_everywhere(asked: Inquiry) -> Iterator[Point]:
    """Question 10: the register of traps against rooms and chairs."""
    traps = asked.registered(TrapDetails)
    rooms = [one for one in asked.registered(RoomDetails) if one.details.chairs]
    chairside = [one for one in traps if one.details.trap_kind.is_chairside]
    central = [one for one in traps if not one.details.trap_kind.is_chairside]
    chairs = sum(one.details.chairs for one in rooms)
    if chairside:
        kinds = _by_kind(chairside)
        words = f"{kinds} at {count(chairs, 'chair')} in {count(len(rooms), 'room')}."
        yield shown(words, [*(one.seq for one in chairside), *(one.seq for one in rooms)])
    number = Counter(one.details.room for one in chairside)
    bare = [one for one in rooms if not number[one.ref]]
    if bare:
        names = some([one.ref for one in bare], 8)
        yield missing(f"No trap is registered in {names}.", (one.seq for one in bare), do=ENTER)
    few = [one for one in rooms if 0 < number[one.ref] < one.details.chairs]
    for one in few:
        words = f"{one.ref}: {count(number[one.ref], 'trap')} at {count(one.details.chairs, 'chair')}."
        yield missing(words, (one.seq,), do=ENTER)
    if central:
        yield shown(f"In the vacuum line and at the pump: {_by_kind(central)}.", (one.seq for one in central))
    else:
        yield missing("No filter or trap of a pump is registered.", do=ENTER)


def cared_for(asked: Inquiry) -> Iterator[Point]:
    """Question 11: swaps against the intervals that were set, and line cleanings."""
    traps = asked.registered(TrapDetails)
    swaps = asked.within(Swap)
    for name, group in (
        ("chairside", [one for one in traps if one.details.trap_kind.is_chairside]),
        ("in the line and at the pump", [one for one in traps if not one.details.trap_kind.is_chairside]),
    ):
        refs = {one.ref for one in group}
        ours = [noted for noted in swaps if noted.body.trap in refs]
        if not group:
            continue
        origins = Counter(one.details.interval_origin for one in group)
        set_by = ", ".join(f"{origin or 'not said'} ({number})" for origin, number in origins.most_common())
        words = f"{count(len(group), 'trap')} {name}: {count(len(ours), 'swap')}; intervals set by: {set_by}."
        yield shown(words, (noted.seq for noted in ours)) if ours else missing(words, (one.seq for one in group))
        late = [noted for noted in ours if (noted.body.days_in_service or 0) > noted.body.interval_days]
        if late:
            worst = max(late, key=lambda noted: (noted.body.days_in_service or 0) - noted.body.interval_days)
            yield missing(
                f"{len(late)} of these swaps came later than the interval; the latest was {worst.body.trap} after "
                f"{count(worst.body.days_in_service or 0, 'day')}, where {worst.body.interval_days} are set. The "
                "interval is the office's own or a manual's, as named above.",
                (noted.seq for noted in late),
            )
    yield from _past_interval(asked, traps, swaps)
    cleanings = asked.within(LineCleaning)
    if cleanings:
        days = len({noted.on for noted in cleanings})
        words = f"Lines cleaned on {count(days, 'day')} of the period."
        yield shown(words, (noted.seq for noted in cleanings))
    else:
        yield missing("No line cleaning is recorded in the period.", do="wasteledger line-cleaning ROOM …")


def kept_from_sinks(asked: Inquiry) -> Iterator[Point]:
    """Question 12."""
    says = "traps, screens and parts of the separator are not rinsed at sinks"
    yield asked.stated(StatementTopic.TRAPS_KEPT_FROM_SINKS, says)
    yield from asked.filed(PaperKind.PROCEDURE, "Written procedure")
    yield here("The people who work here can be asked.")


def line_cleaner(asked: Inquiry) -> Iterator[Point]:
    """Question 15: every cleaner in the register or in use, its pH and what each rule in force says of it."""
    used = Counter(noted.body.cleaner for noted in asked.within(LineCleaning))
    there = {one.ref: one for one in asked.registered(CleanerDetails)} | _once_registered(asked, set(used))
    if not used:
        yield missing("No line cleaning is recorded in the period.", do="wasteledger line-cleaning ROOM …")
    limits = list(_limits(asked))
    for limit in limits:
        yield shown(_limit_words(limit))
    for ref, one in sorted(there.items()):
        details = one.details
        oxidises = "an oxidiser" if details.oxidiser else "no oxidiser"
        use = f", used {times(used[ref])} in the period" if details.used_in == "evacuation" else ", waterline"
        entries = [noted.seq for noted in asked.within(LineCleaning) if noted.body.cleaner == ref]
        contents = f", contains {', '.join(details.chemistry)}" if details.chemistry else ""
        yield shown(f"{details.name}: {_ph(details)}, {oxidises}{contents}{use}.", (one.seq, *entries))
        yield from _against(asked, one)
        yield _sheet(asked, one)
    if there and not limits:
        yield missing("No rule in force here says what a cleaner may be.")


def _limits(asked: Inquiry) -> Iterator[CleanerLimit]:
    for ordinance in in_force(asked.ordinances):
        for limit in ordinance.cleaners:
            if not limit.is_set_aside and limit.stands_on(asked.until):
                yield limit


def _limit_words(limit: CleanerLimit) -> str:
    """What a rule says of cleaners in figures and words that are checked here, and what of it is not."""
    asks = " ".join(says(limit))
    # Nothing in the register tells whether a product is biodegradable.
    unchecked = " That it is biodegradable is asked too, and not checked here." if "biodegrad" in limit.asks else ""
    return f"{limit.title} ({cited(limit)}): {asks}{unchecked}"


def _by_kind(traps: list[Registered[TrapDetails]]) -> str:
    kinds = Counter(one.details.trap_kind for one in traps)
    return ", ".join(f"{number} {kind.words}{'s' if number > 1 else ''}" for kind, number in kinds.items())


def _past_interval(asked: Inquiry, traps: list[Registered[TrapDetails]], swaps: list[Noted[Swap]]) -> Iterator[Point]:
    """Traps that at the end of the period had been in service longer than their interval."""
    last = {noted.body.trap: noted for noted in swaps}
    late: list[tuple[str, int]] = []
    for one in traps:
        begun, seq = _last_begun(asked, one, last.get(one.ref))
        if begun + timedelta(days=one.details.interval_days) < asked.until:
            late.append((f"{one.ref} since {short_day(begun)}", seq))
    if late:
        names = some([name for name, _ in late])
        words = f"Past the interval on {short_day(asked.until)}: {names}."
        yield missing(words, (seq for _, seq in late), do="wasteledger swap TRAP")


def _last_begun(asked: Inquiry, one: Registered[TrapDetails], newest: Noted[Swap] | None) -> tuple[date, int]:
    """Since when a trap had been in service at the end of the period, and the entry that shows it."""
    if newest is not None:
        return newest.on, newest.seq
    for fact in reversed(asked.reader.facts_about(Subject("trap", one.ref))):
        if isinstance(fact.body, Swap) and fact.happened_at < asked.end:
            return max(asked.day(fact.happened_at), one.since_on), fact.seq
    return one.since_on, one.seq


def _once_registered(asked: Inquiry, refs: set[str]) -> dict[str, Registered[CleanerDetails]]:
    """Cleaners that were used, as the register had them last, though they are out of service by now."""
    return {
        noted.body.ref: Registered(noted.body.ref, noted.body.details, noted.seq, noted.on)
        for noted in asked.until_end(Register)
        if isinstance(noted.body.details, CleanerDetails) and noted.body.ref in refs
    }


def _ph(details: CleanerDetails) -> str:
    stated = [f"{ph // 10}.{ph % 10}" for ph in (details.ph_low_tenths, details.ph_high_tenths) if ph is not None]
    return f"pH {' to '.join(dict.fromkeys(stated))}" if stated else "pH not entered"


def _against(asked: Inquiry, one: Registered[CleanerDetails]) -> Iterator[Point]:
    found = cleaner_findings(
        asked.ordinances,
        ph_low_tenths=one.details.ph_low_tenths,
        ph_high_tenths=one.details.ph_high_tenths,
        oxidiser=one.details.oxidiser,
        chemistry=one.details.chemistry,
    )
    for finding in found:
        unread = "" if finding.confirmed else ", not read at its source"
        unread += f", changed by {finding.override.by_title}" if finding.override is not None else ""
        do = ENTER if finding.fault is CleanerFault.PH_NOT_KNOWN else ""
        words = f"{one.details.name}: {finding.words} ({finding.ordinance_title}, {finding.citation}{unread})"
        yield missing(words, (one.seq,), do=do)


def _sheet(asked: Inquiry, one: Registered[CleanerDetails]) -> Point:
    names = {one.ref.casefold(), one.details.name.casefold()}
    papers = [noted for noted in asked.papers(PaperKind.SAFETY_SHEET) if (noted.body.about or "").casefold() in names]
    if papers:
        place = papers[0].body.place
        return shown(f"{one.details.name}: safety sheet on file in {place}.", (papers[0].seq,))
    if one.details.safety_sheet_on_file:
        return shown(f"{one.details.name}: safety sheet on file, as the register says.", (one.seq,))
    do = f"wasteledger paper safety_sheet --about {one.ref} --place …"
    return missing(f"{one.details.name}: no safety sheet is noted.", do=do)
