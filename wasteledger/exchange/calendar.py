"""What is due as an iCalendar file (RFC 5545), which any calendar takes in, and takes in again without doubling.

Each duty is an all-day event on its last permitted day, under a name (UID) that stays while the duty is the same. An
earlier file of ours is written over: what it holds and is still due stands on its present day, and what is no longer
due stays in it as cancelled, so that a calendar that once took it in strikes it out.
"""

from __future__ import annotations

import os
import shutil
import unicodedata
import uuid
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from icalendar import Alarm, Calendar, Event, Timezone, TimezoneStandard
from icalendar.prop import vText

from wasteledger.errors import WasteLedgerError
from wasteledger.office.due import DueList
from wasteledger.office.notices import DEFERS, Notice, notices_of
from wasteledger.office.workplace import Workplace, site_details

PRODUCT = "-//wasteledger//due days//EN"
KEEP_CANCELLED_DAYS = 366
"""So long a cancelled event stays in the file: this program's own convention."""

_ALARM_AT = timedelta(hours=9)
"""The hour of the day, in the calendar's own time, at which an alarm rings: own convention."""

_LARGEST_FILE = 20_000_000
_CANCELLED = "CANCELLED"
_TEXTS = frozenset({"SUMMARY", "DESCRIPTION", "LOCATION"})


class NotOurCalendar(WasteLedgerError):
    """What is there was not written here for this site, and must not be written over."""

    code = "not-our-calendar"

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(
            f"{path} {why}; it is not written over.", hint="Name another file; one that is not there yet is made."
        )


@dataclass(frozen=True, slots=True)
class Written:
    """How many events a calendar file holds that stand, and how many that are struck out."""

    path: Path
    events: int
    cancelled: int


@dataclass(frozen=True, slots=True)
class Sheet:
    """Whose calendar it is, and of when.

    Attributes:
        name: The practice.
        founded: Digest of the first entry of the site's chain; names of events are derived from it.
        last_seq: Number of the last entry that the days rest on.
        written_at: The instant of writing, in UTC.
        soon_days: So many days before the advised day the first alarm rings.
    """

    name: str
    founded: str
    last_seq: int
    written_at: datetime
    soon_days: int
    own_name: str = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "own_name", _name("calendar", self.founded))

    def event_name(self, notice: Notice) -> str:
        """The event's UID: version 5 of RFC 9562, of the chain's first digest and what the duty is."""
        return _name("due", self.founded, notice.identity)


def write_calendar(place: Workplace, found: DueList, path: Path, *, until: date | None = None) -> Written:
    """Write what is due into the calendar file *path*, over an earlier one of the same site.

    How long records are kept is left out.

    Args:
        place: Whose calendar.
        found: All that is due; were it a part, the rest would be struck out.
        path: The file.
        until: Nothing later than this day is added; what the file has already stays, on its present day.

    Raises:
        NotOurCalendar: There is something else in that file.
    """
    with place.reading() as reader:
        end = reader.chain_end()
        sheet = Sheet(
            name=" ".join(site_details(reader).name.split()),
            founded=reader.get_entry(1).digest,
            last_seq=end.entries if end else 0,
            written_at=place.ledger.clock().astimezone(UTC).replace(microsecond=0),
            soon_days=found.soon_days,
        )
    earlier = _earlier(path, sheet)
    last = date.max if until is None else max(until, found.today)
    notices = (one for one in notices_of(found) if one.due_on <= last or sheet.event_name(one) in earlier)
    content, written = _drawn(notices, sheet, earlier, path)
    # Behind a link lies the file that others read; what it lets whom do stays as it is.
    target = path.resolve()
    beside = target.with_name(f"{target.name}.{os.getpid()}.part")
    try:
        with beside.open("wb") as file:
            if target.exists():
                shutil.copymode(target, beside)
            file.write(content)
            # The earlier file goes only when this one is on the disk: a full one says so here at the latest.
            file.flush()
            os.fsync(file.fileno())
        beside.replace(target)
    finally:
        beside.unlink(missing_ok=True)
    return written


def calendar_bytes(notices: Iterable[Notice], sheet: Sheet) -> bytes:
    """The calendar of *notices* alone, as nobody had it before."""
    return _drawn(notices, sheet, {}, Path())[0]


def _drawn(notices: Iterable[Notice], sheet: Sheet, earlier: dict[str, Event], path: Path) -> tuple[bytes, Written]:
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    # RFC 7986 5.1 and 5.3; the name once more where older calendars look for it.
    calendar.add("uid", sheet.own_name)
    title = _Text(f"{sheet.name}: what is due")
    calendar.add("name", title)
    calendar.add("x-wr-calname", title)
    standing = {sheet.event_name(one): one for one in notices}
    events = [_event(one, name, sheet, earlier.get(name)) for name, one in standing.items()]
    gone = list(_struck_out(earlier, standing.keys(), sheet))
    for event in sorted((*events, *gone), key=lambda event: (event.decoded("dtstart"), str(event["UID"]))):
        calendar.add_component(event)
    if not events and not gone:
        calendar.add_component(_no_time_zone())
    cancelled = sum(map(_is_cancelled, gone))
    return calendar.to_ical(sorted=False), Written(path, len(events) + len(gone) - cancelled, cancelled)


def _event(notice: Notice, name: str, sheet: Sheet, before: Event | None) -> Event:
    event = _dated(name, notice.due_on, sheet)
    estimate = " (estimate)" if notice.is_forecast else ""
    event.add("summary", _Text(f"{notice.title}{estimate}"))
    event.add("description", _Text("\n".join((*notice.lines, DEFERS))))
    event.add("location", _Text(sheet.name))
    event.add("status", "CONFIRMED")
    event.add("sequence", _sequence(event, before, sheet))
    # The day is not taken up by it: RFC 5545 3.8.2.7.
    event.add("transp", "TRANSPARENT")
    for day in _alarm_days(notice, sheet):
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("trigger", day - notice.due_on + _ALARM_AT)
        alarm.add("description", _Text(f"{notice.title}{estimate}"))
        event.add_component(alarm)
    return event


