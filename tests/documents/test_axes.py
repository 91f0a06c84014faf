"""Where values stand on an axis, and which ones it names."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wasteledger.documents.pictures.axes import (
    Days,
    Decades,
    Linear,
    flags,
    named_days,
    round_ratios,
    round_steps,
)

DAYS = st.dates(date(1990, 1, 1), date(2120, 1, 1))


@given(st.floats(1e-3, 1e12), st.integers(1, 12))
def test_round_steps_reach_the_end_in_as_many_steps_as_allowed(high: float, most: int) -> None:
    steps = round_steps(high, most)

    assert steps[0] == 0
    assert steps[-1] >= high * (1 - 1e-9)
    assert steps[-2] < high
    assert len(steps) - 1 <= most
    first = steps[1] / 10 ** math.floor(math.log10(steps[1]) + 1e-9)
    assert min(abs(first - each) for each in (1, 2, 5, 10)) < 1e-6


@given(st.floats(0.1, 1e9), st.floats(1.01, 1e9), st.integers(1, 9))
def test_round_ratios_stay_within(low: float, ratio: float, most: int) -> None:
    found = round_ratios(low, low * ratio, most)

    assert len(found) <= max(most, 1)
    assert list(found) == sorted(set(found))
    assert all(low <= each <= low * ratio for each in found)


@given(DAYS, st.integers(0, 40_000), st.integers(2, 9))
def test_named_days_are_few_and_lie_between(first_on: date, span: int, most: int) -> None:
    last_on = first_on + timedelta(days=span)

    found = named_days(first_on, last_on, most)

    assert len(found) <= most
    assert list(found) == sorted(set(found))
    assert all(first_on <= day <= last_on for day in found)
    assert span > 14 * most or found


def test_named_days_are_firsts_of_months_mondays_or_single_days() -> None:
    assert named_days(date(2025, 9, 1), date(2026, 8, 1), 7)[:3] == (
        date(2025, 9, 1),
        date(2025, 11, 1),
        date(2026, 1, 1),
    )
    assert named_days(date(2026, 3, 3), date(2026, 4, 3), 7)[0] == date(2026, 3, 9)
    assert named_days(date(2026, 3, 3), date(2026, 3, 5), 7) == tuple(date(2026, 3, day) for day in (3, 4, 5))


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6), st.floats(0, 1))
def test_a_linear_axis_keeps_shares(low: float, wide: float, share: float) -> None:
    axis = Linear(low, low + wide, 100, 20)

    assert axis(low) == 100
    assert axis(low + wide * share) == pytest.approx(100 - 80 * share, abs=1e-3)


@given(st.floats(1e-3, 1e6), st.floats(1.1, 1e6), st.floats(0, 1))
def test_an_axis_of_ratios_keeps_ratios(low: float, ratio: float, share: float) -> None:
    axis = Decades(low, low * ratio, 10, 110)

    assert axis(low * ratio**share) == pytest.approx(10 + 100 * share, abs=1e-6)
    assert axis(0) == 10


def test_an_axis_of_days_keeps_times() -> None:
    axis = Days(datetime(2026, 3, 1), datetime(2026, 3, 3), 0, 200)  # noqa: DTZ001  wall-clock time of the site

    assert axis(datetime(2026, 3, 1, 12)) == 50  # noqa: DTZ001  wall-clock time of the site
    assert axis.of_day(date(2026, 3, 2)) == 100


@given(st.lists(st.tuples(st.integers(0, 500), st.integers(1, 120)), max_size=5).map(sorted))
def test_flags_of_one_row_are_apart_and_no_earlier_pole_crosses_one(wanted: list[tuple[int, int]]) -> None:
    rows = flags(wanted, 4)

    spans = [(max(pole - width, 0), max(pole - width, 0) + width) for pole, width in wanted]
    for later in range(len(wanted)):
        for earlier in range(later):
            if rows[later] == rows[earlier]:
                assert spans[later][0] >= spans[earlier][1] + 4
            if rows[later] < rows[earlier]:
                assert spans[later][0] >= wanted[earlier][0] + 4


@pytest.mark.parametrize("wrong", [(0, 3), (-1, 3), (5, 0)])
def test_an_axis_without_an_end_is_refused(wrong: tuple[float, int]) -> None:
    with pytest.raises(ValueError, match="an end above 0"):
        round_steps(*wrong)


@pytest.mark.parametrize("wrong", [(0, 3), (3, 3), (4, 3)])
def test_an_axis_of_ratios_without_ends_is_refused(wrong: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="two ends above 0"):
        round_ratios(*wrong, 3)


def test_days_in_the_wrong_order_are_refused() -> None:
    with pytest.raises(ValueError, match="comes after its first"):
        named_days(date(2026, 3, 2), date(2026, 3, 1), 5)
