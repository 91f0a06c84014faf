"""What each addition takes up: stated, assumed, or unknown."""

from __future__ import annotations

import pytest

from tests.makers import a_deposit, a_level, a_swap, a_unit_replacement, an_opening
from wasteledger.estimate.prior import read_defaults
from wasteledger.estimate.volumes import (
    ASSUMED_KINDS,
    UNKNOWN_VOLUME,
    VOLUME_KINDS,
    Volume,
    VolumesIn,
    insert_volume,
    volume_of,
)
from wasteledger.model.entries import Calibration
from wasteledger.model.traps import Insert, TrapKind
from wasteledger.resources import find


def test_a_stated_volume_is_taken_as_stated() -> None:
    assert volume_of(a_swap()) == Volume("stated.high_volume", 30)
    assert volume_of(a_swap("1-SE")) == Volume("stated.saliva_ejector", 30)
    assert volume_of(a_deposit(volume_ml=12)) == Volume("stated.deposit", 12)
    assert not volume_of(a_swap()).is_assumed


def test_a_judged_volume_by_kind_stands_in_where_nobody_stated_it() -> None:
    unstated = volume_of(a_swap(insert_ml=None))

    assert unstated == Volume("assumed.high_volume", 45) == insert_volume(TrapKind.HIGH_VOLUME, None)
    assert unstated.is_assumed


def test_what_is_tapped_out_leaves_its_body_in_service() -> None:
    # 3 g over 1.6 g/mL, carried up; what was stated of the insert says nothing of it.
    assert volume_of(a_swap(insert=Insert.EMPTIED)) == Volume("assumed.high_volume", 2)
    assert insert_volume(TrapKind.HIGH_VOLUME, 45, reusable=True) == Volume("assumed.high_volume", 2)


@pytest.mark.parametrize("kind", TrapKind)
def test_what_is_tapped_out_follows_the_starting_masses(kind: TrapKind) -> None:
    """Each judged volume of debris is the starting mass over the starting density, carried up to a millilitre."""
    defaults = read_defaults(find("estimate/defaults.toml").read_bytes())
    masses = {one.kind: one.mean_mg for one in defaults.kinds}

    judged = insert_volume(kind, None, reusable=True).ml

    assert judged == -(-masses[kind.value] // defaults.bulk_density.mean_mg_per_ml)


def test_units_and_deposits_without_a_volume_are_unknown_and_levels_add_nothing() -> None:
    assert volume_of(a_deposit()) == volume_of(a_unit_replacement()) == UNKNOWN_VOLUME
    assert volume_of(a_level()) == volume_of(an_opening()) == Volume()


def test_what_went_in_is_summed_by_kind_and_what_is_unknown_is_counted() -> None:
    found = VolumesIn()
    for body in (a_swap(), a_deposit(), a_swap("1-SE"), a_swap(insert_ml=40), a_unit_replacement(), a_level()):
        found = found.plus(volume_of(body))

    assert found == VolumesIn((("stated.high_volume", 70), ("stated.saliva_ejector", 30)), unknown=2)
    assert VolumesIn().is_empty
    assert not VolumesIn(unknown=1).is_empty
    assert not found.is_empty


def test_a_calibration_can_hold_every_kind() -> None:
    said = Calibration(
        quantity="volume",
        data_to=1,
        kinds=VOLUME_KINDS,
        means=("1",) * len(VOLUME_KINDS),
        covariance=(("1",) * len(VOLUME_KINDS),) * len(VOLUME_KINDS),
        scale="1",
        degrees_of_freedom="inf",
    )

    assert len(set(said.kinds)) == 2 * len(TrapKind) + 1
    assert set(ASSUMED_KINDS) < set(said.kinds)
