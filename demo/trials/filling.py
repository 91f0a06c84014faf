"""How often the day on which a container truly fills lies within the forecast's 10 to 90 % dates."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from demo.trials.practice import Change, SimulatedPractice, holding_of, is_working, received, truth_mg
from demo.trials.standing import WEEKS_FROM, WEEKS_TO, Factors
from wasteledger.estimate.containers import exposures_of
from wasteledger.estimate.learning import teach
from wasteledger.estimate.prior import Prior
from wasteledger.forecast.fill import Gauge, Inflow, Outlook, outlook
from wasteledger.forecast.rates import learn_exposure, learn_rate
from wasteledger.forecast.working_time import WorkingTime


@dataclass(frozen=True, slots=True)
class Forecast:
    """What was foretold on some day, and when the container truly was full."""

    outlook: Outlook
    full_on: date

    @property
    def is_within(self) -> bool:
        """Whether the true day lies between the 10 % and the 90 % date."""
        early, late = self.outlook.p10_on, self.outlook.p90_on
        return early is not None and early <= self.full_on and (late is None or self.full_on <= late)


def forecast(prior: Prior, factors: Factors, number: int, random: Random, pickups: int) -> Forecast:
    """One practice after some weighed pickups, at a random day while the next container fills to a mass limit."""
    practice = SimulatedPractice.drawn(random, prior, factors(random, number))
    habit_days = 7 * random.uniform(WEEKS_FROM, WEEKS_TO)
    limit_mg = habit_days * _a_day_mg(practice) * random.uniform(0.8, 1.2)
    stream = practice.changes(random)
    history: list[Change] = []
    weighed = []
    for count in range(pickups):
        began = len(history)
        while len(history) == began or (history[-1].on - history[began].on).days < habit_days:
            history.append(next(stream))
        weighed.append(received(history[began:], count + 1, random))
    began = len(history)
    share = random.uniform(0.15, 0.85)
    while truth_mg(history[began:]) < share * limit_mg:
        history.append(next(stream))
    now, today = history[began:], history[-1].on
    mass_mg, full_on = truth_mg(now), today
    while mass_mg < limit_mg:
        change = next(stream)
        mass_mg, full_on = mass_mg + change.debris_mg, change.on
    return Forecast(_foretold(practice, history, now, teach(prior, weighed).prior, limit_mg, today), full_on)


def _foretold(
    practice: SimulatedPractice, history: list[Change], now: list[Change], prior: Prior, limit_mg: float, today: date
) -> Outlook:
    time = WorkingTime(today, is_working)
    began_on = history[0].on
    worked = [day for back in range((today - began_on).days + 1) if is_working(day := began_on + timedelta(days=back))]
    inflows = []
    for kind in practice.means_mg:
        traps = [trap for trap in practice.traps if trap.kind == kind]
        served = math.fsum(trap.dentists for trap in traps) / len(traps)
        swaps = [
            (change.on, change.trap.dentists * practice.grades[change.condition])
            for change in history
            if change.trap.kind == kind
        ]
        rate = learn_rate(swaps, worked, today, math.fsum(7 / 5 / trap.interval_days for trap in traps))
        inflows.append(Inflow(kind, rate, *learn_exposure(swaps, today, served)))
    exposures = tuple(float(exposure) for exposure in exposures_of(holding_of(now), prior))
    gauge = Gauge("mass", limit_mg, exposures=exposures, prior=prior, is_learned=True)
    return outlook(
        gauge,
        inflows,
        as_of=today,
        nth_working_day=time.nth_working_day,
        working_days_until=time.working_days_until,
    )


def _a_day_mg(practice: SimulatedPractice) -> float:
    """What a calendar day truly brings on average."""
    mean_grade = 2 / 3 * practice.grades["clogged"] + 1 / 3 * practice.grades["debris"]
    return mean_grade * math.fsum(
        practice.means_mg[trap.kind] * trap.dentists / trap.interval_days for trap in practice.traps
    )
