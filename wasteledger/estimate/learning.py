"""What weighings teach of the mean mass of each kind: from a prior and increments to a learned prior.

    Δyᵢ = xᵢ'c + eᵢ,   eᵢ ~ N(0, s² vᵢ),   vᵢ = scale variance + Σ xᵢₖ (wₖ cₖ)²

x are the exposures of `containers`, c the mean debris of one full swap of each kind, w the scatter of one swap as a
share of its mean. The conjugate regression of `regression` does the work, started from the prior as it stands. Three
choices go beyond it, and so it is done again until it settles (damped, since weights and means pull at each other):

- Scatter goes with the mean. Debris is skewed, with a spread in proportion to what is usual (a coefficient of variation
  near 1; Stone et al. 2008, Sci Total Environ 396:28), so a kind that turns out twice as heavy scatters twice as much,
  and the weights are those at the means that are learned (iteratively reweighted least squares; Carroll, Ruppert,
  Transformation and Weighting in Regression, 1988, chapter 2).
- What is believed of the means does not stretch with s². In the plain conjugate form it does, and then one wild
  weighing of one kind widens what is known of every other, and calm weighings of one kind narrow those never weighed.
  Here s² is learned from the residuals alone, each with what the means' own uncertainty adds to it (the mean-field
  answer; Bishop, Pattern Recognition and Machine Learning, 2006, 10.3), `PRIOR_DEGREES_OF_FREEDOM` behind s² = 1.
- No mean is below zero. Where weighings pull one there, the constrained solution is taken and the kind is named; its
  uncertainty stays that of the unconstrained answer.

The same regression learns volumes from levels: see `volume_learning`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from wasteledger.estimate.containers import STREAM, exposures_of
from wasteledger.estimate.increments import Increment
from wasteledger.estimate.prior import Prior
from wasteledger.estimate.regression import Belief, Learned, learn

PRIOR_DEGREES_OF_FREEDOM = 25
"""How many weighings the published scatter is worth: judgement, no source, held against simulated practices."""

_MOST_PASSES = 200
_SETTLED = 1e-9  # by which share of a mean, or of s², one pass may still move it

LEAST_OTHERS = 3
"""So many weighings must have taught before they say what to expect of another: judgement, no source."""

LUMPY_DEGREES_OF_FREEDOM = 10
"""A weighing that a few heavy lumps make strays further than the scatter of many small ones would let expect; it is
judged with Student's tails for so many degrees of freedom at most: judgement, held against simulated practices."""

UNKNOWN_BODY = "a body of unknown mass went in"
UNKNOWN_PIECES = "nothing gives pieces of the stream"
NOTHING_ESTIMATED = "nothing that is estimated went in"
"""Why an increment cannot teach."""

_LEAST_SHARE = 0.2
_LEAST_CV = 1e-6  # a prior that leaves no room at all still has to be a distribution


@dataclass(frozen=True, slots=True)
class Taught:
    """What was learned.

    Attributes:
        prior: The prior after the increments: means, covariance (scale matrix), scatter, degrees of freedom.
        scale: What s² is now taken to be, 1 before anything was learned.
        used: The increments that taught, in order.
        residuals: Of each of them, over its own standard deviation.
        left_out: The increments that could not teach, each with the reason in words.
        held_at_zero: Kinds that the weighings pulled below zero.
    """

    prior: Prior
    scale: float = 1.0
    used: tuple[Increment, ...] = ()
    residuals: tuple[float, ...] = ()
    left_out: tuple[tuple[Increment, str], ...] = ()
    held_at_zero: tuple[str, ...] = ()
    learned: Learned | None = field(default=None, repr=False, compare=False)


@dataclass(frozen=True, slots=True)
class SortedOut:
    """Increments that can teach, with their exposures for each of the prior's kinds; and the others, with reasons."""

    used: tuple[Increment, ...]
    rows: tuple[tuple[float, ...], ...]
    left_out: tuple[tuple[Increment, str], ...]


