"""The generator category by the month, what lies on site against its limits, and what either leaves open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from wasteledger.errors import NotUnderstood
from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model.findings import Finding, Weight
from wasteledger.office.other_waste import Month, MonthToCome, other_waste_told, waste_counted_twice, waste_of
from wasteledger.office.plain import plain
from wasteledger.office.rules import registered_ordinances
from wasteledger.office.waste_allowance import ALLOWANCE_WORDS
from wasteledger.office.waste_counting import Counting
from wasteledger.office.waste_months import MonthCategory, MonthCount, amount_words, cited
from wasteledger.office.waste_now import CategoryNow, standings_of
from wasteledger.office.waste_stock import OnHand, OnSite, findings_on_site, on_site
from wasteledger.office.workplace import Workplace, zone_of
from wasteledger.ordinance.categories import Counted, in_kg, month_words
from wasteledger.ordinance.faults import BadOrdinance
from wasteledger.ordinance.figures import categories
from wasteledger.ordinance.merge import in_force
from wasteledger.ordinance.rules import Category, Ordinance
from wasteledger.units import Mass

__all__ = [
    "ALLOWANCE_WORDS",
    "MONTHS_SHOWN",
    "CategoryNow",
    "GeneratorCount",
    "Month",
    "MonthCategory",
    "MonthCount",
    "MonthsReversed",
    "OnHand",
    "OnSite",
    "amount_words",
    "categories_now",
    "count_months",
    "standings_now",
    "stock_findings",
    "untold_findings",
    "untold_months",
]

MONTHS_SHOWN = 12
"""So many months are counted where nobody says which: this program's own convention."""


class MonthsReversed(NotUnderstood):
    """The last month lies before the first."""

    code = "months-reversed"


@dataclass(frozen=True, slots=True)
class RuleLimits:
    """The categories of one ordinance in words, for whoever reads the count."""

    ordinance: str
    ordinance_title: str
    categories: tuple[Category, ...]

    @property
    def says(self) -> tuple[str, ...]:
        """Each category: its bounds, the limits of what lies on site, where it says so."""
        found = []
        for one in self.categories:
            limits = [f"{month_words(one)} a month"]
            # Over the limit acute waste counts as the highest category, which so has none itself.
            if one.acute_over_kg is not None and one is not self.categories[-1]:
                limits.append(f"acute up to {in_kg(one.acute_over_kg)}")
            limits += [f"a clock from {in_kg(one.stock_below_kg)} on site"] if one.stock_below_kg is not None else []
            limits += [f"never over {in_kg(one.stock_up_to_kg)} on site"] if one.stock_up_to_kg is not None else []
            found.append(f"{one.name}: {'; '.join(limits)} ({cited(one)})")
        return tuple(found)


@dataclass(frozen=True, slots=True)
class GeneratorCount:
    """Waste by the month, the oldest month first; what lies on site now; the rules; what is to be known of it.

    *now* is the category by which the duties of each ordinance go, by its id, whatever months are shown.
    """

    today: date
    months: tuple[MonthCount, ...]
    on_site: OnSite
    rules: tuple[RuleLimits, ...]
    findings: tuple[Finding, ...]
    now: Mapping[str, CategoryNow] = field(default_factory=dict)

    @property
    def allows_for_unknown(self) -> bool:
        """Whether an upper end that something is judged by takes an allowance for pieces of unknown mass."""
        return bool(self.on_site.counted.allowed_mg) or any(
            one.counted.allowed_mg for month in self.months for one in month.categories
        )

    @property
    def wants_attention(self) -> bool:
        """Whether a finding asks for more than to be read."""
        return any(one.weight is not Weight.NOTE for one in self.findings)

    def as_json(self) -> dict[str, Any]:
        """The count as JSON says it; masses in mg, limits in kg."""
        return {
            "today": self.today.isoformat(),
            "wants_attention": self.wants_attention,
            "months": [one.as_json() for one in self.months],
            "on_site": self.on_site.as_json(),
            "rules": [plain(one) | {"says": list(one.says)} for one in self.rules],
            "now": [{"ordinance": name} | plain(one) | {"says": one.says} for name, one in self.now.items()],
            "findings": plain(self.findings),
        }


