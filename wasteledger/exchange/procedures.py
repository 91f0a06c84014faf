"""A table of restorations as a spreadsheet saves it: CSV, one row a day or a span of days.

The first line names the columns, in any order: ``from`` (the first day), ``to`` (the last; where it is blank, the row
is of one day), ``room`` (blank for the whole practice), ``removed_1``, ``removed_2``, ``removed_3``, ``removed_4``
(four surfaces or more), ``removed_unknown`` (surfaces not noted), the same five with ``placed_``, and ``note``. A row
needs one count at least: 0 where nothing was done. Columns are parted by commas, semicolons or tabs; days have the year
first (ISO 8601), counts are whole; the text is UTF-8, with or without a byte order mark.
"""

from __future__ import annotations

import csv
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from io import StringIO
from pathlib import Path

from wasteledger.errors import NotUnderstood, StoreNotReachable, WasteLedgerError
from wasteledger.model.findings import Finding
from wasteledger.model.procedures import BySurfaces, Procedures
from wasteledger.office.bodies import make
from wasteledger.office.days import BeyondReckoning, checked_day
from wasteledger.office.procedures import TableRecorded, TableRow, record_table
from wasteledger.office.workplace import Said, Workplace

SURFACES = {"1": "one", "2": "two", "3": "three", "4": "four_or_more", "unknown": "unknown"}
COUNTS = {f"{done}_{name}": (done, field) for done in ("removed", "placed") for name, field in SURFACES.items()}
COLUMNS = ("from", "to", "room", *COUNTS, "note")

_NOTHING_SAID = Said()
_SHORT_NAME = re.compile(r"[A-Za-z0-9._-]{1,40}")
# More than ten years of days in one table is some other file.
_MOST_ROWS = 10_000
_MOST_BYTES = 10**7
_SHOWN_SIGNS = 60


@dataclass(frozen=True, slots=True)
class Table:
    """A table as it was read: the rows that make sense, and a finding for whatever does not."""

    rows: tuple[TableRow, ...]
    faults: tuple[Finding, ...]


def take_table(place: Workplace, file: Path, said: Said = _NOTHING_SAID) -> TableRecorded:
    """Record every row of the CSV file *file*, or nothing at all.

    Raises:
        StoreNotReachable: The file cannot be read, or is a folder, a FIFO or a device.
        NotUnderstood: It is larger than ten megabytes.
        BadTable: Something in it cannot be; every fault is named with its line and column.
    """
    content = _content(file)
    table = read_table(content, file.name)
    return record_table(place, file.name, table.rows, table.faults, said)


def _content(file: Path) -> bytes:
    try:
        # Asked before it is opened: opening a FIFO waits for whoever writes into it.
        if not stat.S_ISREG(file.stat().st_mode):
            raise StoreNotReachable(f"{file} is no file of rows.", hint="Name a CSV file.")
        with file.open("rb") as opened:
            content = opened.read(_MOST_BYTES + 1)
    except OSError as error:
        raise StoreNotReachable(f"{file} cannot be read: {error.strerror}.", hint="Check the name.") from error
    if len(content) > _MOST_BYTES:
        raise NotUnderstood(
            f"{file} is larger than {_MOST_BYTES // 10**6} MB.", hint=f"Split it: at most {_MOST_ROWS} rows at a time."
        )
    return content


def read_table(content: bytes, name: str) -> Table:
    """Read a table; *name* is what findings call it. Nothing is raised: every fault is a finding with its place."""
    reading = _Reading(name)
    reading.read(content)
    return Table(tuple(reading.rows), tuple(reading.faults))


def shown(cell: str) -> str:
    """What stood in a cell, short, and with every sign that a screen would obey written out."""
    short = cell if len(cell) <= _SHOWN_SIGNS else f"{cell[:_SHOWN_SIGNS]}…"
    return "".join(sign if sign.isprintable() else sign.encode("unicode_escape").decode() for sign in short)


