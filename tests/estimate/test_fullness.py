"""How full a container is, and what that asks for."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from tests.estimate.makers import a_holding, a_prior, pieces, swaps
from wasteledger.estimate.containers import standing_mass
from wasteledger.estimate.fullness import Advice, Component, Fullness, fullness
from wasteledger.estimate.level import standing_level
from wasteledger.estimate.volume_learning import starting_factors
from wasteledger.estimate.volumes import VolumesIn
from wasteledger.model.containers import Holding
from wasteledger.model.standing.containers import ContainerStanding

MONDAY_EVENING = datetime(2026, 3, 2, 23, 0, tzinfo=UTC)

PAIL = ContainerStanding(
    container="pail",
    container_type="five-litre",
    streams=("traps",),
    status="open",
    place="plant room",
    opened_seq=1,
    opened_at=MONDAY_EVENING,
    last_at=MONDAY_EVENING,
    tare_mg=300_000,
    tare_twelfths_mg2=0,
    fill_ml=4000,
    mass_limit_mg=2_000_000,
    items_limit=40,
    plan_at_permille=750,
    close_at_permille=1000,
)


def full(holding: Holding | None = None, since: VolumesIn = VolumesIn(), **changed: Any) -> Fullness:  # noqa: B008
    """How full the pail is with that in it; *since* went in since its level was read."""
    holding = holding or Holding()
    pail = replace(PAIL, holding=holding, **changed)
    return fullness(pail, standing_mass(holding, a_prior()), standing_level(pail, since, starting_factors()))


def test_an_empty_container_is_fine() -> None:
    found = full()

    assert [component.permille for component in found.components] == [0, 0, 0]
    assert (found.advice, found.is_least) == (Advice.FINE, False)


def test_the_largest_governs() -> None:
    found = full(a_holding(base_mg=900_000, base_seq=2), level_permille=300, pieces=20)

    assert [(one.measure, one.permille, one.basis) for one in found.components] == [
        ("level", 300, "level read"),
        ("mass", 450, "weighed"),
        ("pieces", 500, "counted"),
    ]
    assert not any(one.is_estimate for one in found.components)
    assert found.governing is not None
    assert (found.governing.measure, found.permille) == ("pieces", 500)


def test_what_was_left_out_of_a_level_makes_it_the_least() -> None:
    found = full(since=VolumesIn((("stated.high_volume", 1001),), unknown=2))

    level = found.components[0]
    assert (level.measure, level.permille, level.left_out) == ("level", 251, 2)
    assert level.is_estimate
    assert found.is_least


def test_a_measure_without_a_limit_is_none() -> None:
    nothing = full(fill_ml=None, mass_limit_mg=None, items_limit=None, pieces=1000)

    assert nothing == Fullness((), None, Advice.NOT_KNOWN)
    assert nothing.permille is None


def test_an_estimated_mass_is_called_an_estimate_and_names_what_it_leaves_out() -> None:
    found = full(a_holding(swaps(100), pieces("teeth", 4)))

    held = standing_mass(a_holding(swaps(100), pieces("teeth", 4)), a_prior())
    # The ends of the mass, in thousandths of two kilograms: the lower carried down, the upper up.
    assert found.components[1] == Component(
        "mass", 150, held.lower_mg // 2000, -(-held.upper_mg // 2000), "estimate", 4
    )
    assert found.components[1].is_estimate
    assert found.is_least


@pytest.mark.parametrize(
    ("pieces_in", "advice"),
    [(29, Advice.FINE), (30, Advice.PLAN), (39, Advice.PLAN), (40, Advice.CLOSE), (41, Advice.CLOSE)],
)
def test_three_quarters_plan_a_pickup_and_full_closes(pieces_in: int, advice: Advice) -> None:
    assert full(pieces=pieces_in).advice is advice


def test_the_marks_are_the_containers_own() -> None:
    assert full(pieces=20, plan_at_permille=500, close_at_permille=900).advice is Advice.PLAN
    assert full(pieces=36, plan_at_permille=500, close_at_permille=900).advice is Advice.CLOSE


def test_a_closed_container_is_not_told_to_close() -> None:
    assert full(pieces=40, status="closed", closed_at=MONDAY_EVENING).advice is Advice.PLAN


def test_a_thousandth_is_carried_up_so_that_no_warning_comes_late() -> None:
    assert full(a_holding(base_mg=1_499_001, base_seq=2)).permille == 750


def test_level_comes_first_at_equal_fullness() -> None:
    found = full(a_holding(base_mg=1_000_000, base_seq=2), level_permille=500, pieces=20)

    assert found.governing is not None
    assert found.governing.measure == "level"
