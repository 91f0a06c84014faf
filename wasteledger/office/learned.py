"""What the practice's own weighings have taught so far, kind by kind, and which weighings could teach nothing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from wasteledger.estimate.containers import Estimate
from wasteledger.estimate.increments import Increment
from wasteledger.estimate.kind_means import mean_of
from wasteledger.estimate.learning import UNKNOWN_BODY, UNKNOWN_PIECES, sort_out
from wasteledger.estimate.rounding import statement
from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import Calibration
from wasteledger.office.kind_words import held_words, source_words
from wasteledger.office.learning import current_prior, newest_calibration, site_increments
from wasteledger.office.lessons import MEND_BODIES
from wasteledger.office.plain import plain
from wasteledger.office.starting_values import mass_sources, shipped_prior
from wasteledger.office.words import count

MEND_PIECES = "Name a mass_source for that stream in the plan, or weigh the pieces by themselves."
"""How an increment that holds pieces of unknown mass can be made to teach."""

_WEIGHED = {
    "container": "container",
    "receipt": "receipt of",
    "trap": "trap",
    "unit": "unit of",
    "pieces": "pieces in",
}


@dataclass(frozen=True, slots=True)
class KindBelieved:
    """One kind: what was published of the mean of one full swap, what is believed of it now, and from how much.

    Attributes:
        kind: The kind's name.
        published: The starting value.
        now: What is believed now; the same where nothing was learned.
        weighings: How many weighings had something of this kind in them, and could teach.
    """

    kind: str
    published: Estimate
    now: Estimate
    weighings: int

    @property
    def words(self) -> str:
        """The kind in words."""
        return source_words(self.kind)

    @property
    def is_moved(self) -> bool:
        """Whether anything was learned of it."""
        return (self.now.value_mg, self.now.lower_mg, self.now.upper_mg) != (
            self.published.value_mg,
            self.published.lower_mg,
            self.published.upper_mg,
        )

    @property
    def is_held_at_zero(self) -> bool:
        """Whether weighings pulled it below nothing."""
        return self.is_moved and self.now.value_mg == 0

    @property
    def statement(self) -> str:
        """What is believed now, in words."""
        return statement(self.now)

    @property
    def began(self) -> str:
        """The published value, and what has moved it since, in words."""
        began = f"published {statement(self.published).removesuffix(', estimate')}"
        if self.weighings:
            return f"{began}; {count(self.weighings, 'weighing')} of it"
        return f"{began}; no weighing of it, moved with the others" if self.is_moved else f"{began}; no weighing of it"

    def as_json(self) -> dict[str, Any]:
        """The same as JSON says it; masses in mg."""
        return {
            "kind": self.kind,
            "published": _mean_json(self.published),
            "now": _mean_json(self.now),
            "weighings": self.weighings,
            "is_held_at_zero": self.is_held_at_zero,
        }


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A weighing that could teach nothing: which, why, and how that can be mended; empty where nothing is wrong."""

    seq: int
    ended_at: datetime
    what: str
    why: str
    mend: str


@dataclass(frozen=True, slots=True)
class MassesLearned:
    """What is believed of every kind.

    Attributes:
        calibration_seq: The entry that wrote it down; None where nothing was learned yet.
        data_to: The entry up to which the journal had been read for it.
        kinds: Each kind, in the order of the starting values.
        weighings: How many weighings taught.
        left_out: Those that could not.
        scale: How the scatter of swaps compares with the published one: 1 as published, 4 twice as wide.
        degrees_of_freedom: Behind the estimates; infinite before anything was learned.
    """

    calibration_seq: int | None
    data_to: int
    kinds: tuple[KindBelieved, ...]
    weighings: int
    left_out: tuple[LeftOut, ...]
    scale: float
    degrees_of_freedom: float

    @property
    def headline(self) -> str:
        """From how many weighings, and where that is written down."""
        if not self.weighings:
            return "No weighing has taught anything yet: the published starting values count."
        return (
            f"Learned from {count(self.weighings, 'weighing')}, written down in entry {self.calibration_seq} "
            f"(from the entries up to {self.data_to})."
        )

    @property
    def scatter(self) -> str:
        """The scale factor and the degrees of freedom in words."""
        if math.isinf(self.degrees_of_freedom):
            return "Scale factor 1, degrees of freedom without limit: as published."
        return (
            f"Scale factor {self.scale:.2f}: the scatter of one swap, as a share of its mean, is "
            f"{math.sqrt(self.scale):.2f} times the published one. "
            f"Degrees of freedom {math.floor(self.degrees_of_freedom)}."
        )

    @property
    def warnings(self) -> tuple[str, ...]:
        """Kinds that are held at zero, in words."""
        return tuple(held_words(one.kind) for one in self.kinds if one.is_held_at_zero)

    @property
    def reasons(self) -> tuple[tuple[str, str, tuple[LeftOut, ...]], ...]:
        """Why weighings were left out: each reason once, with how to mend it and the weighings."""
        found: dict[tuple[str, str], list[LeftOut]] = {}
        for one in self.left_out:
            found.setdefault((one.why, one.mend), []).append(one)
        return tuple((why, mend, tuple(some)) for (why, mend), some in found.items())

    def as_json(self) -> dict[str, Any]:
        """The same as JSON says it; masses in mg, other real numbers as decimal text."""
        return {
            "quantity": "mass",
            "calibration_seq": self.calibration_seq,
            "data_to": self.data_to,
            "weighings": self.weighings,
            "scale": f"{self.scale:.4f}",
            "degrees_of_freedom": None if math.isinf(self.degrees_of_freedom) else f"{self.degrees_of_freedom:.4g}",
            "kinds": [one.as_json() for one in self.kinds],
            "left_out": plain(self.left_out),
            "warnings": list(self.warnings),
        }


def masses_learned(reader: Reader) -> MassesLearned:
    """What the newest calibration says of every kind beside what was published, and what it rests on.

    Raises:
        BadPrior: The starting values have faults.
    """
    published, now = shipped_prior(), current_prior(reader)
    entry = newest_calibration(reader)
    body = entry.body if entry is not None and isinstance(entry.body, Calibration) else None
    sorted_out = sort_out(published, site_increments(reader), mass_sources=mass_sources(reader))
    return MassesLearned(
        calibration_seq=entry.seq if entry is not None else None,
        data_to=body.data_to if body is not None else 0,
        kinds=tuple(
            KindBelieved(
                kind, mean_of(published, kind), mean_of(now, kind), sum(1 for row in sorted_out.rows if row[place])
            )
            for place, kind in enumerate(published.kinds)
        ),
        weighings=len(sorted_out.used),
        left_out=tuple(_left_out(one, why) for one, why in sorted_out.left_out),
        scale=float(body.scale) if body is not None else 1.0,
        degrees_of_freedom=now.degrees_of_freedom,
    )


def _left_out(one: Increment, why: str) -> LeftOut:
    if why == UNKNOWN_BODY:
        mend = MEND_BODIES
    elif why.startswith(UNKNOWN_PIECES) and one.weighed != "pieces":
        mend = MEND_PIECES
    else:
        # What was weighed by itself is known; it only has no kind that could learn from it.
        mend = ""
    return LeftOut(one.seq, one.ended_at, f"{_WEIGHED[one.weighed]} {one.ref}", why, mend)


def _mean_json(mean: Estimate) -> dict[str, Any]:
    return {
        "value_mg": mean.value_mg,
        "standard_uncertainty_mg": mean.standard_uncertainty_mg,
        "lower_mg": mean.lower_mg,
        "upper_mg": mean.upper_mg,
        "basis": mean.basis,
    }
