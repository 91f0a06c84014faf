"""The budget of what stands in a container: weighed and estimated parts, causes of uncertainty, and its content."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from random import Random
from typing import Any

from wasteledger.estimate.containers import STREAM, BudgetLine, Estimate
from wasteledger.estimate.content import CausedBy, Content, Part, content, read_streams
from wasteledger.estimate.kind_means import held_at_zero
from wasteledger.estimate.prior import Defaults, Prior, Share, read_defaults
from wasteledger.estimate.put_in import put_in
from wasteledger.estimate.rounding import round_to, round_uncertainty, statement
from wasteledger.ledger.reader import Reader
from wasteledger.model.facts import Subject
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.kind_words import held_words, source_words
from wasteledger.office.learning import current_prior
from wasteledger.office.masses import mass_of
from wasteledger.office.plain import plain
from wasteledger.office.starting_values import mass_sources
from wasteledger.resources import find
from wasteledger.units import Mass

_SEED = 441
"""Any number will do; a fixed one gives the same interval each time."""

_CAUSES = {
    "scale": ("scale", "limits of the scale, at each weighing"),
    "shared": ("shared error", "the mean mass of a kind is wrong the same way in every trap of it"),
    "scatter": ("scatter", "one trap holds more than another"),
    "amalgam share": ("share of amalgam", "how much of the debris of each kind is amalgam"),
    "metal share": ("share of the metal", "how much of the amalgam is this metal"),
    "products": ("their products", "wide causes multiply; the law of propagation alone leaves this out"),
}


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause of uncertainty: its name, what it means, its standard uncertainty in mg, its part of the variance."""

    name: str
    means: str
    standard_uncertainty_mg: int
    percent: int

    @property
    def share(self) -> str:
        """Its part of the variance in words."""
        return f"{self.percent} %" if self.percent else "under 1 %"

    @property
    def uncertainty(self) -> str:
        """The standard uncertainty in words, two digits."""
        return rounded(self.standard_uncertainty_mg)


