"""Answers about the separator's care: inspections, the level in its unit, exchanges, repairs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import NamedTuple

from dateutil.relativedelta import relativedelta

from wasteledger.model.entries import Repair, SeparatorInspection, UnitReplaced
from wasteledger.model.filings import PaperKind
from wasteledger.office.answers.inquiry import Inquiry, Noted, cited
from wasteledger.office.answers.points import Point, here, missing, shown, some, times
from wasteledger.office.answers.separators import ENTER, Separator, inspect_with, is_of, no_separator, separators
from wasteledger.office.due import calendar_of
from wasteledger.office.words import count, short_day
from wasteledger.ordinance import Duty
from wasteledger.ordinance.days import Interval, deadline_after
from wasteledger.ordinance.rules import After, Rule

Exchange = Noted[UnitReplaced] | Noted[Repair]

_FULL_PERMILLE = 1000
_WEEK_DAYS = 7


def inspected_by_the_manual(asked: Inquiry) -> Iterator[Point]:
    """Question 5: the distances between inspections against the manual's interval, as entered, and a rule's own."""
    there = separators(asked)
    if not there:
        yield no_separator()
    for one in there:
        every = one.details.inspect_every_days
        if every is None:
            yield missing(f"{one.ref}: the manual's interval of inspection is not entered.", (one.seq,), do=ENTER)
        yield from _inspections(asked, one, every)


def weekly_log(asked: Inquiry) -> Iterator[Point]:
    """Question 6: calendar weeks in which the practice worked, with and without an inspection."""
    there = separators(asked)
    if not there:
        yield no_separator()
    calendar = calendar_of(asked.reader)
    for one in there:
        seen = [noted for noted in asked.within(SeparatorInspection) if is_of(noted.body, one)]
        begin, _ = _begins(asked, one)
        if begin > asked.until:
            yield shown(f"{one.ref}: not in use before {short_day(begin)}, after the period.", (one.seq,))
            continue
        looked = {_monday(noted.on) for noted in seen}
        spans = [span for span in _weeks(begin, asked.until) if any(map(calendar.works_on, _days(*span)))]
        weeks = [first for first, last in spans if (last - first).days == _WEEK_DAYS - 1]
        without = [week for week in weeks if week not in looked]
        parts = [
            f"{short_day(first)} to {short_day(last)}, {'one' if _monday(first) in looked else 'none'} in it"
            for first, last in spans
            if first not in weeks
        ]
        if parts:
            yield shown(f"{one.ref}: part-weeks at an end of the period are not counted: {'; '.join(parts)}.")
        if not weeks:
            yield missing(f"{one.ref}: no whole working week lies in the period.")
            continue
        made = len(weeks) - len(without)
        if made:
            words = f"{one.ref}: an inspection in {made} of {count(len(weeks), 'working week')}."
            yield shown(words, (noted.seq for noted in seen))
        if without:
            which = some([short_day(week) for week in without])
            yield missing(f"{one.ref}: none in the week of {which}.", do=inspect_with(one))


def too_full(asked: Inquiry) -> Iterator[Point]:
    """Question 7: the last level that was read since the unit was exchanged, and pictures."""
    there = separators(asked)
    if not there:
        yield no_separator()
        return
    for one in there:
        changed = _exchanges(asked, one)
        last = changed[-1] if changed else None
        read = [
            noted
            for noted in asked.until_end(SeparatorInspection)
            if is_of(noted.body, one)
            and noted.body.level_permille is not None
            and (last is None or noted.fact.order > last.fact.order)
        ]
        if not read:
            since = f" since the unit was exchanged on {short_day(last.on)}" if last is not None else ""
            do = f"{inspect_with(one)} --level 40%"
            yield missing(f"{one.ref}: no level was read{since}.", (last.seq,) if last is not None else (), do=do)
            continue
        newest = read[-1]
        level = newest.body.level_permille or 0
        says = f"{one.ref}: level {level / 10:g} % of its mark on {short_day(newest.on)}"
        if level >= _FULL_PERMILLE:
            yield _no_exchange(asked, one, says, newest)
        elif newest.on < asked.since:
            yield missing(f"{says}; none was read in the period.", (newest.seq,), do=inspect_with(one))
        else:
            yield shown(f"{says}.", (newest.seq,))
    yield from asked.filed(PaperKind.SEPARATOR_PHOTO, "Photograph")
    yield here("The level can be seen at the unit.")


def full_units_exchanged(asked: Inquiry) -> Iterator[Point]:
    """Question 8: exchanges of the period, readings of a full unit, and the manual's interval."""
    there = separators(asked)
    if not there:
        yield no_separator()
    for one in there:
        changed = _exchanges(asked, one)
        recent = [noted for noted in changed if noted.on >= asked.since]
        if recent:
            days = some([short_day(noted.on) for noted in recent])
            yield shown(f"{one.ref}: unit exchanged on {days}.", (noted.seq for noted in recent))
        elif changed:
            words = f"{one.ref}: no exchange in the period; the last one was on {short_day(changed[-1].on)}."
            yield shown(words, (changed[-1].seq,))
        else:
            yield missing(f"{one.ref}: no exchange of its unit is recorded.", (one.seq,))
        yield from _read_as_full(asked, one, changed)
        yield from _by_schedule(asked, one, changed)


