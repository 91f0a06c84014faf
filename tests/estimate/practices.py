"""Invented years of swaps: rounds on a weekday or so many days after the last swap, made late, with closed days.

Everything is drawn from the `random.Random` that is handed in. The calendar that the judge sees knows the holidays; it
does not know the single days on which the practice stayed closed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from wasteledger.estimate.rhythm import TrapHistory

FIRST_ON, LAST_ON = date(2025, 1, 2), date(2025, 12, 31)
DAY = timedelta(days=1)
WEEKLY = 7


@dataclass(frozen=True)
class Year:
    """One practice's year: its traps' true swaps, and its calendar."""

    swaps: dict[str, tuple[str, int, tuple[date, ...]]]
    works_on: Callable[[date], bool]

    def histories(self, is_lost: Callable[[str, date], bool] = lambda trap, day: False) -> list[TrapHistory]:
        """As recorded, without the swaps that *is_lost*."""
        return [
            TrapHistory(
                trap, kind, "room", tuple(day for day in days if not is_lost(trap, day)), FIRST_ON, LAST_ON, interval
            )
            for trap, (kind, interval, days) in self.swaps.items()
        ]

    def without(self, trap: str, begin: date, end: date) -> list[TrapHistory]:
        """As recorded, without the swaps of one *trap* from *begin* up to *end*, which is outside."""
        return self.histories(lambda one, day: one == trap and begin <= day < end)

    def losing(self, random: Random, share: float) -> list[TrapHistory]:
        """As recorded where each swap is forgotten with the chance *share*."""
        lost = {(trap, day) for trap, (_, _, days) in self.swaps.items() for day in days if random.random() < share}
        return self.histories(lambda trap, day: (trap, day) in lost)


def a_year(random: Random, *, weekdays: int | None = None, is_anchored: bool | None = None) -> Year:
    """A practice of 2 to 6 chairs with weekly chairside traps, a monthly filter, and mostly a quarterly pump trap."""
    weekdays = weekdays or random.choice((4, 5))
    is_anchored = random.random() < 0.5 if is_anchored is None else is_anchored
    works_on, actual = _calendar(random, weekdays)
    late, jitter, together = random.uniform(0.05, 0.2), random.choice((0.05, 0.2, 0.4)), random.random() < 0.5
    traps = [
        (f"{chair}-{short}", kind, WEEKLY)
        for chair in range(1, random.choice((2, 3, 4, 5, 6)) + 1)
        for short, kind in (("SE", "saliva_ejector"), ("HV", "high_volume"))
    ]
    traps += [("LINE", "line_filter", 30)] + [("JAR", "pump", 91)] * (random.random() < 0.7)

    def delay() -> int:
        return random.randint(1, 4) if random.random() < late else 0

    round_delay: dict[date, int] = {}
    round_day = random.choice([day.weekday() for day in actual])
    swaps: dict[str, tuple[str, int, tuple[date, ...]]] = {}
    made: list[date]
    for trap, kind, interval in traps:
        if is_anchored:
            weekday = round_day if together else random.choice([day.weekday() for day in actual])
            due = FIRST_ON + DAY * ((weekday - FIRST_ON.weekday()) % 7 + 7 * random.randrange(interval // 7))
            step, made = (interval // 7) * 7, []
            while due <= LAST_ON:
                here = next((place for place, day in enumerate(actual) if day >= due), len(actual))
                here += random.choice((-1, 1)) if random.random() < jitter else 0
                here += round_delay.setdefault(due, delay()) if together else delay()
                if 0 <= here < len(actual) and (not made or actual[here] > made[-1]):
                    made.append(actual[here])
                due += DAY * step
        else:
            pace, here, made = round(interval * len(actual) / 365), random.randrange(interval * 5 // 7), []
            while here < len(actual):
                made.append(actual[here])
                here += max(1, pace + (random.choice((-1, 1)) if random.random() < jitter else 0) + delay())
        swaps[trap] = (kind, interval, tuple(made))
    return Year(swaps, works_on)


def _calendar(random: Random, weekdays: int) -> tuple[Callable[[date], bool], list[date]]:
    week = set(range(5)) if weekdays == 5 else set(random.sample(range(5), weekdays))
    closed = {date(2025, 1, 20), date(2025, 5, 26), date(2025, 9, 1), date(2025, 11, 27), date(2025, 11, 28)}
    summer = date(2025, 7, 1) + DAY * random.randrange(25)
    for first, days in ((summer, random.choice((7, 12))), (date(2025, 12, 23), 9)):
        closed |= {first + DAY * n for n in range(days)}

    def works_on(day: date) -> bool:
        return day.weekday() in week and day not in closed

    known = [day for n in range((LAST_ON - FIRST_ON).days + 1) if works_on(day := FIRST_ON + DAY * n)]
    stayed_away = set(random.sample(known, random.randrange(2, 9)))
    return works_on, [day for day in known if day not in stayed_away]
