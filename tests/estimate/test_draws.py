"""Stratified draws against the distributions they are drawn from, by SciPy."""

from __future__ import annotations

import math
import statistics
from random import Random

import numpy as np
import pytest
from scipy import stats

from wasteledger.estimate.draws import normal_draws, positive_draws, share_draws, student_scales

COUNT = 2000
MIDDLES = (np.arange(COUNT) + 0.5) / COUNT


def test_normal_draws_are_the_middles_of_their_strata() -> None:
    assert sorted(normal_draws(COUNT, Random(1))) == pytest.approx(list(stats.norm.ppf(MIDDLES)), abs=1e-9)


@pytest.mark.parametrize(
    ("mean", "sd", "tolerance"),
    [(0.10, 0.08, 2e-4), (0.35, 0.20, 2e-4), (0.985, 0.010, 2e-5), (0.485, 0.032, 1e-5), (0.5, 0.001, 1e-6)],
)
def test_shares_are_beta(mean: float, sd: float, tolerance: float) -> None:
    size = mean * (1 - mean) / sd**2 - 1
    expected = stats.beta(mean * size, (1 - mean) * size).ppf(MIDDLES)

    assert sorted(share_draws(mean, sd, COUNT, Random(1))) == pytest.approx(list(expected), abs=tolerance)


@pytest.mark.parametrize(("mean", "sd"), [(0.4, 0.0), (0.0, 0.1), (1.0, 0.1)])
def test_a_share_that_cannot_vary_does_not(mean: float, sd: float) -> None:
    assert share_draws(mean, sd, 5, Random(1)) == [mean] * 5


def test_no_share_is_wider_than_all_or_nothing() -> None:
    with pytest.raises(ValueError, match="no share"):
        share_draws(0.5, 0.51, COUNT, Random(1))


@pytest.mark.parametrize("freedom", [1.0, 2.5, 30.0])
def test_scales_are_those_of_chi_square(freedom: float) -> None:
    expected = np.sort(np.sqrt(freedom / stats.chi2(freedom).ppf(MIDDLES)))

    assert sorted(student_scales(freedom, COUNT, Random(1))) == pytest.approx(list(expected), rel=5e-4)


def test_without_limit_a_scale_is_one() -> None:
    assert student_scales(math.inf, 3, Random(1)) == [1.0] * 3


def test_positive_draws_have_the_moments_asked_for() -> None:
    means, covariance = (3000.0, 15_000.0), ((3000.0**2, 0.5 * 3000 * 15_000), (0.5 * 3000 * 15_000, 15_000.0**2))

    one, other = positive_draws(means, covariance, [1.0] * 50_000, Random(4))

    assert min(*one, *other) > 0
    assert statistics.fmean(one) == pytest.approx(3000, rel=0.01)
    assert statistics.fmean(other) == pytest.approx(15_000, rel=0.01)
    assert statistics.stdev(one) == pytest.approx(3000, rel=0.03)
    assert statistics.correlation(one, other) == pytest.approx(0.5, abs=0.03)


def test_a_learned_quantity_has_the_ends_of_student_in_its_logarithm() -> None:
    sd = math.sqrt(math.log1p(0.25))
    scales = student_scales(4.0, 50_000, Random(2))

    (drawn,) = positive_draws((100.0,), ((2500.0,),), scales, Random(3))

    middle = math.log(100) - sd**2 / 2
    for share in (0.025, 0.5, 0.975):
        expected = math.exp(middle + sd * stats.t.ppf(share, 4))
        assert np.quantile(drawn, share) == pytest.approx(expected, rel=0.02)


def test_opposed_quantities_that_no_logarithms_have_are_drawn_all_the_same() -> None:
    """Three kinds that a few weighings set against each other: the means and deviations stand, and nothing fails."""
    means, sd = (10.0, 10.0, 10.0), 9.0
    covariance = tuple(tuple(sd**2 * (1.0 if i == j else -0.49) for j in range(3)) for i in range(3))

    drawn = positive_draws(means, covariance, [1.0] * 20_000, Random(5))

    assert [statistics.fmean(column) for column in drawn] == pytest.approx([10.0] * 3, rel=0.03)
    assert statistics.correlation(drawn[0], drawn[1]) < 0


def test_a_mean_held_at_nothing_gives_what_may_lie_above_it() -> None:
    held, exact = positive_draws((0.0, 5.0), ((4.0, 0.0), (0.0, 0.0)), [1.0] * COUNT, Random(6))

    assert min(held) == 0
    assert max(held) > 2
    assert exact == pytest.approx([5.0] * COUNT)


def test_the_same_seed_draws_the_same() -> None:
    assert normal_draws(100, Random(9)) == normal_draws(100, Random(9))
    assert normal_draws(100, Random(9)) != normal_draws(100, Random(10))
