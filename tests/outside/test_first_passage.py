"""Fill dates as first passage: two worked cases, and the same dates by simulation of swaps one by one.

The cases are constructed, and follow from the first passage of a Brownian motion with drift (J. L. Folks, R. S.
Chhikara, Journal of the Royal Statistical Society B 40 (1978) 263-289): room a, drift d, variance v a day give an
inverse Gaussian time of mean a/d and shape a²/v. A room of 1400 g at 5 g and 60 g² a day: mean 280 d, shape 32666.667,
deviation 25.92296 d; 5, 50 and 95 % points 239.50097, 278.80596, 324.57199 d; chance by 250 d 0.1190266, by 300 d
0.7859221. A noisy one of 100 g at 2 g and 50 g² a day: 50 d, 200, 25 d; 20.63301, 44.52484, 98.02980 d.

What is simulated is not that motion but what it stands for: swaps at times of a Poisson process, and swaps that keep a
rhythm, each with log-normal debris of coefficient of variation 1.
"""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest
from numpy.typing import NDArray

from wasteledger.estimate.prior import Prior
from wasteledger.forecast.fill import Gauge, Inflow, outlook
from wasteledger.forecast.passage import InverseGaussian
from wasteledger.forecast.rates import Rate

TODAY = date(2026, 3, 2)
PATHS = 4_000


@pytest.mark.parametrize(
    ("room", "drift", "variance", "mean", "shape", "sd", "points"),
    [
        (1400, 5, 60, 280, 32_666.667, 25.92296, (239.50097, 278.80596, 324.57199)),
        (100, 2, 50, 50, 200, 25, (20.63301, 44.52484, 98.02980)),
    ],
)
def test_moments_and_points_of_both_cases(
    room: float, drift: float, variance: float, mean: float, shape: float, sd: float, points: tuple[float, ...]
) -> None:
    passage = InverseGaussian.passing(room, drift, variance)

    assert (passage.mean, passage.shape, passage.sd) == pytest.approx((mean, shape, sd), rel=2e-7)
    assert tuple(passage.quantile(share) for share in (0.05, 0.5, 0.95)) == pytest.approx(points, abs=1e-4)


@pytest.mark.parametrize(("days", "chance"), [(250, 0.1190266), (300, 0.7859221)])
def test_chances_of_the_first_case(days: int, chance: float) -> None:
    assert InverseGaussian.passing(1400, 5, 60).chance_by(days) == pytest.approx(chance, abs=1e-7)


def exactly(mean_mg: float, cv: float) -> Prior:
    """A prior that is sure of the mean and leaves only the scatter."""
    return Prior(("high_volume",), (mean_mg,), ((0.0,),), (cv * mean_mg,), (7,), {})


def foreseen(limit_mg: float, mean_mg: float, per_day: float, dispersion: float) -> list[float]:
    """Chances by the end of each day, by the forecast of one kind whose rate and mean are known."""
    found = outlook(
        Gauge("mass", limit_mg, prior=exactly(mean_mg, 1.0)),
        [Inflow("high_volume", Rate(per_day * 1e12, 1e12, dispersion))],
        as_of=TODAY,
        nth_working_day=lambda count: TODAY + timedelta(days=count),
        working_days_until=lambda day: (day - TODAY).days,
    )
    return [found.chance_by(TODAY + timedelta(days=days)) for days in range(1200)]


def passed_on(times: NDArray[np.float64], debris: NDArray[np.float64], limit_mg: float) -> NDArray[np.float64]:
    """The time of the swap by which each path reaches the limit."""
    place = np.argmax(np.cumsum(debris, axis=1) >= limit_mg, axis=1)
    assert (debris.sum(axis=1) >= limit_mg).all()
    days: NDArray[np.float64] = np.ceil(times[np.arange(len(times)), place])
    return days


def lognormal(rng: np.random.Generator, mean_mg: float, swaps: int) -> NDArray[np.float64]:
    sigma = math.sqrt(math.log(2.0))  # coefficient of variation 1
    return rng.lognormal(math.log(mean_mg) - sigma**2 / 2, sigma, (PATHS, swaps))


@pytest.mark.parametrize("swaps_to_fill", [12, 40, 150])
def test_a_compound_poisson_path_passes_when_the_forecast_says(swaps_to_fill: int) -> None:
    rng = np.random.default_rng(20_261_125)
    mean_mg, per_day, drawn = 3000.0, 0.6, 4 * swaps_to_fill + 60
    times = np.cumsum(rng.exponential(1 / per_day, (PATHS, drawn)), axis=1)

    days = passed_on(times, lognormal(rng, mean_mg, drawn), swaps_to_fill * mean_mg)
    chances = foreseen(swaps_to_fill * mean_mg, mean_mg, per_day, 1.0)

    assert_same_dates(days, chances)


@pytest.mark.parametrize("swaps_to_fill", [12, 40, 150])
def test_a_strict_rhythm_passes_when_the_forecast_says(swaps_to_fill: int) -> None:
    """One swap every fifth day from a random day on: the counts hardly scatter, and the date is narrower."""
    rng = np.random.default_rng(20_261_126)
    mean_mg, drawn = 3000.0, 4 * swaps_to_fill + 60
    times = rng.uniform(0, 5, (PATHS, 1)) + 5.0 * np.arange(drawn)

    days = passed_on(times, lognormal(rng, mean_mg, drawn), swaps_to_fill * mean_mg)
    chances = foreseen(swaps_to_fill * mean_mg, mean_mg, 0.2, 0.0)

    assert_same_dates(days, chances)


def assert_same_dates(days: NDArray[np.float64], chances: list[float]) -> None:
    """The mean date to a twentieth of a deviation (and half a day, since days are whole), the chances to 6 hundredths.

    Log-normal debris is skewed, which a motion with drift is not; that, at a dozen swaps, is most of the 6 hundredths.
    """
    for share in (0.1, 0.5, 0.9):
        point = int(np.quantile(days, share))
        assert chances[point] == pytest.approx(float(np.mean(days <= point)), abs=0.06), share
    mean = math.fsum(1 - chance for chance in chances)
    assert mean == pytest.approx(days.mean(), abs=0.05 * days.std() + 0.5)
