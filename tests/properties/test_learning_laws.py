"""Laws of learning from weighings, over drawn beliefs and observations."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import optimize

from wasteledger.estimate.regression import Belief, Learned, learn

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Weighings:
    """Rows, observed, variances."""

    rows: list[list[float]]
    observed: list[float]
    variances: list[float]

    def part(self, places: list[int]) -> Weighings:
        return Weighings(
            [self.rows[place] for place in places],
            [self.observed[place] for place in places],
            [self.variances[place] for place in places],
        )

    def learned(self, belief: Belief, *, non_negative: bool = False) -> Learned:
        return learn(self.rows, self.observed, self.variances, belief, non_negative=non_negative)


@st.composite
def beliefs(draw: st.DrawFn, kinds: int) -> Belief:
    """A positive definite covariance, made from a triangular root of it."""
    root = np.zeros((kinds, kinds))
    for row in range(kinds):
        root[row, row] = draw(st.floats(0.5, 4.0))
        for column in range(row):
            root[row, column] = draw(st.floats(-1.5, 1.5))
    covariance = root @ root.T
    return Belief(
        tuple(draw(st.lists(st.floats(0, 20), min_size=kinds, max_size=kinds))),
        tuple(tuple(row) for row in ((covariance + covariance.T) / 2).tolist()),
        scale=draw(st.floats(0.1, 10)),
        degrees_of_freedom=draw(st.one_of(st.floats(1, 50), st.just(math.inf))),
    )


@st.composite
def weighings(draw: st.DrawFn, kinds: int, *, least: int = 0) -> Weighings:
    """Up to eight pickups of up to forty swaps of each kind; some came in with less than nothing."""
    count = draw(st.integers(least, 8))
    swaps = st.one_of(st.integers(0, 40).map(float), st.floats(0.01, 40))
    return Weighings(
        draw(st.lists(st.lists(swaps, min_size=kinds, max_size=kinds), min_size=count, max_size=count)),
        draw(st.lists(st.floats(-200, 600), min_size=count, max_size=count)),
        draw(st.lists(st.floats(0.1, 500), min_size=count, max_size=count)),
    )


@st.composite
def cases(draw: st.DrawFn, *, least: int = 0) -> tuple[Belief, Weighings]:
    kinds = draw(st.integers(1, 4))
    return draw(beliefs(kinds)), draw(weighings(kinds, least=least))


def same(one: Learned, other: Learned) -> None:
    np.testing.assert_allclose(one.means, other.means, rtol=1e-8, atol=1e-8)
    np.testing.assert_allclose(one.unit_covariance, other.unit_covariance, rtol=1e-7, atol=1e-9)
    assert one.scale == pytest.approx(other.scale, rel=1e-8)
    assert one.degrees_of_freedom == pytest.approx(other.degrees_of_freedom)


@given(cases(), st.data())
def test_two_batches_teach_what_one_does(case: tuple[Belief, Weighings], data: st.DataObject) -> None:
    """Any parting of the weighings, learned one after the other, ends at the same belief."""
    belief, all_of_them = case
    places = list(range(len(all_of_them.observed)))
    first = data.draw(st.lists(st.sampled_from(places), unique=True) if places else st.just([]))
    second = [place for place in places if place not in first]

    between = all_of_them.part(first).learned(belief).belief

    same(all_of_them.part(second).learned(between), all_of_them.learned(belief))


@given(cases(), st.randoms(use_true_random=False))
def test_the_order_of_weighings_does_not_matter(case: tuple[Belief, Weighings], chance: object) -> None:
    belief, weighed = case
    places = list(range(len(weighed.observed)))
    chance.shuffle(places)  # type: ignore[attr-defined]

    same(weighed.part(places).learned(belief), weighed.learned(belief))


@given(cases())
def test_no_weighing_makes_a_coefficient_less_known(case: tuple[Belief, Weighings]) -> None:
    """The prior's covariance less the posterior's has no negative direction."""
    belief, weighed = case
    before = np.array(belief.unit_covariance)

    gained = before - np.array(weighed.learned(belief).unit_covariance)

    assert np.linalg.eigvalsh((gained + gained.T) / 2).min() >= -1e-12 * np.trace(before)


@given(cases(least=1), st.integers(0, 3))
def test_a_weighing_makes_what_it_weighed_better_known(case: tuple[Belief, Weighings], place: int) -> None:
    belief, weighed = case
    row = weighed.rows[place % len(weighed.rows)]
    assume(sum(row) > 0.5)
    known = replace(belief, degrees_of_freedom=math.inf)
    nothing = Weighings([], [], []).learned(known)

    assert weighed.learned(known).predict(row, 0.0)[1] < nothing.predict(row, 0.0)[1]


@given(cases(), st.floats(1e-4, 1e4))
def test_another_unit_of_mass_gives_the_same_masses_in_it(case: tuple[Belief, Weighings], unit: float) -> None:
    belief, weighed = case
    in_grams = weighed.learned(belief)
    converted = replace(belief, means=tuple(mean * unit for mean in belief.means), scale=belief.scale * unit**2)

    found = learn(weighed.rows, [mass * unit for mass in weighed.observed], weighed.variances, converted)

    np.testing.assert_allclose(np.array(found.means) / unit, in_grams.means, rtol=1e-8, atol=1e-8)
    np.testing.assert_allclose(found.unit_covariance, in_grams.unit_covariance, rtol=1e-8, atol=1e-12)
    assert found.scale / unit**2 == pytest.approx(in_grams.scale, rel=1e-8)


@given(cases(), st.floats(1e-4, 1e4))
def test_another_unit_of_exposure_turns_round_into_the_means(case: tuple[Belief, Weighings], unit: float) -> None:
    """Dentist-days instead of swaps: fewer milligrams for each, the same for all of them together."""
    belief, weighed = case
    converted = replace(
        belief,
        means=tuple(mean / unit for mean in belief.means),
        unit_covariance=tuple(tuple(cell / unit**2 for cell in row) for row in belief.unit_covariance),
    )
    in_swaps = weighed.learned(belief)

    found = learn(
        [[cell * unit for cell in row] for row in weighed.rows], weighed.observed, weighed.variances, converted
    )

    np.testing.assert_allclose(np.array(found.means) * unit, in_swaps.means, rtol=1e-8, atol=1e-8)
    np.testing.assert_allclose(
        np.array(found.unit_covariance) * unit**2, in_swaps.unit_covariance, rtol=1e-8, atol=1e-12
    )
    assert found.scale == pytest.approx(in_swaps.scale, rel=1e-8)


@given(cases(), st.floats(1e-4, 1e4))
def test_only_the_proportions_of_the_variances_count(case: tuple[Belief, Weighings], factor: float) -> None:
    """Variances and prior covariance in units of another s²: that s² changes, and nothing else."""
    belief, weighed = case
    converted = replace(
        belief,
        unit_covariance=tuple(tuple(cell * factor for cell in row) for row in belief.unit_covariance),
        scale=belief.scale / factor,
    )

    found = learn(weighed.rows, weighed.observed, [v * factor for v in weighed.variances], converted)

    one = weighed.learned(belief)
    np.testing.assert_allclose(found.means, one.means, rtol=1e-8, atol=1e-8)
    np.testing.assert_allclose(found.covariance, one.covariance, rtol=1e-7, atol=1e-9)


@given(cases())
def test_the_same_weighing_twice_is_one_of_half_the_variance(case: tuple[Belief, Weighings]) -> None:
    belief, weighed = case
    twice = Weighings(weighed.rows * 2, weighed.observed * 2, weighed.variances * 2).learned(belief)
    once = Weighings(weighed.rows, weighed.observed, [v / 2 for v in weighed.variances]).learned(belief)

    np.testing.assert_allclose(twice.means, once.means, rtol=1e-8, atol=1e-8)
    np.testing.assert_allclose(twice.unit_covariance, once.unit_covariance, rtol=1e-7, atol=1e-9)


@given(cases())
def test_masses_held_above_nothing_are_the_best_there(case: tuple[Belief, Weighings]) -> None:
    """The same as a reference library on the same stacked system, and as the conditions of a minimum ask."""
    belief, weighed = case
    system, target = stacked(belief, weighed)
    free = weighed.learned(belief)

    learned = weighed.learned(belief, non_negative=True)

    means = np.array(learned.means)
    assert means.min() >= 0
    np.testing.assert_allclose(means, optimize.nnls(system, target)[0], rtol=1e-6, atol=1e-6)
    gradient = system.T @ (system @ means - target)
    slack = 1e-7 * np.linalg.norm(system, axis=0) * max(1.0, np.linalg.norm(target))
    assert (gradient >= -slack).all()
    assert (np.abs(gradient)[means > 0] <= slack[means > 0]).all()
    if abs(min(free.means)) > 1e-9:  # nearer to zero, rounding decides whether it is held
        assert learned.held_at_zero == (tuple(np.flatnonzero(means == 0)) if min(free.means) < 0 else ())
    assert learned.covariance == free.covariance
    assert learned.residual_sum >= free.residual_sum * (1 - 1e-9) - 1e-12


def stacked(belief: Belief, weighed: Weighings) -> tuple[Array, Array]:
    """The prior as rows, by the Cholesky factor of its precision; then every weighing over its deviation."""
    root = np.linalg.cholesky(np.linalg.inv(np.array(belief.unit_covariance))).T
    deviations = np.sqrt(np.array(weighed.variances))
    rows = np.array(weighed.rows).reshape(len(deviations), len(belief.means)) / deviations[:, None]
    return np.vstack((root, rows)), np.concatenate((root @ belief.means, np.array(weighed.observed) / deviations))
