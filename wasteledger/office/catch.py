"""What each trap and each room caught in a period: debris alone, without the bodies of the traps."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from wasteledger.estimate.containers import Estimate, standing_mass
from wasteledger.estimate.prior import Prior
from wasteledger.ledger.reader import Reader
from wasteledger.model.containers import Holding
from wasteledger.model.entries import Swap
from wasteledger.model.standing import TrapStanding
from wasteledger.model.standing.containers import tally_of
from wasteledger.office.coverage import day_bounds
from wasteledger.office.learning import current_prior
from wasteledger.office.workplace import zone_of

# Documents come to the estimate through the office.
__all__ = ["Catch", "Estimate", "RoomCatch", "TrapCatch", "catch_between"]


@dataclass(frozen=True, slots=True)
class TrapCatch:
    """One trap, the swaps of it in the period, and the mass that they brought."""

    trap: TrapStanding
    swaps: int
    estimate: Estimate


@dataclass(frozen=True, slots=True)
class RoomCatch:
    """The traps of one room, and all of them together.

    The sum is estimated as one: traps of a kind share their error, so its interval is no sum of intervals.
    """

    room: str
    traps: tuple[TrapCatch, ...]
    swaps: int
    estimate: Estimate


@dataclass(frozen=True, slots=True)
class Catch:
    """All rooms in walking order, and the whole."""

    since: date
    until: date
    rooms: tuple[RoomCatch, ...]
    swaps: int
    estimate: Estimate


def catch_between(reader: Reader, since: date, until: date) -> Catch:
    """What was caught by the swaps from *since* to *until*, both days included.

    A trap is listed where it was in service in the period, swapped or not. What a swap brings counts for the room
    that its trap stands in now.
    """
    zone = zone_of(reader)
    begin, end = day_bounds(since, zone)[0], day_bounds(until, zone)[1]
    by_trap: dict[str, list[Swap]] = {}
    for fact in reader.facts_between(begin, end, (Swap.KIND,)):
        if isinstance(fact.body, Swap):
            by_trap.setdefault(fact.body.trap, []).append(fact.body)
    traps = [
        one
        for one in reader.traps(retired=True)
        if one.trap in by_trap or (one.in_service_at < end and (one.retired_at is None or one.retired_at >= begin))
    ]
    rooms: dict[str, list[TrapStanding]] = {}
    for one in traps:
        rooms.setdefault(one.room, []).append(one)
    prior = current_prior(reader)
    found = tuple(_room(room, some, by_trap, prior) for room, some in rooms.items())
    every = [swap for swaps in by_trap.values() for swap in swaps]
    return Catch(since, until, found, len(every), _caught(every, prior))


def _room(room: str, traps: list[TrapStanding], by_trap: dict[str, list[Swap]], prior: Prior) -> RoomCatch:
    each = tuple(
        TrapCatch(one, len(by_trap.get(one.trap, [])), _caught(by_trap.get(one.trap, []), prior)) for one in traps
    )
    together = [swap for one in traps for swap in by_trap.get(one.trap, [])]
    return RoomCatch(room, each, len(together), _caught(together, prior))


def _caught(swaps: list[Swap], prior: Prior) -> Estimate:
    """The debris of some swaps: weighed where the trap stood on a scale by itself, else estimated as anywhere."""
    holding = Holding()
    for swap in swaps:
        if swap.gross is not None and swap.tare is not None:
            variance = swap.gross.twelfths_mg2 + swap.tare.twelfths_mg2
            holding = holding.with_weighed(swap.gross.mass_mg - swap.tare.mass_mg, variance)
            continue
        # Debris alone: the body of the trap was caught by nobody.
        holding = holding.with_tally(replace(tally_of(swap), inserts_mg=0, inserts_unknown=0))
    return standing_mass(holding, prior)
