"""Makers of small true things: an invented practice, its ledger, and one of each kind of entry.

Everything speaks of the site ``elm``: two treatment rooms with two traps each, a plant room with the pump's trap, an
amalgam separator, a scale, three people, a carrier and a facility. Times count from `MONDAY_MORNING`.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any, Literal

from wasteledger.ledger.append import Appended, Recorder
from wasteledger.ledger.chain import body_text
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.verify import Verification, verify
from wasteledger.model import entries as kinds
from wasteledger.model.facts import Entry, Subject
from wasteledger.model.filings import (
    DutyDone,
    OtherWaste,
    PaperFiled,
    PaperKind,
    ReminderSent,
    Statement,
    StatementTopic,
    Topic,
    Training,
)
from wasteledger.model.procedures import BySurfaces, Procedures
from wasteledger.model.register import (
    CarrierDetails,
    CleanerDetails,
    ContainerTypeDetails,
    Details,
    FacilityDetails,
    OrdinanceDetails,
    PersonDetails,
    Register,
    Role,
    RoomDetails,
    RoundDetails,
    RoundStep,
    ScaleDetails,
    SeparatorDetails,
    SiteDetails,
    StreamDetails,
    TrapDetails,
)
from wasteledger.model.standing import AnyStanding
from wasteledger.model.traps import Condition, Insert, TrapKind
from wasteledger.model.values import Body, Party, Reading, utc_text

SITE = "elm"
ZONE = "America/Chicago"
# Eight o'clock in Chicago, on a Monday.
MONDAY_MORNING = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)
SET_UP_AT = MONDAY_MORNING - timedelta(days=60)
KIM = Recorder("kim", "cli")

RULE = 'name = "Invented rule"\n'

TRAPS: dict[str, tuple[str, TrapKind]] = {
    "1-SE": ("r1", TrapKind.SALIVA_EJECTOR),
    "1-HV": ("r1", TrapKind.HIGH_VOLUME),
    "2-SE": ("r2", TrapKind.SALIVA_EJECTOR),
    "2-HV": ("r2", TrapKind.HIGH_VOLUME),
    "PUMP": ("plant", TrapKind.PUMP),
}


# -- time --------------------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class Watch:
    """A clock that stands still until somebody moves it."""

    now: datetime = MONDAY_MORNING

    def __call__(self) -> datetime:
        return self.now

    def wait(self, **span: float) -> datetime:
        """Let time pass (``hours=1``) and say what time it is then."""
        self.now += timedelta(**span)
        return self.now


# -- the register ------------------------------------------------------------------------------------------------------


def a_line(ref: str, details: Details, *, retired: bool = False, note: str | None = None) -> Register:
    """A line of the register."""
    return Register(ref=ref, details=details, retired=retired, note=note)


def a_site(ref: str = SITE, **changes: Any) -> Register:
    """The practice's site, which begins its chain."""
    said: dict[str, Any] = {"name": "Élan Dental, Elm Street", "time_zone": ZONE, "chairs": 2}
    return a_line(ref, SiteDetails(**said | changes))


def a_room(ref: str = "r1", walk: int = 1) -> Register:
    """A treatment room."""
    return a_line(ref, RoomDetails(name=f"Room {ref}", walk=walk))


def a_trap(ref: str = "1-HV", *, retired: bool = False, **changes: Any) -> Register:
    """One of the practice's traps."""
    room, kind = TRAPS.get(ref, ("r1", TrapKind.HIGH_VOLUME))
    said: dict[str, Any] = {"room": room, "trap_kind": kind, "insert_mg": 5_000, "insert_ml": 30}
    return a_line(ref, TrapDetails(**said | changes), retired=retired)


def a_person(ref: str = "kim", *roles: Role, retired: bool = False) -> Register:
    """Somebody who records."""
    return a_line(ref, PersonDetails(name=f"{ref.title()} Example", roles=roles or (Role.ASSISTANT,)), retired=retired)


def a_separator(ref: str = "SEP", *, retired: bool = False, **changes: Any) -> Register:
    """The practice's amalgam separator."""
    said: dict[str, Any] = {"name": "Separator in the plant room", "inspect_every_days": 30}
    return a_line(ref, SeparatorDetails(**said | changes), retired=retired)


