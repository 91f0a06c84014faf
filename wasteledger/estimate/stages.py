"""What procedures say that each stage should have caught, against the amalgam in what its traps held.

Both opinions are positive quantities that many uncertain shares multiply, so they are compared by their logarithms:
y = (expected, caught), one balance for each stage that was emptied (expected less caught is nothing), and weighted
least squares over both (`reconcile`). The expected catches hang together (what one stage lets through the next ones
get), and so do the caught ones (kinds share an error of their means); both covariances are kept.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from wasteledger.estimate.capture import CaptureFigures, Stage, catch_logs, catch_third, expected_catch
from wasteledger.estimate.prior import Share
from wasteledger.estimate.procedures import Uncertain
from wasteledger.estimate.reconcile import Reconciled, chi_square_beyond, fall_along, made_sound, reconcile
from wasteledger.estimate.shares import normal_equivalent_of_skew
from wasteledger.estimate.trap_masses import Caught, TrapMasses, amalgam_in

# A stage that lets nearly everything through still holds some: this share of its usual catch.
_LEFT_WHEN_BYPASSED = 0.05
# What was caught is taken as at least this share of what was expected: nothing has no logarithm.
_LEAST_SHARE = 1e-3
# A sum of several skew logarithms has a longer short side than one alone of the same skewness. By simulation, with this
# much of the skewness both sides hold what they promise.
_SKEW_TAKEN = 0.7
# A disagreement is called at 99 %. What is left of the long tails makes this nominal level pass nearly one year in a
# hundred where nothing is wrong (simulation).
_LEVEL = 0.0012


@dataclass(frozen=True, slots=True)
class Collecting:
    """For which part of the period a stage's catch was taken out.

    Attributes:
        share: Working days in which what was taken out had gathered, over the period's (1: all).
        extra_cv: Standard deviation of the work in the days in which the two differ, over all the work.
    """

    share: float = 1.0
    extra_cv: float = 0.0


@dataclass(frozen=True, slots=True)
class StageLine:
    """One stage of the line: expected from procedures, caught as the traps say, and both reconciled.

    Attributes:
        stage: Which.
        expected_mg: Amalgam expected from the procedures; None where none were entered.
        expected_u_mg: Its standard uncertainty.
        caught_mg: Amalgam in what was taken out of this stage's traps; None where nothing was taken out in the period.
        caught_u_mg: Its standard uncertainty.
        z: Caught against expected, in standard deviations of the logarithm of their ratio; below 0: less was caught.
        reconciled_mg: The best value from both: a mean, as the two that it comes from.
        reconciled_u_mg: Its standard uncertainty.
        collecting_share: Share of the period's working days whose catch was taken out within it (1: all).
    """

    stage: Stage
    expected_mg: float | None
    expected_u_mg: float | None
    caught_mg: float | None
    caught_u_mg: float | None
    z: float | None
    reconciled_mg: float | None
    reconciled_u_mg: float | None
    collecting_share: float


@dataclass(frozen=True, slots=True)
class StageBalance:
    """All stages together; `Balance` says what each field means.

    Attributes:
        lines: One for each stage, first stage first.
        escaped_mg: What should have passed all stages; None where none were expected.
        chi_square: Of the stages that could be compared.
        degrees_of_freedom: How many could.
        p: Chance of so large a disagreement if nothing is wrong.
        likeliest: The one thing whose error explains most: ``stage:…``, ``bypassed:…`` or ``procedures``.
        likeliest_p: Chance that the likeliest explains so much if nothing is wrong, all candidates reckoned with.
        likeliest_sign: Whether the suspect has too much (1) or too little (-1); for procedures, whether they say so.
        disagrees: Whether it all is beyond what the uncertainties explain. The catch of a suspected stage then has no
            part in what is reconciled.
    """

    lines: tuple[StageLine, ...]
    escaped_mg: float | None = None
    chi_square: float | None = None
    degrees_of_freedom: int = 0
    p: float | None = None
    likeliest: str | None = None
    likeliest_p: float | None = None
    likeliest_sign: int = 0
    disagrees: bool = False


def compare_stages(
    stages: Sequence[Stage],
    entering: Uncertain | None,
    collecting: Mapping[Stage, Collecting],
    masses: TrapMasses | None,
    *,
    figures: CaptureFigures,
    amalgam: Mapping[str, Share],
) -> StageBalance:
    """Hold what each of *stages* caught against what it should have, and reconcile the two.

    Args:
        stages: Those that the practice has.
        entering: Amalgam that entered the line in the period; None where it is not known.
        collecting: The part of the period that each stage's catch stands for; a stage without one was not emptied.
        masses: Wet debris taken out.
        figures: Shares caught.
        amalgam: Share of amalgam in the wet debris, by kind.

    Raises:
        UnknownKind: *amalgam* lacks a kind that was taken out.
    """
    present = tuple(stage for stage in Stage if stage in set(stages))
    caught = amalgam_in(masses, amalgam) if masses else Caught((), (), (), (), (), ())
    if entering is None or entering.mean_mg <= 0:
        return StageBalance(tuple(_line(stage, None, caught, None, None, collecting) for stage in present))
    natural = expected_catch(entering, present, figures)
    middles, spread = _expected_logs(entering, present, figures, collecting)
    expected = {
        stage: _scaled(natural.means_mg[place], natural.covariance_mg2[place][place], collecting.get(stage))
        for place, stage in enumerate(present)
    }
    compared = [stage for stage in caught.stages if stage in collecting and collecting[stage].share > 0]
    if not compared:
        lines = tuple(_line(stage, expected[stage], caught, None, None, collecting) for stage in present)
        return StageBalance(lines, natural.means_mg[-1])
    system = _System.of(present, compared, middles, spread, caught)
    scores = {
        stage: system.score(stage, catch_third(present, present.index(stage), figures) - third)
        for stage, third in zip(caught.stages, caught.thirds, strict=True)
        if stage in compared
    }
    # For the tests each difference is bent to be normal; their correlations stay.
    bent = system.bent(scores)
    tested = bent.fit()
    suspect = _likeliest(bent, figures)
    suspect_p = min(1.0, (2 * len(compared) + 1) * chi_square_beyond(suspect.fall, 1))
    disagrees = min(tested.p, suspect_p) < _LEVEL
    fitted = (system.without(suspect.stage) if disagrees else system).fit()
    return StageBalance(
        tuple(
            _line(stage, expected[stage], caught, scores.get(stage), fitted, collecting, place)
            for place, stage in enumerate(present)
        ),
        natural.means_mg[-1],
        tested.chi_square,
        len(compared),
        tested.p,
        suspect.name,
        suspect_p,
        suspect.sign,
        disagrees,
    )


@dataclass(frozen=True, slots=True)
class _System:
    """Logarithms of the expected catches (what escapes last) and of the caught ones, and one balance for each pair."""

    present: tuple[Stage, ...]
    compared: tuple[Stage, ...]
    y: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]

    @classmethod
    def of(
        cls,
        present: tuple[Stage, ...],
        compared: Sequence[Stage],
        middles: Sequence[float],
        spread: Sequence[Sequence[float]],
        caught: Caught,
    ) -> _System:
        rows = [caught.stages.index(stage) for stage in compared]
        floors = [middles[present.index(stage)] + math.log(_LEAST_SHARE) for stage in compared]
        y = (*middles, *(max(floor, caught.middles[row]) for floor, row in zip(floors, rows, strict=True)))
        nothing = (0.0,) * len(rows)
        own = made_sound([[caught.spread[row][column] for column in rows] for row in rows])
        covariance = [(*row, *nothing) for row in made_sound(spread)]
        covariance += [(*[0.0] * len(middles), *row) for row in own]
        return cls(present, tuple(compared), y, tuple(covariance))

    @property
    def balances(self) -> tuple[tuple[float, ...], ...]:
        rows = []
        for place, stage in enumerate(self.compared):
            i, j = self.places(stage, place)
            rows.append(tuple(1.0 if n == i else -1.0 if n == j else 0.0 for n in range(len(self.y))))
        return tuple(rows)

    def places(self, stage: Stage, place: int) -> tuple[int, int]:
        """Where a stage's expected and caught logarithms stand."""
        return self.present.index(stage), len(self.present) + 1 + place

    def deviation(self, stage: Stage) -> tuple[float, float]:
        """Caught less expected, and its standard deviation."""
        i, j = self.places(stage, self.compared.index(stage))
        return self.y[j] - self.y[i], math.sqrt(self.covariance[i][i] + self.covariance[j][j])

    def score(self, stage: Stage, third: float) -> float:
        difference, deviation = self.deviation(stage)
        return normal_equivalent_of_skew(difference / deviation, _SKEW_TAKEN * third / deviation**3)

    def bent(self, scores: Mapping[Stage, float]) -> _System:
        y = list(self.y)
        for place, stage in enumerate(self.compared):
            i, j = self.places(stage, place)
            y[j] = y[i] + scores[stage] * self.deviation(stage)[1]
        return replace(self, y=tuple(y))

    def without(self, stage: Stage | None) -> _System:
        """The same without one stage's catch; unchanged where nothing would be left."""
        if stage is None or len(self.compared) < 2:
            return self
        gone = len(self.present) + 1 + self.compared.index(stage)
        kept = [n for n in range(len(self.y)) if n != gone]
        return _System(
            self.present,
            tuple(one for one in self.compared if one is not stage),
            tuple(self.y[n] for n in kept),
            tuple(tuple(self.covariance[n][m] for m in kept) for n in kept),
        )

    def fit(self) -> Reconciled:
        return reconcile(self.y, self.covariance, self.balances)

    def fall(self, direction: Sequence[float]) -> tuple[float, float]:
        return fall_along(self.y, self.covariance, self.balances, direction)


