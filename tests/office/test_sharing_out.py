"""A weighing that tells of more than a period is shared out: nothing twice, and never as sure as the scale."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

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


def years_of(clinic: Clinic, *years: int) -> list[int]:
    """The values of single years, in mg."""
    return [amounts(clinic, year).made_in_all.value_mg for year in years]


def whole(clinic: Clinic, first: int, last: int) -> ContainerAmount:
    """What came into the one container in all these years."""
    (one,) = amounts(clinic, first, last).made
    return one


def test_what_is_shared_out_does_not_hang_on_the_period(clinic: Clinic) -> None:
    """100 pieces, 100 pieces, and 200 g weighed by itself, in three years; 500 g in all: the pieces share 300 g."""
    clinic.record(an_opening())
    put_in(clinic, 100)
    in_year(clinic, 2027)
    put_in(clinic, 100)
    in_year(clinic, 2028)
    clinic.record(a_deposit(mass=a_reading(200_000), count=1))
    weighed = clinic.record(a_weighing(gross_mg=150_000 + 500_000))

    assert years_of(clinic, 2026, 2027, 2028) == [150_000, 150_000, 200_000]
    assert made(clinic, 2026).shared == (
        f"shared out of entry {weighed.seq} by pieces: 100 of 200 pieces came in the period"
    )
    assert (made(clinic, 2028).amount.basis, made(clinic, 2028).shared) == ("weighed", "")
    assert whole(clinic, 2026, 2027).amount.value_mg == 300_000
    assert whole(clinic, 2026, 2028).amount.basis == "weighed"


def test_a_lower_weighing_tells_of_the_year_before_too_and_says_so(clinic: Clinic) -> None:
    """200 g of 100 pieces, then 20 more and the scale shows 150 g: 125 g and 25 g, and no end leaves the 200 g out."""
    clinic.record(an_opening())
    put_in(clinic, 100)
    higher = clinic.record(a_weighing(gross_mg=150_000 + 200_000))
    assert made(clinic, 2026).amount.words == "200.00 g ± 0.18 g (95 %), weighed"
    in_year(clinic, 2027)
    put_in(clinic, 20)
    lower = clinic.record(a_weighing(gross_mg=150_000 + 150_000))

    first, second = made(clinic, 2026), made(clinic, 2027)

    said = f"entry {lower.seq} shows 50 g less than entry {higher.seq} did, and what came in before is set lower"
    assert (first.amount.value_mg, second.amount.value_mg) == (125_000, 25_000)
    assert (first.amount.basis, first.amount.weighed_mg) == ("estimate", 0)
    assert first.amount.lower_mg == 0
    assert first.amount.upper_mg == 200_179
    assert first.shared.startswith(said)
    assert second.shared.startswith(said)
    assert "100 of 120 pieces" in first.shared
    assert whole(clinic, 2026, 2027).amount.value_mg == 150_000
    assert whole(clinic, 2026, 2027).shared == said


@pytest.mark.parametrize("is_first", [True, False])
def test_more_weighed_by_itself_than_the_container_holds_is_said(clinic: Clinic, is_first: bool) -> None:
    """400 g by itself in one year and pieces in the other; the container then holds 350 g."""
    clinic.record(an_opening())
    steps = [a_deposit(mass=a_reading(400_000), count=1), a_deposit(count=10)]
    clinic.record(steps[0 if is_first else 1])
    in_year(clinic, 2027)
    clinic.record(steps[1 if is_first else 0])
    weighed = clinic.record(a_weighing(gross_mg=150_000 + 350_000))

    alone, pieces = (made(clinic, year) for year in ((2026, 2027) if is_first else (2027, 2026)))

    assert (alone.amount.value_mg, pieces.amount.value_mg) == (350_000, 0)
    assert alone.amount.lower_mg <= 350_000
    assert alone.amount.upper_mg >= 400_000
    assert (pieces.amount.basis, pieces.amount.lower_mg) == ("estimate", 0)
    assert pieces.amount.upper_mg > 350_000
    said = f"entry {weighed.seq} shows 50 g less than what went in weighed by itself"
    assert alone.shared.startswith(said)
    assert whole(clinic, 2026, 2027).shared == said
    assert whole(clinic, 2026, 2027).amount.value_mg == 350_000


def test_a_weighing_that_is_lower_within_its_limits_contradicts_nothing(clinic: Clinic) -> None:
    """200.00 g, then one piece more and 199.95 g: the year before is set to that, and the piece is not told apart."""
    clinic.record(an_opening())
    put_in(clinic, 100)
    clinic.record(a_weighing(gross_mg=150_000 + 200_000))
    in_year(clinic, 2027)
    put_in(clinic, 1)
    clinic.record(a_weighing(gross_mg=150_000 + 199_950))

    assert years_of(clinic, 2026, 2027) == [199_950, 0]
    assert made(clinic, 2026).amount.words == "199.95 g ± 0.18 g (95 %), weighed"
    # The lower end is nothing, and the limits of both weighings are said all the same.
    assert made(clinic, 2027).amount.words == "0.00 g ± 0.36 g (95 %), weighed"
    assert made(clinic, 2027).shared == ""


def test_a_rise_without_anything_put_in_that_is_gone_later_is_taken_back(clinic: Clinic) -> None:
    clinic.record(an_opening())
    clinic.record(a_weighing(gross_mg=200_000))
    in_year(clinic, 2027)
    clinic.record(a_weighing(gross_mg=180_000))

    assert years_of(clinic, 2026, 2027) == [30_000, 0]
    assert whole(clinic, 2026, 2027).amount.value_mg == 30_000
    assert "20 g less" in made(clinic, 2026).shared


def test_an_estimate_that_left_is_shared_out_as_it_was_stated(clinic: Clinic) -> None:
    """Two swaps in two years, and the release states 3.001 g of both by estimate."""
    clinic.record(an_opening())
    clinic.record(a_swap())
    in_year(clinic, 2027)
    clinic.record(a_swap())
    clinic.record(a_closing())
    released(clinic, basis="estimate", net_mg=3_001, lower_mg=500, upper_mg=9_000)

    first, second = years_of(clinic, 2026, 2027)

    assert first + second == 3_001 == whole(clinic, 2026, 2027).amount.value_mg
    assert abs(first - second) <= 1
    assert made(clinic, 2027).amount.basis == "estimate"


def released(clinic: Clinic, **stated: Any) -> None:
    """The container leaves with what is stated of it."""
    booking = a_booking(planned_on=clinic.watch.now.date())
    clinic.record(booking)
    clinic.record(
        PickupReleased(
            pickup="P-1",
            carrier=booking.carrier,
            facility=booking.facility,
            containers=(a_released_container(**stated),),
            taken_by="Dana Driver",
        )
    )


@pytest.mark.parametrize("seed", range(24))
def test_periods_add_up_whatever_was_weighed(clinic: Clinic, seed: int) -> None:
    """Pieces, traps, what was weighed by itself, and weighings that may be lower, over three to five years; then
    nothing, a weighing, or a release. Years, and halves of any cut, add up to the whole; no part is below nothing.
    """
    draw = random.Random(seed)
    clinic.record(an_opening(streams=("traps", "scrap")))
    last = 2028 + seed % 3
    net_mg, cuts = 0, list[date]()
    for year in range(2026, last + 1):
        if year > 2026:
            in_year(clinic, year)
        for _ in range(draw.randint(0, 5)):
            clinic.watch.wait(days=draw.randint(0, 9))
            cuts.append(clinic.watch.now.date())
            match draw.choice(("pieces", "alone", "trap", "weighing", "weighing")):
                case "pieces":
                    put_in(clinic, pieces := draw.randint(1, 9))
                    net_mg += pieces * draw.randint(100, 3_000)
                case "alone":
                    mass_mg = draw.randint(0, 90_000)
                    clinic.record(a_deposit(mass=a_reading(mass_mg), count=1))
                    net_mg += mass_mg
                case "trap":
                    clinic.record(a_swap(condition=draw.choice(list(Condition))))
                    net_mg += draw.randint(0, 9_000)
                case _:
                    net_mg = max(0, net_mg - draw.choice((0, 0, 30, 300, 40_000)))
                    clinic.record(a_weighing(gross_mg=150_000 + net_mg))
    match seed % 4:
        case 0:
            clinic.record(a_weighing(gross_mg=150_000 + net_mg))
        case 1:
            clinic.record(a_swap())
            clinic.record(a_closing())
            basis, reach_mg = draw.choice((("weighed", 130), ("estimate", 5_000)))
            ends = {"lower_mg": max(0, net_mg - reach_mg), "upper_mg": net_mg + reach_mg}
            released(clinic, basis=basis, net_mg=net_mg, **ends)
        case _:
            pass

    in_all = amounts(clinic, 2026, last).made_in_all

    parts = [amounts(clinic, year).made_in_all for year in range(2026, last + 1)]
    assert sum(one.value_mg for one in parts) == in_all.value_mg
    if seed % 4 < 2:
        assert in_all.value_mg == net_mg
    for cut in cuts:
        with clinic.ledger.reading(clinic.site) as reader:
            halves = [
                amounts_between(reader, date(2026, 1, 1), cut).made_in_all,
                amounts_between(reader, cut + timedelta(days=1), date(last, 12, 31)).made_in_all,
            ]
        assert sum(one.value_mg for one in halves) == in_all.value_mg
        parts += halves
    for one in parts:
        assert 0 <= one.lower_mg <= one.value_mg <= one.upper_mg
        assert 0 <= one.weighed_mg <= one.value_mg
        assert "not stated" not in one.words


def test_what_was_weighed_piece_by_piece_is_set_to_the_weighing_of_all(clinic: Clinic) -> None:
    """40.00 g and 60.00 g by themselves, in two years, and 100.10 g in all: within the limits, and each moves a bit."""
    clinic.record(an_opening())
    clinic.record(a_deposit(mass=a_reading(40_000), count=1))
    alone = made(clinic, 2026).amount
    in_year(clinic, 2027)
    clinic.record(a_deposit(mass=a_reading(60_000), count=1))
    weighed = clinic.record(a_weighing(gross_mg=150_000 + 100_100))

    first, second = made(clinic, 2026), made(clinic, 2027)

    assert (first.amount.value_mg, second.amount.value_mg) == (40_040, 60_060)
    assert (first.amount.basis, second.amount.basis) == ("weighed", "weighed")
    # As wide as its own scale and what it was moved by.
    assert first.amount.weighed_expanded_mg == alone.weighed_expanded_mg + 40
    reach_mg = first.amount.weighed_expanded_mg
    assert (first.amount.lower_mg, first.amount.upper_mg) == (40_040 - reach_mg, 40_040 + reach_mg)
    assert first.shared == f"shared out of entry {weighed.seq} by what each weighs: 1 of 2 pieces came in the period"


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
