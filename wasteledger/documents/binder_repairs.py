"""The binder's repairs: what was found at a separator, what was done about it, and what is still open."""

from __future__ import annotations

from datetime import datetime

from wasteledger.documents.fill import _day, _Words
from wasteledger.documents.papers import RepairRow
from wasteledger.model.entries import Repair, SeparatorInspection, UnitReplaced
from wasteledger.model.facts import Subject
from wasteledger.office.enquiries import Reader
from wasteledger.office.workplace import Workplace


def repairs_between(
    place: Workplace, reader: Reader, words: _Words, begin: datetime, end: datetime
) -> tuple[RepairRow, ...]:
    """Repairs, replacements and exchanged units in [*begin*, *end*), each with the day on which the fault was found."""
    rows: list[tuple[datetime, RepairRow]] = []
    for one in reader.separators(retired=True):
        name, found_on = one.details.name, None
        model = f"{one.details.make} {one.details.model}".strip()
        for fact in reader.facts_about(Subject("separator", one.separator)):
            body, day = fact.body, place.local(fact.happened_at).date()
            row = None
            match body:
                case SeparatorInspection(result="malfunction"):
                    found_on = found_on or day
                case Repair():
                    person, what = body.done_by, f"{name} {body.action}: {body.description}"
                    made = f"{body.make} {body.model}".strip()
                    row, found_on = RepairRow(fact.seq, found_on, day, person, what, made), None
                case UnitReplaced():
                    what = f"{name}: retaining unit replaced, the old one unopened into {body.container}"
                    row = RepairRow(
                        fact.seq,
                        None,
                        day,
                        body.done_by or words.name("person", fact.recorded_by),
                        what,
                        model,
                    )
            if row is not None and begin <= fact.happened_at < end:
                rows.append((fact.happened_at, row))
    return tuple(row for _, row in sorted(rows, key=lambda pair: (pair[0], pair[1].entry)))


def open_malfunctions(place: Workplace, reader: Reader, end: datetime) -> tuple[str, ...]:
    """Separators found not to work properly before *end* and not repaired since, in sentences."""
    return tuple(
        f"{one.details.name} was found not to work properly on {_day(place, one.malfunction_at)} "
        f"(entry {one.malfunction_seq}); no repair or replacement is recorded."
        for one in reader.separators(retired=True)
        if one.malfunction_seq and one.malfunction_at is not None and one.malfunction_at < end
    )