def repairs(asked: Inquiry) -> Iterator[Point]:
    """Question 27: each repair of the period, and malfunctions that no repair follows."""
    found = asked.within(Repair)
    for one in found:
        body = one.body
        what = " ".join(part for part in (body.make, body.model) if part)
        words = f"{body.separator} {body.action} on {short_day(one.on)} by {body.done_by}"
        yield shown(f"{words}{f' ({what})' if what else ''}: {_one_line(body.description)}.", (one.seq,))
        lacking = [name for name, value in (("make", body.make), ("model", body.model)) if not value]
        if lacking:
            yield missing(f"The repair of {short_day(one.on)} names no {' and no '.join(lacking)}.", (one.seq,))
    if not found:
        yield shown("No repair is recorded in the period.")
    yield from open_malfunctions(asked)


def open_malfunctions(asked: Inquiry) -> Iterator[Point]:
    """Malfunctions that were found, up to the end of the period, and that no later repair answers."""
    for one in separators(asked):
        for noted in asked.until_end(SeparatorInspection):
            if not is_of(noted.body, one) or noted.body.result != "malfunction":
                continue
            repair = mended_by(asked, noted)
            words = f"{one.ref}: malfunction found on {short_day(noted.on)}, and no repair recorded"
            if repair is None:
                yield missing(f"{words} since.", (noted.seq,), do=f"wasteledger separator repair {one.ref} …")
            elif repair.on > asked.until:
                yield shown(f"{words} {_up_to(asked)}; repaired on {_later_words(repair)}.", (noted.seq,))


def mended_by(asked: Inquiry, noted: Noted[SeparatorInspection]) -> Noted[Repair] | None:
    """The first repair of that separator after an inspection, be it after the period; None where there is none."""
    repairs = [*asked.until_end(Repair), *asked.later(Repair)]
    after = [one for one in repairs if one.body.separator == noted.body.separator and one.fact.order > noted.fact.order]
    return min(after, key=lambda one: one.fact.order, default=None)


def _inspections(asked: Inquiry, one: Separator, every: int | None) -> Iterator[Point]:
    seen = [noted for noted in asked.until_end(SeparatorInspection) if is_of(noted.body, one)]
    begin, anchor = _begins(asked, one)
    if begin > asked.until:
        yield shown(f"{one.ref}: not in use before {short_day(begin)}, after the period.", (one.seq,))
        return
    within = [noted for noted in seen if noted.on >= begin]
    # Without an earlier inspection the time counts from the first day of the period, or of the separator.
    days = [anchor[0].on if anchor else begin, *(noted.on for noted in within), asked.until]
    entries = [anchor[0].seq if anchor else 0, *(noted.seq for noted in within), 0]
    spans = [(days[n], days[n + 1], entries[n], entries[n + 1]) for n in range(len(days) - 1)]
    by_manual = f" Its manual asks for one every {every} days, as entered." if every else ""
    by_manual += f" Counted from {short_day(begin)}, when it began here." if begin > asked.since and not anchor else ""
    shortest = _shortest(asked)
    by_rule = f" {shortest.rule.id} of {shortest.title} asks for one every {shortest.every}." if shortest else ""
    if not within:
        words = f"{one.ref}: no inspection in the period.{by_manual}{by_rule}"
        yield missing(words, (one.seq,), do=inspect_with(one))
        return
    longest = max((last - first).days for first, last, *_ in spans)
    made = f"{one.ref}: {count(len(within), 'inspection')} in the period, never more than {longest} days without one."
    yield shown(f"{made}{by_manual}{by_rule}", (noted.seq for noted in within))
    late = [span for span in spans if every and (span[1] - span[0]).days > every]
    if late:
        what = f"the {every} days of its manual" if shortest else "that"
        yield _too_long(one, late, what)
    if shortest:
        broken = [
            span
            for span in spans
            if shortest.rule.stands_on(span[0]) and span[1] > deadline_after(span[0], shortest.every)
        ]
        if broken:
            yield _too_long(one, broken, f"the {shortest.every} of {shortest.rule.id} ({cited(shortest.rule)})")


def _too_long(one: Separator, late: Sequence[tuple[date, date, int, int]], than: str) -> Point:
    which = some([f"{short_day(first)} to {short_day(last)}" for first, last, *_ in late], 3)
    words = f"{one.ref}: {times(len(late))} longer than {than} without one: {which}."
    return missing(words, (seq for span in late for seq in span[2:]))


class _RuleInterval(NamedTuple):
    """A rule that sets its own distance between inspections, and whose it is."""

    title: str
    rule: Rule
    every: Interval


