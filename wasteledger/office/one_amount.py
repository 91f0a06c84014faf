"""A mass of waste as reports say it, with its ends, and how much of it stood on a scale."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from wasteledger.estimate.containers import BudgetLine, Estimate
from wasteledger.estimate.rounding import statement
from wasteledger.model.entries import ReleasedContainer

_K_PERMILLE = 1960  # k for 95 % of a normal distribution


@dataclass(frozen=True, slots=True)
class Amount:
    """A mass of waste in mg, with the ends of its 95 % interval and how much of it stood on a scale.

    Attributes:
        value_mg: Of what has a known or an estimated mass.
        lower_mg: Lower end; ends are added, so that what is wrong alike in every container is wrong in the sum.
        upper_mg: Upper end.
        weighed_mg: The part that stood on a scale.
        weighed_expanded_mg: Expanded uncertainty (95 %) of that part.
        basis: ``weighed`` where all of it did, ``none`` where there is nothing, else ``estimate``.
        unknown_pieces: Pieces in it whose mass nothing tells; they are not in the value.
    """

    value_mg: int = 0
    lower_mg: int = 0
    upper_mg: int = 0
    weighed_mg: int = 0
    weighed_expanded_mg: int = 0
    basis: Literal["weighed", "estimate", "none"] = "none"
    unknown_pieces: int = 0

    @property
    def words(self) -> str:
        """The amount as papers say it: "about 230 g, between 80 g and 540 g (95 %), estimate, of which …"."""
        if self.basis == "none":
            return "nothing"
        half = (self.upper_mg - self.lower_mg + 1) // 2
        if self.basis == "weighed":
            # A lower end that was cut off at nothing does not make the scale any better.
            half = max(half, self.weighed_expanded_mg)
        return statement(
            Estimate(
                value_mg=self.value_mg,
                standard_uncertainty_mg=half * 1000 // _K_PERMILLE,
                lower_mg=self.lower_mg,
                upper_mg=self.upper_mg,
                expanded_mg=half,
                weighed_mg=self.weighed_mg,
                estimated_mg=self.value_mg - self.weighed_mg,
                inserts_mg=0,
                basis=self.basis,
                unknown=(("pieces", self.unknown_pieces),) if self.unknown_pieces else (),
                budget=(BudgetLine("scale", self.weighed_expanded_mg * 1000 // _K_PERMILLE),),
            )
        )


def together(parts: Iterable[Amount]) -> Amount:
    """Several amounts as one; their ends are added, not their squares.

    One scale's tolerance and one kind's mean mass are wrong the same way in every container (JCGM 100:2008, 5.2.2,
    note 1: fully correlated inputs), so this is the wider of the two sums.
    """
    some = [one for one in parts if one.basis != "none"]
    if not some:
        return Amount()
    return Amount(
        value_mg=sum(one.value_mg for one in some),
        lower_mg=max(0, sum(one.lower_mg for one in some)),
        upper_mg=sum(one.upper_mg for one in some),
        weighed_mg=sum(one.weighed_mg for one in some),
        weighed_expanded_mg=sum(one.weighed_expanded_mg for one in some),
        basis="weighed" if all(one.basis == "weighed" for one in some) else "estimate",
        unknown_pieces=sum(one.unknown_pieces for one in some),
    )


def stated(containers: Sequence[ReleasedContainer]) -> Amount:
    """What a release stated of some containers together."""
    return together(_stated(one) for one in containers)


def less(final: Amount, opening: Amount) -> Amount:
    """The widest that both allow: what they have in common is not taken out. Nothing less than nothing came in."""
    if opening.basis == "none":
        return final
    is_weighed = final.basis == "weighed" and opening.basis == "weighed"
    value_mg = max(0, final.value_mg - opening.value_mg)
    return Amount(
        value_mg=value_mg,
        lower_mg=max(0, final.lower_mg - opening.upper_mg),
        upper_mg=max(0, final.upper_mg - opening.lower_mg),
        weighed_mg=value_mg if is_weighed else 0,
        weighed_expanded_mg=final.weighed_expanded_mg + opening.weighed_expanded_mg if is_weighed else 0,
        basis="weighed" if is_weighed else "estimate",
        unknown_pieces=max(0, final.unknown_pieces - opening.unknown_pieces),
    )


def amount_of(mass: Estimate | None) -> Amount:
    """An estimate as an amount; nothing where nothing went in."""
    if mass is None or mass.basis == "empty":
        return Amount()
    return Amount(
        value_mg=mass.value_mg,
        lower_mg=mass.lower_mg,
        upper_mg=mass.upper_mg,
        weighed_mg=mass.weighed_mg,
        weighed_expanded_mg=-(-mass.scale_mg * _K_PERMILLE // 1000),
        basis=mass.basis,
        unknown_pieces=mass.unknown_pieces,
    )


def _stated(one: ReleasedContainer) -> Amount:
    is_weighed = one.basis == "weighed"
    return Amount(
        value_mg=one.net_mg,
        lower_mg=one.lower_mg,
        upper_mg=one.upper_mg,
        # Of a mixed content the release does not keep apart what stood on a scale.
        weighed_mg=one.net_mg if is_weighed else 0,
        weighed_expanded_mg=one.uncertainty_mg if is_weighed else 0,
        basis=one.basis,
        unknown_pieces=one.unweighed,
    )
