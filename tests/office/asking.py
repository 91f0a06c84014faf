"""Asks the practice the questions of an inspector, and reads single answers."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import date, datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

from wasteledger.model.register import OrdinanceDetails
from wasteledger.office.answers import Answer, Point, Sort, answers
from wasteledger.office.people import register_line
from wasteledger.office.workplace import Recorded, Said, Workplace
from wasteledger.resources import find

CHICAGO = ZoneInfo("America/Chicago")


def asked(place: Workplace, number: int, *, since: date | None = None, until: date | None = None) -> Answer:
    """The answer to the question of that number in the shipped list."""
    found = answers(place, since=since, until=until)
    return next(one for one in found.answers if one.question.number == number)


def says(answer: Answer, *sorts: Sort) -> str:
    """The sentences of an answer, or those of some sorts, line by line."""
    return "\n".join(one.says for one in answer.points if not sorts or one.sort in sorts)


def lacks(answer: Answer) -> str:
    """What is missing, line by line."""
    return says(answer, Sort.MISSING)


def unrecorded(answer: Answer) -> str:
    """What is not recorded, line by line, be it missing here or asked in another place only."""
    return says(answer, Sort.MISSING, Sort.ELSEWHERE)


def point_with(answer: Answer, words: str) -> Point:
    """The one point whose sentence holds *words*."""
    (found,) = [one for one in answer.points if words in one.says]
    return found


def on(day: date, hour: int = 12) -> Said:
    """Said to have happened on a day, at an hour of the practice's clock."""
    return Said(at=datetime.combine(day, time(hour), CHICAGO))


def put_in_force(place: Workplace, name: str, text: str = "") -> Recorded:
    """An ordinance in force from now on: *text*, else the shipped file of that name."""
    text = text or find(f"ordinances/{name}.toml", own=Path(__file__).parent).read_text("utf-8")
    digest = hashlib.sha256(text.encode()).hexdigest()
    return register_line(place, name, OrdinanceDetails(name=name, version="1", digest=digest, text=text))


def numbers(answers_given: Iterable[Answer]) -> list[int]:
    """The numbers of the questions."""
    return [one.question.number for one in answers_given]
