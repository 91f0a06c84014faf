"""The pickup plan: windows from rules, marks and forecasts, the fewest days for them, and by when to book."""

from __future__ import annotations

import json
from datetime import date, timedelta

from tests.makers import (
    KIM,
    Clinic,
    a_booking,
    a_closing,
    a_deposit,
    a_level,
    a_line,
    a_site,
    a_swap,
    a_trap,
    an_opening,
)
from tests.office.places import A_LOCAL_RULE, a_place, put_in_force
from wasteledger.model.register import CarrierDetails, ContainerTypeDetails
from wasteledger.office.containers import record_level
from wasteledger.office.pickup_plan import MARK_DAYS, NOT_EARLIER_DAYS, plan_pickups
from wasteledger.office.workplace import Workplace

# The invented district's other clock: a hundred and fifty days from the first waste.
A_RULE_FROM_FIRST_WASTE = A_LOCAL_RULE.replace(
    'trigger = "container_full"', 'trigger = "container_first_waste"'
).replace("due = { days = 90 }", "due = { days = 150 }")


def test_a_container_at_its_mark_leaves_within_the_convention_where_nothing_is_foreseen(clinic: Clinic) -> None:
    clinic.record(an_opening("C-1"))
    clinic.record(a_deposit("C-1"))
    clinic.record(a_level("C-1", 800))
    clinic.record(a_closing("C-1"))

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

    plan = plan_pickups(place)

    (window,) = plan.windows
    assert window.is_late
    assert window.first_on == window.last_on == date(2026, 6, 17)
    assert window.wanted_on == date(2026, 5, 29)
    assert plan.days[0].book_by == plan.today


def test_an_empty_container_has_no_window(clinic: Clinic) -> None:
    clinic.record(an_opening("C-1"))

    plan = plan_pickups(a_place(clinic))

    assert (plan.windows[0].last_on, plan.windows[0].binds, plan.days) == (None, "empty", ())


def test_containers_share_a_day_where_their_windows_do_and_what_is_booked_is_left_out(clinic: Clinic) -> None:
    """First waste on 2, 3 and 4 March 2026, a hundred and fifty days each: the last days fall within one week."""
    place = a_place(clinic)
    put_in_force(clinic, "river-district", A_RULE_FROM_FIRST_WASTE)
    for ref in ("C-1", "C-2", "C-3"):
        clinic.record(an_opening(ref))
        clinic.record(a_deposit(ref))
        clinic.record(a_closing(ref))
        clinic.watch.wait(days=1)
    clinic.append(a_booking(containers=("C-3",)))

    plan = plan_pickups(place)

    assert [window.last_on for window in plan.windows] == [date(2026, 7, 30), date(2026, 7, 31), date(2026, 7, 31)]
    assert [window.booked for window in plan.windows] == [None, None, "P-1"]
    (day,) = plan.days
    assert (day.on, day.containers, day.bound_by) == (date(2026, 7, 30), ("C-1", "C-2"), "C-1")
    assert (day.book_by, day.empties) == (date(2026, 7, 23), ())


# -- forecast and lead times -------------------------------------------------------------------------------------------


def twenty_weeks(clinic: Clinic, level_permille: int) -> Workplace:
    """Four traps changed each Monday for twenty weeks into C-1, then its level read; it is Monday 13 July 2026."""
    place = a_place(clinic)
    clinic.append(a_trap("PUMP", retired=True))
    clinic.record(an_opening("C-1"))
    first_at = clinic.watch.now
    clinic.watch.wait(weeks=19)
    with clinic.ledger.writing(clinic.site, KIM) as desk:
        for week in range(20):
            for trap in ("1-SE", "1-HV", "2-SE", "2-HV"):
                desk.append(a_swap(trap), happened_at=first_at + timedelta(weeks=week))
    record_level(place, "C-1", level_permille)
    return place


def test_the_forecast_sets_the_last_day_where_no_rule_comes_before(clinic: Clinic) -> None:
    place = twenty_weeks(clinic, 800)

    (window,) = plan_pickups(place).windows

    assert window.outlook is not None
    assert window.is_forecast
    assert (window.last_on, window.citation, window.due_on) == (window.outlook.within_limit_until, "", None)
    assert window.outlook.p10_on is not None
    assert window.last_on is not None
    assert window.first_on == date(2026, 7, 20) <= window.last_on < window.outlook.p10_on
    assert window.binds == "forecast: up to then the chance of being full by level keeps within this site's 10 %"
    assert window.opens_because == "as soon as it can be: carrier swiftcart comes within 7 days"


