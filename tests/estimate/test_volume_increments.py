"""Which levels teach, and of what: the stretches that are known throughout, each by its last level."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.makers import MONDAY_MORNING, a_closing, a_deposit, a_level, a_swap, a_unit_replacement, an_opening
from wasteledger.estimate.volume_increments import VolumeIncrement, volume_increments
from wasteledger.estimate.volumes import VolumesIn
from wasteledger.model.facts import Fact
from wasteledger.model.values import Body

READING_ML2 = (0.03 * 2000) ** 2
"""Variance of a level of the two-litre pail: thirty thousandths of its line."""


def facts(*bodies: Body) -> list[Fact]:
    """These, one an hour."""
    return [
        Fact(seq, seq, at := MONDAY_MORNING + timedelta(hours=seq), at, "kim", body)
        for seq, body in enumerate(bodies, start=1)
    ]


def found(*bodies: Body) -> tuple[VolumeIncrement, ...]:
    return volume_increments(facts(*bodies))


def test_all_that_went_in_since_the_opening_was_taken_up_by_the_level() -> None:
    (one,) = found(an_opening(), *[a_swap()] * 20, a_deposit(volume_ml=100), a_level(level_permille=400))

    assert one == VolumeIncrement(
        container="C-1",
        seq=23,
        began_at=MONDAY_MORNING + timedelta(hours=1),
        ended_at=MONDAY_MORNING + timedelta(hours=23),
        filled_ml=800.0,
        # The pail was empty when it was opened: one reading alone.
        variance_ml2=READING_ML2,
        volumes=VolumesIn((("stated.deposit", 100), ("stated.high_volume", 600))),
    )


def test_the_last_level_of_a_stretch_speaks_for_it() -> None:
    (one,) = found(an_opening(), a_swap(), a_level(level_permille=50), *[a_swap()] * 9, a_level(level_permille=150))

    assert (one.filled_ml, one.volumes) == (300.0, VolumesIn((("stated.high_volume", 300),)))


def test_what_went_in_after_the_last_level_is_in_none() -> None:
    read = [an_opening(), *[a_swap()] * 5, a_level()]

    assert found(*read, *[a_swap()] * 50) == found(*read)


def test_an_unknown_volume_ends_a_stretch_and_the_next_level_begins_another() -> None:
    first, second = found(
        an_opening(),
        *[a_swap()] * 10,
        a_level(level_permille=150),
        a_deposit(),
        *[a_swap()] * 7,  # no level parts these from the deposit
        a_level(level_permille=400),
        *[a_swap()] * 20,
        a_level(level_permille=690),
    )

    assert (first.filled_ml, first.variance_ml2, dict(first.volumes.by_kind)) == (
        300.0,
        READING_ML2,
        {"stated.high_volume": 300},
    )
    # 690 less 400 thousandths of two litres, each with the reading's own uncertainty.
    assert second.filled_ml == pytest.approx(580.0)
    assert (second.variance_ml2, dict(second.volumes.by_kind)) == (2 * READING_ML2, {"stated.high_volume": 600})
    assert (second.began_at, second.seq) == (MONDAY_MORNING + timedelta(hours=21), 42)


def test_two_unknown_ones_in_a_row_take_nothing_away_twice() -> None:
    read = [an_opening(), *[a_swap()] * 10, a_level(level_permille=150), a_unit_replacement()]

    assert found(*read, a_deposit(), a_level(level_permille=400)) == found(*read) == found(*read[:-1])


def test_a_level_of_which_nothing_went_in_says_nothing() -> None:
    assert found(an_opening(), a_level(), a_level()) == ()
    assert found(an_opening(), a_deposit(), a_level()) == ()


def test_a_container_without_a_fill_line_or_an_opening_says_nothing() -> None:
    assert found(a_swap(), a_level()) == ()
    assert found(an_opening(fill_ml=None), a_swap(), a_level()) == ()


def test_containers_are_kept_apart_and_listed_as_they_were_read() -> None:
    first, second = found(
        an_opening("C-1"),
        an_opening("C-2", fill_ml=1000),
        a_swap(container="C-1"),
        a_swap(container="C-2", insert_ml=None),
        a_level("C-2", 40),
        a_level("C-1", 20),
        a_closing("C-1"),
    )

    assert (first.container, first.filled_ml, first.variance_ml2) == ("C-2", 40.0, 30.0**2)
    assert (second.container, second.filled_ml) == ("C-1", 40.0)
    assert dict(first.volumes.by_kind) == {"assumed.high_volume": 45}


def test_a_level_that_fell_takes_up_less_than_nothing_and_is_not_hidden() -> None:
    *_, last = found(an_opening(), a_deposit(), a_level(level_permille=400), a_swap(), a_level(level_permille=380))

    assert last.filled_ml == pytest.approx(-40.0)
