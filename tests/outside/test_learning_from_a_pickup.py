"""One factor learned from a pickup, and the mass that is then stated: conjugate updates of known scatter, by hand.

The law: with the scatter known, the posterior precision is the sum of the prior's and of x²/v of each weighing, and the
mean their average by these weights (C. M. Bishop, Pattern Recognition and Machine Learning, 2006, 3.3.1, equations 3.50
and 3.51; A. Gelman and others, Bayesian Data Analysis, 3rd edition, 2013, 2.5 and 14.8). The sum of many swaps with a
common error: JCGM 100:2008, 5.2.2.

No table of weighed traps is published, so the cases are constructed; the figures were worked out by these equations:

- A: believed 3.0 g with 1.5 g; 20 swaps weighed together 46.0 g, scatter 3.0 g a swap: 2.4166667 g with 0.6123724 g.
- B: the same, but 60.0 g, which is what was believed: 3.0 g with 0.6123724 g.
- C: 50 swaps of 3.0 g, scatter 3.0 g, common standard error 0.9 g: 150 g, u = 49.74937 g.

The estimate goes beyond the law in two ways, and the tests say in each case what is left of it. Scatter goes with the
mean, so the update is that at the mean which it gives itself. And the scatter is not taken for known, but for a guess
worth N weighings that the residuals correct; the update is that of the law at the scale s² found so.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime

import pytest

from wasteledger.estimate.containers import standing_mass
from wasteledger.estimate.increments import Increment
from wasteledger.estimate.learning import PRIOR_DEGREES_OF_FREEDOM as N
from wasteledger.estimate.learning import Taught, teach
from wasteledger.estimate.prior import Prior
from wasteledger.estimate.regression import Belief, learn
from wasteledger.model.containers import Holding, Tally

NOON = datetime(2026, 3, 2, 18, tzinfo=UTC)


def believed(mean_g: float, sd_g: float, scatter_g: float) -> Prior:
    """One kind alone, with its starting value."""
    return Prior(
        ("high_volume",), (1000 * mean_g,), (((1000 * sd_g) ** 2,),), (1000 * scatter_g,), (7,), {"clogged": 1000}
    )


def clogged(count: int) -> Tally:
    return Tally("high_volume", "clogged", count, dentists_permille=1000 * count)


def a_pickup(net_g: float, swaps: int) -> Increment:
    """So many swaps weighed together, on a scale that adds nothing."""
    return Increment("receipt", "C-1", ("C-1",), 5, NOON, NOON, round(1000 * net_g), 0.0, (clogged(swaps),))


def sd_g(taught: Taught) -> float:
    """The standard deviation of the mean, in g."""
    return math.sqrt(taught.prior.covariance_mg2[0][0]) / 1000


def updated(mean_g: float, sd_g: float, weighed: list[tuple[float, int]], scatter_g: float) -> tuple[float, float]:
    """Bishop 3.50 and 3.51 for one coefficient: posterior mean and standard deviation."""
    precision, taken = 1 / sd_g**2, mean_g / sd_g**2
    for net_g, swaps in weighed:
        variance = swaps * scatter_g**2
        precision += swaps**2 / variance
        taken += swaps * net_g / variance
    return taken / precision, precision**-0.5


def settled(mean_g: float, sd_g: float, weighed: list[tuple[float, int]]) -> tuple[float, float, float]:
    """The law's update at its own mean (a swap scatters by its mean) and at its own scale, by small steps.

    s² = (N + Σ (r² + x² sd²)/v) / (N + n): a guess worth N weighings, and each squared residual with what the mean's
    uncertainty adds to it.
    """
    at, scale, mean, sd = mean_g, 1.0, mean_g, sd_g
    for _ in range(4000):
        mean, sd = updated(mean_g, sd_g, weighed, scatter_g=at * math.sqrt(scale))
        squares = sum(((net - x * mean) ** 2 + (x * sd) ** 2) / (x * at**2) for net, x in weighed)
        at += 0.1 * (mean - at)
        scale += 0.1 * ((N + squares) / (N + len(weighed)) - scale)
    return mean, sd, scale


def test_case_a_one_update_of_known_scatter() -> None:
    """What is printed of case A: the first pass, in which the scatter is that of the starting value."""
    known = Belief((3000.0,), ((1500.0**2,),), scale=1.0, degrees_of_freedom=math.inf)

    learned = learn([[20.0]], [46_000.0], [20 * 3000.0**2], known)

    assert learned.means[0] / 1000 == pytest.approx(2.4166667, abs=5e-8)
    assert math.sqrt(learned.covariance[0][0]) / 1000 == pytest.approx(0.6123724, abs=5e-8)
    assert updated(3.0, 1.5, [(46.0, 20)], 3.0) == pytest.approx((2.4166667, 0.6123724), abs=5e-8)


def test_case_a_through_the_estimate_is_the_same_update_at_its_own_mean() -> None:
    mean, sd, scale = settled(3.0, 1.5, [(46.0, 20)])

    taught = teach(believed(3.0, 1.5, 3.0), [a_pickup(46.0, 20)])

    assert taught.prior.means_mg[0] / 1000 == pytest.approx(mean, rel=1e-6)
    assert sd_g(taught) == pytest.approx(sd, rel=1e-6)
    assert taught.scale == pytest.approx(scale, rel=1e-6)
    # Lighter swaps scatter less, so the pickup is believed a little more than at the published scatter.
    assert 2.3 < mean < 2.4166667


def test_case_b_a_pickup_as_believed_leaves_the_mean_and_nearly_the_printed_deviation() -> None:
    mean, sd, scale = settled(3.0, 1.5, [(60.0, 20)])
    taught = teach(believed(3.0, 1.5, 3.0), [a_pickup(60.0, 20)])

    assert taught.prior.means_mg[0] == pytest.approx(3000.0, rel=1e-9)
    assert mean == pytest.approx(3.0)
    assert sd_g(taught) == pytest.approx(sd, rel=1e-6)
    assert taught.scale == pytest.approx(scale, rel=1e-6)
    # One residual of nothing among N guesses of 1 makes the scale, and so the deviation, hardly smaller than printed.
    assert 0.98 * 0.6123724 < sd < 0.6123724


def test_case_c_a_sum_before_anything_was_weighed() -> None:
    found = standing_mass(Holding(tallies=(clogged(50),)), believed(3.0, 0.9, 3.0))

    assert found.value_mg == 150_000
    assert found.standard_uncertainty_mg == pytest.approx(49_749.37, abs=0.5)


def test_the_sum_after_the_pickup_rests_on_what_it_taught() -> None:
    """Case B, then 50 more swaps: 150 g again, and u = √(50² sd² + 50 · 9 · s²) g."""
    _, sd, scale = settled(3.0, 1.5, [(60.0, 20)])
    taught = teach(believed(3.0, 1.5, 3.0), [a_pickup(60.0, 20)]).prior

    found = standing_mass(Holding(tallies=(clogged(50),)), taught)

    assert found.value_mg == 150_000
    assert found.standard_uncertainty_mg == pytest.approx(1000 * math.hypot(50 * sd, math.sqrt(450 * scale)), abs=1)
    assert found.degrees_of_freedom == N + 1
    assert {line.part: line.standard_uncertainty_mg for line in found.budget} == {
        "scale": 0,
        "shared": pytest.approx(1000 * 50 * sd, abs=1),
        "scatter": pytest.approx(1000 * math.sqrt(450 * scale), abs=1),
    }


def test_two_pickups_are_one_of_both_together() -> None:
    """Ten swaps of 30 g twice, or twenty of 60 g: one precision, 4/9 + 20/9, but for the scale, which saw two."""
    together = teach(believed(3.0, 1.5, 3.0), [a_pickup(60.0, 20)])
    apart = teach(believed(3.0, 1.5, 3.0), [a_pickup(30.0, 10), a_pickup(30.0, 10)])

    assert apart.prior.means_mg == pytest.approx(together.prior.means_mg, rel=1e-9)
    assert sd_g(apart) == pytest.approx(settled(3.0, 1.5, [(30.0, 10), (30.0, 10)])[1], rel=1e-6)
    assert sd_g(apart) == pytest.approx(sd_g(together), rel=0.03)


def test_many_pickups_end_at_the_practice_s_own_mean() -> None:
    """200 pickups of 20 swaps of 1.8 g, all alike, leave that mean, and 1.8 s/√4000 g."""
    taught = teach(believed(3.0, 3.0, 3.0), [a_pickup(36.0, 20)] * 200)

    assert taught.prior.means_mg[0] / 1000 == pytest.approx(1.8, abs=0.001)
    assert sd_g(taught) == pytest.approx(1.8 * math.sqrt(taught.scale / 4000), rel=0.001)
