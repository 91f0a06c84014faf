"""From an ordinance file to an `Ordinance`: every key checked, every fault reported with its line.

`templates/ordinances/local-starter.toml` shows every key with a comment; a test holds that it shows them all.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import TypedDict, TypeVar

from wasteledger.ordinance.days import Holidays
from wasteledger.ordinance.dues import read_due
from wasteledger.ordinance.faults import BadOrdinance, Fault
from wasteledger.ordinance.fields import PROVISION_ID, READ_ON, SLUG, Table, open_text
from wasteledger.ordinance.rules import (
    CleanerLimit,
    FillMarks,
    LabelWords,
    OnDay,
    Ordinance,
    Override,
    Practice,
    RemovalMinimum,
    Rule,
    Scope,
    WasteCode,
    WhileLasting,
)
from wasteledger.ordinance.words import OWN_DUTY, Duty, Event, Force, Kind, Level, Record, Specialty

SCHEMA = 1
"""Version of the file's form. A file of a later form is refused rather than half understood."""

_PROVISIONS = ("rule", "practice", "cleaner", "label", "removal", "waste_code", "fill_marks")
_ID_LIKE = "letters, digits, dots and dashes, such as “LOCAL-01”"
_SLUG_LIKE = "small letters, digits and dashes, such as “river-district”"

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
        id=head.text("id", form=SLUG, like=_SLUG_LIKE),
        title=head.text("title"),
        authority=head.text("authority"),
        level=head.word("level", Level),
        version=head.text("version"),
        dated_on=head.set_day("dated_on"),
        source=head.text("source"),
        notes=head.text("notes", default=""),
        scope=_closed(_scope, scope) if scope else None,
        rules=_all(_rule, tables["rule"]),
        practices=_all(lambda table: Practice(**_common(table)), tables["practice"]),
        cleaners=_all(_cleaner, tables["cleaner"]),
        labels=_all(_label, tables["label"]),
        removals=_all(_removal, tables["removal"]),
        waste_codes=_all(lambda table: WasteCode(**_common(table), code=table.text("code")), tables["waste_code"]),
        fill_marks=_all(_fill_marks, tables["fill_marks"]),
        overrides=_all(_override, top.tables("override")),
        digest=hashlib.sha256(text.encode()).hexdigest(),
        file=file,
    )
    if top.has("ordinance"):
        head.close()
    top.close()
    _check_ids([*([scope] if scope else []), *(table for kind in _PROVISIONS for table in tables[kind])])
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
        id=head.text("id", form=SLUG, like=_SLUG_LIKE),
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


class _Common(TypedDict):
    id: str
    title: str
    asks: str
    citation: str
    source: str
    read_on: str
    confirmed: bool
    confirmed_note: str
    also_cited_as: tuple[str, ...]
    force: Force
    note: str


def _common(table: Table) -> _Common:
    confirmed, confirmed_note = _confirmation(table)
    return _Common(
        id=table.text("id", form=PROVISION_ID, like=_ID_LIKE),
        title=table.text("title"),
        asks=table.text("asks"),
        citation=table.text("citation"),
        source=table.text("source"),
        read_on=table.text("read_on", form=READ_ON, like="a month or day in quotes, such as “2026-11”"),
        confirmed=confirmed,
        confirmed_note=confirmed_note,
        also_cited_as=table.texts("also_cited_as"),
        force=table.word("force", Force, default=Force.LAW),
        note=table.text("note", default=""),
    )


def _confirmation(table: Table) -> tuple[bool, str]:
    confirmed = table.flag("confirmed")
    if table.keys.get("confirmed") is False and not table.has("confirmed_note"):
        table.fault("confirmed_note", "It is missing.", "Say what is not confirmed, and what was looked at instead.")
    return confirmed, table.text("confirmed_note", default="")


