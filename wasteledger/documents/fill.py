"""From the ledger to papers: every figure and word that a document prints, as plain values."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from wasteledger.documents.papers import (
    Anchor,
    Basis,
    Blank,
    ContainerSum,
    Coverage,
    DepositLogPaper,
    DepositRow,
    LabelPaper,
    LabelsPaper,
    LogSheetPaper,
    ManifestContainer,
    ManifestPaper,
    MassFigure,
    Party,
    ReminderPaper,
    SentContainer,
    Stop,
    TrapLabelPaper,
    TrapLabelsPaper,
    WasteCode,
)
from wasteledger.errors import NotUnderstood
from wasteledger.model.entries import Deposit, ReleasedContainer, Swap
from wasteledger.model.facts import Entry
from wasteledger.model.register import SiteDetails
from wasteledger.model.standing import ContainerStanding
from wasteledger.model.values import Party as RecordedParty
from wasteledger.office.coverage import coverage
from wasteledger.office.deposits import LoggedContainer, LoggedDeposit, deposits_between
from wasteledger.office.due import rules_here, words_on_label
from wasteledger.office.naming import Naming
from wasteledger.office.round_plan import RoundRoom, round_plan
from wasteledger.office.shipments import Shipment, chain_end, open_since, remarks_on, shipment_of
from wasteledger.office.status import show_container
from wasteledger.office.workplace import Workplace

DRAFT = "Draft: the containers have not left. The release records the figures that count."

# Reportable quantity of mercury, 49 CFR 172.101, appendix A, table 1 (from memory).
QUESTIONS = ("Does one package hold 1 lb (0.454 kg) of mercury or more? (49 CFR 172.101, appendix A)",)

_BASES = {"weighed": Basis.WEIGHED, "estimate": Basis.ESTIMATE, "none": Basis.NONE}


def manifest_paper(place: Workplace, pickup: str, *, reprint: bool = False) -> ManifestPaper:
    """The manifest of a pickup.

    After the release it prints the figures that the release recorded and rests on that entry, so that it says the
    same each time (*reprint* marks it as printed again). Before, it is a draft that rests on the end of the chain.

    Raises:
        NotThereYet: No such pickup.
    """
    with place.reading() as reader:
        shipment = shipment_of(place, reader, pickup)
        naming, site = shipment.naming, shipment.naming.site()
        codes, titles = naming.codes(), tuple(rule.title for rule in naming.ordinances())
        containers = tuple(_manifest_container(naming, one, shipment.is_draft) for one in shipment.containers)
        by = place.by or shipment.rests_on.recorded_by if shipment.is_draft else shipment.rests_on.recorded_by
        prepared_by = naming.name("person", by)
    now = _wall(place, place.ledger.clock())
    return ManifestPaper(
        number=pickup,
        anchor=_anchor(shipment.rests_on),
        prepared_at=now if shipment.is_draft else _wall(place, shipment.rests_on.recorded_at),
        prepared_by=prepared_by,
        practice=_practice(site),
        carrier=_party(shipment.carrier),
        facility=_party(shipment.facility),
        containers=containers,
        emergency_contact=site.round_the_clock_phone,
        planned_on=shipment.pickup.planned_on,
        left_on=_left_on(place, shipment),
        weighed_total=MassFigure(Basis.WEIGHED, _without_basis(shipment.weighed), shipment.weighed_mg)
        if shipment.weighed
        else None,
        estimated_total=MassFigure(Basis.ESTIMATE, _without_basis(shipment.estimated)) if shipment.estimated else None,
        combined=shipment.combined,
        codes=tuple(WasteCode(*code) for code in codes),
        questions=QUESTIONS,
        ordinances=titles,
        remark=DRAFT if shipment.is_draft else "",
        reprinted_at=now if reprint and not shipment.is_draft else None,
    )


def labels_paper(
    place: Workplace, containers: tuple[str, ...] | None = None, *, sheet: str = "", first_place: int = 1
) -> LabelsPaper:
    """Labels of some containers, or of all on site.

    Raises:
        NoSuchContainer: There is none of one of these names.
    """
    if containers is None:
        with place.reading() as reader:
            standings = reader.containers("open", "closed")
    else:
        standings = [show_container(place, ref).state.standing for ref in containers]
    with place.reading() as reader:
        end = chain_end(reader)
        naming = Naming(reader, end.seq)
        practice, anchor = _practice(naming.site()), _anchor(end)
        rules = rules_here(reader, place.today())
        labels = tuple(
            LabelPaper(
                container=one.container,
                words=words_on_label(rules, one.streams),
                stream=naming.streams(one.streams),
                practice=practice,
                anchor=anchor,
                kind=naming.name("container_type", one.container_type),
                first_waste_on=_day(place, one.first_waste_at),
                closed_on=_day(place, one.closed_at),
            )
            for one in standings
        )
    return LabelsPaper(labels, sheet, first_place)


def trap_labels_paper(place: Workplace, *, sheet: str = "", first_place: int = 1) -> TrapLabelsPaper:
    """A label for each trap in service, in walking order; the code says the trap's name."""
    rooms = round_plan(place).rooms
    labels = tuple(TrapLabelPaper(trap.trap, room.name, trap.kind, trap.trap) for room in rooms for trap in room.traps)
    with place.reading() as reader:
        end = chain_end(reader)
        practice = Naming(reader, end.seq).site().name
    return TrapLabelsPaper(practice, _anchor(end), labels, sheet, first_place)