def count_months(place: Workplace, *, since: Month | None = None, until: Month | None = None) -> GeneratorCount:
    """Hazardous waste from month *since* to month *until*, both included, and the category of each.

    Without *until* the last month is the one that runs; without *since* it is a year's months, or as many as the
    journal has.

    Raises:
        MonthToCome: The last month has not begun.
        MonthsReversed: It lies before the first.
        BadOrdinance: An ordinance in force cannot be read.
    """
    today = place.today()
    last = until or Month.of(today)
    if last.first_on > today:
        raise MonthToCome(last, today)
    with place.reading() as reader:
        begun_on = _first_day(reader, today)
        first = since or max(last.plus(1 - MONTHS_SHOWN), min(last, Month.of(begun_on)))
        if last < first:
            raise MonthsReversed(f"{last.words} comes before {first.words}.", hint="Give the earlier month first.")
        rules = _fitting(registered_ordinances(reader))
        counting = Counting(reader, today, rules)
        months = counting.months(first, last)
        untold = [one.month for one in months if one.is_amalgam_only and not one.is_so_far and one.categories]
        found = (
            *_month_findings(months, counting),
            *_untold_findings(untold, Weight.WARNING),
            *findings_on_site(counting),
        )
        limits = tuple(
            RuleLimits(one.id, one.title, ranks) for one, ranks in counting.ranks_on(min(last.last_on, today))
        )
        return GeneratorCount(today, months, on_site(counting), limits, found, standings_of(counting, begun_on))


def standings_now(reader: Reader, today: date, rules: Sequence[Ordinance] | None = None) -> Mapping[str, CategoryNow]:
    """The category that each ordinance with categories gives the practice now, since when, and whether that is settled.

    It is the highest of the month that runs and of the last that is over, each at the upper end of its interval, and
    with streams that only a rule not read at its source leaves out: a duty of a higher category is shown rather than
    missed. *rules* spares reading the ordinances in force.
    """
    fitting = _fitting(registered_ordinances(reader) if rules is None else rules)
    if not any(ordinance.categories for ordinance in fitting):
        return {}
    return standings_of(Counting(reader, today, fitting), _first_day(reader, today))


def categories_now(reader: Reader, today: date, rules: Sequence[Ordinance] | None = None) -> Mapping[str, str]:
    """The names of `standings_now` alone, by the ordinance's id."""
    return {ordinance: one.name for ordinance, one in standings_now(reader, today, rules).items()}


def stock_findings(reader: Reader, today: date, rules: Sequence[Ordinance] | None = None) -> tuple[Finding, ...]:
    """What lies on site against the limits of the categories that the practice may have now.

    An amount that may be over its limit, at the upper end of its interval, is told as such. *rules* spares reading
    the ordinances in force.
    """
    fitting = _fitting(registered_ordinances(reader) if rules is None else rules)
    if not any(ordinance.categories for ordinance in fitting):
        return ()
    return tuple(findings_on_site(Counting(reader, today, fitting)))


def untold_months(reader: Reader, today: date, rules: Sequence[Ordinance] | None = None) -> tuple[Month, ...]:
    """The months over, of those that the count shows, without a word on other waste, where categories are in force.

    *rules* spares reading the ordinances in force.
    """
    named = categories(_fitting(registered_ordinances(reader) if rules is None else rules))
    running = Month.of(today)
    first = max(running.plus(1 - MONTHS_SHOWN), Month.of(_first_day(reader, today)))
    if not named or first >= running:
        return ()
    told = {waste_of(fact).month for fact in other_waste_told(reader)}
    over = (first.plus(number) for number in range(first.months_to(running)))
    return tuple(
        month
        for month in over
        if str(month) not in told and any(said.provision.stands_on(month.last_on) for said in named)
    )


def untold_findings(reader: Reader, today: date, rules: Sequence[Ordinance] | None = None) -> tuple[Finding, ...]:
    """One note that names the months of `untold_months`; none where there are none."""
    return tuple(_untold_findings(untold_months(reader, today, rules), Weight.NOTE))


