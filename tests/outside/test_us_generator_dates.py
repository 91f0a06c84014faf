"""Days that the US rules on hazardous waste set, each by its shipped file, held against independent arithmetic.

Clauses as read in November 2026: 40 CFR 262.13 to 262.16 in the states' copies (Haw. Adm. Rules 11-262-14; Utah Adm.
Code R315-262-13 and -14; Wis. Admin. Code NR 662.014 and .015), 262.40 as of 20 June 2026 (law.lawstack.com), 262.42
in Ohio Adm. Code 3745-52-42 after 89 FR 60692 (effective 22 January 2025) and before it, Minn. R. 7045.0298. The
clauses 262.16(b)(2)(iv), 262.17(a) and 262.18(d)(1) are quoted from memory and marked so in the file. The E-numbers
count the worked examples of that reading.

The reference that we did not make: numpy's ``datetime64`` for days and years, and its weekdays.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

import pytest

from tests.ordinance.makers import CONVENTIONS, HOLIDAYS, shipped
from tests.outside.numpy_days import days_later, weekday, years_later
from wasteledger.ordinance import (
    Duty,
    Event,
    Obligation,
    Ordinance,
    Record,
    Trigger,
    WorkCalendar,
    obligations,
    retention,
)
from wasteledger.ordinance.circumstances import Circumstances

GENERATOR = shipped("us-federal-generator")
MINNESOTA = shipped("us-minnesota")
UNIVERSAL = shipped("us-universal-waste")

MONTHS = [date(year, month, 1) for year in (2024, 2025, 2026) for month in range(1, 13)]


def generator(category: str, haul_miles: int = 30) -> Circumstances:
    """An office that was of that category in every month of these tests."""
    return Circumstances(
        categories={GENERATOR.id: category},
        months={GENERATOR.id: dict.fromkeys(MONTHS, category)},
        haul_miles=haul_miles,
    )


VERY_SMALL, SMALL, LARGE = generator("VSQG"), generator("SQG"), generator("LQG")
VERY_SMALL_AND_FAR, SMALL_AND_FAR = generator("VSQG", haul_miles=201), generator("SQG", haul_miles=201)


def dated(
    ordinances: Sequence[Ordinance], trigger: Trigger, circumstances: Circumstances | None = None
) -> dict[str, Obligation]:
    """What the ordinances ask after one event, by rule."""
    found = obligations(ordinances, [trigger], holidays=[HOLIDAYS], circumstances=circumstances)
    return {one.rule: one for one in found}


DAYS = {
    "E18, 262.14(a)(4)": (
        "US-RCRA-01",
        VERY_SMALL,
        (Event.STOCK_LIMIT_REACHED, date(2026, 2, 10), "Tue"),
        (180, date(2026, 8, 9), "Sun"),
    ),
    "E18, over 200 miles": (
        "US-RCRA-01-FAR",
        VERY_SMALL_AND_FAR,
        (Event.STOCK_LIMIT_REACHED, date(2026, 2, 10), "Tue"),
        (270, date(2026, 11, 7), "Sat"),
    ),
    "E19, 262.16(b)": (
        "US-RCRA-02",
        SMALL,
        (Event.CONTAINER_FIRST_WASTE, date(2026, 1, 5), "Mon"),
        (180, date(2026, 7, 4), "Sat"),
    ),
    "E19, 262.16(c)": (
        "US-RCRA-02-FAR",
        SMALL_AND_FAR,
        (Event.CONTAINER_FIRST_WASTE, date(2026, 1, 5), "Mon"),
        (270, date(2026, 10, 2), "Fri"),
    ),
    "E20, 262.17(a)": (
        "US-RCRA-03",
        LARGE,
        (Event.CONTAINER_FIRST_WASTE, date(2026, 1, 5), "Mon"),
        (90, date(2026, 4, 5), "Sun"),
    ),
    "E21, 262.15(a)(6)": (
        "US-RCRA-04",
        SMALL,
        (Event.SATELLITE_LIMIT_REACHED, date(2026, 9, 4), "Fri"),
        (3, date(2026, 9, 7), "Mon"),
    ),
    "E22, 262.16(b)(2)(iv)": (
        "US-RCRA-05",
        SMALL,
        (Event.CONTAINERS_LOOKED_AT, date(2026, 11, 4), "Wed"),
        (7, date(2026, 11, 11), "Wed"),
    ),
    "E23, 262.42(a)(1)": (
        "US-RCRA-06",
        LARGE,
        (Event.PICKUP_RELEASED, date(2026, 5, 1), "Fri"),
        (45, date(2026, 6, 15), "Mon"),
    ),
    "E23, 262.42(a)(2)": (
        "US-RCRA-07",
        LARGE,
        (Event.PICKUP_RELEASED, date(2026, 5, 1), "Fri"),
        (60, date(2026, 6, 30), "Tue"),
    ),
    "E23, 262.42(b)": (
        "US-RCRA-08",
        SMALL,
        (Event.PICKUP_RELEASED, date(2026, 5, 1), "Fri"),
        (60, date(2026, 6, 30), "Tue"),
    ),
}


@pytest.mark.parametrize(("rule", "circumstances", "event", "expected"), DAYS.values(), ids=DAYS)
def test_40_cfr_262_days(
    rule: str, circumstances: Circumstances, event: tuple[Event, date, str], expected: tuple[int, date, str]
) -> None:
    """Calendar days, never rolled: Independence Day, Labor Day and Veterans Day among them stay the last day."""
    (what, on, on_day), (count, due_on, due_day) = event, expected

    found = dated([GENERATOR], Trigger(what, on, "subject", 7), circumstances)[rule]

    assert found.due_on == due_on == days_later(on, count)
    assert (weekday(on), weekday(found.due_on)) == (on_day, due_day) == (on.strftime("%a"), due_on.strftime("%a"))
    assert found.due_with_holidays_on is None
    assert found.condition


def test_e21_and_e22_fall_on_holidays_and_the_days_before_are_advised() -> None:
    """40 CFR 262.15(a)(6), 262.16(b)(2)(iv): Labor Day, Veterans Day stay the last day though the office is closed."""
    closed = WorkCalendar(frozenset(range(5)), frozenset(HOLIDAYS.rest_days))
    happened = [
        Trigger(Event.SATELLITE_LIMIT_REACHED, date(2026, 9, 4), "site", 4),
        Trigger(Event.CONTAINERS_LOOKED_AT, date(2026, 11, 4), "site", 5),
    ]

    excess, look = obligations([GENERATOR], happened, closed, [HOLIDAYS], SMALL)

    assert {excess.due_on, look.due_on} == {date(2026, 9, 7), date(2026, 11, 11)} <= set(HOLIDAYS.rest_days)
    assert (excess.advised_on, weekday(excess.advised_on)) == (date(2026, 9, 4), "Fri")
    assert (look.advised_on, weekday(look.advised_on)) == (date(2026, 11, 10), "Tue")


def test_the_weekly_look_starts_with_the_file_and_again_with_each_look() -> None:
    """40 CFR 262.16(b)(2)(iv), from memory: before the first look, a week from the day the file was put in force."""
    begun = Trigger(Event.IN_FORCE, date(2026, 11, 2), "site", 2, ordinance="us-federal-generator")
    looked = Trigger(Event.DUTY_DONE, date(2026, 11, 6), "site", 9, duty=Duty.LOOK_AT_CONTAINERS.value)

    assert dated([GENERATOR], begun, SMALL)["US-RCRA-05"].due_on == date(2026, 11, 9)
    (again,) = [
        one for one in obligations([GENERATOR], [begun, looked], circumstances=SMALL) if one.rule == "US-RCRA-05"
    ]
    assert again.due_on == date(2026, 11, 13)


@pytest.mark.parametrize(
    ("circumstances", "event", "rules"),
    [
        (VERY_SMALL, Event.CONTAINER_FIRST_WASTE, set()),
        (SMALL, Event.CONTAINER_FIRST_WASTE, {"US-RCRA-02"}),
        (SMALL_AND_FAR, Event.CONTAINER_FIRST_WASTE, {"US-RCRA-02-FAR"}),
        (LARGE, Event.CONTAINER_FIRST_WASTE, {"US-RCRA-03"}),
        (VERY_SMALL, Event.PICKUP_RELEASED, set()),
        (SMALL, Event.PICKUP_RELEASED, {"US-RCRA-08"}),
        (LARGE, Event.PICKUP_RELEASED, {"US-RCRA-06", "US-RCRA-07"}),
        (VERY_SMALL, Event.STOCK_LIMIT_REACHED, {"US-RCRA-01"}),
        (VERY_SMALL_AND_FAR, Event.STOCK_LIMIT_REACHED, {"US-RCRA-01-FAR"}),
        (SMALL, Event.STOCK_LIMIT_REACHED, set()),
        (VERY_SMALL, Event.SATELLITE_LIMIT_REACHED, set()),
    ],
)
def test_262_14_16_17_speak_to_their_own_category(circumstances: Circumstances, event: Event, rules: set[str]) -> None:
    """40 CFR 262.14(a), 262.16, 262.17: each category has its own conditions; the lowest has no manifest."""
    assert set(dated([GENERATOR], Trigger(event, date(2026, 5, 1), "subject"), circumstances)) == rules


def test_an_unknown_category_and_distance_leave_the_shortest_term() -> None:
    """40 CFR 262.16, 262.17: while the category is not known the 90 days bind, and no 270 days are given."""
    found = dated([GENERATOR], Trigger(Event.CONTAINER_FIRST_WASTE, date(2026, 1, 5), "container A"))

    assert set(found) == {"US-RCRA-02", "US-RCRA-03"}
    assert found["US-RCRA-03"].binds
    assert [other.rule for other in found["US-RCRA-03"].also] == ["US-RCRA-02"]


@pytest.mark.parametrize(
    ("category", "event", "rule"),
    [
        ("VSQG", Event.STOCK_LIMIT_REACHED, "US-RCRA-01"),
        ("SQG", Event.CONTAINER_FIRST_WASTE, "US-RCRA-02"),
    ],
)
def test_200_miles_themselves_are_not_over_200(category: str, event: Event, rule: str) -> None:
    """40 CFR 262.14(a)(4), 262.16(c): 270 days where the waste must go over 200 miles."""
    at_200 = Circumstances(categories={"us-federal-generator": category}, haul_miles=200)

    assert set(dated([GENERATOR], Trigger(event, date(2026, 1, 5), "A"), at_200)) == {rule}


def test_e24_older_days_stand_in_a_state_that_keeps_them() -> None:
    """Minn. R. 7045.0298: 35 and 45 days. 15 June is the state's report and the federal call: one day, two duties."""
    found = dated([GENERATOR, MINNESOTA], Trigger(Event.PICKUP_RELEASED, date(2026, 5, 1), "pickup 1", 9), LARGE)

    assert {rule: (one.due_on, weekday(one.due_on)) for rule, one in found.items()} == {
        "MN-EXCEPTION-35": (date(2026, 6, 5), "Fri"),
        "MN-EXCEPTION-45": (date(2026, 6, 15), "Mon"),
        "US-RCRA-06": (date(2026, 6, 15), "Mon"),
        "US-RCRA-07": (date(2026, 6, 30), "Tue"),
    }
    assert (days_later(date(2026, 5, 1), 35), days_later(date(2026, 5, 1), 45)) == (
        date(2026, 6, 5),
        date(2026, 6, 15),
    )
    assert found["MN-EXCEPTION-45"].duty != found["US-RCRA-06"].duty
    # The call is one; the reports go to two authorities.
    assert [rule for rule, one in found.items() if one.binds] == ["MN-EXCEPTION-35", "MN-EXCEPTION-45", "US-RCRA-07"]


