"""Working days counted forward and back."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.forecast.makers import FRIDAY, WEEKDAYS
from wasteledger.forecast.working_time import NeverAtWork, WorkingTime


@given(st.integers(0, 3000))
def test_counting_back_gives_the_count(count: int) -> None:
    assert WEEKDAYS.working_days_until(WEEKDAYS.nth_working_day(count)) == count


@given(st.integers(-5, 4000))
def test_a_day_off_counts_as_the_working_day_before(ahead: int) -> None:
    day = FRIDAY + timedelta(ahead)
    literal = sum((FRIDAY + timedelta(step)).weekday() < 5 for step in range(1, ahead + 1))

    assert WEEKDAYS.working_days_until(day) == literal


def test_the_first_working_day_after_a_friday_is_monday() -> None:
    assert WEEKDAYS.nth_working_day(1) == date(2026, 3, 9)
    assert WEEKDAYS.nth_working_day(0) == FRIDAY


def test_a_practice_that_never_works_is_refused() -> None:
    with pytest.raises(NeverAtWork, match="6 March 2026"):
        WorkingTime(FRIDAY, lambda day: False).nth_working_day(1)


def test_the_calendar_s_end_is_no_crash() -> None:
    with pytest.raises(NeverAtWork, match="30 December 9999"):
        WorkingTime(date(9999, 12, 30), lambda day: day.year < 9999).nth_working_day(1)
