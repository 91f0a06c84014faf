"""The history as a table for the office's own analysis: CSV, one row an entry, as it was written.

Columns never change their names or their order; new ones are added at the end. Masses are whole milligrams, volumes
whole millilitres, levels thousandths of the fill line; a cell is empty where the entry says nothing of it. What a
correction did is in its own row: the entry it corrects and how. The column ``body`` has the whole body as JSON;
``removed`` and ``placed`` are counts of amalgam restorations, whatever their surfaces.

A spreadsheet takes a cell that begins with ``=``, ``+``, ``-`` or ``@`` for a formula. Such a text gets an apostrophe
before it, and so does one that begins with an apostrophe itself: taking one away gives the text back.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator
from io import StringIO
from zoneinfo import ZoneInfo

from wasteledger.ledger.rows import entry_values
from wasteledger.model.facts import Entry
from wasteledger.model.procedures import Procedures
from wasteledger.model.values import utc_text

COLUMNS = (
    "site",
    "seq",
    "kind",
    "version",
    "happened_at_utc",
    "happened_at_local",
    "recorded_at_utc",
    "recorded_at_local",
    "recorded_by",
    "door",
    "trap",
    "trap_kind",
    "condition",
    "container",
    "pickup",
    "separator",
    "room",
    "stream",
    "count",
    "gross_mg",
    "tare_mg",
    "mass_mg",
    "received_mg",
    "volume_ml",
    "level_permille",
    "corrects",
    "action",
    "reason",
    "note",
    "key",
    "previous",
    "digest",
    "body",
    "first_on",
    "last_on",
    "removed",
    "placed",
)

# Straight from the body where it has a member of that name.
_OF_THE_BODY = (
    "trap_kind",
    "condition",
    "separator",
    "room",
    "stream",
    "count",
    "volume_ml",
    "level_permille",
    "corrects",
    "action",
    "reason",
    "note",
    "first_on",
    "last_on",
)
_MASSES = {"gross": "gross_mg", "tare": "tare_mg", "mass": "mass_mg"}

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "'")


def csv_lines(entries: Iterable[Entry], zone: ZoneInfo) -> Iterator[str]:
    """The lines of a CSV file (RFC 4180), the head first; local times are those of *zone*, with their offset."""
    yield _line(COLUMNS)
    for entry in entries:
        row = row_of(entry, zone)
        yield _line([row[column] for column in COLUMNS])


def row_of(entry: Entry, zone: ZoneInfo) -> dict[str, str]:
    """The cells of one entry by column, safe for a spreadsheet."""
    values = entry_values(entry)
    body = json.loads(values["body"])
    cells: dict[str, object] = {name: values[name] for name in values if name in COLUMNS}
    cells |= {name: body[name] for name in _OF_THE_BODY if name in body}
    cells |= {column: body[name]["mass_mg"] for name, column in _MASSES.items() if name in body}
    if entry.kind == "line_cleaning":
        cells["room"] = " ".join(body["rooms"])
    if entry.kind == "receipt":
        cells["received_mg"] = body.get("total_mg")
    if isinstance(entry.body, Procedures):
        cells |= {"removed": entry.body.removed.total, "placed": entry.body.placed.total}
    for name, instant in (("happened_at", entry.happened_at), ("recorded_at", entry.recorded_at)):
        cells[f"{name}_utc"] = utc_text(instant)
        cells[f"{name}_local"] = instant.astimezone(zone).isoformat(sep=" ", timespec="seconds")
    return {column: _safe(cells.get(column)) for column in COLUMNS}


def _safe(value: object) -> str:
    text = "" if value is None else str(value)
    return f"'{text}" if text.startswith(_FORMULA) else text


def _line(cells: Iterable[str]) -> str:
    text = StringIO()
    csv.writer(text, lineterminator="\r\n").writerow(cells)
    return text.getvalue()
