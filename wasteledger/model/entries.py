"""What an entry of the journal says: one frozen class a kind.

Masses are whole milligrams, volumes whole millilitres, levels and shares whole thousandths (permille). `KINDS` maps
the kind's name to its class; the name and the form are part of the hashed bytes and never change without a version.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import AfterValidator, Field, ValidationError, model_validator

from wasteledger.errors import NotUnderstood
from wasteledger.model.calibration import Calibration as Calibration
from wasteledger.model.filings import DutyDone, OtherWaste, PaperFiled, ReminderSent, Statement, Training
from wasteledger.model.pickups import PickupBooked as PickupBooked
from wasteledger.model.pickups import PickupReleased as PickupReleased
from wasteledger.model.pickups import Receipt as Receipt
from wasteledger.model.pickups import ReceivedContainer as ReceivedContainer
from wasteledger.model.pickups import ReleasedContainer as ReleasedContainer
from wasteledger.model.procedures import Procedures
from wasteledger.model.refusal_words import words_of
from wasteledger.model.register import Register
from wasteledger.model.traps import Condition, Insert, TrapKind
from wasteledger.model.values import (
    Body,
    Count,
    Line,
    MassLimit,
    Milligrams,
    Name,
    Permille,
    Reading,
    Reason,
    Ref,
    Text,
    Value,
    Whole,
    Words,
    read_utc,
    utc_text,
)
from wasteledger.units import LARGEST


class BodyNotUnderstood(NotUnderstood):
    """An entry's body lacks something, or holds something that its kind does not know."""

    code = "body-not-understood"


class Look(Body):
    """A trap was looked at, or could not be, with the reason."""

    KIND: ClassVar[str] = "look"

    trap: Ref
    condition: Condition
    amalgam_seen: bool | None = None
    reason: Line | None = None
    left_to_dry: bool = False
    on_paper: bool = False

    @model_validator(mode="after")
    def _reason_where_not_looked(self) -> Self:
        if (self.condition is Condition.NOT_LOOKED) != bool(self.reason):
            raise ValueError("a reason belongs to “not looked at”, and to nothing else")
        return self


class Swap(Body):
    """A trap was changed and what it held was put into a container."""

    KIND: ClassVar[str] = "swap"
    DERIVED: ClassVar[frozenset[str]] = frozenset(
        {"trap_kind", "days_in_service", "interval_days", "dentists_permille", "insert", "insert_mg", "insert_ml"}
    )

    trap: Ref
    trap_kind: TrapKind
    container: Ref
    stream: Ref
    condition: Condition = Condition.NOT_LOOKED
    days_in_service: Whole | None = None
    interval_days: Count
    dentists_permille: Whole = 1000
    insert: Insert = Insert.WHOLE
    insert_mg: Milligrams | None = None
    insert_ml: Whole | None = None
    gross: Reading | None = None
    tare: Reading | None = None
    amalgam_seen: bool | None = None
    on_paper: bool = False

    @model_validator(mode="after")
    def _weighed_twice_or_not_at_all(self) -> Self:
        if (self.gross is None) != (self.tare is None):
            raise ValueError("a weighed trap wants both its gross and its tare mass")
        if self.gross and self.tare and self.gross.mass_mg < self.tare.mass_mg:
            raise ValueError("the gross mass of the trap is below its tare")
        return self


class Deposit(Body):
    """Something other than a trap was put into a container: by count, by mass, or both."""

    KIND: ClassVar[str] = "deposit"

    container: Ref
    stream: Ref
    count: Count | None = None
    mass: Reading | None = None
    volume_ml: Whole | None = None
    room: Ref | None = None
    on_paper: bool = False

    @model_validator(mode="after")
    def _something_said(self) -> Self:
        if self.count is None and self.mass is None:
            raise ValueError("a deposit wants a count, a mass, or both")
        return self


class Weighing(Body):
    """A container stood on a scale as it is, lid and all."""

    KIND: ClassVar[str] = "weighing"

    container: Ref
    gross: Reading


class Level(Body):
    """How far a container is filled, in thousandths of its fill line."""

    KIND: ClassVar[str] = "level"

    container: Ref
    level_permille: Permille


class ContainerOpened(Body):
    """A container was taken into use; what it may hold and its limits are copied here from its type."""

    KIND: ClassVar[str] = "container_opened"

    container: Ref
    container_type: Ref
    streams: tuple[Ref, ...] = Field(min_length=1)
    place: Line = ""
    tare: Reading
    fill_ml: Count | None = None
    mass_limit_mg: MassLimit | None = None
    items_limit: Count | None = None
    plan_at_permille: Permille = 750
    close_at_permille: Permille = 1000


class ContainerClosed(Body):
    """A container was closed for good; nothing more goes in."""

    KIND: ClassVar[str] = "container_closed"

    container: Ref
    why: Literal["full", "pickup", "other"] = "full"


class ContainerMoved(Body):
    """A container stands elsewhere now."""

    KIND: ClassVar[str] = "container_moved"

    container: Ref
    place: Line


class SeparatorInspection(Body):
    """Somebody looked at the separator; a malfunction starts the clock for its repair."""

    KIND: ClassVar[str] = "separator_inspection"

    separator: Ref
    result: Literal["in order", "attention", "malfunction"]
    level_permille: Permille | None = None
    bypass_seen: bool = False
    leak_seen: bool = False
    follow_up: Text | None = None
    done_by: Line | None = None
    on_paper: bool = False


