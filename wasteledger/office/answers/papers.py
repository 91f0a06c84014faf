"""Answers about people and papers: trainings, plans, invoices, what was explained, what is forbidden."""

from __future__ import annotations

from collections.abc import Iterator

from wasteledger.model.entries import PickupReleased, Receipt, Repair, SeparatorInspection, UnitReplaced
from wasteledger.model.filings import DutyDone, OtherWaste, PaperKind, Training
from wasteledger.model.register import CarrierDetails, CleanerDetails, PersonDetails, Role
from wasteledger.office.answers.inquiry import Inquiry, Noted, Registered
from wasteledger.office.answers.points import Point, here, missing, outside, shown, some, times
from wasteledger.office.answers.separators import no_separator, separators
from wasteledger.office.answers.weights_back import not_back, papers_that_disagree
from wasteledger.office.words import count, short_day
from wasteledger.ordinance import Duty

_TOLD = frozenset({Duty.NOTIFY_AUTHORITY, Duty.CERTIFY, Duty.ONE_TIME_REPORT})
_TRAIN = "wasteledger training --who … --topic …"


def staff_know(asked: Inquiry) -> Iterator[Point]:
    """Question 13: who was trained in what; the rest is to be asked of them."""
    trained: dict[str, set[str]] = {}
    seqs: list[int] = []
    staff = {one.ref: one.details.name for one in _staff(asked)}
    for noted in asked.until_end(Training):
        for ref in noted.body.people:
            if ref in staff:
                trained.setdefault(ref, set()).update(topic.replace("_", " ") for topic in noted.body.topics)
                seqs.append(noted.seq)
    for ref, topics in sorted(trained.items()):
        yield shown(f"{staff[ref]} was trained in {', '.join(sorted(topics))}.", _of_person(asked, ref))
    never = [name for ref, name in sorted(staff.items()) if ref not in trained]
    if never:
        yield missing(f"No training is recorded of: {some(never, 8)}.", do=_TRAIN)
    yield here("The people who work here can be asked.")


def training_records(asked: Inquiry) -> Iterator[Point]:
    """Question 14: the trainings of the period, and who had none in it."""
    found = asked.within(Training)
    for noted in found:
        body = noted.body
        topics = ", ".join(topic.replace("_", " ") for topic in body.topics)
        people = some([asked.person(ref) for ref in body.people], 8)
        by = f", held by {body.held_by}" if body.held_by else ""
        paper = f", {body.document}" if body.document else ""
        yield shown(f"{short_day(noted.on)}: {people} in {topics}{by}{paper}.", (noted.seq,))
    if not found:
        earlier = asked.until_end(Training)[-1:]
        last = f"; the last was on {short_day(earlier[0].on)}" if earlier else ""
        yield missing(f"No training is recorded in the period{last}.", (one.seq for one in earlier), do=_TRAIN)
        return
    trained = {ref for noted in found for ref in noted.body.people}
    without = [one for one in _staff(asked) if one.ref not in trained]
    if without:
        names = some([one.details.name for one in without], 8)
        yield missing(f"None in the period of: {names}.", (one.seq for one in without), do=_TRAIN)


def recycler_instructions(asked: Inquiry) -> Iterator[Point]:
    """Question 21."""
    found = list(asked.filed(PaperKind.RECYCLER_INSTRUCTIONS, "Recycler's instructions"))
    yield from found
    if not found:
        do = "wasteledger paper recycler_instructions --place …"
        yield missing("No instructions of the recycler are noted.", do=do)
    for one in asked.registered(CarrierDetails):
        if one.details.sharing_rule:
            yield shown(f"{one.details.name} on sharing a container: {one.details.sharing_rule}.", (one.seq,))
    yield here("How it is packed can be seen at the containers.")


def papers_of_shipments(asked: Inquiry) -> Iterator[Point]:
    """Question 23: documents of what left and what came back, and invoices and contracts on file."""
    left = asked.within(PickupReleased)
    back = [noted for noted in asked.until_end(Receipt) if noted.body.pickup in {one.body.pickup for one in left}]
    if left:
        with_paper = [noted for noted in left if noted.body.document]
        received = {noted.body.pickup for noted in back}
        yield shown(
            f"{count(len(left), 'pickup')}: {len(with_paper)} with the number of a shipping paper, "
            f"{len(received)} with a receipt.",
            [*(noted.seq for noted in left), *(noted.seq for noted in back)],
        )
        bare = [noted for noted in left if not noted.body.document]
        if bare:
            refs = some([noted.body.pickup for noted in bare])
            yield missing(f"No number of a shipping paper: {refs}.", (noted.seq for noted in bare))
        for noted in left:
            if noted.body.pickup not in received:
                yield not_back(asked, noted, asked.later(Receipt), "No receipt of")
        yield from papers_that_disagree(asked, left)
    else:
        yield shown("Nothing left in the period.")
    filed = [
        *asked.filed(PaperKind.INVOICE, "Invoice"),
        *asked.filed(PaperKind.CONTRACT, "Contract"),
    ]
    yield from filed
    if not filed:
        yield missing("No invoice or contract is noted.", do="wasteledger paper invoice --about … --place …")


