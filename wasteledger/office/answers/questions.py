"""The list of questions, read from `templates/inspection/questions.toml` or the office's own copy of it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache
from typing import ClassVar

from wasteledger.estimate.reading import BadFile, Section, opened
from wasteledger.resources import find

QUESTIONS = "inspection/questions.toml"
_MOST = 999


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
    """One question, who asks it, and the name of the answer that the program gives to it."""

    number: int
    asks: str
    asked_by: tuple[Source, ...]
    answer: str


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
        found.append(Question(number, one.text("asks"), _asked_by(one, sources), given))
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


@lru_cache(maxsize=4)
def _read(text: bytes, name: str, known: frozenset[str]) -> tuple[Question, ...]:
    return read_questions(text, known, name=name)
