"""The binder's rows on what the office filed, taught, noted and stated, and which papers of a separator are on file."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from wasteledger.documents.fill import _Words
from wasteledger.documents.papers import OfficeRow
from wasteledger.model.entries import LineCleaning, Milestone
from wasteledger.model.facts import Fact
from wasteledger.model.filings import DutyDone, OtherWaste, PaperFiled, PaperKind, Statement, Training
from wasteledger.model.standing import SeparatorStanding
from wasteledger.office.enquiries import Reader
from wasteledger.office.rules import registered_ordinances
from wasteledger.office.workplace import Workplace
from wasteledger.units import Mass

# What the milestone stands for, as everywhere: the report that this clause asks.
_ONE_TIME = "40 CFR 441.50"


def office_rows(
    place: Workplace, reader: Reader, words: _Words, begin: datetime, end: datetime
) -> tuple[OfficeRow, ...]:
    """What was recorded in [*begin*, *end*) besides amalgam waste, by day; line cleanings are counted in one row.

    Other waste is that of the months which the period touches, whenever it was typed in.
    """
    kinds = (DutyDone.KIND, Training.KIND, PaperFiled.KIND, Statement.KIND, Milestone.KIND)
    titles = _titles(reader)
    rows = [
        row for fact in reader.facts_between(begin, end, kinds) if (row := _row(place, words, fact, titles)) is not None
    ]
    rows += _other_waste(place, reader, words, begin, end)
    rows += _cleanings(place, words, reader.facts_between(begin, end, (LineCleaning.KIND,)))
    return tuple(sorted(rows, key=lambda row: (row.on, row.entry)))


def papers_of(reader: Reader, separator: SeparatorStanding, end: datetime) -> str:
    """Manual, certificate and standard of a separator, as the register or a paper noted before *end* has them."""
    details = separator.details
    noted: dict[PaperKind, int] = {}
    for fact in reader.facts_between(until=end, kinds=(PaperFiled.KIND,)):
        body = fact.body
        if isinstance(body, PaperFiled) and body.separator in (None, separator.separator):
            noted[body.what] = fact.seq
    parts = [
        _paper("operating manual", details.manual_on_file, noted.get(PaperKind.OPERATING_MANUAL, 0))
        or "no manual noted",
        _paper("certificate", bool(details.certificate_on_file), noted.get(PaperKind.CERTIFICATE, 0)),
        f"standard as entered: {details.standard}" if details.standard else "",
    ]
    return ", ".join(filter(None, parts))


def _paper(name: str, is_registered: bool, seq: int) -> str:
    if seq:
        return f"{name} (entry {seq})"
    return name if is_registered else ""


def _titles(reader: Reader) -> dict[tuple[str, str], tuple[str, str]]:
    """What each rule of the register is called, and its name with that of its ordinance."""
    return {
        (ordinance.id, rule.id): (rule.title, f"{rule.id} of {ordinance.title}")
        for ordinance in registered_ordinances(reader)
        for rule in ordinance.rules
    }


def _row(
    place: Workplace, words: _Words, fact: Fact, titles: dict[tuple[str, str], tuple[str, str]]
) -> OfficeRow | None:
    on = place.local(fact.happened_at).date()
    by = words.name("person", fact.recorded_by)
    match fact.body:
        case DutyDone() as done:
            named = " of ".join(filter(None, (done.rule, done.ordinance)))
            what, whose = titles.get((done.ordinance or "", done.rule or ""), (_spelt(done.duty), named))
            about = next(filter(None, (done.separator, done.container, done.pickup)), "")
            return OfficeRow(
                fact.seq,
                on,
                "duty",
                f"{what}, {about}" if about else what,
                whose,
                due_on=done.due_on,
                paper=done.document or "",
                person=done.done_by or by,
            )
        case Milestone(what="one_time_report_filed"):
            return OfficeRow(fact.seq, on, "duty", "One-time report", _ONE_TIME, person=by)
        case Training() as held:
            topics = ", ".join(_spelt(topic) for topic in held.topics)
            people = ", ".join(words.name("person", ref) for ref in held.people)
            return OfficeRow(
                fact.seq, on, "training", topics, people, paper=held.document or "", person=held.held_by or by
            )
        case PaperFiled() as filed:
            about = ", ".join(filter(None, (filed.separator, filed.about)))
            lies = f"on request: {filed.place}" if filed.on_request else filed.place
            paper = ", ".join(filter(None, (filed.document, lies)))
            return OfficeRow(fact.seq, on, "paper", _spelt(filed.what), about, paper=paper, person=by)
        case Statement() as stated:
            topic, why = _spelt(stated.topic), " ".join((stated.why or "").split())
            return OfficeRow(fact.seq, on, "statement", topic, why=why if not stated.holds else "", person=by)
    return None


def _other_waste(
    place: Workplace, reader: Reader, words: _Words, begin: datetime, end: datetime
) -> Iterator[OfficeRow]:
    # The period ends where the next day begins.
    first, last = (f"{place.local(at):%Y-%m}" for at in (begin, end - timedelta(seconds=1)))
    for fact in reader.facts_between(kinds=(OtherWaste.KIND,)):
        body = fact.body
        if isinstance(body, OtherWaste) and first <= body.month <= last:
            amounts = f"{Mass(body.made_mg)}, {body.basis}"
            if body.on_hand_mg is not None:
                amounts += f", {Mass(body.on_hand_mg)} on hand"
            on = place.local(fact.happened_at).date()
            by = words.name("person", fact.recorded_by)
            yield OfficeRow(fact.seq, on, "other_waste", f"{body.name}, {body.month}", amounts, person=by)


def _cleanings(place: Workplace, words: _Words, found: tuple[Fact, ...]) -> Iterator[OfficeRow]:
    if found:
        last = found[-1]
        on, by = place.local(last.happened_at).date(), words.name("person", last.recorded_by)
        yield OfficeRow(last.seq, on, "cleaning", "", count=len(found), person=by)


def _spelt(slug: str) -> str:
    words = slug.replace("_", " ").replace("-", " ")
    return words[:1].upper() + words[1:]
