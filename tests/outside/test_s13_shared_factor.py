"""A sum of many swaps with a common error: the law of propagation, and a simulation as second method.

The case (constructed; the law is that of JCGM 100:2008, 5.2.2, correlated input quantities): 50 swaps, mean 3.0 g,
scatter 3.0 g, standard error of the mean 0.9 g. Total 150 g, u = √(50 · 9 + (50 · 0.9)²) = 49.74937 g; leaving the
common part out would give 21.213 g.

The Guide's own example of such a sum (5.2.2, EXAMPLE, from memory): ten resistors of 1000 Ω, each compared with one
standard of u = 100 mΩ, in series: u is 1 Ω; 0.32 Ω, as from independent inputs, is wrong.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from wasteledger.estimate.containers import Estimate, standing_mass
from wasteledger.estimate.prior import Prior, read_defaults
from wasteledger.model.containers import Holding, Tally
from wasteledger.resources import find

GRADES = {"clogged": 1000, "not_looked": 1000}
SHIPPED = read_defaults(find("estimate/defaults.toml").read_bytes()).prior
DRAWS = 200_000


def one_kind(mean_mg: float, scatter_mg: float, shared_mg: float) -> Prior:
    return Prior(("high_volume",), (mean_mg,), ((shared_mg**2,),), (scatter_mg,), (7,), GRADES)


def clogged(count: int, kind: str = "high_volume") -> Tally:
    return Tally(kind, "clogged", count, dentists_permille=1000 * count)


def lines(found: Estimate) -> dict[str, int]:
    return {line.part: line.standard_uncertainty_mg for line in found.budget}


def test_fifty_swaps_share_their_mean() -> None:
    found = standing_mass(Holding(tallies=(clogged(50),)), one_kind(3000.0, 3000.0, 900.0))

    assert found.value_mg == 150_000
    assert found.standard_uncertainty_mg == pytest.approx(49_749.37, abs=0.5)
    assert lines(found) == {"scale": 0, "shared": 45_000, "scatter": 21_213}


def test_leaving_the_shared_part_out_would_be_far_too_sure() -> None:
    found = standing_mass(Holding(tallies=(clogged(50),)), one_kind(3000.0, 3000.0, 0.0))

    assert found.standard_uncertainty_mg == pytest.approx(21_213.2, abs=0.5)


def test_fifty_swaps_not_looked_at_are_the_same_after_fifty_weeks() -> None:
    unseen = Tally("high_volume", "not_looked", 50, dentists_permille=50_000, dentist_days_permille=50_000 * 7)

    found = standing_mass(Holding(tallies=(unseen,)), one_kind(3000.0, 3000.0, 900.0))

    assert found.standard_uncertainty_mg == pytest.approx(49_749.37, abs=0.5)


def test_jcgm_100_5_2_2_ten_resistors() -> None:
    """Ohms for grams; no scatter between the ten, only the standard they share."""
    found = standing_mass(Holding(tallies=(clogged(10),)), one_kind(1_000_000.0, 0.0, 100.0))

    assert (found.value_mg, found.standard_uncertainty_mg) == (10_000_000, 1000)
    assert round(math.sqrt(10) * 0.1, 2) == 0.32  # what independent inputs would have given


def test_the_propagated_moments_are_those_of_a_simulation() -> None:
    """Thirty traps, four filters and a pump trap: the variance goes with the true mean.

    So it is where clumps arrive as a Poisson process. That truth has exactly the variance of the law of propagation,
    and is never negative.
    """
    counts = {"high_volume": 30, "line_filter": 4, "pump": 1}
    means, true_means = drawn_means(counts, np.random.default_rng(20261125))
    total = np.zeros(DRAWS)
    for place, count in enumerate(counts.values()):
        clump_mg = scatters(counts)[place] ** 2 / means[place]
        total += np.random.default_rng(place).gamma(count * true_means[:, place] / clump_mg, clump_mg)

    found = standing_mass(holding_of(counts), SHIPPED)

    # Four standard errors of a simulated mean; the SD of so skewed a sum is known less well.
    assert found.value_mg == pytest.approx(total.mean(), abs=4 * total.std() / math.sqrt(DRAWS))
    assert found.standard_uncertainty_mg == pytest.approx(total.std(), rel=0.03)


# Where nearly all lies in one trap, a gamma of CV 1 has more mass near nothing than the log-normal that the published
# rows were given, and the interval holds less of it; that much is known and stated here.
@pytest.mark.parametrize(
    ("counts", "shape", "least"),
    [
        ({"high_volume": 1}, "lognormal", 0.94),
        ({"high_volume": 1}, "gamma", 0.87),
        ({"separator_unit": 1}, "lognormal", 0.94),
        ({"separator_unit": 1}, "gamma", 0.89),
        ({"high_volume": 10}, "lognormal", 0.94),
        ({"high_volume": 10}, "gamma", 0.94),
        ({"high_volume": 50}, "gamma", 0.94),
        ({"saliva_ejector": 60, "high_volume": 60}, "lognormal", 0.94),
        ({"saliva_ejector": 40, "high_volume": 40, "line_filter": 6, "pump": 2}, "lognormal", 0.94),
        ({"saliva_ejector": 40, "high_volume": 40, "line_filter": 6, "pump": 2}, "gamma", 0.94),
    ],
    ids=str,
)
def test_the_interval_holds_the_simulated_truth(counts: dict[str, int], shape: str, least: float) -> None:
    """The closed form promises 95 %; swaps drawn one by one must fall into it as often, or nearly."""
    total = simulated(counts, np.random.default_rng(7), shape)
    found = standing_mass(holding_of(counts), SHIPPED)

    assert least <= np.mean((total >= found.lower_mg) & (total <= found.upper_mg)) <= 0.965


@pytest.mark.parametrize("off_by", [2.5, 1 / 2.5])
@pytest.mark.parametrize("counts", [{"high_volume": 30}, {"saliva_ejector": 40, "high_volume": 40, "line_filter": 6}])
def test_starting_values_that_are_off_by_two_and_a_half_are_still_covered(
    off_by: float, counts: dict[str, int]
) -> None:
    """What the width of the common error is for; a third of each published deviation, taken as common, fails here."""
    rng = np.random.default_rng(23)
    total = np.zeros(DRAWS)
    for kind, count, scatter_mg in zip(counts, counts.values(), scatters(counts), strict=True):
        true_mg = off_by * SHIPPED.means_mg[SHIPPED.kinds.index(kind)]
        shape = (SHIPPED.means_mg[SHIPPED.kinds.index(kind)] / scatter_mg) ** 2
        total += rng.gamma(count * shape, true_mg / shape, DRAWS)
    third = Prior.sharing(
        SHIPPED.kinds,
        SHIPPED.means_mg,
        SHIPPED.scatter_sd_mg,
        SHIPPED.nominal_days,
        SHIPPED.grades_permille,
        shared_cv=1 / 3,
        between_kinds=0.0,
    )

    wide, narrow = (standing_mass(holding_of(counts), prior) for prior in (SHIPPED, third))

    assert np.mean((total >= wide.lower_mg) & (total <= wide.upper_mg)) >= 0.95
    assert np.mean((total >= narrow.lower_mg) & (total <= narrow.upper_mg)) < 0.5


@pytest.mark.parametrize("scale_u_mg", [1_000, 30_000, 100_000])
def test_a_weighed_base_and_an_estimate_together(scale_u_mg: int) -> None:
    """A scale far sharper, half as wide, and wider than what was added since: limits and coverage by simulation."""
    rng = np.random.default_rng(11)
    counts = {"high_volume": 20}
    total = 500_000 + rng.normal(0, scale_u_mg, DRAWS) + simulated(counts, rng, "lognormal")
    base = Holding(base_mg=500_000, base_twelfths_mg2=12 * scale_u_mg**2, base_seq=5)

    found = standing_mass(base.with_tally(clogged(20, "high_volume")), SHIPPED)

    assert 0.94 <= np.mean((total >= found.lower_mg) & (total <= found.upper_mg)) <= 0.96
    width = np.quantile(total, 0.975) - np.quantile(total, 0.025)
    assert found.upper_mg - found.lower_mg == pytest.approx(width, rel=0.05)


def holding_of(counts: dict[str, int]) -> Holding:
    return Holding(tallies=tuple(clogged(count, kind) for kind, count in counts.items()))


def scatters(counts: dict[str, int]) -> list[float]:
    return [SHIPPED.scatter_sd_mg[SHIPPED.kinds.index(kind)] for kind in counts]


def drawn_means(counts: dict[str, int], rng: np.random.Generator) -> tuple[list[float], NDArray[np.float64]]:
    """Prior means, and true means of the kinds drawn jointly log-normal with the shipped moments; mg."""
    rows = [SHIPPED.kinds.index(kind) for kind in counts]
    means = np.array([SHIPPED.means_mg[row] for row in rows])
    covariance = np.array([[SHIPPED.covariance_mg2[row][column] for column in rows] for row in rows])
    log_covariance = np.log1p(covariance / np.outer(means, means))
    middle = np.log(means) - np.diag(log_covariance) / 2
    return list(means), np.exp(rng.multivariate_normal(middle, log_covariance, DRAWS, method="cholesky"))


def simulated(counts: dict[str, int], rng: np.random.Generator, shape: str) -> NDArray[np.float64]:
    """True totals in mg, with each swap scattered about its site's true mean in proportion to it."""
    means, true_means = drawn_means(counts, rng)
    total = np.zeros(DRAWS)
    for place, (count, scatter_mg) in enumerate(zip(counts.values(), scatters(counts), strict=True)):
        cv = scatter_mg / means[place]
        if shape == "gamma":  # a sum of gammas of one scale is a gamma
            total += count * true_means[:, place] * rng.gamma(count / cv**2, cv**2 / count, DRAWS)
            continue
        sigma = math.sqrt(math.log1p(cv**2))
        for _ in range(count):
            total += true_means[:, place] * rng.lognormal(-(sigma**2) / 2, sigma, DRAWS)
    return total
