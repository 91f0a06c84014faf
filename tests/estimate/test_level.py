"""How far a container is filled: read, reckoned since, and never as nothing what nobody stated."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from datetime import UTC, datetime
from statistics import quantiles
from typing import Any

import pytest

from wasteledger.estimate.level import LevelEstimate, standing_level
from wasteledger.estimate.volume_learning import PACKING_CV, STATED_CV, VolumeFactors, starting_factors
from wasteledger.estimate.volumes import VolumesIn
from wasteledger.model.standing.containers import ContainerStanding

MONDAY_EVENING = datetime(2026, 3, 2, 23, 0, tzinfo=UTC)
HIGH = "stated.high_volume"

PAIL = ContainerStanding(
    container="pail",
    container_type="four-litre",
    streams=("traps",),
    status="open",
    place="plant room",
    opened_seq=1,
    opened_at=MONDAY_EVENING,
    last_at=MONDAY_EVENING,
    tare_mg=300_000,
    tare_twelfths_mg2=0,
    fill_ml=4000,
    mass_limit_mg=None,
    items_limit=None,
    plan_at_permille=750,
    close_at_permille=1000,
)


def went_in(*, unknown: int = 0, **volumes: int) -> VolumesIn:
    """Millilitres stated of high-volume traps, or assumed of them, and how many of unknown volume."""
    names = {"stated": HIGH, "assumed": "assumed.high_volume"}
    return VolumesIn(tuple(sorted((names[name], ml) for name, ml in volumes.items())), unknown)


def level(since: VolumesIn, factors: VolumeFactors | None = None, **changed: Any) -> LevelEstimate:
    found = standing_level(replace(PAIL, **changed), since, factors or starting_factors())
    assert found is not None
    return found


def learned(mean: float, sd: float, *, scale: float = 1.0, freedom: float = math.inf) -> VolumeFactors:
    """Factors of one kind."""
    return VolumeFactors((HIGH,), (mean,), ((sd**2,),), scale, freedom, frozenset((HIGH,)))


def test_what_was_just_read_is_as_sure_as_an_eye() -> None:
    assert level(VolumesIn(), level_permille=600) == LevelEstimate(600, 541, 659, "level read")


def test_what_went_in_since_is_an_estimate_by_the_factors() -> None:
    found = level(went_in(stated=640), learned(1.25, 0.0), level_permille=600)

    # 640 mL at 1.25 are 800 of four litres.
    assert (found.permille, found.left_out) == (800, 0)
    assert found.basis == "level read earlier, and estimate of what went in since"


def test_without_a_reading_it_counts_from_empty() -> None:
    found = level(went_in(stated=1001))

    assert (found.permille, found.basis) == (251, "estimate of what went in")
    # Two log-normal causes of mean 1 (CV 0.2 and 0.1), 1.96 deviations either way; carried outward to a thousandth.
    log_variance = math.log1p(STATED_CV**2) + math.log1p(PACKING_CV**2)
    middle, reach = -log_variance / 2, 1.959964 * math.sqrt(log_variance)
    assert found.lower_permille == math.floor(250.25 * math.exp(middle - reach))
    assert found.upper_permille == math.ceil(250.25 * math.exp(middle + reach))


def test_an_empty_container_is_surely_empty() -> None:
    assert level(VolumesIn()) == LevelEstimate(0, 0, 0, "no level read")


def test_a_level_of_nothing_is_still_a_reading() -> None:
    assert level(VolumesIn(), level_permille=0) == LevelEstimate(0, 0, 59, "level read")


def test_the_interval_holds_the_quantiles_of_reading_and_estimate_together() -> None:
    """Against two hundred thousand draws of the same sum: normal reading, log-normal factor and packing."""
    factors = learned(1.2, 0.25)
    found = level(went_in(stated=1000), factors, level_permille=300)

    chance = random.Random(5)
    log_sds = [math.sqrt(math.log1p((sd / mean) ** 2)) for sd, mean in ((0.25, 1.2), (PACKING_CV, 1.0))]
    drawn = [
        1000 / 4000 * 1200 * math.exp(sum(chance.gauss(-(sd**2) / 2, sd) for sd in log_sds)) + chance.gauss(300, 30)
        for _ in range(200_000)
    ]
    cut = quantiles(drawn, n=40)
    assert (found.lower_permille, found.upper_permille) == pytest.approx((cut[0], cut[-1]), abs=2)
    assert found.permille == 600


def test_what_levels_taught_narrows_it_and_few_of_them_widen_it() -> None:
    wide, narrow = level(went_in(stated=1000), learned(1.0, 0.2)), level(went_in(stated=1000), learned(1.0, 0.05))
    few = level(went_in(stated=1000), learned(1.0, 0.05, freedom=5))

    assert wide.lower_permille < few.lower_permille < narrow.lower_permille
    assert narrow.upper_permille < few.upper_permille < wide.upper_permille
    assert wide.permille == narrow.permille == few.permille == 250


def test_levels_that_scatter_more_than_was_judged_make_the_next_one_less_sure() -> None:
    found = level(VolumesIn(), learned(1.0, 0.2, scale=4.0), level_permille=500)

    # Twice thirty thousandths, and 1.96 of them.
    assert (found.lower_permille, found.upper_permille) == (382, 618)


def test_an_assumed_volume_is_in_it_but_far_less_sure() -> None:
    stated, assumed = level(went_in(stated=400)), level(went_in(assumed=400))

    assert stated.permille == assumed.permille == 100
    assert assumed.upper_permille > 2 * stated.upper_permille
    assert assumed.left_out == 0


def test_what_is_of_unknown_volume_is_counted_and_left_out() -> None:
    found = level(went_in(stated=400, unknown=3), level_permille=500)
    assert (found.permille, found.left_out) == (600, 3)

    only = level(VolumesIn(unknown=1), level_permille=500)
    assert (only.permille, only.basis, only.left_out) == (500, "level read earlier", 1)


def test_without_a_volume_of_the_fill_line_nothing_can_be_set_against_it() -> None:
    unread = standing_level(replace(PAIL, fill_ml=None), went_in(stated=50), starting_factors())
    assert unread is None

    found = level(went_in(stated=50, unknown=2), fill_ml=None, level_permille=700)
    assert found == LevelEstimate(700, 641, 759, "level read earlier", 3)
    assert level(VolumesIn(), fill_ml=None, level_permille=700).basis == "level read"
