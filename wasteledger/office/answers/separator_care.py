"""Answers about the separator's care: inspections, the level in its unit, exchanges, repairs."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from dateutil.relativedelta import relativedelta

from wasteledger.model.entries import Repair, SeparatorInspection, UnitReplaced
from wasteledger.model.filings import PaperKind
from wasteledger.office.answers.inquiry import Inquiry, Noted
from wasteledger.office.answers.points import Point, count, day_words, here, missing, shown, some, times
from wasteledger.office.answers.separators import ENTER, Separator, inspect_with, is_of, no_separator, separators
from wasteledger.office.due import calendar_of

_FULL_PERMILLE = 1000
_WEEK_DAYS = 7


def inspected_by_the_manual(asked: Inquiry) -> Iterator[Point]:
    """Question 5: the distances between inspections against the manual's interval, as entered."""
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
        looked = {_monday(noted.on) for noted in seen}
        weeks = [
            monday
            for monday in _whole_weeks(max(asked.since, one.since_on), asked.until)
            if any(calendar.works_on(monday + timedelta(days=number)) for number in range(_WEEK_DAYS))
        ]
        without = [week for week in weeks if week not in looked]
        if not weeks:
            yield missing(f"{one.ref}: no whole working week lies in the period.")
            continue
        made = len(weeks) - len(without)
        if made:
            words = f"{one.ref}: an inspection in {made} of {count(len(weeks), 'working week')}."
            yield shown(words, (noted.seq for noted in seen))
        if without:
            which = some([day_words(week) for week in without])
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
            since = f" since the unit was exchanged on {day_words(last.on)}" if last is not None else ""
            do = f"{inspect_with(one)} --level 40%"
            yield missing(f"{one.ref}: no level was read{since}.", (last.seq,) if last is not None else (), do=do)
            continue
        newest = read[-1]
        level = newest.body.level_permille or 0
        says = f"{one.ref}: level {level / 10:g} % of its mark on {day_words(newest.on)}"
        if level >= _FULL_PERMILLE:
            yield missing(f"{says}, and no exchange since.", (newest.seq,))
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
            days = some([day_words(noted.on) for noted in recent])
            yield shown(f"{one.ref}: unit exchanged on {days}.", (noted.seq for noted in recent))
        elif changed:
            words = f"{one.ref}: no exchange in the period; the last one was on {day_words(changed[-1].on)}."
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
        words = f"{body.separator} {body.action} on {day_words(one.on)} by {body.done_by}"
        yield shown(f"{words}{f' ({what})' if what else ''}: {_one_line(body.description)}.", (one.seq,))
        lacking = [name for name, value in (("make", body.make), ("model", body.model)) if not value]
        if lacking:
            yield missing(f"The repair of {day_words(one.on)} names no {' and no '.join(lacking)}.", (one.seq,))
    if not found:
        yield shown("No repair is recorded in the period.")
    yield from open_malfunctions(asked)


def open_malfunctions(asked: Inquiry) -> Iterator[Point]:
    """Malfunctions that were found, up to the end of the period, and that no later repair answers."""
    for one in separators(asked):
        mended = [noted.fact.order for noted in asked.until_end(Repair) if is_of(noted.body, one)]
        for noted in asked.until_end(SeparatorInspection):
            if not is_of(noted.body, one) or noted.body.result != "malfunction":
                continue
            if not any(order > noted.fact.order for order in mended):
                words = f"{one.ref}: malfunction found on {day_words(noted.on)}, and no repair recorded since."
                yield missing(words, (noted.seq,), do=f"wasteledger separator repair {one.ref} …")


def _inspections(asked: Inquiry, one: Separator, every: int | None) -> Iterator[Point]:
    seen = [noted for noted in asked.until_end(SeparatorInspection) if is_of(noted.body, one)]
    begin = max(asked.since, one.since_on)
    before = [noted for noted in seen if noted.on < begin]
    within = [noted for noted in seen if noted.on >= begin]
    anchor = before[-1:]
    # Without an earlier inspection the time counts from the first day of the period, or of the separator.
    days = [anchor[0].on if anchor else begin, *(noted.on for noted in within), asked.until]
    entries = [anchor[0].seq if anchor else 0, *(noted.seq for noted in within), 0]
    spans = [(days[n], days[n + 1], entries[n], entries[n + 1]) for n in range(len(days) - 1)]
    by_manual = f" Its manual asks for one every {every} days, as entered." if every else ""
    if not within:
        yield missing(f"{one.ref}: no inspection in the period.{by_manual}", (one.seq,), do=inspect_with(one))
        return
    longest = max((last - first).days for first, last, *_ in spans)
    made = f"{one.ref}: {count(len(within), 'inspection')} in the period, never more than {longest} days without one."
    yield shown(f"{made}{by_manual}", (noted.seq for noted in within))
    late = [span for span in spans if every and (span[1] - span[0]).days > every]
    if late:
        which = some([f"{day_words(first)} to {day_words(last)}" for first, last, *_ in late], 3)
        yield missing(
            f"{one.ref}: {times(len(late))} longer than that without one: {which}.",
            (seq for span in late for seq in span[2:]),
        )


def _exchanges(asked: Inquiry, one: Separator) -> list[Noted[UnitReplaced] | Noted[Repair]]:
    units: list[Noted[UnitReplaced] | Noted[Repair]] = [
        noted for noted in asked.until_end(UnitReplaced) if is_of(noted.body, one)
    ]
    units += [noted for noted in asked.until_end(Repair) if is_of(noted.body, one) and noted.body.action == "replaced"]
    return sorted(units, key=lambda noted: noted.fact.order)


def _read_as_full(
    asked: Inquiry, one: Separator, changed: list[Noted[UnitReplaced] | Noted[Repair]]
) -> Iterator[Point]:
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
        says = f"{one.ref}: read as {level / 10:g} % full on {day_words(noted.on)}"
        if after is None:
            yield missing(f"{says}, and no exchange since.", (noted.seq,))
        else:
            days = (after.on - noted.on).days
            when = f"{count(days, 'day')} later" if days else "the same day"
            yield shown(f"{says}, exchanged {when}.", (noted.seq, after.seq))


def _by_schedule(asked: Inquiry, one: Separator, changed: list[Noted[UnitReplaced] | Noted[Repair]]) -> Iterator[Point]:
    months = one.details.replace_unit_every_months
    if months is None:
        yield missing(f"{one.ref}: the manual's interval of exchange is not entered.", (one.seq,), do=ENTER)
        return
    start = changed[-1].on if changed else one.details.installed_on or one.since_on
    end: date = start + relativedelta(months=months)
    words = f"{one.ref}: its manual asks for an exchange every {months} months, as entered"
    if end < asked.until:
        yield missing(f"{words}; those were over on {day_words(end)}.", (one.seq,))
    else:
        yield shown(f"{words}; the next by {day_words(end)}.", (one.seq,))


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _whole_weeks(first: date, last: date) -> Iterator[date]:
    monday = _monday(first + timedelta(days=_WEEK_DAYS - 1))
    while monday + timedelta(days=_WEEK_DAYS - 1) <= last:
        yield monday
        monday += timedelta(days=_WEEK_DAYS)


def _one_line(text: str) -> str:
    return " ".join(text.split()).rstrip(".")