def test_a_rule_that_comes_before_the_forecast_binds_and_the_forecast_is_named_beside_it(clinic: Clinic) -> None:
    place = twenty_weeks(clinic, 100)
    put_in_force(clinic, "river-district", A_RULE_FROM_FIRST_WASTE)

    (window,) = plan_pickups(place).windows

    # A hundred and fifty days after Monday 2 March 2026 is Thursday 30 July.
    assert (window.last_on, window.due_on, window.is_forecast) == (date(2026, 7, 30), date(2026, 7, 30), False)
    assert window.citation == "River District 5-6"
    (other,) = window.also
    assert other.is_forecast
    assert other.on > date(2026, 7, 30)


def test_a_container_is_not_sent_before_it_is_worth_it(clinic: Clinic) -> None:
    place = twenty_weeks(clinic, 100)

    (window,) = plan_pickups(place).windows

    assert window.outlook is not None
    assert window.outlook.worth_on is not None
    assert window.last_on is not None
    opens_on = min(window.outlook.worth_on, window.last_on - timedelta(days=NOT_EARLIER_DAYS))
    assert date(2026, 7, 20) < opens_on <= window.first_on <= opens_on + timedelta(days=2)
    assert "planning mark of 75 %" in window.opens_because or "90 days before its last day" in window.opens_because


def test_a_day_is_booked_and_an_empty_container_asked_for_in_time(clinic: Clinic) -> None:
    place = twenty_weeks(clinic, 700)
    said = ContainerTypeDetails(name="Pail", streams=("traps", "scrap"), fill_ml=2000, empty_lead_days=10)
    clinic.append(a_line("pail", said))

    plan = plan_pickups(place)

    (window,), (day,) = plan.windows, plan.days
    assert window.first_on == date(2026, 7, 23)
    assert window.opens_because.startswith("as soon as it can be: an empty container (by the register's pail)")
    assert (plan.carrier, plan.lead_days) == ("swiftcart", 7)
    assert day.on == window.last_on
    assert timedelta(days=7) <= day.on - day.book_by <= timedelta(days=9)
    (empty,) = day.empties
    assert (empty.container_type, empty.instead_of, empty.comes_by) == ("pail", "C-1", day.on)
    assert timedelta(days=10) <= day.on - empty.ask_by <= timedelta(days=12)


def test_a_rule_does_not_wait_for_an_empty_container(clinic: Clinic) -> None:
    place = twenty_weeks(clinic, 100)
    put_in_force(clinic, "river-district", A_RULE_FROM_FIRST_WASTE)
    said = ContainerTypeDetails(name="Pail", streams=("traps", "scrap"), fill_ml=2000, empty_lead_days=60)
    clinic.append(a_line("pail", said))

    plan = plan_pickups(place)

    (window,), (day,) = plan.windows, plan.days
    assert (window.first_on, window.last_on, window.is_late) == (date(2026, 7, 20), date(2026, 7, 30), False)
    assert "only later" in window.opens_because
    assert (day.empties[0].ask_by, day.empties[0].comes_by) == (plan.today, plan.today + timedelta(days=60))


def test_a_chance_that_is_passed_today_wants_the_first_carrier(clinic: Clinic) -> None:
    place = twenty_weeks(clinic, 990)

    (window,) = plan_pickups(place).windows

    assert window.is_late
    assert window.wanted_on == date(2026, 7, 13)
    assert window.first_on == window.last_on == date(2026, 7, 20)
    assert "today already" in window.binds


def test_the_plan_says_the_same_in_json(clinic: Clinic) -> None:
    plan = plan_pickups(twenty_weeks(clinic, 800))

    said = plan.as_json()

    assert json.loads(json.dumps(said)) == said
    assert said["windows"][0]["outlook"]["is_forecast"] is True
    assert said["days"][0]["book_by"] == plan.days[0].book_by.isoformat()
