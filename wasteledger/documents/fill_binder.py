"""From the ledger to the inspection binder: every figure and word of a period, as plain values."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from wasteledger.documents.binder_figures import held_figure, received_mass, set_right, taken_out
from wasteledger.documents.binder_office import office_rows, papers_of
from wasteledger.documents.binder_repairs import open_malfunctions, repairs_between
from wasteledger.documents.binder_words import answers_for, corrections_between, findings_of, gaps_of, pressing_of
from wasteledger.documents.fill import (
    _anchor,
    _day,
    _practice,
    _wall,
    _without_basis,
    _Words,
    deposit_log_paper,
    last_counted,
)
from wasteledger.documents.fill_pictures import pictures_of
from wasteledger.documents.fill_standing import difference_words, standing_containers
from wasteledger.documents.papers import (
    Basis,
    BinderPaper,
    Blank,
    CleanerRow,
    ContainerMovement,
    Coverage,
    CoverageMonth,
    Equipment,
    MassFigure,
    SeparatorRow,
    Shipment,
    Verification,
)
from wasteledger.model.entries import Correction, Look, Receipt, SeparatorInspection, Swap
from wasteledger.model.facts import Entry, replaced_body
from wasteledger.model.register import CleanerDetails, ScaleDetails, SiteDetails
from wasteledger.model.standing import PickupStanding
from wasteledger.model.traps import Condition
from wasteledger.office.coverage import coverage, day_bounds
from wasteledger.office.due import due_from
from wasteledger.office.enquiries import LATE_AFTER, Reader, verify_site
from wasteledger.office.enquiries import Verification as Verified
from wasteledger.office.movements import movements_between
from wasteledger.office.naming import Naming
from wasteledger.office.received import comparisons_of
from wasteledger.office.rules import cleaner_warnings, registered_ordinances
from wasteledger.office.shipments import chain_end, remarks_on, shipment_of
from wasteledger.office.workplace import Workplace
from wasteledger.units import Mass


def binder_paper(place: Workplace, since: date, until: date) -> BinderPaper:
    """The whole record from *since* to *until*, both days included, as the journal has it now.

    Looks are counted up to yesterday, as in every coverage: tonight's round can still be walked. A shipment that left
    earlier is shown too where its second paper came in the period or is still open, and a correction made later where
    it corrects an entry of the period. What is overdue is so on the day the binder is made.

    Raises:
        NotUnderstood: The period ends before it begins.
        JournalDamaged: The file cannot be read to its end.
    """
    log = deposit_log_paper(place, since, until)
    checked, asked = verify_site(place), answers_for(place, since, until)
    with place.reading() as reader:
        end = chain_end(reader)
        filler = _Filler(place, reader, Naming(reader, end.seq), since, until)
        covered, months = filler.coverage()
        shipments, cleaners = filler.shipments(), filler.cleaners()
        site = filler.naming.site()
        return BinderPaper(
            practice=_practice(site),
            anchor=_anchor(end),
            prepared_at=_wall(place, place.ledger.clock()),
            from_on=since,
            to_on=until,
            verification=filler.verification(checked, end),
            coverage=covered,
            facility=filler.facility(site),
            rules=filler.rules(),
            equipment=filler.equipment(),
            months=months,
            separator=filler.inspections(),
            movements=filler.movements(),
            standing=standing_containers(reader, filler.words),
            containers=log.containers,
            deposits=log.rows,
            shipments=shipments,
            repairs=repairs_between(place, reader, filler.words, filler.begin, filler.end),
            cleaners=cleaners,
            office=office_rows(place, reader, filler.words, filler.begin, filler.end),
            corrections=corrections_between(place, reader, filler.words, filler.begin, filler.end),
            pictures=pictures_of(place, reader, filler.naming, since, until),
            findings=(
                *findings_of(checked, covered, shipments),
                *filler.remarks(shipments),
                *open_malfunctions(place, reader, filler.end),
                *pressing_of(due_from(reader, place.today())),
                *gaps_of(asked, {rule.id for rule in registered_ordinances(reader)}, shipments),
            ),
        )


class _Filler:
    """One transaction, one period, and the names as they stand at the binder's entry."""

    def __init__(self, place: Workplace, reader: Reader, naming: Naming, since: date, until: date) -> None:
        self.place, self.reader, self.naming, self.since, self.until = place, reader, naming, since, until
        self.words = _Words(naming)
        self.begin, self.end = day_bounds(since, place.zone)[0], day_bounds(until, place.zone)[1]

    def _in_period(self, at: datetime) -> bool:
        return self.begin <= at < self.end

    def _overlaps(self, from_at: datetime, to_at: datetime | None) -> bool:
        return from_at < self.end and (to_at is None or to_at >= self.begin)

    def verification(self, checked: Verified, end: Entry) -> Verification:
        said = "Every digest agrees, and the standing follows from the journal."
        if not checked.holds:
            first = f" The first entry that differs is {checked.first_bad}." if checked.first_bad is not None else ""
            said = f"The journal does not agree with itself.{first}"
        first_on = _day(self.place, self.reader.get_entry(1).recorded_at)
        return Verification(checked.entries, said, first_on, _day(self.place, end.recorded_at))

    def facility(self, site: SiteDetails) -> tuple[tuple[str, str], ...]:
        rooms, traps = self.reader.lines("room"), self.reader.traps()
        events = sorted(self.reader.milestones(), key=lambda one: one.last_at)
        facts = (
            ("Chairs", str(site.chairs)),
            ("Chairs where amalgam is placed or removed", str(site.amalgam_chairs)),
            ("Rooms", str(len(rooms))),
            ("Traps in service", str(len(traps))),
            # Where no contact is entered, the owner stands with the address.
            *((("Owner", site.owner),) if site.contact and site.owner else ()),
            ("Telephone round the clock", site.round_the_clock_phone),
            ("Time zone", site.time_zone),
        )
        dated = ((one.ref.replace("_", " ").capitalize(), str(_day(self.place, one.last_at))) for one in events)
        return (*facts, *dated)

    def rules(self) -> tuple[str, ...]:
        return tuple(
            f"{rule.title} ({rule.authority}), version {rule.version}, dated {rule.dated_on.isoformat()}"
            for rule in registered_ordinances(self.reader)
        )

    def equipment(self) -> tuple[Equipment, ...]:
        separators = (
            Equipment(
                what=one.details.name,
                model=f"{one.details.make} {one.details.model}".strip() or "not entered",
                serial=one.details.serial,
                in_use_from=one.details.installed_on or _day(self.place, one.in_service_at),
                in_use_to=_day(self.place, one.retired_at),
                serves=f"{one.details.chairs_served} chairs" if one.details.chairs_served else "",
                papers=papers_of(self.reader, one, self.end),
            )
            for one in self.reader.separators(retired=True)
            if self._overlaps(one.in_service_at, one.retired_at)
        )
        scales = (
            Equipment(
                what="Scale",
                model=line.details.name,
                in_use_from=_day(self.place, line.since_at),
                in_use_to=_day(self.place, line.retired_at),
                serves=f"reads to {Mass(line.details.readability_mg)}, tolerance {Mass(line.details.tolerance_mg)}",
            )
            for line in self.reader.lines("scale", retired=True)
            if isinstance(line.details, ScaleDetails) and self._overlaps(line.since_at, line.retired_at)
        )
        return (*separators, *scales)

    def coverage(self) -> tuple[Coverage, tuple[CoverageMonth, ...]]:
        late = self._late_looks()
        last = last_counted(self.place, self.until)
        made = due = 0
        months: list[CoverageMonth] = []
        blanks: list[Blank] = []
        day = self.since
        while day <= last:
            month = day.replace(day=1)
            following = (month + timedelta(days=32)).replace(day=1)
            found = coverage(self.reader, self.place.zone, day, min(last, following - timedelta(days=1)))
            explained = sum(len(one.traps) for one in found.blanks if one.is_explained)
            months.append(CoverageMonth(month, found.looks_made, found.looks_due, late.get(month, 0), explained))
            made, due = made + found.looks_made, due + found.looks_due
            blanks += (
                Blank(one.on, self.words.name("room", one.room), len(one.traps), one.reason) for one in found.blanks
            )
            day = following
        return Coverage(made, due, tuple(blanks)), tuple(months)

    def _late_looks(self) -> dict[date, int]:
        """How many looks of each month were written down late only; several on one day at one trap count once."""
        late: set[tuple[str, date]] = set()
        timely: set[tuple[str, date]] = set()
        for fact in self.reader.facts_between(self.begin, self.end, (Look.KIND, Swap.KIND)):
            if not isinstance(fact.body, Look | Swap):
                continue
            if isinstance(fact.body, Look) and fact.body.condition is Condition.NOT_LOOKED:
                continue
            is_late = fact.recorded_at - fact.happened_at > LATE_AFTER
            (late if is_late else timely).add((fact.body.trap, self.place.local(fact.happened_at).date()))
        counts: dict[date, int] = {}
        for _, day in late - timely:
            month = day.replace(day=1)
            counts[month] = counts.get(month, 0) + 1
        return counts

    def inspections(self) -> tuple[SeparatorRow, ...]:
        rows = []
        for fact in self.reader.facts_between(self.begin, self.end, (SeparatorInspection.KIND,)):
            body = fact.body
            if not isinstance(body, SeparatorInspection):
                continue
            level = "" if body.level_permille is None else f", level {body.level_permille / 10:g} %"
            seen = f", {'bypass' if body.bypass_seen else 'no bypass'} seen"
            seen += f", {'leak' if body.leak_seen else 'no leak'} seen"
            rows.append(
                SeparatorRow(
                    entry=fact.seq,
                    on=self.place.local(fact.happened_at).date(),
                    device=self.words.name("separator", body.separator),
                    person=body.done_by or self.words.name("person", fact.recorded_by),
                    result=f"{body.result}{level}{seen}",
                    follow_up=body.follow_up or "",
                    note=body.note or "",
                )
            )
        return tuple(rows)

    def movements(self) -> tuple[ContainerMovement, ...]:
        return tuple(
            ContainerMovement(
                container=one.standing.container,
                stream=", ".join(self.words.name("stream", stream) for stream in one.standing.streams),
                opening=held_figure(one.opening),
                put_in=held_figure(one.put_in),
                taken_out=taken_out(one),
                adjustment=set_right(one.adjustment),
                closing=held_figure(one.closing),
                state=f"left with {one.standing.pickup}" if one.released else one.standing.status,
            )
            for one in movements_between(self.reader, self.since, self.until)
        )

    def shipments(self) -> tuple[Shipment, ...]:
        return tuple(
            self._shipment(one, one.released_at)
            for one in sorted(self.reader.pickups(), key=lambda one: (one.released_at or self.end, one.pickup))
            if one.released_at is not None
            and one.released_at < self.end
            and (one.released_at >= self.begin or one.recycled_on is None or one.recycled_on >= self.since)
        )

    def _shipment(self, pickup: PickupStanding, released_at: datetime) -> Shipment:
        sent = shipment_of(self.place, self.reader, pickup.pickup)
        received, recycled = self._receipt(pickup.received_seq), self._receipt(pickup.recycled_seq)
        left_on = self.place.local(released_at).date()
        said = [one.discrepancy for one in dict.fromkeys((received, recycled)) if one and one.discrepancy]
        said += difference_words(comparisons_of(self.reader, pickup.pickup))
        days_open = None if recycled else (self.place.today() - left_on).days
        certificate = f"not yet there after {days_open} days" if received else ""
        if recycled:
            certificate = f"{recycled.document or 'without a number'} (entry {pickup.recycled_seq})"
        whole = sent.combined or sent.weighed or sent.estimated
        is_weighed = bool(sent.weighed) and not sent.estimated
        return Shipment(
            number=pickup.pickup,
            left_on=left_on,
            containers=tuple(one.container for one in sent.containers),
            sent=MassFigure(
                Basis.WEIGHED if is_weighed else Basis.ESTIMATE,
                _without_basis(whole),
                sent.weighed_mg if is_weighed else None,
            ),
            carrier=sent.carrier.name,
            facility=sent.facility.name,
            manifest_entry=pickup.released_seq,
            receipt_entry=pickup.received_seq or pickup.recycled_seq or None,
            received_on=pickup.received_on or pickup.recycled_on,
            received=received_mass(received) or received_mass(recycled),
            certificate=certificate,
            final_site=(recycled.final_facility if recycled else "") or "",
            difference=" ".join(said),
            days_open=days_open,
        )

    def remarks(self, shipments: tuple[Shipment, ...]) -> tuple[str, ...]:
        shown = [self.reader.find_pickup(one.number) for one in shipments]
        return tuple(
            f"Noted on pickup {pickup.pickup} on {self.place.local(at).date()}: {text}"
            for pickup in shown
            if pickup is not None
            for at, text in remarks_on(self.reader, pickup)
        )

    def _receipt(self, seq: int) -> Receipt | None:
        body = self.reader.get_entry(seq).body if seq else None
        if isinstance(body, Correction) and body.replacement is not None:
            body = replaced_body(body.replacement)
        return body if isinstance(body, Receipt) else None

    def cleaners(self) -> tuple[CleanerRow, ...]:
        return tuple(
            CleanerRow(
                name=line.details.name,
                from_on=_day(self.place, line.since_at),
                to_on=_day(self.place, line.retired_at),
                ph=_ph(line.details),
                oxidiser="yes" if line.details.oxidiser else "no",
                sheet_on_file="on file" if line.details.safety_sheet_on_file else "not on file",
                judged=" ".join(cleaner_warnings(self.reader, line.details))
                or "No rule in force here speaks against what is entered.",
            )
            for line in self.reader.lines("cleaner", retired=True)
            if isinstance(line.details, CleanerDetails) and self._overlaps(line.since_at, line.retired_at)
        )


def _ph(details: CleanerDetails) -> str:
    ends = [end for end in (details.ph_low_tenths, details.ph_high_tenths) if end is not None]
    return " to ".join(f"{end // 10}.{end % 10}" for end in dict.fromkeys(ends)) or "not entered"
