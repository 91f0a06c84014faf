"""Papers that go with the containers: the manifest, the labels, the letter for a receipt that has not come."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from wasteledger.documents.papers.common import Anchor, MassFigure, Party


@dataclass(frozen=True, slots=True)
class ManifestContainer:
    """One container on a manifest.

    Attributes:
        kind: The container type in words.
        stream: The waste stream in words; *contents* says more where there is more to say.
        condition: Its state in words: closed, dry, sound …
        gross_mg, tare_mg: As weighed, in mg; None where it was not put on a scale.
        net: Net mass, weighed or estimated.
        counts: What is in it, in words and numbers: ``("saliva-ejector traps", 14)``.
    """

    id: str
    kind: str
    stream: str
    net: MassFigure
    contents: str = ""
    condition: str = ""
    first_waste_on: date | None = None
    closed_on: date | None = None
    gross_mg: int | None = None
    tare_mg: int | None = None
    counts: tuple[tuple[str, int], ...] = ()
    remark: str = ""


@dataclass(frozen=True, slots=True)
class WasteCode:
    """A code as an ordinance names it; the carrier confirms it.

    Attributes:
        words: What the code stands for.
        named_by: The rule that names it, with its clause.
        mark: That it was not read at its source, in words; empty where it was.
    """

    code: str
    words: str
    named_by: str
    mark: str = ""


@dataclass(frozen=True, slots=True)
class ManifestPaper:
    """The office's own record of what was handed to a carrier.

    Attributes:
        number: The pickup's name in the ledger.
        prepared_at, reprinted_at: Site's wall-clock time; a reprint says so on its face.
        emergency_contact: Who answers day and night, in words and numbers; may be empty.
        planned_on, left_on: The day booked and the day the containers left.
        weighed_total, estimated_total: Sums kept apart; None where nothing is of that kind.
        combined: One statement about both together, worded and rounded already.
        codes: Only codes that an ordinance in force names.
        cautions: What local ordinances add to the shipped cautions.
        questions: What the practice must answer for itself before the containers leave.
        ordinances: Names of the rules in force, for the statement that they decide.
    """

    number: str
    anchor: Anchor
    prepared_at: datetime
    prepared_by: str
    practice: Party
    carrier: Party
    facility: Party
    containers: tuple[ManifestContainer, ...]
    emergency_contact: str = ""
    planned_on: date | None = None
    left_on: date | None = None
    weighed_total: MassFigure | None = None
    estimated_total: MassFigure | None = None
    combined: str = ""
    codes: tuple[WasteCode, ...] = ()
    cautions: tuple[str, ...] = ()
    questions: tuple[str, ...] = ()
    ordinances: tuple[str, ...] = ()
    remark: str = ""
    reprinted_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class LabelPaper:
    """The label of one container.

    Attributes:
        words: Lines that the ordinances in force ask for, in their order; printed largest.
        first_waste_on: Day the first waste went in; None prints a line to fill in by hand.
        closed_on: Day it was closed; None prints a line to fill in by hand.
    """

    container: str
    words: tuple[str, ...]
    stream: str
    practice: Party
    anchor: Anchor
    kind: str = ""
    contents: str = ""
    first_waste_on: date | None = None
    closed_on: date | None = None


@dataclass(frozen=True, slots=True)
class LabelsPaper:
    """Container labels on sheets.

    Attributes:
        sheet: Name of a sheet in the wording (``2x3``); empty takes the shipped default, one label a page.
        first_place: First free place on the first sheet, counted from 1 by rows, so that a begun sheet can be used up.
    """

    labels: tuple[LabelPaper, ...]
    sheet: str = ""
    first_place: int = 1


@dataclass(frozen=True, slots=True)
class TrapLabelPaper:
    """The label of one trap; *code* is what its QR code says (the trap's name, or the address of its page)."""

    trap: str
    room: str
    kind: str
    code: str


@dataclass(frozen=True, slots=True)
class TrapLabelsPaper:
    """Trap labels on sheets, for the whole practice in walking order."""

    practice: str
    anchor: Anchor
    labels: tuple[TrapLabelPaper, ...]
    sheet: str = ""
    first_place: int = 1


@dataclass(frozen=True, slots=True)
class SentContainer:
    """A container that left and for which no receipt has come."""

    id: str
    stream: str
    net: MassFigure


@dataclass(frozen=True, slots=True)
class ReminderPaper:
    """A short letter that asks for the receipt of a pickup.

    Attributes:
        left_on: Day the containers left; *days_open* counts from it.
        earlier: What was done before to get the receipt: day and words.
        signer: Who writes.
    """

    number: str
    anchor: Anchor
    written_on: date
    practice: Party
    to: Party
    facility: Party
    left_on: date
    days_open: int
    containers: tuple[SentContainer, ...]
    signer: str
    earlier: tuple[tuple[date, str], ...] = ()
