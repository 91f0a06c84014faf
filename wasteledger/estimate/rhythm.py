"""Swaps that were not recorded, seen from each trap's own rhythm: gaps that are too long, or too many long gaps.

A gap says that no swap was recorded, not why: it was forgotten in the record, or not made. The findings say both.
Gaps are counted in working days, so that closures which the calendar knows lengthen nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date


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
        since: Only gaps that end after this day are judged (open gaps always); None judges all.
    """
    raise RuntimeError
