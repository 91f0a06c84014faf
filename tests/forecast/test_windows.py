"""The fewest pickup days: against an exhaustive search, and on days off."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wasteledger.forecast.windows import BadWindow, Lead, Visits, Window, bottleneck, fewest_visits, last_working_day

MONDAY = date(2026, 3, 2)


def weekday(day: date) -> bool:
    return day.weekday() < 5


def a_window(container: str, first: int, last: int, *leads: Lead) -> Window:
    """From so many days after Monday to so many."""
    return Window(
        container, MONDAY + timedelta(first), MONDAY + timedelta(last), f"rule of {container}", "worth", leads
    )


def planned(*windows: Window, today: date = MONDAY) -> Visits:
    return fewest_visits(windows, weekday, today=today)


@st.composite
def some_windows(draw: st.DrawFn) -> list[Window]:
    spans = draw(st.lists(st.tuples(st.integers(0, 16), st.integers(0, 8)), min_size=1, max_size=6))
    return [a_window(f"C-{place}", first, first + length) for place, (first, length) in enumerate(spans)]


@given(some_windows())
def test_no_plan_has_fewer_days_than_the_greedy_one(windows: list[Window]) -> None:
    found = planned(*windows)
    days = [day for ahead in range(26) if weekday(day := MONDAY + timedelta(ahead))]
    met = [one for one in windows if one not in found.without_day]

    def all_met(chosen: tuple[date, ...]) -> bool:
        return all(any(one.not_before <= day <= one.not_after for day in chosen) for one in met)

    fewest = next(count for count in range(len(windows) + 1) if any(map(all_met, combinations(days, count))))

    assert len(found.visits) == fewest
    assert all_met(tuple(visit.on for visit in found.visits))
    assert sorted(name for visit in found.visits for name in visit.containers) == sorted(one.container for one in met)
    assert all(weekday(visit.on) for visit in found.visits)
    assert all(not any(one.not_before <= day <= one.not_after for day in days) for one in found.without_day)


def test_one_visit_serves_all_that_may_leave_then_and_names_what_binds() -> None:
    found = planned(a_window("C-1", 0, 20), a_window("C-2", 5, 11), a_window("C-3", 14, 30))

    assert [(visit.on, visit.containers, visit.bound_by, visit.binds) for visit in found.visits] == [
        (MONDAY + timedelta(11), ("C-1", "C-2"), "C-2", "rule of C-2"),
        (MONDAY + timedelta(30), ("C-3",), "C-3", "rule of C-3"),
    ]


def test_a_window_that_ends_on_a_sunday_ends_on_the_friday_before() -> None:
    assert planned(a_window("C-1", 2, 6)).visits[0].on == MONDAY + timedelta(4)


def test_a_weekend_alone_has_no_day() -> None:
    weekend = a_window("C-1", 5, 6)

    assert planned(weekend, a_window("C-2", 0, 1)).without_day == (weekend,)


def test_the_longest_wait_says_by_when_to_book() -> None:
    """The visit is on Wednesday the 18th; ten days before is a Sunday, so it is booked on the Friday before."""
    carrier, empty = Lead("carrier", 3), Lead("empty container", 10)

    visit = planned(a_window("C-1", 14, 16, carrier, empty)).visits[0]

    assert (visit.on, visit.bottleneck) == (date(2026, 3, 18), empty)
    assert visit.book_by == date(2026, 3, 6)


def test_a_wait_that_began_before_today_cannot_be_met() -> None:
    assert planned(a_window("C-1", 0, 1, Lead("carrier", 5))).visits[0].book_by is None


def test_without_waiting_it_is_booked_on_the_day() -> None:
    visit = planned(a_window("C-1", 0, 1)).visits[0]

    assert (visit.book_by, visit.bottleneck) == (visit.on, None)


def test_helpers_of_nothing() -> None:
    assert bottleneck([]) is None
    assert last_working_day(MONDAY - timedelta(1), weekday, not_before=MONDAY) is None
    assert planned() == Visits(())


def test_a_window_that_ends_before_it_begins_is_refused() -> None:
    with pytest.raises(BadWindow, match="C-1"):
        a_window("C-1", 3, 2)
