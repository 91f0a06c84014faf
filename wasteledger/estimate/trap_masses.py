"""What was taken out of the traps: wet debris by kind with the covariance that the kinds share, and amalgam by stage.

The share of amalgam in wet debris is a beta-distributed judgement for each kind, and the widest thing in all of this.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Self

from wasteledger.estimate.capture import Stage, stage_of
from wasteledger.estimate.containers import UnknownKind
from wasteledger.estimate.prior import Prior, Share
from wasteledger.estimate.shares import Beta


@dataclass(frozen=True, slots=True)
class TrapMasses:
    """Wet mass of debris taken out in the period, by kind of trap, with the covariance that the kinds share; mg, mg².

    Attributes:
        kinds: `TrapKind` values and ``separator_unit``; a kind with no swap in the period is left out.
        masses_mg: Estimated or weighed wet mass (drained, without the inserts).
        covariance_mg2: Of these masses (scatter, common error of the means, scale).
        degrees_of_freedom: Behind the covariance; infinite for published values.
    """

    kinds: tuple[str, ...]
    masses_mg: tuple[float, ...]
    covariance_mg2: tuple[tuple[float, ...], ...]
    degrees_of_freedom: float = math.inf

    @classmethod
    def by_count(
        cls, exposures: Mapping[str, float], prior: Prior, *, weighed: Mapping[str, tuple[float, float]] | None = None
    ) -> Self:
        """From counts, as `estimate.containers` reckons them, and from traps that were weighed singly.

        Args:
            exposures: Full swaps of one dentist that were counted, by kind (grade times dentists; see
                `estimate.containers`). Swaps that were weighed singly are not among them.
            prior: Published or learned masses.
            weighed: Net mass in mg and its variance in mg², by kind, of traps that were weighed singly.

        Raises:
            UnknownKind: The prior has no row for a kind.
        """
        weighed = weighed or {}
        kinds = tuple(kind for kind in dict.fromkeys((*exposures, *weighed)) if kind in weighed or exposures[kind])
        rows = {kind: place for place, kind in enumerate(prior.kinds)}
        for kind in kinds:
            if kind not in rows:
                raise UnknownKind("kind", kind)
        x = [float(exposures.get(kind, 0.0)) for kind in kinds]
        on_scale = [weighed.get(kind, (0.0, 0.0)) for kind in kinds]
        masses = tuple(
            full * prior.means_mg[rows[kind]] + mass for kind, full, (mass, _) in zip(kinds, x, on_scale, strict=True)
        )
        covariance = tuple(
            tuple(
                x[i] * x[j] * prior.covariance_mg2[rows[one]][rows[other]]
                + (x[i] * prior.scatter_sd_mg[rows[one]] ** 2 + on_scale[i][1] if i == j else 0.0)
                for j, other in enumerate(kinds)
            )
            for i, one in enumerate(kinds)
        )
        return cls(kinds, masses, covariance, prior.degrees_of_freedom)


@dataclass(frozen=True, slots=True)
class Caught:
    """Amalgam taken out, by stage.

    Attributes:
        stages: Those that something was taken out of, in the order of the line.
        means_mg: Means.
        sds_mg: Standard uncertainties.
        middles: Means of the logarithms of the masses in mg.
        spread: Covariance of these.
        thirds: Their third central moments.
    """

    stages: tuple[Stage, ...]
    means_mg: tuple[float, ...]
    sds_mg: tuple[float, ...]
    middles: tuple[float, ...]
    spread: tuple[tuple[float, ...], ...]
    thirds: tuple[float, ...]


def amalgam_in(masses: TrapMasses, amalgam: Mapping[str, Share]) -> Caught:
    """The amalgam in *masses*, given its share in each kind's wet debris.

    The shares of two kinds are independent; the masses are not. The logarithm's moments are exact for the share and
    those of a log-normal for the mass. Where a stage has traps of several kinds, one log-normal and one beta share
    stand for their sum: their product has its mean and its variance. By simulation with the shipped shares the
    logarithm's mean is then right to 0.03 and its standard deviation to 0.035.

    Raises:
        UnknownKind: *amalgam* lacks a kind that was taken out.
    """
    for kind in masses.kinds:
        if kind not in amalgam:
            raise UnknownKind("share of amalgam of", kind)
    kinds, count = masses.kinds, range(len(masses.kinds))
    shares = [Beta(max(1e-6, amalgam[kind].mean), amalgam[kind].sd) for kind in kinds]
    means = [mass * share.mean for mass, share in zip(masses.masses_mg, shares, strict=True)]
    # A Student posterior is wider than its scale matrix says.
    freedom = masses.degrees_of_freedom
    wider = 1.0 if math.isinf(freedom) else freedom / (freedom - 2) if freedom > 3 else 3.0
    covariance = [[wider * cell for cell in row] for row in masses.covariance_mg2]
    # A mass far below its own uncertainty (weighed as nothing) may be as much as that, and has no logarithm itself.
    wet = [max(mass, math.sqrt(covariance[i][i]) / 2, 1e-3) for i, mass in enumerate(masses.masses_mg)]
    natural = [
        [
            covariance[i][j] * shares[i].mean * shares[j].mean
            + ((masses.masses_mg[i] ** 2 + covariance[i][i]) * shares[i].sd ** 2 if i == j else 0.0)
            for j in count
        ]
        for i in count
    ]
    stages = tuple(stage for stage in Stage if any(stage_of(kind) is stage for kind in kinds))
    of = {stage: [i for i in count if stage_of(kinds[i]) is stage] for stage in stages}
    total = {stage: math.fsum(wet[i] * shares[i].mean for i in of[stage]) for stage in stages}

    def relative(one: Stage, other: Stage) -> float:
        """Covariance of the logarithms that the masses make."""
        cells = math.fsum(covariance[i][j] * shares[i].mean * shares[j].mean for i in of[one] for j in of[other])
        return math.log1p(max(-0.9, cells / (total[one] * total[other])))

    pooled = {}
    for stage in stages:
        debris = math.fsum(wet[i] for i in of[stage])
        own = math.fsum((wet[i] ** 2 + covariance[i][i]) * shares[i].sd ** 2 for i in of[stage])
        mean = total[stage] / debris
        # The product of the log-normal and this has the variance of the sum of the kinds.
        sd = math.sqrt(own / math.exp(relative(stage, stage))) / debris
        pooled[stage] = Beta(mean, min(sd, 0.99 * math.sqrt(mean * (1 - mean)))).logs
    debris_logs = {
        stage: math.log(math.fsum(wet[i] for i in of[stage])) - relative(stage, stage) / 2 for stage in stages
    }
    return Caught(
        stages,
        tuple(math.fsum(means[i] for i in of[stage]) for stage in stages),
        tuple(math.sqrt(math.fsum(natural[i][j] for i in of[stage] for j in of[stage])) for stage in stages),
        tuple(debris_logs[stage] + pooled[stage].mean for stage in stages),
        tuple(
            tuple(relative(one, other) + (pooled[one].variance if one is other else 0.0) for other in stages)
            for one in stages
        ),
        tuple(pooled[stage].third for stage in stages),
    )