def _shortest(asked: Inquiry) -> _RuleInterval | None:
    """The shortest distance between inspections that a rule in force sets by itself; None where none does."""
    found = [
        _RuleInterval(ordinance.title, rule, rule.due.interval)
        for ordinance in asked.ordinances
        for rule in ordinance.rules
        if rule.duty == Duty.INSPECT_SEPARATOR
        and isinstance(rule.due, After)
        and not rule.is_set_aside
        and rule.stands_on(asked.until)
    ]
    return min(found, key=lambda one: deadline_after(asked.since, one.every), default=None)


def _exchanges(asked: Inquiry, one: Separator) -> list[Exchange]:
    return _of_unit([*asked.until_end(UnitReplaced), *asked.until_end(Repair)], one)


def _of_unit(noted: Iterable[Exchange], one: Separator) -> list[Exchange]:
    """Exchanges of its unit, and of all of it, in their order."""
    ours = [found for found in noted if is_of(found.body, one)]
    units = [found for found in ours if not isinstance(found.body, Repair) or found.body.action == "replaced"]
    return sorted(units, key=lambda found: found.fact.order)


def _no_exchange(asked: Inquiry, one: Separator, says: str, full: Noted[SeparatorInspection]) -> Point:
    later = _of_unit([*asked.later(UnitReplaced), *asked.later(Repair)], one)
    if later:
        return shown(f"{says}, and no exchange {_up_to(asked)}; exchanged on {_later_words(later[0])}.", (full.seq,))
    return missing(f"{says}, and no exchange since.", (full.seq,))


def _up_to(asked: Inquiry) -> str:
    return f"up to {short_day(asked.until)}"


def _later_words(noted: Exchange) -> str:
    """The day of what came after the period, and its entry; it is no evidence of the period, so it stands in words."""
    return f"{short_day(noted.on)} (entry {noted.seq})"


def _read_as_full(asked: Inquiry, one: Separator, changed: list[Exchange]) -> Iterator[Point]:
    told: set[int] = set()
    for noted in asked.within(SeparatorInspection):
        level = noted.body.level_permille
        if not is_of(noted.body, one) or level is None or level < _FULL_PERMILLE:
            continue
        after = next((later for later in changed if later.fact.order > noted.fact.order), None)
        key = after.seq if after is not None else 0
        if key in told:
            continue
        told.add(key)
        says = f"{one.ref}: read as {level / 10:g} % full on {short_day(noted.on)}"
        if after is None:
            yield _no_exchange(asked, one, says, noted)
        else:
            days = (after.on - noted.on).days
            when = f"{count(days, 'day')} later" if days else "the same day"
            yield shown(f"{says}, exchanged {when}.", (noted.seq, after.seq))


def _by_schedule(asked: Inquiry, one: Separator, changed: list[Exchange]) -> Iterator[Point]:
    months = one.details.replace_unit_every_months
    if months is None:
        yield missing(f"{one.ref}: the manual's interval of exchange is not entered.", (one.seq,), do=ENTER)
        return
    start = changed[-1].on if changed else one.details.installed_on or one.since_on
    end: date = start + relativedelta(months=months)
    words = f"{one.ref}: its manual asks for an exchange every {months} months, as entered"
    if end < asked.until:
        yield missing(f"{words}; those were over on {short_day(end)}.", (one.seq,))
    else:
        yield shown(f"{words}; the next by {short_day(end)}.", (one.seq,))


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _weeks(first: date, last: date) -> Iterator[tuple[date, date]]:
    """The calendar weeks of a period, first and last day; those at its ends may be cut short by it."""
    monday = _monday(first)
    while monday <= last:
        yield max(monday, first), min(monday + timedelta(days=_WEEK_DAYS - 1), last)
        monday += timedelta(days=_WEEK_DAYS)


def _days(first: date, last: date) -> list[date]:
    return [first + timedelta(days=number) for number in range((last - first).days + 1)]


def _begins(asked: Inquiry, one: Separator) -> tuple[date, list[Noted[SeparatorInspection]]]:
    """The day from which inspections can be asked for, and the last one before it that the count goes on from.

    That is the latest of the period's first day, the registration and the installation. What was inspected was there,
    though: an inspection of before, in the period, brings the day forward.
    """
    seen = [noted for noted in asked.until_end(SeparatorInspection) if is_of(noted.body, one)]
    began = max(one.since_on, one.details.installed_on or one.since_on)
    earlier = [noted for noted in seen if noted.on < asked.since]
    if any(asked.since <= noted.on < began for noted in seen):
        return (asked.since, earlier[-1:]) if earlier else (seen[0].on, [])
    # The inspections of a device that stood there before are none of this one.
    return max(asked.since, began), [noted for noted in earlier if noted.on >= began][-1:]


def _one_line(text: str) -> str:
    return " ".join(text.split()).rstrip(".")
