"""Values that go into and come out of the counting of days: triggers, obligations, retentions.

All of them are plain and frozen; nothing here knows the journal.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from wasteledger.ordinance.days import Interval
from wasteledger.ordinance.rules import AppliedOverride
from wasteledger.ordinance.words import Event, Force, Kind, Lasting, Level, MakerTask, Record


@dataclass(frozen=True, slots=True)
class Manual:
    """The two intervals of a separator's operating manual, as the register has them; None where it has none."""

    inspect_every: Interval | None = None
    replace_every: Interval | None = None

    def interval(self, task: MakerTask) -> Interval | None:
        """The interval for one of its schedules."""
        return self.inspect_every if task is MakerTask.INSPECTION else self.replace_every


@dataclass(frozen=True, slots=True)
class Trigger:
    """An event whose clock runs.

    Attributes:
        event: What happened.
        on: The local day on which it happened, or is forecast to happen.
        subject: What it happened to: a separator, a container, a pickup, the site.
        at: The instant, where it is known: it orders what happened on one day.
        seq: Number of the journal entry that shows it; 0 for a forecast, which rests on none.
        manual: The intervals of the separator's operating manual, where the subject is a separator.
        record: Class of the record, where the event is a record made.
        is_forecast: The day is an estimate, not a fact.
        done: Duties of this event that have been done already, while others still run; ``ordinance:duty`` where one
            ordinance alone was answered.
        duty: Which duty was done, where the event is a duty done.
        ordinance: The ordinance that alone it counts for; empty for all.
        rule: The rule of that ordinance for which a duty was done; empty where none was named.
        clause: The clause under which it was done, as `citations` spells it: then it counts for every rule that cites
            it or a paragraph of it.
        answers_on: The due day that what was done says it answers; None where it says none.
        because: What the day stands for, where it is not the event's own; empty where it is.
        ended: What has ended since, of the things that a record may be kept for.
    """

    event: Event
    on: date
    subject: str
    seq: int = 0
    manual: Manual | None = None
    record: Record | None = None
    is_forecast: bool = False
    done: frozenset[str] = frozenset()
    duty: str = ""
    ordinance: str = ""
    rule: str = ""
    clause: str = ""
    answers_on: date | None = None
    because: str = ""
    at: datetime | None = None
    ended: frozenset[Lasting] = frozenset()

    @property
    def words(self) -> str:
        """What the day stands for, as it follows "counted from …"."""
        return self.because or self.event.words

    def __post_init__(self) -> None:
        if (self.event is Event.DUTY_DONE) != bool(self.duty):
            raise ValueError("a duty belongs to “duty done”, and to nothing else")
        if (self.event is Event.RECORD_MADE) != (self.record is not None):
            raise ValueError("a class of records belongs to “record made”, and to nothing else")


class Basis(StrEnum):
    """Where the day comes from; every interval is shown with its origin."""

    INTERVAL = "interval"  # the ordinance's own
    FIXED_DAY = "fixed_day"
    CALENDAR = "calendar"  # a day that comes round: of a year, of a quarter
    MANUAL = "manual"  # the maker's, as entered in the register
    EVENT = "event"  # the second event's own day
    FORECAST = "forecast"  # the second event's forecast day: an estimate


class DueState(StrEnum):
    """How an obligation stands on a day."""

    OVERDUE = "overdue"
    DUE_SOON = "due_soon"
    LATER = "later"
    KEEP = "keep"
    TERM_OVER = "term_over"  # the record's term is over; nothing here discards it


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherDay:
    """The day that another rule sets for the same duty and subject.

    Attributes:
        is_same_rule: It is the same clause, restated by another ordinance or under its former number.
    """

    rule: str
    ordinance: str
    ordinance_title: str
    level: Level
    due_on: date
    citation: str
    confirmed: bool
    is_same_rule: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Obligation:
    """What one named rule asks for one subject, by which day, and which entry shows that the clock runs.

    Attributes:
        counted: How the day was found, in words.
        due_on: The last permitted day; for a retention, the last day of the term.
        advised_on: The last working day on or before it; advice, never the deadline. For a retention, the same day.
        due_with_holidays_on: The later reading of business days, holidays left out as well; None where there is none.
        holidays_unknown: The rule names holidays, but not those of every year that was counted through.
        record: Class of the record that a retention keeps; None for a deadline.
        opens_on: The first day on which it can be done, where the rule sets a window; else None.
        condition: On what its applying here rests, in words; empty where on nothing.
        binds: No other rule asks for the same sooner (for a retention: longer).
        also: What the other rules ask, soonest first.
    """

    rule: str
    title: str
    asks: str
    ordinance: str
    ordinance_title: str
    level: Level
    force: Force
    duty: str
    kind: Kind
    subject: str
    event: Event
    trigger_on: date
    trigger_seq: int
    counted: str
    basis: Basis
    due_on: date
    advised_on: date
    due_with_holidays_on: date | None
    citation: str
    confirmed: bool
    standing_of_source: str
    override: AppliedOverride | None
    holidays_unknown: bool = False
    record: Record | None = None
    opens_on: date | None = None
    condition: str = ""
    binds: bool = True
    also: tuple[OtherDay, ...] = ()

    @property
    def is_forecast(self) -> bool:
        """Whether the day rests on an estimate."""
        return self.basis is Basis.FORECAST

    def state_on(self, today: date, *, soon_days: int) -> DueState:
        """How it stands on *today*; it is due soon from *soon_days* before the advised day."""
        if self.kind is Kind.RETENTION:
            return DueState.TERM_OVER if today > self.due_on else DueState.KEEP
        if today > self.due_on:
            return DueState.OVERDUE
        soon_on = self.advised_on - timedelta(days=soon_days)
        # What cannot be done yet does not press.
        return DueState.DUE_SOON if today >= max(soon_on, self.opens_on or soon_on) else DueState.LATER


@dataclass(frozen=True, slots=True, kw_only=True)
class Undated:
    """A duty whose clock runs, but for which no day can be told, and why.

    Attributes:
        is_gap: Something is missing that the office can enter; False when the rule itself sets no day.
        override: What a nearer ordinance changed of the rule; None where nothing.
        record: Class of the record that a retention keeps; None for a deadline.
    """

    rule: str
    title: str
    asks: str
    ordinance: str
    ordinance_title: str
    duty: str
    kind: Kind
    subject: str
    trigger_on: date
    trigger_seq: int
    why: str
    is_gap: bool
    citation: str
    confirmed: bool
    standing_of_source: str
    override: AppliedOverride | None = None
    record: Record | None = None


@dataclass(frozen=True, slots=True)
class Retention:
    """How long one record is kept: the longest term, and whatever it is kept for besides.

    Attributes:
        longest: The obligation with the last day, and the shorter terms beside it; None when no rule sets a term.
        lasting: Rules that keep the record while something lasts; a term that is over does not end them.
    """

    longest: Obligation | None
    lasting: tuple[Undated, ...]
