"""Products of uncertain factors: where the law of propagation alone is too little, against figures not made here.

Sources:

- L. A. Goodman, On the exact variance of products, J Am Stat Assoc 55 (1960) 708-713: for independent x and y,
  var(xy) = E(x)² var(y) + E(y)² var(x) + var(x) var(y).
- JCGM 100:2008 (Guide to the expression of uncertainty in measurement): 4.3.7, rectangular limits ±a have u = a/√3;
  5.1.2, the law of propagation and its note on terms of higher order; H.1, calibration of an end gauge, whose figures
  are given here from memory and were recomputed from the inputs that the example states: second-order terms 11.7 nm and
  1.7 nm, which raise 32 nm to 34 nm (H.1.7); 16.7 effective degrees of freedom, cut to 16 (H.1.6).
- The constructed case: 150 g (u 49.8) of debris, 0.35 (0.20) of it amalgam, 0.485 (0.032) of that mercury: 25.4625 g,
  u 16.91116 g to the first order, 17.62545 g exactly for independent factors; checked here by a simulation too.
"""

from __future__ import annotations

import dataclasses
import math
from random import Random

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from wasteledger.estimate.agreement import rectangular
from wasteledger.estimate.content import Content, content, effective_degrees_of_freedom, product_moments, read_streams
from wasteledger.estimate.prior import Defaults, Prior, Share, read_defaults
from wasteledger.estimate.put_in import PutIn
from wasteledger.model.containers import Tally
from wasteledger.resources import find

SHIPPED = read_defaults(find("estimate/defaults.toml").read_bytes())
STREAMS = read_streams(find("estimate/streams.toml").read_bytes())
DRAWS = 400_000


def fifty_swaps(defaults: Defaults = SHIPPED, degrees_of_freedom: float = math.inf) -> Content:
    """150 g of debris with a standard uncertainty of 49.8 g: fifty swaps of one kind, 3.0 g each."""
    shared_mg2 = (49_800.0**2 - 50 * 3000.0**2) / 50**2
    kind = ("high_volume",)
    prior = Prior(kind, (3000.0,), ((shared_mg2,),), (3000.0,), (7,), {"clogged": 1000}, degrees_of_freedom)
    clogged = Tally("high_volume", "clogged", 50, dentists_permille=50_000)
    return content(PutIn(since=(clogged,)), prior, defaults, STREAMS, Random(20261125))


def test_s16_mercury_in_150_g_of_debris() -> None:
    amalgam, mercury, _ = fifty_swaps().parts

    assert (mercury.substance, mercury.value_mg) == ("mercury", 25_462)  # 25.4625 g, half to even
    assert mercury.first_order_mg == pytest.approx(16_911.16, abs=0.5)
    assert mercury.standard_uncertainty_mg == pytest.approx(17_625.45, abs=0.5)
    assert amalgam.value_mg == 52_500
    squares = math.fsum(line.standard_uncertainty_mg**2 for line in mercury.budget)
    assert math.sqrt(squares) == pytest.approx(17_625.45, abs=2)


def test_s16_as_a_bare_product() -> None:
    mean, exact, first = product_moments((150.0, 49.8**2), (0.35, 0.20**2), (0.485, 0.032**2))

    assert mean == pytest.approx(25.4625, rel=1e-12)
    assert math.sqrt(first) == pytest.approx(16.91116, abs=5e-6)
    assert math.sqrt(exact) == pytest.approx(17.62545, abs=5e-6)


def test_s16_the_interval_is_that_of_a_free_simulation() -> None:
    """The same factors drawn freely by another generator and library: moments and both ends."""
    rng = np.random.default_rng(16)
    cv2 = (49.8**2 - 50 * 9) / 150**2
    common = rng.lognormal(-math.log1p(cv2) / 2, math.sqrt(math.log1p(cv2)), DRAWS)
    scatter = 50 * 9 / 150**2
    own = rng.lognormal(-math.log1p(scatter) / 2, math.sqrt(math.log1p(scatter)), DRAWS)
    mercury_g = 150 * common * own * _beta(0.35, 0.20, rng) * _beta(0.485, 0.032, rng)

    found = fifty_swaps().parts[1]

    assert mercury_g.mean() == pytest.approx(25.4625, rel=0.005)
    # The law of propagation knows no product of the common error with the scatter, which is 2 % of the variance here.
    assert mercury_g.std() == pytest.approx(17.62545, rel=0.015)
    assert mercury_g.std() > 1.03 * 16.91116
    lower, upper = np.quantile(mercury_g, [0.025, 0.975])
    assert found.lower_mg / 1000 == pytest.approx(lower, rel=0.06)
    assert found.upper_mg / 1000 == pytest.approx(upper, rel=0.04)


