"""What lies on site, amalgam and other waste, against the limits of the categories that the practice may have now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from wasteledger.estimate.containers import Estimate
from wasteledger.ledger.reader import Reader
from wasteledger.model.findings import Finding, Weight
from wasteledger.office.milestones import standing_milestones
from wasteledger.office.other_waste import same_name, waste_of
from wasteledger.office.plain import plain
from wasteledger.office.waste_counting import Counting
from wasteledger.office.waste_months import (
    MonthCount,
    amount_words,
    cited,
    counted_of,
    mass_json,
    widened_words,
    with_typed,
)
from wasteledger.ordinance.categories import Counted, Reach, Stocked, in_kg, stocked
from wasteledger.ordinance.rules import Category, Ordinance


@dataclass(frozen=True, slots=True)
class OnHand:
    """Other waste on site, as it was typed in last, with the month that it was typed in for."""

    seq: int
    name: str
    month: str
    mass_mg: int
    acute: bool


@dataclass(frozen=True, slots=True)
class OnSite:
    """What lies on site now.

    Attributes:
        amalgam: What stands in containers that have not left.
        others: Other waste, as far as somebody typed in how much of it there is.
        untold: Other waste of which nobody did.
    """

    amalgam: Estimate
    others: tuple[OnHand, ...]
    untold: tuple[str, ...]

    @property
    def together(self) -> Estimate:
        """All of it; an estimate as soon as something was typed in."""
        return with_typed(self.amalgam, [one.mass_mg for one in self.others])

    @property
    def counted(self) -> Counted:
        """All of it as it counts against limits, acute waste apart."""
        return counted_of(self.amalgam, [(one.mass_mg, one.acute) for one in self.others])

    def as_json(self) -> dict[str, Any]:
        """The stock as JSON says it; every mass in mg."""
        return {
            "amalgam": mass_json(self.amalgam),
            "others": plain(self.others),
            "untold": list(self.untold),
            "together": mass_json(self.together),
            "counted": plain(self.counted),
        }


def on_site(counting: Counting) -> OnSite:
    """What lies on site now: all that stands in containers, and other waste as it was typed in last."""
    told: dict[str, OnHand] = {}
    names: dict[str, str] = {}
    for fact in sorted(counting.other_facts, key=lambda one: (waste_of(one).month, one.place)):
        body = waste_of(fact)
        key = same_name(body.name)
        names[key] = body.name
        if body.on_hand_mg is not None:
            told[key] = OnHand(fact.seq, body.name, body.month, body.on_hand_mg, body.acute)
    return OnSite(counting.on_site(), tuple(told.values()), tuple(names[key] for key in names if key not in told))


def findings_on_site(counting: Counting) -> Iterator[Finding]:
    """What lies on site against the limits: reached, perhaps reached, never told; each limit once for an ordinance."""
    site = on_site(counting)
    if site.untold:
        says = f"How much lies on site was never typed in of: {', '.join(site.untold)}."
        yield Finding("stock-not-told", "on site", says, "Type it in with --on-hand.", Weight.NOTE)
    lately, is_over, has_clock = counting.lately(), False, False
    for ordinance, ranks in counting.ranks_on(counting.today):
        told: set[tuple[str, object]] = set()
        for category in _candidates(ordinance, lately):
            found = stocked(ranks, category, site.counted)
            is_over |= found.clock is not Reach.NO
            has_clock |= category.stock_below_kg is not None
            for name, limit, finding in _limit_findings(counting.reader, ordinance, found, site):
                # Two categories may set the same limit: it is told once.
                if (name, limit) not in told:
                    told.add((name, limit))
                    yield finding
    running = _running(counting.reader)
    if running and has_clock and not is_over:
        says = f"The clock of the stock that entry {running} started still runs, though less lies on site now."
        do = "Where the authority agrees that it ended, record it: wasteledger milestone stock_limit_ended."
        yield Finding("stock-clock-runs", "on site", says, do, Weight.NOTE, (running,))


def _candidates(ordinance: Ordinance, lately: Sequence[MonthCount]) -> list[Category]:
    """The categories that the practice may have now, by the value or at the upper end, the lowest first."""
    found = {
        one.id: one
        for month in lately
        for said in month.categories
        if said.ordinance == ordinance.id
        for one in (said.placed.by_value, said.highest)
        if one is not None
    }
    return sorted(found.values(), key=lambda one: one.rank)


def _limit_findings(
    reader: Reader, ordinance: Ordinance, found: Stocked, site: OnSite
) -> Iterator[tuple[str, object, Finding]]:
    category, widened = found.category, widened_words(site.counted, site.amalgam.unknown_pieces)
    clock_kg, cap_kg = category.stock_below_kg, category.stock_up_to_kg
    holds = f"{ordinance.title}, {category.name} ({cited(category)}): on site lies {amount_words(site.together)}."
    if clock_kg is not None and found.clock is Reach.YES:
        running = _running(reader)
        says = f"{holds} That reaches {in_kg(clock_kg)}, from which a clock runs for all of it."
        do = "Record the day on which it was reached: wasteledger milestone stock_limit_reached --at TIME."
        if running:
            says, do = f"{says} Entry {running} started it.", "See wasteledger due."
        weight = Weight.NOTE if running else Weight.URGENT
        yield "clock", clock_kg, Finding("stock-clock", "on site", says, do, weight, (running,) if running else ())
    elif clock_kg is not None and found.clock is Reach.MAYBE:
        says = f"{holds} {in_kg(clock_kg)}, from which a clock runs for all of it, lies inside the interval{widened}."
        yield "clock", clock_kg, Finding("stock-clock-may-run", "on site", says, "Weigh the containers.")
    if cap_kg is not None and found.cap is Reach.YES:
        says = f"{holds} That is over {in_kg(cap_kg)}, more than may ever lie there."
        do = "Have it picked up, and ask the authority."
        yield "cap", cap_kg, Finding("stock-over", "on site", says, do, Weight.URGENT)
    elif cap_kg is not None and found.cap is Reach.MAYBE:
        says = f"{holds} {in_kg(cap_kg)}, the most that may ever lie there, lies inside the interval{widened}."
        yield "cap", cap_kg, Finding("stock-may-be-over", "on site", says, "Weigh the containers.")


def _running(reader: Reader) -> int:
    """The entry that started the clock of the stock, while it runs; 0 where none does."""
    reached = standing_milestones(reader, "stock_limit_reached")
    return reached[0].seq if reached else 0
