"""What a dated duty is called outside the program: the words of a reminder, and a name that stays while it stands."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby

from wasteledger.office.due import DueList
from wasteledger.office.words import spelt
from wasteledger.ordinance import AppliedOverride, Basis, Kind, Obligation
from wasteledger.ordinance.words import FILINGS

DEFERS = "This says what each named rule asks and what the journal shows. The local authority decides."

_MOVED_BY = timedelta(days=7)
_LAST = date.max - _MOVED_BY


@dataclass(frozen=True, slots=True)
class Notice:
    """One dated duty as a mail or a calendar tells it.

    Attributes:
        identity: Kind, duty and subject, and for a filing the ordinance: the same on every day until it is done.
        title: What is to be done, and for what.
        due_on: The last permitted day.
        advised_on: The last working day on or before it; advice, never the deadline.
        since: The day from which it was counted; for a forecast, perhaps the forecast day itself.
        opens_on: The first day on which it can be done, where the rule sets a window; else None.
        is_forecast: The day rests on an estimate.
        state: How it stands on the list's day: ``overdue``, ``due_soon`` or ``later``.
        lines: Who asks for it where, what it asks, and from which entry it was counted.
    """

    identity: str
    title: str
    due_on: date
    advised_on: date
    since: date
    opens_on: date | None
    is_forecast: bool
    state: str
    lines: tuple[str, ...]


def notices_of(found: DueList) -> tuple[Notice, ...]:
    """Everything on the list that is to be done by a day, soonest first; how long records are kept is left out."""
    dated = [one for one in found.obligations if one.kind is not Kind.RETENTION]
    names = dict(_named(dated))
    return tuple(
        Notice(
            identity=names[number],
            title=f"{one.title}, {one.subject}",
            due_on=one.due_on,
            advised_on=one.advised_on,
            since=one.trigger_on,
            opens_on=one.opens_on,
            is_forecast=one.is_forecast,
            state=found.state_of(one).value,
            lines=tuple(lines_of(one)),
        )
        for number, one in enumerate(dated)
    )


def lines_of(one: Obligation, day: Callable[[date], str] = spelt) -> Iterator[str]:
    """Who asks for it where and how sure that is, what it asks, how its day was found, and what others ask.

    *day* spells a day.
    """
    if one.is_forecast:
        yield "This day is a forecast, an estimate: it moves with what is recorded."
    if one.opens_on is not None:
        yield f"Not before: {day(one.opens_on)}."
    if one.advised_on != one.due_on:
        yield f"Last working day before: {day(one.advised_on)}."
    if one.due_with_holidays_on:
        yield f"If holidays do not count as business days: {day(one.due_with_holidays_on)}."
    # Only a day that was counted in business days has a later reading; that of a second event has none.
    elif one.holidays_unknown and one.basis is Basis.INTERVAL:
        yield f"Holidays of {_years(one)} listed here: no later reading is told."
    yield from asked_by(one)
    yield f"Counted: {one.counted}{f', entry {one.trigger_seq}' if one.trigger_seq else ''}."
    for other in one.also:
        same = ", the same clause" if other.is_same_rule else ""
        yield f"Also by {day(other.due_on)}: {other.ordinance_title}, {other.citation}{same}{unread(other.confirmed)}."


def asked_by(one: Obligation) -> Iterator[str]:
    """Who asks for it where and how sure that is, what it asks, on what its applying rests, and who changed it."""
    yield f"{one.ordinance_title}, {one.citation} ({one.force.words}{unread(one.confirmed)}): {one.asks}"
    if one.condition:
        yield f"{one.condition[:1].upper()}{one.condition[1:]}."
    if one.override is not None:
        yield str(one.override)


def changed_by(override: AppliedOverride | None) -> str:
    """Who changed a rule where, and how sure that is, in few words; nothing where nobody did."""
    if override is None:
        return ""
    what = "Set aside" if override.sets_aside else "Changed"
    return f"{what} by {override.by_title}, {override.citation}{unread(override.confirmed)}."


def unread(confirmed: bool) -> str:
    """What stands behind a clause that was not read; nothing where it was."""
    return "" if confirmed else "; NOT CONFIRMED, not read at its source"


def _years(one: Obligation) -> str:
    # Holidays move the day by some days, perhaps into the next year.
    first, last = one.trigger_on.year, (min(one.due_on, _LAST) + _MOVED_BY).year
    return f"{first} are not" if first == last else f"{first} to {last} are not all"


def _named(dated: list[Obligation]) -> Iterator[tuple[int, str]]:
    """The place of each duty in the list, and its name; where several would share one, all but one say more."""
    by_name = sorted(range(len(dated)), key=lambda number: (_name(dated[number]), _rest(dated[number]), number))
    for name, numbers in groupby(by_name, key=lambda number: _name(dated[number])):
        for place, number in enumerate(numbers):
            yield number, name if place == 0 else f"{name}:{':'.join(_rest(dated[number]))}"


def _name(one: Obligation) -> str:
    # Which rule binds may change from day to day. A paper is owed to one authority by one rule, and only where several
    # restate the same clause by those together: the first of their names stands for all, whichever binds.
    owed_by = ""
    if one.duty in FILINGS:
        names = [f"{other.ordinance}:{other.rule}" for other in one.also]
        owed_by = min(f"{one.ordinance}:{one.rule}", *names) if names else f"{one.ordinance}:{one.rule}"
    return f"{one.kind.value}:{one.duty}:{owed_by}:{one.subject}"


def _rest(one: Obligation) -> tuple[str, ...]:
    return one.ordinance, one.rule, one.trigger_on.isoformat(), str(one.trigger_seq)