@dataclass(frozen=True, slots=True)
class _Suspect:
    name: str
    fall: float
    sign: int
    stage: Stage | None = None


def _expected_logs(
    entering: Uncertain, stages: Sequence[Stage], figures: CaptureFigures, collecting: Mapping[Stage, Collecting]
) -> tuple[list[float], list[list[float]]]:
    entering_variance = math.log1p((entering.sd_mg / entering.mean_mg) ** 2)
    middle = math.log(entering.mean_mg) - entering_variance / 2
    shares, spread = catch_logs(stages, figures)
    parts = [*(collecting.get(stage, Collecting()) for stage in stages), Collecting()]
    middles = [middle + share + math.log(part.share or 1.0) for share, part in zip(shares, parts, strict=True)]
    covariance = [
        [
            cell
            + entering_variance
            + (math.log1p((parts[i].extra_cv / (parts[i].share or 1.0)) ** 2) if i == j else 0.0)
            for j, cell in enumerate(row)
        ]
        for i, row in enumerate(spread)
    ]
    return middles, covariance


def _scaled(mean_mg: float, variance_mg2: float, part: Collecting | None) -> tuple[float, float]:
    part = part or Collecting()
    share = part.share or 1.0
    return share * mean_mg, math.hypot(share * math.sqrt(variance_mg2), part.extra_cv * mean_mg)


