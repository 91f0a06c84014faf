"""Amalgam, mercury and silver in what a container holds: always an estimate, even of what was weighed.

The mass is split by source first. Of each kind of trap so much went in since the last weighing as its exposure times
its mean mass. What was weighed has no composition of its own: its debris is split by the kinds that had gone into the
container by then, from the container's own entries, each in the share that exposure times mean mass gives it; pieces
that had been weighed singly are taken off before, and so is the known mass of trap bodies. Where pieces or bodies of
unknown mass had gone in too, what was weighed is not split, and that is said.

Then amalgam = Σ Mₖ aₖ and metal = amalgam times its share, all shares independent of the masses and of each other:

    var(xy) = x² u²(y) + y² u²(x) + u²(x) u²(y)        (L. A. Goodman, J Am Stat Assoc 55 (1960) 708)

The law of propagation alone (JCGM 100:2008, 5.1.2) leaves the last term out, which is too little for shares and masses
as wide as these (its note, and H.1.7, ask for that term then); both figures are kept. The ends of the interval are
quantiles of stratified draws (JCGM 101:2008, clause 7), since a product of wide, skewed factors is neither normal nor
log-normal: log-normal masses with the tails of the prior's degrees of freedom, beta shares.

As for the mass itself, the standard uncertainty of a learned prior is a scale; the effective degrees of freedom follow
the Welch-Satterthwaite formula (JCGM 100:2008, G.4.1, cut down as G.4.2 allows), published shares having no limit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from random import Random
from typing import Literal

from wasteledger.estimate.containers import STREAM, Estimate, UnknownKind
from wasteledger.estimate.coverage import COVERAGE
from wasteledger.estimate.draws import share_draws
from wasteledger.estimate.prior import BadPrior, Defaults, Prior, Share
from wasteledger.estimate.put_in import PutIn
from wasteledger.estimate.reading import opened
from wasteledger.estimate.rounding import statement
from wasteledger.estimate.splitting import MassCause, Split, split_masses

DRAWS = 4000
"""Stratified draws for each interval: from seed to seed the ends of a wide one vary by three hundredths."""

STREAMS = "estimate/streams.toml"

Substance = Literal["amalgam", "mercury", "silver"]
Cause = Literal["scale", "shared", "scatter", "amalgam share", "metal share", "products"]


@dataclass(frozen=True, slots=True)
class CausedBy:
    """One cause of the uncertainty of a content, and its standard uncertainty; the squares of all lines add up."""

    cause: Cause
    standard_uncertainty_mg: int


@dataclass(frozen=True, slots=True)
class Part:
    """How much of one substance a container holds: an estimate, whatever was weighed. Whole milligrams.

    Attributes:
        substance: Which.
        value_mg: The product of the means.
        standard_uncertainty_mg: With the terms of all products (exact for independent factors).
        first_order_mg: By the law of propagation alone, which leaves those terms out.
        lower_mg: Lower end of the 95 % interval.
        upper_mg: Its upper end.
        degrees_of_freedom: Effective ones; None where they are without limit.
        budget: The standard uncertainty by cause.
    """

    substance: Substance
    value_mg: int
    standard_uncertainty_mg: int
    first_order_mg: int
    lower_mg: int
    upper_mg: int
    degrees_of_freedom: int | None
    budget: tuple[CausedBy, ...]

    @property
    def statement(self) -> str:
        """In words, rounded as a mass is: "about 500 g, between 180 g and 1200 g (95 %), estimate"."""
        return statement(
            Estimate(
                value_mg=self.value_mg,
                standard_uncertainty_mg=self.standard_uncertainty_mg,
                lower_mg=self.lower_mg,
                upper_mg=self.upper_mg,
                expanded_mg=(self.upper_mg - self.lower_mg + 1) // 2,
                weighed_mg=0,
                estimated_mg=self.value_mg,
                inserts_mg=0,
                basis="estimate",
            )
        )


@dataclass(frozen=True, slots=True)
class Value:
    """A value and its standard uncertainty, mg."""

    value_mg: int
    standard_uncertainty_mg: int


@dataclass(frozen=True, slots=True)
class SourceContent:
    """What came from one source: a kind of trap, ``separator_unit``, or ``stream:`` and a stream.

    Attributes:
        source: Which.
        exposure: Full swaps of one dentist that went in unweighed, over the container's whole time; exact.
        debris: Its mass without bodies, so far as it could be split.
        amalgam: Of that.
        mercury: Of the amalgam.
        silver: Of the amalgam.
    """

    source: str
    exposure: Fraction
    debris: Value
    amalgam: Value
    mercury: Value
    silver: Value


@dataclass(frozen=True, slots=True)
class Content:
    """Amalgam, mercury and silver in a container, with what they could be split by.

    Attributes:
        parts: Amalgam, mercury, silver.
        by_source: The same by source, with their standard uncertainties.
        split_by_kind_mg: What was weighed together and is split by the kinds that had gone in.
        not_split_mg: Mass of which nothing is known of its amalgam; it is in none of the parts.
        not_split: Why, each cause once.
        unknown: Pieces and bodies of unknown mass, by source; what is in the pieces is in none of the parts either.
    """

    parts: tuple[Part, ...]
    by_source: tuple[SourceContent, ...]
    split_by_kind_mg: int = 0
    not_split_mg: int = 0
    not_split: tuple[str, ...] = ()
    unknown: tuple[tuple[str, int], ...] = ()

    @property
    def is_whole(self) -> bool:
        """Whether all of known mass is split."""
        return not self.not_split_mg


def content(
    contents: PutIn,
    prior: Prior,
    defaults: Defaults,
    streams: Mapping[str, Share],
    random: Random,
    *,
    mass_sources: Mapping[str, str] | None = None,
) -> Content:
    """Amalgam, mercury and silver in a container.

    Args:
        contents: What ever went into it.
        prior: Masses by kind, published or learned.
        defaults: The shares of amalgam in each kind, and of the metals in amalgam.
        streams: The share of amalgam in a stream put in by weight.
        random: Where the draws take their order from; the same seed gives the same interval.
        mass_sources: The prior's kind that each stream takes its mass from, by stream.

    Raises:
        UnknownKind: A kind without a mass in *prior* or a share of amalgam in *defaults*.
    """
    split = split_masses(contents, prior, streams.keys(), mass_sources=mass_sources)
    by_kind = {one.kind: one.amalgam for one in defaults.kinds}
    shares = [_share(source, by_kind, streams) for source in split.sources]
    masses = split.masses_mg()
    covariances = split.covariances_mg2()
    amalgam = _Amalgam.of(masses, covariances, shares)
    metals: dict[Substance, Share] = {
        "mercury": defaults.composition["mercury_of_amalgam"],
        "silver": defaults.composition["silver_of_amalgam"],
    }
    drawn = _drawn_amalgam(split, shares, random)
    parts = [_part("amalgam", amalgam.value, amalgam.causes, drawn, split.degrees_of_freedom)]
    for substance, share in metals.items():
        taken = share_draws(share.mean, share.sd, DRAWS, random)
        draws = [one * other for one, other in zip(drawn, taken, strict=True)]
        causes = amalgam.times(share)
        parts.append(_part(substance, amalgam.value * share.mean, causes, draws, split.degrees_of_freedom))
    variances = [math.fsum(matrix[place][place] for matrix in covariances.values()) for place in range(len(masses))]
    by_source = tuple(
        _of_source(source, exposure, (mass, variance), share, metals)
        for source, exposure, mass, variance, share in zip(
            split.sources, split.exposures, masses, variances, shares, strict=True
        )
    )
    return Content(
        parts=tuple(parts),
        by_source=by_source,
        split_by_kind_mg=round(split.rest_mg),
        not_split_mg=split.not_split_mg,
        not_split=split.not_split,
        unknown=split.unknown,
    )


def product_moments(*factors: tuple[float, float]) -> tuple[float, float, float]:
    """Mean, variance and first-order variance of a product of independent *factors*, each a mean and a variance.

    >>> [round(value, 4) for value in product_moments((3.0, 0.25), (2.0, 0.04))]
    [6.0, 1.37, 1.36]

    Source: L. A. Goodman, On the exact variance of products, J Am Stat Assoc 55 (1960) 708, equation (2); the
    first-order variance is that of JCGM 100:2008, 5.1.2.
    """
    mean = math.prod(one for one, _ in factors)
    exact = math.prod(one**2 + variance for one, variance in factors) - mean**2
    first = math.fsum(
        variance * math.prod(other**2 for at, (other, _) in enumerate(factors) if at != place)
        for place, (_, variance) in enumerate(factors)
    )
    return mean, exact, first


def effective_degrees_of_freedom(*components: tuple[float, float]) -> float:
    """Degrees of freedom of a combined uncertainty; each component is a variance and its degrees of freedom.

    Infinite where every component's are, or where nothing is uncertain.

    Source: the Welch-Satterthwaite formula, JCGM 100:2008, G.4.1, equation (G.2b).
    """
    combined = math.fsum(variance for variance, _ in components)
    divisor = math.fsum(variance**2 / freedom for variance, freedom in components)
    return combined**2 / divisor if divisor else math.inf


def read_streams(source: str | bytes, *, name: str = STREAMS) -> Mapping[str, Share]:
    """The share of amalgam of streams put in by weight, by stream, from a file's TOML text.

    Raises:
        BadPrior: No TOML, or keys that are missing, unknown or out of range; all of them are named.
    """
    top = opened(source, name, BadPrior)
    table = top.section("stream")
    found = {}
    for stream in table.names():
        row = table.section(stream)
        found[stream] = Share(row.number("amalgam_mean", 0, 1), row.number("amalgam_sd", 0, 1), row.text("basis"))
    if faults := top.faults():
        raise BadPrior(faults, name=name)
    return found


@dataclass(frozen=True, slots=True)
class _Amalgam:
    """Value and variance by cause of Σ Mₖ aₖ."""

    value: float
    causes: Mapping[Cause, float]

    @classmethod
    def of(
        cls,
        masses: Sequence[float],
        covariances: Mapping[MassCause, Sequence[Sequence[float]]],
        shares: Sequence[Share],
    ) -> _Amalgam:
        means = [share.mean for share in shares]
        variances = [share.sd**2 for share in shares]
        causes: dict[Cause, float] = {
            cause: math.fsum(
                one * other * cell
                for one, row in zip(means, matrix, strict=True)
                for other, cell in zip(means, row, strict=True)
            )
            for cause, matrix in covariances.items()
        }
        causes["amalgam share"] = math.fsum(
            mass**2 * variance for mass, variance in zip(masses, variances, strict=True)
        )
        causes["metal share"] = 0.0
        causes["products"] = math.fsum(
            variance * matrix[place][place]
            for matrix in covariances.values()
            for place, variance in enumerate(variances)
        )
        value = math.fsum(mass * mean for mass, mean in zip(masses, means, strict=True))
        return cls(value, causes)

    def times(self, share: Share) -> Mapping[Cause, float]:
        """The variance by cause of this amalgam's metal of that *share*."""
        causes = {cause: variance * share.mean**2 for cause, variance in self.causes.items()}
        causes["metal share"] = self.value**2 * share.sd**2
        causes["products"] += math.fsum(self.causes.values()) * share.sd**2
        return causes


