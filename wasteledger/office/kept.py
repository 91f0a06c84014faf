"""Words for what has no day and for how long records are kept: what says the same of many entries, said once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from wasteledger.office.due import DueList
from wasteledger.office.notices import asked_by, lines_of, unread
from wasteledger.office.words import spelt
from wasteledger.ordinance import DueState, Kind, Obligation, OtherDay, Undated

One = TypeVar("One")

_MOST_NAMED = 4
"""So many entries are named one by one: own convention."""


@dataclass(frozen=True, slots=True)
class Kept:
    """Records of one class about one subject, which one rule keeps.

    Attributes:
        terms: The term of each record, soonest over first.
        over: For how many the term is over.
    """

    terms: tuple[Obligation, ...]
    over: int

    @property
    def state(self) -> DueState:
        """Over where it is over for all."""
        return DueState.TERM_OVER if self.over == len(self.terms) else DueState.KEEP

    def title(self, day: Callable[[date], str] = spelt) -> str:
        """What is kept to when; *day* spells a day."""
        first, last, number = self.terms[0], self.terms[-1], len(self.terms)
        what = f"{_span(first.due_on, last.due_on, day)}: {last.title}, {last.subject}{_of(last)}"
        if number == 1:
            return what
        return f"{what}: {number} records{f', term over for {self.over}' if self.over else ''}"

    def lines(self, day: Callable[[date], str] = spelt) -> Iterator[str]:
        """Who asks for it and how sure that is, from which entries it was counted, and what others ask."""
        first, last = self.terms[0], self.terms[-1]
        if len(self.terms) == 1:
            yield from lines_of(last, day)
            return
        yield from asked_by(last)
        yield f"First counted: {first.counted}, entry {first.trigger_seq}."
        yield f"Last counted: {last.counted}, entry {last.trigger_seq}."
        # Not every rule keeps all of them: some held for a while only.
        for others in _gathered((other for term in self.terms for other in term.also), _whose):
            days, other = [one.due_on for one in others], others[0]
            same = ", the same clause" if other.is_same_rule else ""
            yield (
                f"Also by {_span(min(days), max(days), day)}: "
                f"{other.ordinance_title}, {other.citation}{same}{unread(other.confirmed)}."
            )


@dataclass(frozen=True, slots=True)
class Dayless:
    """A duty without a day, and every clock of it that runs for one subject; one of them for a gap."""

    clocks: tuple[Undated, ...]

    @property
    def is_gap(self) -> bool:
        """Whether something is missing that the office can enter."""
        return self.clocks[0].is_gap

    @property
    def title(self) -> str:
        """What has no day, and why."""
        one = self.clocks[0]
        return f"{one.title}, {one.subject}{_of(one)}: {one.why}"

    def lines(self, day: Callable[[date], str] = spelt) -> Iterator[str]:
        """Who asks for it and how sure that is, and which entries it rests on; *day* spells a day."""
        one = self.clocks[0]
        doubt = unread(one.confirmed).removeprefix("; ")
        yield f"{one.ordinance_title}, {one.citation}{f' ({doubt})' if doubt else ''}: {one.asks}"
        if one.override is not None:
            yield str(one.override)
        entries = [
            f"{day(clock.trigger_on)}{f', entry {clock.trigger_seq}' if clock.trigger_seq else ''}"
            for clock in sorted(self.clocks, key=lambda clock: (clock.trigger_on, clock.trigger_seq))
        ]
        what = "Record of" if one.record is not None else "Runs from"
        if len(entries) > _MOST_NAMED:
            yield f"{what} {entries[0]}, to {entries[-1]}; {len(entries)} in all."
        else:
            yield f"{what} {'; '.join(entries)}."


def kept_in(found: DueList) -> tuple[Kept, ...]:
    """How long the records of a list are kept, gathered by rule, class and subject; soonest over first."""
    terms = [one for one in found.obligations if one.kind is Kind.RETENTION]
    gathered = _gathered(terms, lambda one: (one.ordinance, one.rule, one.record, one.subject, one.condition))
    kept = (
        Kept(tuple(group), sum(found.state_of(one) is DueState.TERM_OVER for one in group))
        for group in (sorted(group, key=lambda one: one.due_on) for group in gathered)
    )
    return tuple(sorted(kept, key=lambda one: one.terms[-1].due_on))


def dayless_in(found: DueList) -> tuple[Dayless, ...]:
    """What of a list has no day, gathered by rule, class and subject, in the list's order."""
    gathered = _gathered(
        found.undated, lambda one: (one.ordinance, one.rule, one.record, one.subject, one.why, one.is_gap)
    )
    return tuple(Dayless(tuple(group)) for group in gathered)


def _gathered(ones: Iterable[One], key: Callable[[One], object]) -> Iterable[Sequence[One]]:
    groups: dict[object, list[One]] = {}
    for one in ones:
        groups.setdefault(key(one), []).append(one)
    return groups.values()


def _whose(one: OtherDay) -> tuple[str, str]:
    return one.ordinance, one.rule


def _span(first: date, last: date, day: Callable[[date], str]) -> str:
    return day(first) if first == last else f"{day(first)} to {day(last)}"


def _of(one: Obligation | Undated) -> str:
    """The class of the record, where title and subject do not name it."""
    words = one.record.value.replace("_", " ") if one.record is not None else ""
    return f" ({words})" if words and words not in f"{one.title}, {one.subject}".replace("-", " ").casefold() else ""
