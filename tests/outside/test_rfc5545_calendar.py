"""The calendar file against RFC 5545 (September 2009), RFC 7986 and RFC 9562, read on 2026-11-25; and another reader.

What the RFC says of lines, texts, dates and durations is written out here literally, without the library that makes the
file. The independent reader is vobject, which shares no code with it.
"""

from __future__ import annotations

import hashlib
import re
import uuid
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.makers import Clinic, a_repair, an_inspection
from tests.office.places import CONVENTIONS, FEDERAL, a_place
from wasteledger.exchange.calendar import Sheet, calendar_bytes, write_calendar
from wasteledger.office.due import due
from wasteledger.office.notices import DEFERS, Notice

WRITTEN_AT = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)
FOUNDED = "5" * 64

Line = tuple[str, str, str]
"""Name, parameters, value, as they stand."""


# -- the RFC, literally ------------------------------------------------------------------------------------------------


def unfolded(content: bytes) -> list[str]:
    """RFC 5545 3.1: a line ends in CRLF, has at most 75 octets, and goes on where the next one begins with a blank."""
    assert content.endswith(b"\r\n")
    physical = content.removesuffix(b"\r\n").split(b"\r\n")
    for line in physical:
        assert len(line) <= 75
        assert line
        assert b"\r" not in line
        assert b"\n" not in line
    return content.removesuffix(b"\r\n").replace(b"\r\n ", b"").replace(b"\r\n\t", b"").decode("utf-8").split("\r\n")


def content_line(line: str) -> Line:
    """RFC 5545 3.1, contentline, for values of parameters that hold no colon: ours hold none."""
    found = re.fullmatch(
        r"([A-Za-z0-9-]+)((?:;[A-Za-z0-9-]+=[^;:,\x00-\x1f\x7f\"]*)*):([^\x00-\x08\x0a-\x1f\x7f]*)", line
    )
    assert found, line
    return found[1], found[2], found[3]


def text_of(value: str) -> str:
    r"""RFC 5545 3.3.11: ``\\``, ``\;``, ``\,``, ``\n`` or ``\N``; a bare semicolon or comma cannot stand in a text."""
    assert re.fullmatch(r"(?:\\[\\;,Nn]|[^\\;,\x00-\x08\x0a-\x1f\x7f])*", value), value
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], value)


DURATION = re.compile(r"([+-]?)P(?:(\d+)W|(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?)?)")


def duration_of(value: str) -> timedelta:
    """RFC 5545 3.3.6."""
    found = DURATION.fullmatch(value)
    assert found, value
    weeks, days, hours, minutes, seconds = (int(part or 0) for part in found.groups()[1:])
    whole = timedelta(weeks=weeks, days=days, hours=hours, minutes=minutes, seconds=seconds)
    return -whole if found[1] == "-" else whole


def day_of(value: str) -> date:
    """RFC 5545 3.3.4: four digits, two, two."""
    assert re.fullmatch(r"\d{8}", value)
    return date(int(value[:4]), int(value[4:6]), int(value[6:]))


def test_the_reading_of_durations_gives_what_the_rfc_says() -> None:
    """RFC 5545 3.3.6: 15 days, 5 hours and 20 seconds; 7 weeks. 3.8.6.3: 15 minutes before."""
    assert duration_of("P15DT5H0M20S") == timedelta(days=15, hours=5, seconds=20)
    assert duration_of("P7W") == timedelta(weeks=7)
    assert duration_of("-PT15M") == -timedelta(minutes=15)


def test_the_reading_of_texts_gives_what_the_rfc_says() -> None:
    r"""RFC 5545 3.3.11: the example of a multiple-line DESCRIPTION."""
    value = r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."

    assert text_of(value) == "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."


# -- our file ----------------------------------------------------------------------------------------------------------


def a_notice(**changes: Any) -> Notice:
    said: dict[str, Any] = {
        "identity": "deadline:ship-container::container C-1",
        "title": "Pickup, container C-1",
        "due_on": date(2026, 5, 31),
        "advised_on": date(2026, 5, 29),
        "since": date(2025, 5, 31),
        "opens_on": None,
        "is_forecast": False,
        "state": "later",
        "lines": ("Invented rule, 1 (rule): Ship it.",),
    }
    return Notice(**said | changes)


