"""A month's hazardous waste and the categories that ordinances give it, as values and in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from wasteledger.estimate.containers import Estimate
from wasteledger.estimate.rounding import statement
from wasteledger.office.other_waste import Month
from wasteledger.office.plain import plain
from wasteledger.office.waste_allowance import allowance_mg, allowed_words
from wasteledger.ordinance.categories import Counted, Placed, in_kg
from wasteledger.ordinance.rules import Category, Provision

_UNTOLD = "other waste was not typed in, so not known"


@dataclass(frozen=True, slots=True)
class OtherMade:
    """Other waste of one month as it was typed in; *seq* is the entry that says so."""

    seq: int
    name: str
    made_mg: int
    on_hand_mg: int | None
    acute: bool
    basis: str


@dataclass(frozen=True, slots=True)
class MonthCategory:
    """What one ordinance makes of a month.

    Attributes:
        ordinance: Its id.
        ordinance_title: Its name.
        counted: What it counts, acute waste apart.
        placed: The category, by the value and at both ends of the interval.
        left_out: Streams with waste in the month that a rule leaves out of the count.
        left_out_by: The rules that say so, with their clauses.
        with_all: The highest category if those streams were counted; None where none were left out.
        leaves_out_unread: Whether a rule that leaves them out was not read at its source.
        unknown_pieces: Pieces of unknown mass among what is counted; the upper end takes an allowance for them.
        is_told: Whether other waste was typed in for the month, be it none; without it no category is known.
    """

    ordinance: str
    ordinance_title: str
    counted: Counted
    placed: Placed
    left_out: tuple[str, ...] = ()
    left_out_by: tuple[str, ...] = ()
    with_all: Category | None = None
    leaves_out_unread: bool = False
    unknown_pieces: int = 0
    is_told: bool = True

    @property
    def highest(self) -> Category | None:
        """The highest category that the month may have: with what only a rule that nobody read leaves out."""
        found = [one for one in (self.placed.highest, self.with_all if self.leaves_out_unread else None) if one]
        return max(found, key=lambda one: one.rank, default=None)

    @property
    def says(self) -> str:
        """The category in words; where a boundary lies inside the interval, that it does, and what else it may be."""
        placed = self.placed
        found = placed.by_value
        if placed.is_settled:
            said = "no category takes this amount" if found is None else found.name
        else:
            ends = ((placed.at_lower, "lower"), (placed.at_upper, "upper"))
            parts = [f"{_name(one)} at the {end} end" for one, end in ends if one is not found]
            said = ", ".join([f"{_name(found)} by the value", *parts])
            said += f"; {inside_words(placed)}{widened_words(self.counted, self.unknown_pieces)}"
        if placed.by_acute:
            said += ", for its acute waste"
        if self.left_out:
            said += f"; counted without {', '.join(self.left_out)} ({'; '.join(self.left_out_by)})"
        if self.with_all is not None and (placed.highest is None or self.with_all.id != placed.highest.id):
            said += f", with them {_name(self.with_all)}"
        return said if self.is_told else f"by amalgam alone {said}; {_UNTOLD}"

    def as_json(self) -> dict[str, Any]:
        """The category as JSON says it; masses in mg, boundaries in kg."""
        placed = self.placed
        found = placed.by_value
        return {
            "ordinance": self.ordinance,
            "ordinance_title": self.ordinance_title,
            "category": _json_name(found),
            "at_lower": _json_name(placed.at_lower),
            "at_upper": _json_name(placed.at_upper),
            "highest": _json_name(self.highest),
            "citation": None if found is None else found.citation,
            "confirmed": None if found is None else found.confirmed,
            "boundaries_inside_kg": plain(placed.inside_kg),
            "is_told": self.is_told,
            "is_settled": placed.is_settled,
            "by_acute": placed.by_acute,
            "counted": plain(self.counted),
            "unknown_pieces": self.unknown_pieces,
            "left_out": list(self.left_out),
            "left_out_by": list(self.left_out_by),
            "with_all": _json_name(self.with_all),
            "says": self.says,
        }


@dataclass(frozen=True, slots=True)
class MonthCount:
    """The hazardous waste of one month.

    Attributes:
        month: Which.
        is_so_far: Whether it still runs.
        amalgam: What went into containers, of every stream; an estimate unless all of it was weighed by itself.
        seqs: The entries that it was counted from.
        others: Other waste as it was typed in.
        categories: What each ordinance that has categories makes of it.
    """

    month: Month
    is_so_far: bool
    amalgam: Estimate
    seqs: tuple[int, ...]
    others: tuple[OtherMade, ...]
    categories: tuple[MonthCategory, ...]

    @property
    def is_amalgam_only(self) -> bool:
        """Whether no other waste was typed in for the month, not even that there was none."""
        return not self.others

    @property
    def together(self) -> Estimate:
        """Amalgam and other waste, the acute too; an estimate as soon as something was typed in."""
        return with_typed(self.amalgam, [one.made_mg for one in self.others])

    def as_json(self) -> dict[str, Any]:
        """The month as JSON says it; every mass in mg."""
        return {
            "month": str(self.month),
            "is_so_far": self.is_so_far,
            "is_amalgam_only": self.is_amalgam_only,
            "amalgam": mass_json(self.amalgam) | {"seqs": list(self.seqs)},
            "others": plain(self.others),
            "together": mass_json(self.together),
            "categories": [one.as_json() for one in self.categories],
        }


def counted_of(amalgam: Estimate, typed: Iterable[tuple[int, bool]]) -> Counted:
    """Amalgam and *typed* masses in mg as they count; of each whether it is acute.

    The upper end takes an allowance for pieces of unknown mass, which are in no figure of the estimate.
    """
    allowed_mg = allowance_mg(amalgam.unknown)
    counted = Counted(amalgam.value_mg, amalgam.lower_mg, amalgam.upper_mg + allowed_mg, allowed_mg=allowed_mg)
    for mass_mg, acute in typed:
        counted = counted.plus(Counted(0, 0, 0, mass_mg) if acute else Counted.exactly(mass_mg))
    return counted


def with_typed(estimate: Estimate, typed: Sequence[int]) -> Estimate:
    """An amount and masses in mg that were typed in: with them an estimate, whatever of it was weighed."""
    if not typed:
        return estimate
    typed_mg = sum(typed)
    return replace(
        estimate,
        value_mg=estimate.value_mg + typed_mg,
        lower_mg=estimate.lower_mg + typed_mg,
        upper_mg=estimate.upper_mg + typed_mg,
        expanded_mg=(estimate.upper_mg - estimate.lower_mg + 1) // 2,
        weighed_mg=0,
        basis="estimate",
    )


def amount_words(estimate: Estimate) -> str:
    """An amount of waste in words, never a weighing's where it is none; “none” where nothing went in."""
    nothing = not estimate.value_mg and not estimate.upper_mg and not estimate.unknown_pieces
    return "none" if nothing else statement(estimate)


