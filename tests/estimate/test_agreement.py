"""A received weight against what was stated as it left: scores, their level, and the limits of the facility's scale."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tests.estimate.makers import a_holding, a_prior, swaps
from wasteledger.estimate.agreement import (
    ReceivedLimits,
    Stated,
    is_beyond,
    read_received_limits,
    rectangular,
    z_score,
)
from wasteledger.estimate.containers import standing_mass
from wasteledger.estimate.coverage import student_share
from wasteledger.estimate.prior import BadPrior
from wasteledger.resources import find

WEIGHED = Stated(1_000_000, 999_000, 1_001_000, 0, is_weighed=True)
ESTIMATED = Stated(150_000, 20_000, 550_000, 150_000, is_weighed=False)


@pytest.mark.parametrize("received_mg", [997_000, 1_000_000, 1_004_500])
def test_of_a_weighing_the_score_is_the_difference_over_both_uncertainties(received_mg: int) -> None:
    both = math.hypot(1000 / stats.norm.ppf(0.975), 800)

    assert z_score(WEIGHED, received_mg, 800) == pytest.approx((received_mg - 1_000_000) / both, rel=1e-9)


def test_a_score_at_the_ends_of_an_estimate_is_that_of_its_interval() -> None:
    """At both ends 1.96, though one lies 130 g away and the other 400 g: what a symmetric reading would get wrong."""
    assert z_score(ESTIMATED, 20_000, 0) == pytest.approx(-1.959964, abs=1e-4)
    assert z_score(ESTIMATED, 550_000, 0) == pytest.approx(1.959964, abs=1e-4)
    assert not is_beyond(z_score(ESTIMATED, 700_000, 0))
    assert is_beyond(z_score(ESTIMATED, 5_000, 0))


def test_the_known_part_of_what_left_is_not_stretched() -> None:
    """A pail with 1 kg of trap bodies and 150 g estimated: less than the bodies is beyond any level."""
    mixed = Stated(1_150_000, 1_020_000, 1_550_000, 150_000, is_weighed=False)

    assert z_score(mixed, 1_020_000, 0) == pytest.approx(-1.959964, abs=1e-4)
    assert z_score(mixed, 990_000, 0) < -7
    assert z_score(mixed, 990_000, 20_000) == pytest.approx(-2.6, abs=0.4)


def test_the_score_is_that_of_the_simulated_sum() -> None:
    """The share of drawn estimates plus drawn errors of the facility that lies below, by another library."""
    rng = np.random.default_rng(3)
    log_sd = math.log(550 / 20) / 2 / 1.959964
    drawn = math.sqrt(20_000 * 550_000) * np.exp(log_sd * rng.standard_normal(1_000_000))
    drawn += 15_000 * rng.standard_normal(1_000_000)

    for received_mg in (30_000, 105_000, 400_000):
        expected = stats.norm.ppf(np.mean(drawn < received_mg))
        assert z_score(ESTIMATED, received_mg, 15_000) == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize("freedom", [1, 2, 5, 30])
def test_few_degrees_of_freedom_reach_further_beyond_the_same_ends(freedom: float) -> None:
    """Student's distribution by SciPy, in the logarithm, between the same 95 % ends."""
    learned = replace(ESTIMATED, degrees_of_freedom=freedom)
    log_sd = math.log(550 / 20) / 2 / stats.t.ppf(0.975, freedom)
    middle = math.log(20_000 * 550_000) / 2

    for received_mg in (8_000, 60_000, 900_000):
        below = stats.t.cdf((math.log(received_mg) - middle) / log_sd, freedom)
        assert z_score(learned, received_mg, 0) == pytest.approx(stats.norm.ppf(below), abs=1e-6)
    assert abs(z_score(learned, 900_000, 0)) < abs(z_score(ESTIMATED, 900_000, 0))


@pytest.mark.parametrize("freedom", [1, 2.7, 4, 50, math.inf])
@pytest.mark.parametrize("value", [-30.0, -1.5, 0.0, 0.3, 4.0])
def test_the_share_below_is_student_s(value: float, freedom: float) -> None:
    whole = freedom if math.isinf(freedom) else math.floor(freedom)

    assert student_share(value, freedom) == pytest.approx(stats.t.cdf(value, whole), abs=1e-12)


