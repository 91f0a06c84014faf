"""The mass in a container split by source, with its covariance by cause and joint draws of it.

What was weighed is split in the shares that the kinds' exposures and mean masses give; see `content`.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from random import Random
from typing import Literal

from wasteledger.estimate.containers import STREAM, exposures_of, standing_mass
from wasteledger.estimate.draws import normal_draws, positive_draws, student_scales
from wasteledger.estimate.prior import Prior
from wasteledger.estimate.put_in import Piece, PutIn
from wasteledger.model.containers import Holding, Tally

MassCause = Literal["scale", "shared", "scatter"]
Matrix = list[list[float]]


@dataclass(frozen=True, slots=True)
class Split:
    """Debris by source; masses in mg. What is counted by kind and what was weighed by stream stand side by side.

    Attributes:
        sources: Kinds of the prior, and ``stream:`` with a stream that only its own share of amalgam is known of.
        exposures: Full swaps of each that ever went in unweighed; 0 for a stream.
        since: Those of them that went in since the last weighing.
        earlier: Those by which *rest_mg* is split.
        means_mg: Mean mass of one full swap of each, 0 for a stream.
        covariance_mg2: Of those means.
        scatter_sd_mg: Scatter of one full swap of each.
        degrees_of_freedom: Behind the two.
        weighed_mg: What of each was weighed singly.
        weighed_mg2: Its variance, as far as it went in since the last weighing.
        rest_mg: What was weighed together and is split by *earlier*.
        scale_mg2: Variance of the last weighing.
        base_pieces_mg: What of *weighed_mg* lies in what was weighed together.
        not_split_mg: Mass of which no source is known that says how much of it is amalgam.
        not_split: Why, one sentence for each cause.
        unknown: Pieces and bodies of unknown mass, by source, as in the estimate; they are in no mass.
    """

    sources: tuple[str, ...]
    exposures: tuple[Fraction, ...]
    since: tuple[float, ...]
    earlier: tuple[float, ...]
    means_mg: tuple[float, ...]
    covariance_mg2: tuple[tuple[float, ...], ...]
    scatter_sd_mg: tuple[float, ...]
    degrees_of_freedom: float
    weighed_mg: tuple[float, ...]
    weighed_mg2: tuple[float, ...]
    rest_mg: float
    scale_mg2: float
    base_pieces_mg: tuple[float, ...]
    not_split_mg: int
    not_split: tuple[str, ...]
    unknown: tuple[tuple[str, int], ...]

    def masses_mg(self) -> list[float]:
        """Debris of each source."""
        return [
            weighed + since * mean + self.rest_mg * share
            for weighed, since, mean, share in zip(
                self.weighed_mg, self.since, self.means_mg, self._shares(), strict=True
            )
        ]

    def covariances_mg2(self) -> dict[MassCause, Matrix]:
        """Covariance of the debris of the sources by cause, to the first order in the means' errors."""
        places = range(len(self.sources))
        shares = self._shares()
        base = self._base_shares()
        whole = math.fsum(one * mean for one, mean in zip(self.earlier, self.means_mg, strict=True))
        # How the mass of one source answers to the debris of another among what was weighed together.
        answers = [
            [self.rest_mg * ((i == j) - shares[i]) / whole if self.rest_mg else 0.0 for j in places] for i in places
        ]
        slopes = [[self.since[j] * (i == j) + answers[i][j] * self.earlier[j] for j in places] for i in places]
        scattered = [one * sd**2 for one, sd in zip(self.earlier, self.scatter_sd_mg, strict=True)]
        diagonal = [one * sd**2 for one, sd in zip(self.since, self.scatter_sd_mg, strict=True)]
        return {
            "scale": [
                [base[i] * base[j] * self.scale_mg2 + self.weighed_mg2[i] * (i == j) for j in places] for i in places
            ],
            "shared": _sandwich(slopes, self.covariance_mg2),
            "scatter": [
                [
                    math.fsum(answers[i][k] * answers[j][k] * scattered[k] for k in places) + diagonal[i] * (i == j)
                    for j in places
                ]
                for i in places
            ],
        }

    def drawn(self, count: int, random: Random) -> list[list[float]]:
        """*count* joint draws of the debris of each source, none below nothing."""
        scales = student_scales(self.degrees_of_freedom, count, random)
        means = positive_draws(self.means_mg, self.covariance_mg2, scales, random)
        base = self._base_shares()
        errors = _normal(self.scale_mg2, count, random)
        since = [self._scattered(place, self.since[place], means[place], scales, random) for place in range(len(means))]
        earlier = [
            self._scattered(place, self.earlier[place], means[place], scales, random) for place in range(len(means))
        ]
        wholes = [math.fsum(column[draw] for column in earlier) for draw in range(count)]
        found = []
        for place, counted in enumerate(since):
            own = _normal(self.weighed_mg2[place], count, random)
            fixed = self.weighed_mg[place]
            split = [0.0] * count
            if self.rest_mg:
                split = [
                    (self.rest_mg + error) * part / whole if whole else 0.0
                    for error, part, whole in zip(errors, earlier[place], wholes, strict=True)
                ]
            elif base[place]:
                split = [error * base[place] for error in errors]
            found.append([max(0.0, fixed + a + b + c) for a, b, c in zip(own, counted, split, strict=True)])
        return found

    def _scattered(
        self, place: int, exposure: float, means: Sequence[float], scales: Sequence[float], random: Random
    ) -> list[float]:
        # Scatter goes with the site's own mean, as it does in the interval of the mass itself.
        if not exposure or not self.means_mg[place]:
            return [exposure * mean for mean in means]
        variance = math.log1p((self.scatter_sd_mg[place] / self.means_mg[place]) ** 2 / exposure)
        sd = math.sqrt(variance)
        if not sd:
            return [exposure * mean for mean in means]
        return [
            exposure * mean * math.exp(scale * sd * z - variance / 2)
            for mean, scale, z in zip(means, scales, normal_draws(len(means), random), strict=True)
        ]

    def _shares(self) -> list[float]:
        parts = [one * mean for one, mean in zip(self.earlier, self.means_mg, strict=True)]
        whole = math.fsum(parts)
        return [part / whole if whole and self.rest_mg else 0.0 for part in parts]

    def _base_shares(self) -> list[float]:
        """How the error of the last weighing falls on the sources."""
        whole = math.fsum(self.base_pieces_mg)
        if self.rest_mg or not whole:
            return self._shares()
        return [part / whole for part in self.base_pieces_mg]