def test_s16_published_arithmetic_takes_one_half() -> None:
    """With a mercury share of exactly 0.50 (as Adegbembo, Watson 2004 took it), nothing is added by that share."""
    fixed = dataclasses.replace(SHIPPED, composition={**SHIPPED.composition, "mercury_of_amalgam": Share(0.5, 0.0)})

    amalgam, mercury, _ = fifty_swaps(fixed).parts

    assert mercury.value_mg == 26_250
    assert mercury.standard_uncertainty_mg == pytest.approx(amalgam.standard_uncertainty_mg / 2, abs=1)


@pytest.mark.parametrize(
    ("low", "high", "mean", "u"), [(0.43, 0.54, 0.485, 0.0317543), (0.40, 0.80, 0.60, 0.1154701)], ids=str
)
def test_s17_rectangular_limits(low: float, high: float, mean: float, u: float) -> None:
    found_mean, found_u = rectangular(low, high)

    assert found_mean == pytest.approx(mean, abs=1e-12)
    assert found_u == pytest.approx(u, abs=5e-8)
    assert found_u == pytest.approx(stats.uniform(low, high - low).std(), rel=1e-12)


def test_s17_the_shipped_share_of_mercury_is_that_of_its_limits() -> None:
    mean, u = rectangular(0.43, 0.54)
    share = SHIPPED.composition["mercury_of_amalgam"]

    assert share.mean == mean
    assert u <= share.sd < u + 0.0005  # carried up to three decimals


def test_jcgm_100_h_1_7_second_order_terms_of_an_end_gauge() -> None:
    """δl = l_S (δα θ + α_S δθ): both products have a factor of mean 0, whose second-order term is not small."""
    length_nm = 50e6
    u_difference_of_coefficients = rectangular(-1e-6, 1e-6)[1]
    u_temperature = math.hypot(0.2, 0.5 / math.sqrt(2))  # mean of the bath, and its cycle (arc sine)
    u_coefficient = rectangular(9.5e-6, 13.5e-6)[1]
    u_difference_of_temperatures = rectangular(-0.05, 0.05)[1]

    _, exact, first = product_moments((0.0, u_difference_of_coefficients**2), (-0.1, u_temperature**2))
    _, exact_2, first_2 = product_moments((11.5e-6, u_coefficient**2), (0.0, u_difference_of_temperatures**2))
    one, other = length_nm * math.sqrt(exact - first), length_nm * math.sqrt(exact_2 - first_2)

    assert round(one, 1) == 11.7
    assert round(other, 1) == 1.7
    assert length_nm * math.sqrt(first) == pytest.approx(2.9, abs=0.05)
    assert length_nm * math.sqrt(first_2) == pytest.approx(16.6, abs=0.05)
    assert round(math.sqrt(1002 + one**2 + other**2)) == 34


def test_jcgm_100_h_1_6_effective_degrees_of_freedom() -> None:
    nm = [(25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0)]

    found = effective_degrees_of_freedom(*((u**2, freedom) for u, freedom in nm))

    assert found == pytest.approx(16.7, abs=0.1)
    assert math.floor(found) == 16


def test_degrees_of_freedom_of_a_learned_prior_reach_its_content() -> None:
    """By the formula, worked here from the printed standard uncertainties: shares have no limit, masses have five."""
    wide, learned = fifty_swaps(), fifty_swaps(degrees_of_freedom=5)
    mercury = learned.parts[1]
    by = {line.cause: line.standard_uncertainty_mg for line in mercury.budget}

    expected = mercury.standard_uncertainty_mg**4 / ((by["shared"] ** 2 + by["scatter"] ** 2) ** 2 / 5)

    assert mercury.degrees_of_freedom == math.floor(expected)
    assert wide.parts[1].degrees_of_freedom is None
    assert mercury.upper_mg > wide.parts[1].upper_mg
    assert mercury.lower_mg < wide.parts[1].lower_mg


def _beta(mean: float, sd: float, rng: np.random.Generator) -> NDArray[np.float64]:
    size = mean * (1 - mean) / sd**2 - 1
    return rng.beta(mean * size, (1 - mean) * size, DRAWS)