def mass_json(estimate: Estimate) -> dict[str, Any]:
    """An amount of waste as JSON says it, in mg; *unknown* are pieces whose mass is in no figure."""
    return {
        "value_mg": estimate.value_mg,
        "lower_mg": estimate.lower_mg,
        "upper_mg": estimate.upper_mg,
        "basis": estimate.basis,
        "weighed_mg": estimate.weighed_mg,
        "unknown": plain(estimate.unknown),
        "unknown_pieces": estimate.unknown_pieces,
        "statement": amount_words(estimate),
    }


def cited(provision: Provision) -> str:
    """Where a provision stands, and that it was not read there, or was changed by a nearer rule."""
    unread = "" if provision.confirmed else ", not read at its source"
    changed = f"; {provision.override}" if provision.override is not None else ""
    return f"{provision.citation}{unread}{changed}"


def inside_words(placed: Placed) -> str:
    """That boundaries lie inside the interval, in words."""
    kilograms = " and ".join(in_kg(kg) for kg in placed.inside_kg)
    return f"{kilograms} {'lies' if len(placed.inside_kg) == 1 else 'lie'} inside the interval"


def widened_words(counted: Counted, unknown_pieces: int) -> str:
    """That the upper end takes an allowance, where it does; to be put behind a sentence."""
    if not counted.allowed_mg:
        return ""
    return f", whose upper end takes {allowed_words(counted.allowed_mg, unknown_pieces)}"


def _name(category: Category | None) -> str:
    return "no category" if category is None else category.name


def _json_name(category: Category | None) -> str | None:
    return None if category is None else category.name