@pytest.mark.parametrize(
    ("accepted_on", "asks_on", "reports_on"),
    [
        pytest.param(date(2024, 5, 1), date(2024, 6, 5), date(2024, 6, 15), id="the older text"),
        pytest.param(date(2025, 1, 21), date(2025, 2, 25), date(2025, 3, 7), id="its last day"),
        pytest.param(date(2025, 1, 22), date(2025, 3, 8), date(2025, 3, 23), id="the amendment's first day"),
    ],
)
def test_89_fr_60692_parts_two_texts(accepted_on: date, asks_on: date, reports_on: date) -> None:
    """40 CFR 262.42(a): 35 and 45 days before 22 January 2025, 45 and 60 from then on, by the day of acceptance."""
    found = dated([GENERATOR], Trigger(Event.PICKUP_RELEASED, accepted_on, "pickup 1"), LARGE)

    asked, reported = sorted(found.values(), key=lambda one: one.due_on)
    older = accepted_on < date(2025, 1, 22)
    assert (asked.duty, reported.duty) == (Duty.CHASE_RECEIPT_AGAIN.value, Duty.REPORT_MISSING_RECEIPT.value)
    assert (asked.due_on, reported.due_on) == (asks_on, reports_on)
    assert (asks_on, reports_on) == tuple(days_later(accepted_on, n) for n in ((35, 45) if older else (45, 60)))
    assert all(one.rule.endswith("-BEFORE") == older for one in found.values())


