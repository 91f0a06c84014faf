"""What an answer is made of: single points, each one sentence with the entries that show it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any

from wasteledger.office.answers.questions import Question
from wasteledger.office.plain import plain


class Sort(StrEnum):
    """What a point is."""

    SHOWN = "shown"  # the journal shows it
    MISSING = "missing"  # something is not recorded, or is recorded and wants a word
    HERE = "here"  # only a visitor can see it
    OUTSIDE = "outside"  # this ledger does not keep it
    ELSEWHERE = "elsewhere"  # it is asked in another place, not here


class State(StrEnum):
    """How far a question is answered by the journal; never whether the answer is a good one."""

    ANSWERED = "answered"
    PARTLY = "partly"
    GAP = "gap"
    ON_SITE = "on_site"
    OUT_OF_SCOPE = "out_of_scope"
    NOT_ASKED = "not_asked"

    @property
    def words(self) -> str:
        """As people read it."""
        return {
            "answered": "answered",
            "partly": "answered in part",
            "gap": "gap",
            "on_site": "to be seen here",
            "out_of_scope": "not kept here",
            "not_asked": "not asked here",
        }[self.value]


@dataclass(frozen=True, slots=True)
class Point:
    """One sentence of an answer.

    Attributes:
        sort: What it is.
        says: The sentence.
        seqs: The entries that show it, each once, rising; empty where nothing does.
        do: How the office can close the gap; empty where there is none, or nothing is to be done.
    """

    sort: Sort
    says: str
    seqs: tuple[int, ...] = ()
    do: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """A question and what can be said to it.

    Attributes:
        question: What is asked.
        points: What can be said.
        note: Whose question it is, where it is another place's; empty where it is asked here.
    """

    question: Question
    points: tuple[Point, ...]
    note: str = ""

    @property
    def state(self) -> State:
        """How far the journal answers it."""
        sorts = {one.sort for one in self.points}
        if Sort.ELSEWHERE in sorts or (self.note and sorts != {Sort.SHOWN}):
            return State.NOT_ASKED
        if Sort.OUTSIDE in sorts:
            return State.OUT_OF_SCOPE
        if sorts == {Sort.SHOWN}:
            return State.ANSWERED
        if Sort.SHOWN in sorts:
            return State.PARTLY
        return State.ON_SITE if sorts == {Sort.HERE} else State.GAP

    @property
    def seqs(self) -> tuple[int, ...]:
        """The entries behind all of it, rising."""
        return tuple(sorted({seq for one in self.points for seq in one.seqs}))

    @property
    def missing(self) -> tuple[Point, ...]:
        """What is missing."""
        return tuple(one for one in self.points if one.sort is Sort.MISSING)

    def as_json(self) -> dict[str, Any]:
        """The answer as JSON says it."""
        return {
            "number": self.question.number,
            "asks": self.question.asks,
            "asked_by": plain(self.question.asked_by),
            "place": self.question.place,
            "note": self.note,
            "state": self.state.value,
            "points": plain(self.points),
        }


@dataclass(frozen=True, slots=True)
class Answers:
    """All questions on a period, both days included.

    Attributes:
        site: The site's short name.
        name: The practice.
        since: First day.
        until: Last day; what stands, stands as at its end.
        begins_on: The day of the first thing that the journal tells of; nothing can be shown of the days before.
        rests_on: The last entry of the chain that was read.
        digest: Its digest.
        answers: By the number of the question.
    """

    site: str
    name: str
    since: date
    until: date
    begins_on: date
    rests_on: int
    digest: str
    answers: tuple[Answer, ...]

    def in_state(self, *states: State) -> tuple[Answer, ...]:
        """The answers in these states."""
        return tuple(one for one in self.answers if one.state in states)

    @property
    def begins_within(self) -> bool:
        """Whether the journal tells nothing of the first days of the period."""
        return self.begins_on > self.since

    @property
    def missing(self) -> int:
        """How many things are missing, all answers together."""
        return sum(len(one.missing) for one in self.answers)

    @property
    def wants_attention(self) -> bool:
        """Whether anything is missing."""
        return self.missing > 0

    def as_json(self) -> dict[str, Any]:
        """All of it as JSON says it."""
        return {
            "site": self.site,
            "name": self.name,
            "since": self.since.isoformat(),
            "until": self.until.isoformat(),
            "begins_on": self.begins_on.isoformat(),
            "rests_on": self.rests_on,
            "digest": self.digest,
            "missing": self.missing,
            "answers": [one.as_json() for one in self.answers],
        }


def shown(says: str, seqs: Iterable[int] = ()) -> Point:
    """A point that the journal shows."""
    return Point(Sort.SHOWN, says, _each_once(seqs))


def missing(says: str, seqs: Iterable[int] = (), *, do: str = "") -> Point:
    """A point that lacks something; *do* says how the office can mend it."""
    return Point(Sort.MISSING, says, _each_once(seqs), do)


def here(says: str) -> Point:
    """A point that only a visitor can see."""
    return Point(Sort.HERE, says)


def outside(says: str, seqs: Iterable[int] = ()) -> Point:
    """A point on what this ledger does not keep."""
    return Point(Sort.OUTSIDE, says, _each_once(seqs))


def elsewhere(says: str, seqs: Iterable[int] = ()) -> Point:
    """A point of a question that is another place's: nothing is missing by it."""
    return Point(Sort.ELSEWHERE, says, _each_once(seqs))


def times(number: int) -> str:
    """``once``, ``twice``, ``3 times``."""
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def some(names: Sequence[str], most: int = 4) -> str:
    """The first few of *names* in one line, and how many more there are."""
    rest = len(names) - most
    return ", ".join(names) if rest <= 0 else f"{', '.join(names[:most])} and {rest} more"


def _each_once(seqs: Iterable[int]) -> tuple[int, ...]:
    return tuple(sorted({seq for seq in seqs if seq}))
