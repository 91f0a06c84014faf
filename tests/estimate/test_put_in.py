"""What went into a container before its last weighing and since, from its own facts."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.makers import (
    MONDAY_MORNING,
    a_booking,
    a_closing,
    a_deposit,
    a_level,
    a_reading,
    a_release,
    a_swap,
    a_unit_replacement,
    a_weighing,
    an_opening,
)
from wasteledger.estimate.put_in import Piece, PutIn, put_in
from wasteledger.model.facts import Fact
from wasteledger.model.standing.refusals import NotThereYet
from wasteledger.model.traps import Insert
from wasteledger.model.values import Body


def history(*bodies: Body) -> list[Fact]:
    """One fact an hour, numbered from 1."""
    return [
        Fact(seq, seq, MONDAY_MORNING + timedelta(hours=seq), MONDAY_MORNING, "kim", body)
        for seq, body in enumerate(bodies, start=1)
    ]


def found(*bodies: Body) -> PutIn:
    return put_in("C-1", history(an_opening(), *bodies))


def test_a_container_just_opened_holds_nothing() -> None:
    assert found() == PutIn(base_twelfths_mg2=0)


def test_what_was_counted_is_parted_by_the_last_weighing() -> None:
    got = found(a_swap(), a_swap(), a_weighing(gross_mg=180_000), a_swap(), a_level(), a_weighing(), a_swap("2-SE"))

    assert got.base_mg == 50_000
    assert [(one.source, one.count) for one in got.earlier] == [("high_volume", 3)]
    assert [(one.source, one.count) for one in got.since] == [("saliva_ejector", 1)]
    assert got.earlier[0].inserts_mg == 15_000


def test_single_weighings_keep_their_source_and_their_body() -> None:
    whole = a_swap(gross=a_reading(9_000), tare=a_reading(5_000))
    emptied = a_swap("1-SE", gross=a_reading(6_000), tare=a_reading(4_000), insert=Insert.EMPTIED, insert_mg=None)
    unknown = a_swap(gross=a_reading(9_000), tare=a_reading(5_000), insert_mg=None)
    scrap = a_deposit(count=None, mass=a_reading(2_500))
    unit = a_unit_replacement(mass=a_reading(700_000))
    twelfths = a_reading().twelfths_mg2

    got = found(whole, emptied, a_weighing(), unknown, scrap, unit)

    assert got.earlier_pieces == (
        Piece("high_volume", 9_000, twelfths, 5_000),
        Piece("saliva_ejector", 2_000, 2 * twelfths, 0),
    )
    assert got.since_pieces == (
        Piece("high_volume", 9_000, twelfths, None),
        Piece("stream:scrap", 2_500, twelfths, 0),
        Piece("separator_unit", 700_000, twelfths, 400_000),
    )


def test_a_piece_that_weighed_nothing_is_a_piece() -> None:
    got = found(a_deposit(count=1, mass=a_reading(0)))

    assert got.since_pieces == (Piece("stream:scrap", 0, a_reading().twelfths_mg2, 0),)


def test_leaving_changes_nothing_in_it() -> None:
    before = found(a_swap(), a_weighing(), a_swap())

    assert found(a_swap(), a_weighing(), a_swap(), a_booking(), a_closing(), a_release()) == before


def test_a_history_begins_with_the_opening() -> None:
    with pytest.raises(NotThereYet):
        put_in("C-1", history(a_swap()))
