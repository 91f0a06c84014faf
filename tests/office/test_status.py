"""What stands at the site: containers, traps, the round, coverage, pickups."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from tests.makers import (
    MONDAY_MORNING,
    SET_UP_AT,
    TRAPS,
    Clinic,
    a_booking,
    a_closing,
    a_correction,
    a_line,
    a_look,
    a_receipt,
    a_release,
    a_replacement,
    a_site,
    a_swap,
    a_trap,
    a_weighing,
    an_inspection,
    an_opening,
    make_clinic,
)
from tests.office.places import CONVENTIONS, FEDERAL, a_place
from wasteledger.errors import Unknown
from wasteledger.model.register import RoundDetails, RoundStep
from wasteledger.model.traps import Condition
from wasteledger.office.status import Blank, Coverage, coverage, round_plan, show_container, status
from wasteledger.office.workplace import Workplace

MONDAY = date(2026, 3, 2)
CHICAGO = ZoneInfo("America/Chicago")


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Clinic]:
    """The small practice of `tests.makers`, on a Monday morning, with its register alone."""
    made = make_clinic(tmp_path)
    with made.ledger:
        yield made


def covered(place: Workplace, since: date, until: date) -> Coverage:
    with place.reading() as reader:
        return coverage(reader, place.zone, since, until)


def evening(clinic: Clinic, day: date, *traps: str) -> None:
    """Looks at some traps at six in the evening."""
    at = datetime(day.year, day.month, day.day, 18, tzinfo=CHICAGO)
    clinic.watch.now = max(clinic.watch.now, at)
    for trap in traps:
        clinic.append(a_look(trap, Condition.CLEAN), at)


# -- coverage ----------------------------------------------------------------------------------------------------------


def test_every_trap_is_due_on_every_working_day(clinic: Clinic) -> None:
    """Five traps, Monday to Sunday: five working days, so twenty-five looks."""
    place = a_place(clinic)
    clinic.watch.wait(days=10)

    found = covered(place, MONDAY, MONDAY + timedelta(days=6))

    assert (found.looks_made, found.looks_due) == (0, 25)
    assert found.blanks[0] == Blank(MONDAY, "r1", ("1-HV", "1-SE"))
    assert sum(len(blank.traps) for blank in found.blanks) == 25


def test_a_swap_is_a_look_two_looks_are_one_and_a_weekend_look_is_not_due(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening())
    clinic.record(a_swap("1-HV"))
    evening(clinic, MONDAY, "1-HV", "2-HV", "2-HV")
    evening(clinic, date(2026, 3, 7), "1-HV")

    found = covered(place, MONDAY, MONDAY + timedelta(days=6))

    assert (found.looks_made, found.looks_due) == (2, 25)


def test_not_looked_at_for_a_reason_is_an_explained_blank(clinic: Clinic) -> None:
    place = a_place(clinic)
    evening(clinic, MONDAY, "2-SE", "2-HV", "PUMP", "1-SE")
    clinic.append(a_look("1-HV", Condition.NOT_LOOKED, reason="No water in the room"))

    found = covered(place, MONDAY, MONDAY)

    assert (found.looks_made, found.looks_due) == (4, 5)
    assert found.blanks == (Blank(MONDAY, "r1", ("1-HV",), "No water in the room"),)
    assert found.unexplained == ()


def test_an_evening_look_belongs_to_the_local_day_also_when_the_clocks_change(clinic: Clinic) -> None:
    """Summer time began in Chicago on Sunday 8 March 2026; half past eleven at night is the next day in UTC."""
    place = a_place(clinic)
    for day in (date(2026, 3, 6), date(2026, 3, 9)):
        at = datetime(day.year, day.month, day.day, 23, 30, tzinfo=CHICAGO)
        clinic.watch.now = at
        clinic.append(a_look("1-HV", Condition.CLEAN), at)

    assert covered(place, date(2026, 3, 6), date(2026, 3, 6)).looks_made == 1
    assert covered(place, date(2026, 3, 9), date(2026, 3, 9)).looks_made == 1
    assert covered(place, date(2026, 3, 10), date(2026, 3, 10)).looks_made == 0


def test_void_looks_do_not_count_and_moved_ones_count_where_they_went(clinic: Clinic) -> None:
    place = a_place(clinic)
    void = clinic.record(a_look("1-HV"))
    moved = clinic.record(a_look("2-HV"))
    clinic.watch.wait(days=1)
    clinic.record(a_correction(void))
    clinic.record(a_replacement(moved, happened_at=moved.happened_at + timedelta(days=1)))

    assert covered(place, MONDAY, MONDAY).looks_made == 0
    assert covered(place, date(2026, 3, 3), date(2026, 3, 3)).looks_made == 1


def test_looks_are_due_only_while_a_trap_is_in_service_and_the_practice_works(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.watch.now = MONDAY_MORNING + timedelta(days=2)
    clinic.append(a_trap("1-SE", retired=True))
    clinic.watch.now = MONDAY_MORNING + timedelta(days=4)
    clinic.append(a_trap("1-SE"))
    clinic.watch.now = MONDAY_MORNING + timedelta(days=14)

    def due_on(day: date) -> int:
        return covered(place, day, day).looks_due

    assert [due_on(MONDAY + timedelta(days=number)) for number in range(6)] == [5, 5, 4, 4, 5, 0]
    clinic.append(a_site(closures=((MONDAY, date(2026, 3, 4)),)))
    assert covered(place, MONDAY, date(2026, 3, 6)).looks_due == 4 + 5


# -- the round ---------------------------------------------------------------------------------------------------------


def test_the_round_walks_the_rooms_and_says_what_is_open(clinic: Clinic) -> None:
    place = a_place(clinic)
    steps = (RoundStep(does="Draw cleaner through each room", caution="No bleach"), RoundStep(does="Look at each trap"))
    clinic.record(a_line("evening", RoundDetails(name="Evening round", steps=steps, cleaner_per_room_ml=1893)))
    clinic.record(a_look("1-HV", Condition.CLOGGED, left_to_dry=True))
    clinic.record(a_look("2-HV", Condition.NOT_LOOKED, reason="Locked"))

    plan = round_plan(place)

    assert [room.name for room in plan.rooms] == ["Room r1", "Room r2", "Plant room"]
    assert plan.steps == steps
    assert plan.cleaner_per_room_ml == 1893
    assert set(plan.open_tonight) == set(TRAPS) - {"1-HV", "2-HV"}
    assert plan.to_change_before_suction == ("1-HV",)
    clinic.watch.now = MONDAY_MORNING + timedelta(days=1)
    tomorrow = round_plan(place)
    assert set(tomorrow.open_tonight) == set(TRAPS)
    assert tomorrow.to_change_before_suction == ("1-HV",)
    assert tomorrow.rooms[0].traps[0].drying_since == MONDAY
    clinic.record(an_opening())
    clinic.record(a_swap("1-HV"))
    assert round_plan(place).to_change_before_suction == ()
    assert json.loads(json.dumps(plan.as_json()))["to_change_before_suction"] == ["1-HV"]


# -- status ------------------------------------------------------------------------------------------------------------


def test_a_weighed_container_and_an_estimated_one_are_never_mixed_up(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    clinic.record(a_swap(container="C-1"))
    clinic.record(a_weighing("C-1", 200_000))
    clinic.record(an_opening("C-2"))
    clinic.record(a_swap("2-HV", "C-2"))

    weighed, estimated = status(place).containers

    assert weighed.estimate.basis == "weighed"
    assert weighed.statement.endswith("weighed")
    assert weighed.estimate.value_mg == 50_000
    assert estimated.estimate.basis == "estimate"
    assert "estimate" in estimated.statement
    assert "weighed" not in estimated.statement
    assert weighed.age_days == 0
    clinic.watch.wait(days=3)
    assert status(place).containers[0].age_days == 3


def test_a_full_container_wants_closing_and_a_closed_one_a_pickup(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening(items_limit=2))
    clinic.record(a_swap("1-HV"))
    clinic.record(a_swap("2-HV"))

    assert status(place).containers[0].advice == "close it and open another"
    clinic.record(a_closing())
    closed = status(place).containers[0]
    assert closed.advice == "closed: book a pickup"
    assert closed.wants_attention
    clinic.record(a_booking())
    booked = status(place).containers[0]
    assert booked.advice == "waits for pickup P-1"
    assert not booked.wants_attention


def test_traps_want_changing_when_left_to_dry_clogged_or_too_long_in_service(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening())
    for trap in TRAPS:
        clinic.record(a_swap(trap))
    assert status(place).traps_to_swap == ()
    clinic.record(a_look("1-HV", Condition.CLOGGED, left_to_dry=True))
    clinic.record(a_look("2-HV", Condition.DAMAGED))
    clinic.record(a_look("2-SE", Condition.DEBRIS))

    wanting = {one.trap: one.why for one in status(place).traps_to_swap}

    assert wanting == {"1-HV": "left to dry", "2-HV": Condition.DAMAGED.words}
    clinic.watch.wait(days=8)
    later = {one.trap: one for one in status(place).traps_to_swap}
    assert set(later) == set(TRAPS)
    assert later["PUMP"].why == "in service longer than 7 days (office rule)"
    assert later["PUMP"].since == MONDAY + timedelta(days=7)


def test_open_pickups_count_days_from_the_release(clinic: Clinic) -> None:
    place = a_place(clinic, CONVENTIONS)
    clinic.record(an_opening())
    clinic.record(a_closing())
    clinic.record(a_booking())
    (booked,) = status(place).pickups
    assert (booked.days_open, booked.awaits) == (None, "the carrier, on 2026-03-09")
    clinic.record(a_release())
    clinic.watch.wait(days=31)

    after = status(place)

    assert after.pickups[0].days_open == 31
    assert after.pickups[0].awaits == "receipt and proof of recycling"
    assert [one.rule for one in after.due.pressing] == ["OFFICE-RECEIPT-30", "OFFICE-RECEIPT-45"]
    assert after.wants_attention
    clinic.record(a_receipt())
    assert status(place).pickups[0].awaits == "proof of recycling"
    clinic.record(a_receipt(proves="recycled"))
    assert status(place).pickups == ()


def test_a_quiet_site_wants_nothing_and_a_missing_look_does(clinic: Clinic) -> None:
    place = a_place(clinic, CONVENTIONS)
    clinic.append(an_opening(), SET_UP_AT)
    for week in range(1, 9):
        for trap in TRAPS:
            clinic.append(a_swap(trap), SET_UP_AT + timedelta(weeks=week))
    for day in range(7, 0, -1):
        back = clinic.watch.now - timedelta(days=day)
        for trap in TRAPS:
            clinic.append(a_look(trap, Condition.CLEAN), back)
    for trap in TRAPS:
        clinic.record(a_swap(trap))

    quiet = status(place)

    assert (quiet.coverage.looks_made, quiet.coverage.looks_due) == (25, 25)
    assert not quiet.wants_attention
    clinic.watch.wait(days=1)
    missed = status(place)
    assert not missed.coverage.unexplained
    clinic.watch.wait(days=1)
    missed = status(place)
    assert {blank.on for blank in missed.coverage.blanks} == {date(2026, 3, 3)}
    assert missed.wants_attention


def test_a_malfunction_is_an_urgent_finding(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    found = clinic.record(an_inspection("malfunction"))

    (finding,) = (one for one in status(place).findings if one.code == "separator-malfunction")

    assert finding.seqs == (found.seq,)
    assert finding.weight.value == "urgent"


def test_without_an_ordinance_the_status_says_that_no_day_is_counted(clinic: Clinic) -> None:
    assert "no-ordinance" in [one.code for one in status(a_place(clinic)).findings]


def test_status_as_json_has_whole_milligrams_and_iso_days(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL, CONVENTIONS)
    clinic.record(an_opening())
    clinic.record(a_swap())
    clinic.record(a_weighing())

    said = json.loads(json.dumps(status(place).as_json()))

    assert said["today"] == "2026-03-02"
    assert said["containers"][0]["estimate"]["value_mg"] == 50_000
    assert said["containers"][0]["opened_at"] == "2026-03-02T15:00:00Z"
    assert said["coverage"]["looks_due"] == 25
    assert said["coverage"]["blanks"][0]["room"] == "r1"


# -- one container -----------------------------------------------------------------------------------------------------


def test_a_container_is_shown_with_its_history_and_as_it_was_stated_when_it_left(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening())
    swap = clinic.record(a_swap())
    clinic.record(a_closing())
    clinic.record(a_booking())
    clinic.record(a_release())
    clinic.record(a_correction(swap))

    shown = show_container(place, "C-1")

    assert shown.state.statement == "50.00 g ± 0.13 g, weighed"
    assert shown.state.advice == "gone with pickup P-1"
    kinds = [row.entry.kind for row in shown.history]
    assert kinds == ["container_opened", "swap", "container_closed", "pickup_booked", "pickup_released", "correction"]
    assert shown.history[1].corrected_action == "void"
    assert json.loads(json.dumps(shown.as_json()))["history"][1]["counts"] is False


def test_an_unknown_container_is_refused_with_those_that_there_are(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-7"))

    with pytest.raises(Unknown) as refused:
        show_container(place, "C-8")

    assert "C-7" in refused.value.hint