def a_sheet(name: str = "Élan Dental, Elm Street") -> Sheet:
    return Sheet(name, FOUNDED, 42, WRITTEN_AT, soon_days=14)


def parts(content: bytes) -> list[Line]:
    return [content_line(line) for line in unfolded(content)]


def within(lines: list[Line], component: str) -> list[dict[str, tuple[str, str]]]:
    """The properties of each *component*, those of components inside it left out; each may stand once."""
    found: list[dict[str, tuple[str, str]]] = []
    stack: list[str] = []
    for name, parameters, value in lines:
        if name == "BEGIN":
            stack.append(value)
            if value == component:
                found.append({})
        elif name == "END":
            assert stack.pop() == value
        elif stack[-1] == component:
            assert name not in found[-1], f"{name} stands twice"
            found[-1][name] = parameters, value
    assert not stack
    return found


def test_a_calendar_has_what_it_must_have() -> None:
    """RFC 5545 3.6: PRODID and VERSION once; 3.7.4: the version is 2.0; RFC 7986 5.1: NAME is a text."""
    (calendar,) = within(parts(calendar_bytes([a_notice()], a_sheet())), "VCALENDAR")

    assert calendar["PRODID"] == ("", "-//wasteledger//due days//EN")
    assert calendar["VERSION"] == ("", "2.0")
    assert calendar["CALSCALE"] == ("", "GREGORIAN")
    assert text_of(calendar["NAME"][1]) == "Élan Dental, Elm Street: what is due"
    assert "METHOD" not in calendar


def test_an_event_has_what_it_must_have() -> None:
    """RFC 5545 3.6.1: UID, DTSTAMP, DTSTART once; the end of a day is the day after. 3.8.7.2: the stamp is UTC."""
    (event,) = within(parts(calendar_bytes([a_notice()], a_sheet())), "VEVENT")

    assert event["DTSTAMP"] == ("", "20260302T140000Z")
    assert event["DTSTART"] == (";VALUE=DATE", "20260531")
    assert event["DTEND"] == (";VALUE=DATE", "20260601")
    assert event["SEQUENCE"] == ("", "42")
    assert event["STATUS"] == ("", "CONFIRMED")
    assert event["TRANSP"] == ("", "TRANSPARENT")


def test_an_alarm_has_what_it_must_have() -> None:
    """RFC 5545 3.6.6: one that is shown has ACTION, DESCRIPTION and TRIGGER; 3.8.6.3: counted from midnight."""
    first, last = within(parts(calendar_bytes([a_notice()], a_sheet())), "VALARM")

    for alarm in (first, last):
        assert set(alarm) == {"ACTION", "DESCRIPTION", "TRIGGER"}
        assert alarm["ACTION"] == ("", "DISPLAY")
    assert duration_of(last["TRIGGER"][1]) == timedelta(days=-2, hours=9)
    assert duration_of(first["TRIGGER"][1]) == timedelta(days=-16, hours=9)


def test_a_name_is_a_version_five_uuid_of_the_duty() -> None:
    """RFC 9562 5.5, by hand; its appendix A.4 gives that of www.example.com among domain names."""

    def version_five(space: uuid.UUID, name: str) -> str:
        octets = bytearray(hashlib.sha1(space.bytes + name.encode(), usedforsecurity=False).digest()[:16])
        octets[6] = octets[6] & 0x0F | 0x50
        octets[8] = octets[8] & 0x3F | 0x80
        return str(uuid.UUID(bytes=bytes(octets)))

    # RFC 9562 6.6: the name spaces of domain names and of URLs.
    domains, urls = (uuid.UUID(f"6ba7b81{last}-9dad-11d1-80b4-00c04fd430c8") for last in "01")
    assert version_five(domains, "www.example.com") == "2ed6657d-e927-568b-95e1-2665a8aea6a2"
    (event,) = within(parts(calendar_bytes([a_notice()], a_sheet())), "VEVENT")
    assert event["UID"][1] == version_five(urls, f"wasteledger:due:{FOUNDED}:deadline:ship-container::container C-1")


awkward_text = st.text(max_size=300) | st.text(
    st.sampled_from(";,:\\nN\"^'\r\n\t \u2028é歯🦷\u0301\u200d"), max_size=300
)


