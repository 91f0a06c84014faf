"""Swaps that were not recorded, seen from each trap's own rhythm: gaps that are too long, or too many long gaps.

A gap says that no swap was recorded, not why: it was forgotten in the record, or not made. The findings say both.
Gaps are counted in working days, so that closures which the calendar knows lengthen nothing.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

from wasteledger.estimate.gaps import Gap, TrapHistory, WorkingDays

__all__ = ["LongGap", "ManyLongGaps", "Rhythm", "TrapHistory", "watch_rhythm"]

# Chance of a finding in a period in which every swap was recorded, for each of the two tests.
_LEVEL = 0.002

# An excess is how much longer than usual a gap is, as a share of the usual. From _DOUBLE on it is about double or more,
# from _BETWEEN on longer than jitter makes it. All these are judgement, no source: chosen by simulation of practices
# that swap weekly on a fixed weekday or so many days after the last swap, in weeks of four or five days, 5 to 20 % of
# the swaps one to four days late, so that with every swap recorded fewer than one year in a hundred gives a finding.
_BETWEEN, _DOUBLE = 0.3, 0.78
# Share of gaps that lateness alone may make double: so much always, and so much of those that were seen between.
_ALLOWED, _EXTENDED = 0.02, 0.18
# Where traps are changed when they are full, gaps scatter both ways: about as many are double as come early. So few are
# early in a weekly rhythm too.
_EARLY_ANYWAY = 0.03
# A late swap on a fixed weekday is followed by a gap that is as much too short; so much of it may be left over.
_LEFT_OVER = 0.3

# What is taken for the lateness of a sort of trap before its own gaps have told: as many late gaps of so many days, or
# of such a share of the usual, whichever is more, with that ratio of mean square to squared mean (Weibull shape 1.5).
_BEGIN_COUNT, _BEGIN_DAYS, _BEGIN_SHARE, _BEGIN_RATIO = 4, 1.5, 0.3, 1.46
_STEEPEST = 1.5
# Longer ones teach no more about lateness than this, since they may be what is looked for.
_CLIPPED = 1.6
# No gap is called long by itself that is longer than usual by no more working days: lateness of a few days with days
# of closing that no calendar knew.
_ORDINARY_DAYS = 8
_NAMED = 3


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
        is_by_plan: Whether no swap of the trap was ever recorded, so that its usual gap is the plan's.
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
    is_by_plan: bool = False


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
    worked = WorkingDays(known, works_on)
    groups: dict[tuple[str, int], list[Gap]] = defaultdict(list)
    usual: dict[str, float] = {}
    for history in known:
        gaps_of_trap = worked.gaps_of(history)
        usual[history.trap] = gaps_of_trap[0].usual_days
        groups[history.kind, history.interval_days] += gaps_of_trap

    def is_judged(gap: Gap) -> bool:
        return since is None or gap.to_on > since

    judged = sum(is_judged(gap) for gaps in groups.values() for gap in gaps)
    long_gaps: list[LongGap] = []
    ended: list[Gap] = []
    double: list[Gap] = []
    expected = 0.0
    for gaps in groups.values():
        lateness = _Lateness.of([gap for gap in gaps if not gap.is_open])
        for gap in filter(is_judged, gaps):
            chance = min(1.0, judged * lateness.chance_of(gap))
            if chance < _LEVEL and gap.days - gap.usual_days > _ORDINARY_DAYS:
                long_gaps.append(_found(gap, chance))
            if not gap.is_open:
                ended.append(gap)
                expected += lateness.double_share
                if lateness.is_double(gap):
                    double.append(gap)
    long_gaps.sort(key=lambda one: (one.from_on, one.trap))
    return Rhythm(usual, judged, tuple(long_gaps), _many(ended, double, expected))


@dataclass(frozen=True, slots=True)
class _Lateness:
    """How late swaps of one sort come: sums over the excesses of the late ones, the long gaps, and what is allowed."""

    gaps: int
    late: float
    total: float
    squares: float
    long: tuple[Gap, ...]
    is_anchored: bool
    double_share: float

    @classmethod
    def of(cls, gaps: Sequence[Gap]) -> _Lateness:
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
            tuple(gap for gap in gaps if gap.excess >= _DOUBLE),
            is_anchored,
            min(0.5, _ALLOWED + (_EXTENDED * between + early) / max(1, len(gaps))),
        )

    def is_double(self, gap: Gap) -> bool:
        """Whether *gap* is about double or longer, and no late swap after which the old rhythm went on."""
        shortfall = gap.shortfall if self.is_anchored else 0.0
        return gap.excess >= _DOUBLE and gap.excess - shortfall >= _DOUBLE - _LEFT_OVER

    def chance_of(self, gap: Gap) -> float:
        """The chance that a swap is so late or later, from all gaps but those on the same days."""
        if gap.excess < _DOUBLE:
            return 1.0
        own = [min(one.excess, _CLIPPED) for one in self.long if one.overlaps(gap)]
        late = self.late - len(own)
        square = (self.squares - math.fsum(one**2 for one in own)) / late
        shape = _weibull_shape(square / ((self.total - math.fsum(own)) / late) ** 2)
        length = math.sqrt(square / math.gamma(1 + 2 / shape))
        share = (late - _BEGIN_COUNT + 1) / (self.gaps - len(own) + 2)
        return share * math.exp(-((gap.excess / length) ** shape))


def _weibull_shape(ratio: float) -> float:
    """The shape between 1 and 1.5 of a Weibull distribution whose mean square is *ratio* times its squared mean."""
    low, high = 1.0, _STEEPEST
    for _ in range(30):
        middle = (low + high) / 2
        falls = math.gamma(1 + 2 / middle) / math.gamma(1 + 1 / middle) ** 2
        low, high = (middle, high) if falls > ratio else (low, middle)
    return (low + high) / 2


def _found(gap: Gap, chance: float) -> LongGap:
    trap = gap.history
    return LongGap(
        trap=trap.trap,
        kind=trap.kind,
        room=trap.room,
        from_on=gap.from_on,
        to_on=gap.to_on,
        is_open=gap.is_open,
        working_days=gap.days,
        usual_days=gap.usual_days,
        missing=gap.missing,
        chance=chance,
        falls=tuple(fall for fall in trap.falls if gap.from_on <= fall[0] and fall[1] <= gap.to_on),
        is_by_plan=not any(trap.in_service_from < day <= trap.to for day in trap.swapped_on),
    )


def _many(gaps: Sequence[Gap], double: Sequence[Gap], expected: float) -> ManyLongGaps | None:
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


def _spread_over_weeks(gaps: Sequence[Gap], double: Sequence[Gap]) -> float:
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