@dataclass(frozen=True, slots=True)
class Budget:
    """What stands in a container with all that its statement rests on.

    Attributes:
        container: Which.
        estimate: Its mass.
        causes: What makes the mass uncertain.
        content: Amalgam, mercury and silver in it: estimates, whatever was weighed.
        held_at_zero: Kinds in it whose mean weighings pulled below zero.
    """

    container: str
    estimate: Estimate
    causes: tuple[Cause, ...]
    content: Content
    held_at_zero: tuple[str, ...] = ()

    @property
    def statement(self) -> str:
        """The mass in words."""
        return statement(self.estimate)

    @property
    def freedom(self) -> str:
        """The degrees of freedom in words; where part of the mass was weighed, those of the rest."""
        words = freedom_words(self.estimate.degrees_of_freedom)
        is_mixed = self.estimate.degrees_of_freedom is not None and self.estimate.weighed_mg
        return f"{words} (of the estimated part)" if is_mixed else words

    @property
    def parts(self) -> tuple[tuple[str, str], ...]:
        """What the value is made of, in words: weighed, estimated, trap bodies, what is unknown."""
        estimate = self.estimate
        found = []
        if estimate.weighed_mg or estimate.basis == "weighed":
            found.append(("weighed", _near(estimate.weighed_mg, estimate.scale_mg)))
        if estimate.estimated_mg:
            squares = estimate.standard_uncertainty_mg**2 - estimate.scale_mg**2
            found.append(("estimated", _near(estimate.estimated_mg, round(max(0, squares) ** 0.5))))
        if estimate.inserts_mg:
            found.append(("trap bodies", f"{Mass(estimate.inserts_mg)}, of known mass, taken as exact"))
        if estimate.unknown:
            listed = ", ".join(f"{count} {source_words(source)}" for source, count in estimate.unknown)
            found.append(("not known", f"{listed}: counted, in no mass above"))
        return tuple(found)

    @property
    def contents(self) -> tuple[tuple[str, str], ...]:
        """Each substance and how much of it, in words; none where nothing could be split."""
        if not self.content.by_source:
            return ()
        return tuple((part.substance, part.statement) for part in self.content.parts)

    @property
    def sources(self) -> tuple[tuple[str, ...], ...]:
        """By source in words: source, full swaps, debris, amalgam, mercury, silver, each "about … ± u"."""
        return tuple(
            (
                source_words(one.source),
                f"{float(one.exposure):.1f}" if one.exposure else "–",
                *(
                    _near(value.value_mg, value.standard_uncertainty_mg)
                    for value in (one.debris, one.amalgam, one.mercury, one.silver)
                ),
            )
            for one in self.content.by_source
        )

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is not as it should be with the estimate, in words."""
        return tuple(held_words(kind) for kind in self.held_at_zero)

    @property
    def notes(self) -> tuple[str, ...]:
        """How the content was found, and what of the mass it leaves out."""
        found = []
        if split_mg := self.content.split_by_kind_mg:
            found.append(
                f"{Mass(split_mg)} of what was weighed is split by the kinds that had gone in by then, in the shares "
                "that their exposure and mean mass give; their composition is not known otherwise."
            )
        if self.content.not_split_mg:
            why = "; ".join(self.content.not_split)
            found.append(f"{Mass(self.content.not_split_mg)} is not split, and no content of it is stated: {why}.")
        return tuple(found)

    def as_json(self) -> dict[str, Any]:
        """The budget as JSON says it; every mass in mg. *exposure* is an exact fraction of full swaps."""
        return {
            "statement": self.statement,
            "value_mg": self.estimate.value_mg,
            "standard_uncertainty_mg": self.estimate.standard_uncertainty_mg,
            "lower_mg": self.estimate.lower_mg,
            "upper_mg": self.estimate.upper_mg,
            "expanded_mg": self.estimate.expanded_mg,
            "degrees_of_freedom": self.estimate.degrees_of_freedom,
            "weighed_mg": self.estimate.weighed_mg,
            "estimated_mg": self.estimate.estimated_mg,
            "inserts_mg": self.estimate.inserts_mg,
            "unknown": plain(self.estimate.unknown),
            "causes": plain(self.causes),
            "warnings": list(self.warnings),
            "content": plain(self.content) | {"basis": "estimate", "notes": list(self.notes)},
        }


def budget_of(reader: Reader, container: ContainerStanding, prior: Prior | None = None) -> Budget:
    """The budget of what *container* holds now, and its content.

    Raises:
        BadPrior: A file of starting values or of streams has faults, all of them named.
    """
    prior = prior or current_prior(reader)
    estimate = mass_of(reader, container, prior)
    sources = mass_sources(reader)
    inside = put_in(container.container, reader.facts_about(Subject("container", container.container)))
    defaults = _defaults(find("estimate/defaults.toml"))
    composed = {one.kind for one in defaults.kinds}
    found = content(
        inside,
        prior,
        defaults,
        _streams(find("estimate/streams.toml")),
        Random(_SEED),
        # A kind that was learned and has left the file of starting values since has a mass still, but no composition.
        mass_sources={stream: kind for stream, kind in sources.items() if kind in composed},
    )
    kinds = {
        sources.get(source.removeprefix(STREAM), source) if source.startswith(STREAM) else source
        for source in (one.source for one in (*inside.earlier, *inside.since))
    }
    held = tuple(kind for kind in held_at_zero(prior) if kind in kinds)
    return Budget(container.container, estimate, causes_of(estimate.budget), found, held)


def causes_of(lines: tuple[BudgetLine, ...] | tuple[CausedBy, ...]) -> tuple[Cause, ...]:
    """The lines of a budget with their names and their parts of the variance; what adds nothing is left out."""
    named = [
        (line.part if isinstance(line, BudgetLine) else line.cause, line.standard_uncertainty_mg) for line in lines
    ]
    whole = sum(u**2 for _, u in named)
    return tuple(Cause(*_CAUSES[cause], u, round(100 * u**2 / whole)) for cause, u in named if u)


def freedom_words(degrees_of_freedom: int | None) -> str:
    """Degrees of freedom in words."""
    return "without limit" if degrees_of_freedom is None else str(degrees_of_freedom)


def rounded(uncertainty_mg: int) -> str:
    """A standard uncertainty in words, two digits."""
    return str(Mass(round_uncertainty(uncertainty_mg)[0]))


def part_words(part: Part) -> str:
    """How uncertain one substance is, in words: u, u by the law of propagation alone, degrees of freedom."""
    return (
        f"u {rounded(part.standard_uncertainty_mg)} ({rounded(part.first_order_mg)} to the first order), "
        f"degrees of freedom {freedom_words(part.degrees_of_freedom)}"
    )


def _near(value_mg: int, uncertainty_mg: int) -> str:
    if not uncertainty_mg:
        return str(Mass(value_mg))
    kept, step = round_uncertainty(uncertainty_mg)
    return f"{Mass(round_to(value_mg, step))} (u {Mass(kept)})"


@lru_cache(maxsize=4)
def _defaults(path: Path) -> Defaults:
    return read_defaults(path.read_bytes(), name=path.name)


@lru_cache(maxsize=4)
def _streams(path: Path) -> Mapping[str, Share]:
    return read_streams(path.read_bytes(), name=path.name)