def _likeliest(system: _System, figures: CaptureFigures) -> _Suspect:
    """The one error that lets chi-square fall most."""
    present, nothing = system.present, [0.0] * len(system.y)
    first = len(present) + 1
    found: list[_Suspect] = []
    for place, stage in enumerate(system.compared):
        at, row = system.places(stage, place)
        single = list(nothing)
        single[row] = 1.0
        fall, amount = system.fall(single)
        found.append(_Suspect(f"stage:{stage}", fall, 1 if amount > 0 else -1, stage))
        # A stage that is passed by lacks nearly all its catch; those behind it get what it would have held.
        bypass = list(nothing)
        bypass[at] = math.log(_LEFT_WHEN_BYPASSED)
        bypass[at + 1 : first] = [-math.log(1 - figures.stages[stage].mean)] * (first - at - 1)
        fall, amount = system.fall(bypass)
        if amount < 0:
            found.append(_Suspect(f"bypassed:{stage}", fall, -1, stage))
    fall, amount = system.fall([1.0] * first + [0.0] * len(system.compared))
    found.append(_Suspect("procedures", fall, 1 if amount > 0 else -1))
    return max(found, key=lambda one: one.fall)


def _line(
    stage: Stage,
    expected: tuple[float, float] | None,
    caught: Caught,
    z: float | None,
    fitted: Reconciled | None,
    collecting: Mapping[Stage, Collecting],
    place: int = 0,
) -> StageLine:
    row = caught.stages.index(stage) if stage in caught.stages else None
    reconciled, reconciled_u = _mean_and_sd(fitted, place) if fitted else (None, None)
    part = collecting.get(stage)
    return StageLine(
        stage,
        expected[0] if expected else None,
        expected[1] if expected else None,
        None if row is None else caught.means_mg[row],
        None if row is None else caught.sds_mg[row],
        z,
        reconciled,
        reconciled_u,
        part.share if part else 0.0,
    )


def _mean_and_sd(fitted: Reconciled, place: int) -> tuple[float, float]:
    """Of the log-normal whose logarithm was fitted.

    A beta share's logarithm leans to the short side. With the shipped shares the log-normal's mean lies up to 4 %
    above the exact one of what is expected, and its deviation up to a third: the wider choice.
    """
    variance = fitted.covariance[place][place]
    mean = math.exp(fitted.values[place] + variance / 2)
    return mean, mean * math.sqrt(math.expm1(variance))
