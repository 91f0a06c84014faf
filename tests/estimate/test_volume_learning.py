"""What levels teach of how much room a millilitre takes: by hand, in what order, and what must not be learned."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from tests.makers import MONDAY_MORNING
from wasteledger.estimate.learning import PRIOR_DEGREES_OF_FREEDOM
from wasteledger.estimate.volume_increments import VolumeIncrement, level_variance_ml2
from wasteledger.estimate.volume_learning import (
    ASSUMED_CV,
    BETWEEN_KINDS,
    LEAST_FACTOR,
    PACKING_CV,
    STATED_CV,
    VolumeFactors,
    starting_factors,
    teach_volume,
)
from wasteledger.estimate.volumes import ASSUMED_KINDS, VOLUME_KINDS, VolumesIn

HIGH, LOW = "stated.high_volume", "stated.saliva_ejector"
UNSTATED = "assumed.high_volume"


def an_increment(filled_ml: float, *, fill_ml: int = 2000, place: int = 1, **volumes: int) -> VolumeIncrement:
    """Millilitres of two stated kinds, ``high`` and ``low``, and ``unstated``, taken up in a container of *fill_ml*."""
    names = {"high": HIGH, "low": LOW, "unstated": UNSTATED}
    return VolumeIncrement(
        container=f"C-{place}",
        seq=place,
        began_at=MONDAY_MORNING,
        ended_at=MONDAY_MORNING,
        filled_ml=filled_ml,
        variance_ml2=level_variance_ml2(fill_ml),
        volumes=VolumesIn(tuple(sorted((names[name], ml) for name, ml in volumes.items()))),
    )


def learned(*increments: VolumeIncrement) -> VolumeFactors:
    return teach_volume(starting_factors(), increments).factors


def factor(factors: VolumeFactors, kind: str) -> float:
    return factors.means[factors.kinds.index(kind)]


def u(factors: VolumeFactors, kind: str) -> float:
    place = factors.kinds.index(kind)
    return math.sqrt(factors.covariance[place][place])


def test_before_any_level_stated_volumes_are_taken_widely_and_assumed_ones_more_so() -> None:
    start = starting_factors()

    assert set(start.means) == {1.0}
    assert {u(start, kind) for kind in ASSUMED_KINDS} == {ASSUMED_CV}
    assert {u(start, kind) for kind in VOLUME_KINDS if kind not in ASSUMED_KINDS} == {STATED_CV}
    place, other = VOLUME_KINDS.index(HIGH), VOLUME_KINDS.index(LOW)
    assert start.covariance[place][other] == pytest.approx(BETWEEN_KINDS * STATED_CV**2)
    # What is wrong with stated volumes says nothing of those that nobody stated.
    assert start.covariance[place][VOLUME_KINDS.index(UNSTATED)] == 0
    assert (start.taught, start.degrees_of_freedom) == (frozenset(), math.inf)


def test_one_level_by_hand() -> None:
    """800 mL taken by 600 mL stated, with a reading of u = 60 mL; a factor believed 1 with u = 0.2.

    Packing of a tenth of what is expected is taken at 1, then at the factor learned, three passes in all. Each pass is
    the precision-weighted mean of 1 and 4/3 (one normal reading, one normal prior), with the closed form of G. E. P.
    Box, G. C. Tiao, Bayesian Inference in Statistical Analysis (1973), 1.2.3. Behind s² = 1 there is one degree of
    freedom more after it: s² = (those before + squared distance of the reading over what was foretold of it) / all.
    """
    mean = 1.0
    for _ in range(3):
        reading = (60 / 600) ** 2 + (PACKING_CV * mean) ** 2
        mean = (1 / 0.2**2 + (800 / 600) / reading) / (1 / 0.2**2 + 1 / reading)
    variance = 1 / (1 / 0.2**2 + 1 / reading)
    before = PRIOR_DEGREES_OF_FREEDOM
    scale = (before + (800 / 600 - 1) ** 2 / (0.2**2 + reading)) / (before + 1)

    found = learned(an_increment(800.0, high=600))

    assert factor(found, HIGH) == pytest.approx(mean, rel=1e-12)
    assert found.scale == pytest.approx(scale, rel=1e-12)
    assert u(found, HIGH) == pytest.approx(math.sqrt(scale * variance), rel=1e-12)
    assert found.degrees_of_freedom == before + 1


def test_kinds_that_share_their_error_follow_and_others_keep_their_starting_values() -> None:
    found = learned(an_increment(800.0, high=600))

    # Half of the way of the high-volume inserts, since two kinds are correlated one half.
    assert factor(found, LOW) - 1 == pytest.approx((factor(found, HIGH) - 1) / 2)
    assert found.taught == set(VOLUME_KINDS) - set(ASSUMED_KINDS)
    for kind in ASSUMED_KINDS:
        assert (factor(found, kind), u(found, kind)) == (1.0, ASSUMED_CV)


def test_readings_that_agree_do_not_make_unseen_kinds_better_known() -> None:
    found = learned(*(an_increment(600.0, high=600, place=place) for place in range(30)))

    assert found.scale < 0.5
    assert {u(found, kind) for kind in ASSUMED_KINDS} == {ASSUMED_CV}


def test_assumed_volumes_are_taught_by_what_stated_ones_leave() -> None:
    """600 mL stated and 450 assumed took 1500 mL: nearly all of the surplus is laid to what nobody stated."""
    found = learned(an_increment(1500.0, high=600, unstated=450))

    # Shares of the surplus are as the variances of the two parts: (0.2 · 600)² to (1.0 · 450)².
    moved = (factor(found, HIGH) - 1) * 600, (factor(found, UNSTATED) - 1) * 450
    assert moved[0] / moved[1] == pytest.approx(120**2 / 450**2)
    assert factor(found, UNSTATED) > 1.5
    assert found.covariance[VOLUME_KINDS.index(HIGH)][VOLUME_KINDS.index(UNSTATED)] < 0


def test_more_containers_narrow_the_factor_but_not_what_the_next_container_may_do() -> None:
    one = learned(an_increment(660.0, high=600))
    many = learned(*(an_increment(660.0 + 40 * (-1) ** place, high=600, place=place) for place in range(60)))

    assert u(many, HIGH) < u(one, HIGH) < STATED_CV
    assert factor(many, HIGH) == pytest.approx(1.1, abs=0.005)
    place = VOLUME_KINDS.index(HIGH)
    next_one = math.sqrt(many.in_one_container.covariance_mg2[place][place])
    # Packing is as much again in the next container as it ever was.
    assert next_one**2 == pytest.approx(u(many, HIGH) ** 2 + many.scale * (PACKING_CV * factor(many, HIGH)) ** 2)


def test_a_forecast_and_an_estimate_take_the_same_variance() -> None:
    found = learned(an_increment(1500.0, high=600, unstated=450), an_increment(300.0, low=350, place=2))
    volumes = VolumesIn(((LOW, 120), (UNSTATED, 90), (HIGH, 240)))
    x, prior = found.exposures(volumes), found.in_one_container

    whole = sum(
        a * b * cell for a, row in zip(x, prior.covariance_mg2, strict=True) for b, cell in zip(x, row, strict=True)
    )

    assert found.shared_variance_ml2(volumes) + found.packing_variance_ml2(volumes) == pytest.approx(whole)
    assert sum(a * mean for a, mean in zip(x, prior.means_mg, strict=True)) == pytest.approx(found.taken_ml(volumes))
    assert prior.degrees_of_freedom == found.degrees_of_freedom


def test_levels_of_nothing_do_not_make_volumes_vanish() -> None:
    taught = teach_volume(starting_factors(), [an_increment(-60.0, high=600, place=place) for place in range(60)])

    assert factor(taught.factors, HIGH) == LEAST_FACTOR
    assert HIGH in taught.held_at_least


def test_the_order_of_levels_changes_not_a_digit() -> None:
    chance = random.Random(4)
    increments = [
        an_increment(chance.uniform(100, 1900), high=chance.randrange(900), low=chance.randrange(300), place=place)
        for place in range(25)
    ]
    taught = teach_volume(starting_factors(), increments)
    chance.shuffle(increments)
    again = teach_volume(starting_factors(), increments)

    assert again.factors == taught.factors
    assert dict(zip((one.seq for one in again.used), again.residuals, strict=True)) == dict(
        zip((one.seq for one in taught.used), taught.residuals, strict=True)
    )


def test_a_full_container_teaches_more_than_one_that_was_just_begun() -> None:
    begun, full = learned(an_increment(50.0, high=40)), learned(an_increment(2000.0, high=1600))

    assert u(full, HIGH) < 0.8 * u(begun, HIGH)
    assert factor(full, HIGH) > factor(begun, HIGH) > 1


def test_nothing_read_teaches_nothing() -> None:
    assert teach_volume(starting_factors(), ()).factors == starting_factors()


@pytest.mark.parametrize("truth", [0.4, 0.8, 1.0, 1.6])
def test_simulated_containers_end_at_the_truth(truth: float) -> None:
    """Forty containers packed a tenth apart, each read once with thirty thousandths of two litres."""
    chance = random.Random(17)
    increments = []
    for place in range(40):
        high, low = chance.randrange(200, 900), chance.randrange(100, 400)
        filled = truth * (high + low) * chance.gauss(1, 0.1) + chance.gauss(0, 60)
        increments.append(an_increment(filled, high=high, low=low, place=place))

    found = learned(*increments)

    volumes = VolumesIn(((HIGH, 600), (LOW, 250)))
    sd = math.sqrt(found.shared_variance_ml2(volumes))
    assert found.taken_ml(volumes) == pytest.approx(truth * 850, abs=3 * sd)
    assert sd < 0.05 * truth * 850
    assert found.scale == pytest.approx(1.0, abs=0.5)


def test_a_belief_of_fewer_degrees_of_freedom_is_kept() -> None:
    start = replace(starting_factors(), degrees_of_freedom=4.0)

    assert teach_volume(start, [an_increment(800.0, high=600)]).factors.degrees_of_freedom == 5
