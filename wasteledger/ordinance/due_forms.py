"""The forms of a due day: how a rule's day follows from the event that starts its clock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from wasteledger.ordinance.days import Interval
from wasteledger.ordinance.words import Lasting, MakerTask, Years


@dataclass(frozen=True, slots=True)
class After:
    """Due an interval after the event."""

    interval: Interval


@dataclass(frozen=True, slots=True)
class ByManual:
    """Due at the interval that the separator's operating manual sets, as entered in the register."""

    task: MakerTask


@dataclass(frozen=True, slots=True)
class OnDay:
    """Due on a fixed day, whatever the day of the event."""

    on: date


@dataclass(frozen=True, slots=True)
class WhileLasting:
    """Not due on a day: kept as long as something lasts."""

    lasting: Lasting


@dataclass(frozen=True, slots=True)
class EachYear:
    """Due on the same day of each year, or of each even or odd one.

    Attributes:
        month: 1 to 12.
        day: A day that every year has.
        years: In which years it is due.
        opens: Month and day from which a filing counts for it; None where the ordinance names none. One that is later
            in the calendar than the due day lies in the year before.
    """

    month: int
    day: int
    years: Years = Years.ALL
    opens: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class EveryYears:
    """Due on a first day, and then every so many years."""

    first_on: date
    every: int


@dataclass(frozen=True, slots=True)
class AfterQuarter:
    """Due on the last day of the month that lies so many months after the end of the event's calendar quarter."""

    months: int


# A further form is one more class here, one more in `dues.py` and one more case in `due.py`; nothing else asks.
Due = After | ByManual | OnDay | WhileLasting | EachYear | EveryYears | AfterQuarter