@settings(max_examples=150)
@given(awkward_text, awkward_text, awkward_text)
def test_every_text_comes_back_as_it_was(title: str, line: str, name: str) -> None:
    """Folded, escaped and in UTF-8: unfolding and unescaping by the RFC's words gives what went in.

    What a TEXT cannot hold (3.3.11: controls; and halves of surrogate pairs) becomes a blank.
    """
    content = calendar_bytes([a_notice(title=title, lines=(line,))], a_sheet(name))
    (event,) = within(parts(content), "VEVENT")
    (calendar,) = within(parts(content), "VCALENDAR")

    def kept(text: str) -> str:
        text = text.replace("\r\n", "\n")
        return re.sub(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\ud800-\udfff]", " ", text)

    assert text_of(event["SUMMARY"][1]) == kept(title)
    assert text_of(event["DESCRIPTION"][1]) == kept(f"{line}\n{DEFERS}")
    assert text_of(calendar["X-WR-CALNAME"][1]) == kept(f"{name}: what is due")
    assert text_of(calendar["NAME"][1]) == text_of(calendar["X-WR-CALNAME"][1])


def test_a_long_text_is_folded_and_no_letter_is_cut() -> None:
    """RFC 5545 3.1: 75 octets; 6: a letter of several octets may be cut by careless folding. Ours stays whole."""
    content = calendar_bytes([a_notice(title="歯科🦷é" * 60)], a_sheet())

    for line in content.split(b"\r\n"):
        line.decode("utf-8")
    (event,) = within(parts(content), "VEVENT")
    assert text_of(event["SUMMARY"][1]) == "歯科🦷é" * 60


def test_a_calendar_with_nothing_due_has_a_component() -> None:
    """RFC 5545 3.6: “An iCalendar object MUST include the PRODID and VERSION”, and one component at least (3.6.5)."""
    lines = parts(calendar_bytes([], a_sheet()))

    (standard,) = within(lines, "STANDARD")
    assert within(lines, "VEVENT") == []
    assert within(lines, "VTIMEZONE") == [{"TZID": ("", "Etc/UTC")}]
    assert set(standard) == {"DTSTART", "TZOFFSETFROM", "TZOFFSETTO"}


# -- another reader ----------------------------------------------------------------------------------------------------


@pytest.fixture
def read_back(clinic: Clinic, tmp_path: Path) -> Any:
    """What the other reader finds: a malfunction found and one repaired, under the federal rule."""
    place = a_place(clinic, FEDERAL, CONVENTIONS)
    file = tmp_path / "due.ics"
    clinic.record(an_inspection("malfunction"))
    write_calendar(place, due(place), file)
    clinic.record(a_repair())
    clinic.record(an_inspection())
    written = write_calendar(place, due(place), file)
    calendar = vobject.readOne(file.read_bytes().decode("utf-8"))
    calendar.validate(raiseException=True)
    return place, written, calendar


def test_another_reader_finds_every_duty_on_its_day(read_back: Any) -> None:
    place, written, calendar = read_back
    found = {(one.due_on, f"{one.title}, {one.subject}") for one in due(place).obligations}
    standing = [one for one in calendar.vevent_list if one.status.value == "CONFIRMED"]

    assert {(one.dtstart.value, one.summary.value.removesuffix(" (estimate)")) for one in standing} == found
    assert len(standing) == len(found) == written.events > 0


def test_another_reader_finds_what_is_done_struck_out(read_back: Any) -> None:
    """40 CFR 441.30(a)(1)(v): the ten business days ended on 16 March 2026."""
    _, written, calendar = read_back
    struck = [one for one in calendar.vevent_list if one.status.value == "CANCELLED"]

    assert [one.dtstart.value for one in struck] == [date(2026, 3, 16)]
    assert written.cancelled == 1


def test_another_reader_finds_alarms_before_the_day_ends(read_back: Any) -> None:
    *_, calendar = read_back
    for event in calendar.vevent_list:
        if event.status.value == "CONFIRMED":
            assert [alarm for alarm in event.valarm_list if alarm.trigger.value < timedelta(days=1)]
            assert {alarm.action.value for alarm in event.valarm_list} == {"DISPLAY"}