def a_practice(site: str = SITE) -> list[Register]:
    """Every line of the register, in the order in which a new chain takes them."""
    party: dict[str, Any] = {"address": ("1 Example Road", "Springfield"), "phone": "555-0100"}
    return [
        a_site(site),
        a_person("kim"),
        a_person("mo", Role.MANAGER),
        a_person("iris", Role.INSPECTOR),
        a_room("r1", 1),
        a_room("r2", 2),
        a_line("plant", RoomDetails(name="Plant room", walk=9, chairs=0)),
        *(a_trap(ref) for ref in TRAPS),
        a_separator(),
        a_line("swiftcart", CarrierDetails(name="Invented Carrier", **party)),
        a_line("smelter", FacilityDetails(name="Invented Recycling Works", **party)),
        a_line("bench", ScaleDetails(name="Bench scale", readability_mg=100, tolerance_mg=100)),
        a_line(
            "pail",
            ContainerTypeDetails(name="Two-litre pail", streams=("traps", "scrap"), fill_ml=2000, tare_mg=150_000),
        ),
        a_line("neutral", CleanerDetails(name="Neutral cleaner", ph_low_tenths=65, ph_high_tenths=80, oxidiser=False)),
        a_line("traps", StreamDetails(name="Chairside traps", shares=(("scrap", "yes"),))),
        a_line("federal", OrdinanceDetails(name="Invented rule", version="1", digest=_digest(RULE), text=RULE)),
        a_line("evening", RoundDetails(name="Evening round", steps=(RoundStep(does="Look at each trap"),))),
    ]


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


# -- one of each kind --------------------------------------------------------------------------------------------------


def a_reading(mass_mg: int = 200_000) -> Reading:
    """A reading of the bench scale."""
    return Reading(mass_mg=mass_mg, readability_mg=100, tolerance_mg=100, scale="bench")


def a_look(trap: str = "1-HV", condition: Condition = Condition.CLOGGED, **changes: Any) -> kinds.Look:
    """A look at a trap."""
    return kinds.Look(trap=trap, condition=condition, **changes)


def a_swap(trap: str = "1-HV", container: str = "C-1", **changes: Any) -> kinds.Swap:
    """A swap of a trap into a container."""
    said: dict[str, Any] = {
        "trap": trap,
        "trap_kind": TRAPS.get(trap, ("r1", TrapKind.HIGH_VOLUME))[1],
        "container": container,
        "stream": "traps",
        "condition": Condition.CLOGGED,
        "days_in_service": 7,
        "interval_days": 7,
        "insert": Insert.WHOLE,
        "insert_mg": 5_000,
        "insert_ml": 30,
    }
    return kinds.Swap(**said | changes)


def a_deposit(container: str = "C-1", **changes: Any) -> kinds.Deposit:
    """Three capsules' worth of scrap."""
    said: dict[str, Any] = {"container": container, "stream": "scrap", "count": 3}
    return kinds.Deposit(**said | changes)


def a_weighing(container: str = "C-1", gross_mg: int = 200_000) -> kinds.Weighing:
    """A container on the scale."""
    return kinds.Weighing(container=container, gross=a_reading(gross_mg))


def a_level(container: str = "C-1", level_permille: int = 400) -> kinds.Level:
    """A level read off a container."""
    return kinds.Level(container=container, level_permille=level_permille)


def an_opening(container: str = "C-1", **changes: Any) -> kinds.ContainerOpened:
    """A pail taken into use."""
    said: dict[str, Any] = {
        "container": container,
        "container_type": "pail",
        "streams": ("traps", "scrap"),
        "place": "Plant room",
        "tare": a_reading(150_000),
        "fill_ml": 2000,
    }
    return kinds.ContainerOpened(**said | changes)


def a_closing(container: str = "C-1", why: Literal["full", "pickup", "other"] = "full") -> kinds.ContainerClosed:
    """A container closed for good."""
    return kinds.ContainerClosed(container=container, why=why)


def a_party(ref: str = "swiftcart") -> Party:
    """A carrier or facility as it stood when the entry was made."""
    return Party(ref=ref, name=f"Invented {ref}", address=("1 Example Road",), phone="555-0100")