def test_no_student_has_less_than_one_degree_of_freedom() -> None:
    with pytest.raises(ValueError, match="degree"):
        student_share(0.0, 0.5)


def test_an_estimate_as_the_ledger_makes_it_agrees_with_its_own_ends() -> None:
    for freedom in (3.0, math.inf):
        found = standing_mass(a_holding(swaps(30, inserts_mg=90_000)), a_prior(degrees_of_freedom=freedom))
        stated = Stated(
            found.value_mg, found.lower_mg, found.upper_mg, found.estimated_mg, False, degrees_of_freedom=freedom
        )
        assert z_score(stated, found.lower_mg, 0) == pytest.approx(-1.96, abs=0.01)
        assert z_score(stated, found.upper_mg, 0) == pytest.approx(1.96, abs=0.01)


def test_without_any_uncertainty_the_least_difference_is_beyond() -> None:
    exact = Stated(1000, 1000, 1000, 0, is_weighed=True)

    assert z_score(exact, 1000, 0) == 0
    assert is_beyond(z_score(exact, 1001, 0))
    assert z_score(exact, 999, 0) < 0


def test_an_interval_that_reaches_into_the_known_part_is_read_side_by_side() -> None:
    """A wide scale under a small estimate: no log-normal has such ends, so each side has its own half-width."""
    odd = Stated(100_000, 80_000, 150_000, 10_000, is_weighed=False)

    assert z_score(odd, 80_000, 0) == pytest.approx(-1.96, abs=0.001)
    assert z_score(odd, 150_000, 0) == pytest.approx(1.96, abs=0.001)


@given(
    st.integers(0, 2_000_000),
    st.integers(0, 2_000_000),
    st.sampled_from([WEIGHED, ESTIMATED]),
    st.floats(0.0, 50_000.0),
)
def test_more_never_scores_less(one_mg: int, other_mg: int, stated: Stated, uncertainty_mg: float) -> None:
    less, more = sorted((one_mg, other_mg))

    assert z_score(stated, less, uncertainty_mg) <= z_score(stated, more, uncertainty_mg) + 1e-6


def test_the_level_is_two_sided() -> None:
    assert not is_beyond(2.57)
    assert is_beyond(-2.58)
    assert is_beyond(2.0, level=0.95)


# -- limits of the facility's scale ----------------------------------------------------------------------------------


def test_the_shipped_limits_are_of_the_gross_weight() -> None:
    limits = read_received_limits(find("estimate/received.toml").read_bytes())

    assert limits.uncertainty_mg(3_000_000) == pytest.approx(30_000 / math.sqrt(3))
    assert limits.uncertainty_mg(10_000) == pytest.approx(2000 / math.sqrt(3))
    assert "no source" in limits.basis


def test_limits_of_nothing_are_nothing() -> None:
    assert ReceivedLimits(0, 0).uncertainty_mg(5_000_000) == 0


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("format = 1\n[limits]\nshare_permille = 1001\nleast_mg = 0\nbasis = 'x'", "limits.share_permille"),
        ("format = 2\n[limits]\nshare_permille = 1\nleast_mg = 0\nbasis = 'x'", "format: 2 is not read here"),
        ("format = 1\n[limits]\nshare_permille = 1\nleast_mg = 0", "limits.basis: is missing"),
        ("format = 1\n[limits]\nshare_permille = 1\nleast_mg = 0\nbasis = 'x'\nmost_mg = 4", "limits.most_mg"),
        ("format =", "no TOML"),
    ],
)
def test_faults_in_the_file_are_named(text: str, fault: str) -> None:
    with pytest.raises(BadPrior) as refusal:
        read_received_limits(text)

    assert any(fault in one for one in refusal.value.faults)


def test_limits_stand_the_right_way_round() -> None:
    with pytest.raises(ValueError, match="first"):
        rectangular(2.0, 1.0)


def test_an_uncertainty_is_not_below_nothing() -> None:
    with pytest.raises(ValueError, match="0 or more"):
        z_score(WEIGHED, 1, -1.0)
