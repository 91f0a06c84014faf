"""The gaps between the recorded swaps of a trap, in working days, against the trap's usual gap."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import median

# With fewer gaps than the first number, the nominal interval stands in for up to the second.
_OWN_RHYTHM_FROM, _NOMINAL_GAPS = 5, 2
# A gap of no more than this part of the usual is early.
_EARLY = 0.6


@dataclass(frozen=True, slots=True)
class TrapHistory:
    """The recorded swaps of one trap (or of a separator's unit) while it was in service.

    Attributes:
        trap: Its short name.
        kind: `TrapKind` value, or ``separator_unit``.
        room: Where it sits; only for the words.
        swapped_on: Local days of its recorded swaps, oldest first; may reach back before the period that is judged
            (earlier gaps teach the rhythm). Two swaps on one day count once.
        in_service_from: First day of service; a gap begins here if no swap was recorded before the first.
        to: Last day of service or of the period, whichever is earlier; the open gap ends here.
        interval_days: Nominal interval, calendar days.
        falls: Pairs of days between which the trap went from clogged to clean in the looks, with no swap recorded
            between; supporting evidence, in words only.
    """

    trap: str
    kind: str
    room: str
    swapped_on: tuple[date, ...]
    in_service_from: date
    to: date
    interval_days: int
    falls: tuple[tuple[date, date], ...] = ()


@dataclass(frozen=True, slots=True)
class Gap:
    """From one recorded swap of a trap to the next.

    Attributes:
        history: Whose gap.
        from_on: The swap before it, or the first day of service.
        to_on: The swap after it; where it is still open, the last day.
        days: Working days from the one to the other.
        usual_days: The trap's usual gap.
        is_open: Whether no swap has ended it yet.
        shortfall: By how much the next gap is shorter than usual, as a share of the usual.
        is_early: Whether the swap came far too early, and not because the one before came late.
    """

    history: TrapHistory
    from_on: date
    to_on: date
    days: int
    usual_days: float
    is_open: bool
    shortfall: float
    is_early: bool

    @property
    def excess(self) -> float:
        """How much longer than usual, as a share of the usual; 0 for what is not later than half a day."""
        over = self.days - self.usual_days
        return over / self.usual_days if over > 0.5 else 0.0

    @property
    def missing(self) -> int:
        """How many swaps would have fallen into it at the usual pace; 1 or more."""
        return max(1, round(self.days / self.usual_days) - 1)

    def overlaps(self, other: Gap) -> bool:
        """Whether both lie on the same days for more than half of the longer one; a gap overlaps itself."""
        common = (min(self.to_on, other.to_on) - max(self.from_on, other.from_on)).days
        return 2 * common > max((one.to_on - one.from_on).days for one in (self, other))


class WorkingDays:
    """Counts working days between two days, once for all traps."""

    def __init__(self, histories: Sequence[TrapHistory], works_on: Callable[[date], bool]) -> None:
        days = [day for one in histories for day in (one.in_service_from, one.to, *one.swapped_on)]
        self._first = min(days, default=date(2000, 1, 1))
        span = (max(days, default=self._first) - self._first).days
        self._until = [0]
        for n in range(1, span + 1):
            self._until.append(self._until[-1] + works_on(self._first + timedelta(days=n)))

    def gaps_of(self, history: TrapHistory) -> list[Gap]:
        """From swap to swap, the first from the beginning of service; last the one that is still open."""
        spans = self._spans_of(history)
        return _gaps(history, spans, _usual(spans[:-1], self._in_calendar_days(history.interval_days)))

    def _between(self, after: date, until: date) -> int:
        return self._until[(until - self._first).days] - self._until[(after - self._first).days]

    def _in_calendar_days(self, count: int) -> float:
        """Working days that *count* calendar days hold on average, closures left out; one at least."""
        span = len(self._until) - 1
        return max(1.0, count * self._until[-1] / span) if span else float(max(1, count))

    def _spans_of(self, history: TrapHistory) -> list[_Span]:
        swapped = sorted({day for day in history.swapped_on if history.in_service_from < day <= history.to})
        ends = [history.in_service_from, *swapped]
        return [_Span(one, other, self._between(one, other)) for one, other in pairwise([*ends, history.to])]


@dataclass(frozen=True, slots=True)
class _Span:
    from_on: date
    to_on: date
    days: int

    @property
    def calendar_days(self) -> int:
        return (self.to_on - self.from_on).days


def _gaps(history: TrapHistory, spans: Sequence[_Span], usual_days: float) -> list[Gap]:
    usual_calendar_days = median([span.calendar_days for span in spans]) or 1

    def longest_share(span: _Span) -> float:
        # In both reckonings: a week with holidays in it is short in working days alone.
        return max(span.days / usual_days, span.calendar_days / usual_calendar_days)

    last = len(spans) - 1
    return [
        Gap(
            history,
            span.from_on,
            span.to_on,
            span.days,
            usual_days,
            is_open=place == last,
            # The open gap may still grow, so it says nothing of how short it is.
            shortfall=max(0.0, 1 - spans[place + 1].days / usual_days) if place + 1 < last else 0.0,
            # The first begins with the service, not with a swap; after a late swap the old rhythm may go on.
            is_early=place > 0 and longest_share(span) <= _EARLY and longest_share(spans[place - 1]) <= 1,
        )
        for place, span in enumerate(spans)
    ]


def _usual(spans: Sequence[_Span], nominal_days: float) -> float:
    lengths = [float(span.days) for span in spans]
    # With few swaps the nominal interval has a say; with many, the trap's own rhythm alone.
    lengths += [nominal_days] * max(0, min(_NOMINAL_GAPS, _OWN_RHYTHM_FROM - len(lengths)))
    return max(1.0, median(lengths))
