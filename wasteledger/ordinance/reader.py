"""From an ordinance file to an `Ordinance`: every key checked, every fault reported with its line.

`templates/ordinances/local-starter.toml` shows every key with a comment; a test holds that it shows them all.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from wasteledger.ordinance.bands import check_categories
from wasteledger.ordinance.days import Holidays
from wasteledger.ordinance.faults import BadOrdinance, Fault
from wasteledger.ordinance.fields import SLUG, FileChecks, Table, open_text
from wasteledger.ordinance.provisions import (
    SLUG_LIKE,
    read_category,
    read_cleaner,
    read_container,
    read_fill_marks,
    read_label,
    read_override,
    read_practice,
    read_removal,
    read_report,
    read_rule,
    read_scope,
    read_sharing,
    read_shipment,
    read_uncounted,
    read_waste_code,
)
from wasteledger.ordinance.rules import Category, Ordinance
from wasteledger.ordinance.words import Level, Regime

SCHEMA = 1
"""Version of the file's form. A file of a later form is refused rather than half understood."""

_PROVISIONS = (
    "rule",
    "practice",
    "cleaner",
    "label",
    "container",
    "sharing",
    "shipment",
    "category",
    "uncounted",
    "report",
    "removal",
    "waste_code",
    "fill_marks",
)

_Read = TypeVar("_Read")


def read_ordinance(path_or_text: Path | str, *, name: str = "ordinance text") -> Ordinance:
    """Read and check an ordinance.

    Args:
        path_or_text: A file (`Path`), or the text itself (`str`).
        name: What messages call a text that came without a file.

    Raises:
        BadOrdinance: The file cannot be read, is no TOML, or has faults; all faults are listed.
    """
    text, file = _text_of(path_or_text, name)
    top = open_text(text, file)
    _check_schema(top)
    head = top.table("ordinance", required=True) or Table({}, ("ordinance",), top.checks)
    scope = top.table("scope")
    tables = {kind: top.tables(kind) for kind in _PROVISIONS}
    ordinance = Ordinance(
        id=head.text("id", form=SLUG, like=SLUG_LIKE),
        title=head.text("title"),
        authority=head.text("authority"),
        level=head.word("level", Level),
        version=head.text("version"),
        dated_on=head.set_day("dated_on"),
        source=head.text("source"),
        notes=head.text("notes", default=""),
        regime=head.word_or_none("regime", Regime),
        scope=_closed(read_scope, scope) if scope else None,
        rules=_all(read_rule, tables["rule"]),
        practices=_all(read_practice, tables["practice"]),
        cleaners=_all(read_cleaner, tables["cleaner"]),
        labels=_all(read_label, tables["label"]),
        containers=_all(read_container, tables["container"]),
        sharings=_all(read_sharing, tables["sharing"]),
        shipments=_all(read_shipment, tables["shipment"]),
        categories=_categories(tables["category"], top.checks),
        uncounted=_all(read_uncounted, tables["uncounted"]),
        reports=_all(read_report, tables["report"]),
        removals=_all(read_removal, tables["removal"]),
        waste_codes=_all(read_waste_code, tables["waste_code"]),
        fill_marks=_all(read_fill_marks, tables["fill_marks"]),
        overrides=_all(read_override, top.tables("override")),
        digest=hashlib.sha256(text.encode()).hexdigest(),
        file=file,
    )
    if top.has("ordinance"):
        head.close()
    top.close()
    every = [*([scope] if scope else []), *(table for kind in _PROVISIONS for table in tables[kind])]
    _check_names(every, ordinance.categories)
    _check_ids(every)
    top.checks.raise_if_any()
    return ordinance


def read_holidays(path_or_text: Path | str, *, name: str = "holiday text") -> Holidays:
    """Read and check a file of holidays.

    Raises:
        BadOrdinance: As for `read_ordinance`.
    """
    text, file = _text_of(path_or_text, name)
    top = open_text(text, file)
    _check_schema(top)
    head = top.table("holidays", required=True) or Table({}, ("holidays",), top.checks)
    years = frozenset(head.wholes("years", low=1900, high=9998))
    tables = top.tables("day")
    days = [(table.set_day("on"), table.text("name")) for table in tables]
    for table, (on, _) in zip(tables, days, strict=True):
        if on.year not in years and table.has("on"):
            table.fault("on", f"{on} lies in no year of holidays.years.", "Add its year, once all its days are there.")
        table.close()
    holidays = Holidays(
        id=head.text("id", form=SLUG, like=SLUG_LIKE),
        title=head.text("title"),
        source=head.text("source"),
        years=years,
        days=tuple(sorted(days)),
    )
    if top.has("holidays"):
        head.close()
    top.close()
    top.checks.raise_if_any()
    return holidays


def _categories(tables: list[Table], checks: FileChecks) -> tuple[Category, ...]:
    before = len(checks.faults)
    categories = _all(read_category, tables)
    # Bounds that could not be read are faults already, and comparing them would only add noise.
    if len(checks.faults) == before:
        check_categories(tables, categories)
    return categories


def _check_names(tables: list[Table], categories: tuple[Category, ...]) -> None:
    names = [category.name for category in categories]
    for table in tables:
        only_for = table.keys.get("only_for")
        for name in only_for if isinstance(only_for, list) else ():
            if name not in names:
                accepted = f"Write {' or '.join(names)}." if names else "Add it as a [[category]] of this file."
                table.fault("only_for", f"This file has no category “{name}”.", accepted)


def _check_schema(top: Table) -> None:
    top.whole("schema", low=SCHEMA, high=SCHEMA)


def _check_ids(provisions: list[Table]) -> None:
    seen: set[str] = set()
    for table in provisions:
        identity = table.keys.get("id")
        if not isinstance(identity, str):
            continue
        # People type ids in either case, so two that differ by case alone could not be told apart.
        if identity.casefold() in seen:
            table.fault("id", f"“{identity}” stands twice in this file.", "Give each provision an id of its own.")
        seen.add(identity.casefold())


def _all(read: Callable[[Table], _Read], tables: list[Table]) -> tuple[_Read, ...]:
    return tuple(_closed(read, table) for table in tables)


def _closed(read: Callable[[Table], _Read], table: Table) -> _Read:
    value = read(table)
    table.close()
    return value


def _text_of(path_or_text: Path | str, name: str) -> tuple[str, str]:
    if isinstance(path_or_text, str):
        return path_or_text.replace("\r\n", "\n"), name
    try:
        # Editors on Windows put a mark before the first sign, which is no part of the text.
        return path_or_text.read_bytes().decode("utf-8-sig").replace("\r\n", "\n"), path_or_text.name
    except OSError as error:
        problem = f"It cannot be opened ({error.strerror})."
    except UnicodeDecodeError as error:
        problem = f"It is not UTF-8 (byte {error.start})."
    raise BadOrdinance((Fault(path_or_text.name, 0, "", problem, "Name a readable file, kept as UTF-8."),))