def a_booking(pickup: str = "P-1", containers: tuple[str, ...] = ("C-1",), **changes: Any) -> kinds.PickupBooked:
    """A pickup asked for."""
    said: dict[str, Any] = {
        "pickup": pickup,
        "carrier": a_party(),
        "facility": a_party("smelter"),
        "planned_on": date(2026, 3, 9),
        "containers": containers,
    }
    return kinds.PickupBooked(**said | changes)


def a_released_container(container: str = "C-1", **changes: Any) -> kinds.ReleasedContainer:
    """What the ledger states of a container as it leaves."""
    said: dict[str, Any] = {
        "container": container,
        "container_type": "pail",
        "streams": ("traps", "scrap"),
        "closed_on": date(2026, 3, 2),
        "basis": "weighed",
        "gross_mg": 200_000,
        "tare_mg": 150_000,
        "net_mg": 50_000,
        "uncertainty_mg": 130,
        "lower_mg": 49_870,
        "upper_mg": 50_130,
        "statement": "50.00 g ± 0.13 g, weighed",
    }
    return kinds.ReleasedContainer(**said | changes)


def a_release(pickup: str = "P-1", containers: tuple[str, ...] = ("C-1",)) -> kinds.PickupReleased:
    """Containers leaving with the carrier."""
    return kinds.PickupReleased(
        pickup=pickup,
        carrier=a_party(),
        facility=a_party("smelter"),
        containers=tuple(a_released_container(one) for one in containers),
        taken_by="Dana Driver",
    )


def a_receipt(pickup: str = "P-1", containers: tuple[str, ...] = ("C-1",), **changes: Any) -> kinds.Receipt:
    """A paper that came back."""
    said: dict[str, Any] = {
        "pickup": pickup,
        "proves": "received",
        "received_on": date(2026, 3, 16),
        "containers": tuple(kinds.ReceivedContainer(container=one, net_mg=50_000) for one in containers),
    }
    return kinds.Receipt(**said | changes)


def an_inspection(result: Literal["in order", "attention", "malfunction"] = "in order") -> kinds.SeparatorInspection:
    """A look at the separator."""
    return kinds.SeparatorInspection(separator="SEP", result=result, level_permille=300)


def a_repair(action: Literal["repaired", "replaced"] = "repaired") -> kinds.Repair:
    """A repair of the separator."""
    return kinds.Repair(
        separator="SEP", action=action, done_by="Robin Example", description="New seal", make="Invented", model="One"
    )


def a_unit_replacement(container: str = "C-1", **changes: Any) -> kinds.UnitReplaced:
    """The separator's retaining unit exchanged."""
    said: dict[str, Any] = {
        "separator": "SEP",
        "container": container,
        "stream": "scrap",
        "interval_days": 365,
        "unit_mg": 400_000,
    }
    return kinds.UnitReplaced(**said | {"interval_days": 365} | changes)


def a_line_cleaning(*rooms: str) -> kinds.LineCleaning:
    """Line cleaner drawn through the rooms."""
    return kinds.LineCleaning(rooms=rooms or ("r1", "r2"), cleaner="neutral", volume_ml=3785)


def a_correction(entry: Entry | int, action: Literal["void", "reinstate"] = "void") -> kinds.Correction:
    """An entry made void, or counting again."""
    seq = entry if isinstance(entry, int) else entry.seq
    return kinds.Correction(corrects=seq, action=action, reason="Entered by mistake.")


def a_replacement(entry: Entry, body: Body | None = None, happened_at: datetime | None = None) -> kinds.Correction:
    """An entry replaced by another body, another time, or both."""
    body = body or entry.body
    put_in = kinds.Replacement(
        kind=body.KIND,
        version=body.VERSION,
        happened_at=utc_text(happened_at or entry.happened_at),
        body=body_text(body),
    )
    return kinds.Correction(corrects=entry.seq, action="replace", reason="Mixed up two lines.", replacement=put_in)


def a_calibration() -> kinds.Calibration:
    """What the estimator had learned."""
    return kinds.Calibration(
        quantity="mass",
        data_to=12,
        kinds=("high_volume",),
        means=("812.5",),
        covariance=(("12.25",),),
        scale="1.0",
        degrees_of_freedom="9",
        scatter=("790.25",),
        nominal_days=(5,),
        grades=(("clean", 50), ("clogged", 1000), ("damaged", 1000), ("debris", 400), ("not_looked", 1000)),
    )


