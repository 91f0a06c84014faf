"""The worksheet for the papers of a pickup: whole units, names, codes, and what only whoever offers it can say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import ReleasedContainer
from wasteledger.model.register import SiteDetails
from wasteledger.office.amounts import Amount, ShippedPickup, shipped_pickup, stated
from wasteledger.office.circumstances import circumstances_of
from wasteledger.office.due import laid_over
from wasteledger.office.provision_words import AUTHORITY_DECIDES
from wasteledger.office.shipments import Shipment, shipment_of
from wasteledger.office.words import count, short_day
from wasteledger.office.workplace import Workplace
from wasteledger.office.worksheet_lines import (
    FORM_PREVAILS,
    Answer,
    Asking,
    Line,
    NamedAmount,
    Part,
    State,
    Worksheet,
    each_once,
)
from wasteledger.office.worksheet_waste import party_words
from wasteledger.ordinance import Duty, Event, Rule, SaidBy, Trigger, in_force, waste_codes
from wasteledger.ordinance.circumstances import Circumstances, condition_of, condition_then, speaking_to
from wasteledger.ordinance.figures import shipment_papers
from wasteledger.ordinance.paper_words import ShipmentName, ShippingPaper
from wasteledger.ordinance.quantities import asks_shipper, whole_units
from wasteledger.ordinance.rules import ShipmentPaper, WasteCode

CLASSED = "Whoever offers it for transport classes it (49 CFR 173.22); nothing here chooses a name, a class or a group."

MEASURED = (
    "A manifest takes a quantity in whole units, by measurement or a reasonable estimate; what a container could hold "
    "is none (instructions to EPA Form 8700-22, item 11, in the appendix to 40 CFR part 262)."
)


DETERMINES = "Whoever makes the waste determines whether it is hazardous, and under which code."

UNTESTED = (
    "These are codes that ordinances name, and for what; none is chosen here. No test of an extract is recorded. "
    f"{DETERMINES}"
)

_BACK = frozenset({ShippingPaper.RECYCLING_PROOF})
"""Papers that cannot go along, since they speak of what was done with the waste afterwards."""

_RETURNS = frozenset({Duty.CHASE_RECEIPT, Duty.EXPECT_CONSIGNEE_RETURN})
"""Duties of waiting for a paper of the receiver's."""


def _deeds(found: Shipment, left_on: date | None) -> tuple[Trigger, ...]:
    """The release, which starts the clocks of its papers."""
    if left_on is None:
        return ()
    return (Trigger(Event.PICKUP_RELEASED, left_on, f"pickup {found.pickup.pickup}", found.pickup.released_seq),)


class _Asked:
    """What the ordinances in force when the pickup left, or now, ask of its papers here."""

    def __init__(self, reader: Reader, found: Shipment, today: date, left_on: date | None) -> None:
        fitting, unfit = laid_over(found.naming.ordinances())
        laid, on = in_force(fitting), left_on or found.pickup.planned_on
        self._left_on = left_on
        self._known = self._known_then(circumstances_of(reader, today, laid, _deeds(found, left_on)))
        heard = speaking_to(laid, self._known)
        self.papers = shipment_papers(heard, on=on)
        self.codes = waste_codes(heard, on=on)
        self.by = tuple(
            Asking.of(one.ordinance, one.provision, condition=self.condition_of(one) or "") for one in self.papers
        )
        self.unfit = tuple(one.says for one in unfit)
        self.returns = tuple(
            SaidBy(ordinance, rule)
            for ordinance in heard
            for rule in ordinance.rules
            if rule.duty in _RETURNS and not rule.is_set_aside and rule.stands_on(on)
        )
        when = "here" if left_on is None else f"in the half year to {left_on:%B %Y}"
        self.not_here = tuple(
            f"{one.provision.id} ({one.provision.title}) is asked of {' and '.join(one.provision.only_for)} only; by "
            f"the monthly count the category {when} is {self._known.categories[one.ordinance.id]}. "
            "See wasteledger generator."
            for one in shipment_papers(laid, on=on)
            if one.provision.only_for
            and self._known.categories.get(one.ordinance.id, one.provision.only_for[0]) not in one.provision.only_for
        )

    def _known_then(self, known: Circumstances) -> Circumstances:
        """What left is judged by the category of its month, as its clocks are; what is planned by that of now."""
        if self._left_on is None:
            return known
        first_on = self._left_on.replace(day=1)
        then = {ordinance: months[first_on] for ordinance, months in known.months.items() if first_on in months}
        return replace(known, categories=then, since={}, unsettled=frozenset())

    def condition_of(self, said: SaidBy[ShipmentPaper] | SaidBy[Rule]) -> str | None:
        """On what a provision's being asked of this pickup rests; None or empty where on nothing."""
        if self._left_on is not None and said.provision.only_for:
            return condition_then(said.provision, said.ordinance, self._known, self._left_on)
        return condition_of(said.provision, said.ordinance, self._known)

    def of(self, *names: ShipmentName) -> tuple[str, ...]:
        """The provisions that want one of these in the record of a pickup."""
        wanted = frozenset(names)
        return tuple(
            one.provision.id
            for one in self.papers
            if wanted.intersection(one.provision.names) or (ShipmentName.WEIGHT in wanted and one.provision.weight)
        )


