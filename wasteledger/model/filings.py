"""What the office did or has on file besides waste itself: duties done, trainings, papers, statements, other waste."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from wasteledger.model.values import Body, Day, Line, Milligrams, Name, Ref, Whole, Words


class Topic(StrEnum):
    """What somebody was trained in."""

    HANDLING = "handling"
    DISPOSAL = "disposal"
    SPILL = "spill"
    LINE_CLEANERS = "line_cleaners"
    SEPARATOR = "separator"
    PAPERWORK = "paperwork"


class PaperKind(StrEnum):
    """What a paper on file is."""

    OPERATING_MANUAL = "operating_manual"
    CERTIFICATE = "certificate"
    ONE_TIME_REPORT = "one_time_report"
    CERTIFICATION = "certification"
    RECYCLER_INSTRUCTIONS = "recycler_instructions"
    SAFETY_SHEET = "safety_sheet"
    MAINTENANCE_PLAN = "maintenance_plan"
    PROCEDURE = "procedure"
    SEPARATOR_PHOTO = "separator_photo"
    CONTRACT = "contract"
    INVOICE = "invoice"
    OTHER = "other"


class StatementTopic(StrEnum):
    """What a person answerable for the practice states, because no swap or weighing can show it."""

    NO_BULK_MERCURY = "no_bulk_mercury"
    TRAPS_KEPT_FROM_SINKS = "traps_kept_from_sinks"
    AMALGAM_KEPT_FROM_OTHER_BINS = "amalgam_kept_from_other_bins"
    ALL_AMALGAM_CHAIRS_ON_SEPARATOR = "all_amalgam_chairs_on_separator"
    INSTALLED_AS_THE_MAKER_SAYS = "installed_as_the_maker_says"
    SIZED_FOR_PEAK_FLOW = "sized_for_peak_flow"
    CAPSULES_RECYCLED = "capsules_recycled"
    NO_PROHIBITED_ACT = "no_prohibited_act"


class DutyDone(Body):
    """A duty that an ordinance sets was done: a report filed, a certification sent, a test made.

    *duty* is the ordinance file's word for it. *due_on* is the due day that it answers, where that was named.
    """

    KIND: ClassVar[str] = "duty_done"

    duty: Ref
    ordinance: Ref | None = None
    rule: Name | None = None
    separator: Ref | None = None
    container: Ref | None = None
    pickup: Ref | None = None
    due_on: Day | None = None
    document: Line | None = None
    done_by: Line | None = None


class Training(Body):
    """People were trained; *people* are short names of the register."""

    KIND: ClassVar[str] = "training"

    people: tuple[Ref, ...] = Field(min_length=1)
    topics: tuple[Topic, ...] = Field(min_length=1)
    held_by: Line | None = None
    document: Line | None = None


class PaperFiled(Body):
    """A paper lies on file, at *place*; *on_request* where it can be had but does not lie here."""

    KIND: ClassVar[str] = "paper_filed"

    what: PaperKind
    place: Name
    document: Line | None = None
    separator: Ref | None = None
    about: Line | None = None
    on_request: bool | None = None


class Statement(Body):
    """What a person states of the practice; where it does not hold, why."""

    KIND: ClassVar[str] = "statement"

    topic: StatementTopic
    holds: bool
    why: Words | None = None

    @model_validator(mode="after")
    def _why_where_it_does_not_hold(self) -> Self:
        if not self.holds and not self.why:
            raise ValueError("a statement that does not hold wants its reason")
        return self


class OtherWaste(Body):
    """Hazardous waste of another stream that the practice made in a calendar month, for the monthly count."""

    KIND: ClassVar[str] = "other_waste"

    month: Annotated[str, Field(pattern=r"^(19|20|21)[0-9]{2}-(0[1-9]|1[0-2])$")]
    name: Name
    made_mg: Milligrams
    on_hand_mg: Milligrams | None = None
    acute: bool = False
    basis: Literal["weighed", "estimate", "paper"] = "estimate"


class ReminderSent(Body):
    """A digest of what was due on *on* went to *to*; *digest* is the SHA-256 of its text."""

    KIND: ClassVar[str] = "reminder_sent"

    to: Name
    on: Day
    pressing: Whole
    digest: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
