"""The hidden fault: one month in which the swaps of one trap are made, and never written down.

Which trap and which month is drawn with the seed; the truth file keeps it, and no entry does.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from random import Random

from demo.parts import END_ON, Hidden
from wasteledger.model.register import TrapDetails

EARLIEST, LATEST = 0.25, 0.6
"""Between which parts of the days played the month begins: deep in the history, with swaps before it and after."""

BEFORE, AFTER = timedelta(days=60), timedelta(days=92)
"""So long the practice works before the month begins, and after that: a rhythm is learned from what stands around."""

LEAST_DAYS = 14
"""Working days that the month has at least: one with holidays in it hides too little."""


def choose_hidden(
    random: Random, site: str, traps: Mapping[str, TrapDetails], working: Sequence[date]
) -> Hidden | None:
    """Draw the trap and the month; None where the days played are too few.

    Only the weekly traps behind the chairs can be drawn: of a filter that is changed once a month, one month hides
    one swap, which no rhythm shows.
    """
    earliest = max(working[int(len(working) * EARLIEST)], working[0] + BEFORE)
    latest = min(working[int(len(working) * LATEST)], END_ON - AFTER)
    counts = Counter(f"{day:%Y-%m}" for day in working if earliest <= day.replace(day=1) <= latest)
    months = sorted(month for month, count in counts.items() if count >= LEAST_DAYS)
    weekly = [ref for ref, one in traps.items() if one.trap_kind.is_chairside and one.interval_days <= 7]
    if not months or not weekly:
        return None
    return Hidden(site, random.choice(weekly), random.choice(months))


def period_with(hidden: Hidden, began_on: date) -> tuple[date, date]:
    """A year that holds the hidden month: from nine months before it to the end of the second month after it.

    It begins on *began_on*, the first day played, if that is later.
    """
    first_on = _first_of(hidden)
    return max(began_on, _months_on(first_on, -9)), _months_on(first_on, 3) - timedelta(days=1)


def period_without(hidden: Hidden) -> tuple[date, date]:
    """The last year played, or what of it comes after the hidden month, with a month between."""
    return max(END_ON - timedelta(days=364), _months_on(_first_of(hidden), 2)), END_ON


def _first_of(hidden: Hidden) -> date:
    return date.fromisoformat(f"{hidden.month}-01")


def _months_on(first_on: date, count: int) -> date:
    years, month = divmod(first_on.month - 1 + count, 12)
    return date(first_on.year + years, month + 1, 1)
