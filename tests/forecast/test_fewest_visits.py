"""The fewest pickup days: no plan has fewer, held against trying every choice of days."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from wasteledger.forecast.windows import Window, fewest_visits

FIRST = date(2026, 3, 2)
DAYS = [FIRST + timedelta(days=ahead) for ahead in range(21)]


def a_window(container: str, first: int, last: int) -> Window:
    """A window that opens *first* and closes *last* days after the second of March 2026."""
    return Window(container, FIRST + timedelta(days=first), FIRST + timedelta(days=last), "a rule", "it is closed")


@st.composite
def some_windows(draw: st.DrawFn) -> list[Window]:
    """Up to six windows within three weeks."""
    spans = draw(st.lists(st.tuples(st.integers(0, 12), st.integers(0, 8)), max_size=6))
    return [a_window(f"C-{number}", first, first + length) for number, (first, length) in enumerate(spans)]


def fewest_by_trying(windows: list[Window], worked: frozenset[date]) -> int:
    """The least number of worked days that meet every window, found by trying every choice of days."""
    days = [day for day in DAYS if day in worked]
    for size in range(len(windows) + 1):
        for chosen in combinations(days, size):
            if all(any(one.not_before <= day <= one.not_after for day in chosen) for one in windows):
                return size
    raise AssertionError("one day for each window always does")


@given(some_windows(), st.frozensets(st.sampled_from(DAYS), min_size=8))
def test_no_plan_has_fewer_visits(windows: list[Window], worked: frozenset[date]) -> None:
    """Whatever days are worked: each window that holds one of them is met, and by the fewest visits."""
    plan = fewest_visits(windows, worked.__contains__, today=FIRST)

    unmet = set(plan.without_day)
    assert unmet == {one for one in windows if not any(one.not_before <= day <= one.not_after for day in worked)}
    left = [one for one in windows if one not in unmet]
    assert len(plan.visits) == fewest_by_trying(left, worked)
    assert all(visit.on in worked for visit in plan.visits)
    going = {container: visit.on for visit in plan.visits for container in visit.containers}
    assert set(going) == {window.container for window in left}
    assert all(one.not_before <= going[one.container] <= one.not_after for one in left)