def shipment(place: Workplace, pickup: str) -> Worksheet:
    """What the official papers of a pickup may need from here; after the release, its figures.

    Raises:
        NotThereYet: No such pickup.
        BadOrdinance: An ordinance in the register cannot be read.
    """
    with place.reading() as reader:
        found = shipment_of(place, reader, pickup)
        left_on = place.local(found.pickup.released_at).date() if found.pickup.released_at else None
        asked = _Asked(reader, found, place.today(), left_on)
        came_back = shipped_pickup(reader, place.zone, found.pickup)
        lines = tuple(_lines(reader, found, asked, came_back))
        site = found.naming.site()
    notes = [*asked.unfit, *asked.not_here, CLASSED, MEASURED]
    if found.is_draft:
        notes.insert(0, "A draft: the containers have not left. The release records the figures that count.")
    return Worksheet(
        kind="shipment",
        title=f"Papers of pickup {pickup}",
        practice=site.name,
        prepared_on=place.today(),
        seq=found.rests_on.seq,
        digest=found.rests_on.digest,
        since=None,
        until=None,
        asked_by=asked.by,
        days=(),
        lines=lines,
        notes=(*notes, FORM_PREVAILS, AUTHORITY_DECIDES),
    )


def _lines(
    reader: Reader,
    found: Shipment,
    asked: _Asked,
    came_back: ShippedPickup | None,
) -> Iterator[Line]:
    site, seq = found.naming.site(), found.rests_on.seq
    line = reader.find_line("site", reader.site)
    yield from _of_practice(site, (line.seq,) if line is not None else ())
    collector = asked.of(ShipmentName.COLLECTOR_NAME, ShipmentName.COLLECTOR_ADDRESS)
    receiver = asked.of(ShipmentName.FACILITY_NAME, ShipmentName.FACILITY_ADDRESS)
    for name, asks, party, asked_by in (
        ("carrier", "Who takes it?", found.carrier, collector),
        ("facility", "Which facility receives it?", found.facility, receiver),
    ):
        state = State.FILLED if party.address else State.GAP
        yield Line(Part.SHIPMENT, name, asks, Answer((f"{party_words(party)}.",), state, (seq,)), asked_by)
    yield _day(found, asked, came_back)
    yield from _papers_wanted(asked, came_back)
    yield _codes(asked)
    for one in found.containers:
        yield _container(found, one, asked)
    yield _together(found, asked)
    yield _received(came_back)
    yield _classing(found)


def _of_practice(site: SiteDetails, seqs: tuple[int, ...]) -> Iterator[Line]:
    numbers = "; ".join(f"{name}: {value}" for name, value in site.identifiers)
    for name, asks, said, field in (
        ("practice", "Who hands it over?", site.name, "name"),
        ("address", "Where is it fetched?", ", ".join(site.address), "address"),
        ("phone", "Under which telephone number is the practice reached?", site.phone, "phone"),
        ("emergency_phone", "Who answers round the clock?", site.round_the_clock_phone, "round_the_clock_phone"),
        ("identifiers", "Which permit and registration numbers does the practice have?", numbers, "identifiers"),
    ):
        missing = Answer((f"Not entered in the site's line of the register ({field}).",), State.GAP, seqs)
        yield Line(Part.PRACTICE, name, asks, Answer((said,), seqs=seqs) if said else missing)


