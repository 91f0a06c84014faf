"""What a stated millilitre takes up of the fill line: by hand, and what must not teach it."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest

from tests.makers import MONDAY_MORNING, a_deposit, a_level, a_swap, a_unit_replacement, an_opening
from wasteledger.estimate.prior import read_defaults
from wasteledger.model.facts import Fact
from wasteledger.model.traps import Insert, TrapKind
from wasteledger.model.values import Body
from wasteledger.office.volumes import (
    ASSUMED_CV,
    FACTOR_CV,
    PACKING_CV,
    Volume,
    VolumeFactor,
    VolumeFactors,
    insert_volume,
    volume_factors,
    volume_of,
)
from wasteledger.resources import find


def facts(*bodies: Body) -> list[Fact]:
    """These, one an hour."""
    return [
        Fact(seq, seq, at := MONDAY_MORNING + timedelta(hours=seq), at, "kim", body)
        for seq, body in enumerate(bodies, start=1)
    ]


def a_filled_pail(container: str, level_permille: int) -> list[Body]:
    """Two litres to the line, twenty inserts of 30 mL, and a level."""
    return [an_opening(container), *[a_swap(container=container)] * 20, a_level(container, level_permille)]


def test_one_level_by_hand() -> None:
    """800 mL taken by 600 mL stated: 4/3, with a reading of u = 60/600 and packing of 0.1; prior 1 with u = 0.2.

    Weights 1/0.04 and 1/0.02: (25 + 66.6667) / 75 = 1.222222; u² = 1/75 + 0.01 (closed form, Box, Tiao 1973, 1.2.3; the
    same form as the two physicists' example there).
    """
    found = volume_factors(facts(*a_filled_pail("C-1", 400)))["pail"].stated

    assert found.mean == pytest.approx(1.2222222, abs=1e-7)
    assert found.sd == pytest.approx(0.1527525, abs=1e-7)
    assert found.containers == 1


def test_what_went_in_after_the_level_teaches_nothing() -> None:
    later = [*a_filled_pail("C-1", 400), *[a_swap()] * 50]

    assert volume_factors(facts(*later)) == volume_factors(facts(*a_filled_pail("C-1", 400)))


def test_more_containers_narrow_the_mean_but_never_below_how_they_differ() -> None:
    one = volume_factors(facts(*a_filled_pail("C-1", 330)))["pail"].stated
    many = volume_factors(facts(*(body for place in range(40) for body in a_filled_pail(f"C-{place}", 330))))[
        "pail"
    ].stated

    assert PACKING_CV < many.sd < one.sd < VolumeFactors().stated.sd
    # 660 mL taken by 600 mL stated.
    assert many.mean == pytest.approx(1.1, abs=0.01)


def test_the_last_level_of_a_container_counts() -> None:
    filled = [*a_filled_pail("C-1", 100), *[a_swap()] * 20, a_level("C-1", 600)]

    # 1200 mL by 1200 mL.
    assert volume_factors(facts(*filled))["pail"].stated.mean == pytest.approx(1.0)


def test_what_has_no_volume_teaches_nothing_from_then_on() -> None:
    filled = [*a_filled_pail("C-1", 300), a_deposit("C-1"), a_level("C-1", 900)]

    # The level before the deposit of unknown volume counts: 600 mL by 600 mL.
    assert volume_factors(facts(*filled))["pail"].stated.mean == pytest.approx(1.0)
    assert volume_factors(facts(an_opening(), a_deposit(), a_level())) == {}


def test_a_container_opened_before_the_first_fact_teaches_nothing() -> None:
    assert volume_factors(facts(a_swap(), a_level())) == {}


def test_a_level_of_nothing_does_not_make_volumes_vanish() -> None:
    filled = [body for place in range(60) for body in a_filled_pail(f"C-{place}", 0)]

    assert volume_factors(facts(*filled))["pail"].stated.mean == 0.1


def test_before_any_level_stated_volumes_are_taken_widely_and_assumed_ones_more_so() -> None:
    assert VolumeFactors().stated == VolumeFactor(1.0, math.hypot(FACTOR_CV, PACKING_CV), 0)
    assert VolumeFactors().assumed == VolumeFactor(1.0, math.hypot(ASSUMED_CV, PACKING_CV), 0)


def test_assumed_volumes_are_taught_by_what_stated_ones_leave() -> None:
    """Twenty inserts of 30 mL stated and ten assumed at 45 mL: of 1500 mL taken, 900 are left for the 450 assumed.

    The reading's u is 60 mL, that of the stated part 600 mL times √(0.2² + 0.1²); weight 1/((146.97/450)² + 0.1²)
    against 1 for the start, so (1 + 2 w)/(1 + w).
    """
    unstated = a_swap(insert_ml=None)
    filled = [an_opening(), *[a_swap()] * 20, *[unstated] * 10, a_level("C-1", 750)]

    found = volume_factors(facts(*filled))["pail"]

    assert found.stated == VolumeFactors().stated
    weight = 1 / ((60**2 + 600**2 * 0.05) / 450**2 + 0.01)
    assert found.assumed.mean == pytest.approx((1 + 2 * weight) / (1 + weight))
    assert found.assumed.containers == 1


def test_the_volume_of_each_addition() -> None:
    assert volume_of(a_swap()) == Volume(30)
    assert volume_of(a_swap(insert_ml=None)) == Volume(0, 45) == insert_volume(TrapKind.HIGH_VOLUME, None)
    # What was tapped out leaves its body in service: 3 g over 1.6 g/mL, carried up.
    assert volume_of(a_swap(insert=Insert.EMPTIED)) == Volume(0, 2)
    assert insert_volume(TrapKind.HIGH_VOLUME, 45, reusable=True) == Volume(0, 2)
    assert volume_of(a_deposit(volume_ml=12)) == Volume(12)
    assert volume_of(a_deposit()) == volume_of(a_unit_replacement()) == Volume(0, 0, is_known=False)
    assert volume_of(a_level()) == Volume()


def test_what_is_tapped_out_follows_the_starting_masses() -> None:
    """Each judged volume of debris is the starting mass over the starting density, carried up to a millilitre."""
    defaults = read_defaults(find("estimate/defaults.toml").read_bytes())
    masses = {one.kind: one.mean_mg for one in defaults.kinds}
    for kind in TrapKind:
        judged = insert_volume(kind, None, reusable=True).assumed_ml
        assert judged == -(-masses[kind.value] // defaults.bulk_density.mean_mg_per_ml)
