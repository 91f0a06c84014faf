"""What was done for a rule, and what that does to its clock."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from uuid import uuid4

import pytest

from tests.makers import Watch, a_separator, an_inspection
from tests.office.makers import Crew, assert_repeated, open_pail, refused, released
from tests.office.rule_files import put_in_force
from wasteledger.errors import Unknown
from wasteledger.model.filings import DutyDone
from wasteledger.model.standing.refusals import NotThereYet
from wasteledger.office.corrections import correct_entry
from wasteledger.office.due import due
from wasteledger.office.duties import OWN_COMMANDS, About, NotDoneHere, NotItsDay, WhichOne, record_duty_done
from wasteledger.office.swaps import record_milestone
from wasteledger.office.workplace import NotTheirTask, Recorded, Said, Workplace
from wasteledger.ordinance import Duty, read_ordinance
from wasteledger.resources import find

DISTRICT = """
schema = 1
[ordinance]
id = "river-district"
title = "River District sewer code"
authority = "River District"
level = "local"
version = "1"
dated_on = 2025-01-01
source = "Invented for a test"
[[rule]]
id = "MA-02"
duty = "certify"
kind = "deadline"
title = "Certify to the district"
asks = "Every practice certifies each year between 1 January and 31 March."
trigger = ["in_force", "duty_done"]
recurs = true
due = { each = "03-31", opens = "01-01" }
citation = "River District 5-6"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
[[rule]]
id = "RD-TEST"
duty = "test-separator"
kind = "deadline"
title = "Have the separator tested"
asks = "The separator is tested every five years."
trigger = ["separator_tested", "separator_installed"]
recurs = true
due = { years = 5 }
citation = "River District 5-7"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
[[rule]]
id = "RD-LOOK"
duty = "look-at-containers"
kind = "deadline"
title = "Look at the containers weekly"
asks = "Containers are looked at every week."
trigger = ["containers_looked_at", "in_force"]
recurs = true
due = { days = 7 }
citation = "River District 5-8"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
[[practice]]
id = "RD-ALWAYS"
title = "Always so"
asks = "It is always done so."
citation = "River District 5-9"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
"""


@pytest.fixture
def under_three(crew: Crew) -> Crew:
    """The practice with Massachusetts and an invented district in force besides the federal rule."""
    put_in_force(crew.mo, "us-massachusetts", find("ordinances/us-massachusetts.toml").read_text("utf-8"))
    put_in_force(crew.mo, "river-district", DISTRICT)
    return crew


def body_of(recorded: Recorded) -> DutyDone:
    assert isinstance(recorded.entry.body, DutyDone)
    return recorded.entry.body


def days_of(place: Workplace, rule: str, ordinance: str = "") -> list[date]:
    found = due(place).obligations
    return [one.due_on for one in found if one.rule == rule and ordinance in ("", one.ordinance)]


def test_the_first_certification_and_the_renewals_of_even_years(crew: Crew, watch: Watch) -> None:
    """310 CMR 73.00, as the Massachusetts department's page restates it: sixty days from the start, then by 31 March
    of even years. A practice that opens on Monday 5 October 2026 certifies by Friday 4 December, and renews by Friday
    31 March 2028, since 2027 is odd.
    """
    mo = crew.mo
    watch.now = datetime(2026, 10, 5, 14, 0, tzinfo=watch.now.tzinfo)
    put_in_force(mo, "us-massachusetts", find("ordinances/us-massachusetts.toml").read_text("utf-8"))
    record_milestone(mo, "first_discharge")
    assert days_of(mo, "MA-01") == [date(2026, 12, 4)]

    watch.wait(days=30)
    done = record_duty_done(mo, "MA-01", document="Receipt 17", done_by="Mo")

    assert done.entry.body == DutyDone(
        duty="certify",
        ordinance="us-massachusetts",
        rule="MA-01",
        due_on=date(2026, 12, 4),
        document="Receipt 17",
        done_by="Mo",
    )
    assert "due 4 Dec 2026" in done.says
    assert not done.warnings
    assert "local authority decides" in done.cautions[-1]
    assert days_of(mo, "MA-01") == []
    assert days_of(mo, "MA-02", "us-massachusetts") == [date(2028, 3, 31)]

    watch.now = datetime(2028, 3, 1, 14, 0, tzinfo=watch.now.tzinfo)
    renewed = record_duty_done(mo, "us-massachusetts:MA-02")

    assert body_of(renewed).due_on == date(2028, 3, 31)
    assert any("31 Mar 2030" in said for said in renewed.cautions)
    assert days_of(mo, "MA-02", "us-massachusetts") == [date(2030, 3, 31)]


def test_a_name_that_two_ordinances_use_is_asked_back(under_three: Crew) -> None:
    with refused(under_three.mo, Unknown, "Several ordinances"):
        record_duty_done(under_three.mo, "MA-02")
    with pytest.raises(Unknown) as caught:
        record_duty_done(under_three.mo, "MA-02")
    assert "river-district:MA-02 or us-massachusetts:MA-02" in caught.value.hint


def test_one_authoritys_paper_answers_no_other(under_three: Crew) -> None:
    mo = under_three.mo
    assert days_of(mo, "MA-02", "river-district") == [date(2026, 3, 31)]

    record_duty_done(mo, "river-district:MA-02")

    assert days_of(mo, "MA-02", "river-district") == [date(2027, 3, 31)]
    assert days_of(mo, "MA-02", "us-massachusetts") == [date(2026, 3, 31)]


def test_what_is_done_before_its_window_answers_no_day_unless_it_is_said(under_three: Crew, watch: Watch) -> None:
    mo = under_three.mo
    first = record_duty_done(mo, "river-district:MA-02")
    watch.now = datetime(2026, 11, 2, 14, 0, tzinfo=watch.now.tzinfo)

    early = record_duty_done(mo, "river-district:MA-02")

    assert body_of(early).due_on is None
    assert early.warnings == (
        "It was done before 1 Jan 2027, from when it is taken to answer 31 Mar 2027.",
        f"What was recorded last is entry {first.seq}, for 31 Mar 2026.",
        f"If it is meant for 31 Mar 2027: wasteledger correct {early.seq} --set due_on=2027-03-31 --reason TEXT",
    )
    assert days_of(mo, "MA-02", "river-district") == [date(2027, 3, 31)]

    correct_entry(mo, early.seq, "Meant for it.", action="replace", changes={"due_on": "2027-03-31"})
    assert days_of(mo, "MA-02", "river-district") == [date(2028, 3, 31)]
    correct_entry(mo, early.seq, "As it was.", action="reinstate")

    meant = record_duty_done(mo, "river-district:MA-02", due_on=date(2027, 3, 31))

    assert meant.warnings == (
        (
            "It was done before 1 Jan 2027, from when it is taken to answer 31 Mar 2027. "
            "It counts for that day because the entry names it; the authority may see it otherwise."
        ),
    )
    assert days_of(mo, "MA-02", "river-district") == [date(2028, 3, 31)]


def test_an_older_day_that_is_answered_is_told_from_the_one_that_is_open(under_three: Crew, watch: Watch) -> None:
    mo = under_three.mo
    watch.now = datetime(2027, 11, 25, 14, 0, tzinfo=watch.now.tzinfo)

    done = record_duty_done(mo, "river-district:MA-02")
    again = record_duty_done(mo, "river-district:MA-02")

    assert body_of(done).due_on == date(2026, 3, 31)
    assert done.cautions[0] == (
        "This answers an older day, 31 Mar 2026. Open now: 31 Mar 2027, which has passed as well."
    )
    assert again.cautions[0].startswith("Next: 31 Mar 2028 (")


def test_amounts_of_a_year_that_is_not_over_are_pointed_out(under_three: Crew, watch: Watch) -> None:
    mo = under_three.mo
    put_in_force(
        mo, "river-district", DISTRICT.replace('"certify"', '"report-amounts"').replace(', opens = "01-01"', "")
    )
    watch.now = datetime(2026, 3, 2, 14, 0, tzinfo=watch.now.tzinfo)
    in_time = record_duty_done(mo, "river-district:MA-02")
    watch.now = datetime(2026, 12, 31, 14, 0, tzinfo=watch.now.tzinfo)

    early = record_duty_done(mo, "river-district:MA-02")

    assert not in_time.warnings
    assert body_of(early).due_on == date(2027, 3, 31)
    assert early.warnings == (
        "The year before 31 Mar 2027 is not over: a report of its amounts cannot hold all of them.",
    )


def test_a_day_that_is_none_of_the_rules_is_refused_with_the_one_that_is_open(under_three: Crew) -> None:
    mo = under_three.mo
    for day in (date(2026, 4, 30), date(2027, 3, 30), date(2026, 3, 1)):
        with refused(mo, NotItsDay, "is none of the days of MA-02"):
            record_duty_done(mo, "river-district:MA-02", due_on=day)
    with pytest.raises(NotItsDay) as caught:
        record_duty_done(mo, "river-district:MA-02", due_on=date(2026, 4, 30))
    assert caught.value.hint == "Open is 31 Mar 2026: write --due 2026-03-31, or leave --due out."
    # 2027 is odd, and the renewals are of even years.
    with refused(mo, NotItsDay):
        record_duty_done(mo, "us-massachusetts:MA-02", due_on=date(2027, 3, 31))

    done = record_duty_done(mo, "river-district:MA-02", due_on=date(2026, 3, 31))
    with refused(mo, NotItsDay, "1 May 2026"):
        correct_entry(mo, done.seq, "Another day.", action="replace", changes={"due_on": "2026-05-01"})
    older = record_duty_done(mo, "river-district:MA-02", due_on=date(2025, 3, 31))

    assert older.warnings == ("The journal counts 31 Mar 2027 for it, not 31 Mar 2025.",)


def test_a_rule_that_asks_once_has_the_day_that_is_open(crew: Crew, watch: Watch) -> None:
    mo = crew.mo
    record_milestone(mo, "first_discharge")
    watch.wait(days=1)
    # Ninety days from Monday 2 March 2026 (40 CFR 441.50(a)(1)(ii)).
    (day,) = days_of(mo, "US-441-01")
    with refused(mo, NotItsDay, "none of the days of US-441-01"):
        record_duty_done(mo, "US-441-01", due_on=date(2026, 12, 24))
    key = Said(key=str(uuid4()))

    done = record_duty_done(mo, "US-441-01", key, due_on=day)

    assert not done.warnings
    assert_repeated(mo, done, record_duty_done(mo, "US-441-01", key, due_on=day))
    told = (f"It is recorded already in entry {done.seq}, for 31 May 2026; this is written down as well.",)
    assert day == date(2026, 5, 31)
    assert record_duty_done(mo, "US-441-01", due_on=day).warnings == told
    with pytest.raises(NotItsDay) as caught:
        record_duty_done(mo, "US-441-01", due_on=date(2026, 12, 24))
    assert "recorded already in entry" in caught.value.hint


def test_a_report_filed_ahead_of_the_first_discharge_counts(crew: Crew, watch: Watch) -> None:
    mo = crew.mo
    ahead = record_duty_done(mo, "US-441-01")
    watch.wait(days=2)
    record_milestone(mo, "first_discharge")

    again = record_duty_done(mo, "US-441-01")

    assert ahead.warnings == (
        "No first discharge is recorded yet; this is written down, and counts for it once it is.",
    )
    assert days_of(mo, "US-441-01") == []
    assert again.warnings == (
        f"It is recorded already in entry {ahead.seq}, on 2 Mar 2026; this is written down as well.",
    )


def test_a_report_that_was_sent_before_the_first_discharge_and_is_written_later_answers_its_day(
    crew: Crew, watch: Watch
) -> None:
    mo = crew.mo
    watch.wait(days=3)
    record_milestone(mo, "first_discharge")

    done = record_duty_done(mo, "US-441-01", Said(at=watch.now - timedelta(days=2)))

    assert body_of(done).due_on == date(2026, 6, 3)
    assert not done.warnings


def test_a_test_of_the_only_separator_starts_its_clock_anew(under_three: Crew, watch: Watch) -> None:
    kim = under_three.kim
    before = days_of(kim, "RD-TEST")
    watch.wait(days=3)

    done = record_duty_done(kim, "RD-TEST")

    assert body_of(done).separator == "SEP"
    # Set up on 1 January 2026; tested on 5 March.
    assert before == [date(2031, 1, 1)]
    assert days_of(kim, "RD-TEST") == [date(2031, 3, 5)]


def test_a_look_at_the_containers_is_of_the_whole_practice(under_three: Crew, watch: Watch) -> None:
    watch.wait(days=1)
    done = record_duty_done(under_three.kim, "rd-look")

    assert (body_of(done).rule, body_of(done).container) == ("RD-LOOK", None)
    assert days_of(under_three.kim, "RD-LOOK") == [date(2026, 3, 10)]
    with refused(under_three.kim, WhichOne, "does not speak of container C-1"):
        record_duty_done(under_three.kim, "RD-LOOK", about=About(container="C-1"))


def test_a_receipt_is_asked_for_pickup_by_pickup(crew: Crew, watch: Watch) -> None:
    with refused(crew.mo, WhichOne, "For which pickup"):
        record_duty_done(crew.mo, "OFFICE-RECEIPT-30")
    open_pail(crew.mo)
    released(crew.mo)
    watch.wait(days=31)

    done = record_duty_done(crew.mo, "OFFICE-RECEIPT-30")

    assert body_of(done).pickup == "P-1"
    assert body_of(done).due_on == date(2026, 4, 1)
    assert days_of(crew.mo, "OFFICE-RECEIPT-30") == []
    with refused(crew.mo, NotThereYet):
        record_duty_done(crew.mo, "OFFICE-RECEIPT-30", about=About(pickup="P-9"))
    with refused(crew.mo, WhichOne):
        record_duty_done(crew.mo, "OFFICE-RECEIPT-30", about=About(pickup="P-1", separator="SEP"))


def test_what_no_clock_asks_for_is_written_all_the_same(crew: Crew) -> None:
    open_pail(crew.mo)
    done = record_duty_done(crew.mo, "US-441-02")

    assert done.warnings == ("No clock of this rule ran here; it is written down all the same.",)
    assert body_of(done).due_on is None


@pytest.mark.parametrize(
    ("rule", "command"),
    [
        ("US-441-03", "separator repair"),
        ("US-441-04", "separator repair --action replaced"),
        ("US-441-05", "separator replace"),
        ("US-441-06", "separator inspect"),
        ("OFFICE-CONTAINER-12M", "pickup release"),
    ],
)
def test_what_has_a_command_of_its_own_is_refused_with_its_name(crew: Crew, rule: str, command: str) -> None:
    with refused(crew.mo, NotDoneHere):
        record_duty_done(crew.mo, rule)
    with pytest.raises(NotDoneHere) as caught:
        record_duty_done(crew.mo, rule)
    assert f"wasteledger {command};" in caught.value.hint


def test_every_duty_that_an_entry_of_its_own_shows_has_its_command() -> None:
    filed_or_asked = {
        Duty.ONE_TIME_REPORT,
        Duty.NOTIFY_AUTHORITY,
        Duty.CERTIFY,
        Duty.TEST_SEPARATOR,
        Duty.LOOK_AT_CONTAINERS,
        Duty.CHASE_RECEIPT,
        Duty.CHASE_RECEIPT_AGAIN,
        Duty.CHASE_RECEIPT_LAST,
        Duty.REPORT_MISSING_RECEIPT,
        Duty.KEEP_RECORDS,
        Duty.RENEW_REGISTRATION,
        Duty.REPORT_AMOUNTS,
        Duty.PROVE_INSTALLATION,
        Duty.TRAIN_STAFF,
        Duty.EXPECT_CONSIGNEE_RETURN,
    }
    assert set(OWN_COMMANDS) == set(Duty) - filed_or_asked


def test_a_term_and_a_practice_are_nothing_that_is_done(under_three: Crew) -> None:
    with refused(under_three.mo, NotDoneHere, "how long records are kept"):
        record_duty_done(under_three.mo, "US-441-07")
    with refused(under_three.mo, NotDoneHere, "sets no day"):
        record_duty_done(under_three.mo, "RD-ALWAYS")
    with refused(under_three.mo, Unknown, "No ordinance in force"):
        record_duty_done(under_three.mo, "NO-SUCH-RULE")


def test_a_filing_is_the_offices(under_three: Crew) -> None:
    with refused(under_three.kim, NotTheirTask):
        record_duty_done(under_three.kim, "river-district:MA-02")
    with refused(under_three.iris, NotTheirTask):
        record_duty_done(under_three.iris, "RD-LOOK")


def test_the_same_key_writes_it_once_whatever_has_happened_since(under_three: Crew, watch: Watch) -> None:
    said = Said(key=str(uuid4()))
    first = record_duty_done(under_three.mo, "river-district:MA-02", said)
    watch.wait(days=400)

    again = record_duty_done(under_three.mo, "river-district:MA-02", said)

    assert_repeated(under_three.mo, first, again)


def test_a_test_of_one_of_two_separators_wants_its_name(under_three: Crew, watch: Watch) -> None:
    with under_three.mo.writing() as desk:
        desk.append(a_separator("SEP-2"))
        desk.append(an_inspection())
    watch.wait(days=1)

    with refused(under_three.kim, WhichOne, "For which separator"):
        record_duty_done(under_three.kim, "RD-TEST")

    done = record_duty_done(under_three.kim, "RD-TEST", about=About(separator="SEP-2"))
    assert body_of(done).separator == "SEP-2"


def test_a_rule_that_is_set_aside_is_written_down_with_who_set_it_aside(crew: Crew) -> None:
    change = DISTRICT.split("[[rule]]")[0] + (
        '[[override]]\nordinance = "office-conventions"\nprovision = "OFFICE-RECEIPT-30"\nreason = "Not here."\n'
        'citation = "River District letter"\nconfirmed = true\nset_aside = true\n'
    )
    put_in_force(crew.mo, "river-district", change)
    open_pail(crew.mo)
    released(crew.mo)

    done = record_duty_done(crew.mo, "OFFICE-RECEIPT-30", about=About(pickup="P-1"))

    assert done.warnings[0].startswith("OFFICE-RECEIPT-30 is set aside here: Set aside by River District sewer code")
    assert done.warnings[1] == "No clock of this rule ran here; it is written down all the same."


def test_a_clock_that_runs_on_all_the_same_is_said_to(crew: Crew) -> None:
    rule = (
        DISTRICT.split("[[rule]]")[1].replace("certify", "own-sweep").replace('["in_force", "duty_done"]', '"in_force"')
    )
    put_in_force(crew.mo, "river-district", f"{DISTRICT.split('[[rule]]')[0]}[[rule]]{rule}")

    done = record_duty_done(crew.mo, "MA-02")

    assert done.warnings == ("Its clock runs on as before: what was done on 2 Mar 2026 does not end it.",)
    assert days_of(crew.mo, "MA-02") == [date(2026, 3, 31)]


def test_a_correction_is_held_to_what_recording_it_would_be(crew: Crew) -> None:
    place = crew.mo
    put_in_force(place, "us-massachusetts", find("ordinances/us-massachusetts.toml").read_text("utf-8"))
    seq = record_duty_done(place, "MA-02").seq

    with pytest.raises(NotDoneHere, match="repair-separator"):
        correct_entry(place, seq, "Meant the other.", action="replace", changes={"duty": "repair-separator"})
    with pytest.raises(Unknown, match="NOPE"):
        correct_entry(place, seq, "Meant the other.", action="replace", changes={"rule": "NOPE"})

    with pytest.raises(NotDoneHere, match="separator"):
        correct_entry(place, seq, "Meant the other.", action="replace", changes={"separator": "SEP"})

    corrected = correct_entry(place, seq, "Its number.", action="replace", changes={"document": "No. 8"})

    assert corrected.entry.kind == "correction"


def test_a_practice_that_moved_records_its_certification_as_the_note_says(crew: Crew) -> None:
    """The first discharge is recorded once only: the note of the rule must not send anybody there a second time."""
    put_in_force(crew.mo, "us-vermont", find("ordinances/us-vermont.toml").read_text("utf-8"))
    record_milestone(crew.mo, "first_discharge")
    record_duty_done(crew.mo, "VT-NEW", document="First place")
    note = next(one.note for one in read_ordinance(find("ordinances/us-vermont.toml")).rules if one.id == "VT-NEW")

    moved = record_duty_done(crew.mo, "VT-NEW", document="New place")

    assert body_of(moved).rule == "VT-NEW"
    assert "ask the agency" in note
    assert "wasteledger done VT-NEW" in note
    assert "record that day at the new place" not in note
