"""The inverse Gaussian distribution at its edges; its digits are checked in tests/outside."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wasteledger.forecast.passage import BadPassage, InverseGaussian

MEANS = st.floats(0.01, 1e5)
SHAPES = st.floats(1e-3, 1e8)


@given(MEANS, SHAPES, st.floats(0, 1e6), st.floats(0, 1e6))
def test_a_chance_lies_between_nothing_and_one_and_never_falls(
    mean: float, shape: float, one: float, two: float
) -> None:
    passage = InverseGaussian(mean, shape)
    early, late = sorted((one, two))

    assert 0 <= passage.chance_by(early) <= passage.chance_by(late) + 1e-12 <= 1 + 1e-12


@given(st.floats(0.1, 1e4), st.floats(0.1, 1e6), st.floats(0.01, 0.99))
def test_a_quantile_is_where_its_chance_is_reached(mean: float, shape: float, chance: float) -> None:
    passage = InverseGaussian(mean, shape)

    assert passage.chance_by(passage.quantile(chance)) == pytest.approx(chance, abs=1e-9)


def test_nothing_is_passed_at_the_start() -> None:
    assert InverseGaussian(10.0, 5.0).chance_by(0) == 0
    assert InverseGaussian(10.0, 5.0).chance_by(-3) == 0


def test_hardly_any_variance_is_a_step_at_the_mean() -> None:
    passage = InverseGaussian.passing(100.0, 2.0, 1e-9)

    assert passage.chance_by(49.99) == pytest.approx(0, abs=1e-12)
    assert passage.chance_by(50.01) == pytest.approx(1, abs=1e-12)


@pytest.mark.parametrize(("mean", "shape"), [(0, 1), (1, 0), (-1, 1), (math.nan, 1), (1, math.inf)])
def test_a_mean_or_shape_that_is_none_is_refused(mean: float, shape: float) -> None:
    with pytest.raises(BadPassage, match="does not exist"):
        InverseGaussian(mean, shape)


@pytest.mark.parametrize(("distance", "drift", "variance"), [(0, 1, 1), (1, 0, 1), (1, 1, 0), (-1, 1, 1)])
def test_what_stands_still_or_has_passed_is_refused(distance: float, drift: float, variance: float) -> None:
    with pytest.raises(BadPassage, match="above 0"):
        InverseGaussian.passing(distance, drift, variance)


@pytest.mark.parametrize("times", [[], [3.0], [1.0, 0.0], [1.0, -2.0], [1.0, math.nan], [2.0, 2.0, 2.0]])
def test_times_without_a_spread_are_refused(times: list[float]) -> None:
    with pytest.raises(BadPassage):
        InverseGaussian.fitted(times)


@pytest.mark.parametrize("chance", [0, 1, -0.1, math.nan])
def test_a_quantile_wants_a_chance(chance: float) -> None:
    with pytest.raises(BadPassage, match="no chance"):
        InverseGaussian(1.0, 1.0).quantile(chance)
