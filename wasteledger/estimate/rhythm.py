"""Swaps that were not recorded, seen from each trap's own rhythm: gaps that are too long, or too many long gaps.

A gap says that no swap was recorded, not why: it was forgotten in the record, or not made. The findings say both.
Gaps are counted in working days, so that closures which the calendar knows lengthen nothing.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import median

# Chance of a finding in a period in which every swap was recorded, for each of the two tests.
_LEVEL = 0.002

# An excess is how much longer than usual a gap is, as a share of the usual. From _DOUBLE on it is about double or more,
# from _BETWEEN on longer than jitter makes it. All these are judgement, no source: chosen by simulation of practices
# that swap weekly on a fixed weekday or so many days after the last swap, in weeks of four or five days, 5 to 20 % of
# the swaps one to four days late, so that with every swap recorded fewer than one year in a hundred gives a finding.
_BETWEEN, _DOUBLE = 0.3, 0.78
# Share of gaps that lateness alone may make double: so much always, and so much of those that were seen between.
_ALLOWED, _EXTENDED = 0.02, 0.18
# Where traps are changed when they are full, gaps scatter both ways: about as many are double as are shorter than
# _EARLY times the usual. So few are short in a weekly rhythm too.
_EARLY, _EARLY_ANYWAY = 0.6, 0.03
# A late swap on a fixed weekday is followed by a gap that is as much too short; so much of it may be left over.
_LEFT_OVER = 0.3

# What is taken for the lateness of a sort of trap before its own gaps have told: as many late gaps of so many days, or
# of such a share of the usual, whichever is more, with that ratio of mean square to squared mean (Weibull shape 1.5).
_BEGIN_COUNT, _BEGIN_DAYS, _BEGIN_SHARE, _BEGIN_RATIO = 4, 1.5, 0.3, 1.46
_STEEPEST = 1.5
# Longer ones teach no more about lateness than this, since they may be what is looked for.
_CLIPPED = 1.6
# With fewer gaps than the first number, the nominal interval stands in for up to the second.
_OWN_RHYTHM_FROM, _NOMINAL_GAPS = 5, 2
# No gap is called long by itself that is longer than usual by no more working days: lateness of a few days with days
# of closing that no calendar knew.
_ORDINARY_DAYS = 8
_NAMED = 3


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
class LongGap:
    """One gap that is too long for the trap's own rhythm.

    Attributes:
        trap: Of which trap.
        kind: Its kind.
        room: Its room.
        from_on: The recorded swap before the gap (or the first day of service).
        to_on: The recorded swap after it; where it is still open, the last day that was looked at.
        is_open: Whether no swap has ended it yet.
        working_days: Its length.
        usual_days: The trap's usual gap, working days.
        missing: How many swaps would have fallen between, at the usual pace; 1 or more.
        chance: Of a gap so long or longer among all the gaps judged, if all swaps were recorded (0 to 1).
        falls: Looks within the gap that bear it out.
    """

    trap: str
    kind: str
    room: str
    from_on: date
    to_on: date
    is_open: bool
    working_days: int
    usual_days: float
    missing: int
    chance: float
    falls: tuple[tuple[date, date], ...] = ()


@dataclass(frozen=True, slots=True)
class ManyLongGaps:
    """More gaps of about double length than lateness explains.

    Attributes:
        long: How many gaps were about double or longer.
        gaps: Of how many.
        expected: How many late swaps would explain at most.
        missing: About how many swaps are missing.
        chance: Of so many or more, if all swaps were recorded (0 to 1).
        traps: The traps most concerned, with the number of long gaps of each, most first.
    """

    long: int
    gaps: int
    expected: float
    missing: int
    chance: float
    traps: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Rhythm:
    """What the gaps say.

    Attributes:
        usual_days: Each trap's usual gap in working days, by trap; traps with too few swaps take the nominal interval.
        gaps: How many gaps were judged.
        long_gaps: Gaps that are too long by themselves, oldest first.
        many: Too many long gaps overall; None where there are not.
    """

    usual_days: dict[str, float]
    gaps: int
    long_gaps: tuple[LongGap, ...]
    many: ManyLongGaps | None


def watch_rhythm(
    histories: Sequence[TrapHistory], works_on: Callable[[date], bool], *, since: date | None = None
) -> Rhythm:
    """Judge the gaps between recorded swaps.

    Args:
        histories: One for each trap; their order does not matter.
        works_on: Whether the practice works on a day, as its calendar knows.
        since: Only gaps that end, or are still open, after this day are judged; None judges all.
    """
    known = sorted((one for one in histories if one.to >= one.in_service_from), key=lambda one: one.trap)
    worked = _WorkingDays(known, works_on)
    groups: dict[tuple[str, int], list[_Gap]] = defaultdict(list)
    usual: dict[str, float] = {}
    for history in known:
        spans = worked.spans_of(history)
        usual[history.trap] = _usual(spans[:-1], worked.in_calendar_days(history.interval_days))
        groups[history.kind, history.interval_days] += _gaps(history, spans, usual[history.trap])

    def is_judged(gap: _Gap) -> bool:
        return since is None or gap.to_on > since

    judged = sum(is_judged(gap) for gaps in groups.values() for gap in gaps)
    long_gaps: list[LongGap] = []
    ended: list[_Gap] = []
    double: list[_Gap] = []
    expected = 0.0
    for gaps in groups.values():
        lateness = _Lateness.of([gap for gap in gaps if not gap.is_open])
        for gap in filter(is_judged, gaps):
            chance = min(1.0, judged * lateness.chance_of(gap))
            if chance < _LEVEL and gap.days - gap.usual_days > _ORDINARY_DAYS:
                long_gaps.append(gap.found(chance))
            if not gap.is_open:
                ended.append(gap)
                expected += lateness.double_share
                if lateness.is_double(gap):
                    double.append(gap)
    long_gaps.sort(key=lambda one: (one.from_on, one.trap))
    return Rhythm(usual, judged, tuple(long_gaps), _many(ended, double, expected))


@dataclass(frozen=True, slots=True)
class _Span:
    from_on: date
    to_on: date
    days: int

    @property
    def calendar_days(self) -> int:
        return (self.to_on - self.from_on).days


@dataclass(frozen=True, slots=True)
class _Gap:
    history: TrapHistory
    from_on: date
    to_on: date
    days: int
    usual_days: float
    is_open: bool
    shortfall: float  # by how much the next gap is shorter than usual, as a share of the usual
    is_early: bool

    @property
    def excess(self) -> float:
        """How much longer than usual, as a share of the usual; 0 for what is not later than half a day."""
        over = self.days - self.usual_days
        return over / self.usual_days if over > 0.5 else 0.0

    @property
    def missing(self) -> int:
        return max(1, round(self.days / self.usual_days) - 1)

    def found(self, chance: float) -> LongGap:
        trap = self.history
        return LongGap(
            trap=trap.trap,
            kind=trap.kind,
            room=trap.room,
            from_on=self.from_on,
            to_on=self.to_on,
            is_open=self.is_open,
            working_days=self.days,
            usual_days=self.usual_days,
            missing=self.missing,
            chance=chance,
            falls=tuple(fall for fall in trap.falls if self.from_on <= fall[0] and fall[1] <= self.to_on),
        )


def _gaps(history: TrapHistory, spans: Sequence[_Span], usual_days: float) -> list[_Gap]:
    usual_calendar_days = median([span.calendar_days for span in spans]) or 1

    def longest_share(span: _Span) -> float:
        # In both reckonings: a week with holidays in it is short in working days alone.
        return max(span.days / usual_days, span.calendar_days / usual_calendar_days)

    last = len(spans) - 1
    return [
        _Gap(
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


class _WorkingDays:
    """Counts working days between two days, once for all traps."""

    def __init__(self, histories: Sequence[TrapHistory], works_on: Callable[[date], bool]) -> None:
        days = [day for one in histories for day in (one.in_service_from, one.to, *one.swapped_on)]
        self._first = min(days, default=date(2000, 1, 1))
        span = (max(days, default=self._first) - self._first).days
        self._until = [0]
        for n in range(1, span + 1):
            self._until.append(self._until[-1] + works_on(self._first + timedelta(days=n)))

    def between(self, after: date, until: date) -> int:
        return self._until[(until - self._first).days] - self._until[(after - self._first).days]

    def in_calendar_days(self, count: int) -> float:
        """Working days that *count* calendar days hold on average, closures left out; one at least."""
        span = len(self._until) - 1
        return max(1.0, count * self._until[-1] / span) if span else float(max(1, count))

    def spans_of(self, history: TrapHistory) -> list[_Span]:
        """From swap to swap, the first from the beginning of service; last the one that is still open."""
        swapped = sorted({day for day in history.swapped_on if history.in_service_from < day <= history.to})
        ends = [history.in_service_from, *swapped]
        return [_Span(one, other, self.between(one, other)) for one, other in pairwise([*ends, history.to])]


def _usual(spans: Sequence[_Span], nominal_days: float) -> float:
    lengths = [float(span.days) for span in spans]
    # With few swaps the nominal interval has a say; with many, the trap's own rhythm alone.
    lengths += [nominal_days] * max(0, min(_NOMINAL_GAPS, _OWN_RHYTHM_FROM - len(lengths)))
    return max(1.0, median(lengths))


@dataclass(frozen=True, slots=True)
class _Lateness:
    """How late swaps of one sort come: sums over the excesses of the late ones, and what they say of long gaps."""

    gaps: int
    late: float
    total: float
    squares: float
    is_anchored: bool
    double_share: float

    @classmethod
    def of(cls, gaps: Sequence[_Gap]) -> _Lateness:
        usual_days = median([gap.usual_days for gap in gaps]) if gaps else 1.0
        begin = max(_BEGIN_DAYS / usual_days, _BEGIN_SHARE)
        late = [min(gap.excess, _CLIPPED) for gap in gaps if gap.excess]
        some = [gap for gap in gaps if _BETWEEN / 2 <= gap.excess < _DOUBLE]
        made_up = sum(gap.shortfall >= gap.excess / 2 for gap in some)
        is_anchored = made_up + 1 > (len(some) + 2) / 2
        between = sum(
            gap.excess >= _BETWEEN and not (is_anchored and gap.excess - gap.shortfall < _BETWEEN / 2) for gap in some
        )
        early = max(0.0, sum(gap.is_early for gap in gaps) - _EARLY_ANYWAY * len(gaps))
        return cls(
            len(gaps),
            len(late) + _BEGIN_COUNT,
            math.fsum(late) + _BEGIN_COUNT * begin,
            math.fsum(one**2 for one in late) + _BEGIN_COUNT * _BEGIN_RATIO * begin**2,
            is_anchored,
            min(0.5, _ALLOWED + (_EXTENDED * between + early) / max(1, len(gaps))),
        )

    def is_double(self, gap: _Gap) -> bool:
        """Whether *gap* is about double or longer, and no late swap after which the old rhythm went on."""
        shortfall = gap.shortfall if self.is_anchored else 0.0
        return gap.excess >= _DOUBLE and gap.excess - shortfall >= _DOUBLE - _LEFT_OVER

    def chance_of(self, gap: _Gap) -> float:
        """The chance that a swap is so late or later, by all gaps but this one: it must not vouch for itself."""
        if not gap.excess:
            return 1.0
        own = 0.0 if gap.is_open else min(gap.excess, _CLIPPED)
        late = self.late - bool(own)
        square = (self.squares - own**2) / late
        shape = _weibull_shape(square / ((self.total - own) / late) ** 2)
        length = math.sqrt(square / math.gamma(1 + 2 / shape))
        share = (late - _BEGIN_COUNT + 1) / (self.gaps - bool(own) + 2)
        return share * math.exp(-((gap.excess / length) ** shape))


def _weibull_shape(ratio: float) -> float:
    """The shape between 1 and 1.5 of a Weibull distribution whose mean square is *ratio* times its squared mean."""
    low, high = 1.0, _STEEPEST
    for _ in range(30):
        middle = (low + high) / 2
        falls = math.gamma(1 + 2 / middle) / math.gamma(1 + 1 / middle) ** 2
        low, high = (middle, high) if falls > ratio else (low, middle)
    return (low + high) / 2


def _many(gaps: Sequence[_Gap], double: Sequence[_Gap], expected: float) -> ManyLongGaps | None:
    if not double:
        return None
    spread = _spread_over_weeks(gaps, double)
    chance = _binomial_beyond(math.ceil(len(double) / spread), round(len(gaps) / spread), expected / len(gaps))
    if chance >= _LEVEL:
        return None
    by_trap = Counter(gap.history.trap for gap in double)
    most = sorted(by_trap.items(), key=lambda one: (-one[1], one[0]))
    lacking = sum(gap.missing for gap in double)
    missing = max(1, round(lacking * (1 - expected / len(double))))
    return ManyLongGaps(len(double), len(gaps), expected, missing, chance, tuple(most[:_NAMED]))


def _spread_over_weeks(gaps: Sequence[_Gap], double: Sequence[_Gap]) -> float:
    """How much more the long gaps crowd into weeks than chance would have it; 1 where they do not.

    A round that was left out makes long gaps of all traps at once; they are no independent evidence.
    """
    weeks = Counter(gap.from_on.isocalendar()[:2] for gap in gaps)
    crowded = Counter(gap.from_on.isocalendar()[:2] for gap in double)
    share = len(double) / len(gaps)
    if len(weeks) < 2 or share == 1:
        return 1.0
    square = sum((crowded[week] - count * share) ** 2 / (count * share * (1 - share)) for week, count in weeks.items())
    return max(1.0, square / (len(weeks) - 1))


def _binomial_beyond(count: int, trials: int, share: float) -> float:
    """The chance of *count* or more in *trials*, each with the chance *share*."""
    share = min(max(share, 1e-12), 1 - 1e-12)
    logs = (
        math.lgamma(trials + 1)
        - math.lgamma(k + 1)
        - math.lgamma(trials - k + 1)
        + k * math.log(share)
        + (trials - k) * math.log1p(-share)
        for k in range(count, trials + 1)
    )
    return min(1.0, math.fsum(math.exp(log) for log in logs))