class _Reading:
    """What is known of a table while its lines go by."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.rows: list[TableRow] = []
        self.faults: list[Finding] = []

    def read(self, content: bytes) -> None:
        try:
            text = content.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            line = content.count(b"\n", 0, error.start) + 1
            self._fault(line, "It is no UTF-8 text. Save it as CSV with UTF-8.")
            return
        lines = self._lines(text)
        number, head = next(lines, (1, []))
        columns = [cell.strip().lower() for cell in head]
        while columns and not columns[-1]:
            # What a spreadsheet pads the head with; rows below are padded like it.
            columns.pop()
        if not self._head_fits(number, columns):
            return
        before = len(self.faults)
        for number, cells in lines:
            self._row(number, columns, cells)
        if not self.rows and len(self.faults) == before:
            self._fault(number, "There is no row below the names of the columns.")

    def _lines(self, text: str) -> Iterator[tuple[int, list[str]]]:
        """Each line that is not blank, with the number at which it begins (a quoted cell may hold line breaks)."""
        first = text.partition("\n")[0]
        parted_by = max(",;\t", key=first.count)
        reader = csv.reader(StringIO(text, newline=""), delimiter=parted_by, strict=True)
        begins = 1
        try:
            for cells in reader:
                if any(cell.strip() for cell in cells):
                    yield begins, cells
                begins = reader.line_num + 1
        except csv.Error as error:
            self._fault(begins, f"It cannot be read as CSV: {error}.")

    def _head_fits(self, number: int, columns: list[str]) -> bool:
        before = len(self.faults)
        for name in dict.fromkeys(columns):
            if name not in COLUMNS:
                self._fault(
                    number, f"It is not known here. Known are {', '.join(COLUMNS)}.", shown(name) or "without a name"
                )
            elif columns.count(name) > 1:
                self._fault(number, "It is there twice.", shown(name))
        if "from" not in columns:
            self._fault(number, "It is missing: the first day of each row.", "from")
        if not COUNTS.keys() & set(columns):
            self._fault(number, "There is no column of counts, such as removed_1 or removed_unknown.")
        return len(self.faults) == before

    def _row(self, number: int, columns: list[str], cells: list[str]) -> None:
        if len(self.rows) >= _MOST_ROWS:
            if len(self.rows) == _MOST_ROWS and not any(one.code == "too-long" for one in self.faults):
                self.faults.append(Finding("too-long", self._place(number), f"There are more than {_MOST_ROWS} rows."))
            return
        # What a spreadsheet pads a short row with, or a long one.
        if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns) :]):
            self._fault(number, f"It has {len(cells)} cells; there are {len(columns)} columns.")
            return
        said = {name: cell.strip() for name, cell in zip(columns, cells, strict=False) if cell.strip()}
        before = len(self.faults)
        first_on = self._day(number, "from", said.get("from"))
        last_on = self._day(number, "to", said["to"]) if "to" in said else first_on
        counted: dict[str, dict[str, int]] = {"removed": {}, "placed": {}}
        for name, (done, field) in COUNTS.items():
            if name in said:
                counted[done][field] = self._count(number, name, said[name])
        if "room" in said and not _SHORT_NAME.fullmatch(said["room"]):
            self._fault(number, f"“{shown(said['room'])}” is not the short name of a room.", "room")
        if not any(counted.values()):
            self._fault(number, "It has no count. Write 0 where nothing was done.")
        if len(self.faults) > before or first_on is None or last_on is None:
            return
        try:
            body = make(
                Procedures,
                first_on=first_on,
                last_on=last_on,
                room=said.get("room"),
                removed=make(BySurfaces, **counted["removed"]),
                placed=make(BySurfaces, **counted["placed"]),
                source="csv",
                note=said.get("note"),
            )
        except WasteLedgerError as error:
            self._fault(number, str(error))
            return
        self.rows.append(TableRow(self._place(number), body))

    def _day(self, number: int, column: str, text: str | None) -> date | None:
        if text is None:
            self._fault(number, "It is blank; every row wants its first day.", column)
            return None
        try:
            return checked_day(date.fromisoformat(text))
        except ValueError:
            said = f"“{shown(text)}” is not a day. Write the year first, such as 2026-03-01."
        except BeyondReckoning as error:
            said = f"{error} {error.hint}"
        self._fault(number, said, column)
        return None

    def _count(self, number: int, column: str, text: str) -> int:
        # Nobody counts further, and the journal takes no more.
        if text.isascii() and text.isdecimal() and len(text) <= 5:
            return int(text)
        self._fault(number, f"“{shown(text)}” is not a count. Write a whole number.", column)
        return 0

    def _place(self, number: int, column: str = "") -> str:
        return f"{self.name} line {number}{f', column {column}' if column else ''}"

    def _fault(self, number: int, says: str, column: str = "") -> None:
        self.faults.append(Finding("table-fault", self._place(number, column), says))
