"""What status, container show and pickup plan say of the days to come, typed and read at the command line."""

from __future__ import annotations

import shutil
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.doors.conftest import Office
from tests.makers import Watch
from wasteledger.model.traps import Condition
from wasteledger.office.swaps import record_swap
from wasteledger.office.workplace import Said, Workplace


@pytest.fixture(scope="module")
def filled_once(set_up_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The ledger of `filling`; copied for each test, since typing it in takes a while."""
    ledger = tmp_path_factory.mktemp("filled") / "wasteledger.db"
    shutil.copyfile(set_up_once, ledger)
    watch = Watch()
    first_at = watch.wait(hours=2)
    watch.wait(weeks=10)
    with Workplace.open(str(ledger), by="max", clock=watch) as place:
        for week in range(10):
            for trap in ("1-SE", "1-HV", "2-SE", "2-HV"):
                said = Said(at=first_at + timedelta(weeks=week))
                record_swap(place, trap, said, condition=Condition.CLOGGED)
    return ledger


@pytest.fixture
def filling(bare_office: Office, filled_once: Path) -> Office:
    """Ten weeks of swaps in T-1, whose level is read at 90 % on Monday 11 May 2026."""
    shutil.copyfile(filled_once, bare_office.ledger)
    bare_office.watch.wait(weeks=10, hours=2)
    bare_office.did("level", "T-1", "90%")
    return bare_office


def outlook(office: Office) -> Any:
    return office.did("container", "show", "T-1", "--json").json()["outlook"]


def test_status_and_the_container_say_when_it_will_be_full_and_why(filling: Office) -> None:
    said = filling.run("status").said
    shown = filling.did("container", "show", "T-1").said
    found = outlook(filling)

    for text in (said, shown):
        assert "  forecast, full by level: 10 % chance by " in text
        assert "that it is full before a pickup could come, " in text
        assert f"  {found['reason']}\n" in text
    assert found["p10_on"] < found["p50_on"] < found["p90_on"]
    assert found["measure"] == "level"
    # Ten days from Monday 11 May 2026 is a Thursday; a week for an empty pail is shorter.
    assert found["fetch_on"] == "2026-05-21"
    assert found["fetch_because"] == "carrier carrier comes within 10 days"
    assert 0 <= found["chance_permille"] <= 1000
    (container,) = filling.run("status", "--json").json()["containers"]
    assert container["outlook"] == found


def test_the_warning_is_marked_and_follows_the_limit_of_the_site(filling: Office) -> None:
    filling.did("level", "T-1", "99%")
    assert outlook(filling)["warns"]
    said = filling.run("status").said
    assert "above the limit of 10 %" in said
    assert any(line.startswith("! ") and "that it is full before" in line for line in said.splitlines())
    assert "book a pickup now: it may be full before one can come" in said


def test_the_plan_says_what_binds_what_opens_and_by_when_to_book(filling: Office) -> None:
    filling.did("level", "T-1", "50%")
    said = filling.did("pickup", "plan").said
    plan = filling.did("pickup", "plan", "--json").json()

    (window,) = plan["windows"]
    (day,) = plan["days"]
    assert "forecast: up to then the chance of being full by level keeps within this site's 10 %" in said
    assert "the first day is set by: " in said
    assert "T-1 (the day is set by T-1)" in said
    assert "    book it by " in said
    assert "for an empty trap-pail in place of T-1" in said
    assert window["last_on"] == day["on"] == window["outlook"]["within_limit_until"]
    assert day["book_by"] < day["on"]
    assert day["empties"][0]["instead_of"] == "T-1"


def test_a_late_plan_says_which_day_passed_and_which_is_the_first_now(filling: Office) -> None:
    filling.did("level", "T-1", "99%")

    said = filling.did("pickup", "plan").said

    assert "above this site's 10 % today already" in said
    assert "! it should leave by 11 May 2026; this is the first day on which a carrier can come" in said


def test_what_was_read_as_full_is_full_and_no_forecast(filling: Office) -> None:
    level = filling.did("level", "T-1", "100%")

    status, shown = filling.run("status").said, filling.did("container", "show", "T-1").said
    plan = filling.did("pickup", "plan").said

    fact = f"it is full by level: read at 100 % on 11 May 2026, entry {level.seq}; it is closed at 100 %"
    for said in (status, shown, plan):
        assert f"  {fact}\n" in said
        assert "forecast, full by" not in said
        assert "% chance" not in said
        assert "chance of being full" not in said
    assert "! it is full now; a pickup could come on 21 May 2026" in status
    assert "close it and open another" in shown
    assert "! it should leave by 11 May 2026; this is the first day on which a carrier can come" in plan


def test_where_nothing_tells_how_fast_it_fills_no_day_is_made_up(office: Office) -> None:
    office.did("container", "open", "S-1", "--type", "scrap-jar", "--tare", "96g")
    office.did("deposit", "S-1", "--stream", "non_contact", "--mass", "3.4g")

    said = office.did("container", "show", "S-1").said

    assert "  no forecast by level\n" in said
    assert "Nothing tells the volume of: non_contact. Read its level now and then." in said
    assert "% chance" not in said


def test_a_booked_container_is_set_against_its_pickup(filling: Office) -> None:
    filling.did("pickup", "book", "P-1", "T-1", "--carrier", "carrier", "--facility", "recycler", "--on", "2026-07-01")

    said = filling.did("pickup", "plan").said

    assert "  booked for pickup P-1\n" in said
    assert "! " in said
    assert "that it is full before its pickup, 1 Jul 2026: booked as P-1" in said
    assert "No pickup needs a day yet." in said


def test_a_booked_day_that_passed_is_said_and_planned_again(filling: Office) -> None:
    booking = filling.did(
        "pickup", "book", "P-1", "T-1", "--carrier", "carrier", "--facility", "recycler", "--on", "2026-05-22"
    )
    filling.watch.wait(days=12)

    plan, told = filling.did("pickup", "plan").said, filling.run("status").said

    assert "! booked as P-1 for 22 May 2026, which passed without a release\n" in plan
    assert "before a pickup could come" in plan or "the last day is set by" in plan
    assert "T-1 (the day is set by T-1)" in plan
    assert "It was booked for 22 May 2026, and no release is recorded." in told
    assert f"correct {booking.seq} --set planned_on=DAY" in " ".join(told.split())
