"""Corrections: an entry made void, replaced, or reinstated, always with a reason."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from difflib import get_close_matches
from types import UnionType
from typing import Annotated, Union, get_args, get_origin

from wasteledger.errors import NotUnderstood
from wasteledger.ledger.append import Desk
from wasteledger.ledger.chain import body_text
from wasteledger.model.entries import (
    Correction,
    Milestone,
    PickupBooked,
    PickupReleased,
    Receipt,
    Repair,
    Replacement,
    read_body,
)
from wasteledger.model.facts import Entry, replaced_body
from wasteledger.model.filings import DutyDone, OtherWaste, PaperFiled, ReminderSent, Statement, Training
from wasteledger.model.procedures import Procedures
from wasteledger.model.register import Register
from wasteledger.model.values import Body, read_utc, utc_text
from wasteledger.office.bodies import make
from wasteledger.office.days import checked_day
from wasteledger.office.duties import check_duty_done
from wasteledger.office.learning import current_prior
from wasteledger.office.lessons import lesson_of
from wasteledger.office.other_waste import check_waste_counted_once
from wasteledger.office.pickups import check_received_on
from wasteledger.office.procedures import check_counted_once
from wasteledger.office.workplace import (
    EVERYBODY,
    OFFICE,
    Recorded,
    Said,
    Workplace,
    answer,
    check_role,
    said_before,
    write,
)
from wasteledger.units import Mass, Volume

_NOTHING_SAID = Said()

OFFICE_KINDS = (
    Register,
    PickupBooked,
    PickupReleased,
    Receipt,
    Repair,
    Milestone,
    DutyDone,
    Training,
    PaperFiled,
    Statement,
    OtherWaste,
    ReminderSent,
)
"""What only the office records, only the office corrects: papers rest on it."""


class FieldUnknown(NotUnderstood):
    """The entry has no such field, or it cannot be said that way."""

    code = "field-unknown"


def correct_entry(
    place: Workplace,
    seq: int,
    reason: str,
    said: Said = _NOTHING_SAID,
    *,
    action: str = "void",
    changes: Mapping[str, str] | None = None,
    happened_at: datetime | None = None,
) -> Recorded:
    """Correct entry *seq*; the entry itself stays as it was written.

    Args:
        place: Where, and by whom.
        seq: The entry that is wrong (never a correction: name the entry itself again).
        reason: Why; it is shown wherever the entry is.
        said: With which key, with which note.
        action: ``void``, ``replace`` or ``reinstate``.
        changes: For a replacement: fields and their right values, as typed (``container=C-2``, ``condition=debris``,
            ``gross=812g``); fields that are not named stay as they are.
        happened_at: For a replacement: the right time.

    Raises:
        FieldUnknown: No such field.
        NotCorrectable: That entry cannot be corrected that way.
        Contradicts: A later entry could no longer be.
        BeyondReckoning: A day's year cannot be reckoned with.
        CountedTwice: Another entry holds the same days' restorations.
        NotUnderstood: A paper's day would lie before the release or in the future.
    """
    with place.writing(EVERYBODY) as desk:
        if isinstance(desk.get_entry(seq).body, OFFICE_KINDS):
            check_role(desk, place.by or "", OFFICE)
        replacement = None
        if action == "replace":
            if not changes and happened_at is None:
                raise NotUnderstood("Nothing was said that would be right.", hint="Give --set field=value, or --at.")
            replacement = _repeated(said_before(desk, said, Correction), seq, changes or {}, happened_at)
            if replacement is None:
                replacement = _replacement(desk, desk.get_entry(seq), changes or {}, happened_at)
                paper = replaced_body(replacement)
                if isinstance(paper, DutyDone):
                    check_duty_done(desk, paper)
                if isinstance(paper, Receipt) and changes and {"received_on", "pickup"} & changes.keys():
                    check_received_on(place, desk, paper.pickup, paper.received_on)
        body = make(Correction, corrects=seq, action=action, reason=reason, replacement=replacement)
        believed = current_prior(desk)
        appended = write(desk, body, Said(None, said.key, said.note))
        lesson = lesson_of(desk, appended, believed)
        if Procedures.KIND in (desk.get_entry(seq).kind, replacement.kind if replacement is not None else ""):
            check_counted_once(desk, seq)
        if OtherWaste.KIND in (desk.get_entry(seq).kind, replacement.kind if replacement is not None else ""):
            check_waste_counted_once(desk, seq)
    what = {"void": "no longer counts", "replace": "counts as corrected", "reinstate": "counts again"}[body.action]
    says = f"Entry {seq} {what}; it stays in the history with the reason."
    return answer(appended, says, warnings=lesson.warnings, learned=lesson.says)


def _repeated(
    before: Correction | None, seq: int, changes: Mapping[str, str], happened_at: datetime | None
) -> Replacement | None:
    """What the same key put in before, if the same changes would leave it as it is."""
    if before is None or before.replacement is None or before.corrects != seq:
        return None
    put_in = replaced_body(before.replacement)
    same_time = happened_at is None or utc_text(happened_at) == before.replacement.happened_at
    return before.replacement if same_time and _changed(put_in, changes) == put_in else None


def _replacement(desk: Desk, target: Entry, changes: Mapping[str, str], happened_at: datetime | None) -> Replacement:
    body, when = target.body, target.happened_at
    governing = desk.corrections_of([target.seq]).get(target.seq)
    if governing is not None:
        earlier = desk.get_entry(governing[0]).body
        if isinstance(earlier, Correction) and earlier.replacement is not None:
            body, when = replaced_body(earlier.replacement), read_utc(earlier.replacement.happened_at)
    changed = _changed(body, changes)
    return make(
        Replacement,
        kind=changed.KIND,
        version=changed.VERSION,
        happened_at=utc_text(happened_at or when),
        body=body_text(changed),
    )


def _changed(body: Body, changes: Mapping[str, str]) -> Body:
    fields = json.loads(body_text(body))
    known = type(body).model_fields
    for name, typed in changes.items():
        holder, _, inner = name.partition(".")
        if holder not in known:
            raise _no_field(body.KIND, name, known)
        if inner:
            nested = fields.get(holder)
            if not isinstance(nested, dict):
                raise FieldUnknown(f"“{holder}” has no parts here.", hint="Look at the entry with --json.")
            nested[inner] = _value(inner, typed, nested.get(inner))
        elif isinstance(fields.get(holder), dict) and "mass_mg" in fields[holder]:
            # A reading of a scale: the mass changes, the scale that was used stays.
            fields[holder] = fields[holder] | {"mass_mg": Mass.parse(typed).mg, "typed": typed}
        elif typed == "":
            fields.pop(holder, None)
        else:
            old = "" if _takes_text(known[holder].annotation) else fields.get(holder)
            fields[holder] = _value(holder, typed, old)
    changed = read_body(body.KIND, body.VERSION, json.dumps(fields))
    for name in changes:
        day = getattr(changed, name, None)
        if isinstance(day, date) and not isinstance(day, datetime):
            checked_day(day)
    return changed


def _no_field(kind: str, name: str, known: Iterable[str]) -> FieldUnknown:
    """No such field, and which may have been meant."""
    # “Unit” begins with a vowel that is none to the ear.
    article = "An" if kind[0] in "aeio" else "A"
    near = get_close_matches(name.casefold(), known, n=1)
    meant = f"Did you mean {near[0]}? " if near else ""
    return FieldUnknown(
        f"{article} {kind.replace('_', ' ')} entry has no “{name}”.", hint=f"{meant}It has {', '.join(sorted(known))}."
    )


def _value(name: str, typed: str, old: object) -> object:
    """What was typed as the field wants it: masses and volumes with units, the rest as JSON or plain text."""
    if name.endswith("_mg") and not typed.isdecimal():
        return Mass.parse(typed).mg
    if name.endswith("_ml") and not typed.isdecimal():
        return Volume.parse(typed).ml
    if isinstance(old, str):
        return typed
    if isinstance(old, list):
        if not typed.startswith("["):
            return [part.strip() for part in typed.split(",")]
        try:
            return json.loads(typed)
        except ValueError as error:
            raise FieldUnknown(f"“{typed}” is no list.", hint="Write one, two, three, or a JSON list.") from error
    try:
        return json.loads(typed)
    except ValueError:
        return typed


def _takes_text(annotation: object) -> bool:
    """Whether a field holds text: “12” said for a note is a note, and no number."""
    if isinstance(annotation, type):
        return issubclass(annotation, str)
    origin, parts = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return _takes_text(parts[0])
    return origin in (Union, UnionType) and any(_takes_text(part) for part in parts)