def some_procedures(**changes: Any) -> Procedures:
    """What a week of the practice's dentists did: eight restorations removed, two placed."""
    said: dict[str, Any] = {
        "first_on": date(2026, 2, 23),
        "last_on": date(2026, 2, 27),
        "removed": BySurfaces(one=3, two=4, unknown=1),
        "placed": BySurfaces(two=2),
    }
    return Procedures(**said | changes)


def one_of_each() -> dict[str, Body]:
    """One body of every kind, by the kind's name."""
    bodies: list[Body] = [
        a_site(),
        a_look(),
        a_swap(gross=a_reading(34_200), tare=a_reading(5_000), note="Zoë’s room"),
        a_deposit(mass=a_reading(1_200), room="r1"),
        a_weighing(),
        a_level(),
        an_opening(),
        a_closing(),
        kinds.ContainerMoved(container="C-1", place="Back door"),
        a_booking(),
        a_release(),
        a_receipt(),
        an_inspection("malfunction"),
        a_repair(),
        a_unit_replacement(),
        a_line_cleaning(),
        kinds.Milestone(what="first_discharge"),
        kinds.Remark(text="Called the carrier.\nNobody there."),
        kinds.Correction(
            corrects=3,
            action="replace",
            reason="Mixed up two lines.",
            replacement=kinds.Replacement(
                kind="look", version=1, happened_at=utc_text(MONDAY_MORNING), body=body_text(a_look())
            ),
        ),
        a_calibration(),
        some_procedures(),
        DutyDone(duty="certify", ordinance="state", rule="ST-01", separator="SEP", due_on=date(2026, 3, 31)),
        Training(people=("kim",), topics=(Topic.HANDLING, Topic.SPILL), held_by="Mo"),
        PaperFiled(what=PaperKind.OPERATING_MANUAL, place="Binder 2", separator="SEP"),
        Statement(topic=StatementTopic.NO_BULK_MERCURY, holds=False, why="One bottle waits for the carrier."),
        OtherWaste(month="2026-02", name="Spent fixer", made_mg=12_000_000, on_hand_mg=3_000_000),
        ReminderSent(to="office@example.org", on=date(2026, 3, 2), pressing=2, digest="0" * 64),
    ]
    return {body.KIND: body for body in bodies}


# -- ledgers -----------------------------------------------------------------------------------------------------------


def make_ledger(folder: Path, watch: Watch | None = None, *, site: str = SITE, name: str = "wasteledger.db") -> Ledger:
    """A ledger in *folder* with the practice registered at `SET_UP_AT`, and nothing else in it."""
    watch = watch or Watch()
    ledger = Ledger.open(str(folder / name), create=True, clock=watch)
    with ledger.writing(site, Recorder("kim", "import")) as desk:
        for line in a_practice(site):
            desk.append(line, happened_at=SET_UP_AT)
    return ledger


@dataclass(slots=True)
class Clinic:
    """A practice at work: its ledger, its clock, and Kim, who records."""

    ledger: Ledger
    watch: Watch = field(default_factory=Watch)
    site: str = SITE

    def append(self, body: Body, at: datetime | None = None, key: str | None = None) -> Appended:
        """Record one entry in a transaction of its own."""
        with self.ledger.writing(self.site, KIM) as desk:
            return desk.append(body, happened_at=at, key=key)

    def record(self, body: Body, at: datetime | None = None, *, key: str | None = None) -> Entry:
        """Record one entry, an hour after the one before unless *at* says when."""
        if at is None:
            self.watch.wait(hours=1)
        return self.append(body, at, key).entry

    def entries(self) -> list[Entry]:
        """The whole chain."""
        with self.ledger.reading(self.site) as reader:
            return list(reader.entries())

    def standing(self, what: str, ref: str) -> AnyStanding | None:
        """What stands of a subject."""
        with self.ledger.reading(self.site) as reader:
            return reader.find_standing(Subject(what, ref))

    def container(self, ref: str = "C-1") -> Any:
        """What stands of a container."""
        return self.standing("container", ref)

    def verify(self) -> Verification:
        """Verify the whole chain."""
        return verify(self.ledger.engine, self.site)


def make_clinic(folder: Path, **named: Any) -> Clinic:
    """A practice at work in *folder*."""
    watch = Watch()
    return Clinic(make_ledger(folder, watch, **named), watch, named.get("site", SITE))
