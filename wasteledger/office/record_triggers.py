"""The records that ordinances keep for a term, each with the entry that made it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, tzinfo

from wasteledger.ledger.reader import Reader
from wasteledger.model import entries as kinds
from wasteledger.model.facts import Fact
from wasteledger.model.filings import DutyDone, PaperFiled, PaperKind, Training
from wasteledger.office.duty_triggers import subject_of
from wasteledger.office.newest import newest_fact
from wasteledger.office.separator_history import installed
from wasteledger.ordinance import Duty, Event, Lasting, Record, Trigger
from wasteledger.ordinance.clocks import SITE

DEPOSIT_LOG = "deposit log"
"""Subject of the deposit log: it is kept as one, as long as its last line asks."""

_OF_KIND: dict[str, tuple[Record, ...]] = {
    kinds.SeparatorInspection.KIND: (Record.SEPARATOR_INSPECTION,),
    kinds.UnitReplaced.KIND: (Record.RETAINING_UNIT_REPLACEMENT,),
    kinds.Repair.KIND: (Record.SEPARATOR_REPAIR,),
    kinds.Receipt.KIND: (Record.RECEIPT,),
    Training.KIND: (Record.TRAINING,),
}

_OF_DUTY: dict[str, Record] = {
    Duty.ONE_TIME_REPORT.value: Record.ONE_TIME_REPORT,
    Duty.CERTIFY.value: Record.CERTIFICATION,
    Duty.REPORT_AMOUNTS.value: Record.AMOUNT_REPORT,
    Duty.REPORT_MISSING_RECEIPT.value: Record.EXCEPTION_REPORT,
    Duty.EXPECT_CONSIGNEE_RETURN.value: Record.CONSIGNEE_RETURN,
}

_OF_PAPER = {
    PaperKind.OPERATING_MANUAL: Record.OPERATING_MANUAL,
    PaperKind.CERTIFICATE: Record.SEPARATOR_FILE,
    PaperKind.ONE_TIME_REPORT: Record.ONE_TIME_REPORT,
    PaperKind.CERTIFICATION: Record.CERTIFICATION,
}

_READ = (*_OF_KIND, kinds.PickupReleased.KIND, kinds.Milestone.KIND, DutyDone.KIND, PaperFiled.KIND)


def record_triggers_of(reader: Reader, zone: tzinfo) -> tuple[Trigger, ...]:
    """Every record that an ordinance may keep for a term, by local days in *zone*."""
    facts = reader.facts_between(kinds=_READ)
    return (*_of_facts(facts, zone), *_of_separators(reader, zone), *_deposit_log(reader, zone))


def _of_facts(facts: tuple[Fact, ...], zone: tzinfo) -> Iterator[Trigger]:
    ends = [(fact.happened_at, fact.body.what) for fact in facts if isinstance(fact.body, kinds.Milestone)]
    for fact in facts:
        on = fact.happened_at.astimezone(zone).date()
        ended = _ended_since(fact.happened_at, ends)
        for record in _OF_KIND.get(fact.body.KIND, ()):
            yield Trigger(Event.RECORD_MADE, on, _subject(fact), fact.seq, record=record, ended=ended)
        match fact.body:
            case kinds.PickupReleased(document=document):
                for record in (Record.PICKUP, *((Record.MANIFEST, Record.CONSIGNMENT_NOTE) if document else ())):
                    yield Trigger(Event.RECORD_MADE, on, _subject(fact), fact.seq, record=record, ended=ended)
            case kinds.Milestone(what="one_time_report_filed"):
                yield Trigger(Event.RECORD_MADE, on, SITE, fact.seq, record=Record.ONE_TIME_REPORT, ended=ended)
            case DutyDone(duty=duty) if duty in _OF_DUTY:
                # A report of what did not come is kept from the day on which it was due (40 CFR 262.40(b)).
                late = _OF_DUTY[duty] is Record.EXCEPTION_REPORT
                made_on = fact.body.due_on or on if late else on
                subject = subject_of(fact.body)
                yield Trigger(Event.RECORD_MADE, made_on, subject, fact.seq, record=_OF_DUTY[duty], ended=ended)
            case PaperFiled(what=what) if what in _OF_PAPER:
                yield Trigger(Event.RECORD_MADE, on, _subject(fact), fact.seq, record=_OF_PAPER[what], ended=ended)


def _subject(fact: Fact) -> str:
    for what in ("pickup", "separator"):
        ref = getattr(fact.body, what, None)
        if isinstance(ref, str):
            return f"{what} {ref}"
    return SITE


def _ended_since(made_at: datetime, milestones: Sequence[tuple[datetime, str]]) -> frozenset[Lasting]:
    after = {what for at, what in milestones if at >= made_at}
    ended: set[Lasting] = set()
    if "ownership_transferred" in after:
        ended |= {Lasting.UNTIL_TRANSFER, Lasting.UNTIL_CLOSURE_OR_TRANSFER}
    if "practice_closed" in after:
        ended |= {Lasting.UNTIL_CLOSURE_OR_TRANSFER, Lasting.IN_USE}
    return frozenset(ended)


def _of_separators(reader: Reader, zone: tzinfo) -> Iterator[Trigger]:
    """The manual and the file of each separator in use, as far as the register says that they are there."""
    for one in reader.separators():
        device, subject = installed(reader, one, zone), f"separator {one.separator}"
        on, seq = device.on, device.registered_seq
        if one.details.manual_on_file:
            yield Trigger(Event.RECORD_MADE, on, subject, seq, record=Record.OPERATING_MANUAL)
        yield Trigger(Event.RECORD_MADE, on, subject, seq, record=Record.SEPARATOR_FILE)


def _deposit_log(reader: Reader, zone: tzinfo) -> Iterator[Trigger]:
    last = newest_fact(reader, kinds.Swap, kinds.Deposit, kinds.UnitReplaced)
    if last is not None:
        on = last.happened_at.astimezone(zone).date()
        yield Trigger(Event.RECORD_MADE, on, DEPOSIT_LOG, last.seq, record=Record.DEPOSIT_LOG)
