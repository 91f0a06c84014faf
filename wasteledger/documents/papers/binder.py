"""The inspection binder: the whole record of a period, for somebody who was not there."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from wasteledger.documents.papers.common import Anchor, MassFigure, Party
from wasteledger.documents.papers.logs import ContainerSum, Coverage, DepositRow
from wasteledger.documents.papers.pictures import Pictures
from wasteledger.documents.papers.standing import StandingContainer


@dataclass(frozen=True, slots=True)
class Equipment:
    """A separator, pump or line filter in use in the period.

    Attributes:
        model: Make and model, as 40 CFR 441.50(b) asks for repairs and replacements.
        serves: Which chairs or rooms.
        papers: Which of its papers are on file: manual, proof of certification …
    """

    what: str
    model: str
    serial: str = ""
    in_use_from: date | None = None
    in_use_to: date | None = None
    serves: str = ""
    papers: str = ""


@dataclass(frozen=True, slots=True)
class CoverageMonth:
    """Coverage of one month, *month* being its first day; *entered_later* counts looks that were written down late."""

    month: date
    looks_made: int
    looks_due: int
    entered_later: int = 0
    with_reason: int = 0


@dataclass(frozen=True, slots=True)
class SeparatorRow:
    """One inspection of the separator: date, persons, result, follow-up (40 CFR 441.50(b))."""

    entry: int
    on: date
    device: str
    person: str
    result: str
    follow_up: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class ContainerMovement:
    """What a container held at the start, what went in and out, what a weighing set right, what it held at the end.

    Opening + in − out ± adjustment = closing; each figure with its own basis and uncertainty.
    """

    container: str
    stream: str
    opening: MassFigure
    put_in: MassFigure
    taken_out: MassFigure
    adjustment: MassFigure
    closing: MassFigure
    state: str = ""


@dataclass(frozen=True, slots=True)
class Shipment:
    """One pickup with both of its papers: what left, and what was received and recycled.

    Attributes:
        manifest_entry, receipt_entry: Numbers of the entries that the two papers rest on; None where there is none yet.
        certificate: Number of the certificate of recycling.
        final_site: Where the recycling took place.
        difference: What differs between the papers, in words.
        days_open: Days since it left, where the receipt has not come.
    """

    number: str
    left_on: date
    containers: tuple[str, ...]
    sent: MassFigure
    carrier: str
    facility: str
    manifest_entry: int | None = None
    receipt_entry: int | None = None
    received_on: date | None = None
    received: MassFigure | None = None
    certificate: str = ""
    final_site: str = ""
    difference: str = ""
    days_open: int | None = None


@dataclass(frozen=True, slots=True)
class RepairRow:
    """One repair or replacement: when found, when done, by whom, what (40 CFR 441.50(b))."""

    entry: int
    found_on: date | None
    done_on: date | None
    person: str
    what: str
    model: str = ""


@dataclass(frozen=True, slots=True)
class CleanerRow:
    """One line cleaner in use; *judged* says what the rule asks and what its sheet states."""

    name: str
    from_on: date | None
    to_on: date | None
    ph: str
    oxidiser: str
    sheet_on_file: str
    judged: str = ""


@dataclass(frozen=True, slots=True)
class OfficeRow:
    """One thing that the office recorded besides waste itself.

    Attributes:
        sort: duty, training, paper, statement, other_waste or cleaning.
        what: What was done, taught, noted, stated or made.
        whose: Which rule, which people, which device or how much, as the sort has it.
        due_on: The due day that it answers, where it names one.
        why: Why a statement does not hold; empty where it does.
        count: How many, where one row stands for several; the entry and the day are the last one's.
        paper: Its number or name, and where it lies.
    """

    entry: int
    on: date
    sort: str
    what: str
    whose: str = ""
    due_on: date | None = None
    why: str = ""
    count: int = 0
    paper: str = ""
    person: str = ""


@dataclass(frozen=True, slots=True)
class CorrectionRow:
    """One correction in full: the old value, the new one, who, when, why."""

    entry: int
    made_at: datetime
    person: str
    corrects: int
    before: str
    after: str
    reason: str


@dataclass(frozen=True, slots=True)
class Verification:
    """What a check of the journal found on the day the binder was made.

    Attributes:
        entries: How many entries were checked, from the first to the anchor.
        statement: The result in one sentence.
        first_on, last_on: Days of the first and the last of them.
    """

    entries: int
    statement: str
    first_on: date | None = None
    last_on: date | None = None


@dataclass(frozen=True, slots=True)
class BinderPaper:
    """The inspection binder of a period.

    Attributes:
        facility: Facts about the practice, each with its own word: ``("Owner", "…")``, ``("Chairs", "6")``.
        rules: Names of the ordinances in force, with their dates.
        coverage: For the whole period, with every blank; *months* breaks it down.
        standing: The containers at the site when the binder was made, each with its budget and its content.
        deposits, containers: As in the deposit log.
        pictures: Of the containers that stood at the end, of the catch, and of all that was received until then.
        findings: What stands out, in sentences.
    """

    practice: Party
    anchor: Anchor
    prepared_at: datetime
    from_on: date
    to_on: date
    verification: Verification
    coverage: Coverage
    facility: tuple[tuple[str, str], ...] = ()
    rules: tuple[str, ...] = ()
    equipment: tuple[Equipment, ...] = ()
    months: tuple[CoverageMonth, ...] = ()
    separator: tuple[SeparatorRow, ...] = ()
    movements: tuple[ContainerMovement, ...] = ()
    standing: tuple[StandingContainer, ...] = ()
    containers: tuple[ContainerSum, ...] = ()
    deposits: tuple[DepositRow, ...] = ()
    shipments: tuple[Shipment, ...] = ()
    repairs: tuple[RepairRow, ...] = ()
    cleaners: tuple[CleanerRow, ...] = ()
    office: tuple[OfficeRow, ...] = ()
    corrections: tuple[CorrectionRow, ...] = ()
    findings: tuple[str, ...] = ()
    pictures: Pictures = field(default_factory=Pictures)
