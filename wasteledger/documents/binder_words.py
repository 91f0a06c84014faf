"""Sentences of the inspection binder: corrections in full, and what stands out."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date, datetime

from wasteledger.documents.fill import _wall, _Words
from wasteledger.documents.papers import CorrectionRow, Coverage, Shipment
from wasteledger.model.entries import Correction
from wasteledger.model.facts import replaced_body
from wasteledger.model.findings import Weight
from wasteledger.model.values import read_utc
from wasteledger.office.answers import Answers, answers
from wasteledger.office.due import DueList
from wasteledger.office.enquiries import Filter, Reader, Verification, describe
from wasteledger.office.words import short_day
from wasteledger.office.workplace import Workplace

_MOST_ENTRIES = 4
# Blanks without a reason are counted by the binder itself.
_TOLD_ALREADY = frozenset({"explained"})
_NOT_COUNTED = "does not count"


def corrections_between(
    place: Workplace, reader: Reader, words: _Words, begin: datetime, end: datetime
) -> tuple[CorrectionRow, ...]:
    """Corrections made in [*begin*, *end*), or of an entry of that time: what stood before, and what counts since."""
    rows: list[CorrectionRow] = []
    stands: dict[int, str] = {}
    for entry in reader.entries(Filter(kinds=(Correction.KIND,), by_recorded=True)):
        body = entry.body
        if not isinstance(body, Correction):
            continue
        target = reader.get_entry(body.corrects)
        written = _said(place, target.happened_at, describe(target, place.zone))
        before, after = stands.get(body.corrects, written), written
        if body.action == "void":
            after = _NOT_COUNTED
        elif body.replacement is not None:
            put_in = describe(replaced_body(body.replacement), place.zone)
            after = _said(place, read_utc(body.replacement.happened_at), put_in)
        stands[body.corrects] = after
        if begin <= entry.recorded_at < end or begin <= target.happened_at < end:
            made_at, by = _wall(place, entry.recorded_at), words.name("person", entry.recorded_by)
            rows.append(CorrectionRow(entry.seq, made_at, by, body.corrects, before, after, body.reason))
    return tuple(rows)


def findings_of(checked: Verification, covered: Coverage, shipments: tuple[Shipment, ...]) -> tuple[str, ...]:
    """What stands out in the journal, in the looks and in the shipments."""
    found = [f"{one.place}: {one.says}" for one in checked.findings]
    if silent := sum(one.looks for one in covered.blanks if not one.reason):
        found.append(f"{silent} of {covered.looks_due} looks that were due were not made, and no reason is given.")
    found += [
        f"Pickup {one.number} left {one.days_open} days ago (entry {one.manifest_entry}); {_awaited(one)} recorded."
        for one in shipments
        if one.days_open is not None
    ]
    found += [f"Pickup {one.number}: {one.difference}" for one in shipments if one.difference]
    return tuple(found)


def answers_for(place: Workplace, since: date, until: date) -> Answers | None:
    """What inspectors ask, answered for the days of the binder that have come; None where none has."""
    last = min(until, place.today())
    return answers(place, since=since, until=last) if since <= last else None


def gaps_of(found: Answers | None, rules: Collection[str], shipments: tuple[Shipment, ...]) -> tuple[str, ...]:
    """What inspectors ask here and the journal lacks: each such question once, with the entries that it rests on.

    *rules* are the ids of the ordinances in force. Left out is what other places ask, and what is said of an
    open shipment and of blanks already.
    """
    if found is None:
        return ()
    said = {frozenset((one.manifest_entry,)) for one in shipments if one.days_open is not None}
    lines = [f"The journal begins on {short_day(found.begins_on)}; it shows nothing of the days before."]
    lines = lines if found.begins_within else []
    for one in found.answers:
        elsewhere = one.question.belongs_to and not any(one.question.is_of(rule) for rule in rules)
        if elsewhere or one.question.answer in _TOLD_ALREADY:
            continue
        points = [_sentence(point.says, point.seqs) for point in one.missing if frozenset(point.seqs) not in said]
        lines += [" ".join((one.question.asks, *points))] if points else []
    return tuple(lines)


def pressing_of(listed: DueList) -> tuple[str, ...]:
    """What was overdue on the day the binder was made, what lacks an interval, and what is wrong with a rule."""
    return tuple(dict.fromkeys(_pressing(listed)))


def _pressing(listed: DueList) -> Iterator[str]:
    for asked in (one for one in listed.pressing if listed.state_of(one).value == "overdue"):
        entry = f", entry {asked.trigger_seq}" if asked.trigger_seq else ""
        late = f"Overdue, due {short_day(asked.due_on)}"
        yield f"{late}: {asked.title}, {asked.subject} ({asked.ordinance_title}{entry})."
    for gap in listed.undated:
        if gap.is_gap:
            yield f"{gap.title}, {gap.subject}: {gap.why}"
    for one in listed.findings:
        if one.weight is not Weight.NOTE:
            yield _sentence(f"{one.place}: {one.says}", one.seqs)


def _awaited(shipment: Shipment) -> str:
    if shipment.receipt_entry is None:
        return "neither a receipt nor the proof of recycling is"
    return "the proof of recycling is not"


def _sentence(says: str, seqs: Collection[int]) -> str:
    """A sentence with the numbers of its entries before the full stop."""
    if not seqs:
        return says
    if len(seqs) > _MOST_ENTRIES:
        entries = f"{len(seqs)} entries, {min(seqs)} to {max(seqs)}"
    else:
        entries = f"{'entry' if len(seqs) == 1 else 'entries'} {', '.join(map(str, seqs))}"
    return f"{says.removesuffix('.')} ({entries})."


def _said(place: Workplace, at: datetime, words: str) -> str:
    return f"{place.local(at):%Y-%m-%d %H:%M}: {words}"
