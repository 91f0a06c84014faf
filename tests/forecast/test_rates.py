"""Rates: what swaps teach, how old days fade, and how regular the counts are."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from tests.forecast.makers import FRIDAY, working_days
from wasteledger.forecast.rates import LEAST_DISPERSION, BadRate, Rate, learn_exposure, learn_rate

YEAR = working_days(250)
FRIDAYS = [day for day in YEAR if day.weekday() == 4]


def learned(days: list[date], *, per_day: float = 0.2, **more: Any) -> Rate:
    return learn_rate([(day, 1.0) for day in days], YEAR, FRIDAY, per_day, **more)


def test_without_a_swap_seen_the_intervals_speak_with_the_weight_of_two_swaps() -> None:
    rate = learn_rate([], [], FRIDAY, 0.2)

    assert (rate.per_day, rate.swaps_seen, rate.days_seen) == (0.2, 0, 0)
    # A gamma of shape 2: its deviation is 1/√2 of the mean.
    assert rate.sd_per_day / rate.per_day == pytest.approx(1 / math.sqrt(2))


def test_days_without_a_swap_teach_too() -> None:
    assert learned([]).per_day < 0.1


def test_a_year_of_swaps_outweighs_wrong_intervals() -> None:
    rate = learned(FRIDAYS, per_day=0.5)

    assert rate.per_day == pytest.approx(0.2, rel=0.03)
    assert rate.swaps_seen == len(FRIDAYS)
    assert rate.days_seen == 250


def test_plain_poisson_counts_give_the_closed_form() -> None:
    """Without fading and with the dispersion held at 1 the posterior is gamma(a + n, b + d) (conjugate pair)."""
    rate = learned(FRIDAYS, half_life_days=1e12, prior_periods=1e12, prior_dispersion=1.0)

    assert (rate.shape, rate.days) == pytest.approx((2 + len(FRIDAYS), 2 / 0.2 + 250), rel=1e-6)


def test_old_days_fade() -> None:
    """Twice a week in the first half of the year, once a week since: the rate is nearer to what it is now."""
    middle = YEAR[125]
    tuesdays = [day for day in YEAR if day.weekday() == 1 and day < middle]

    plain = learned(sorted(FRIDAYS + tuesdays), half_life_days=1e12)
    fading = learned(sorted(FRIDAYS + tuesdays), half_life_days=40)

    assert plain.per_day == pytest.approx(0.3, rel=0.05)
    assert 0.2 < fading.per_day < 0.23


def test_one_half_life_back_counts_half() -> None:
    old, new = (
        learned([day], half_life_days=249, prior_periods=1e12, prior_dispersion=1.0) for day in (YEAR[0], YEAR[-1])
    )

    assert (old.shape - 2) / (new.shape - 2) == pytest.approx(0.5)
    assert old.days == new.days


def test_a_strict_rhythm_is_seen_and_narrows_the_rate() -> None:
    rate = learned(FRIDAYS)

    assert LEAST_DISPERSION <= rate.dispersion < 0.1
    assert rate.sd_per_day / rate.per_day < 0.06


def test_poisson_counts_have_a_dispersion_near_one() -> None:
    rng = np.random.default_rng(4)
    found = []
    for _ in range(60):
        counts = rng.poisson(0.5, 250)
        found.append(learned([day for day, count in zip(YEAR, counts, strict=True) for _ in range(count)]).dispersion)

    assert np.mean(found) == pytest.approx(1, abs=0.12)


def test_rounds_of_eight_at_once_are_more_uneven_than_poisson() -> None:
    rng = np.random.default_rng(5)
    days = [day for day, hit in zip(YEAR, rng.random(250) < 0.1, strict=True) if hit for _ in range(8)]

    assert learned(days).dispersion > 2


def test_a_quarterly_rhythm_is_seen_in_spite_of_counts_of_nothing_and_one() -> None:
    quarterly = YEAR[40::62]

    assert learned(quarterly, per_day=1 / 62).dispersion < 0.4


def test_what_is_not_observed_is_left_out() -> None:
    before, after = YEAR[0] - timedelta(days=1), FRIDAY + timedelta(days=1)

    assert learned([before, *FRIDAYS, after]) == learned(FRIDAYS)


def test_a_swap_on_a_day_off_counts_to_the_working_day_before() -> None:
    saturdays = [day + timedelta(days=1) for day in FRIDAYS[:-1]]

    assert learned([*saturdays, FRIDAYS[-1]]) == learned(FRIDAYS)


def test_exposures_fade_and_start_from_what_is_expected() -> None:
    assert learn_exposure([], FRIDAY, 0.7) == (0.7, 0.0)

    mean, sd = learn_exposure([(day, 1.0 + place % 2) for place, day in enumerate(FRIDAYS)], FRIDAY, 0.1)

    assert mean == pytest.approx(1.45, abs=0.05)
    assert sd == pytest.approx(0.5, rel=0.2)


@pytest.mark.parametrize("wrong", [{"per_day": 0}, {"prior_swaps": 0}, {"half_life_days": 0}, {"prior_periods": -1}])
def test_a_rate_from_nothing_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(BadRate, match="from nothing"):
        learned([], **wrong)


def test_a_rate_and_exposures_that_cannot_be_are_refused() -> None:
    with pytest.raises(BadRate):
        Rate(0.0, 1.0)
    with pytest.raises(BadRate):
        learn_exposure([(FRIDAY, -1.0)], FRIDAY, 1.0)
    with pytest.raises(BadRate):
        learn_exposure([], FRIDAY, 1.0, prior_swaps=0)
