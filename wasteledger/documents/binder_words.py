"""Sentences of the inspection binder: corrections in full, and what stands out."""

from __future__ import annotations

from datetime import datetime

from wasteledger.documents.fill import _wall, _Words
from wasteledger.documents.papers import CorrectionRow, Coverage, Shipment
from wasteledger.model.entries import Correction
from wasteledger.model.facts import replaced_body
from wasteledger.model.values import read_utc
from wasteledger.office.enquiries import Filter, Reader, Verification, describe
from wasteledger.office.workplace import Workplace

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
        f"Pickup {one.number} left {one.days_open} days ago; the proof of recycling is not recorded."
        for one in shipments
        if one.days_open is not None
    ]
    found += [f"Pickup {one.number}: {one.difference}" for one in shipments if one.difference]
    return tuple(found)


def _said(place: Workplace, at: datetime, words: str) -> str:
    return f"{place.local(at):%Y-%m-%d %H:%M}: {words}"