def test_the_office_own_call_on_day_45_gives_way_to_the_rule() -> None:
    """40 CFR 262.42(a)(1): on one day law goes before the office's convention, which is named beside it."""
    found = dated([GENERATOR, CONVENTIONS], Trigger(Event.PICKUP_RELEASED, date(2026, 5, 1), "pickup 1"), LARGE)

    assert found["US-RCRA-06"].binds
    assert [other.rule for other in found["US-RCRA-06"].also] == ["OFFICE-RECEIPT-45"]


def test_e26_manifest_from_the_day_of_acceptance() -> None:
    """40 CFR 262.40(a): three years from the first transporter's acceptance."""
    kept = retention([GENERATOR], Record.MANIFEST, date(2026, 5, 1), circumstances=SMALL).longest

    assert kept is not None
    assert (kept.rule, kept.due_on) == ("US-RCRA-09", date(2029, 5, 1))
    assert weekday(kept.due_on) == kept.due_on.strftime("%a") == "Tue"
    assert kept.due_on == years_later(date(2026, 5, 1), 3)


def test_e27_exception_report_from_the_day_it_was_due() -> None:
    """40 CFR 262.40(b): three years from the report's due day; 262.44 does not name it for small generators."""
    due_on = dated([GENERATOR], Trigger(Event.PICKUP_RELEASED, date(2026, 5, 1), "pickup 1"), LARGE)[
        "US-RCRA-07"
    ].due_on
    kept = retention([GENERATOR], Record.EXCEPTION_REPORT, due_on, circumstances=LARGE).longest

    assert kept is not None
    assert (kept.rule, kept.due_on) == ("US-RCRA-10", date(2029, 6, 30))
    assert weekday(kept.due_on) == kept.due_on.strftime("%a") == "Sat"
    assert kept.due_on == years_later(due_on, 3)
    assert retention([GENERATOR], Record.EXCEPTION_REPORT, due_on, circumstances=SMALL).longest is None


