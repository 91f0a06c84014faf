"""Mean mass of restorations by surfaces, with the uncertainty of the means.

Source, read 2026-11-25 (abstract): A. O. Adegbembo, P. A. Watson, S. Rokni, Estimating the weight of dental amalgam
restorations, J Can Dent Assoc 70 (2004) 30: 0.31 g (95 % interval 0.28 to 0.34) for one surface, 0.49 (0.45 to 0.53)
for two, 0.81 (0.76 to 0.86) for three, 1.38 (1.31 to 1.45) for four or more.

The case of 10, 6, 4 and 2 removals is constructed; the law of its uncertainty is that of JCGM 100:2008, 5.1.2
(independent inputs) and 5.2.2 (correlated inputs).
"""

from __future__ import annotations

import math

import pytest

from wasteledger.estimate.capture import CAPTURE, read_capture
from wasteledger.estimate.procedures import mass_of
from wasteledger.resources import find

SHIPPED = read_capture(find(CAPTURE).read_bytes())
PRINTED_G = [(0.31, 0.28, 0.34), (0.49, 0.45, 0.53), (0.81, 0.76, 0.86), (1.38, 1.31, 1.45)]
CASE = (10, 6, 4, 2)


@pytest.mark.parametrize(("place", "printed"), list(enumerate(PRINTED_G)))
def test_adegbembo_2004_means_and_their_errors_as_shipped(place: int, printed: tuple[float, float, float]) -> None:
    mean_g, low_g, high_g = printed
    shipped = SHIPPED.by_surfaces[place]

    assert shipped.mean_mg == pytest.approx(1000 * mean_g)
    assert shipped.mean_se_mg == pytest.approx(1000 * (high_g - low_g) / 3.92, abs=0.001)


def test_adegbembo_2004_twenty_two_removals() -> None:
    assert mass_of(CASE, SHIPPED.by_surfaces).mean_mg == pytest.approx(12_040, abs=1e-6)


@pytest.mark.parametrize(("between_means", "expected_g"), [(0.0, 0.23224), (1.0, 0.44898)])
def test_jcgm_100_5_2_2_independent_and_fully_correlated_means(between_means: float, expected_g: float) -> None:
    found = mass_of(CASE, SHIPPED.by_surfaces, between_means=between_means)

    assert found.shared_sd_mg / 1000 == pytest.approx(expected_g, abs=1e-5)


def test_scatter_from_one_to_the_next_is_larger_than_that_of_the_means() -> None:
    """35 % of each mean (judgement, no source): the root of 10, 6, 4 and 2 squares of it."""
    by_hand = 0.35 * math.sqrt(sum(n * mean**2 for n, (mean, _, _) in zip(CASE, PRINTED_G, strict=True)))
    found = mass_of(CASE, SHIPPED.by_surfaces)

    assert found.scatter_sd_mg / 1000 == pytest.approx(by_hand)
    assert found.scatter_sd_mg > found.shared_sd_mg
