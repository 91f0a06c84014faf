"""The history as a table for the office's own analysis: CSV, one row an entry."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from io import StringIO
from zoneinfo import ZoneInfo

from wasteledger.ledger.rows import entry_values
from wasteledger.model.facts import Entry
from wasteledger.model.values import utc_text

COLUMNS = (
    "site",
    "seq",
    "kind",
    "version",
    "happened_at",
    "happened_local",
    "recorded_at",
    "recorded_by",
    "door",
    "trap",
    "container",
    "pickup",
    "key",
    "digest",
    "body",
)

# A spreadsheet takes a cell that begins with one of these for a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_lines(entries: Iterable[Entry], zone: ZoneInfo) -> Iterator[str]:
    """The lines of a CSV file (RFC 4180), the head first; the body's masses are whole milligrams.

    A text that a spreadsheet would take for a formula gets an apostrophe before it.
    """
    yield _line(COLUMNS)
    for entry in entries:
        values = entry_values(entry)
        values["happened_local"] = entry.happened_at.astimezone(zone).isoformat(timespec="seconds")
        values["happened_at"] = utc_text(entry.happened_at)
        values["recorded_at"] = utc_text(entry.recorded_at)
        yield _line([_safe(values[column]) for column in COLUMNS])


def _safe(value: object) -> str:
    text = "" if value is None else str(value)
    return f"'{text}" if text.startswith(_FORMULA) else text


def _line(cells: Iterable[str]) -> str:
    text = StringIO()
    csv.writer(text, lineterminator="\r\n").writerow(cells)
    return text.getvalue()
