"""What the register and the journal answer to each thing that a report may state."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from functools import cached_property

from wasteledger.ledger.reader import BEGINNING, Reader
from wasteledger.model.entries import Milestone, SeparatorInspection, UnitReplaced
from wasteledger.model.facts import Fact
from wasteledger.model.filings import DutyDone, Statement, StatementTopic, Training
from wasteledger.model.register import CleanerDetails, PersonDetails
from wasteledger.model.standing import RegisterStanding, SeparatorStanding
from wasteledger.office.amounts import Amounts, amounts_between
from wasteledger.office.coverage import day_bounds
from wasteledger.office.due import laid_over
from wasteledger.office.provision_words import says as provision_says
from wasteledger.office.rules import cleaner_warnings, registered_ordinances
from wasteledger.office.separator_history import Installed, installed
from wasteledger.office.words import count, short_day
from wasteledger.office.workplace import site_details, zone_of
from wasteledger.office.worksheet_lines import Answer, Line, Part, State, each_once, note_words
from wasteledger.office.worksheet_separators import maintenance
from wasteledger.office.worksheet_waste import carriers, facilities, made, pickups, shipped
from wasteledger.ordinance import Duty, in_force
from wasteledger.ordinance.paper_words import ReportField
from wasteledger.ordinance.rules import CleanerLimit

QUESTIONS: dict[ReportField, tuple[Part, str]] = {
    ReportField.FACILITY_NAME: (Part.PRACTICE, "What is the practice called?"),
    ReportField.OWNER: (Part.PRACTICE, "Who owns it?"),
    ReportField.OPERATOR: (Part.PRACTICE, "Who runs it?"),
    ReportField.CONTACT: (Part.PRACTICE, "Whom does the authority ask?"),
    ReportField.PHONE: (Part.PRACTICE, "Under which telephone number?"),
    ReportField.PHYSICAL_ADDRESS: (Part.PRACTICE, "Where does it stand?"),
    ReportField.MAILING_ADDRESS: (Part.PRACTICE, "Where does its mail go?"),
    ReportField.IDENTIFIERS: (Part.PRACTICE, "Which permit and registration numbers does it have?"),
    ReportField.DISCHARGED_BEFORE_2017_07_14: (
        Part.PRACTICE,
        "Did wastewater from here reach the public sewer before 14 July 2017?",
    ),
    ReportField.CHAIRS: (Part.EQUIPMENT, "How many dental chairs are there?"),
    ReportField.AMALGAM_CHAIRS: (Part.EQUIPMENT, "At how many of them may amalgam be present?"),
    ReportField.SEPARATORS: (
        Part.EQUIPMENT,
        "Which separators are in use: make, model, year of installation, chairs served?",
    ),
    ReportField.SEPARATOR_NOTICE: (Part.EQUIPMENT, "Of which separators was the authority told?"),
    ReportField.MAINTENANCE_BY: (Part.EQUIPMENT, "Who maintains the separators?"),
    ReportField.TRAINED_STAFF: (Part.PEOPLE, "Who was trained, when, and in what?"),
    ReportField.AMALGAM_MADE_MG: (Part.WASTE, "How much amalgam waste arose?"),
    ReportField.AMALGAM_SHIPPED_MG: (Part.WASTE, "How much amalgam waste was taken away?"),
    ReportField.PICKUPS: (Part.WASTE, "When was waste taken away?"),
    ReportField.CARRIERS: (Part.WASTE, "Who took it away?"),
    ReportField.FACILITIES: (Part.WASTE, "Which facilities received it?"),
    ReportField.CERTIFIES_SEPARATOR: (
        Part.STATEMENTS,
        "Is each separator built, run and maintained as the rule asks?",
    ),
    ReportField.CERTIFIES_PRACTICES: (
        Part.STATEMENTS,
        "Is waste amalgam kept from the drain, and are the cleaners mild?",
    ),
    ReportField.CERTIFIES_EMERGENCY_ONLY: (
        Part.STATEMENTS,
        "Is amalgam never placed, and removed in unplanned emergencies only?",
    ),
}
"""Our own question for each field, and the part it stands in; the order is ours."""

_ONLY_YOU = (
    "Whether some did before 14 July 2017, only you can state; then enter it in the site's line of the "
    "register (discharged_before_2017_07_14)."
)

_UNLIMITED = "no rule in force limits cleaners."

_PRACTICES = (
    StatementTopic.TRAPS_KEPT_FROM_SINKS,
    StatementTopic.AMALGAM_KEPT_FROM_OTHER_BINS,
    StatementTopic.NO_PROHIBITED_ACT,
)


class FieldAnswers:
    """Answers of one site on one day, for a period of local days, both ends included."""

    def __init__(self, reader: Reader, today: date, since: date, until: date) -> None:
        self._reader, self._today, self._since, self._until = reader, today, since, until
        self._zone = zone_of(reader)
        self._site = site_details(reader)
        line = reader.find_line("site", reader.site)
        self._site_seqs = (line.seq,) if line is not None else ()
        self._answering: dict[ReportField, Callable[[], Answer]] = {
            ReportField.FACILITY_NAME: lambda: self._entered(self._site.name, "name"),
            ReportField.OWNER: lambda: self._entered(self._site.owner, "owner"),
            ReportField.OPERATOR: lambda: self._entered(self._site.operator, "operator"),
            ReportField.CONTACT: lambda: self._entered(self._site.contact, "contact"),
            ReportField.PHONE: lambda: self._entered(self._site.phone, "phone"),
            ReportField.PHYSICAL_ADDRESS: lambda: self._entered(", ".join(self._site.address), "address"),
            ReportField.MAILING_ADDRESS: self._mailing_address,
            ReportField.IDENTIFIERS: lambda: self._entered(
                *(f"{name}: {value}" for name, value in self._site.identifiers), "identifiers"
            ),
            ReportField.DISCHARGED_BEFORE_2017_07_14: self._discharged,
            ReportField.CHAIRS: self._chairs,
            ReportField.AMALGAM_CHAIRS: lambda: self._entered(str(self._site.amalgam_chairs or ""), "amalgam_chairs"),
            ReportField.SEPARATORS: self._separators,
            ReportField.SEPARATOR_NOTICE: self._notices,
            ReportField.MAINTENANCE_BY: self._maintenance,
            ReportField.TRAINED_STAFF: self._trained,
            ReportField.AMALGAM_MADE_MG: lambda: made(self._reader, self.amounts),
            ReportField.AMALGAM_SHIPPED_MG: lambda: shipped(self.amounts),
            ReportField.PICKUPS: lambda: pickups(self.amounts),
            ReportField.CARRIERS: lambda: carriers(self.amounts),
            ReportField.FACILITIES: lambda: facilities(self.amounts),
            ReportField.CERTIFIES_SEPARATOR: self._certifies_separator,
            ReportField.CERTIFIES_PRACTICES: self._certifies_practices,
            ReportField.CERTIFIES_EMERGENCY_ONLY: self._certifies_emergencies,
        }

    def line(self, wanted: ReportField, asked_by: tuple[str, ...] = ()) -> Line:
        """The question of that field with its answer."""
        part, asks = QUESTIONS[wanted]
        return Line(part, wanted.value, asks, self._answering[wanted](), asked_by)

    @cached_property
    def amounts(self) -> Amounts:
        """What was made and shipped in the period."""
        return amounts_between(self._reader, self._since, self._until)

    # -- the register ------------------------------------------------------------------------------------------------

    def _entered(self, *said: str | None) -> Answer:
        """What the site's line says; the last word is the name of the field, for where it is missing."""
        *values, name = said
        known = tuple(one for one in values if one)
        if not known:
            return Answer((f"Not entered in the site's line of the register ({name}).",), State.GAP, self._site_seqs)
        return Answer(known, seqs=self._site_seqs)

    def _mailing_address(self) -> Answer:
        if self._site.mailing_address is None or self._site.mailing_address:
            return self._entered(", ".join(self._site.mailing_address or ()), "mailing_address")
        return Answer(("The same as where it stands.",), seqs=self._site_seqs)

    def _discharged(self) -> Answer:
        said = self._site.discharged_before_2017_07_14
        if said is not None:
            return Answer(("Yes." if said else "No.",), seqs=self._site_seqs)
        firsts = [one for one in self._facts(Milestone) if getattr(one.body, "what", "") == "first_discharge"]
        if not firsts:
            return self._entered(None, "discharged_before_2017_07_14")
        first = firsts[0]
        on, noted_on = self._day(first), first.recorded_at.astimezone(self._zone).date()
        noted = f", noted on {short_day(noted_on)}" if noted_on != on else ""
        shown = f"The first wastewater is recorded for {short_day(on)}{noted}{note_words(first.body.note)}."
        # A ledger begun later has the day on which somebody noted it, so no day here answers by itself.
        return Answer((shown, _ONLY_YOU), State.YOURS, (first.seq,))

    def _chairs(self) -> Answer:
        found = self._entered(str(self._site.chairs or ""), "chairs")
        in_rooms = sum(getattr(line.details, "chairs", 0) for line in self._reader.lines("room"))
        if in_rooms == self._site.chairs:
            return found
        return Answer((*found.says, f"The rooms of the register have {in_rooms}."), found.state, found.seqs)

    def _separators(self) -> Answer:
        says: list[str] = []
        seqs: list[int] = []
        is_gap = False
        for one, device in self._devices:
            details = one.details
            parts = [
                ("make", details.make),
                ("model", details.model),
                ("installed", f"{device.on.year}, on {short_day(device.on)}" if device.is_entered else ""),
                ("chairs served", str(details.chairs_served or "")),
            ]
            words = ", ".join(f"{name} {value}" if value else f"{name} NOT ENTERED" for name, value in parts)
            is_gap = is_gap or not all(value for _, value in parts)
            says.append(f"{details.name} ({one.separator}): {words}.")
            seqs += [device.registered_seq, device.seq]
        if not says:
            return Answer(("No separator is in the register.",), State.GAP)
        return Answer(tuple(says), State.GAP if is_gap else State.FILLED, each_once(seqs))

    def _notices(self) -> Answer:
        told = [
            (fact, fact.body)
            for fact in self._facts(DutyDone)
            if isinstance(fact.body, DutyDone) and fact.body.duty in (Duty.NOTIFY_AUTHORITY, Duty.PROVE_INSTALLATION)
        ]
        says, seqs, is_gap = [], [], False
        for one, device in self._devices:
            of_it = [(fact, body) for fact, body in told if body.separator in (None, one.separator)]
            when = f"{one.details.name} ({one.separator}), in place since {short_day(device.on)}"
            if not of_it:
                says.append(f"{when}: no notice is recorded.")
                is_gap = True
            for fact, body in of_it:
                paper = f", {body.document}" if body.document else ""
                says.append(f"{when}: recorded as told on {short_day(self._day(fact))}{paper}.")
                seqs.append(fact.seq)
        if not says:
            return Answer(("No separator is in the register.",), State.GAP)
        return Answer(tuple(says), State.GAP if is_gap else State.FILLED, each_once(seqs))

    def _maintenance(self) -> Answer:
        named = self._entered(self._site.maintenance_by, "maintenance_by")
        return maintenance(self._reader, self._devices, named)

    # -- the journal -------------------------------------------------------------------------------------------------

    def _trained(self) -> Answer:
        says: list[str] = []
        seqs: list[int] = []
        trained: set[str] = set()
        for fact in self._facts(Training, within=True):
            body = fact.body
            if not isinstance(body, Training):
                continue
            topics = ", ".join(topic.replace("_", " ") for topic in body.topics)
            says.append(f"{short_day(self._day(fact))}: {', '.join(map(self._person, body.people))}, in {topics}.")
            seqs.append(fact.seq)
            trained.update(body.people)
        staff = [line for line in self._reader.lines("person") if _works_at_chair(line)]
        without = [self._person(line.ref) for line in staff if line.ref not in trained]
        if without:
            says.append(f"No training in the period is recorded for {', '.join(without)}.")
        return Answer(tuple(says), State.GAP if without or not seqs else State.FILLED, each_once(seqs))

    # -- what a person states ----------------------------------------------------------------------------------------

    def _certifies_separator(self) -> Answer:
        says: list[str] = []
        seqs: list[int] = []
        for one, device in self._devices:
            shown, entries = self._of_separator(one, device)
            says += [f"{one.separator}: {said}" for said in shown]
            seqs += entries
        return Answer(tuple(says or ["No separator is in the register."]), State.YOURS, each_once(seqs))

    def _of_separator(self, one: SeparatorStanding, device: Installed) -> tuple[list[str], list[int]]:
        details = one.details
        removal = details.removal_permille
        said = [
            f"standard as entered: {details.standard}." if details.standard else "no standard is entered.",
            f"removal as entered: {removal / 10:g} %." if removal is not None else "its removal is not entered.",
        ]
        seqs = [device.registered_seq]
        looked = self._of(SeparatorInspection, one.separator)
        last = f", the last on {short_day(self._day(looked[-1]))}" if looked else ""
        said.append(
            f"{count(len(looked), 'inspection')} from {short_day(self._since)} to {short_day(self._until)}{last}."
        )
        seqs += [fact.seq for fact in looked]
        if one.last_unit_at is not None:
            said.append(
                f"retaining unit last exchanged on {short_day(one.last_unit_at.astimezone(self._zone).date())}."
            )
            seqs.append(one.last_unit_seq)
        else:
            said.append("no exchange of its retaining unit is recorded.")
        if one.malfunction_at is not None:
            said.append(f"a malfunction is open since {short_day(one.malfunction_at.astimezone(self._zone).date())}.")
            seqs.append(one.malfunction_seq)
        return said, seqs

    def _certifies_practices(self) -> Answer:
        says: list[str] = []
        seqs: list[int] = []
        for topic in _PRACTICES:
            stated = [fact for fact in self._facts(Statement) if getattr(fact.body, "topic", None) is topic]
            words = topic.replace("_", " ")
            if not stated or not isinstance(stated[-1].body, Statement):
                says.append(f"Not stated: {words}.")
                continue
            body = stated[-1].body
            holds = (
                "stated"
                if body.holds
                else f"stated not to hold, because: {' '.join((body.why or '').split()).rstrip('.')}"
            )
            says.append(f"{words[:1].upper()}{words[1:]}: {holds}, on {short_day(self._day(stated[-1]))}.")
            seqs.append(stated[-1].seq)
        for line in self._reader.lines("cleaner"):
            if not isinstance(line.details, CleanerDetails):
                continue
            against = cleaner_warnings(self._reader, line.details)
            says.append(f"Cleaner {line.details.name}: {' '.join(against) or self._within}")
            seqs.append(line.seq)
        return Answer(tuple(says), State.YOURS, each_once(seqs))

    @cached_property
    def _within(self) -> str:
        """What a cleaner that no rule speaks against is held against: each rule in force, with what it asks."""
        fitting, _ = laid_over(registered_ordinances(self._reader))
        asked = [
            _asked(limit) for ordinance in in_force(fitting) for limit in ordinance.cleaners if not limit.is_set_aside
        ]
        return f"nothing that is entered of it lies outside {'; '.join(asked)}." if asked else _UNLIMITED

    def _certifies_emergencies(self) -> Answer:
        said = self._site.only_emergencies
        words = {True: "The register says so.", False: "The register says that it is not so.", None: "Not entered."}[
            said
        ]
        return Answer((words,), State.YOURS, self._site_seqs)

    # -- reading -----------------------------------------------------------------------------------------------------

    @cached_property
    def _devices(self) -> tuple[tuple[SeparatorStanding, Installed], ...]:
        return tuple((one, installed(self._reader, one, self._zone)) for one in self._reader.separators())

    def _facts(
        self, kind: type[DutyDone | Milestone | Statement | Training], *, within: bool = False
    ) -> Sequence[Fact]:
        begin = day_bounds(self._since, self._zone)[0] if within else BEGINNING
        end = day_bounds(self._until if within else self._today, self._zone)[1]
        return self._reader.facts_between(begin, end, (kind.KIND,))

    def _of(self, kind: type[SeparatorInspection | UnitReplaced], separator: str) -> Sequence[Fact]:
        begin, end = day_bounds(self._since, self._zone)[0], day_bounds(self._until, self._zone)[1]
        found = self._reader.facts_between(begin, end, (kind.KIND,))
        return [fact for fact in found if getattr(fact.body, "separator", None) == separator]

    def _person(self, ref: str) -> str:
        line = self._reader.find_line("person", ref)
        return line.details.name if line is not None and isinstance(line.details, PersonDetails) else ref

    def _day(self, fact: Fact) -> date:
        return fact.happened_at.astimezone(self._zone).date()


def _asked(limit: CleanerLimit) -> str:
    sentences = [one.rstrip(".") for one in provision_says(limit)] or [" ".join(limit.asks.split()).rstrip(".")]
    words = ", ".join([sentences[0], *(one[:1].lower() + one[1:] for one in sentences[1:])])
    doubt = "" if limit.confirmed else f"; {limit.standing_of_source}"
    return f"what {limit.id} ({limit.citation}{doubt}) asks: {words}"


def _works_at_chair(line: RegisterStanding) -> bool:
    details = line.details
    return isinstance(details, PersonDetails) and set(details.roles) != {"inspector"}