def test_262_18_d_1_every_fourth_september() -> None:
    """40 CFR 262.18(d)(1), from memory: 1 September 2021, then 2025, 2029; a day done early answers its own turn."""
    begun = Trigger(Event.IN_FORCE, date(2024, 3, 1), "site", ordinance="us-federal-generator")
    done = Trigger(Event.DUTY_DONE, date(2025, 8, 20), "site", 40, duty=Duty.RENEW_REGISTRATION.value)

    first = dated([GENERATOR], begun, SMALL)["US-RCRA-11"]
    (after,) = [one for one in obligations([GENERATOR], [begun, done], circumstances=SMALL) if one.rule == "US-RCRA-11"]

    assert (first.due_on, weekday(first.due_on)) == (date(2025, 9, 1), "Mon")
    assert (after.due_on, weekday(after.due_on)) == (date(2029, 9, 1), "Sat")
    assert not first.confirmed
    assert "US-RCRA-11" not in dated([GENERATOR], begun, VERY_SMALL)


def test_262_13_bands_join_at_100_and_1000_kg() -> None:
    """40 CFR 262.13, 260.10: 100 kg belongs to the lowest, 1,000 kg to the highest; stock clock from 1,000 kg."""
    bands = [
        (one.name, one.month_over_kg or one.month_from_kg, one.month_up_to_kg or one.month_below_kg)
        for one in GENERATOR.categories
    ]
    stocks = [(one.stock_below_kg, one.stock_up_to_kg) for one in GENERATOR.categories]

    hundred, thousand, six_thousand = Decimal(100), Decimal(1000), Decimal(6000)
    assert bands == [("VSQG", None, hundred), ("SQG", hundred, thousand), ("LQG", thousand, None)]
    assert [one.month_up_to_kg for one in GENERATOR.categories] == [hundred, None, None]
    assert [one.month_from_kg for one in GENERATOR.categories] == [None, None, thousand]
    assert stocks == [(thousand, six_thousand), (None, six_thousand), (None, None)]
    assert {one.acute_over_kg for one in GENERATOR.categories} == {Decimal(1)}


