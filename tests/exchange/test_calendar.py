"""A calendar file of what is due: written over without doubling, struck out when done, never over a stranger's."""

from __future__ import annotations

import errno
import os
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from tests.makers import MONDAY_MORNING, Clinic, a_correction, a_line, a_repair, an_inspection, make_clinic
from tests.office.places import A_LOCAL_RULE, CONVENTIONS, FEDERAL, a_place, put_in_force
from wasteledger.exchange.calendar import (
    KEEP_CANCELLED_DAYS,
    NotOurCalendar,
    Sheet,
    Written,
    calendar_bytes,
    write_calendar,
)
from wasteledger.office.due import due
from wasteledger.office.notices import Notice
from wasteledger.office.workplace import Workplace


@pytest.fixture
def place(clinic: Clinic) -> Workplace:
    """The practice under the federal rule, with a malfunction found on Monday, 2 March 2026."""
    place = a_place(clinic, FEDERAL)
    clinic.record(an_inspection("malfunction"))
    return place


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "due.ics"


def write(place: Workplace, file: Path) -> Written:
    return write_calendar(place, due(place), file)


def events_in(file: Path) -> list[Any]:
    return list(Calendar.from_ical(file.read_bytes()).walk("VEVENT"))


def repair_in(file: Path) -> Any:
    """The event of the ten business days after a malfunction."""
    return next(one for one in events_in(file) if one.decoded("dtstart") == date(2026, 3, 16))


