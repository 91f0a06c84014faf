"""The pickup plan: windows from rules and marks, and no plan with fewer days (held against trying them all)."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from tests.makers import Clinic, a_closing, a_deposit, a_level, a_line, a_site, an_opening
from tests.office.places import A_LOCAL_RULE, a_place, put_in_force
from wasteledger.model.register import CarrierDetails
from wasteledger.office.pickup_plan import MARK_DAYS, Window, fewest_days, plan_pickups

FIRST = date(2026, 3, 2)


def a_window(container: str, first: int, last: int | None, booked: str | None = None) -> Window:
    """A window that opens *first* and closes *last* days after the second of March 2026."""
    return Window(
        container=container,
        status="closed",
        holds="empty",
        permille=None,
        first_on=FIRST + timedelta(days=first),
        last_on=None if last is None else FIRST + timedelta(days=last),
        binds="a rule",
        booked=booked,
    )


@st.composite
def some_windows(draw: st.DrawFn) -> list[Window]:
    """Up to six windows within three weeks."""
    spans = draw(st.lists(st.tuples(st.integers(0, 12), st.integers(0, 8)), max_size=6))
    return [a_window(f"C-{number}", first, first + length) for number, (first, length) in enumerate(spans)]


def fewest_by_trying(windows: list[Window]) -> int:
    """The least number of days that meet every window, found by trying every choice of days."""
    days = [FIRST + timedelta(days=ahead) for ahead in range(21)]
    for size in range(len(windows) + 1):
        for chosen in combinations(days, size):
            if all(any(one.first_on <= day <= (one.last_on or day) for day in chosen) for one in windows):
                return size
    raise AssertionError("one day for each window always does")


@given(some_windows())
def test_no_plan_has_fewer_days(windows: list[Window]) -> None:
    planned = fewest_days(windows)

    assert len(planned) == fewest_by_trying(windows)
    going = {container: day.on for day in planned for container in day.containers}
    assert set(going) == {window.container for window in windows}
    for window in windows:
        assert window.last_on is not None
        assert window.first_on <= going[window.container] <= window.last_on


def test_what_is_booked_or_has_no_last_day_is_left_out() -> None:
    assert fewest_days([a_window("C-1", 0, None), a_window("C-2", 0, 3, booked="P-1")]) == ()


def test_a_container_at_its_mark_leaves_within_the_convention(clinic: Clinic) -> None:
    clinic.record(an_opening("C-1"))
    clinic.record(a_deposit("C-1"))
    clinic.record(a_level("C-1", 800))

    plan = plan_pickups(a_place(clinic))

    # The only carrier asks for seven days; 9 March 2026 is a Monday, and 8 April a Wednesday.
    (window,) = plan.windows
    assert (window.first_on, window.last_on) == (date(2026, 3, 9), date(2026, 3, 9) + timedelta(days=MARK_DAYS))
    assert "80 % by level" in window.binds
    assert [day.on for day in plan.days] == [date(2026, 4, 8)]


def test_the_carrier_that_comes_soonest_counts_and_closed_days_do_not(clinic: Clinic) -> None:
    clinic.record(a_line("quick", CarrierDetails(name="Quick Invented Carrier", lead_days=1)))
    clinic.record(a_site(closures=((date(2026, 3, 3), date(2026, 3, 5)),)))
    clinic.record(an_opening("C-1"))
    clinic.record(a_deposit("C-1"))
    clinic.record(a_level("C-1", 1000))
    clinic.record(a_closing("C-1"))

    plan = plan_pickups(a_place(clinic))

    assert plan.lead_days == 1
    assert plan.windows[0].first_on == date(2026, 3, 6)


def test_the_rule_that_binds_is_named_with_its_clause(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", A_LOCAL_RULE)
    clinic.record(an_opening("C-1"))
    clinic.record(a_deposit("C-1"))
    clinic.record(a_closing("C-1"))

    (window,) = plan_pickups(place).windows

    # Ninety days after 2 March 2026 is Sunday 31 May; the last working day before is Friday 29 May.
    assert (window.due_on, window.last_on) == (date(2026, 5, 31), date(2026, 5, 29))
    assert "River District sewer code" in window.binds
    assert window.citation == "River District 5-6"
    assert not window.is_late


def test_a_day_that_has_passed_is_met_as_soon_as_a_carrier_can(clinic: Clinic) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", A_LOCAL_RULE)
    clinic.record(an_opening("C-1"))
    clinic.record(a_deposit("C-1"))
    clinic.record(a_closing("C-1"))
    clinic.watch.wait(days=100)

    (window,) = plan_pickups(place).windows

    assert window.is_late
    assert window.first_on == window.last_on == date(2026, 6, 17)


def test_an_empty_container_has_no_window(clinic: Clinic) -> None:
    clinic.record(an_opening("C-1"))

    plan = plan_pickups(a_place(clinic))

    assert (plan.windows[0].last_on, plan.windows[0].binds, plan.days) == (None, "empty", ())