def deposit_log_paper(place: Workplace, since: date, until: date) -> DepositLogPaper:
    """What went into which container from *since* to *until*, both days included, and how complete the record is.

    Raises:
        NotUnderstood: The period ends before it begins.
    """
    if until < since:
        raise NotUnderstood(f"The period ends on {until}, before it begins.", hint="Write the earlier day first.")
    with place.reading() as reader:
        end = chain_end(reader)
        naming = Naming(reader, end.seq)
        words = _Words(naming)
        rows, sums = deposits_between(reader, since, until)
        rooms = {trap.trap: trap.room for trap in reader.traps(retired=True)}
        covered = coverage(reader, place.zone, since, last_counted(place, until))
        return DepositLogPaper(
            practice=_practice(naming.site()),
            anchor=_anchor(end),
            prepared_at=_wall(place, place.ledger.clock()),
            from_on=since,
            to_on=until,
            coverage=Coverage(
                covered.looks_made,
                covered.looks_due,
                tuple(
                    Blank(one.on, words.name("room", one.room), len(one.traps), one.reason) for one in covered.blanks
                ),
            ),
            rows=tuple(_deposit_row(place, words, rooms, row) for row in rows),
            containers=tuple(_container_sum(place, words, one) for one in sums),
        )


def log_sheet_paper(place: Workplace, dates: tuple[date, ...] = ()) -> LogSheetPaper:
    """The evening round on paper: every trap in service in walking order, one sheet a day."""
    rooms: tuple[RoundRoom, ...] = round_plan(place).rooms
    with place.reading() as reader:
        end = chain_end(reader)
        naming = Naming(reader, end.seq)
        practice = naming.site().name
        containers = tuple((one.container, naming.streams(one.streams)) for one in reader.containers("open"))
    return LogSheetPaper(
        practice=practice,
        anchor=_anchor(end),
        prepared_at=_wall(place, place.ledger.clock()),
        stops=tuple(Stop(room.name, trap.trap, trap.kind) for room in rooms for trap in room.traps),
        dates=dates,
        containers=containers,
    )


def reminder_paper(place: Workplace, pickup: str) -> ReminderPaper:
    """The letter that asks for what is still open: the carrier for the receipt, the facility for the recycling proof.

    Raises:
        NotThereYet: No such pickup.
        NothingToAskFor: It has not left, or nothing is open.
    """
    with place.reading() as reader:
        shipment = shipment_of(place, reader, pickup)
        left_on, days_open = open_since(place, shipment.pickup)
        end = chain_end(reader)
        site = Naming(reader, end.seq).site()
        earlier = tuple((_wall(place, at).date(), text) for at, text in remarks_on(reader, shipment.pickup))
        signer = Naming(reader, end.seq).name("person", place.by) if place.by else site.contact or site.owner
        sent = tuple(
            SentContainer(one.container, shipment.naming.streams(one.streams), _net(one)) for one in shipment.containers
        )
    facility = _party(shipment.facility)
    return ReminderPaper(
        number=pickup,
        anchor=_anchor(end),
        written_on=place.today(),
        practice=_practice(site),
        to=facility if shipment.pickup.received_seq else _party(shipment.carrier),
        facility=facility,
        left_on=left_on,
        days_open=days_open,
        containers=sent,
        signer=signer,
        earlier=earlier,
    )


