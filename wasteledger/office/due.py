"""What is due: the ordinances in force, counted from what the journal shows.

Nothing here says that a rule is kept. It says what each named rule asks, by which day, and which entry started the
clock; the local authority decides.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

from wasteledger.ledger.reader import Reader
from wasteledger.model.findings import Finding, Weight
from wasteledger.model.register import OrdinanceDetails
from wasteledger.office.circumstances import circumstances_of
from wasteledger.office.days import LAST_DAY
from wasteledger.office.generator import stock_findings, untold_findings
from wasteledger.office.plain import plain
from wasteledger.office.record_triggers import record_triggers_of
from wasteledger.office.rules import registered_ordinances
from wasteledger.office.separator_duties import separator_findings
from wasteledger.office.triggers import triggers_of
from wasteledger.office.workplace import Workplace, site_details, zone_of
from wasteledger.ordinance import (
    BadOrdinance,
    DueState,
    Event,
    Holidays,
    Kind,
    Obligation,
    Ordinance,
    Rule,
    Trigger,
    Undated,
    binding,
    in_force,
    label_words,
    obligations,
    read_holidays,
    read_ordinance,
    undated,
)
from wasteledger.ordinance.circumstances import Circumstances, out_of_scope, speaking_to
from wasteledger.ordinance.clocks import applying
from wasteledger.ordinance.days import WorkCalendar
from wasteledger.resources import OutsideTemplates, ShippedFileMissing, find, find_all

__all__ = [
    "SOON_DAYS",
    "DueList",
    "calendar_of",
    "due",
    "due_from",
    "laid_over",
    "ordinances_in_force",
    "rules_here",
    "triggers_of",
    "words_on_label",
]

SOON_DAYS = 14
"""So many days before the advised day an obligation is due soon: this program's own convention."""


@dataclass(frozen=True, slots=True)
class DueList:
    """What is due, soonest first, and what has no day.

    Attributes:
        today: The site's local date.
        obligations: Those that bind; each names what other rules ask for the same.
        undated: Duties whose clock runs without a day, and why.
        findings: About the ordinances themselves.
        soon_days: From how many days before the advised day an obligation is due soon.
    """

    today: date
    obligations: tuple[Obligation, ...]
    undated: tuple[Undated, ...] = ()
    findings: tuple[Finding, ...] = ()
    soon_days: int = SOON_DAYS

    def state_of(self, obligation: Obligation) -> DueState:
        """How an obligation stands today."""
        return obligation.state_on(self.today, soon_days=self.soon_days)

    def in_state(self, *states: DueState) -> tuple[Obligation, ...]:
        """Those that stand so, in the same order."""
        return tuple(one for one in self.obligations if self.state_of(one) in states)

    def up_to(self, day: date | None) -> DueList:
        """The list without what falls after *day*; what is overdue stays. With None, all of it."""
        if day is None:
            return self
        last = max(day, self.today)
        return replace(self, obligations=tuple(one for one in self.obligations if one.due_on <= last))

    @property
    def pressing(self) -> tuple[Obligation, ...]:
        """What is overdue or due soon."""
        return self.in_state(DueState.OVERDUE, DueState.DUE_SOON)

    @property
    def wants_attention(self) -> bool:
        """Whether something is overdue, due soon, lacks an interval, or is wrong with a rule in force."""
        gaps = any(one.is_gap for one in self.undated)
        return bool(self.pressing) or gaps or any(one.weight is not Weight.NOTE for one in self.findings)

    def as_json(self) -> dict[str, Any]:
        """The list as JSON says it; every obligation with its state today."""
        return {
            "today": self.today.isoformat(),
            "soon_days": self.soon_days,
            "wants_attention": self.wants_attention,
            "obligations": [
                plain(one) | {"state": self.state_of(one).value, "is_forecast": one.is_forecast}
                for one in self.obligations
            ],
            "undated": plain(self.undated),
            "findings": plain(self.findings),
        }


def due(place: Workplace, *, until: date | None = None, retention: bool = False) -> DueList:
    """What is due at the site: all of it, or what falls on or before *until*.

    Args:
        place: Which site.
        until: The last day that is of interest; what is overdue is always listed.
        retention: Also list how long each record is kept.

    Raises:
        BadOrdinance: An ordinance that the register has in force cannot be read.
    """
    today = place.today()
    with place.reading() as reader:
        return due_from(reader, today, until=until, retention=retention)


def due_from(reader: Reader, today: date, *, until: date | None = None, retention: bool = False) -> DueList:
    """What `due` answers, inside a transaction that is already open."""
    zone = zone_of(reader)
    rules, findings = laid_over(ordinances_in_force(reader))
    running = triggers_of(reader, zone, today)
    wanted: list[Trigger] = [*running, *(record_triggers_of(reader, zone) if retention else ())]
    known = circumstances_of(reader, today, rules, wanted)
    dated = binding(obligations(rules, wanted, calendar_of(reader), known_holidays(), known))
    without = undated(rules, wanted, known)
    speaking = speaking_to(rules, known)
    whole = DueList(
        today=today,
        obligations=dated,
        undated=without,
        findings=(
            *findings,
            *_changed_files(reader),
            *_left_out(rules, known),
            *_not_begun(reader, rules, wanted, known),
            *separator_findings(reader, today, speaking),
            *stock_findings(reader, today, speaking),
            *untold_findings(reader, today, speaking),
        ),
    )
    return whole.up_to(until)


def ordinances_in_force(reader: Reader) -> tuple[Ordinance, ...]:
    """The ordinances that the register has in force, as the register recorded their text.

    Raises:
        BadOrdinance: A text that this release cannot read.
    """
    return registered_ordinances(reader)


