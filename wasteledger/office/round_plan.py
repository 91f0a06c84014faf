"""The evening round: its steps, the rooms in walking order, and what is still open tonight."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, tzinfo
from typing import Any

from wasteledger.ledger.reader import Reader
from wasteledger.model.register import RoomDetails, RoundDetails, RoundStep
from wasteledger.model.standing import TrapStanding
from wasteledger.model.traps import Condition
from wasteledger.office.coverage import looks_on
from wasteledger.office.enquiries import effective_at
from wasteledger.office.plain import plain
from wasteledger.office.workplace import Workplace, zone_of


@dataclass(frozen=True, slots=True)
class RoundTrap:
    """One trap on the round.

    Attributes:
        trap: Its short name.
        kind: The trade's name for its kind.
        done_tonight: It was looked at or swapped today.
        not_looked: Why it was not, where somebody said so today; else empty.
        last_condition: What was last seen in it.
        drying_since: The local day on which it was left to dry, if it still is.
    """

    trap: str
    kind: str
    done_tonight: bool
    not_looked: str = ""
    last_condition: Condition | None = None
    drying_since: date | None = None

    @property
    def is_open(self) -> bool:
        """Whether nothing was said of it today."""
        return not self.done_tonight and not self.not_looked


@dataclass(frozen=True, slots=True)
class RoundRoom:
    """A room with its traps in walking order."""

    room: str
    name: str
    traps: tuple[RoundTrap, ...]


@dataclass(frozen=True, slots=True)
class RoundPlan:
    """Tonight's round.

    Attributes:
        today: The site's local date.
        name: What the office calls it.
        steps: What is done, in order, each with the caution that belongs there.
        rooms: Rooms in walking order; those without a trap are left out.
        cleaner_per_room_ml: Line cleaner for each room, where the office says so.
        suction_on_after_minutes: How long the suction stays on afterwards.
    """

    today: date
    name: str
    steps: tuple[RoundStep, ...]
    rooms: tuple[RoundRoom, ...]
    cleaner_per_room_ml: int | None = None
    suction_on_after_minutes: int | None = None

    @property
    def open_tonight(self) -> tuple[str, ...]:
        """The traps of which nothing was said today."""
        return tuple(trap.trap for room in self.rooms for trap in room.traps if trap.is_open)

    @property
    def to_change_before_suction(self) -> tuple[str, ...]:
        """The traps that were left to dry: they are changed before the suction starts."""
        return tuple(trap.trap for room in self.rooms for trap in room.traps if trap.drying_since is not None)

    def as_json(self) -> dict[str, Any]:
        """The round as JSON says it."""
        found: dict[str, Any] = plain(self)
        return found | {
            "open_tonight": list(self.open_tonight),
            "to_change_before_suction": list(self.to_change_before_suction),
        }


def round_plan(place: Workplace, on: date | None = None) -> RoundPlan:
    """Tonight's round, or that of the day *on*: the register's first round, every trap in service, and what was said.

    Raises:
        Unknown: The site has no line in the register.
    """
    today = on or place.today()
    with place.reading() as reader:
        zone = zone_of(reader)
        details = next((line.details for line in reader.lines("round") if isinstance(line.details, RoundDetails)), None)
        rooms = _rooms(reader, zone, today)
    if details is None:
        return RoundPlan(today, "", (), rooms)
    return RoundPlan(
        today, details.name, details.steps, rooms, details.cleaner_per_room_ml, details.suction_on_after_minutes
    )


def _rooms(reader: Reader, zone: tzinfo, today: date) -> tuple[RoundRoom, ...]:
    seen, reasons = looks_on(reader, zone, today)
    by_room: dict[str, list[RoundTrap]] = {}
    for trap in reader.traps():
        by_room.setdefault(trap.room, []).append(_trap(reader, trap, zone, seen, reasons))
    names: dict[str, tuple[int, str]] = {}
    for line in reader.lines("room", retired=True):
        if isinstance(line.details, RoomDetails):
            names[line.ref] = (line.details.walk, line.details.name)
    order = sorted(by_room, key=lambda room: (names.get(room, (0, ""))[0], room))
    return tuple(RoundRoom(room, names.get(room, (0, room))[1], tuple(by_room[room])) for room in order)


def _trap(reader: Reader, trap: TrapStanding, zone: tzinfo, seen: frozenset[str], reasons: dict[str, str]) -> RoundTrap:
    left = effective_at(reader.get_entry(trap.drying_seq)) if trap.drying_seq else None
    drying = left.astimezone(zone).date() if left is not None else None
    done = trap.trap in seen
    reason = "" if done else reasons.get(trap.trap, "")
    return RoundTrap(trap.trap, trap.trap_kind.words, done, reason, trap.last_condition, drying)
