"""What a worksheet holds: questions in our own words, answers from the journal, gaps shown as gaps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any

from wasteledger.office.amounts import Amount
from wasteledger.office.plain import plain
from wasteledger.ordinance import Obligation, Ordinance, Provision

HEADING = "Worksheet for your own filing"
"""What every worksheet says of itself before anything else."""

FORM_PREVAILS = "The authority's own form and words prevail, and nothing is sent from here."


class State(StrEnum):
    """How an answer stands."""

    FILLED = "filled"  # from the register and the journal
    GAP = "gap"  # nothing there answers it, or not all of it
    YOURS = "yours"  # only a person can say so; what the journal shows of it stands beside


class Part(StrEnum):
    """The parts of a worksheet, in their order."""

    PRACTICE = "practice"
    EQUIPMENT = "equipment"
    PEOPLE = "people"
    WASTE = "waste"
    SHIPMENT = "shipment"
    CONTAINERS = "containers"
    STATEMENTS = "statements"
    FILED = "filed"

    @property
    def words(self) -> str:
        """As people read it."""
        return _PARTS[self]


_PARTS = {
    Part.PRACTICE: "The practice",
    Part.EQUIPMENT: "Chairs and separators",
    Part.PEOPLE: "People",
    Part.WASTE: "Waste",
    Part.SHIPMENT: "The shipment",
    Part.CONTAINERS: "What leaves",
    Part.STATEMENTS: "What you state yourself",
    Part.FILED: "What was filed before",
}


@dataclass(frozen=True, slots=True)
class NamedAmount:
    """A mass that a line states, by name, so that a program need not read it from words."""

    name: str
    amount: Amount
    says: str

    @classmethod
    def of(cls, name: str, amount: Amount) -> NamedAmount:
        """The amount with its words, which say whether it was weighed."""
        return cls(name, amount, amount.words)


@dataclass(frozen=True, slots=True)
class Answer:
    """What the register and the journal say to one question.

    Attributes:
        says: The answer, a sentence or a word each; of a gap, what is missing and where it is entered.
        state: How it stands.
        seqs: The entries that show it.
        amounts: The masses in it.
    """

    says: tuple[str, ...]
    state: State = State.FILLED
    seqs: tuple[int, ...] = ()
    amounts: tuple[NamedAmount, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """One question of a worksheet and its answer.

    Attributes:
        part: Where it belongs.
        name: For programs; never changes.
        asks: The question, in our own words.
        answer: What there is to say.
        asked_by: The provisions that want it; empty where none does and it is shown for its use.
    """

    part: Part
    name: str
    asks: str
    answer: Answer
    asked_by: tuple[str, ...] = ()

    @property
    def is_gap(self) -> bool:
        """Whether something is missing."""
        return self.answer.state is State.GAP


@dataclass(frozen=True, slots=True)
class Asking:
    """A provision that asks for what a worksheet is for.

    Attributes:
        condition: On what its being asked here rests, in words; empty where on nothing.
        is_asked_here: Whether it is in force and speaks to this practice; if not, it is named for its list alone.
    """

    provision: str
    title: str
    asks: str
    ordinance: str
    ordinance_title: str
    citation: str
    standing_of_source: str
    note: str
    condition: str = ""
    is_asked_here: bool = True

    @classmethod
    def of(
        cls, ordinance: Ordinance, provision: Provision, *, condition: str = "", is_asked_here: bool = True
    ) -> Asking:
        """What *provision* of *ordinance* asks; a nearer ordinance's word is in its note."""
        said = [provision.note, *([str(provision.override)] if provision.override is not None else [])]
        return cls(
            provision=provision.id,
            title=provision.title,
            asks=" ".join(provision.asks.split()),
            ordinance=ordinance.id,
            ordinance_title=ordinance.title,
            citation=provision.citation,
            standing_of_source=provision.standing_of_source,
            note=" ".join(" ".join(said).split()),
            condition=condition,
            is_asked_here=is_asked_here,
        )


@dataclass(frozen=True, slots=True)
class FilingDay:
    """By when a rule in force wants the filing, and from when on it can be made.

    *override* is a nearer ordinance's word that was laid over the rule, with its reason; empty where there is none.
    """

    rule: str
    title: str
    ordinance: str
    ordinance_title: str
    citation: str
    opens_on: date | None
    due_on: date
    advised_on: date
    counted: str
    state: str
    trigger_seq: int
    standing_of_source: str
    override: str = ""

    @classmethod
    def of(cls, obligation: Obligation, state: str) -> FilingDay:
        """The day of *obligation*, which stands so today."""
        return cls(
            rule=obligation.rule,
            title=obligation.title,
            ordinance=obligation.ordinance,
            ordinance_title=obligation.ordinance_title,
            citation=obligation.citation,
            opens_on=obligation.opens_on,
            due_on=obligation.due_on,
            advised_on=obligation.advised_on,
            counted=obligation.counted,
            state=state,
            trigger_seq=obligation.trigger_seq,
            standing_of_source=obligation.standing_of_source,
            override="" if obligation.override is None else " ".join(str(obligation.override).split()),
        )


@dataclass(frozen=True, slots=True)
class Worksheet:
    """Questions and answers for a filing that the office makes itself.

    Attributes:
        kind: ``one-time-report``, ``amounts``, ``certification`` or ``shipment``.
        title: What it is for.
        practice: The practice's name.
        prepared_on: The local day on which it was made.
        seq: The last entry that it rests on.
        digest: That entry's digest.
        since: First day of the period that it speaks of; None where it speaks of no period.
        until: Its last day.
        asked_by: The provisions that ask for it.
        days: By when.
        lines: Questions and answers, part by part.
        notes: What is to be known besides.
    """

    kind: str
    title: str
    practice: str
    prepared_on: date
    seq: int
    digest: str
    since: date | None
    until: date | None
    asked_by: tuple[Asking, ...]
    days: tuple[FilingDay, ...]
    lines: tuple[Line, ...]
    notes: tuple[str, ...] = ()
    heading: str = field(default=HEADING, init=False)

    @property
    def gaps(self) -> tuple[Line, ...]:
        """The lines in which something is missing."""
        return tuple(line for line in self.lines if line.is_gap)

    def find(self, name: str) -> Line | None:
        """The line of that name, or None."""
        return next((line for line in self.lines if line.name == name), None)

    def as_json(self) -> dict[str, Any]:
        """The worksheet as JSON says it."""
        found: dict[str, Any] = plain(self)
        return found | {"gaps": [line.name for line in self.gaps]}


def in_parts(lines: Sequence[Line]) -> tuple[Line, ...]:
    """The lines, part by part, otherwise in the order given."""
    parts = tuple(Part)
    return tuple(sorted(lines, key=lambda line: parts.index(line.part)))


def each_once(seqs: Iterable[int]) -> tuple[int, ...]:
    """Numbers of entries, rising, each once; 0 stands for none."""
    return tuple(sorted({seq for seq in seqs if seq}))


def note_words(note: str | None) -> str:
    """An entry's own note, to stand behind what the entry says; nothing where it has none."""
    words = " ".join((note or "").split()).rstrip(".")
    return f" (its note: “{words}”)" if words else ""