def teach(prior: Prior, increments: Sequence[Increment], *, mass_sources: Mapping[str, str] | None = None) -> Taught:
    """Learn from *increments*, starting at *prior* (published values, with no increment in them yet).

    Args:
        prior: What is believed beforehand.
        increments: What was weighed, in any order.
        mass_sources: The prior's kind that each stream put in by count takes its mass from, by stream.

    Raises:
        UnknownKind: A trap's kind, or the condition seen, has no row in the prior.
    """
    sorted_out = sort_out(prior, increments, mass_sources=mass_sources)
    used, left_out = sorted_out.used, sorted_out.left_out
    if not used:
        return Taught(prior, left_out=left_out)

    # One order whatever order they came in: not a digit of what is learned may hang on it.
    order = sorted(range(len(used)), key=lambda at: (sorted_out.rows[at], used[at].net_mg, used[at].variance_mg2))
    learned = _settled(
        prior,
        [sorted_out.rows[at] for at in order],
        [float(used[at].net_mg) for at in order],
        [used[at].variance_mg2 for at in order],
    )
    root = math.sqrt(learned.scale)
    after = replace(
        prior,
        means_mg=learned.means,
        covariance_mg2=learned.covariance,
        scatter_sd_mg=tuple(root * sd for sd in scatter_at(prior, learned.means)),
        degrees_of_freedom=min(prior.degrees_of_freedom, PRIOR_DEGREES_OF_FREEDOM) + len(used),
    )
    residuals = dict(zip(order, learned.residuals, strict=True))
    return Taught(
        after,
        learned.scale,
        used,
        tuple(residuals[at] / root for at in range(len(used))),
        left_out,
        tuple(prior.kinds[place] for place in learned.held_at_zero),
        learned,
    )


def foretold(
    one: Increment, used: Sequence[Increment], prior: Prior, *, mass_sources: Mapping[str, str] | None = None
) -> tuple[float, float, float]:
    """What all weighings in *used* but *one* let expect of it: mean and standard uncertainty in mg, degrees of freedom.

    The scale's own uncertainty is left out. Fewer than `LEAST_OTHERS` others are not heard, and the prior answers. The
    scatter is the wider of what the others teach and what goes with the means that all together teach: where one lump
    makes most of a weighing, the others may never have seen such a lump, and would take their own calm for a law.

    Raises:
        UnknownKind: A trap's kind, or the condition seen, has no row in the prior.
    """
    others = [other for other in used if other != one]
    scatter_sd_mg = prior.scatter_sd_mg
    if len(others) >= LEAST_OTHERS:
        together = scatter_at(prior, teach(prior, used, mass_sources=mass_sources).prior.means_mg)
        prior = teach(prior, others, mass_sources=mass_sources).prior
        scatter_sd_mg = tuple(max(pair) for pair in zip(prior.scatter_sd_mg, together, strict=True))
    row = [float(exposure) for exposure in exposures_of(one.holding, prior, mass_sources=mass_sources)]
    mean = math.fsum(x * mean for x, mean in zip(row, prior.means_mg, strict=True))
    shared = math.fsum(
        x * other * cell
        for x, cells in zip(row, prior.covariance_mg2, strict=True)
        for other, cell in zip(row, cells, strict=True)
    )
    scatter = math.fsum(x * sd**2 for x, sd in zip(row, scatter_sd_mg, strict=True))
    freedom = prior.degrees_of_freedom
    return (
        mean,
        math.sqrt(max(0.0, shared) + scatter),
        freedom if math.isinf(freedom) else min(freedom, LUMPY_DEGREES_OF_FREEDOM),
    )


