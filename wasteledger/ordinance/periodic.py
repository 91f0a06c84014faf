"""Days that come round by the calendar: a day of each year, every so many years, the end of a quarter.

Where a rule sets a window, what was done inside it, or after it, answers the day at its end; what was done before it
opened answers the day before. Where no window is set, a filing made up to `EARLY_DAYS` before its day is taken to
answer it: our own reading, and a filing may always say which day it answers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import count

from dateutil.relativedelta import relativedelta

from wasteledger.ordinance.due_forms import AfterQuarter, EachYear, EveryYears
from wasteledger.ordinance.words import Years

EARLY_DAYS = 90

_MONTHS_A_QUARTER = 3
_FAR_BACK = 100  # years, no fewer than lie between two turns
_MONTH_NAMES = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)  # not calendar.month_name, which speaks the machine's language


@dataclass(frozen=True, slots=True)
class Turn:
    """One coming round: the last permitted day, and the first day on which what is done answers it."""

    due_on: date
    opens_on: date


@dataclass(frozen=True, slots=True)
class Done:
    """What was done on a day, and the due day that it says it answers, if it says one."""

    on: date
    answers_on: date | None = None


def first_due_from(due: EachYear | EveryYears, start: date) -> Turn | None:
    """The first turn that ends on *start* or later; None when the calendar has no further one.

    >>> first_due_from(EachYear(3, 31, Years.EVEN, None), date(2026, 10, 5)).due_on
    datetime.date(2028, 3, 31)
    """
    return next((turn for turn in _turns(due, start.year - 1) if turn.due_on >= start), None)


def next_unanswered(due: EachYear | EveryYears, start: date, done: Iterable[Done]) -> Turn | None:
    """The first turn from *start* on that nothing answers; what was done names its day, or falls into a window.

    A day that is none of the rule's own (any more) counts for the turn of its year, where that stood open when it was
    done: the authority has moved the day since. Else it answers nothing. What names no day falls to the last window
    that had opened.

    >>> next_unanswered(EachYear(3, 31, Years.ALL, (1, 1)), date(2026, 5, 1), [Done(date(2027, 2, 10))]).due_on
    datetime.date(2028, 3, 31)
    """
    answered = {turn.due_on for one in done if (turn := _answered_by(due, one)) is not None}
    return next(
        (turn for turn in _turns(due, start.year - 1) if turn.due_on >= start and turn.due_on not in answered), None
    )


def _answered_by(due: EachYear | EveryYears, done: Done) -> Turn | None:
    if done.answers_on is not None:
        of_its_year = None
        for turn in _turns(due, done.answers_on.year - 1):
            if turn.due_on == done.answers_on:
                return turn
            if turn.due_on.year > done.answers_on.year:
                break
            of_its_year = turn if turn.due_on.year == done.answers_on.year else None
        is_open = of_its_year is not None and of_its_year.opens_on <= done.on
        return of_its_year if is_open else None
    opened = None
    for turn in _turns(due, done.on.year - _FAR_BACK):
        if turn.opens_on > done.on:
            return opened
        opened = turn
    return opened


def end_of_month_after_quarter(due: AfterQuarter, start: date) -> date:
    """The last day of the month that lies so many months after the end of the quarter of *start*.

    >>> end_of_month_after_quarter(AfterQuarter(1), date(2026, 11, 10))
    datetime.date(2027, 1, 31)
    """
    quarter_ends_in = -(-start.month // _MONTHS_A_QUARTER) * _MONTHS_A_QUARTER
    try:
        return date(start.year, quarter_ends_in, 1) + relativedelta(months=due.months, day=31)
    except (ValueError, OverflowError):
        return date.max


def told(due: EachYear | EveryYears | AfterQuarter) -> str:
    """The form in words.

    >>> told(EachYear(3, 31, Years.EVEN, None))
    'by 31 March of even years'
    """
    match due:
        case EachYear(month, day, years):
            which = "each year" if years is Years.ALL else f"{years.value} years"
            return f"by {day} {_MONTH_NAMES[month - 1]} of {which}"
        case EveryYears(first_on, every):
            return f"by {first_on.day} {_MONTH_NAMES[first_on.month - 1]} every {every} years from {first_on.year}"
        case AfterQuarter(months):
            return f"by the end of the {_ORDINAL.get(months, f'{months}th')} month after the quarter"


_ORDINAL = {1: "first", 2: "second", 3: "third"}


def _turns(due: EachYear | EveryYears, from_year: int) -> Iterator[Turn]:
    """Turns in their order, beginning in *from_year* or earlier."""
    match due:
        case EachYear(month, day, years, opens):
            for year in range(max(from_year, date.min.year), date.max.year + 1):
                if years.has(year):
                    due_on = _day_of(year, month, day)
                    yield Turn(due_on, _opens(due_on, opens))
        case EveryYears(first_on, every):
            skipped = max(0, (from_year - first_on.year) // every)
            for number in count(skipped):
                year = first_on.year + number * every
                if year > date.max.year:
                    return
                due_on = _day_of(year, first_on.month, first_on.day)
                yield Turn(due_on, _opens(due_on, None))


def _opens(due_on: date, opens: tuple[int, int] | None) -> date:
    if opens is None:
        return due_on - timedelta(days=EARLY_DAYS) if due_on.toordinal() > EARLY_DAYS else date.min
    opens_on = _day_of(due_on.year, *opens)
    if opens_on <= due_on:
        return opens_on
    return _day_of(due_on.year - 1, *opens) if due_on.year > date.min.year else date.min


def _day_of(year: int, month: int, day: int) -> date:
    # 29 February becomes the 28th in a common year, as every deadline does.
    return date(year, month, 1) + relativedelta(day=day)
