"""How much of a container's room each addition takes: what was stated of it, or what has to be assumed.

The outer volume of an insert may be stated in the register, and that of a deposit when it is made; where nobody stated
it, a judged volume by kind of trap stands in. A retaining unit, and a deposit without a volume, are of unknown volume:
counted, never taken as nothing. How much of the fill line a millilitre really takes, `volume_learning` learns by kind.
"""

from __future__ import annotations

from dataclasses import dataclass

from wasteledger.model.entries import Deposit, Swap, UnitReplaced
from wasteledger.model.traps import Insert, TrapKind

STATED_DEPOSIT = "stated.deposit"

ASSUMED_KINDS: tuple[str, ...] = tuple(f"assumed.{kind}" for kind in TrapKind)
VOLUME_KINDS: tuple[str, ...] = (*(f"stated.{kind}" for kind in TrapKind), STATED_DEPOSIT, *ASSUMED_KINDS)
"""The kinds of millilitre, by what was put in and whether its volume was stated or assumed."""

_WHOLE_ML = {
    TrapKind.SALIVA_EJECTOR: 30,
    TrapKind.HIGH_VOLUME: 45,
    TrapKind.CUSPIDOR: 45,
    TrapKind.LINE_FILTER: 250,
    TrapKind.PUMP: 900,
}
"""What an insert of each kind takes up where nobody stated it (judgement, no source)."""

_DEBRIS_ML = {
    TrapKind.SALIVA_EJECTOR: 1,
    TrapKind.HIGH_VOLUME: 2,
    TrapKind.CUSPIDOR: 1,
    TrapKind.LINE_FILTER: 10,
    TrapKind.PUMP: 38,
}
"""What is tapped out of each kind: the starting masses over the starting bulk density of 1.6 g/mL, carried up."""


@dataclass(frozen=True, slots=True)
class Volume:
    """What one addition takes up.

    Attributes:
        kind: One of `VOLUME_KINDS`; empty where nothing goes in, or nothing tells how much.
        ml: Millilitres as stated, or as assumed.
        is_known: Whether anything tells it.
    """

    kind: str = ""
    ml: int = 0
    is_known: bool = True

    @property
    def is_assumed(self) -> bool:
        """Whether nobody stated it."""
        return self.kind in ASSUMED_KINDS


UNKNOWN_VOLUME = Volume(is_known=False)


@dataclass(frozen=True, slots=True)
class VolumesIn:
    """What went into a container since it was opened, or since its last level.

    Attributes:
        by_kind: Millilitres of each kind, stated or assumed, sorted by kind; those of 0 are left out.
        unknown: How many additions of unknown volume there were.
    """

    by_kind: tuple[tuple[str, int], ...] = ()
    unknown: int = 0

    @property
    def is_empty(self) -> bool:
        """Whether nothing that takes up room went in."""
        return not self.by_kind and not self.unknown

    def plus(self, volume: Volume) -> VolumesIn:
        """These and one more addition."""
        if not volume.is_known:
            return VolumesIn(self.by_kind, self.unknown + 1)
        if not volume.ml:
            return self
        kept = dict(self.by_kind)
        kept[volume.kind] = kept.get(volume.kind, 0) + volume.ml
        return VolumesIn(tuple(sorted(kept.items())), self.unknown)


def volume_of(body: object) -> Volume:
    """What an entry's addition takes up; nothing for an entry that puts nothing in."""
    match body:
        case Swap():
            return insert_volume(body.trap_kind, body.insert_ml, reusable=body.insert is Insert.EMPTIED)
        case Deposit():
            return UNKNOWN_VOLUME if body.volume_ml is None else Volume(STATED_DEPOSIT, body.volume_ml)
        case UnitReplaced():
            return UNKNOWN_VOLUME
    return Volume()


def insert_volume(kind: TrapKind, insert_ml: int | None, *, reusable: bool = False) -> Volume:
    """What a trap of that kind takes up when its insert, or only what it held, goes into a container."""
    if reusable:
        return Volume(f"assumed.{kind}", _DEBRIS_ML[kind])
    return Volume(f"assumed.{kind}", _WHOLE_ML[kind]) if insert_ml is None else Volume(f"stated.{kind}", insert_ml)