def _day(found: Shipment, asked: _Asked, came_back: ShippedPickup | None) -> Line:
    asks, asked_by = "When does it leave, and under which number?", asked.of(ShipmentName.SHIPPED_ON)
    if came_back is None:
        says = f"Planned for {short_day(found.pickup.planned_on)}; it has not left."
        return Line(Part.SHIPMENT, "day", asks, Answer((says,), seqs=(found.pickup.booked_seq,)), asked_by)
    paper = f"document {came_back.document}" if came_back.document else "no document number is recorded"
    says = f"It left on {short_day(came_back.left_on)}; {paper}."
    return Line(Part.SHIPMENT, "day", asks, Answer((says,), seqs=came_back.seqs[:1]), asked_by)


def _papers_wanted(asked: _Asked, came_back: ShippedPickup | None) -> Iterator[Line]:
    """What goes along, what is only kept here, and what the receiver must send afterwards."""
    named = [(one, one.provision.document) for one in asked.papers if one.provision.document is not None]
    kept = [(one, document) for one, document in named if document is ShippingPaper.OWN_RECORD]
    back = [(one, document) for one, document in named if document in _BACK]
    along = [one for one in named if one not in kept and one not in back]
    yield _papers("paper", "Which paper goes along?", along, asked, "No ordinance in force names one.")
    if kept:
        yield _papers("own_record", "Which record is kept here?", kept, asked, "")
    says = [f"{document.words} ({_cited(one)}): {_asks(one, asked)}" for one, document in back]
    says += [f"{one.provision.title} ({_cited(one)}): {_asks(one, asked)}" for one in asked.returns]
    if not says:
        answer = Answer(("No ordinance in force names one.",))
    else:
        answer = _what_came(tuple(says), came_back, is_proof_wanted=bool(back))
    by = (*(one.provision.id for one, _ in back), *(one.provision.id for one in asked.returns))
    yield Line(Part.SHIPMENT, "comes_back", "Which paper must come back afterwards?", answer, by)


def _asks(one: SaidBy[ShipmentPaper] | SaidBy[Rule], asked: _Asked) -> str:
    return f"{' '.join(one.provision.asks.split())}{_rests_on(one, asked)}"


def _rests_on(one: SaidBy[ShipmentPaper] | SaidBy[Rule], asked: _Asked) -> str:
    """The condition of what is asked of some categories only, as a sentence of its own."""
    condition = asked.condition_of(one) if one.provision.only_for else None
    return f" {condition[:1].upper()}{condition[1:]}." if condition else ""


def _papers(
    name: str,
    asks: str,
    named: Sequence[tuple[SaidBy[ShipmentPaper], ShippingPaper]],
    asked: _Asked,
    none: str,
) -> Line:
    says = tuple(f"{document.words} ({_cited(one)}).{_rests_on(one, asked)}" for one, document in named)
    by = tuple(one.provision.id for one, _ in named)
    return Line(Part.SHIPMENT, name, asks, Answer(says or (none,)), by)


def _what_came(says: tuple[str, ...], came_back: ShippedPickup | None, *, is_proof_wanted: bool) -> Answer:
    """The papers that must come back, and which of them is recorded."""
    if came_back is None:
        return Answer((*says, "It has not left, so none can be there yet."))
    receipt = f"received on {short_day(came_back.received_on)}" if came_back.received_on else "none recorded yet"
    proof = f"received on {short_day(came_back.recycled_on)}" if came_back.recycled_on else "none recorded yet"
    is_missing = came_back.received_on is None or (is_proof_wanted and came_back.recycled_on is None)
    stands = f"Receipt: {receipt}. Proof of recycling: {proof}."
    return Answer((*says, stands), State.GAP if is_missing else State.FILLED, each_once(came_back.seqs[1:]))


def _codes(asked: _Asked) -> Line:
    says = tuple(f"{one.provision.code}: {one.provision.title} ({_cited(one)})." for one in asked.codes)
    answer = Answer((*says, UNTESTED) if says else (f"No ordinance in force names a code. {DETERMINES}",), State.YOURS)
    return Line(Part.SHIPMENT, "codes", "Under which codes is the waste named?", answer)


