"""What levels teach of how much room a stated or an assumed millilitre takes: factors by kind, from increments.

    filled = Σ xₖ cₖ · (1 + packing) + reading,   v = reading variance + (`PACKING_CV` · x'c)²

x are the millilitres of each kind (`volumes`), stated or assumed; c the factors, 1 before any level taught them. A
stated volume may take more or less of a container than itself, since inserts nest or leave gaps. The conjugate
regression of `regression` does the work, as it does for masses, with `PRIOR_DEGREES_OF_FREEDOM` behind s² = 1. As
there, variances are taken at the means just learned and it is done again, `PASSES` times (iteratively reweighted least
squares; Carroll, Ruppert, Transformation and Weighting in Regression, 1988, chapter 2).

Unlike the scatter of masses, packing is common to all that lies in one container, so it does not average out there. It
is therefore no scatter of each piece, but widens the factors of the next container: c'c times its variance is added to
their covariance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from wasteledger.estimate.learning import PRIOR_DEGREES_OF_FREEDOM
from wasteledger.estimate.prior import Prior
from wasteledger.estimate.regression import Belief, Learned, learn
from wasteledger.estimate.volume_increments import LEVEL_READ_SD_PERMILLE, VolumeIncrement
from wasteledger.estimate.volumes import ASSUMED_KINDS, VOLUME_KINDS, VolumesIn

PASSES = 3
"""Packing is a tenth of what fills a container and weighs it little, so the weights settle at once."""

STATED_CV = 0.2
"""How wrong stated volumes of one kind may be before a level taught them, as a share (judgement, no source)."""

ASSUMED_CV = 1.0
"""How wrong assumed volumes may be before a level taught them, as a share (judgement, no source): as wide as masses."""

BETWEEN_KINDS = 0.5
"""Correlation of two kinds of stated, or two of assumed volumes (judgement, no source): as that of masses."""

PACKING_CV = 0.1
"""How much tighter or looser one container is packed than the next, as a share (judgement, no source)."""

LEAST_FACTOR = 0.1
"""No factor is learned below this: nothing that goes into a container takes no room (judgement, no source)."""

_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class VolumeFactors:
    """How much room a millilitre of each kind takes; starting values at first, later what levels have taught.

    Attributes:
        kinds: Kinds of millilitre, each once.
        means: Millilitres of the fill line for one of each kind.
        covariance: Of those means; its roots are standard uncertainties, to be widened by the coverage factor of
            *degrees_of_freedom* (the scale matrix of a Student posterior, not its variance).
        scale: What s² is taken to be: the variance of readings and of packing, over what is judged of it.
        degrees_of_freedom: Behind the covariance and the scale; infinite before any level.
        taught: The kinds that levels have told of.
    """

    kinds: tuple[str, ...]
    means: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    scale: float = 1.0
    degrees_of_freedom: float = math.inf
    taught: frozenset[str] = frozenset()

    def exposures(self, volumes: VolumesIn) -> tuple[float, ...]:
        """Millilitres of each kind in *volumes*, in the order of the kinds."""
        found = dict(volumes.by_kind)
        return tuple(float(found.get(kind, 0)) for kind in self.kinds)

    def taken_ml(self, volumes: VolumesIn) -> float:
        """What *volumes* are expected to take of a container."""
        return math.fsum(x * mean for x, mean in zip(self.exposures(volumes), self.means, strict=True))

    def shared_variance_ml2(self, volumes: VolumesIn) -> float:
        """Variance of that by the factors, which all containers share."""
        x = self.exposures(volumes)
        return max(
            0.0,
            math.fsum(
                one * other * cell
                for one, row in zip(x, self.covariance, strict=True)
                if one
                for other, cell in zip(x, row, strict=True)
            ),
        )

    def packing_variance_ml2(self, volumes: VolumesIn) -> float:
        """Variance of that by how one container is packed."""
        return self.scale * (PACKING_CV * self.taken_ml(volumes)) ** 2

    def reading_sd_ml(self, fill_ml: int) -> float:
        """Standard uncertainty of a level read by eye, in mL of a container that holds *fill_ml* to its line."""
        return math.sqrt(self.scale) * LEVEL_READ_SD_PERMILLE * fill_ml / 1000

    @property
    def in_one_container(self) -> Prior:
        """The factors of one container, its packing included, as a forecast wants them: in mL for a millilitre."""
        packing = self.scale * PACKING_CV**2
        return Prior(
            self.kinds,
            self.means,
            tuple(
                tuple(cell + packing * mean * other for cell, other in zip(row, self.means, strict=True))
                for mean, row in zip(self.means, self.covariance, strict=True)
            ),
            (0.0,) * len(self.kinds),
            (0,) * len(self.kinds),
            {},
            self.degrees_of_freedom,
        )


@dataclass(frozen=True, slots=True)
class TaughtVolumes:
    """What was learned.

    Attributes:
        factors: The factors after the increments.
        used: The increments, in the order in which they were given.
        residuals: Of each of them, over its own standard deviation.
        held_at_least: Kinds that levels pulled below `LEAST_FACTOR`, and that are held there.
    """

    factors: VolumeFactors
    used: tuple[VolumeIncrement, ...] = ()
    residuals: tuple[float, ...] = ()
    held_at_least: tuple[str, ...] = ()


def starting_factors() -> VolumeFactors:
    """What is believed before any level: a millilitre takes a millilitre, stated ones more surely than assumed ones."""
    return VolumeFactors(
        VOLUME_KINDS,
        (1.0,) * len(VOLUME_KINDS),
        tuple(tuple(_believed(one, other) for other in VOLUME_KINDS) for one in VOLUME_KINDS),
    )


def _believed(one: str, other: str) -> float:
    """Covariance of two factors; what is wrong with stated volumes says nothing of assumed ones."""
    is_assumed = one in ASSUMED_KINDS
    if is_assumed != (other in ASSUMED_KINDS):
        return 0.0
    variance = (ASSUMED_CV if is_assumed else STATED_CV) ** 2
    return variance if one == other else BETWEEN_KINDS * variance


def teach_volume(
    factors: VolumeFactors, increments: Sequence[VolumeIncrement], *, packing_cv: float = PACKING_CV
) -> TaughtVolumes:
    """Learn from *increments*, starting at *factors* (with no increment in them yet).

    Args:
        factors: What is believed beforehand.
        increments: What levels said, in any order.
        packing_cv: How much one container is packed otherwise than the next, as a share.
    """
    if not increments:
        return TaughtVolumes(factors)
    # One order whatever order they came in: not a digit of what is learned may hang on it.
    rows = [factors.exposures(one.volumes) for one in increments]
    order = sorted(range(len(rows)), key=lambda at: (rows[at], increments[at].filled_ml, increments[at].variance_ml2))
    design = [rows[at] for at in order]
    observed = [increments[at].filled_ml for at in order]
    belief = Belief(factors.means, factors.covariance, 1.0, min(factors.degrees_of_freedom, PRIOR_DEGREES_OF_FREEDOM))
    means = factors.means
    for _ in range(PASSES):
        variances = [
            increments[at].variance_ml2
            + (packing_cv * math.fsum(x * mean for x, mean in zip(rows[at], means, strict=True))) ** 2
            for at in order
        ]
        learned = learn(design, observed, variances, belief, non_negative=True)
        means = learned.means
    root = math.sqrt(learned.scale)
    residuals = dict(zip(order, learned.residuals, strict=True))
    after = _after(factors, learned)
    return TaughtVolumes(
        after,
        tuple(increments),
        tuple(residuals[at] / root for at in range(len(rows))),
        tuple(
            kind
            for kind, mean in zip(factors.kinds, learned.means, strict=True)
            if mean < LEAST_FACTOR and kind in after.taught
        ),
    )


def _after(factors: VolumeFactors, learned: Learned) -> VolumeFactors:
    """The factors with what was learned of those that levels told of; the others stay as they were believed."""
    # Where a factor is told of, its variance shrinks, whatever the scale became.
    told = [row[at] < factors.covariance[at][at] * (1 - _ROUNDING) for at, row in enumerate(learned.unit_covariance)]
    return replace(
        factors,
        means=tuple(
            max(LEAST_FACTOR, mean) if is_told else before
            for mean, before, is_told in zip(learned.means, factors.means, told, strict=True)
        ),
        covariance=tuple(
            tuple(
                # Readings that agree among themselves do not make better known what they did not see.
                cell if told[i] or told[j] else factors.covariance[i][j]
                for j, cell in enumerate(row)
            )
            for i, row in enumerate(learned.covariance)
        ),
        scale=learned.scale,
        degrees_of_freedom=learned.degrees_of_freedom,
        taught=frozenset(kind for kind, is_told in zip(factors.kinds, told, strict=True) if is_told),
    )
