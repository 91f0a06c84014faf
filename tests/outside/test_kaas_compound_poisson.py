"""Compound Poisson chances by Panjer's recursion: a published worked example.

Source: R. Kaas, M. Goovaerts, J. Dhaene, M. Denuit, Modern Actuarial Risk Theory, chapter 3: counts of mean 4,
severities 1, 2, 3 with chances 1/4, 1/2, 1/4. The case was read on the page of an R package's documentation
that quotes it (2026-11-25); first chances f(0..4) = exp(-4) (1, 1, 5/2, 19/6, 97/24), mean 8, variance 18,
F(8) = 0.5837387627, F(15) = 0.9478851686.
"""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from scipy import stats

from wasteledger.forecast.compound import Frequency, chance_of_reaching, compound

SEVERITY = (0.0, 0.25, 0.5, 0.25)
CHANCES = compound(Frequency.of(4), SEVERITY, 120)


@pytest.mark.parametrize(
    ("total", "share"),
    [(0, Fraction(1)), (1, Fraction(1)), (2, Fraction(5, 2)), (3, Fraction(19, 6)), (4, Fraction(97, 24))],
)
def test_kaas_first_chances(total: int, share: Fraction) -> None:
    assert CHANCES[total] == pytest.approx(math.exp(-4) * share, rel=1e-12)


def test_kaas_first_chances_as_printed() -> None:
    assert [round(chance, 7) for chance in CHANCES[:5]] == [0.0183156, 0.0183156, 0.0457891, 0.0579995, 0.0740257]


@pytest.mark.parametrize(("total", "chance"), [(8, 0.5837387627), (15, 0.9478851686)])
def test_kaas_distribution_function(total: int, chance: float) -> None:
    assert math.fsum(CHANCES[: total + 1]) == pytest.approx(chance, abs=1e-9)
    assert 1 - chance_of_reaching(total + 1, 8.0, 18.0, SEVERITY) == pytest.approx(chance, abs=1e-9)


def test_kaas_mean_and_variance() -> None:
    mean = math.fsum(total * chance for total, chance in enumerate(CHANCES))
    variance = math.fsum((total - 8) ** 2 * chance for total, chance in enumerate(CHANCES))

    assert (mean, variance) == pytest.approx((8, 18), rel=1e-9)


@pytest.mark.parametrize("mean", [0.3, 4.0, 60.0, 900.0])
def test_single_pieces_are_the_poisson_distribution_of_scipy(mean: float) -> None:
    upto = int(mean + 6 * math.sqrt(mean))

    assert compound(Frequency.of(mean), [0, 1], upto) == pytest.approx(
        stats.poisson(mean).pmf(range(upto + 1)), rel=1e-9
    )


@pytest.mark.parametrize(("mean", "variance"), [(3.0, 3.1), (10.0, 40.0), (200.0, 5000.0)])
def test_single_pieces_are_the_negative_binomial_distribution_of_scipy(mean: float, variance: float) -> None:
    chance = mean / variance
    reference = stats.nbinom(mean * chance / (1 - chance), chance)
    upto = int(mean + 4 * math.sqrt(variance))

    assert compound(Frequency.of(mean, variance), [0, 1], upto) == pytest.approx(
        reference.pmf(range(upto + 1)), rel=1e-8
    )
