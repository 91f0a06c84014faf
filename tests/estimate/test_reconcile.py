from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from wasteledger.estimate.reconcile import BadSystem, chi_square_beyond, fall_along, made_sound, reconcile

SUM = ((1.0, -1.0, -1.0),)
UNIT = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


@pytest.mark.parametrize("degrees_of_freedom", [1, 2, 3, 4, 7, 30, 500])
@pytest.mark.parametrize("chi_square", [1e-9, 0.01, 1.0, 3.84, 9.4877, 40.0, 300.0, 1000.0])
def test_chance_beyond_is_that_of_scipy(chi_square: float, degrees_of_freedom: int) -> None:
    assert chi_square_beyond(chi_square, degrees_of_freedom) == pytest.approx(
        float(stats.chi2.sf(chi_square, degrees_of_freedom)), rel=1e-11, abs=1e-300
    )


def test_chance_beyond_at_its_ends() -> None:
    assert (chi_square_beyond(0.0, 3), chi_square_beyond(math.inf, 3)) == (1.0, 0.0)
    for chi_square, degrees in ((-1.0, 2), (math.nan, 2), (1.0, 0)):
        with pytest.raises(BadSystem):
            chi_square_beyond(chi_square, degrees)


@given(
    st.lists(st.floats(-100, 100), min_size=5, max_size=5),
    st.lists(st.floats(-2, 2), min_size=25, max_size=25),
    st.lists(st.sampled_from([-1.0, 0.0, 1.0]), min_size=5, max_size=5),
)
def test_the_same_as_plain_matrix_algebra(measured: list[float], cells: list[float], row: list[float]) -> None:
    """Against numpy's inverse, covariances included."""
    root = np.array(cells).reshape(5, 5)
    v = root @ root.T + np.eye(5)
    a = np.array([row, [1.0, 1.0, -1.0, 0.0, 2.0]])
    if np.linalg.cond(a @ v @ a.T) > 1e6:
        return
    y = np.array(measured)
    inner = np.linalg.inv(a @ v @ a.T)

    found = reconcile(measured, v.tolist(), a.tolist())

    assert found.values == pytest.approx(y - v @ a.T @ inner @ a @ y, rel=1e-7, abs=1e-7)
    assert np.array(found.covariance) == pytest.approx(v - v @ a.T @ inner @ a @ v, rel=1e-6, abs=1e-7)
    assert found.chi_square == pytest.approx(y @ a.T @ inner @ a @ y, rel=1e-7, abs=1e-9)
    assert a @ np.array(found.values) == pytest.approx(np.zeros(2), abs=1e-6)


def test_suspicion_falls_on_the_wrong_measurement() -> None:
    """Five flows of a splitter in two steps; the third is 20 too high."""
    balances = ((1.0, -1.0, -1.0, 0.0, 0.0), (0.0, 0.0, 1.0, -1.0, -1.0))
    unit = [[float(i == j) for j in range(5)] for i in range(5)]

    found = reconcile((100.0, 60.0, 60.0, 25.0, 15.0), unit, balances)

    assert found.suspicion.index(max(found.suspicion)) == 2
    # Its error explains all of the disagreement.
    assert max(found.suspicion) == pytest.approx(found.chi_square)


def test_a_direction_tells_by_how_much() -> None:
    assert fall_along((13.0, 4.0, 6.0), UNIT, SUM, (1.0, 0.0, 0.0)) == pytest.approx((3.0, 3.0))
    assert fall_along((13.0, 4.0, 6.0), UNIT, SUM, (1.0, 1.0, 0.0)) == (0.0, 0.0)  # no balance sees it


@pytest.mark.parametrize(
    ("measured", "covariance", "balances"),
    [
        ((1.0, 2.0), UNIT, SUM),
        ((1.0, 2.0, 3.0), UNIT, ()),
        ((1.0, 2.0, 3.0), UNIT, (SUM[0], (2.0, -2.0, -2.0))),
        ((1.0, 2.0, 3.0), ((0.0,) * 3,) * 3, SUM),
        ((1.0, math.nan, 3.0), UNIT, SUM),
    ],
)
def test_what_cannot_be_solved_is_refused(
    measured: tuple[float, ...], covariance: tuple[tuple[float, ...], ...], balances: tuple[tuple[float, ...], ...]
) -> None:
    with pytest.raises(BadSystem) as refused:
        reconcile(measured, covariance, balances)

    assert refused.value.hint


def test_a_covariance_that_is_one_stays_as_it_is() -> None:
    sound = ((2.0, 1.0, 0.0), (1.0, 2.0, 0.5), (0.0, 0.5, 1.0))

    assert made_sound(sound) == sound


def test_pairs_that_do_not_fit_together_are_widened_until_they_do() -> None:
    """No three quantities can all be correlated by -0.9 with each other: at most by -1/2."""
    unsound = tuple(tuple(1.0 if i == j else -0.9 for j in range(3)) for i in range(3))
    assert np.linalg.eigvalsh(np.array(unsound)).min() < 0

    mended = made_sound(unsound)

    assert np.linalg.eigvalsh(np.array(mended)).min() > 0
    assert mended[0][0] == mended[1][1] == mended[2][2] == 2.0
    assert mended[0][1] == -0.9


def test_what_never_varies_does_no_harm() -> None:
    assert made_sound(((0.0, 0.0), (0.0, 1.0))) == ((0.0, 0.0), (0.0, 1.0))
    with pytest.raises(BadSystem):
        made_sound(((-1.0, 0.0), (0.0, 1.0)))
