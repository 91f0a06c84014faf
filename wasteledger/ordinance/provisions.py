"""The tables of an ordinance file, each read into its value; whatever does not fit becomes a fault at its line."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TypedDict

from wasteledger.ordinance.dues import read_due
from wasteledger.ordinance.fields import PROVISION_ID, READ_ON, SLUG, Table
from wasteledger.ordinance.rules import (
    AfterQuarter,
    Category,
    CleanerLimit,
    ContainerNeeds,
    EachYear,
    EveryYears,
    FillMarks,
    LabelWords,
    OnDay,
    Override,
    Practice,
    RemovalMinimum,
    ReportContents,
    Rule,
    Scope,
    SharingRule,
    ShipmentPaper,
    Uncounted,
    WasteCode,
    WhileLasting,
)
from wasteledger.ordinance.words import (
    OWN_DUTY,
    ContainerNeed,
    Duty,
    Event,
    Force,
    Kind,
    LabelElement,
    Record,
    ReportField,
    ReportKind,
    ShipmentName,
    ShippingPaper,
    ShownBy,
    Specialty,
    Together,
)

ID_LIKE = "letters, digits, dots and dashes, such as “LOCAL-01”"
SLUG_LIKE = "small letters, digits and dashes, such as “river-district”"

# Far more than any practice makes or may keep; a slip of the keyboard is caught, and every law's bound lies within.
_MOST_KG = Decimal(1_000_000)
_MOST_MILES = 12_500  # half the way around the earth

_DUTY_LIKE = f"one of {', '.join(Duty)}, or one of your own beginning with “{OWN_DUTY}”"


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
    in_force_from: date | None
    in_force_until: date | None
    only_for: tuple[str, ...]


def _common(table: Table) -> _Common:
    confirmed, confirmed_note = _confirmation(table)
    first, last = table.day("in_force_from"), table.day("in_force_until")
    if first is not None and last is not None and last < first:
        table.fault("in_force_until", f"{last} lies before {first}.", "Write the last day on which it stands.")
    return _Common(
        id=table.text("id", form=PROVISION_ID, like=ID_LIKE),
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
        in_force_from=first,
        in_force_until=last,
        only_for=table.texts("only_for"),
    )


def _confirmation(table: Table) -> tuple[bool, str]:
    confirmed = table.flag("confirmed")
    if table.keys.get("confirmed") is False and not table.has("confirmed_note"):
        table.fault("confirmed_note", "It is missing.", "Say what is not confirmed, and what was looked at instead.")
    return confirmed, table.text("confirmed_note", default="")


def read_rule(table: Table) -> Rule:
    """A duty with a day."""
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
        haul_over_miles=table.whole_or_none("haul_over_miles", low=0, high=_MOST_MILES),
        haul_up_to_miles=table.whole_or_none("haul_up_to_miles", low=1, high=_MOST_MILES),
    )
    _check_rule(table, rule)
    return rule


def _check_rule(table: Table, rule: Rule) -> None:
    is_kept = rule.kind is Kind.RETENTION
    if not is_kept and rule.records:
        table.fault("records", "Only a retention speaks of records.", 'Leave it out, or write kind = "retention".')
    if is_kept and rule.or_when:
        table.fault("or_when", "Only a deadline can come sooner.", 'Leave it out, or write kind = "deadline".')
    if is_kept and rule.recurs:
        table.fault("recurs", "Every record has a term of its own.", "Leave it out.")
    if not is_kept and Event.DUTY_DONE in rule.triggers and not rule.recurs:
        table.fault("recurs", "A clock that what was last done starts comes back.", "Write recurs = true.")
    if isinstance(rule.due, OnDay | WhileLasting | EachYear | EveryYears | AfterQuarter) and rule.or_when:
        table.fault("or_when", "It does not go with this due day.", "Leave it out, or count an interval.")
    over, up_to = rule.haul_over_miles, rule.haul_up_to_miles
    if over is not None and up_to is not None and up_to <= over:
        table.fault("haul_up_to_miles", "No distance is both.", "Leave one of the two out, or write the lower as over.")


def _duty(table: Table) -> str:
    return _known_duty(table, "duty", table.text("duty", form=SLUG, like=_DUTY_LIKE))


def _known_duty(table: Table, key: str, duty: str) -> str:
    if duty and duty not in tuple(Duty) and not duty.startswith(OWN_DUTY):
        table.fault(key, f"“{duty}” is not known, so no other rule would be held against it.", f"Write {_DUTY_LIKE}.")
    return duty


def read_practice(table: Table) -> Practice:
    """A duty without a day."""
    return Practice(
        **_common(table),
        forbids=table.flag("forbids", default=False),
        shown_by=table.some_words("shown_by", ShownBy),
    )


def read_scope(table: Table) -> Scope:
    """Whom the ordinance speaks to."""
    return Scope(
        **_common(table),
        exempt_specialties=table.some_words("exempt_specialties", Specialty),
        covers_septic=table.flag("covers_septic") if table.has("covers_septic") else None,
        covers_mobile_units=table.flag("covers_mobile_units") if table.has("covers_mobile_units") else None,
        emergency_leaves=tuple(_known_duty(table, "emergency_leaves", one) for one in table.texts("emergency_leaves")),
    )


def read_cleaner(table: Table) -> CleanerLimit:
    """What a line cleaner may be."""
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


def read_label(table: Table) -> LabelWords:
    """What a label carries: lines, elements, or both."""
    label = LabelWords(
        **_common(table),
        lines=table.texts("lines"),
        elements=table.some_words("elements", LabelElement),
        streams=table.texts("streams"),
    )
    _want_one_of(table, "lines", "elements")
    return label


def read_container(table: Table) -> ContainerNeeds:
    """What a container must be, what is never put into it, or both."""
    container = ContainerNeeds(
        **_common(table),
        needs=table.some_words("needs", ContainerNeed),
        never_add=table.texts("never_add"),
        streams=table.texts("streams"),
    )
    _want_one_of(table, "needs", "never_add")
    return container


def read_sharing(table: Table) -> SharingRule:
    """Whether two streams may lie together."""
    streams = table.texts("streams", required=True)
    if (streams and len(set(streams)) != 2) or len(streams) > 2:
        table.fault("streams", "It names two streams, and not the same twice.", 'Write such as ["contact", "teeth"].')
    one, other = streams if len(streams) == 2 else ("", "")
    return SharingRule(**_common(table), streams=(one, other), together=table.word("together", Together))


def read_shipment(table: Table) -> ShipmentPaper:
    """What goes with a pickup."""
    shipment = ShipmentPaper(
        **_common(table),
        document=table.word_or_none("document", ShippingPaper),
        weight=table.flag("weight", default=False),
        names=table.some_words("names", ShipmentName),
    )
    _want_one_of(table, "document", "weight", "names")
    return shipment


def read_category(table: Table) -> Category:
    """A class of generators; whether the classes of a file fit together is checked in `bands`."""

    def kilograms(key: str) -> Decimal | None:
        return table.decimal(key, low=Decimal(0), high=_MOST_KG, places=3)

    return Category(
        **_common(table),
        name=table.text("name"),
        rank=table.whole("rank", low=1, high=20),
        month_over_kg=kilograms("month_over_kg"),
        month_from_kg=kilograms("month_from_kg"),
        month_up_to_kg=kilograms("month_up_to_kg"),
        month_below_kg=kilograms("month_below_kg"),
        stock_below_kg=kilograms("stock_below_kg"),
        stock_up_to_kg=kilograms("stock_up_to_kg"),
        acute_over_kg=kilograms("acute_over_kg"),
    )


def read_uncounted(table: Table) -> Uncounted:
    """Streams left out of the month's count; they are named, so that none is left out by an oversight."""
    return Uncounted(**_common(table), streams=table.texts("streams", required=True))


