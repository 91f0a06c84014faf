"""What is on file: trainings, papers, and what a person answerable for the practice states."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from enum import StrEnum
from typing import TypeVar

from wasteledger.errors import NotUnderstood, Unknown
from wasteledger.ledger.append import Desk
from wasteledger.model.filings import PaperFiled, PaperKind, Statement, StatementTopic, Topic, Training
from wasteledger.model.standing.refusals import Retired
from wasteledger.office.bodies import make
from wasteledger.office.provision_words import AUTHORITY_DECIDES
from wasteledger.office.training_days import answered_by_training, trainings_asked
from wasteledger.office.workplace import OFFICE, Recorded, Said, Workplace, answer, said_before, write, zone_of

ONLY_NOTED = "The journal notes the paper; the paper itself is kept where the entry says."

_NOTHING_SAID = Said()

Word = TypeVar("Word", bound=StrEnum)


class WhyNeeded(NotUnderstood):
    """What does not hold wants its reason, and what holds wants none."""

    code = "why-needed"


def record_training(
    place: Workplace,
    people: tuple[str, ...],
    topics: tuple[str, ...],
    said: Said = _NOTHING_SAID,
    *,
    held_by: str | None = None,
    document: str | None = None,
) -> Recorded:
    """Record that *people* (short names of the register) were trained in *topics*.

    What is said back names the day of each rule on training that it answers, or why it answers none.

    Raises:
        Unknown: Somebody who is not in the register, or a topic that there is not.
        Retired: Somebody who was out of service by then.
        NotUnderstood: Nobody, or nothing, was named.
    """
    body = make(
        Training,
        people=tuple(dict.fromkeys(people)),
        topics=tuple(dict.fromkeys(_word(Topic, one, "topic") for one in topics)),
        held_by=held_by,
        document=document,
    )
    with place.writing(OFFICE) as desk:
        if said_before(desk, said, Training) is None:
            _check_people(desk, body.people, said.at or desk.now)
        zone = zone_of(desk)
        on, today = (at.astimezone(zone).date() for at in (said.at or desk.now, desk.now))
        before = trainings_asked(desk, zone, on)
        appended = write(desk, body, said)
        after = trainings_asked(desk, zone, on) if before else ()
    missed, answered = ([], []) if appended.repeated else answered_by_training(before, after, today)
    topic_words = ", ".join(topic.replace("_", " ") for topic in body.topics)
    says = f"Trained in {topic_words}: {', '.join(body.people)}."
    cautions = (*answered, AUTHORITY_DECIDES) if missed or answered else ()
    return answer(appended, says, warnings=tuple(missed), cautions=cautions)


def file_paper(
    place: Workplace,
    what: str,
    where: str,
    said: Said = _NOTHING_SAID,
    *,
    document: str | None = None,
    separator: str | None = None,
    about: str | None = None,
    on_request: bool = False,
) -> Recorded:
    """Record that a paper lies at *where*, or can be had from there *on_request*.

    Raises:
        Unknown: No such kind of paper.
        WasteLedgerError: There is no such separator at that time.
    """
    body = make(
        PaperFiled,
        what=_word(PaperKind, what, "kind of paper"),
        place=where,
        document=document,
        separator=separator,
        about=about,
        on_request=True if on_request else None,
    )
    with place.writing(OFFICE) as desk:
        appended = write(desk, body, said)
    words = body.what.replace("_", " ").capitalize()
    lies = f"{words} can be had on request from {body.place}." if on_request else f"{words} is on file: {body.place}."
    return answer(appended, lies, cautions=(ONLY_NOTED,))


def record_statement(
    place: Workplace, topic: str, said: Said = _NOTHING_SAID, *, holds: bool = True, why: str | None = None
) -> Recorded:
    """Record what the person states of the practice; where it does not hold, *why*.

    Raises:
        Unknown: No such topic.
        WhyNeeded: It does not hold and no reason was given, or it holds and one was.
    """
    named = _word(StatementTopic, topic, "topic")
    if holds and why is not None:
        raise WhyNeeded("A reason belongs to what does not hold.", hint="Give --not as well, or say it with --note.")
    if not holds and not (why or "").strip():
        raise WhyNeeded("What does not hold wants its reason.", hint="Say why with --why.")
    body = make(Statement, topic=named, holds=holds, why=why)
    with place.writing(OFFICE) as desk:
        appended = write(desk, body, said)
    words = named.replace("_", " ")
    return answer(appended, f"Stated: {words}." if holds else f"Stated that this does not hold: {words}.")


def _check_people(desk: Desk, people: Iterable[str], when: datetime) -> None:
    for ref in people:
        line = desk.find_line("person", ref)
        if line is None:
            there = ", ".join(one.ref for one in desk.lines("person")) or "nobody"
            raise Unknown(f"“{ref}” is not somebody of this practice.", hint=f"In the register: {there}.")
        if line.retired_at is not None and line.retired_at <= when:
            raise Retired("person", ref, line.retired_at)


def _word(words: type[Word], typed: str, noun: str) -> Word:
    try:
        return words(typed)
    except ValueError as error:
        raise Unknown(f"There is no {noun} “{typed}”.", hint=f"There are: {', '.join(words)}.") from error
