"""One simulated practice: what truly went into its traps, and what its record says of it.

Everything here is invented. Debris is log-normal with the coefficient of variation of the starting values; the true
mean of each kind is that of the starting values times a factor that nobody tells the estimator. Chairside traps are
changed weekly and line filters monthly, each on its weekday, a tenth of them one to four working days late; the pump's
trap quarterly. A trap that is changed is clogged two times in three, else it holds half as much.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from random import Random

from wasteledger.estimate.increments import Increment
from wasteledger.estimate.prior import Prior
from wasteledger.model.containers import Holding, Tally

FIRST_ON = date(2020, 1, 6)
"""A Monday; the simulated years begin here."""

LATE_SHARE, LATE_DAYS = 0.10, 4
CLOGGED_SHARE = 2 / 3
RECEIVED_LIMIT_MG, RECEIVED_LIMIT_SHARE = 2000, 0.01
"""What the facility's scale is taken to be good for, as the starting values state it; its error is drawn within."""


@dataclass(frozen=True, slots=True)
class SimulatedTrap:
    """A trap with its rhythm; *offset_days* is the working day of its first change."""

    trap: str
    kind: str
    room: str
    every_working_days: int
    interval_days: int
    offset_days: int
    dentists: int = 1


@dataclass(frozen=True, slots=True)
class Change:
    """One change of a trap: what truly came out of it, and whether anybody wrote it down."""

    on: date
    trap: SimulatedTrap
    condition: str
    debris_mg: float
    is_recorded: bool = True


@dataclass(frozen=True, slots=True)
class SimulatedPractice:
    """Traps, and the true mean of each kind in mg."""

    traps: tuple[SimulatedTrap, ...]
    means_mg: Mapping[str, float]
    variation: Mapping[str, float]
    grades: Mapping[str, float]

    @classmethod
    def drawn(
        cls, random: Random, prior: Prior, factors: Mapping[str, float], scatter_times: float = 1.0
    ) -> SimulatedPractice:
        """Two to eight rooms and one to three dentists; each kind's true mean is the prior's times its factor."""
        rooms, dentists = random.randint(2, 8), random.randint(1, 3)
        traps: list[SimulatedTrap] = []
        for room in range(1, rooms + 1):
            for kind, letter in (("saliva_ejector", "S"), ("high_volume", "H")):
                traps.append(SimulatedTrap(f"{room}-{letter}", kind, f"room-{room}", 5, 7, random.randrange(5)))
        traps.append(SimulatedTrap("LINE", "line_filter", "plant", 21, 30, random.randrange(21), dentists))
        traps.append(SimulatedTrap("PUMP", "pump", "plant", 65, 91, random.randrange(65), dentists))
        place = {kind: at for at, kind in enumerate(prior.kinds)}
        means = {kind: prior.means_mg[place[kind]] * factor for kind, factor in factors.items()}
        variation = {
            kind: scatter_times * prior.scatter_sd_mg[place[kind]] / prior.means_mg[place[kind]] for kind in factors
        }
        grades = {grade: permille / 1000 for grade, permille in prior.grades_permille.items()}
        return cls(tuple(traps), means, variation, grades)

    def changes(self, random: Random, *, unrecorded_share: float = 0.0) -> Iterator[Change]:
        """Every change from the first day on, without end, in order of days."""
        next_on = {trap.trap: _later(FIRST_ON, trap.offset_days) for trap in self.traps}
        due = dict(next_on)
        day = FIRST_ON
        while True:
            for trap in self.traps:
                if next_on[trap.trap] != day:
                    continue
                yield self._change(random, trap, day, random.random() >= unrecorded_share)
                due[trap.trap] = _later(due[trap.trap], trap.every_working_days)
                late = random.randint(1, LATE_DAYS) if random.random() < LATE_SHARE else 0
                # A late change does not move the weekday of those after it.
                next_on[trap.trap] = max(_later(due[trap.trap], late), _later(day, 1))
            day = _later(day, 1)

    def _change(self, random: Random, trap: SimulatedTrap, day: date, is_recorded: bool) -> Change:
        condition = "clogged" if random.random() < CLOGGED_SHARE else "debris"
        grade = self.grades[condition]
        mean = self.means_mg[trap.kind] * grade
        # Half the debris has half the variance, as half the days would.
        log_variance = math.log1p(self.variation[trap.kind] ** 2 / grade)
        # What each dentist sends down the line is drawn by itself.
        debris_mg = math.fsum(
            mean * math.exp(random.gauss(-log_variance / 2, math.sqrt(log_variance))) for _ in range(trap.dentists)
        )
        return Change(day, trap, condition, debris_mg, is_recorded)


def holding_of(changes: Sequence[Change]) -> Holding:
    """What the record says of a container into which *changes* went since it stood empty."""
    counted = Counter((change.trap.kind, change.condition, change.trap.dentists, change.trap.interval_days)
                      for change in changes if change.is_recorded)  # fmt: skip
    holding = Holding()
    for (kind, condition, dentists, days), count in counted.items():
        served = 1000 * dentists * count
        holding = holding.with_tally(Tally(kind, condition, count, served, served * days))
    return holding


def truth_mg(changes: Sequence[Change]) -> float:
    """What is truly in it."""
    return math.fsum(change.debris_mg for change in changes)


def received(changes: Sequence[Change], number: int, random: Random) -> Increment:
    """What the receipt of one container says: the true mass, give or take the facility's scale."""
    net_mg = truth_mg(changes)
    limit = max(RECEIVED_LIMIT_MG, RECEIVED_LIMIT_SHARE * net_mg)
    first, last = changes[0].on, changes[-1].on
    return Increment(
        weighed="receipt",
        ref=f"C-{number}",
        containers=(f"C-{number}",),
        seq=number,
        began_at=instant(first),
        ended_at=instant(last),
        net_mg=round(net_mg + random.uniform(-limit, limit)),
        variance_mg2=limit**2 / 3,
        tallies=holding_of(changes).tallies,
    )


def instant(day: date) -> datetime:
    """Evening of a day."""
    return datetime.combine(day, time(18), UTC)


def is_working(day: date) -> bool:
    """Monday to Friday."""
    return day.weekday() < 5


def _later(day: date, working_days: int) -> date:
    weeks, rest = divmod(working_days, 5)
    day += timedelta(weeks=weeks)
    while rest or not is_working(day):
        day += timedelta(days=1)
        rest -= is_working(day) and rest > 0
    return day
