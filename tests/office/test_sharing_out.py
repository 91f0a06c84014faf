"""A weighing that tells of more than a period is shared out: nothing twice, and never as sure as the scale."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tests.makers import (
    Clinic,
    a_booking,
    a_closing,
    a_deposit,
    a_reading,
    a_released_container,
    a_swap,
    a_weighing,
    an_opening,
    make_clinic,
)
from wasteledger.model.entries import PickupReleased
from wasteledger.model.traps import Condition
from wasteledger.office.amounts import Amounts, ContainerAmount, amounts_between
from wasteledger.office.sharing_out import shares_by_pieces

SCALE_MG = 179
"""Expanded uncertainty of a net mass by the bench scale of `tests.makers`: 1.96 √(2 (100² + 4·100²)/12), carried up."""


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Clinic]:
    """The small practice of `tests.makers`, on Monday 2 March 2026, with its register alone."""
    made = make_clinic(tmp_path)
    with made.ledger:
        yield made


def amounts(clinic: Clinic, first: int, last: int | None = None) -> Amounts:
    """What came in from the year *first* to the year *last*."""
    with clinic.ledger.reading(clinic.site) as reader:
        return amounts_between(reader, date(first, 1, 1), date(last or first, 12, 31))


def made(clinic: Clinic, year: int) -> ContainerAmount:
    """What came into the one container in *year*."""
    (one,) = amounts(clinic, year).made
    return one


def in_year(clinic: Clinic, year: int) -> None:
    """Let that year come: its 4 January."""
    clinic.watch.now = datetime(year, 1, 4, 15, 0, tzinfo=UTC)


def put_in(clinic: Clinic, pieces: int, container: str = "C-1") -> None:
    """Pieces of unknown mass."""
    clinic.record(a_deposit(container, count=pieces))


def test_pieces_of_last_year_are_not_booked_to_the_year_of_the_weighing(clinic: Clinic) -> None:
    """218 pieces in 2026, 203 in 2027, then 463.1 g in all: each year gets its pieces' share, and the sum is the
    weighing.
    """
    clinic.record(an_opening())
    put_in(clinic, 218)
    assert made(clinic, 2026).amount.words == "218 pieces of unknown mass, estimate"
    in_year(clinic, 2027)
    put_in(clinic, 203)
    weighed = clinic.record(a_weighing(gross_mg=150_000 + 463_100))

    first, second = made(clinic, 2026), made(clinic, 2027)

    # 463.1 g · 218/421 = 239.8 g.
    assert first.amount.value_mg == 463_100 * 218 // 421
    assert first.amount.value_mg + second.amount.value_mg == 463_100
    for one, pieces in ((first, 218), (second, 203)):
        assert (one.amount.basis, one.amount.weighed_mg, one.amount.unknown_pieces) == ("estimate", 0, 0)
        assert one.amount.upper_mg - one.amount.lower_mg > 100 * 2 * SCALE_MG
        assert 0 < one.amount.lower_mg < one.amount.value_mg < one.amount.upper_mg < 463_100
        assert one.shared == f"shared out of entry {weighed.seq} by pieces: {pieces} of 421 pieces came in the period"
        assert weighed.seq in one.seqs


def test_a_period_that_holds_all_of_it_has_the_weighing(clinic: Clinic) -> None:
    clinic.record(an_opening())
    put_in(clinic, 218)
    in_year(clinic, 2027)
    put_in(clinic, 203)
    clinic.record(a_weighing(gross_mg=150_000 + 463_100))

    (whole,) = amounts(clinic, 2026, 2027).made

    assert (whole.amount.value_mg, whole.amount.basis, whole.shared) == (463_100, "weighed", "")
    assert whole.amount.upper_mg - whole.amount.lower_mg == 2 * SCALE_MG


def test_where_all_of_it_came_before_the_year_of_the_weighing_gets_nothing(clinic: Clinic) -> None:
    clinic.record(an_opening())
    put_in(clinic, 40)
    in_year(clinic, 2027)
    clinic.record(a_weighing(gross_mg=190_000))

    assert amounts(clinic, 2027).made == ()
    assert (made(clinic, 2026).amount.value_mg, made(clinic, 2026).amount.basis) == (40_000, "weighed")


def test_of_mixed_pieces_nothing_but_the_whole_bounds_the_part(clinic: Clinic) -> None:
    """Scrap and a trap before, scrap alone after: what a piece of one weighs tells nothing of the other."""
    clinic.record(an_opening())
    put_in(clinic, 10)
    clinic.record(a_swap())
    in_year(clinic, 2027)
    put_in(clinic, 10)
    clinic.record(a_weighing(gross_mg=150_000 + 60_000))

    first, second = made(clinic, 2026).amount, made(clinic, 2027).amount

    assert first.value_mg + second.value_mg == 60_000
    assert first.value_mg == 60_000 * 11 // 21
    assert (first.lower_mg, first.upper_mg, second.lower_mg, second.upper_mg) == (0, 60_179, 0, 60_179)


def test_traps_are_shared_out_by_what_was_seen_of_them(clinic: Clinic) -> None:
    """A trap with debris before and a clogged one after hold not half of it each."""
    clinic.record(an_opening())
    clinic.record(a_swap(condition=Condition.DEBRIS, insert_mg=5_000))
    alone = made(clinic, 2026).amount
    in_year(clinic, 2027)
    clinic.record(a_swap())
    clinic.record(a_weighing(gross_mg=150_000 + 14_000))

    first, second = made(clinic, 2026), made(clinic, 2027)

    assert "by estimates: 1 of 2 pieces" in first.shared
    assert first.amount.value_mg + second.amount.value_mg == 14_000
    assert first.amount.value_mg < second.amount.value_mg
    # Neither the own estimate of the part nor the sharing is left out of the interval.
    assert first.amount.lower_mg <= alone.lower_mg
    assert first.amount.upper_mg >= min(alone.upper_mg, 14_179)
    assert second.amount.upper_mg - second.amount.lower_mg > 2 * SCALE_MG


def test_clean_traps_are_no_reason_for_a_narrow_interval(clinic: Clinic) -> None:
    """Traps that held next to nothing by the look: their sum stood on the scale, and their parts did not."""
    clinic.record(an_opening())
    clinic.record(a_swap(condition=Condition.CLEAN))
    in_year(clinic, 2027)
    clinic.record(a_swap(condition=Condition.CLEAN))
    clinic.record(a_weighing(gross_mg=150_000 + 11_000))

    one = made(clinic, 2027).amount

    assert one.upper_mg - one.lower_mg > 4 * SCALE_MG


def test_what_was_weighed_by_itself_keeps_its_weight(clinic: Clinic) -> None:
    """1.2 g by itself in one year, pieces in the other: the rest of the weighing is told by the difference."""
    clinic.record(an_opening())
    clinic.record(a_deposit(mass=a_reading(1_200), count=1))
    in_year(clinic, 2027)
    put_in(clinic, 5)
    clinic.record(a_weighing(gross_mg=150_000 + 21_200))

    first, second = made(clinic, 2026), made(clinic, 2027)

    assert (first.amount.value_mg, first.amount.basis, first.shared) == (1_200, "weighed", "")
    assert (second.amount.value_mg, second.amount.basis, second.shared) == (20_000, "weighed", "")
    in_year(clinic, 2028)
    clinic.record(a_deposit(mass=a_reading(2_000), count=1))
    clinic.record(a_weighing(gross_mg=150_000 + 23_200))
    assert made(clinic, 2027).amount == second.amount


def test_what_was_weighed_by_itself_after_leaves_the_rest_to_the_year_before(clinic: Clinic) -> None:
    clinic.record(an_opening())
    put_in(clinic, 5)
    in_year(clinic, 2027)
    clinic.record(a_deposit(mass=a_reading(1_200), count=1))
    clinic.record(a_weighing(gross_mg=150_000 + 21_200))

    assert (made(clinic, 2026).amount.value_mg, made(clinic, 2026).amount.basis) == (20_000, "weighed")
    assert (made(clinic, 2027).amount.value_mg, made(clinic, 2027).amount.basis) == (1_200, "weighed")


def test_what_left_by_weighing_is_shared_out_as_it_was_stated(clinic: Clinic) -> None:
    """The release states 50 g of pieces put in over two years, and no weighing of the container is kept."""
    clinic.record(an_opening())
    put_in(clinic, 30)
    in_year(clinic, 2027)
    put_in(clinic, 30)
    clinic.record(a_closing())
    booking = a_booking(planned_on=date(2027, 1, 8))
    clinic.record(booking)
    clinic.record(
        PickupReleased(
            pickup="P-1",
            carrier=booking.carrier,
            facility=booking.facility,
            containers=(a_released_container(),),
            taken_by="Dana Driver",
        )
    )

    assert [made(clinic, year).amount.value_mg for year in (2026, 2027)] == [25_000, 25_000]
    assert amounts(clinic, 2027).shipped_in_all.value_mg == 50_000
    assert amounts(clinic, 2028).made == ()


@pytest.mark.parametrize("seed", range(6))
def test_years_that_follow_one_another_add_up_to_the_last_weighing(clinic: Clinic, seed: int) -> None:
    """Pieces and traps at random over four years, weighed now and then and at the end."""
    draw = random.Random(seed)
    clinic.record(an_opening(streams=("traps", "scrap")))
    net_mg = 0
    for year in range(2026, 2030):
        if year > 2026:
            in_year(clinic, year)
        for _ in range(draw.randint(0, 5)):
            clinic.watch.wait(days=1)
            match draw.choice(("pieces", "trap", "weighing") if seed % 2 else ("pieces", "pieces", "weighing")):
                case "pieces":
                    put_in(clinic, draw.randint(1, 9))
                    net_mg += draw.randint(100, 9_000)
                case "trap":
                    clinic.record(a_swap())
                    net_mg += draw.randint(5_100, 9_000)
                case _:
                    clinic.record(a_weighing(gross_mg=150_000 + net_mg))
    put_in(clinic, 4)
    net_mg += 3_000
    clinic.record(a_weighing(gross_mg=150_000 + net_mg))

    years = [amounts(clinic, year).made_in_all for year in range(2026, 2030)]

    assert sum(one.value_mg for one in years) == net_mg
    assert sum(one.unknown_pieces for one in years) == 0
    assert amounts(clinic, 2026, 2029).made_in_all.value_mg == net_mg
    assert sum(one.lower_mg for one in years) <= net_mg <= sum(one.upper_mg for one in years)


@pytest.mark.parametrize(("within", "others"), [(1, 1), (3, 40), (20, 20), (218, 203)])
@pytest.mark.parametrize("drift", [0.5, 1.0, 2.0])
def test_the_ends_of_a_share_hold_what_drawn_pieces_do(within: int, others: int, drift: float) -> None:
    """Pieces drawn from exponential masses (their standard deviation is their mean), one side drifted by up to a factor
    of two: the share that they truly have lies between the ends in 95 % of 2,000 draws and more.
    """
    draw = random.Random(within * 1000 + others)
    low, high = shares_by_pieces(within, others)

    def is_between() -> bool:
        own = drift * sum(draw.expovariate(1) for _ in range(within))
        rest = sum(draw.expovariate(1) for _ in range(others))
        return low <= own / (own + rest) <= high

    assert sum(is_between() for _ in range(2_000)) >= 1_900
