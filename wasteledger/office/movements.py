"""The container ledger of a period: what stood in each container, went in, went out, and what weighings set right."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from wasteledger.estimate.containers import Estimate
from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import Deposit, PickupReleased, ReleasedContainer, Swap, UnitReplaced, Weighing
from wasteledger.model.facts import Subject
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.coverage import day_bounds
from wasteledger.office.masses import mass_of
from wasteledger.office.workplace import zone_of


@dataclass(frozen=True, slots=True)
class Held:
    """Pieces and their mass; *mass* is None where there are none."""

    pieces: int = 0
    mass: Estimate | None = None


@dataclass(frozen=True, slots=True)
class Adjustment:
    """What the weighings of a period changed in the value, in mg, with the ends between which it lies.

    Each weighing is set against what was stated just before it. *is_weighed*: that was a weighing too, every time.
    """

    value_mg: int
    lower_mg: int
    upper_mg: int
    is_weighed: bool


@dataclass(frozen=True, slots=True)
class Movement:
    """One container in a period: opening + put in ± adjustment − taken out = closing, in pieces and in mg.

    Attributes:
        standing: The container at the end of the period.
        released: What its release recorded, where it left in the period.
        adjustment: None where it was not weighed in the period.
    """

    standing: ContainerStanding
    opening: Held
    put_in: Held
    taken_out: Held
    closing: Held
    released: ReleasedContainer | None = None
    adjustment: Adjustment | None = None


def movements_between(reader: Reader, since: date, until: date) -> tuple[Movement, ...]:
    """Every container that was at the site from *since* to *until*, both days included, by the day it was opened."""
    zone = zone_of(reader)
    begin, end = day_bounds(since, zone)[0], day_bounds(until, zone)[1]
    found = (_movement(reader, one.container, begin, end) for one in reader.containers() if one.opened_at < end)
    return tuple(one for one in found if one is not None)


def _movement(reader: Reader, ref: str, begin: datetime, end: datetime) -> Movement | None:
    subject = Subject("container", ref)
    first, *later = (fact for fact in reader.facts_about(subject) if fact.happened_at < end)
    empty = standing = ContainerStanding.start(subject, first)
    opening: ContainerStanding | None = standing if first.happened_at < begin else None
    put_in = empty
    released: ReleasedContainer | None = None
    adjustments: list[Adjustment] = []
    for fact in later:
        before, standing = standing, standing.after(fact)
        if fact.happened_at < begin:
            if isinstance(fact.body, PickupReleased):
                return None
            opening = standing
            continue
        match fact.body:
            case Swap() | Deposit() | UnitReplaced():
                put_in = put_in.after(fact)
            case Weighing():
                adjustments.append(_adjustment(reader, before, standing))
            case PickupReleased():
                released = next(one for one in fact.body.containers if one.container == ref)
    held = _held(reader, standing)
    return Movement(
        standing=standing,
        opening=_held(reader, opening) if opening is not None else Held(),
        put_in=_held(reader, put_in),
        taken_out=held if released is not None else Held(),
        closing=Held() if released is not None else held,
        released=released,
        adjustment=_sum(adjustments),
    )


def _held(reader: Reader, standing: ContainerStanding) -> Held:
    mass = mass_of(reader, standing)
    return Held(standing.pieces, None if mass.basis == "empty" else mass)


def _adjustment(reader: Reader, before: ContainerStanding, after: ContainerStanding) -> Adjustment:
    old, new = mass_of(reader, before), mass_of(reader, after)
    # Ends against ends: the widest that both statements allow, whatever they have in common.
    new_low, new_high = new.value_mg - new.expanded_mg, new.value_mg + new.expanded_mg
    old_low, old_high = old.lower_mg, old.upper_mg
    return Adjustment(new.value_mg - old.value_mg, new_low - old_high, new_high - old_low, old.basis != "estimate")


def _sum(parts: list[Adjustment]) -> Adjustment | None:
    if not parts:
        return None
    return Adjustment(
        sum(one.value_mg for one in parts),
        sum(one.lower_mg for one in parts),
        sum(one.upper_mg for one in parts),
        all(one.is_weighed for one in parts),
    )
