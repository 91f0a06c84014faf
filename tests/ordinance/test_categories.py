"""Which category a month's waste falls into, at the value and at both ends, and the limits of what lies on site."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wasteledger.ordinance.categories import Counted, Placed, Reach, in_kg, month_words, place, stocked
from wasteledger.ordinance.rules import Category


def a_category(name: str, rank: int, **limits: str) -> Category:
    """A category of an invented ordinance, with limits in kilograms."""
    exact: dict[str, Any] = {limit: Decimal(kg) for limit, kg in limits.items()}
    return Category(
        id=f"C-{rank}",
        title=name,
        asks="What it asks.",
        citation=f"Section {rank}",
        source="Invented for a test",
        read_on="2026-11",
        confirmed=True,
        name=name,
        rank=rank,
        **exact,
    )


SMALL = a_category("small", 1, month_up_to_kg="100", stock_below_kg="1000", stock_up_to_kg="6000", acute_over_kg="1")
MIDDLE = a_category("middle", 2, month_over_kg="100", month_below_kg="1000", stock_up_to_kg="6000")
LARGE = a_category("large", 3, month_from_kg="1000")
THREE = (LARGE, SMALL, MIDDLE)
"""In no order: a file may name them in any."""

WITHOUT_ACUTE = tuple(
    a_category(name, rank, **limits)
    for name, rank, limits in (("small", 1, {"month_up_to_kg": "100"}), ("large", 2, {"month_over_kg": "100"}))
)


def kg(value: str, lower: str | None = None, upper: str | None = None, acute: str = "0") -> Counted:
    """An amount of waste in kilograms."""
    return Counted(*(int(Decimal(one) * 1_000_000) for one in (value, lower or value, upper or value, acute)))


def names(placed: Placed) -> tuple[str, str, str]:
    """The three categories by name: at the lower end, by the value, at the upper end."""
    three = (placed.at_lower, placed.by_value, placed.at_upper)
    return tuple("none" if one is None else one.name for one in three)  # type: ignore[return-value]


# -- a month -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("amount_mg", "name"),
    [
        (0, "small"),
        (100_000_000, "small"),
        (100_000_001, "middle"),
        (999_999_999, "middle"),
        (1_000_000_000, "large"),
        (10**10, "large"),
    ],
)
def test_a_boundary_belongs_to_the_side_that_names_it(amount_mg: int, name: str) -> None:
    placed = place(THREE, Counted.exactly(amount_mg))

    assert names(placed) == (name,) * 3
    assert placed.is_settled


def test_a_boundary_inside_the_interval_is_named() -> None:
    placed = place(THREE, kg("99", "97", "101"))

    assert names(placed) == ("small", "small", "middle")
    assert placed.inside_kg == (Decimal(100),)
    assert not placed.is_settled
    assert placed.highest is MIDDLE


def test_every_boundary_inside_the_interval_is_named() -> None:
    placed = place(THREE, kg("500", "99.9", "1000"))

    assert names(placed) == ("small", "middle", "large")
    assert placed.inside_kg == (Decimal(100), Decimal(1000))


def test_an_interval_that_only_touches_a_boundary_does_not_hold_it() -> None:
    assert place(THREE, kg("99", "98", "100")).is_settled
    assert place(THREE, Counted(100_000_002, 100_000_001, 100_000_003)).is_settled
    assert not place(THREE, Counted(100_000_000, 100_000_000, 100_000_001)).is_settled


def test_acute_waste_over_its_limit_counts_as_the_highest() -> None:
    assert place(THREE, kg("5", acute="1")).by_value is SMALL
    over = place(THREE, Counted(5_000_000, 4_000_000, 200_000_000, acute_mg=1_000_001))

    assert names(over) == ("large",) * 3
    assert over.by_acute
    assert over.is_settled


def test_acute_waste_without_a_limit_of_its_own_is_counted_with_the_rest() -> None:
    assert place(WITHOUT_ACUTE, kg("99", acute="1")).by_value is WITHOUT_ACUTE[0]
    placed = place(WITHOUT_ACUTE, kg("99", acute="1.001"))

    assert placed.by_value is WITHOUT_ACUTE[1]
    assert not placed.by_acute


def test_an_amount_that_no_category_takes_has_none() -> None:
    gap = (SMALL, LARGE)
    placed = place(gap, kg("150", "90", "1500"))

    assert names(placed) == ("small", "none", "large")
    assert placed.inside_kg == (Decimal(100), Decimal(1000))
    assert placed.highest is LARGE
    assert place((), kg("1")).highest is None


def test_of_two_that_take_an_amount_the_higher_counts() -> None:
    overlapping = (SMALL, a_category("also", 2, month_from_kg="50"))

    assert names(place(overlapping, kg("60", "40", "120"))) == ("small", "also", "also")
    assert place(overlapping, kg("60", "40", "120")).inside_kg == (Decimal(50),)


@given(st.integers(0, 2 * 10**9), st.integers(0, 10**9), st.integers(0, 10**9))
def test_what_is_settled_is_the_same_at_every_amount_of_the_interval(lower: int, width: int, step: int) -> None:
    placed = place(THREE, Counted(lower + width // 2, lower, lower + width))
    between = place(THREE, Counted.exactly(lower + min(width, step))).by_value

    assert placed.is_settled == (placed.at_lower is placed.at_upper)
    assert between is not None
    assert placed.at_lower is not None
    assert placed.at_upper is not None
    assert placed.at_lower.rank <= between.rank <= placed.at_upper.rank
    assert placed.highest is placed.at_upper


@given(st.integers(0, 2 * 10**9), st.integers(0, 2 * 10**9), st.integers(0, 2 * 10**6), st.integers(0, 2 * 10**6))
def test_more_waste_never_makes_the_category_lower(mass: int, more: int, acute: int, more_acute: int) -> None:
    for categories in (THREE, WITHOUT_ACUTE):
        less = place(categories, Counted.exactly(mass, acute)).by_value
        greater = place(categories, Counted.exactly(mass + more, acute + more_acute)).by_value

        assert less is not None
        assert greater is not None
        assert less.rank <= greater.rank


# -- what lies on site -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("amount", "clock", "cap"),
    [
        (kg("999.999"), Reach.NO, Reach.NO),
        (kg("1000"), Reach.YES, Reach.NO),
        (kg("990", "900", "1000"), Reach.MAYBE, Reach.NO),
        (kg("1010", "900", "1100"), Reach.YES, Reach.NO),
        (kg("6000"), Reach.YES, Reach.NO),
        (kg("5990", "5000", "6000.001"), Reach.YES, Reach.MAYBE),
        (kg("6000.001"), Reach.YES, Reach.YES),
        (kg("999", acute="2"), Reach.NO, Reach.NO),
    ],
)
def test_stock_against_the_limits_of_the_smallest(amount: Counted, clock: Reach, cap: Reach) -> None:
    found = stocked(THREE, SMALL, amount)

    assert (found.clock, found.cap) == (clock, cap)


def test_a_limit_that_a_category_has_not_is_never_reached() -> None:
    assert stocked(THREE, LARGE, kg("9999")) == stocked(THREE, LARGE, kg("0"))
    assert stocked(THREE, MIDDLE, kg("1000")).clock is Reach.NO


def test_acute_stock_without_a_limit_of_its_own_is_counted_with_the_rest() -> None:
    limited = a_category("small", 1, stock_below_kg="10")

    assert stocked((limited,), limited, kg("9", acute="1")).clock is Reach.YES
    assert stocked((limited, SMALL), limited, kg("9", acute="1")).clock is Reach.NO


# -- words -------------------------------------------------------------------------------------------------------------


def test_bounds_in_words() -> None:
    assert month_words(SMALL) == "up to 100 kg"
    assert month_words(MIDDLE) == "over 100 kg, below 1,000 kg"
    assert month_words(LARGE) == "from 1,000 kg"
    assert month_words(a_category("all", 1)) == "any amount"
    assert in_kg(Decimal("0.500")) == "0.5 kg"
    assert in_kg(Decimal(12000)) == "12,000 kg"
