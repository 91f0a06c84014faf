"""Corrections: an entry made void, replaced, or reinstated, always with a reason."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

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
)
from wasteledger.model.facts import Entry, replaced_body
from wasteledger.model.filings import DutyDone, OtherWaste, PaperFiled, ReminderSent, Statement, Training
from wasteledger.model.procedures import Procedures
from wasteledger.model.register import Register
from wasteledger.model.values import read_utc, utc_text
from wasteledger.office.bodies import make
from wasteledger.office.corrected_fields import FieldUnknown, changed_body, differences
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
    zone_of,
)

__all__ = ["OFFICE_KINDS", "FieldUnknown", "correct_entry"]

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
            ``gross=812g``, ``level=65%``); fields that are not named stay as they are. The answer says what each
            of them was, and is.
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
        told: tuple[str, ...] = ()
        if action == "replace":
            if not changes and happened_at is None:
                raise NotUnderstood("Nothing was said that would be right.", hint="Give --set field=value, or --at.")
            replacement = _repeated(said_before(desk, said, Correction), seq, changes or {}, happened_at)
            if replacement is None:
                replacement, told = _replacement(place, desk, desk.get_entry(seq), changes or {}, happened_at)
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
    return answer(appended, says, warnings=lesson.warnings, cautions=told, learned=lesson.says)


def _repeated(
    before: Correction | None, seq: int, changes: Mapping[str, str], happened_at: datetime | None
) -> Replacement | None:
    """What the same key put in before, if the same changes would leave it as it is."""
    if before is None or before.replacement is None or before.corrects != seq:
        return None
    put_in = replaced_body(before.replacement)
    same_time = happened_at is None or utc_text(happened_at) == before.replacement.happened_at
    return before.replacement if same_time and changed_body(put_in, changes) == put_in else None


def _replacement(
    place: Workplace, desk: Desk, target: Entry, changes: Mapping[str, str], happened_at: datetime | None
) -> tuple[Replacement, tuple[str, ...]]:
    """What is put in, and what it changes of that which counted until now, in words."""
    body, when = target.body, target.happened_at
    governing = desk.corrections_of([target.seq]).get(target.seq)
    if governing is not None:
        earlier = desk.get_entry(governing[0]).body
        if isinstance(earlier, Correction) and earlier.replacement is not None:
            body, when = replaced_body(earlier.replacement), read_utc(earlier.replacement.happened_at)
    changed = changed_body(body, changes)
    if isinstance(changed, DutyDone):
        check_duty_done(desk, changed, body if isinstance(body, DutyDone) else None)
    if isinstance(changed, Receipt) and not (
        isinstance(body, Receipt) and (changed.received_on, changed.pickup) == (body.received_on, body.pickup)
    ):
        check_received_on(place, desk, changed.pickup, changed.received_on)
    told = [*differences(body, changed)]
    if happened_at is not None and utc_text(happened_at) != utc_text(when):
        zone = zone_of(desk)
        was, now = (f"{moment.astimezone(zone):%Y-%m-%d %H:%M}" for moment in (when, happened_at))
        told.append(f"It happened at {was} before, at {now} now.")
    replacement = make(
        Replacement,
        kind=changed.KIND,
        version=changed.VERSION,
        happened_at=utc_text(happened_at or when),
        body=body_text(changed),
    )
    return replacement, tuple(told)