def contractors(asked: Inquiry) -> Iterator[Point]:
    """Question 26: who carried, who received, who worked on the separator."""
    found: dict[tuple[str, str], list[int]] = {}
    for noted in asked.within(PickupReleased):
        found.setdefault(("took waste away", noted.body.carrier.name), []).append(noted.seq)
        found.setdefault(("received it", noted.body.facility.name), []).append(noted.seq)
    worked: list[Noted[Repair] | Noted[UnitReplaced] | Noted[SeparatorInspection]] = [
        *asked.within(Repair),
        *asked.within(UnitReplaced),
        *asked.within(SeparatorInspection),
    ]
    for one in worked:
        if one.body.done_by:
            found.setdefault(("worked on the separator", one.body.done_by), []).append(one.seq)
    for duty in asked.within(DutyDone):
        if duty.body.done_by:
            did = duty.body.duty.replace("-", " ")
            found.setdefault((f"did “{did}”", duty.body.done_by), []).append(duty.seq)
    for (what, who), seqs in found.items():
        yield shown(f"{who}: {what}, {times(len(seqs))}.", seqs)
    if not found:
        yield shown("Nobody is named in the period.")


def maintenance_plan(asked: Inquiry) -> Iterator[Point]:
    """Question 29."""
    found = list(asked.filed(PaperKind.MAINTENANCE_PLAN, "Plan"))
    yield from found
    if not found:
        yield missing("No such plan is noted.", do="wasteledger paper maintenance_plan --place …")


def other_chemicals(asked: Inquiry) -> Iterator[Point]:
    """Question 31: out of scope, but for what was typed in for the monthly count, and waterline products."""
    yield outside("This ledger keeps amalgam and traps; ask for the practice's own records of these.")
    typed = asked.within(OtherWaste)
    if typed:
        names = some(sorted({noted.body.name for noted in typed}))
        yield outside(f"Typed in for the monthly count of hazardous waste: {names}.", (one.seq for one in typed))
    for one in asked.registered(CleanerDetails):
        if one.details.used_in == "waterline":
            yield outside(f"Waterline product in the register: {one.details.name}.", (one.seq,))


def maintenance_book(asked: Inquiry) -> Iterator[Point]:
    """Question 32: the four things of the checklist, from the same entries as elsewhere."""
    there = separators(asked)
    if not there:
        yield no_separator()
    book = [noted.seq for noted in asked.within(SeparatorInspection)]
    book += [noted.seq for noted in asked.within(UnitReplaced)]
    book += [noted.seq for noted in asked.within(Repair)]
    if book:
        yield shown(f"Inspections, exchanges and repairs in the journal: {len(book)} in the period.", book)
    elif there:
        yield missing("No inspection, exchange or repair in the period.")
    done = [noted for noted in asked.until_end(DutyDone) if asked.is_theirs(noted.body.ordinance)]
    tests = [noted for noted in done if noted.body.duty == Duty.TEST_SEPARATOR]
    theirs = [ordinance for ordinance in asked.ordinances if asked.is_theirs(ordinance.id)]
    asks = any(rule.duty == Duty.TEST_SEPARATOR for ordinance in theirs for rule in ordinance.rules)
    if tests:
        yield shown(f"Technical test on {short_day(tests[-1].on)}{_before(asked, tests[-1])}.", (tests[-1].seq,))
    elif asks:
        yield missing("No technical test is noted, which a rule in force asks.", do="wasteledger done RULE")
    proofs = [noted for noted in asked.within(Receipt) if noted.body.proves in ("recycled", "both")]
    if proofs:
        yield shown(f"{count(len(proofs), 'proof')} of recycling came in the period.", (one.seq for one in proofs))
    else:
        yield missing("No proof of recycling came in the period.")
    told = [noted for noted in done if noted.body.duty in _TOLD]
    papers = list(asked.filed(PaperKind.CERTIFICATION, "Certification"))
    if told:
        last = told[-1]
        words = f"The authority was told on {short_day(last.on)} ({last.body.duty.replace('-', ' ')})"
        yield shown(f"{words}{_before(asked, last)}.", (last.seq,))
    yield from papers
    if not told and not papers:
        yield missing("No notice to an authority is noted.", do="wasteledger done RULE")
    yield here("Labels can be seen on the containers.")


def _staff(asked: Inquiry) -> list[Registered[PersonDetails]]:
    """Who works here: an inspector reads, and is not to be trained."""
    return [one for one in asked.registered(PersonDetails) if set(one.details.roles) != {Role.INSPECTOR}]


def _of_person(asked: Inquiry, ref: str) -> list[int]:
    return [noted.seq for noted in asked.until_end(Training) if ref in noted.body.people]


def _before(asked: Inquiry, noted: Noted[DutyDone]) -> str:
    """A test comes every few years and a notice is given once: what was done before the period is said to be so."""
    return ", before the period" if noted.on < asked.since else ""
