"""A booking that asks for a second look, and one whose day has passed."""

from __future__ import annotations

from datetime import date

from tests.makers import Clinic, a_booking, a_closing, a_deposit, a_level, a_release, a_site, an_opening
from tests.office.places import A_LOCAL_RULE, a_place, put_in_force
from tests.office.test_outlook import foreseen, weeks_of_swaps
from wasteledger.office.bookings import booking_findings
from wasteledger.office.corrections import correct_entry
from wasteledger.office.pickup_plan import plan_pickups
from wasteledger.office.pickups import book_pickup
from wasteledger.office.workplace import Said, Workplace

# 2 March 2026 is a Monday; the only carrier comes within seven days.
GOOD_DAY = date(2026, 3, 10)


def warned(place: Workplace, on: date, said: Said = Said()) -> tuple[str, ...]:  # noqa: B008  (frozen)
    """What is said of a booking of C-1 for a day."""
    with place.reading() as reader:
        carrier, facility = reader.lines("carrier")[0].ref, reader.lines("facility")[0].ref
    return book_pickup(place, "P-9", carrier, facility, on, ("C-1",), said).warnings


def a_closed_one(clinic: Clinic) -> Workplace:
    """C-1 with some contact amalgam, closed; a full container leaves within ninety days."""
    place = a_place(clinic)
    put_in_force(clinic, "river-district", A_LOCAL_RULE)
    clinic.record(an_opening("C-1"))
    clinic.record(a_deposit("C-1"))
    clinic.record(a_closing("C-1"))
    return place


def test_a_day_that_suits_is_booked_without_a_word(clinic: Clinic) -> None:
    assert warned(a_closed_one(clinic), GOOD_DAY) == ()


def test_a_sunday_is_asked_about(clinic: Clinic) -> None:
    assert warned(a_closed_one(clinic), date(2026, 3, 15)) == (
        "15 March 2026 is a Sunday, no working day here. Who hands the containers over?",
    )


def test_a_closure_is_asked_about(clinic: Clinic) -> None:
    place = a_closed_one(clinic)
    clinic.record(a_site(closures=((date(2026, 3, 9), date(2026, 3, 13)),)))
    assert warned(place, GOOD_DAY) == (
        "The practice is closed from 9 March 2026 to 13 March 2026. Who hands the containers over?",
    )


def test_a_day_before_the_carrier_can_come_is_asked_about(clinic: Clinic) -> None:
    (asks,) = warned(a_closed_one(clinic), date(2026, 3, 4))
    assert asks.endswith("comes within 7 days of being asked, so by 9 March 2026. Did it agree to 4 March 2026?")


def test_a_day_after_the_rules_last_is_told_the_rule(clinic: Clinic) -> None:
    (asks,) = warned(a_closed_one(clinic), date(2026, 6, 1))
    assert asks.startswith("Container C-1 should leave by 31 May 2026: Ship within ninety days of full (River District")
    assert asks.endswith("[River District 5-6].")


def test_the_forecasts_limit_is_told_as_a_forecast(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 20)
    clinic.append(a_level("C-1", 400))
    limit_on = foreseen(place).within_limit_until
    assert limit_on is not None
    asks = warned(place, date(2028, 3, 1))
    assert any(f"by {limit_on.day} {limit_on:%B %Y}: forecast: " in one for one in asks)


def test_an_empty_container_is_asked_about(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    assert warned(place, GOOD_DAY) == ("Container C-1 is empty: nothing was recorded as put into it.",)


def test_a_booking_sent_twice_warns_once(clinic: Clinic) -> None:
    place, said = a_closed_one(clinic), Said(key="k-1")
    assert warned(place, date(2026, 3, 15), said)
    assert warned(place, date(2026, 3, 15), said) == ()


# -- the day has passed ------------------------------------------------------------------------------------------------


def test_a_booked_day_that_passed_is_a_finding_and_planned_again(clinic: Clinic) -> None:
    place = a_closed_one(clinic)
    booking = clinic.append(a_booking(planned_on=GOOD_DAY)).entry
    clinic.watch.wait(days=8)
    assert place.today() == GOOD_DAY
    with place.reading() as reader:
        assert booking_findings(reader, GOOD_DAY) == ()
    assert plan_pickups(place).windows[0].booked == "P-1"

    clinic.watch.wait(days=1)

    with place.reading() as reader:
        (found,) = booking_findings(reader, place.today())
    assert (found.place, found.seqs) == ("pickup P-1", (booking.seq,))
    assert found.says == "It was booked for 10 March 2026, and no release is recorded."
    plan = plan_pickups(place)
    assert (plan.windows[0].booked, plan.windows[0].missed, plan.windows[0].missed_on) == (None, "P-1", GOOD_DAY)
    assert [day.containers for day in plan.days] == [("C-1",)]

    correct_entry(place, booking.seq, "They come later.", action="replace", changes={"planned_on": "2026-03-19"})
    with place.reading() as reader:
        assert booking_findings(reader, place.today()) == ()
    assert plan_pickups(place).windows[0].booked == "P-1"


def test_what_was_released_is_no_finding(clinic: Clinic) -> None:
    place = a_closed_one(clinic)
    clinic.append(a_booking(planned_on=GOOD_DAY))
    clinic.record(a_release())
    clinic.watch.wait(days=30)
    with place.reading() as reader:
        assert booking_findings(reader, place.today()) == ()


def test_the_forecast_invents_no_day_for_a_pickup_that_did_not_come(clinic: Clinic) -> None:
    """It said "before its pickup" with today's date, as if the carrier were still to come."""
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 20)
    clinic.append(a_booking(planned_on=place.today()))
    clinic.watch.wait(days=3)
    found = foreseen(place)
    assert (found.booked, found.fetch_because.startswith("booked")) == (None, False)
    assert found.fetch_on > place.today()
    assert "before a pickup could come" in found.chance_says