def _cited(said: SaidBy[ShipmentPaper] | SaidBy[WasteCode] | SaidBy[Rule]) -> str:
    one = said.provision
    doubt = "" if one.confirmed else f"; {one.standing_of_source}"
    changed = "" if one.override is None else f"; {' '.join(str(one.override).split())}"
    return f"{one.id} of {said.ordinance.title}, {one.citation}{doubt}{changed}"


def _container(found: Shipment, one: ReleasedContainer, asked: _Asked) -> Line:
    naming, is_weighed = found.naming, one.basis == "weighed"
    weight_by = asked.of(ShipmentName.WEIGHT)
    since = f"first waste {short_day(one.first_waste_on)}" if one.first_waste_on else "no waste is recorded"
    what = f"{naming.name('container_type', one.container_type)}, for {naming.streams(one.streams)}"
    says = [
        f"{what}; {since}, closed {short_day(one.closed_on)}.",
        f"Content: {one.statement}.",
        f"In whole units, from {'a weighing' if is_weighed else 'an estimate'}: {whole_units(one.net_mg).words}.",
    ]
    if weight_by and not is_weighed:
        says.append(
            f"It was not weighed, and its weight is wanted ({', '.join(weight_by)}): weigh it before it leaves."
        )
    is_gap = bool((weight_by and not is_weighed) or one.unweighed)
    asked_by = asked.of(ShipmentName.CONTAINER_IDS, ShipmentName.CONTENTS, ShipmentName.WEIGHT)
    answer = Answer(
        tuple(says),
        State.GAP if is_gap else State.FILLED,
        (found.rests_on.seq,),
        (NamedAmount.of(one.container, stated((one,))),),
    )
    name = f"container {one.container}"
    return Line(Part.CONTAINERS, name, f"What is in container {one.container}, and how much?", answer, asked_by)


def _together(found: Shipment, asked: _Asked) -> Line:
    total: Amount = stated(found.containers)
    basis = "weighings" if total.basis == "weighed" else "an estimate"
    says = [f"{count(len(found.containers), 'container')}."]
    says += [f"{found.weighed}."] if found.weighed else []
    says += [f"{found.estimated[:1].upper()}{found.estimated[1:]}."] if found.estimated else []
    says += [f"Together: {found.combined}."] if found.combined else []
    says.append(f"In whole units, from {basis}: {whole_units(total.value_mg).words}.")
    answer = Answer(tuple(says), seqs=(found.rests_on.seq,), amounts=(NamedAmount.of("in_all", total),))
    return Line(Part.CONTAINERS, "in_all", "How much is it in all?", answer, asked.of(ShipmentName.WEIGHT))


def _received(came_back: ShippedPickup | None) -> Line:
    if came_back is None:
        answer = Answer(("It has not left.",))
    else:
        says = [f"{came_back.received_words[:1].upper()}{came_back.received_words[1:]}."]
        says += (
            [f"Received on {short_day(came_back.received_on)}."] if came_back.received_on else ["No receipt came yet."]
        )
        says.append(
            f"Proof of recycling received on {short_day(came_back.recycled_on)}."
            if came_back.recycled_on
            else "No proof of recycling yet."
        )
        answer = Answer(tuple(says), seqs=each_once(came_back.seqs[1:]))
    return Line(Part.CONTAINERS, "received", "What came back from the facility?", answer)


def _classing(found: Shipment) -> Line:
    """A question for whoever offers it; all that may lie in a container is taken as amalgam, so it is asked early."""
    heavy = [one.container for one in found.containers if asks_shipper(one.upper_mg)]
    says = ["Not said here: ask the carrier or the facility, and keep their word."]
    if heavy:
        says.append(
            f"{', '.join(heavy)} may hold a pound of mercury or more in one package, were all of it amalgam: ask "
            "whether it then is a hazardous substance (49 CFR 171.8 and 172.101, appendix A; the mass from memory)."
        )
    return Line(
        Part.STATEMENTS, "classing", "How is it classed for transport, and by whom?", Answer(tuple(says), State.YOURS)
    )