def split_masses(
    contents: PutIn, prior: Prior, streams: Collection[str], *, mass_sources: Mapping[str, str] | None = None
) -> Split:
    """Split what a container holds by source.

    Args:
        contents: What ever went in.
        prior: Masses by kind, published or learned.
        streams: Those of which it is known how much of a weighed amount is amalgam.
        mass_sources: The prior's kind that each stream takes its mass from, by stream.

    Raises:
        UnknownKind: A trap's kind, or the condition seen, has no row in the prior.
    """
    sources_of = mass_sources or {}
    since, unknown = _counted(contents.since, prior, sources_of)
    lately = _grouped(contents.since_pieces, prior.kinds, streams, sources_of)
    base = _base(contents, prior, streams, sources_of)
    seen = {*lately.masses_mg, *base.pieces.masses_mg}
    kinds = [
        kind
        for kind, one, other in zip(prior.kinds, since, base.exposures, strict=True)
        if one or other or kind in seen
    ]
    sources = (*kinds, *sorted(seen.difference(prior.kinds)))
    # A stream of its own has no row in the prior: nothing of it was counted.
    rows = [prior.kinds.index(source) if source in prior.kinds else None for source in sources]
    inside = [base.pieces.masses_mg.get(source, 0.0) for source in sources]
    return Split(
        sources=sources,
        exposures=tuple(since[row] + base.exposures[row] if row is not None else Fraction(0) for row in rows),
        since=tuple(_at(since, row) for row in rows),
        earlier=tuple(_at(base.exposures, row) if base.rest_mg else 0.0 for row in rows),
        means_mg=tuple(_at(prior.means_mg, row) for row in rows),
        covariance_mg2=tuple(
            tuple(_at(prior.covariance_mg2[one], other) if one is not None else 0.0 for other in rows) for one in rows
        ),
        scatter_sd_mg=tuple(_at(prior.scatter_sd_mg, row) for row in rows),
        degrees_of_freedom=prior.degrees_of_freedom,
        weighed_mg=tuple(
            lately.masses_mg.get(source, 0.0) + part for source, part in zip(sources, inside, strict=True)
        ),
        weighed_mg2=tuple(lately.variances_mg2.get(source, 0.0) for source in sources),
        rest_mg=base.rest_mg,
        scale_mg2=contents.base_twelfths_mg2 / 12,
        base_pieces_mg=tuple(inside),
        not_split_mg=round(base.pieces.not_split_mg + lately.not_split_mg),
        not_split=tuple(dict.fromkeys((*base.pieces.not_split, *lately.not_split))),
        unknown=unknown,
    )


