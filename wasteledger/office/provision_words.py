"""A provision of an ordinance as people read it: what it asks, how its day is counted, where that was read.

Wherever a provision is shown, it is shown through `shown`, so that none is ever shown without its clause, without
whether the clause was read, or without the nearer word that was laid over it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from wasteledger.office.plain import plain
from wasteledger.office.words import short_day
from wasteledger.ordinance import Kind, Ordinance, Override, Provision, Rule
from wasteledger.ordinance.rules import (
    After,
    AfterQuarter,
    ByManual,
    Category,
    CleanerLimit,
    ContainerNeeds,
    Due,
    EachYear,
    EveryYears,
    FillMarks,
    LabelWords,
    OnDay,
    Practice,
    RemovalMinimum,
    ReportContents,
    Scope,
    SharingRule,
    ShipmentPaper,
    Uncounted,
    WasteCode,
    WhileLasting,
)
from wasteledger.ordinance.words import Event, Together, Years

AUTHORITY_DECIDES = "This restates what each named rule asks. The local authority decides."
"""The last sentence of whatever shows a rule."""

_SORTS: dict[type[Provision], str] = {
    Scope: "whom it covers",
    Practice: "practice",
    CleanerLimit: "line cleaners",
    LabelWords: "label",
    ContainerNeeds: "containers",
    SharingRule: "sharing a container",
    ShipmentPaper: "papers of a pickup",
    Category: "generator category",
    Uncounted: "left out of the monthly count",
    ReportContents: "contents of a report",
    RemovalMinimum: "removal",
    WasteCode: "waste code",
    FillMarks: "fill marks",
}

_TOGETHER = {
    Together.YES: "may lie together",
    Together.OWN_LID: "may lie together, each piece closed under a lid of its own",
    Together.ASK: "may lie together only where the carrier or the authority allows it in writing",
    Together.NO: "never lie together",
}

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class ShownProvision:
    """A provision in words.

    Attributes:
        sort: What kind of provision it is; of a rule, whether it sets a deadline or a retention.
        says: What its figures and words come to, a sentence each; `asks` says the same in the file's own words.
        standing_of_source: Whether the clause was read, and where it was not, what is missing.
        in_force_from: First day on which it stands; None where it always did. *in_force_until* is the last one.
        override: By whom, where and why it was changed or set aside; empty where it was not.
        asks_without: What it asks without that change; empty where it is the same.
    """

    id: str
    sort: str
    title: str
    asks: str
    says: tuple[str, ...]
    force: str
    citation: str
    also_cited_as: tuple[str, ...]
    source: str
    read_on: str
    confirmed: bool
    standing_of_source: str
    note: str = ""
    in_force_from: date | None = None
    in_force_until: date | None = None
    set_aside: bool = False
    override: str = ""
    asks_without: str = ""

    def as_json(self) -> dict[str, Any]:
        """The provision as JSON says it."""
        found: dict[str, Any] = plain(self)
        return found


def shown(provision: Provision) -> ShownProvision:
    """A provision in words, with its clause, its source, and the change that was laid over it."""
    applied = provision.override
    original = applied.original.asks if applied else ""
    return ShownProvision(
        id=provision.id,
        sort=provision.kind.value if isinstance(provision, Rule) else _SORTS[type(provision)],
        title=one_line(provision.title),
        asks=one_line(provision.asks),
        says=tuple(says(provision)),
        force=provision.force.words,
        citation=provision.citation,
        also_cited_as=provision.also_cited_as,
        source=one_line(provision.source),
        read_on=provision.read_on,
        confirmed=provision.confirmed,
        standing_of_source=one_line(provision.standing_of_source),
        note=one_line(provision.note),
        in_force_from=provision.in_force_from,
        in_force_until=provision.in_force_until,
        set_aside=provision.is_set_aside,
        override=one_line(str(applied)) if applied else "",
        asks_without=one_line(original) if original != provision.asks else "",
    )


def says(provision: Provision) -> Iterable[str]:
    """What the figures and words of a provision come to, a sentence each."""
    if provision.only_for:
        yield f"Asked of {_and(provision.only_for)} only."
    match provision:
        case Rule():
            yield from _rule(provision)
        case Scope():
            yield from _scope(provision)
        case CleanerLimit():
            yield from _cleaner(provision)
        case LabelWords():
            yield from (f"Carries the words “{line}”." for line in provision.lines)
            if provision.elements:
                yield f"Shows {_and(one.words for one in provision.elements)}."
            yield _on_streams(provision.streams)
        case ContainerNeeds():
            if provision.needs:
                yield f"The container is {_and(one.words for one in provision.needs)}."
            if provision.never_add:
                yield f"Nothing of this goes in: {', '.join(provision.never_add)}."
            yield _on_streams(provision.streams)
        case SharingRule():
            yield f"{_and(map(_plain, provision.streams)).capitalize()} {_TOGETHER[provision.together]}."
        case ShipmentPaper():
            yield from _shipment(provision)
        case Category():
            yield from _category(provision)
        case Uncounted():
            yield f"Not counted in a month's hazardous waste: {_and(map(_plain, provision.streams))}."
        case ReportContents():
            yield f"The report (duty {provision.duty}) says: {'; '.join(one.words for one in provision.fields)}."
        case RemovalMinimum():
            yield from _removal(provision)
        case WasteCode():
            yield f"Papers carry the code {provision.code}."
        case FillMarks():
            plan, close = provision.plan_at_permille / 10, provision.close_at_permille / 10
            yield f"A pickup is planned at {plan:g} %, and the container closed at {close:g} %, of the fill line."
    if provision.in_force_from or provision.in_force_until:
        yield _span(provision)


def says_override(override: Override) -> str:
    """What an override of the file changes elsewhere, in one sentence."""
    parts = ["it is not followed here"] if override.sets_aside else []
    parts += [f"asks instead: {one_line(override.asks).rstrip('.')}"] if override.asks else []
    parts += [due_words(override.due, Kind.DEADLINE, ()).rstrip(".").lower()] if override.due is not None else []
    parts += [f"they {_TOGETHER[override.together]}"] if override.together is not None else []
    doubt = "" if override.confirmed else f" NOT CONFIRMED: {override.confirmed_note}"
    target = f"{override.ordinance}:{override.provision}"
    return one_line(f"{target}: {'; '.join(parts)} ({override.citation}): {override.reason}{doubt}")


def says_header(ordinance: Ordinance) -> tuple[str, ...]:
    """Whose ordinance it is, which version, and under which body of rules it puts the waste."""
    lines = [
        f"Level {ordinance.level}; {ordinance.authority}.",
        f"Version {ordinance.version}, dated {short_day(ordinance.dated_on)}.",
        f"Source: {ordinance.source}.",
    ]
    if ordinance.regime is not None:
        lines.append(f"Waste regime: {ordinance.regime.words}.")
    if ordinance.notes:
        lines.append(ordinance.notes)
    return tuple(one_line(line) for line in lines)


def due_words(due: Due, kind: Kind, events: tuple[Event, ...]) -> str:
    """How the day of a rule follows from its *events*, in a sentence."""
    since = " or ".join(event.words for event in events) or "the event"
    match due:
        case After(interval) if kind is Kind.RETENTION:
            return f"Kept {interval} from {since}."
        case After(interval):
            counted = f"Due {interval} after {since}."
            later = f" A later day, with the holidays {interval.holidays} left out too, is shown beside it."
            return f"{counted}{later}" if interval.holidays else counted
        case ByManual(task):
            return f"Due at the {task} interval of the operating manual, counted from {since}."
        case OnDay(on):
            return f"Due on {short_day(on)}, for {since}."
        case WhileLasting(lasting):
            return f"Kept {lasting.words}."
        case EachYear():
            return _each_year(due)
        case EveryYears(first_on, every):
            return f"Due on {short_day(first_on)}, and every {_count(every, 'year')} from then."
        case AfterQuarter(months):
            return f"Due on the last day of month {months} after the calendar quarter of {since}."


def one_line(text: str) -> str:
    """A text of a file without its line ends."""
    return " ".join(text.split())


def _rule(rule: Rule) -> Iterable[str]:
    yield due_words(rule.due, rule.kind, rule.triggers)
    if rule.only_if_before:
        yield f"Only where that was before {short_day(rule.only_if_before)}."
    if rule.or_when:
        yield f"Or on {rule.or_when.words}, if that comes sooner."
    if rule.recurs:
        yield "It comes back: each time counts from the last."
    if rule.records:
        yield f"Records: {_and(_plain(record) for record in rule.records)}."
    if rule.haul_over_miles is not None:
        yield f"Where the facility lies over {rule.haul_over_miles} miles away."
    if rule.haul_up_to_miles is not None:
        yield f"Where the facility lies up to {rule.haul_up_to_miles} miles away, or no distance is entered."


def _each_year(due: EachYear) -> str:
    years = {Years.ALL: "each year", Years.EVEN: "in even years", Years.ODD: "in odd years"}[due.years]
    day = f"{due.day} {_MONTHS[due.month - 1]}"
    if due.opens is None:
        return f"Due on {day} {years}."
    month, first = due.opens
    before = " of the year before" if due.opens > (due.month, due.day) else ""
    return f"Due on {day} {years}; it can be done from {first} {_MONTHS[month - 1]}{before}."


def _scope(scope: Scope) -> Iterable[str]:
    if scope.exempt_specialties:
        yield f"Leaves out who practises nothing but {_and((_plain(one) for one in scope.exempt_specialties), 'or')}."
    for who, covered in (
        ("Practices without a public sewer", scope.covers_septic),
        ("Mobile units", scope.covers_mobile_units),
    ):
        if covered is None:
            yield f"{who}: what holds for them was not read; they are taken to be in."
        else:
            yield f"{who} are {'in' if covered else 'left out'}."
    if scope.emergency_leaves:
        yield f"Where amalgam is removed in emergencies only, these duties stay: {', '.join(scope.emergency_leaves)}."


def _cleaner(limit: CleanerLimit) -> Iterable[str]:
    low, high = (None if ph is None else f"{ph / 10:.1f}" for ph in (limit.ph_low_tenths, limit.ph_high_tenths))
    if low and high:
        yield f"pH from {low} to {high}, both included."
    elif low or high:
        yield f"pH {f'from {low}' if low else f'up to {high}'}, included."
    if limit.bans_oxidisers:
        yield "No oxidisers."
    if limit.banned_chemistry:
        yield f"Nothing with {_and(limit.banned_chemistry, 'or')}."


def _shipment(paper: ShipmentPaper) -> Iterable[str]:
    if paper.document is not None:
        yield f"Goes with the pickup: {paper.document.words}."
    if paper.weight:
        yield "The weight is recorded."
    if paper.names:
        yield f"The record names: {_and(one.words for one in paper.names)}."


def _category(category: Category) -> Iterable[str]:
    bounds = (
        ("over", category.month_over_kg),
        ("from", category.month_from_kg),
        ("up to", category.month_up_to_kg),
        ("below", category.month_below_kg),
    )
    month = [f"{word} {kg} kg" for word, kg in bounds if kg is not None]
    yield f"{category.name}: {' and '.join(month) or 'any amount'} of hazardous waste in a calendar month."
    if category.stock_below_kg is not None:
        yield f"Below {category.stock_below_kg} kg on site; from there on the clock of the stock runs."
    if category.stock_up_to_kg is not None:
        yield f"Never more than {category.stock_up_to_kg} kg on site."
    if category.acute_over_kg is not None:
        yield f"More than {category.acute_over_kg} kg of acute waste in a month counts as the highest category."


def _removal(minimum: RemovalMinimum) -> Iterable[str]:
    spans = [f"from {short_day(minimum.installed_from)}"] if minimum.installed_from else []
    spans += [f"before {short_day(minimum.installed_before)}"] if minimum.installed_before else []
    units = f", for units installed {' and '.join(spans)}" if spans else ""
    yield f"At least {minimum.at_least_percent} percent of the amalgam is held back{units}."


def _on_streams(streams: tuple[str, ...]) -> str:
    return f"Speaks of: {', '.join(map(_plain, streams))}." if streams else "Speaks of every stream."


def _span(provision: Provision) -> str:
    first, last = provision.in_force_from, provision.in_force_until
    if first and last:
        return f"Stands from {short_day(first)} to {short_day(last)}."
    return f"Stands from {short_day(first)}." if first else f"Stood until {short_day(last)}." if last else ""


def _plain(word: str) -> str:
    return word.replace("_", " ")


def _count(number: int, noun: str) -> str:
    return noun if number == 1 else f"{number} {noun}s"


def _and(parts: Iterable[str], last: str = "and") -> str:
    *others, final = parts
    return f"{', '.join(others)} {last} {final}" if others else final
