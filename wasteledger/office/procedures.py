"""Amalgam restorations removed and placed: typed for a span of days, or taken from a table whole."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo
from typing import Any

from wasteledger.errors import NotUnderstood, WasteLedgerError
from wasteledger.ledger.append import Desk
from wasteledger.ledger.chain import body_text
from wasteledger.ledger.reader import Reader
from wasteledger.model.facts import Fact
from wasteledger.model.findings import Finding
from wasteledger.model.procedures import BySurfaces, Procedures
from wasteledger.office.bodies import make
from wasteledger.office.coverage import day_bounds
from wasteledger.office.describing import describe
from wasteledger.office.due import calendar_of
from wasteledger.office.plain import plain
from wasteledger.office.workplace import EVERYBODY, Recorded, Said, Workplace, answer, write, zone_of

_NOTHING_SAID = Said()
_NONE = BySurfaces()

# A person reads the first faults; a program reads them all from the error.
_SHOWN = 20


class NotOverYet(WasteLedgerError):
    """Restorations of days that are still to come, or of a time before their last day."""

    code = "not-over-yet"

    def __init__(self, last_on: date, limit_on: date) -> None:
        super().__init__(
            f"The last day, {last_on.isoformat()}, comes after {limit_on.isoformat()}, when it is said to be written.",
            hint="Count up to a day that is over, or up to today.",
        )


class CountedTwice(WasteLedgerError):
    """Another entry holds the restorations of some of these days."""

    code = "counted-twice"

    def __init__(self, seq: int, other: Procedures) -> None:
        super().__init__(
            f"Entry {seq} holds the restorations of {_days(other)} already.",
            hint=f"Give other days, or correct entry {seq}.",
        )
        self.seq = seq


class BadTable(NotUnderstood):
    """A table of restorations that cannot be taken; ``findings`` has everything that is wrong, line by line."""

    code = "bad-table"

    def __init__(self, name: str, findings: tuple[Finding, ...]) -> None:
        count = "1 fault" if len(findings) == 1 else f"{len(findings)} faults"
        listed = "\n".join(f"  {one.place}: {one.says}" for one in findings[:_SHOWN])
        more = f"\n  and {len(findings) - _SHOWN} more." if len(findings) > _SHOWN else ""
        super().__init__(f"{name}: {count}; nothing was written.\n{listed}{more}", hint="Mend the lines named here.")
        self.findings = findings


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row of a table: where it stands (``week.csv line 3``), and what it says."""

    place: str
    body: Procedures


