"""The list of questions, read from `templates/inspection/questions.toml` or the office's own copy of it."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import lru_cache
from typing import ClassVar

from wasteledger.estimate.reading import BadFile, Section, opened
from wasteledger.resources import find

QUESTIONS = "inspection/questions.toml"
_MOST = 999
_ELSEWHERE = ("answered", "not_asked")


class BadQuestions(BadFile):
    """A list of questions that cannot be read; ``faults`` has one sentence a fault, with its key."""

    code = "bad-questions"
    NOUN: ClassVar[str] = "questions"


@dataclass(frozen=True, slots=True)
class Source:
    """Who asks, and where that was published."""

    name: str
    where: str


@dataclass(frozen=True, slots=True)
class Question:
    """One question, who asks it, and the name of the answer that the program gives to it.

    Attributes:
        number: Its number in the list.
        asks: In one sentence.
        asked_by: Who asks it.
        answer: Which answer of the program is given.
        belongs_to: Ids of the ordinances whose question it is, each with ``*`` for any end; empty: anybody's.
        place: Whose question it is then, as it follows "a question of".
        is_asked_elsewhere: Whether it is answered where none of those ordinances is in force.
    """

    number: int
    asks: str
    asked_by: tuple[Source, ...]
    answer: str
    belongs_to: tuple[str, ...] = ()
    place: str = ""
    is_asked_elsewhere: bool = True

    def is_of(self, ordinance: str) -> bool:
        """Whether it is the question of that ordinance; every ordinance's where it is anybody's."""
        return not self.belongs_to or any(fnmatchcase(ordinance, one) for one in self.belongs_to)

    def is_at_home(self, ordinances: Iterable[str]) -> bool:
        """Whether one of *ordinances*, by id, is one whose question it is; always where it is anybody's."""
        return not self.belongs_to or any(self.is_of(one) for one in ordinances)


def questions_in_force(known: Collection[str]) -> tuple[Question, ...]:
    """The office's own list, else the shipped one; *known* are the names of the answers that there are.

    Raises:
        BadQuestions: The file has faults, all of them named.
    """
    path = find(QUESTIONS)
    return _read(path.read_bytes(), path.name, frozenset(known))


def read_questions(source: str | bytes, known: Collection[str], *, name: str = QUESTIONS) -> tuple[Question, ...]:
    """The questions of a file's TOML text, by number.

    Raises:
        BadQuestions: No TOML; a key that is missing, unknown or of the wrong kind; a number twice; a source that is not
            listed; an answer that is not among *known*. All faults are named.
    """
    top = opened(source, name, BadQuestions)
    listed, table = top.section("sources"), top.section("questions")
    sources = {key: _source(listed.section(key)) for key in listed.names()}
    found: list[Question] = []
    for key in table.names():
        one = table.section(key)
        number = one.whole("number", 1, _MOST)
        if any(number == other.number for other in found):
            one.fault("number", f"{number} is the number of another question too")
        given = one.text("answer")
        if given and given not in known:
            one.fault("answer", f"there is no answer “{given}”; there are {', '.join(sorted(known))}")
        found.append(Question(number, one.text("asks"), _asked_by(one, sources), given, *_belongs(one)))
    if not found:
        top.fault("questions", "holds no question")
    if faults := top.faults():
        raise BadQuestions(faults, name=name)
    return tuple(sorted(found, key=lambda one: one.number))


def _source(section: Section) -> Source:
    return Source(section.text("name"), section.text("where"))


def _asked_by(section: Section, sources: dict[str, Source]) -> tuple[Source, ...]:
    names = [name.strip() for name in section.text("asked_by").split(",")]
    for name in filter(None, names):
        if name not in sources:
            section.fault("asked_by", f"“{name}” is not among the sources")
    return tuple(sources[name] for name in names if name in sources)


def _belongs(section: Section) -> tuple[tuple[str, ...], str, bool]:
    """The ordinances that it belongs to, whose they are, and whether it is answered where none of them is in force."""
    there = section.names()
    if "belongs_to" not in there:
        for key in ("place", "elsewhere"):
            if key in there:
                section.text(key)
                section.fault(key, "goes with belongs_to, which is missing")
        return (), "", True
    ids = tuple(filter(None, (one.strip() for one in section.text("belongs_to").split(","))))
    elsewhere = section.text("elsewhere") if "elsewhere" in there else "answered"
    if elsewhere and elsewhere not in _ELSEWHERE:
        section.fault("elsewhere", f"must be one of {', '.join(_ELSEWHERE)}")
    return ids, section.text("place"), elsewhere != "not_asked"


@lru_cache(maxsize=4)
def _read(text: bytes, name: str, known: frozenset[str]) -> tuple[Question, ...]:
    return read_questions(text, known, name=name)
