"""A factor learned from weighings of known scatter, in closed form: precisions add up.

Sources of the law: A. Gelman and others, Bayesian Data Analysis, 3rd edition (2013), 14.8; C. M. Bishop, Pattern
Recognition and Machine Learning (2006), 3.3.1, equations 3.50 and 3.51: the posterior precision is X'X / s² plus the
prior's. The data are NIST's NoInt1 and NoInt2 (linear least squares regression), the known s their certified residual
standard deviations; the figures were worked out by those equations in another program. The last case (constructed) is
that of a pickup: 20 swaps of one kind, 46.0 g weighed together, scatter 3.0 g a swap, believed 3.0 g with 1.5 g.
"""

from __future__ import annotations

import math

import pytest

from wasteledger.estimate.regression import Belief, learn

INT1 = (tuple(range(60, 71)), tuple(range(130, 141)), 3.56753034006338)
INT2 = ((4, 5, 6), (3, 4, 4), 0.369274472937998)


@pytest.mark.parametrize(
    ("data", "believed", "believed_sd", "mean", "sd"),
    [
        (INT2, 1.0, 0.1, 0.768304915, 0.0387880593),
        (INT1, 1.5, 0.5, 2.073753155, 0.0165199014),
    ],
    ids=["NoInt2", "NoInt1"],
)
def test_bishop_3_3_1_known_scatter(
    data: tuple[tuple[int, ...], tuple[int, ...], float], believed: float, believed_sd: float, mean: float, sd: float
) -> None:
    xs, ys, s = data
    belief = Belief((believed,), ((believed_sd**2 / s**2,),), scale=s**2, degrees_of_freedom=math.inf)

    learned = learn([(x,) for x in xs], ys, [1.0] * len(xs), belief)

    assert learned.means[0] == pytest.approx(mean, abs=5e-10)
    assert math.sqrt(learned.covariance[0][0]) == pytest.approx(sd, rel=1e-8)


def test_bishop_3_3_1_precision() -> None:
    """The sum of 77 / 0.13636… and 1 / 0.01 is 664.666…."""
    xs, ys, s = INT2
    belief = Belief((1.0,), ((0.01,),), scale=1.0, degrees_of_freedom=math.inf)

    learned = learn([(x,) for x in xs], ys, [s**2] * 3, belief)

    assert 1 / learned.covariance[0][0] == pytest.approx(664.666667, rel=1e-9)


@pytest.mark.parametrize("data", [INT1, INT2], ids=["NoInt1", "NoInt2"])
def test_a_flat_prior_gives_least_squares(data: tuple[tuple[int, ...], tuple[int, ...], float]) -> None:
    """Certified by NIST: 2.07438016528926 and 0.727272727272727."""
    xs, ys, s = data
    flat = Belief((0.0,), ((1e20,),), scale=s**2, degrees_of_freedom=math.inf)

    learned = learn([(x,) for x in xs], ys, [1.0] * len(xs), flat)

    assert learned.means[0] == pytest.approx(2.07438016528926 if data == INT1 else 0.727272727272727, rel=1e-13)


def test_one_pickup_teaches_one_factor() -> None:
    """Precisions 1 / 1.5² and 20² / (20 · 3²) add up to 8/3 a g²."""
    belief = Belief((3.0,), ((1.5**2,),), scale=1.0, degrees_of_freedom=math.inf)

    learned = learn([(20,)], (46.0,), (20 * 3.0**2,), belief)

    assert learned.means[0] == pytest.approx(29 / 12, rel=1e-12)  # 2.4166667
    assert math.sqrt(learned.covariance[0][0]) == pytest.approx(0.6123724, abs=5e-8)