@dataclass(frozen=True, slots=True)
class TableRecorded:
    """What taking a table answers: one entry a row, in the table's order, and what is to be known besides."""

    rows: tuple[Recorded, ...]
    says: str
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The answer as JSON says it."""
        return {
            "says": self.says,
            "warnings": list(self.warnings),
            "rows": [{"seq": one.seq, "repeated": one.repeated, "body": plain(one.entry.body)} for one in self.rows],
        }


def record_procedures(
    place: Workplace,
    first_on: date,
    last_on: date,
    said: Said = _NOTHING_SAID,
    *,
    room: str | None = None,
    removed: BySurfaces = _NONE,
    placed: BySurfaces = _NONE,
) -> Recorded:
    """Record the restorations removed and placed from *first_on* to *last_on*, both days included.

    The entry happened at the end of the last day, so that the rooms of that day are asked for.

    Raises:
        NotOverYet: The last day is still to come.
        CountedTwice: Another entry holds some of these days, of the same room or of the whole practice.
        WasteLedgerError: There was no such room then.
    """
    body = make(Procedures, first_on=first_on, last_on=last_on, room=room, removed=removed, placed=placed)
    with place.writing(EVERYBODY) as desk:
        zone = zone_of(desk)
        earlier = desk.find_key(said.key) if said.key else None
        if earlier is not None and isinstance(earlier.body, Procedures) and said.at is None:
            # The end of today was not over yet when it was first written; the same message is still the same.
            said = replace(said, at=earlier.happened_at)
        appended = write(desk, body, replace(said, at=_happened_at(desk, body, said.at, zone)))
        if not appended.repeated:
            check_counted_once(desk, appended.entry.seq)
        warnings = _idle_days(desk, body)
    return answer(appended, describe(body, zone), warnings=warnings)


def record_table(
    place: Workplace,
    name: str,
    rows: Sequence[TableRow],
    faults: Sequence[Finding] = (),
    said: Said = _NOTHING_SAID,
) -> TableRecorded:
    """Record every row of a table, or nothing at all; a row that was recorded before is not recorded again.

    Args:
        place: Where, and by whom.
        name: What messages call the table.
        rows: What could be read.
        faults: What could not be read: told together with whatever else is wrong.
        said: A note for rows that have none. A row's key follows from what it says, its time from its last day.

    Raises:
        BadTable: Something in it cannot be; everything that is wrong is named.
        NotUnderstood: A key or a time was given for all rows at once.
    """
    if said.key is not None or said.at is not None:
        raise NotUnderstood(
            "One key, or one time, cannot stand for every row of a table.",
            hint="Leave --key and --at away; rows taken before are not taken again.",
        )
    with place.writing(EVERYBODY) as desk:
        taking = _Taking(desk, zone_of(desk))
        taken = [taking.take(row, said.note) for row in rows]
        findings = (*faults, *taking.findings)
        if findings:
            raise BadTable(name, tuple(sorted(findings, key=lambda one: _line_number(one.place))))
        written = tuple(one for one in taken if one is not None)
    fresh = [one for one in written if not one.repeated]
    removed, placed = (sum(getattr(_body(one), part).total for one in fresh) for part in ("removed", "placed"))
    before = f", {len(written) - len(fresh)} written before" if len(fresh) < len(written) else ""
    says = f"{len(fresh)} of {len(written)} rows of {name} written{before}: {removed} removed, {placed} placed."
    return TableRecorded(written, says, tuple(taking.warnings))


def procedures_told(reader: Reader) -> tuple[Fact, ...]:
    """Every effective fact of restorations, oldest first."""
    return reader.facts_between(kinds=(Procedures.KIND,))


def counted_twice(facts: Iterable[Fact]) -> tuple[tuple[Fact, Fact], ...]:
    """Pairs of facts that hold the same day of the same room: what recording refuses, but an import may bring."""
    told = sorted(facts, key=lambda fact: (_span(fact).first_on, fact.place))
    found: list[tuple[Fact, Fact]] = []
    for number, one in enumerate(told):
        for other in told[number + 1 :]:
            if _span(other).first_on > _span(one).last_on:
                break
            if _span(one).overlaps(_span(other)):
                found.append((one, other))
    return tuple(found)


def check_counted_once(desk: Desk, seq: int) -> None:
    """Refuse what entry *seq* now says if another entry holds one of its days; other kinds pass.

    Raises:
        CountedTwice: The other entry, named.
    """
    facts = procedures_told(desk)
    own = next((fact for fact in facts if fact.place == seq), None)
    if own is None:
        return
    for fact in facts:
        if fact.place != seq and _span(fact).overlaps(_span(own)):
            raise CountedTwice(fact.seq, _span(fact))


class _Taking:
    """A table while its rows are taken, all in one transaction."""

    def __init__(self, desk: Desk, zone: tzinfo) -> None:
        self.desk, self.zone = desk, zone
        self.findings: list[Finding] = []
        self.warnings: list[str] = []
        self.keys: dict[str, str] = {}
        # By day, since a table of years would take too long to compare span by span.
        self.held: dict[date, list[tuple[str, Procedures]]] = {}
        for fact in procedures_told(desk):
            self._hold(f"entry {fact.seq}", _span(fact))

    def take(self, row: TableRow, note: str | None) -> Recorded | None:
        body = row.body if row.body.note is not None or note is None else make(Procedures, **_with_note(row.body, note))
        key = str(uuid.uuid5(uuid.NAMESPACE_URL, f"wasteledger:procedures:{self.desk.site}:{body_text(body)}"))
        first = self.keys.setdefault(key, row.place)
        earlier = self.desk.find_key(key) if first == row.place else None
        if earlier is not None:
            corrected = self.desk.corrections_of([earlier.seq]).get(earlier.seq)
            if corrected is not None and corrected[1] != "reinstate":
                self.warnings.append(
                    f"{row.place} was written before, as entry {earlier.seq}, and corrected by entry {corrected[0]}."
                )
            return Recorded(earlier, True, describe(earlier.body, self.zone))
        twice = next(
            (where for day in _each_day(body) for where, other in self.held.get(day, ()) if other.overlaps(body)), None
        )
        if twice is not None:
            self._find("counted-twice", row.place, f"Restorations of these days stand in {twice} already.")
        self._hold(row.place, body)
        if first != row.place:
            return None
        try:
            at = _happened_at(self.desk, body, None, self.zone)
            appended = self.desk.append(body, happened_at=at, key=key)
        except WasteLedgerError as error:
            self._find(error.code, row.place, error.in_zone(self.zone))
            return None
        self.warnings.extend(f"{row.place}: {warning}" for warning in _idle_days(self.desk, body))
        return Recorded(appended.entry, False, describe(body, self.zone))

    def _hold(self, where: str, body: Procedures) -> None:
        for day in _each_day(body):
            self.held.setdefault(day, []).append((where, body))

    def _find(self, code: str, place: str, says: str) -> None:
        self.findings.append(Finding(code, place, says))


def _with_note(body: Procedures, note: str) -> dict[str, Any]:
    return body.model_dump() | {"note": note}


def _happened_at(desk: Desk, body: Procedures, at: datetime | None, zone: tzinfo) -> datetime | None:
    """The end of the last day, or None (now) while that day lasts; what was said is only checked."""
    limit_on = (at or desk.now).astimezone(zone).date()
    if body.last_on > limit_on:
        raise NotOverYet(body.last_on, limit_on)
    if at is not None or body.last_on == limit_on:
        return at
    return day_bounds(body.last_on, zone)[1] - timedelta(microseconds=1)


def _idle_days(reader: Reader, body: Procedures) -> tuple[str, ...]:
    """A word where somebody worked on days on which the practice does not: a year or a month typed wrong."""
    if not body.removed.total and not body.placed.total:
        return ()
    calendar = calendar_of(reader)
    if any(calendar.works_on(day) for day in _each_day(body)):
        return ()
    return (f"The practice works on no day of {_days(body)}. If the days are wrong, correct the entry.",)


def _each_day(body: Procedures) -> Iterator[date]:
    return (body.first_on + timedelta(days=number) for number in range((body.last_on - body.first_on).days + 1))


def _days(body: Procedures) -> str:
    room = f" in room {body.room}" if body.room else ""
    if body.first_on == body.last_on:
        return f"{body.first_on.isoformat()}{room}"
    return f"{body.first_on.isoformat()} to {body.last_on.isoformat()}{room}"


def _span(fact: Fact) -> Procedures:
    if not isinstance(fact.body, Procedures):
        raise ValueError(f"entry {fact.seq} tells of no restorations")
    return fact.body


def _body(recorded: Recorded) -> Procedures:
    if not isinstance(recorded.entry.body, Procedures):
        raise ValueError(f"entry {recorded.seq} tells of no restorations")
    return recorded.entry.body


def _line_number(place: str) -> int:
    """The line in ``week.csv line 3, column to``; 0 where the place names none."""
    word = place.rpartition(" line ")[2].partition(",")[0]
    return int(word) if word.isdecimal() else 0
