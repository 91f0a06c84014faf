"""An invented practice of six rooms, set up from a plan as an office would, and what a refusal must leave alone."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.makers import MONDAY_MORNING, Watch
from wasteledger.errors import WasteLedgerError
from wasteledger.ledger.reader import ChainEnd
from wasteledger.ledger.verify import verify
from wasteledger.model.facts import Entry
from wasteledger.model.standing import ContainerStanding, PickupStanding, TrapStanding
from wasteledger.office.containers import open_container
from wasteledger.office.pickups import book_pickup, release_pickup
from wasteledger.office.setup import read_plan, set_up
from wasteledger.office.workplace import Recorded, Workplace

SET_UP_AT = MONDAY_MORNING - timedelta(days=60)
PICKUP_ON = (MONDAY_MORNING + timedelta(days=10)).date()
ROOMS = ("r1", "r2", "r3", "r4", "r5", "r6")

_ROOMS = "".join(f'[[rooms]]\nref = "{room}"\nname = "Room {room[1]}"\n' for room in ROOMS)

PLAN = f"""\
ordinances = ["us-federal-dental", "office-conventions"]

[site]
ref = "elm"
name = "Élan Dental (invented)"
time_zone = "America/Chicago"

{_ROOMS}
[[rooms]]
ref = "plant"
name = "Plant room"
chairs = 0

[[traps]]
ref = "1-SE"
room = "r1"
kind = "saliva_ejector"
insert_mass = "3.9 g"
insert_volume = "30 mL"

[[traps]]
ref = "1-HV"
room = "r1"
kind = "high_volume"
insert_mass = "5.1 g"
insert_volume = "45 mL"

[[traps]]
ref = "2-HV"
room = "r2"
kind = "high_volume"
reusable = true

[[traps]]
ref = "JAR"
room = "plant"
kind = "pump"
stream = "sludge"
dentists = 2

[[separators]]
ref = "SEP"
name = "Separator"
replace_unit_every_months = 12
unit_mass = "740 g"

[[people]]
ref = "kim"
name = "Kim"
roles = ["assistant"]

[[people]]
ref = "bao"
name = "Bao"
roles = ["assistant"]

[[people]]
ref = "mo"
name = "Mo"
roles = ["manager", "keeper"]

[[people]]
ref = "iris"
name = "Iris"
roles = ["inspector"]

[[carriers]]
ref = "ferryman"
name = "Ferryman Carriage (invented)"

[[carriers]]
ref = "barge"
name = "Barge Carriage (invented)"

[[facilities]]
ref = "stillhouse"
name = "Stillhouse Recovery (invented)"

[[scales]]
ref = "bench"
name = "Bench scale"
readability = "100 mg"
tolerance = "200 mg"

[[cleaners]]
ref = "mild"
name = "Mild cleaner (invented)"
ph_low = 6.8
ph_high = 7.4
oxidiser = false

[[container_types]]
ref = "pail"
name = "Trap pail"
streams = ["traps", "contact"]
fill_volume = "5 L"
mass_limit = "5 kg"
tare = "500 g"

[[container_types]]
ref = "tub"
name = "Sludge tub"
streams = ["sludge", "filters"]
fill_volume = "5 L"

[[container_types]]
ref = "tooth-jar"
name = "Tooth jar"
streams = ["teeth"]
items_limit = 4
tare = "96 g"

[[container_types]]
ref = "unit-box"
name = "Box for one unit"
streams = ["retaining_units"]
items_limit = 1
tare = "350 g"
"""


def make_place(folder: Path, watch: Watch, plan: str = PLAN) -> str:
    """A ledger in *folder*, set up from *plan* sixty days before the Monday at which *watch* then stands."""
    location = str(folder / "wasteledger.db")
    watch.now = SET_UP_AT
    set_up(location, read_plan(plan), by="mo", clock=watch)
    watch.now = MONDAY_MORNING
    return location


def as_person(place: Workplace, by: str | None) -> Workplace:
    """The same place with somebody else at it."""
    return replace(place, by=by)


@dataclass(frozen=True)
class Crew:
    """The people of the practice, each at the same place: Kim and Bao assist, Mo manages, Iris inspects."""

    kim: Workplace
    bao: Workplace
    mo: Workplace
    iris: Workplace


def make_crew(place: Workplace) -> Crew:
    """Everybody at *place*."""
    return Crew(*(as_person(place, by) for by in ("kim", "bao", "mo", "iris")))


# -- what was written ------------------------------------------------------------------------------------------------


def chain_end(place: Workplace) -> ChainEnd | None:
    """The end of the chain."""
    with place.reading() as reader:
        return reader.chain_end()


def entry(place: Workplace, seq: int) -> Entry:
    """Entry *seq* as the ledger has it."""
    with place.reading() as reader:
        return reader.get_entry(seq)


def container(place: Workplace, ref: str = "C-1") -> ContainerStanding:
    """What stands of a container."""
    with place.reading() as reader:
        found = reader.find_container(ref)
    assert found is not None
    return found


def trap(place: Workplace, ref: str = "1-HV") -> TrapStanding:
    """What stands of a trap."""
    with place.reading() as reader:
        found = reader.find_trap(ref)
    assert found is not None
    return found


def pickup(place: Workplace, ref: str = "P-1") -> PickupStanding:
    """What stands of a pickup."""
    with place.reading() as reader:
        found = reader.find_pickup(ref)
    assert found is not None
    return found


@contextmanager
def refused(place: Workplace, refusal: type[WasteLedgerError], words: str | None = None) -> Iterator[None]:
    """The block is refused with *words* and a hint, and the chain and its standing are as they were."""
    before = chain_end(place)
    with pytest.raises(refusal, match=words) as caught:
        yield
    assert caught.value.hint
    assert chain_end(place) == before
    assert verify(place.ledger.engine, place.site).holds


def assert_repeated(place: Workplace, first: Recorded, again: Recorded) -> None:
    """*again* answered with the entry of *first*, as it is in the ledger, and wrote nothing."""
    assert not first.repeated
    assert again.repeated
    assert again.entry == first.entry == entry(place, first.seq)
    assert f"entry {first.seq}" in again.says
    end = chain_end(place)
    assert end is not None
    assert end.entries >= first.seq


# -- what happens on most days ---------------------------------------------------------------------------------------


def open_pail(place: Workplace, ref: str = "C-1") -> Recorded:
    """A pail for traps and contact amalgam taken into use."""
    return open_container(place, ref, "pail")


def booked(place: Workplace, *containers: str) -> Recorded:
    """Pickup P-1, booked for some containers."""
    return book_pickup(place, "P-1", "ferryman", "stillhouse", PICKUP_ON, containers or ("C-1",))


def released(place: Workplace, *containers: str) -> Recorded:
    """Pickup P-1, booked and released."""
    booked(place, *containers)
    return release_pickup(place, "P-1", taken_by="Dana Driver")


def hours_ago(place: Workplace, hours: float) -> datetime:
    """An instant before the clock's."""
    return place.ledger.clock() - timedelta(hours=hours)