class _Words:
    """Names of the register, each looked up once."""

    def __init__(self, naming: Naming) -> None:
        self._naming = naming
        self._known: dict[tuple[str, str], str] = {}

    def name(self, what: str, ref: str) -> str:
        if (what, ref) not in self._known:
            self._known[what, ref] = self._naming.name(what, ref)
        return self._known[what, ref]


def _manifest_container(naming: Naming, one: ReleasedContainer, is_draft: bool) -> ManifestContainer:
    counts = (("traps", one.swaps), ("other deposits", one.deposits), ("of unknown mass", one.unweighed))
    return ManifestContainer(
        id=one.container,
        kind=naming.name("container_type", one.container_type),
        stream=naming.streams(one.streams),
        net=_net(one),
        condition="" if is_draft else "closed",
        first_waste_on=one.first_waste_on,
        closed_on=None if is_draft else one.closed_on,
        gross_mg=one.gross_mg,
        tare_mg=one.tare_mg,
        counts=tuple((words, count) for words, count in counts if count),
    )


def _net(one: ReleasedContainer) -> MassFigure:
    basis = _BASES[one.basis]
    return MassFigure(basis, _without_basis(one.statement), one.net_mg if basis is Basis.WEIGHED else None)


def _without_basis(statement: str) -> str:
    """The statement without the word that the figure's basis prints beside it."""
    return statement.removesuffix(", weighed").replace(", estimate", "", 1)


def _deposit_row(place: Workplace, words: _Words, rooms: dict[str, str], row: LoggedDeposit) -> DepositRow:
    body = row.body
    count: int | None = 1
    match body:
        case Swap():
            room = words.name("room", rooms[body.trap]) if body.trap in rooms else ""
            where = f"{room}, trap {body.trap}" if room else f"trap {body.trap}"
            what = f"{body.trap_kind.words}, {body.condition.words}"
        case Deposit():
            where = words.name("room", body.room) if body.room else ""
            what, count = words.name("stream", body.stream), body.count
        case _:
            where, what = f"separator {body.separator}", "retaining unit, unopened"
    return DepositRow(
        entry=row.seq,
        happened_at=_wall(place, row.happened_at),
        person=words.name("person", row.recorded_by),
        place=where,
        what=what,
        stream=words.name("stream", body.stream),
        container=body.container,
        count=count,
        mass=MassFigure(_BASES[row.basis], _without_basis(row.said), row.mass_mg if row.basis == "weighed" else None),
        recorded_at=_wall(place, row.recorded_at) if row.late else None,
        corrected_by=row.corrected_by,
        corrects=row.corrects,
        reason=row.reason,
    )


def _container_sum(place: Workplace, words: _Words, one: LoggedContainer) -> ContainerSum:
    standing: ContainerStanding = one.standing
    gone = standing.status in ("released", "received")
    return ContainerSum(
        container=standing.container,
        stream=", ".join(words.name("stream", stream) for stream in standing.streams),
        deposits=one.deposits,
        count=one.pieces,
        mass=MassFigure(_BASES[one.basis], _without_basis(one.said), one.mass_mg if one.basis == "weighed" else None),
        state=f"left with pickup {standing.pickup}" if gone else standing.status,
        opened_on=_day(place, standing.opened_at),
    )


def last_counted(place: Workplace, until: date) -> date:
    """The last day on which a look not made is a blank: tonight's round can still be walked."""
    return min(until, place.today() - timedelta(days=1))


def _anchor(entry: Entry) -> Anchor:
    return Anchor(entry.site, entry.seq, entry.digest)


def _practice(site: SiteDetails) -> Party:
    """The practice with its contact; where none is entered, with its owner, who is called so."""
    contact = site.contact or ""
    return Party(site.name, site.address, site.phone, contact, site.identifiers, owner="" if contact else site.owner)


def _party(recorded: RecordedParty) -> Party:
    ids = (("Permit", recorded.permit),) if recorded.permit else ()
    return Party(recorded.name, recorded.address, recorded.phone, ids=ids)


def _left_on(place: Workplace, shipment: Shipment) -> date | None:
    return None if shipment.is_draft else _day(place, shipment.pickup.released_at)


def _day(place: Workplace, instant: datetime | None) -> date | None:
    return place.local(instant).date() if instant is not None else None


def _wall(place: Workplace, instant: datetime) -> datetime:
    return place.local(instant).replace(tzinfo=None)