def _share(source: str, by_kind: Mapping[str, Share], streams: Mapping[str, Share]) -> Share:
    share = streams.get(source.removeprefix(STREAM)) if source.startswith(STREAM) else by_kind.get(source)
    if share is None:
        raise UnknownKind("share of amalgam in the kind", source)
    return share


def _drawn_amalgam(split: Split, shares: Sequence[Share], random: Random) -> list[float]:
    total = [0.0] * DRAWS
    for masses, share in zip(split.drawn(DRAWS, random), shares, strict=True):
        taken = share_draws(share.mean, share.sd, DRAWS, random)
        total = [sum_ + mass * one for sum_, mass, one in zip(total, masses, taken, strict=True)]
    return total


def _part(
    substance: Substance, value: float, causes: Mapping[Cause, float], drawn: list[float], freedom: float
) -> Part:
    learned = causes["shared"] + causes["scatter"]
    exact = math.fsum(causes.values())
    effective = effective_degrees_of_freedom((learned, freedom), (max(0.0, exact - learned), math.inf))
    ordered = sorted(drawn)
    tail = (1 - COVERAGE) / 2
    value_mg = round(value)
    return Part(
        substance=substance,
        value_mg=value_mg,
        standard_uncertainty_mg=round(math.sqrt(max(0.0, exact))),
        first_order_mg=round(math.sqrt(max(0.0, exact - causes["products"]))),
        lower_mg=min(value_mg, math.floor(_quantile(ordered, tail))),
        upper_mg=max(value_mg, math.ceil(_quantile(ordered, 1 - tail))),
        degrees_of_freedom=None if math.isinf(effective) else math.floor(effective),
        budget=tuple(CausedBy(cause, round(math.sqrt(max(0.0, variance)))) for cause, variance in causes.items()),
    )


def _of_source(
    source: str, exposure: Fraction, mass: tuple[float, float], share: Share, metals: Mapping[Substance, Share]
) -> SourceContent:
    factors = [mass, (share.mean, share.sd**2)]
    found = {"debris": _value(mass), "amalgam": _value(*factors)}
    found |= {substance: _value(*factors, (metal.mean, metal.sd**2)) for substance, metal in metals.items()}
    return SourceContent(source, exposure, found["debris"], found["amalgam"], found["mercury"], found["silver"])


def _value(*factors: tuple[float, float]) -> Value:
    mean, exact, _ = product_moments(*factors)
    return Value(round(mean), round(math.sqrt(max(0.0, exact))))


def _quantile(ordered: Sequence[float], share: float) -> float:
    """Between the two draws nearest to that *share* of all (each stands for the middle of its stratum)."""
    place = min(len(ordered) - 1.0, max(0.0, share * len(ordered) - 0.5))
    below = math.floor(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (place - below) * (ordered[above] - ordered[below])
