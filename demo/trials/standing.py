"""How often the interval of a standing mass holds the truth, and how far off it is beside what an office reckons."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from demo.trials.practice import Change, SimulatedPractice, holding_of, received, truth_mg
from wasteledger.estimate.containers import exposures_of, standing_mass
from wasteledger.estimate.increments import Increment
from wasteledger.estimate.learning import teach
from wasteledger.estimate.prior import Prior

OFF_BY = 2.5
KINDS = ("saliva_ejector", "high_volume", "line_filter", "pump")

Factors = Callable[[Random, int], Mapping[str, float]]

TOGETHER, APART, ODDS = "together", "apart", "odds"

SCENARIOS: Mapping[str, Factors] = {
    TOGETHER: lambda random, number: dict.fromkeys(KINDS, OFF_BY if number % 2 else 1 / OFF_BY),
    APART: lambda random, number: {kind: OFF_BY ** random.uniform(-1, 1) for kind in KINDS},
    ODDS: lambda random, number: {kind: OFF_BY ** random.choice((-1, 1)) for kind in KINDS},
}
"""How the starting values miss the truth: all kinds by 2.5 the same way (in every other practice up, in every other
down); each kind by a factor of its own, up to 2.5 either way; or each kind by the whole 2.5, up or down by chance."""

WEEKS_FROM, WEEKS_TO = 26, 52
"""Every so many weeks a practice sends its container; each practice has its own habit, kept to within a quarter."""


@dataclass(frozen=True, slots=True)
class Moment:
    """One container at some day of its life, after some pickups were weighed."""

    practice: SimulatedPractice
    past: tuple[tuple[Change, ...], ...]
    weighed: tuple[Increment, ...]
    now: tuple[Change, ...]
    weeks: float

    @property
    def truth_mg(self) -> float:
        """What truly stands in it."""
        return truth_mg(self.now)


def moments(
    prior: Prior,
    factors: Factors,
    number: int,
    random: Random,
    pickups: Sequence[int],
    scatter_times: float = 1.0,
) -> Iterator[Moment]:
    """One practice at a random day after each of these numbers of *pickups*."""
    practice = SimulatedPractice.drawn(random, prior, factors(random, number), scatter_times)
    stream = practice.changes(random)
    habit_weeks = random.uniform(WEEKS_FROM, WEEKS_TO)
    past: list[tuple[Change, ...]] = []
    weighed: list[Increment] = []
    pending: Change | None = None

    def until(last: date) -> list[Change]:
        nonlocal pending
        taken = [pending] if pending is not None else []
        pending = None
        for change in stream:
            if change.on > last:
                pending = change
                break
            taken.append(change)
        return taken

    began = date(2020, 1, 5)
    for count in range(max(pickups) + 1):
        days = round(7 * habit_weeks * random.uniform(0.75, 1.25))
        look = round(days * random.uniform(0.15, 1.0))
        now = until(began + timedelta(days=look))
        if count in pickups and now:
            yield Moment(practice, tuple(past), tuple(weighed), tuple(now), look / 7)
        whole = (*now, *until(began + timedelta(days=days)))
        began += timedelta(days=days)
        past.append(whole)
        weighed.append(received(whole, count + 1, random))


def is_covered(moment: Moment, prior: Prior) -> bool:
    """Whether the 95 % interval of the standing mass holds the truth."""
    estimate = standing_mass(holding_of(moment.now), teach(prior, moment.weighed).prior)
    return estimate.lower_mg <= moment.truth_mg <= estimate.upper_mg


def values_mg(moment: Moment, prior: Prior) -> dict[str, float]:
    """What each method says stands in the container."""
    holding = holding_of(moment.now)
    exposures = [float(exposure) for exposure in exposures_of(holding, prior)]

    def reckoned(means: Sequence[float]) -> float:
        return math.fsum(exposure * mean for exposure, mean in zip(exposures, means, strict=True))

    true_means = [moment.practice.means_mg.get(kind, 0.0) for kind in prior.kinds]
    learned = teach(prior, moment.weighed).prior
    said = {
        "true means (the limit)": reckoned(true_means),
        "this estimate": float(standing_mass(holding, learned).value_mg),
    }
    if moment.past:
        grams = sum(one.net_mg for one in moment.weighed)
        traps = sum(len(one) for one in moment.past)
        days = sum((one.ended_at - one.began_at).days for one in moment.weighed)
        said["grams a trap, by hand"] = grams / traps * len(moment.now)
        said["grams a week, by hand"] = grams / (days / 7) * moment.weeks
    said["published values alone"] = reckoned(prior.means_mg)
    return said
