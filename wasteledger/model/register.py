"""The register: what a practice has (rooms, traps, people, parties, containers' types, rules in force).

Each line of the register is an entry of its own, so that the history shows what was known when.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from wasteledger.model.traps import TrapKind
from wasteledger.model.values import (
    Body,
    Count,
    Day,
    Line,
    MassLimit,
    Milligrams,
    Name,
    Permille,
    Ref,
    Text,
    Tolerance,
    Value,
    Whole,
)


class Role(StrEnum):
    """What a person may do in a ledger."""

    ASSISTANT = "assistant"
    MANAGER = "manager"
    INSPECTOR = "inspector"
    KEEPER = "keeper"


class SiteDetails(Value):
    """The practice's site: the chain belongs to it.

    *specialties* are those practised, and no other, in the words of ordinance files; *wastewater* is where the
    evacuation lines drain to; *only_emergencies* says that amalgam is never placed and removed in emergencies only.
    What is not known is None: every rule is then taken to apply.
    """

    subject: Literal["site"] = "site"
    name: Name
    time_zone: Name
    address: tuple[Line, ...] = ()
    phone: Line = ""
    round_the_clock_phone: Line = ""
    owner: Line = ""
    identifiers: tuple[tuple[Name, Line], ...] = ()
    chairs: Whole = 0
    amalgam_chairs: Whole = 0
    working_days: tuple[Annotated[int, Field(ge=0, le=6)], ...] = (0, 1, 2, 3, 4)
    closures: tuple[tuple[Day, Day], ...] = ()
    warn_chance_permille: Permille = 100
    specialties: tuple[Name, ...] | None = None
    wastewater: Literal["public_sewer", "septic", "collected"] | None = None
    mobile: bool | None = None
    only_emergencies: bool | None = None
    mailing_address: tuple[Line, ...] | None = None
    contact: Line | None = None
    operator: Line | None = None
    discharged_before_2017_07_14: bool | None = None
    maintenance_by: Line | None = None


class RoomDetails(Value):
    """A treatment room, or the plant room; *walk* is its place in the evening's round."""

    subject: Literal["room"] = "room"
    name: Name
    walk: Whole
    chairs: Whole = 1


class TrapDetails(Value):
    """A trap in service; the body of the insert may have a known mass and an outer volume."""

    subject: Literal["trap"] = "trap"
    room: Ref
    trap_kind: TrapKind
    walk: Whole = 0
    interval_days: Count = 7
    interval_origin: Line = "office rule"
    insert_mg: Milligrams | None = None
    insert_ml: Whole | None = None
    reusable: bool = False
    stream: Ref = "traps"
    dentists_permille: Whole = 1000


class PersonDetails(Value):
    """Somebody who records or reads."""

    subject: Literal["person"] = "person"
    name: Name
    roles: tuple[Role, ...]


class CarrierDetails(Value):
    """Somebody who takes waste away."""

    subject: Literal["carrier"] = "carrier"
    name: Name
    address: tuple[Line, ...] = ()
    phone: Line = ""
    permit: Line = ""
    lead_days: Whole = 7
    sharing_rule: Line = ""


class FacilityDetails(Value):
    """The facility that receives the waste; *haul_miles* is how far the waste travels to it."""

    subject: Literal["facility"] = "facility"
    name: Name
    address: tuple[Line, ...] = ()
    phone: Line = ""
    permit: Line = ""
    haul_miles: Annotated[int, Field(ge=0, le=30_000)] | None = None


class ScaleDetails(Value):
    """A scale: the step of its display and the tolerance its maker or the last check states."""

    subject: Literal["scale"] = "scale"
    name: Name
    readability_mg: Tolerance
    tolerance_mg: Tolerance


class ContainerTypeDetails(Value):
    """A type of container: what it may hold and where its limits lie.

    *empty_lead_days* is how long an empty one takes to come once it is asked for; 0 where one stands on the shelf.
    *features* say how it is made, in the words of ordinance files (airtight, rigid …).
    """

    subject: Literal["container_type"] = "container_type"
    name: Name
    streams: tuple[Ref, ...] = Field(min_length=1)
    written_rule: Line = ""
    fill_ml: Count | None = None
    mass_limit_mg: MassLimit | None = None
    items_limit: Count | None = None
    tare_mg: Milligrams | None = None
    plan_at_permille: Permille = 750
    close_at_permille: Permille = 1000
    empty_lead_days: Annotated[int, Field(ge=0, le=366)] | None = None
    features: tuple[Name, ...] | None = None


class SeparatorDetails(Value):
    """An amalgam separator; the intervals are the operating manual's and must be checked against it.

    *removal_permille* is the share of amalgam that its certificate says it holds back. Where it is shared with others
    or run by a landlord (*run_by*), *responsible* is who answers for it. *chairs_all*: every amalgam chair drains
    to it.
    """

    subject: Literal["separator"] = "separator"
    name: Name
    make: Line = ""
    model: Line = ""
    serial: Line = ""
    installed_on: Day | None = None
    chairs_served: Whole = 0
    standard: Line = ""
    manual_on_file: bool = False
    inspect_every_days: Count | None = None
    replace_unit_every_months: Count | None = None
    unit_mg: Milligrams | None = None
    unit_stream: Ref = "retaining_units"
    dentists_permille: Whole = 1000
    responsible: Line = ""
    removal_permille: Annotated[int, Field(ge=0, le=1000)] | None = None
    run_by: Literal["practice", "shared", "landlord"] | None = None
    agreement_on_file: bool | None = None
    certificate_on_file: bool | None = None
    chairs_all: bool | None = None


class CleanerDetails(Value):
    """A line or waterline cleaner; pH in tenths, as its safety sheet states it."""

    subject: Literal["cleaner"] = "cleaner"
    name: Name
    ph_low_tenths: Annotated[int, Field(ge=0, le=140)] | None = None
    ph_high_tenths: Annotated[int, Field(ge=0, le=140)] | None = None
    oxidiser: bool
    chemistry: tuple[Name, ...] = ()
    used_in: Literal["evacuation", "waterline"] = "evacuation"
    safety_sheet_on_file: bool = False


class OrdinanceDetails(Value):
    """An ordinance in force: name, version, and the whole text with its SHA-256, so that history can be read again."""

    subject: Literal["ordinance"] = "ordinance"
    name: Name
    version: Line
    digest: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    text: Annotated[str, Field(max_length=200_000)]


class RoundStep(Value):
    """One step of the evening round."""

    does: Name
    caution: Line = ""


class RoundDetails(Value):
    """The evening round as the office walks it."""

    subject: Literal["round"] = "round"
    name: Name
    steps: tuple[RoundStep, ...]
    cleaner_per_room_ml: Whole | None = None
    suction_on_after_minutes: Whole | None = None


class StreamDetails(Value):
    """A waste stream, and with which others it may share a container."""

    subject: Literal["stream"] = "stream"
    name: Name
    shares: tuple[tuple[Ref, Literal["yes", "own_lid", "ask", "no"]], ...] = ()
    origin: Text = ""
    mass_source: Ref | None = None


Details = Annotated[
    SiteDetails
    | RoomDetails
    | TrapDetails
    | PersonDetails
    | CarrierDetails
    | FacilityDetails
    | ScaleDetails
    | ContainerTypeDetails
    | SeparatorDetails
    | CleanerDetails
    | OrdinanceDetails
    | RoundDetails
    | StreamDetails,
    Field(discriminator="subject"),
]


class Register(Body):
    """A line of the register, new or changed; *retired* takes it out of service from then on."""

    KIND: ClassVar[str] = "register"

    ref: Ref
    details: Details
    retired: bool = False