def test_89_fr_60692_registration_from_its_day() -> None:
    """89 FR 60692: registration for e-Manifest from 22 January 2025, the day of the new exception days."""
    registration = GENERATOR.get("US-RCRA-E-MANIFEST")

    assert not registration.stands_on(date(2025, 1, 21))
    assert registration.stands_on(date(2025, 1, 22))


def test_273_15_universal_waste_leaves_within_a_year_and_is_marked_as_not_confirmed() -> None:
    """40 CFR 273.15, from memory: one year, only where a state lists amalgam; none was found."""
    first_waste = date(2026, 1, 5)
    found = dated([UNIVERSAL], Trigger(Event.CONTAINER_FIRST_WASTE, first_waste, "container A"))["US-UW-01"]

    assert found.due_on == date(2027, 1, 5) == years_later(first_waste, 1)
    assert [one for one in UNIVERSAL.provisions if one.confirmed] == []


def test_what_comes_from_memory_is_marked() -> None:
    """The clauses that were not read, by name; every other provision was read, at its source or in a copy."""
    assert {one.id for one in GENERATOR.provisions if not one.confirmed} == {
        "US-RCRA-03",
        "US-RCRA-05",
        "US-RCRA-11",
        "US-RCRA-RECYCLED",
        "US-RCRA-CONTRACT",
        "US-RCRA-LABEL-LQG",
    }


def test_what_speaks_to_some_generators_says_to_whom() -> None:
    """40 CFR 262.14 speaks to the very small, 262.16 to the small, 262.17 to the large; 262.40(d) by 262.44 to both."""
    of_everybody = {one.id for one in GENERATOR.provisions if not one.only_for}

    assert of_everybody == {
        *("US-RCRA-VSQG", "US-RCRA-SQG", "US-RCRA-LQG", "US-RCRA-12"),
        *("US-RCRA-RECYCLED", "US-RCRA-D009", "US-RCRA-D011"),
    }
    for one in GENERATOR.provisions:
        if one.only_for and "262.14(a)" in one.citation and "262.20" not in one.citation:
            assert one.only_for == ("VSQG",)
        if "262.16" in one.citation and "262.17" not in one.citation and one.only_for:
            assert one.only_for == ("SQG",)
    assert GENERATOR.get("US-RCRA-ENFORCEMENT").only_for == ("SQG", "LQG")
