"""How regularly a duty that comes back was done: the gaps of the last twelve months, against the rule's interval."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from dateutil.relativedelta import relativedelta

from wasteledger.model.facts import Fact
from wasteledger.office.sight import Evidence, Findings, Sight
from wasteledger.office.words import short_day
from wasteledger.ordinance import Event, Interval, Rule, Trigger
from wasteledger.ordinance.days import deadline_after
from wasteledger.ordinance.doings import SITE
from wasteledger.ordinance.rules import After, ByManual

_ABOUT = ("separator", "container", "pickup")
_BEGINNINGS = frozenset({Event.SEPARATOR_INSTALLED, Event.IN_FORCE, Event.FIRST_DISCHARGE})
"""Events from which the first gap is counted; every other start of a recurring clock is a doing itself."""


@dataclass(frozen=True, slots=True)
class _Gap:
    begun: date
    ended: date
    seq: int

    @property
    def days(self) -> int:
        return (self.ended - self.begun).days


def gaps_of(sight: Sight, rule: Rule, doings: Sequence[Fact], starts: Sequence[Trigger]) -> Findings:
    """The gaps between doings that ended in the last twelve months; those longer than the interval are missing.

    The gap that still runs is not among them: the rule's clock shows it.
    """
    shows: list[Evidence] = []
    missing: list[Evidence] = []
    since = sight.today - relativedelta(years=1)
    for subject, done in _by_subject(sight, doings, starts).items():
        interval = _interval_of(rule, subject, starts)
        if interval is None:
            continue
        gaps = [one for one in _gaps(subject, done, starts) if since < one.ended and rule.stands_on(one.begun)]
        if not gaps:
            continue
        longer = [one for one in gaps if one.ended > deadline_after(one.begun, interval)]
        longest = max(gaps, key=lambda one: one.days)
        words = f"the longest {longest.days} days, from {short_day(longest.begun)} to {short_day(longest.ended)}"
        counted = f"{subject}: {len(gaps)} gap{'' if len(gaps) == 1 else 's'} ended in the last 12 months"
        if longer:
            over = f"{counted}, {len(longer)} of them longer than {interval}; {words}"
            missing.append(Evidence(f"{over}.", tuple(one.seq for one in longer)))
        else:
            shows.append(Evidence(f"{counted}, none longer than {interval}; {words}."))
    return shows, missing


def has_interval(rule: Rule) -> bool:
    """Whether the rule comes back at an interval, so that gaps can be held against it."""
    return rule.recurs and isinstance(rule.due, After | ByManual)


def _by_subject(sight: Sight, doings: Sequence[Fact], starts: Sequence[Trigger]) -> dict[str, list[tuple[date, int]]]:
    """The days on which it was done, by what it was done for; for the whole practice counts for each."""
    subjects = {one.subject for one in starts} or {SITE}
    found: defaultdict[str, list[tuple[date, int]]] = defaultdict(list)
    for fact in doings:
        on = fact.happened_at.astimezone(sight.zone).date()
        named = next((f"{what} {ref}" for what in _ABOUT if (ref := getattr(fact.body, what, None))), SITE)
        for subject in subjects if named == SITE else subjects & {named}:
            found[subject].append((on, fact.seq))
    return {subject: sorted(found[subject]) for subject in sorted(found)}


def _interval_of(rule: Rule, subject: str, starts: Sequence[Trigger]) -> Interval | None:
    match rule.due:
        case After(interval):
            return interval
        case ByManual(task):
            manuals = (one.manual for one in starts if one.subject == subject and one.manual is not None)
            manual = next(manuals, None)
            return manual.interval(task) if manual is not None else None
        case _:
            return None


def _gaps(subject: str, done: Sequence[tuple[date, int]], starts: Sequence[Trigger]) -> list[_Gap]:
    first = done[0][0]
    begun = [one.on for one in starts if one.subject == subject and one.event in _BEGINNINGS and one.on < first]
    days = [*([(max(begun), 0)] if begun else []), *done]
    return [_Gap(before, after, seq) for (before, _), (after, seq) in pairwise(days) if after > before]