def _alarm_days(notice: Notice, sheet: Sheet) -> Iterator[date]:
    """The days on which an alarm rings: so early as it is due soon and can be done, and on the last working day."""
    early = notice.advised_on - timedelta(days=sheet.soon_days)
    early = max(early, notice.opens_on or early)
    # Not for what comes round within that time: it would ring as soon as the time before was done. A forecast is
    # counted from its own day, and so from nothing that was done.
    if early < notice.advised_on and (notice.since < early or notice.since >= notice.advised_on):
        yield early
    yield notice.advised_on


def _dated(name: str, day: date, sheet: Sheet) -> Event:
    event = Event()
    event.add("uid", name)
    event.add("dtstamp", sheet.written_at)
    event.add("dtstart", day)
    # The end is not part of it: RFC 5545 3.6.1.
    event.add("dtend", day + timedelta(days=1))
    return event


def _sequence(event: Event, before: Event | None, sheet: Sheet) -> int:
    """The number of the last entry; more where the earlier file has as much already, and another day or standing."""
    if before is None:
        return sheet.last_seq
    # It never falls, even where a ledger was restored from a backup: calendars leave what has a lower number.
    sequence: int = before.decoded("sequence")
    is_moved = before.decoded("dtstart") != event.decoded("dtstart") or _is_cancelled(before) != _is_cancelled(event)
    # RFC 5545 3.8.7.4: a day that moved, and what is struck out or not any more, has a number of its own.
    return max(sheet.last_seq, sequence + is_moved)


def _struck_out(earlier: dict[str, Event], standing: Iterable[str], sheet: Sheet) -> Iterator[Event]:
    """What the file held and is due no more: cancelled, until that was long ago."""
    for name in earlier.keys() - set(standing):
        before = earlier[name]
        if not _is_cancelled(before):
            event = _dated(name, before.decoded("dtstart"), sheet)
            event.add("summary", _Text(str(before.get("SUMMARY", ""))))
            event.add("description", "No longer due.")
            event.add("status", _CANCELLED)
            event.add("transp", "TRANSPARENT")
            event.add("sequence", _sequence(event, before, sheet))
            yield event
        elif before.decoded("dtstamp") > sheet.written_at - timedelta(days=KEEP_CANCELLED_DAYS):
            yield _as_it_was(before)


def _earlier(path: Path, sheet: Sheet) -> dict[str, Event]:
    """The events of a file that was written here for the same site, by name; none where there is no file.

    Raises:
        NotOurCalendar: It is something else.
    """
    if not path.exists():
        return {}
    if not path.is_file() or path.stat().st_size > _LARGEST_FILE:
        raise NotOurCalendar(path, "is no calendar that was written here")
    try:
        calendar = Calendar.from_ical(path.read_bytes())
    except (ValueError, KeyError, IndexError, TypeError) as error:
        raise NotOurCalendar(path, "is no calendar that was written here") from error
    if str(calendar.get("PRODID", "")) != PRODUCT:
        raise NotOurCalendar(path, "is no calendar that was written here")
    if str(calendar.get("UID", "")) != sheet.own_name:
        raise NotOurCalendar(path, "is the calendar of another site")
    events = {str(event.get("UID", "")): event for event in calendar.walk("VEVENT") if isinstance(event, Event)}
    if not all(map(_is_as_written, events.values())):
        raise NotOurCalendar(path, "was changed by another program")
    return events


def _is_as_written(event: Event) -> bool:
    """Whether its day, stamp and number can be read, as they are written here."""
    try:
        day, stamp, sequence = (event.decoded(name) for name in ("dtstart", "dtstamp", "sequence"))
    except (ValueError, KeyError, TypeError):
        return False
    return type(day) is date and type(stamp) is datetime and stamp.tzinfo is not None and isinstance(sequence, int)


def _is_cancelled(event: Event) -> bool:
    return str(event.get("STATUS", "")) == _CANCELLED


def _name(*parts: str) -> str:
    return str(uuid.uuid5(uuid.NAMESPACE_URL, f"wasteledger:{':'.join(parts)}"))


class _Text(vText):
    """A TEXT escaped as RFC 5545 3.3.11 has it; the library's own takes a backslash before a capital N for a new line.

    Without what a TEXT, or UTF-8, cannot hold: controls but line feed, and lone surrogates become blanks.
    """

    def __new__(cls, words: str) -> _Text:
        lines = words.replace("\r\n", "\n")
        kept = "".join(" " if unicodedata.category(one) in ("Cc", "Cs") and one != "\n" else one for one in lines)
        return super().__new__(cls, kept)

    def to_ical(self) -> bytes:
        escaped = self.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")
        return escaped.encode("utf-8")


def _as_it_was(event: Event) -> Event:
    """An event of an earlier file, to be written as it stood there."""
    for component in event.walk():
        for name in _TEXTS & set(component):
            component[name] = _Text(str(component[name]))
    return event


def _no_time_zone() -> Timezone:
    """What says nothing: RFC 5545 3.6 wants a component even of a calendar without events."""
    zone, standard = Timezone(), TimezoneStandard()
    zone.add("tzid", "Etc/UTC")
    standard.add("dtstart", datetime(1970, 1, 1))  # noqa: DTZ001  # local time by definition: RFC 5545 3.6.5
    standard.add("tzoffsetfrom", timedelta())
    standard.add("tzoffsetto", timedelta())
    zone.add_component(standard)
    return zone
