"""What a trap is and what the eye can say of it."""

from __future__ import annotations

from enum import StrEnum


class TrapKind(StrEnum):
    """Where in the evacuation line a trap sits; the values stand in every entry and never change."""

    SALIVA_EJECTOR = "saliva_ejector"
    HIGH_VOLUME = "high_volume"
    CUSPIDOR = "cuspidor"
    LINE_FILTER = "line_filter"
    PUMP = "pump"

    @property
    def words(self) -> str:
        """The trade's name for it."""
        return _KIND_WORDS[self]

    @property
    def is_chairside(self) -> bool:
        """Whether it sits at a treatment chair (the others sit in the vacuum line or at the pump)."""
        return self in (TrapKind.SALIVA_EJECTOR, TrapKind.HIGH_VOLUME, TrapKind.CUSPIDOR)


_KIND_WORDS = {
    TrapKind.SALIVA_EJECTOR: "saliva-ejector trap",
    TrapKind.HIGH_VOLUME: "high-volume trap",
    TrapKind.CUSPIDOR: "cuspidor trap",
    TrapKind.LINE_FILTER: "vacuum-line filter",
    TrapKind.PUMP: "central-pump trap",
}


class Condition(StrEnum):
    """What was seen in a trap (common practice, no source: no published rule counts holes or debris)."""

    CLEAN = "clean"
    DEBRIS = "debris"
    CLOGGED = "clogged"
    DAMAGED = "damaged"
    NOT_LOOKED = "not_looked"

    @property
    def words(self) -> str:
        """What the eye sees, in a short phrase."""
        return _CONDITION_WORDS[self]


_CONDITION_WORDS = {
    Condition.CLEAN: "clean, all holes open",
    Condition.DEBRIS: "debris, most holes visible",
    Condition.CLOGGED: "clogged, holes not visible",
    Condition.DAMAGED: "damaged, missing or overflowing",
    Condition.NOT_LOOKED: "not looked at",
}


class Insert(StrEnum):
    """What became of the trap's insert at a swap."""

    WHOLE = "whole"  # lifted out and put away whole, with its body
    EMPTIED = "emptied"  # tapped out into the container and refitted