@dataclass(slots=True)
class _Pieces:
    """Singly weighed pieces: debris by source with its variance, and what has no share of amalgam that is known."""

    masses_mg: dict[str, float] = field(default_factory=dict)
    variances_mg2: dict[str, float] = field(default_factory=dict)
    not_split_mg: float = 0.0
    not_split: list[str] = field(default_factory=list)

    def leave(self, mass_mg: float, why: str) -> None:
        """Count a mass as not split."""
        self.not_split_mg += mass_mg
        self.not_split.append(why)

    def total_mg(self) -> float:
        """All of them together."""
        return math.fsum(self.masses_mg.values()) + self.not_split_mg

    def stretch(self, factor: float) -> None:
        """Let all of them weigh *factor* times as much."""
        self.masses_mg = {source: factor * mass for source, mass in self.masses_mg.items()}
        self.not_split_mg *= factor


@dataclass(frozen=True, slots=True)
class _Base:
    """What the last weighing found: pieces known from before, and the rest, to be split by exposures."""

    pieces: _Pieces
    rest_mg: float
    exposures: tuple[Fraction, ...]


def _base(contents: PutIn, prior: Prior, streams: Collection[str], mass_sources: Mapping[str, str]) -> _Base:
    exposures, unknown = _counted(contents.earlier, prior, mass_sources)
    pieces = _grouped(contents.earlier_pieces, prior.kinds, streams, mass_sources)
    bodies_mg = sum(one.inserts_mg for one in contents.earlier)
    bodies_mg += sum(one.body_mg or 0 for one in contents.earlier_pieces)
    debris_mg = float(max(0, contents.base_mg - bodies_mg))
    known_mg = pieces.total_mg()
    loose_mg = debris_mg - known_mg
    if loose_mg > 0 and unknown:
        named = ", ".join(source.removeprefix(STREAM).replace("_", " ") for source, _ in unknown)
        pieces.leave(loose_mg, f"it was weighed with pieces or trap bodies of unknown mass in it: {named}")
    elif loose_mg > 0 and any(x and mean for x, mean in zip(exposures, prior.means_mg, strict=True)):
        return _Base(pieces, loose_mg, exposures)
    elif known_mg:
        # Only pieces of known mass went in, or they have dried: weighed together they weigh so much, and that is newer.
        pieces.stretch(debris_mg / known_mg)
    elif debris_mg:
        pieces.leave(debris_mg, "it was weighed, and nothing was recorded as put in before")
    return _Base(pieces, 0.0, exposures)


def _grouped(
    pieces: Sequence[Piece], kinds: Collection[str], streams: Collection[str], mass_sources: Mapping[str, str]
) -> _Pieces:
    found = _Pieces()
    for piece in pieces:
        stream = piece.source.removeprefix(STREAM)
        source = mass_sources.get(stream, piece.source) if stream != piece.source else piece.source
        named = stream.replace("_", " ")
        if piece.body_mg is None:
            found.leave(piece.mass_mg, f"{named}: the mass of the body that went in with it is unknown")
            continue
        debris_mg = max(0, piece.mass_mg - piece.body_mg)
        if source not in kinds and stream not in streams:
            found.leave(debris_mg, f"{named}: no figure says how much of it is amalgam")
            continue
        source = source if source in kinds else piece.source
        found.masses_mg[source] = found.masses_mg.get(source, 0.0) + debris_mg
        found.variances_mg2[source] = found.variances_mg2.get(source, 0.0) + piece.twelfths_mg2 / 12
    return found


def _counted(
    tallies: tuple[Tally, ...], prior: Prior, mass_sources: Mapping[str, str]
) -> tuple[tuple[Fraction, ...], tuple[tuple[str, int], ...]]:
    """Exposures by kind, and pieces and bodies of unknown mass by source."""
    holding = Holding(tallies=tallies)
    return (
        exposures_of(holding, prior, mass_sources=mass_sources),
        standing_mass(holding, prior, mass_sources=mass_sources).unknown,
    )


def _at(values: Sequence[float] | Sequence[Fraction], row: int | None) -> float:
    return float(values[row]) if row is not None else 0.0


def _normal(variance: float, count: int, random: Random) -> list[float]:
    sd = math.sqrt(variance)
    return [sd * z for z in normal_draws(count, random)] if sd else [0.0] * count


def _sandwich(slopes: Matrix, covariance: Sequence[Sequence[float]]) -> Matrix:
    half = [
        [math.fsum(slope * row[j] for slope, row in zip(line, covariance, strict=True)) for j in range(len(line))]
        for line in slopes
    ]
    return [[math.fsum(a * b for a, b in zip(one, other, strict=True)) for other in slopes] for one in half]