def untold_words(months: Sequence[Month]) -> tuple[str, str]:
    """That nothing was typed in for *months*, and what to do."""
    several = len(months) > 1
    says = (
        f"No other waste was typed in for {spans_words(months)}, not even that there was none: the category of "
        f"{'these months' if several else 'that month'} is not known."
    )
    do = (
        f"Type in what there was, or that there was none{', month by month' if several else ''}: wasteledger "
        f"other-waste --month {months[0]} --what NAME --mass 0g."
    )
    return says, do


def spans_words(months: Sequence[Month]) -> str:
    """Months in words, those that follow each other as a span."""
    spans: list[tuple[Month, Month]] = []
    for month in sorted(months):
        if spans and spans[-1][1].plus(1) == month:
            spans[-1] = (spans[-1][0], month)
        else:
            spans.append((month, month))
    return ", ".join(first.words if first == last else f"{first.words} to {last.words}" for first, last in spans)


def _untold_findings(months: Sequence[Month], weight: Weight) -> Iterator[Finding]:
    if months:
        says, do = untold_words(months)
        yield Finding("other-waste-untold", "other waste", says, do, weight)


def _fitting(rules: Sequence[Ordinance]) -> tuple[Ordinance, ...]:
    """The ordinances, without their overrides where those do not fit together, as `due` has them."""
    try:
        in_force(rules)
    except BadOrdinance:
        return tuple(replace(rule, overrides=()) for rule in rules)
    return tuple(rules)


def _first_day(reader: Reader, today: date) -> date:
    oldest = next(iter(reader.entries(Filter(limit=1))), None)
    return oldest.happened_at.astimezone(zone_of(reader)).date() if oldest is not None else today


# -- findings ----------------------------------------------------------------------------------------------------------


def _month_findings(months: Sequence[MonthCount], counting: Counting) -> Iterator[Finding]:
    if not counting.ranks_on(counting.today):
        says = "No ordinance in force sets generator categories, so the months have none."
        yield Finding("no-categories", "ordinances", says, "Put one in force that does, if one applies.", Weight.NOTE)
    for said in counting.without_use(counting.today):
        says = (
            f"{said.ordinance.title} ({cited(said.provision)}) leaves {', '.join(said.provision.streams)} out of the "
            "monthly count; no categories in force give way to it, so they are counted."
        )
        yield Finding("nothing-to-leave-out", f"ordinance {said.ordinance.id}", says, weight=Weight.NOTE)
    before: dict[str, Category] = {}
    for month in months:
        for one in month.categories:
            yield from _placing_findings(month, one, before.get(one.ordinance))
            # A month without a word on other waste may have had any category above the one of its amalgam.
            if one.placed.by_value is not None and one.is_told:
                before[one.ordinance] = one.placed.by_value
    shown = {str(month.month) for month in months}
    for first, second in waste_counted_twice(counting.other_facts):
        body = waste_of(second)
        if body.month in shown:
            says = f"Entries {first.seq} and {second.seq} both hold “{body.name}” of {body.month}; both are counted."
            do = "Correct the one that is wrong."
            yield Finding("waste-counted-twice", f"month {body.month}", says, do, seqs=(first.seq, second.seq))


def _placing_findings(month: MonthCount, one: MonthCategory, before: Category | None) -> Iterator[Finding]:
    where, placed = f"month {month.month}", one.placed
    if not placed.is_settled:
        says = f"{one.ordinance_title}: {one.says}."
        do = "Reckon with the higher, or weigh the containers, which makes the estimate sharper."
        if one.counted.allowed_mg:
            do = "Reckon with the higher, or say what such pieces weigh: in the plan, and in the entries (correct)."
        yield Finding("category-not-settled", where, says, do, seqs=month.seqs)
    elif placed.by_value is None:
        says = f"{one.ordinance_title}: no category takes {_amount(one.counted)}."
        yield Finding("no-category", where, says, "Look at the ordinance's file.", seqs=month.seqs)
    if placed.by_value is not None and before is not None and placed.by_value.rank > before.rank:
        says = f"{one.ordinance_title}: the category rose from {before.name} to {placed.by_value.name}."
        yield Finding("category-rose", where, says, "Other duties may hold from now on: see wasteledger due.")


def _amount(counted: Counted) -> str:
    acute = f" and {Mass(counted.acute_mg)} of acute waste" if counted.acute_mg else ""
    return f"{Mass(counted.value_mg)}{acute}"