def a_notice(**changes: object) -> Notice:
    plain = Notice(
        identity="deadline:ship-container::container C-1",
        title="Pickup, container C-1",
        due_on=date(2026, 5, 31),
        advised_on=date(2026, 5, 29),
        since=date(2025, 5, 31),
        opens_on=None,
        is_forecast=False,
        state="later",
        lines=("Invented rule, 1 (rule): Ship it.",),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def drawn(*notices: Notice) -> list[Any]:
    sheet = Sheet("Elm Street", "a" * 64, 42, MONDAY_MORNING, soon_days=14)
    return list(Calendar.from_ical(calendar_bytes(notices, sheet)).walk("VEVENT"))


def test_a_duty_stands_on_its_last_day_for_the_whole_day(place: Workplace, file: Path) -> None:
    """40 CFR 441.30(a)(1)(v): ten business days after Monday, 2 March 2026 make Monday, 16 March."""
    write(place, file)

    event = repair_in(file)
    assert event.decoded("dtend") == date(2026, 3, 17)
    assert event["TRANSP"] == "TRANSPARENT"
    assert "441.30(a)(1)(v)" in event["DESCRIPTION"]
    assert "The local authority decides." in event["DESCRIPTION"]
    assert event["LOCATION"] == "Élan Dental, Elm Street"


def test_a_name_stays_while_the_duty_is_the_same(clinic: Clinic, place: Workplace, file: Path, tmp_path: Path) -> None:
    write(place, file)
    before = repair_in(file)
    clinic.watch.wait(days=2)
    clinic.record(an_inspection("malfunction"))
    again = write(place, tmp_path / "again.ics")

    assert str(repair_in(again.path)["UID"]) == str(before["UID"])
    assert repair_in(again.path)["SEQUENCE"] > before["SEQUENCE"]
    assert repair_in(again.path).decoded("dtstamp") > before.decoded("dtstamp")
    names = [str(one["UID"]) for one in events_in(again.path)]
    assert len(names) == len(set(names))


def test_a_duty_that_comes_round_moves_and_is_not_doubled(clinic: Clinic, file: Path) -> None:
    place = a_place(clinic)
    put_in_force(clinic, "river-district", A_LOCAL_RULE.replace("line_cleaned", "separator_inspected"))
    clinic.record(an_inspection())
    write(place, file)
    (first,) = events_in(file)
    clinic.watch.wait(days=5)
    clinic.record(an_inspection())
    write(place, file)

    (second,) = events_in(file)
    assert (first.decoded("dtstart"), second.decoded("dtstart")) == (date(2026, 3, 9), date(2026, 3, 14))
    assert first["UID"] == second["UID"]


def test_what_is_done_is_struck_out_and_stays_so(clinic: Clinic, place: Workplace, file: Path) -> None:
    write(place, file)
    name, sequence = str(repair_in(file)["UID"]), repair_in(file)["SEQUENCE"]
    clinic.record(a_repair())

    written = write(place, file)
    struck = repair_in(file)
    assert written.cancelled == 1
    assert (struck["STATUS"], str(struck["UID"])) == ("CANCELLED", name)
    assert struck["SEQUENCE"] > sequence
    assert not struck.walk("VALARM")
    bytes_then = file.read_bytes()
    clinic.watch.wait(days=1)
    write(place, file)
    assert str(repair_in(file).to_ical()) == str(struck.to_ical())
    assert bytes_then != file.read_bytes()


def test_what_counts_again_stands_again(clinic: Clinic, place: Workplace, file: Path) -> None:
    write(place, file)
    repaired = clinic.record(a_repair())
    write(place, file)
    clinic.record(a_correction(repaired))
    written = write(place, file)

    assert written.cancelled == 0
    assert repair_in(file)["STATUS"] == "CONFIRMED"
    assert repair_in(file).walk("VALARM")


def test_a_list_up_to_a_day_strikes_nothing_out(place: Workplace, file: Path) -> None:
    whole = write(place, file)
    part = write_calendar(place, due(place), file, until=date(2026, 3, 3))

    assert whole.events > 0
    assert (part.events, part.cancelled) == (whole.events, 0)


def test_a_list_up_to_a_day_adds_nothing_later(place: Workplace, file: Path) -> None:
    write_calendar(place, due(place), file, until=date(2026, 3, 16))
    days = {one.decoded("dtstart") for one in events_in(file)}

    assert max(one.due_on for one in due(place).obligations) > date(2026, 3, 16)
    assert max(days) == date(2026, 3, 16)


def test_what_was_done_and_comes_round_after_the_last_day_moves_there(clinic: Clinic, file: Path) -> None:
    """With --until, the event of the earlier file no longer stands on a day that is not its own any more."""
    place = a_place(clinic)
    put_in_force(clinic, "river-district", A_LOCAL_RULE.replace("line_cleaned", "separator_inspected"))
    clinic.record(an_inspection())
    until = date(2026, 3, 10)
    write_calendar(place, due(place), file, until=until)
    (before,) = events_in(file)
    clinic.watch.wait(days=5)
    clinic.record(an_inspection())
    written = write_calendar(place, due(place), file, until=until)

    (moved,) = events_in(file)
    assert (before.decoded("dtstart"), moved.decoded("dtstart")) == (date(2026, 3, 9), date(2026, 3, 14))
    assert (moved["UID"], moved["STATUS"]) == (before["UID"], "CONFIRMED")
    assert moved["SEQUENCE"] > before["SEQUENCE"]
    assert (written.events, written.cancelled) == (1, 0)


def test_what_is_done_is_struck_out_up_to_a_day_too(clinic: Clinic, place: Workplace, file: Path) -> None:
    write_calendar(place, due(place), file, until=date(2026, 3, 16))
    clinic.record(a_repair())
    written = write_calendar(place, due(place), file, until=date(2026, 3, 10))

    assert written.cancelled == 1
    assert repair_in(file)["STATUS"] == "CANCELLED"


def test_what_was_struck_out_and_is_due_again_after_the_last_day_stands_again(
    clinic: Clinic, place: Workplace, file: Path
) -> None:
    write(place, file)
    repaired = clinic.record(a_repair())
    write(place, file)
    clinic.record(a_correction(repaired))
    written = write_calendar(place, due(place), file, until=date(2026, 3, 3))

    assert written.cancelled == 0
    assert repair_in(file)["STATUS"] == "CONFIRMED"


def test_a_day_that_moves_without_an_entry_has_a_number_of_its_own(place: Workplace, file: Path) -> None:
    """RFC 5545 3.8.7.4; a release that counts otherwise moves days, and no entry is written."""
    write(place, file)
    before = repair_in(file)
    found = due(place)
    later = (replace(one, due_on=one.due_on + timedelta(days=1)) for one in found.obligations)
    write_calendar(place, replace(found, obligations=tuple(later)), file)

    (moved,) = [one for one in events_in(file) if one["UID"] == before["UID"]]
    assert moved.decoded("dtstart") == date(2026, 3, 17)
    assert moved["SEQUENCE"] == before["SEQUENCE"] + 1


def test_what_is_left_as_it_was_is_left_to_the_letter(clinic: Clinic, file: Path) -> None:
    """A backslash before a capital N is no line break."""
    place = a_place(clinic)
    words = r"C:\New; a, b"
    named = A_LOCAL_RULE.replace('"Clean the lines weekly"', f"'{words}'").replace(
        "line_cleaned", "separator_inspected"
    )
    put_in_force(clinic, "river-district", named)
    clinic.record(an_inspection())
    write(place, file)
    assert str(events_in(file)[0]["SUMMARY"]) == f"{words}, separator SEP"
    clinic.append(a_line("river-district", clinic.entries()[-2].body.details, retired=True))  # type: ignore[attr-defined]
    assert write(place, file).cancelled == 1
    struck = events_in(file)
    assert str(struck[0]["SUMMARY"]) == f"{words}, separator SEP"
    clinic.watch.wait(days=1)
    write(place, file)
    assert events_in(file) == struck


def test_how_long_records_are_kept_is_no_event(clinic: Clinic, place: Workplace, file: Path) -> None:
    with_terms = due(place, retention=True)
    write_calendar(place, with_terms, file)

    assert {one.kind.value for one in with_terms.obligations} == {"deadline", "retention"}
    assert len(events_in(file)) == sum(one.kind.value == "deadline" for one in with_terms.obligations)


def test_a_number_never_falls_where_a_ledger_was_restored(place: Workplace, file: Path) -> None:
    write(place, file)
    sequence = repair_in(file)["SEQUENCE"]
    file.write_bytes(file.read_bytes().replace(f"SEQUENCE:{sequence}".encode(), b"SEQUENCE:900000"))
    write(place, file)

    assert repair_in(file)["SEQUENCE"] == 900_000


def test_what_was_struck_out_long_ago_is_left_out(clinic: Clinic, place: Workplace, file: Path) -> None:
    write(place, file)
    clinic.record(a_repair())
    write(place, file)
    clinic.watch.wait(days=KEEP_CANCELLED_DAYS - 1)
    write(place, file)
    assert [one for one in events_in(file) if one["STATUS"] == "CANCELLED"]
    clinic.watch.wait(days=2)
    write(place, file)

    assert not [one for one in events_in(file) if one["STATUS"] == "CANCELLED"]


def test_with_nothing_due_the_file_is_a_calendar_still(clinic: Clinic, file: Path) -> None:
    """RFC 5545 3.6: an iCalendar object must hold at least one component."""
    written = write(a_place(clinic), file)

    assert (written.events, written.cancelled) == (0, 0)
    assert [one.name for one in Calendar.from_ical(file.read_bytes()).subcomponents] == ["VTIMEZONE"]


FOREIGN = b"""BEGIN:VCALENDAR\r
PRODID:-//somebody else//EN\r
VERSION:2.0\r
BEGIN:VEVENT\r
UID:lunch\r
DTSTAMP:20260302T000000Z\r
DTSTART:20260302T110000Z\r
SUMMARY:Lunch\r
END:VEVENT\r
END:VCALENDAR\r
"""


@pytest.mark.parametrize(
    "content",
    [
        FOREIGN,
        b"",
        b"BEGIN:VCARD\r\nVERSION:3.0\r\nFN:Odile\r\nEND:VCARD\r\n",
        b"\x00\xff",
        b"BEGIN:VCALENDAR\r\n",
        FOREIGN * 2,
    ],
    ids=["foreign calendar", "empty", "address card", "bytes", "cut off", "two calendars"],
)
def test_what_was_not_written_here_is_not_written_over(place: Workplace, file: Path, content: bytes) -> None:
    file.write_bytes(content)

    with pytest.raises(NotOurCalendar, match="is no calendar that was written here"):
        write(place, file)
    assert file.read_bytes() == content
    assert list(file.parent.glob("*.part")) == []


@pytest.mark.parametrize(
    ("written", "changed"),
    [
        (b"DTSTART;VALUE=DATE:20260316", b"DTSTART:20260316T100000Z"),
        (b"DTSTART;VALUE=DATE:20260316\r\n", b""),
        (b"DTSTAMP:", b"X-STAMP:"),
        (b"SEQUENCE:", b"X-NUMBER:"),
    ],
    ids=["at an hour", "without a day", "without a stamp", "without a number"],
)
def test_a_file_that_another_program_changed_is_not_written_over(
    place: Workplace, file: Path, written: bytes, changed: bytes
) -> None:
    write(place, file)
    content = file.read_bytes().replace(written, changed)
    file.write_bytes(content)

    with pytest.raises(NotOurCalendar, match="was changed by another program"):
        write(place, file)
    assert file.read_bytes() == content


def test_a_full_disk_leaves_the_earlier_file(place: Workplace, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(place, file)
    content = file.read_bytes()

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(OSError, match="No space left"):
            write_calendar(place, replace(due(place), obligations=()), file)
    assert file.read_bytes() == content
    assert list(file.parent.glob("*.part")) == []


def test_a_ledger_or_a_folder_is_not_written_over(place: Workplace, tmp_path: Path) -> None:
    for there in (tmp_path / "wasteledger.db", tmp_path):
        with pytest.raises(NotOurCalendar):
            write(place, there)

    assert (tmp_path / "wasteledger.db").read_bytes().startswith(b"SQLite format 3")


def test_the_calendar_of_another_site_is_not_written_over(place: Workplace, file: Path, tmp_path: Path) -> None:
    (tmp_path / "oak").mkdir()
    other = make_clinic(tmp_path / "oak", site="oak")
    with other.ledger:
        write(a_place(other, CONVENTIONS), file)

    with pytest.raises(NotOurCalendar, match="is the calendar of another site"):
        write(place, file)


# -- one event ---------------------------------------------------------------------------------------------------------


def rings_of(event: Any) -> list[str]:
    """When its alarms ring, on the calendar's own clock."""
    midnight = datetime.combine(event.decoded("dtstart"), datetime.min.time())
    return [f"{midnight + alarm.decoded('trigger'):%Y-%m-%d %H:%M}" for alarm in event.walk("VALARM")]


def test_alarms_ring_when_it_is_due_soon_and_on_the_last_working_day() -> None:
    """31 May 2026 is a Sunday: the last working day is Friday, 29 May, and fourteen days before that 15 May."""
    (event,) = drawn(a_notice())

    assert rings_of(event) == ["2026-05-15 09:00", "2026-05-29 09:00"]


def test_what_comes_round_sooner_has_one_alarm() -> None:
    (event,) = drawn(a_notice(since=date(2026, 5, 24)))

    assert rings_of(event) == ["2026-05-29 09:00"]


def test_no_alarm_rings_before_it_can_be_done() -> None:
    (event,) = drawn(a_notice(opens_on=date(2026, 5, 20)))
    (late,) = drawn(a_notice(opens_on=date(2026, 5, 29)))

    assert rings_of(event) == ["2026-05-20 09:00", "2026-05-29 09:00"]
    assert rings_of(late) == ["2026-05-29 09:00"]


def test_a_forecast_is_said_to_be_an_estimate_and_rings_early() -> None:
    (event,) = drawn(a_notice(is_forecast=True, since=date(2026, 5, 31)))

    assert event["SUMMARY"] == "Pickup, container C-1 (estimate)"
    assert rings_of(event)[0] == "2026-05-15 09:00"


def test_events_stand_in_the_order_of_their_days() -> None:
    days = [date(2026, 5, day) for day in (20, 3, 11)]
    events = drawn(*(a_notice(identity=str(day), due_on=day, advised_on=day) for day in days))

    assert [one.decoded("dtstart") for one in events] == sorted(days)


def test_the_stamp_is_the_time_of_writing_in_utc(clinic: Clinic, place: Workplace, file: Path) -> None:
    clinic.watch.wait(minutes=30, microseconds=5)
    write(place, file)

    stamp = repair_in(file).decoded("dtstamp")
    assert stamp == clinic.watch.now.replace(microsecond=0)
    assert stamp.utcoffset() == timedelta()
    assert stamp.tzinfo is UTC or stamp.tzname() == "UTC"


def test_a_link_is_followed_and_the_file_behind_it_keeps_its_mode(place: Workplace, tmp_path: Path) -> None:
    published, link = tmp_path / "published.ics", tmp_path / "due.ics"
    write_calendar(place, due(place), published)
    published.chmod(0o640)
    link.symlink_to(published)

    write_calendar(place, due(place), link)

    assert link.is_symlink()
    assert published.stat().st_mode & 0o777 == 0o640