class Repair(Body):
    """The separator was repaired, or replaced whole."""

    KIND: ClassVar[str] = "repair"

    separator: Ref
    action: Literal["repaired", "replaced"]
    done_by: Name
    description: Text
    make: Line
    model: Line
    serial: Line | None = None


class UnitReplaced(Body):
    """The separator's retaining unit was exchanged; the old one, never opened, goes into its own container."""

    KIND: ClassVar[str] = "unit_replaced"
    DERIVED: ClassVar[frozenset[str]] = frozenset(
        {"days_in_service", "interval_days", "dentists_permille", "unit_mg", "stream"}
    )

    separator: Ref
    container: Ref
    stream: Ref
    old_serial: Line | None = None
    new_serial: Line | None = None
    days_in_service: Whole | None = None
    interval_days: Count
    dentists_permille: Whole = 1000
    unit_mg: Milligrams | None = None
    mass: Reading | None = None
    done_by: Line | None = None


class LineCleaning(Body):
    """Line cleaner was drawn through the evacuation lines of some rooms."""

    KIND: ClassVar[str] = "line_cleaning"

    rooms: tuple[Ref, ...] = Field(min_length=1)
    cleaner: Ref
    volume_ml: Whole | None = None
    suction_left_minutes: Whole | None = None
    on_paper: bool = False


class Milestone(Body):
    """Something happened that starts or ends a clock of an ordinance."""

    KIND: ClassVar[str] = "milestone"

    what: Literal[
        "first_discharge",
        "ownership_transferred",
        "one_time_report_filed",
        "stock_limit_reached",
        "stock_limit_ended",
        "satellite_limit_reached",
        "satellite_limit_ended",
        "practice_closed",
    ]


class Remark(Body):
    """Words about an entry, a pickup, a container or a trap: a call made, a difference explained."""

    KIND: ClassVar[str] = "remark"

    text: Words
    about: Whole | None = None
    pickup: Ref | None = None
    container: Ref | None = None
    trap: Ref | None = None


class Replacement(Value):
    """What should have been written instead: an entry's kind, version, time and the JSON text of its body."""

    kind: Name
    version: Count
    happened_at: Annotated[str, AfterValidator(lambda text: utc_text(read_utc(text)))]
    body: Annotated[str, Field(max_length=100_000)]


class Correction(Body):
    """An earlier entry was wrong: it no longer counts, or counts as written here, or counts again after all."""

    KIND: ClassVar[str] = "correction"

    corrects: Annotated[int, Field(ge=1, le=LARGEST)]
    action: Literal["void", "replace", "reinstate"]
    reason: Reason
    replacement: Replacement | None = None

    @model_validator(mode="after")
    def _replacement_where_replaced(self) -> Self:
        if (self.action == "replace") != (self.replacement is not None):
            raise ValueError("a replacement belongs to “replace”, and to nothing else")
        return self

    def said(self) -> dict[str, object]:
        """What the person said; what was derived in the replacement is left out too."""
        said = super().said()
        if self.replacement is not None:
            put_in = read_body(self.replacement.kind, self.replacement.version, self.replacement.body)
            said["replacement"] = {
                "kind": put_in.KIND,
                "happened_at": self.replacement.happened_at,
                "body": put_in.said(),
            }
        return said


KINDS: dict[str, type[Body]] = {
    kind.KIND: kind
    for kind in (
        Register,
        Look,
        Swap,
        Deposit,
        Weighing,
        Level,
        ContainerOpened,
        ContainerClosed,
        ContainerMoved,
        PickupBooked,
        PickupReleased,
        Receipt,
        SeparatorInspection,
        Repair,
        UnitReplaced,
        LineCleaning,
        Milestone,
        Remark,
        Correction,
        Calibration,
        Procedures,
        DutyDone,
        Training,
        PaperFiled,
        Statement,
        OtherWaste,
        ReminderSent,
    )
}


def read_body(kind: str, version: int, text: str | bytes) -> Body:
    """The typed body of an entry from its JSON text.

    Raises:
        BodyNotUnderstood: An unknown kind or version, a missing or surplus key, a value out of bounds.
    """
    known = KINDS.get(kind)
    if known is None or version != known.VERSION:
        raise BodyNotUnderstood(
            f"Entries of kind “{kind}”, version {version}, are not known here.",
            hint="A newer release of wasteledger may know them.",
        )
    try:
        return known.model_validate_json(text)
    except ValidationError as error:
        raise understood(kind, error) from error


def understood(kind: str, error: ValidationError) -> BodyNotUnderstood:
    """Our own words for what pydantic found wrong in the body of an entry of *kind*."""
    first = error.errors()[0]
    # The place in a list is nobody's word: what was typed there is quoted.
    place = ".".join(step for step in first["loc"] if isinstance(step, str))
    said = words_of(first)
    what = f"The {kind.replace('_', ' ')} cannot be written"
    if not place:
        return BodyNotUnderstood(f"{what}: {said}.", hint="Say it again, changed; nothing was written.")
    return BodyNotUnderstood(f"{what}: {place}: {said}.", hint=f"Look at “{place}” and say it again.")
