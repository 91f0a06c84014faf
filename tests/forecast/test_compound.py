"""Compound counts at their edges, and their moments; the worked example is in tests/outside."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wasteledger.forecast.compound import BadCompound, Frequency, chance_of_reaching, compound

SEVERITY = (0.0, 0.5, 0.0, 0.3, 0.2)


def moments(mean: float, variance: float, upto: int) -> tuple[float, float]:
    """Mean and variance of what `chance_of_reaching` describes, from its tail."""
    tail = [chance_of_reaching(total, mean, variance, SEVERITY) for total in range(1, upto)]
    first = math.fsum(tail)
    second = math.fsum((2 * total - 1) * chance for total, chance in enumerate(tail, 1))
    return first, second - first**2


@pytest.mark.parametrize("variance", [3.0, 20.0, 66.0, 90.0, 300.0])
def test_mean_and_variance_are_met(variance: float) -> None:
    """From counts far more regular than Poisson to counts far more uneven."""
    found_mean, found_variance = moments(20.0, variance, 400)

    assert found_mean == pytest.approx(20.0, rel=1e-3)
    # The part that comes for sure is a whole number or its neighbour.
    assert found_variance == pytest.approx(variance, abs=0.26 + 0.01 * variance)


@given(st.floats(0.1, 200), st.floats(0.05, 20), st.integers(0, 60))
def test_more_pieces_are_never_reached_sooner(mean: float, dispersion: float, wanted: int) -> None:
    more, fewer = (chance_of_reaching(wanted + one, mean, mean * dispersion, SEVERITY) for one in (1, 0))

    assert 0 <= more <= fewer + 1e-12 <= 1 + 1e-12


def test_nothing_wanted_is_there_and_nothing_coming_reaches_nothing() -> None:
    assert chance_of_reaching(0, 3.0, 3.0, SEVERITY) == 1
    assert chance_of_reaching(-4, 3.0, 3.0, SEVERITY) == 1
    assert chance_of_reaching(1, 0.0, 0.0, []) == 0


def test_thousands_of_arrivals_do_not_underflow() -> None:
    """exp(-5000) is no double; the chances are kept relative to it."""
    chances = compound(Frequency.of(5000), [0, 1], 5600)

    assert math.fsum(chances) == pytest.approx(1, abs=1e-9)
    assert chances.index(max(chances)) in (4999, 5000)


def test_severities_of_nothing_are_thinned_out() -> None:
    """Half of the arrivals bring nothing: Poisson of half the mean (thinning)."""
    assert compound(Frequency.of(6), [0.5, 0.5], 20) == pytest.approx(compound(Frequency.of(3), [0, 1], 20), rel=1e-12)


@pytest.mark.parametrize("severity", [[0.5, 0.4], [-0.1, 1.1], [0, 2]])
def test_severities_that_are_no_chances_are_refused(severity: list[float]) -> None:
    with pytest.raises(BadCompound, match="add up to 1"):
        compound(Frequency.of(1), severity, 3)


@pytest.mark.parametrize(("mean", "variance"), [(-1.0, 1.0), (2.0, 1.0), (1.0, math.inf)])
def test_counts_more_regular_than_poisson_are_refused(mean: float, variance: float) -> None:
    with pytest.raises(BadCompound):
        Frequency.of(mean, variance)