def read_report(table: Table) -> ReportContents:
    """What a report says."""
    return ReportContents(
        **_common(table),
        report=table.word("report", ReportKind),
        duty=_duty(table),
        fields=table.some_words("fields", ReportField, required=True),
    )


def read_removal(table: Table) -> RemovalMinimum:
    """The least removal of a separator."""
    percent = table.decimal("at_least_percent", low=Decimal(0), high=Decimal(100), places=3)
    if percent is None and not table.has("at_least_percent"):
        table.fault("at_least_percent", "It is missing.", "Write a number from 0 to 100.")
    return RemovalMinimum(
        **_common(table),
        at_least_percent=percent or Decimal(0),
        installed_from=table.day("installed_from"),
        installed_before=table.day("installed_before"),
    )


def read_waste_code(table: Table) -> WasteCode:
    """A code under which papers name the waste."""
    return WasteCode(**_common(table), code=table.text("code"))


def read_fill_marks(table: Table) -> FillMarks:
    """Where a pickup is planned and a container closed."""
    plan = table.whole("plan_at_permille", low=1, high=1000)
    close = table.whole("close_at_permille", low=1, high=1000)
    if plan > close:
        table.fault("plan_at_permille", "A pickup is planned after the container is closed.", "Write the lower first.")
    return FillMarks(**_common(table), plan_at_permille=plan, close_at_permille=close)


def read_override(table: Table) -> Override:
    """A word laid over another file's provision."""
    confirmed, confirmed_note = _confirmation(table)
    override = Override(
        ordinance=table.text("ordinance", form=SLUG, like=SLUG_LIKE),
        provision=table.text("provision", form=PROVISION_ID, like=ID_LIKE),
        reason=table.text("reason"),
        citation=table.text("citation"),
        confirmed=confirmed,
        confirmed_note=confirmed_note,
        asks=table.text("asks", default=""),
        due=read_due(table, None) if table.has("due") else None,
        together=table.word_or_none("together", Together),
        sets_aside=table.flag("set_aside", default=False),
        line=table.checks.lines.get(table.path, 0),
    )
    if not override.asks and override.due is None and override.together is None and not override.sets_aside:
        table.fault("", "It changes nothing.", "Write asks, due, together, or set_aside = true.")
    besides = [key for key in ("asks", "due", "together") if table.has(key)]
    if override.sets_aside and besides:
        problem = f"What is set aside asks nothing, and this says {' and '.join(besides)} as well."
        table.fault("set_aside", problem, f"Leave out set_aside, or {' and '.join(besides)}.")
    return override


def _want_one_of(table: Table, *keys: str) -> None:
    if not any(table.has(key) for key in keys):
        table.fault("", "It says nothing.", f"Write {' or '.join(keys)}.")
