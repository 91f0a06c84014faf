"""What a check reports: where, what, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Weight(StrEnum):
    """How much a finding asks of the reader."""

    NOTE = "note"
    WARNING = "warning"
    URGENT = "urgent"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that a check found.

    Attributes:
        code: For programs; never changes.
        place: Where: ``container C-3``, ``plan.toml line 14, key traps.interval_days``.
        says: What is so, in a sentence.
        do: What may be done, in a sentence.
        weight: How much it asks.
        seqs: The entries it rests on.
    """

    code: str
    place: str
    says: str
    do: str = ""
    weight: Weight = Weight.WARNING
    seqs: tuple[int, ...] = ()