def sort_out(
    prior: Prior, increments: Sequence[Increment], *, mass_sources: Mapping[str, str] | None = None
) -> SortedOut:
    """Which of *increments* can teach, and why the others cannot; nothing is learned yet, so numpy is not needed.

    Raises:
        UnknownKind: A trap's kind, or the condition seen, has no row in the prior.
    """
    sources = mass_sources or {}
    used: list[Increment] = []
    rows: list[tuple[float, ...]] = []
    left_out: list[tuple[Increment, str]] = []
    for one in increments:
        row = tuple(float(exposure) for exposure in exposures_of(one.holding, prior, mass_sources=sources))
        if why := _unfit(one, row, prior, sources):
            left_out.append((one, why))
        else:
            used.append(one)
            rows.append(row)
    return SortedOut(tuple(used), tuple(rows), tuple(left_out))


def _unfit(one: Increment, row: tuple[float, ...], prior: Prior, sources: Mapping[str, str]) -> str:
    """Why an increment cannot teach; empty where it can."""
    if one.inserts_unknown:
        return UNKNOWN_BODY
    for tally in one.tallies:
        if tally.source.startswith(STREAM):
            stream = tally.source.removeprefix(STREAM)
            if sources.get(stream, tally.source) not in prior.kinds:
                return f"{UNKNOWN_PIECES} “{stream}” a mass"
    if not any(row):
        return NOTHING_ESTIMATED
    return ""


def _settled(
    prior: Prior, rows: Sequence[Sequence[float]], observed: Sequence[float], scales: Sequence[float]
) -> Learned:
    """The regression at weights and at a scale s² that it gives itself."""
    freedom = min(prior.degrees_of_freedom, PRIOR_DEGREES_OF_FREEDOM)
    at, scale = list(prior.means_mg), 1.0
    learned = _regressed(prior, rows, observed, _variances(rows, scales, scatter_at(prior, at)), scale)
    for _ in range(_MOST_PASSES):
        variances = _variances(rows, scales, scatter_at(prior, at))
        learned = _regressed(prior, rows, observed, variances, scale)
        own = math.fsum(learned.predict(row, 0.0)[1] ** 2 / v for row, v in zip(rows, variances, strict=True))
        square = math.fsum(residual**2 for residual in learned.residuals)
        told = (freedom + square + own) / (freedom + len(rows))
        moved = max(
            abs(mean - before) / (before + published)
            for mean, before, published in zip(learned.means, at, prior.means_mg, strict=True)
        )
        if moved < _SETTLED and abs(told - scale) < _SETTLED * scale:
            break
        at = [(mean + before) / 2 for mean, before in zip(learned.means, at, strict=True)]
        scale = (told + scale) / 2
    return learned


def _regressed(
    prior: Prior,
    rows: Sequence[Sequence[float]],
    observed: Sequence[float],
    variances: Sequence[float],
    scale: float,
) -> Learned:
    covariance = [list(row) for row in prior.covariance_mg2]
    for place, mean in enumerate(prior.means_mg):
        least = (_LEAST_CV * mean) ** 2 or _LEAST_CV
        covariance[place][place] = max(covariance[place][place], least) * (1 + 1e-12)
    unit = tuple(tuple(cell / scale for cell in row) for row in covariance)
    return learn(rows, observed, variances, Belief(prior.means_mg, unit, scale, math.inf), non_negative=True)


def scatter_at(prior: Prior, means_mg: Sequence[float]) -> tuple[float, ...]:
    """Scatter of one full swap of each kind, in mg, were the means of the kinds *means_mg*: the same share of them.

    A mean at or near zero would claim that its swaps do not scatter at all, so a fifth of the prior mean is the least.
    """
    return tuple(
        sd * max(mean, _LEAST_SHARE * before) / before if before else sd
        for sd, mean, before in zip(prior.scatter_sd_mg, means_mg, prior.means_mg, strict=True)
    )


def _variances(rows: Sequence[Sequence[float]], scales: Sequence[float], scatter_sd_mg: Sequence[float]) -> list[float]:
    # One squared milligram more: a reading is never without any uncertainty.
    return [
        1.0 + scale + math.fsum(x * sd**2 for x, sd in zip(row, scatter_sd_mg, strict=True))
        for row, scale in zip(rows, scales, strict=True)
    ]