def calendar_of(reader: Reader) -> WorkCalendar:
    """When the practice works: its weekdays and closures, from the site's line of the register."""
    site = site_details(reader)
    closed = frozenset(day for first, last in site.closures for day in _days(first, last))
    return WorkCalendar(frozenset(site.working_days), closed)


def known_holidays() -> tuple[Holidays, ...]:
    """The holidays that the shipped and the office's own files name."""
    return tuple(_holidays(path) for path in find_all("ordinances", "holidays-*.toml"))


def rules_here(reader: Reader, today: date) -> tuple[Ordinance, ...]:
    """The ordinances in force as they speak to this practice: overrides laid over, what is asked of others left out.

    Raises:
        BadOrdinance: An ordinance that the register has in force cannot be read.
    """
    rules, _ = laid_over(ordinances_in_force(reader))
    return speaking_to(rules, circumstances_of(reader, today, rules))


def words_on_label(rules: Sequence[Ordinance], streams: Sequence[str]) -> tuple[str, ...]:
    """The lines that *rules* want on a container of those streams, each once, in their order."""
    lines = (line for stream in streams for said in label_words(rules, stream) for line in said.provision.lines)
    return tuple(dict.fromkeys(lines))


@lru_cache(maxsize=8)
def _holidays(path: Path) -> Holidays:
    return read_holidays(path)


def _days(first: date, last: date) -> Iterator[date]:
    # No further than days are reckoned with: an older plan could close a practice until the calendar's own end.
    for number in range((min(last, LAST_DAY) - first).days + 1):
        yield first + timedelta(days=number)


def laid_over(rules: tuple[Ordinance, ...]) -> tuple[tuple[Ordinance, ...], list[Finding]]:
    """The ordinances, without their overrides where those do not fit together: every rule then keeps its own day."""
    try:
        in_force(rules)
    except BadOrdinance as wrong:
        bare = tuple(replace(rule, overrides=()) for rule in rules)
        in_force(bare)
        says = f"The local changes to wider rules do not fit together, and none is applied: {wrong.args[0]}"
        return bare, [
            Finding(
                "overrides-do-not-fit", "ordinances", says, "Correct the ordinance, and register it.", Weight.URGENT
            )
        ]
    return rules, []


def _changed_files(reader: Reader) -> Iterator[Finding]:
    """A note for each ordinance whose file says something else than the text that was put in force."""
    for line in reader.lines("ordinance"):
        if not isinstance(line.details, OrdinanceDetails):
            continue
        place = f"ordinance {line.ref}"
        if hashlib.sha256(line.details.text.encode()).hexdigest() != line.details.digest:
            says = f"The text of {line.details.name} in the register does not have the digest that stands beside it."
            yield Finding("ordinance-digest", place, says, "Register it again.", Weight.URGENT, (line.seq,))
        file = _file_of(line.details.name) or _file_of(line.ref)
        if file is None:
            continue
        try:
            present = read_ordinance(file).digest
        except BadOrdinance as wrong:
            says = f"{file.name} changed since it was put in force, and has faults now: {wrong.args[0]}"
            yield Finding("ordinance-changed", place, says, "Correct the file.", Weight.WARNING, (line.seq,))
            continue
        if present != line.details.digest:
            says = f"{file.name} changed since it was put in force; the text in the register still counts."
            do = "Read what changed, and register the new text if it applies."
            yield Finding("ordinance-changed", place, says, do, Weight.WARNING, (line.seq,))


def _file_of(name: str) -> Path | None:
    try:
        return find(f"ordinances/{name}.toml")
    except (ShippedFileMissing, OutsideTemplates):
        return None


def _not_begun(
    reader: Reader, rules: tuple[Ordinance, ...], shown: Sequence[Trigger], known: Circumstances
) -> Iterator[Finding]:
    """A note for each rule whose clock waits for an event that the journal could show, and does not."""
    seen = {(trigger.event, trigger.ordinance) for trigger in shown}
    # A rule for offices of before is not waited for by one that says that it is none.
    is_new = site_details(reader).discharged_before_2017_07_14 is False
    for ordinance, rule in applying(rules, known):
        waits = rule.recurs or Event.FIRST_DISCHARGE in rule.triggers
        if rule.kind is Kind.RETENTION or not waits or (is_new and _ended_before_441(rule)):
            continue
        if any((event, whose) in seen for event in rule.triggers for whose in ("", ordinance.id)):
            continue
        says = (
            f"{rule.title} ({rule.id}, {rule.citation}) counts from "
            f"{' or '.join(event.words for event in rule.triggers)}, of which nothing is recorded yet."
        )
        do = f"Record it, or see what would: wasteledger ordinance explain {ordinance.id}:{rule.id}."
        yield Finding("clock-not-begun", f"ordinance {ordinance.id}", says, do, Weight.NOTE)


def _ended_before_441(rule: Rule) -> bool:
    return rule.in_force_until is not None and rule.in_force_until <= _EXISTING_UNTIL


_EXISTING_UNTIL = date(2017, 7, 14)  # existing sources discharged on or before that day: 40 CFR 441.20, from memory


def _left_out(rules: tuple[Ordinance, ...], known: Circumstances) -> Iterator[Finding]:
    """A note for each ordinance whose own words on whom it covers leave this practice out."""
    for one in out_of_scope(rules, known):
        scope = one.scope
        but = f"; what stays is {', '.join(one.leaves)}" if one.leaves else ""
        says = (
            f"{one.ordinance.title} speaks of others ({scope.id}, {scope.citation}), since by the register {one.why}: "
            f"its days are not counted{but}."
        )
        do = "Ask the local authority whether it reads its rule so, and correct the register where it is wrong."
        yield Finding("out-of-scope", f"ordinance {one.ordinance.id}", says, do, Weight.NOTE)