def _rule(table: Table) -> Rule:
    kind = table.word("kind", Kind)
    rule = Rule(
        **_common(table),
        duty=_duty(table),
        kind=kind,
        triggers=table.some_words("trigger", Event, required=True),
        due=read_due(table, kind),
        recurs=table.flag("recurs", default=False),
        only_if_before=table.day("only_if_before"),
        or_when=table.word_or_none("or_when", Event),
        records=table.some_words("records", Record, required=kind is Kind.RETENTION),
    )
    if kind is Kind.DEADLINE and rule.records:
        table.fault("records", "Only a retention speaks of records.", 'Leave it out, or write kind = "retention".')
    if kind is Kind.RETENTION and rule.or_when:
        table.fault("or_when", "Only a deadline can come sooner.", 'Leave it out, or write kind = "deadline".')
    if kind is Kind.RETENTION and rule.recurs:
        table.fault("recurs", "Every record has a term of its own.", "Leave it out.")
    if isinstance(rule.due, OnDay | WhileLasting) and rule.or_when:
        table.fault("or_when", "It does not go with this due day.", "Leave it out, or count an interval.")
    return rule


def _duty(table: Table) -> str:
    known = [duty.value for duty in Duty]
    like = f"one of {', '.join(known)}, or one of your own beginning with “{OWN_DUTY}”"
    duty = table.text("duty", form=SLUG, like=like)
    if duty and duty not in known and not duty.startswith(OWN_DUTY):
        table.fault("duty", f"“{duty}” is not known, so no other rule would be held against it.", f"Write {like}.")
    return duty


def _scope(table: Table) -> Scope:
    return Scope(
        **_common(table),
        exempt_specialties=table.some_words("exempt_specialties", Specialty),
        covers_septic=table.flag("covers_septic"),
        covers_mobile_units=table.flag("covers_mobile_units"),
    )


def _cleaner(table: Table) -> CleanerLimit:
    low = _ph_tenths(table, "ph_low")
    high = _ph_tenths(table, "ph_high")
    if low is not None and high is not None and low > high:
        table.fault("ph_high", "The band ends below its beginning.", "Write ph_low below ph_high; both belong to it.")
    return CleanerLimit(
        **_common(table),
        ph_low_tenths=low,
        ph_high_tenths=high,
        bans_oxidisers=table.flag("bans_oxidisers", default=False),
        banned_chemistry=tuple(word.casefold() for word in table.texts("banned_chemistry")),
    )


def _ph_tenths(table: Table, key: str) -> int | None:
    ph = table.decimal(key, low=Decimal(0), high=Decimal(14), places=1)
    return None if ph is None else int(ph * 10)


def _label(table: Table) -> LabelWords:
    return LabelWords(**_common(table), lines=table.texts("lines", required=True), streams=table.texts("streams"))


def _removal(table: Table) -> RemovalMinimum:
    percent = table.decimal("at_least_percent", low=Decimal(0), high=Decimal(100), places=3)
    if percent is None and not table.has("at_least_percent"):
        table.fault("at_least_percent", "It is missing.", "Write a number from 0 to 100.")
    return RemovalMinimum(
        **_common(table),
        at_least_percent=percent or Decimal(0),
        installed_from=table.day("installed_from"),
        installed_before=table.day("installed_before"),
    )


def _fill_marks(table: Table) -> FillMarks:
    plan = table.whole("plan_at_permille", low=1, high=1000)
    close = table.whole("close_at_permille", low=1, high=1000)
    if plan > close:
        table.fault("plan_at_permille", "A pickup is planned after the container is closed.", "Write the lower first.")
    return FillMarks(**_common(table), plan_at_permille=plan, close_at_permille=close)


def _override(table: Table) -> Override:
    confirmed, confirmed_note = _confirmation(table)
    override = Override(
        ordinance=table.text("ordinance", form=SLUG, like=_SLUG_LIKE),
        provision=table.text("provision", form=PROVISION_ID, like=_ID_LIKE),
        reason=table.text("reason"),
        citation=table.text("citation"),
        confirmed=confirmed,
        confirmed_note=confirmed_note,
        asks=table.text("asks", default=""),
        due=read_due(table, None) if table.has("due") else None,
        sets_aside=table.flag("set_aside", default=False),
        line=table.checks.lines.get(table.path, 0),
    )
    if not override.asks and override.due is None and not override.sets_aside:
        table.fault("", "It changes nothing.", "Write asks, due, or set_aside = true.")
    return override


def _check_schema(top: Table) -> None:
    top.whole("schema", low=SCHEMA, high=SCHEMA)


def _check_ids(provisions: list[Table]) -> None:
    seen: set[str] = set()
    for table in provisions:
        identity = table.keys.get("id")
        if not isinstance(identity, str):
            continue
        if identity in seen:
            table.fault("id", f"“{identity}” stands twice in this file.", "Give each provision an id of its own.")
        seen.add(identity)


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
