"""Where amalgam stays on its way from the chair to the sewer: shares caught by each stage, and the expected catch.

Each stage holds a share of what reaches it. The shares are beta-distributed and independent of each other; the catches
are not, since what one stage lets through the next ones get. Means and covariance of the catches are exact, as means
and second moments of products of independent quantities are (L. A. Goodman, On the exact variance of products,
J Am Stat Assoc 55 (1960) 708); a first-order law would be too narrow for shares as wide as these.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from wasteledger.estimate.prior import SEPARATOR_UNIT
from wasteledger.estimate.procedures import RestorationMass, Restorations, Uncertain, mass_of
from wasteledger.estimate.reading import BadFile, Section, opened
from wasteledger.estimate.shares import Beta
from wasteledger.model.traps import TrapKind

CAPTURE = "estimate/capture.toml"

_LEAST = 0.001
_SURFACES = ("one", "two", "three", "four_or_more")


class BadCapture(BadFile):
    """Capture figures that cannot be read; ``faults`` has one sentence a fault, with its key."""

    code = "bad-capture"
    NOUN = "capture figures"


class Stage(StrEnum):
    """A stage of the suction line, in the order in which it is passed."""

    CHAIRSIDE = "chairside"
    LINE_FILTER = "line_filter"
    PUMP = "pump"
    SEPARATOR = "separator"

    @property
    def words(self) -> str:
        """Its name in a sentence."""
        return _STAGE_WORDS[self]


_STAGE_WORDS = {
    Stage.CHAIRSIDE: "chairside traps",
    Stage.LINE_FILTER: "vacuum-line filter",
    Stage.PUMP: "central-pump trap",
    Stage.SEPARATOR: "separator unit",
}
_STAGE_OF = {
    TrapKind.SALIVA_EJECTOR.value: Stage.CHAIRSIDE,
    TrapKind.HIGH_VOLUME.value: Stage.CHAIRSIDE,
    TrapKind.CUSPIDOR.value: Stage.CHAIRSIDE,
    TrapKind.LINE_FILTER.value: Stage.LINE_FILTER,
    TrapKind.PUMP.value: Stage.PUMP,
    SEPARATOR_UNIT: Stage.SEPARATOR,
}


def stage_of(kind: str) -> Stage:
    """The stage in which a kind of trap (a `TrapKind` value, or ``separator_unit``) sits.

    Raises:
        BadCapture: No such kind.
    """
    if kind not in _STAGE_OF:
        raise BadCapture((f"{kind}: no stage of the suction line has traps of this kind.",))
    return _STAGE_OF[kind]


@dataclass(frozen=True, slots=True)
class CaptureFigures:
    """A file of capture figures as it was read.

    Attributes:
        name: Its title.
        stages: Share of what reaches a stage that it holds.
        by_surfaces: Mass of a restoration of one, two, three, four or more surfaces.
        unknown: Mass of a restoration whose surfaces were not counted.
        removed_to_suction: Share of a removed restoration that goes into the suction.
        placed_in_tooth: Share of a mixed portion that stays in the tooth.
        placed_to_suction: Share of a mixed portion that is carved off and drawn into the suction.
    """

    name: str
    stages: Mapping[Stage, Beta]
    by_surfaces: tuple[RestorationMass, RestorationMass, RestorationMass, RestorationMass]
    unknown: RestorationMass
    removed_to_suction: Beta
    placed_in_tooth: Beta
    placed_to_suction: Beta

    @property
    def masses(self) -> tuple[RestorationMass, ...]:
        """Mass of one restoration by surfaces, and last that of unknown surfaces."""
        return (*self.by_surfaces, self.unknown)


def read_capture(source: str | bytes | Mapping[str, object], *, name: str = CAPTURE) -> CaptureFigures:
    """Read a file of capture figures: TOML as text or as UTF-8 bytes, or a table that was parsed already.

    Raises:
        BadCapture: No TOML, or keys that are missing, unknown or out of range; all of them are named.
    """
    top = opened(source, name, BadCapture)
    title = top.text("name")
    shares = top.section("capture")
    stages = {stage: _beta(shares.section(stage.value)) for stage in Stage}
    masses = top.section("restoration")
    one, two, three, four, unknown = (_mass(masses.section(sort)) for sort in (*_SURFACES, "unknown"))
    fates = top.section("fate")
    removed, in_tooth, placed = (
        _beta(fates.section(key)) for key in ("removed_to_suction", "placed_in_tooth", "placed_to_suction")
    )
    if faults := top.faults():
        raise BadCapture(faults, name=name)
    return CaptureFigures(title, stages, (one, two, three, four), unknown, removed, in_tooth, placed)


def entering_suction(removed: Restorations, placed: Restorations, figures: CaptureFigures) -> Uncertain:
    """Amalgam that *removed* and *placed* restorations send into the suction, in mg.

    Of a removed one a share of its mass; of a placed one what is carved off, which is measured against the mixed
    portion, so its mass in the tooth is divided by the share that stays there. The shares are one site's habits and
    so common to all its procedures, as is the error of the mean masses; both kinds of work share that error.
    """
    return entering_from((*removed.by_surfaces, removed.unknown), (*placed.by_surfaces, placed.unknown), figures)


def entering_from(removed: Sequence[float], placed: Sequence[float], figures: CaptureFigures) -> Uncertain:
    """As `entering_suction`, of counts by surfaces (unknown surfaces last) that need not be whole."""
    drawn, carved = figures.removed_to_suction, figures.placed_to_suction
    carved_mean = carved.mean / figures.placed_in_tooth.mean
    carved_variance = carved_mean**2 * (
        (carved.sd / carved.mean) ** 2 + (figures.placed_in_tooth.sd / figures.placed_in_tooth.mean) ** 2
    )
    both = mass_of(
        [drawn.mean * gone + carved_mean * come for gone, come in zip(removed, placed, strict=True)],
        figures.masses,
        scattering=[drawn.mean**2 * gone + carved_mean**2 * come for gone, come in zip(removed, placed, strict=True)],
    )
    mass_out, mass_in = mass_of(removed, figures.masses), mass_of(placed, figures.masses)
    shares_variance = drawn.sd**2 * (mass_out.mean_mg**2 + mass_out.sd_mg**2) + carved_variance * (
        mass_in.mean_mg**2 + mass_in.sd_mg**2
    )
    return Uncertain(both.mean_mg, math.sqrt(both.sd_mg**2 + shares_variance))


@dataclass(frozen=True, slots=True)
class ExpectedCatch:
    """What each stage should hold, and what should pass them all (last); mg and mg².

    Attributes:
        stages: The stages, in the order in which they are passed.
        means_mg: Expected catch of each stage, and last what escapes to the sewer.
        covariance_mg2: Of these, in the same order.
    """

    stages: tuple[Stage, ...]
    means_mg: tuple[float, ...]
    covariance_mg2: tuple[tuple[float, ...], ...]


def expected_catch(entering: Uncertain, stages: Sequence[Stage], figures: CaptureFigures) -> ExpectedCatch:
    """The expected catch of *stages* (those that this practice has) of the amalgam *entering* the line.

    The order of the line is that of `Stage`, whatever the order in which they are given; each counts once.
    """
    present = tuple(stage for stage in Stage if stage in set(stages))
    shares = [figures.stages[stage] for stage in present]
    count = len(present) + 1
    means = [entering.mean_mg * _through(shares, place) for place in range(count)]
    entering_second = entering.mean_mg**2 + entering.sd_mg**2
    covariance = [[0.0] * count for _ in range(count)]
    for i in range(count):
        for j in range(i, count):
            second = entering_second * _both_through(shares, i, j)
            covariance[i][j] = covariance[j][i] = second - means[i] * means[j]
    return ExpectedCatch(present, tuple(means), tuple(tuple(row) for row in covariance))


def catch_logs(
    stages: Sequence[Stage], figures: CaptureFigures
) -> tuple[tuple[float, ...], tuple[tuple[float, ...], ...]]:
    """Mean and covariance of the logarithms of each stage's share of what entered, and last of what escapes; exact.

    *stages* in the order of the line.
    """
    logs = [figures.stages[stage].logs for stage in stages]
    count = len(logs) + 1
    means = [
        math.fsum(one.rest_mean for one in logs[:i]) + (logs[i].mean if i < len(logs) else 0.0) for i in range(count)
    ]
    covariance = [[0.0] * count for _ in range(count)]
    for i in range(count):
        passed = math.fsum(one.rest_variance for one in logs[:i])
        covariance[i][i] = passed + (logs[i].variance if i < len(logs) else 0.0)
        for j in range(i + 1, count):
            # The later one had to pass the earlier one, which held the rest.
            covariance[i][j] = covariance[j][i] = passed + logs[i].covariance
    return tuple(means), tuple(tuple(row) for row in covariance)


def catch_third(stages: Sequence[Stage], place: int, figures: CaptureFigures) -> float:
    """Third central moment of the logarithm of what the stage at *place* holds of what entered; exact."""
    logs = [figures.stages[stage].logs for stage in stages[: place + 1]]
    return math.fsum(one.rest_third for one in logs[:place]) + logs[place].third


def _through(shares: Sequence[Beta], place: int) -> float:
    passing = math.prod(1 - share.mean for share in shares[:place])
    return passing * (shares[place].mean if place < len(shares) else 1.0)


def _both_through(shares: Sequence[Beta], first: int, second: int) -> float:
    """Mean of the product of two stages' shares of what entered; *first* is not behind *second*."""
    before = math.prod(share.rest_second for share in shares[:first])
    if first == second:
        return before * (shares[first].second if first < len(shares) else 1.0)
    # E[s (1 - s)]: the first of the two lets through only what it does not hold itself.
    held_and_left = shares[first].mean - shares[first].second
    between = math.prod(1 - share.mean for share in shares[first + 1 : second])
    return before * held_and_left * between * (shares[second].mean if second < len(shares) else 1.0)


def _beta(section: Section) -> Beta:
    mean, sd = section.number("mean", _LEAST, 1 - _LEAST), section.number("sd", 0, 0.5)
    widest = math.sqrt(mean * (1 - mean))
    # A mean that could not be read has its own fault, and none of the deviation's.
    if sd >= widest and mean > _LEAST:
        section.fault("sd", f"no share with the mean {mean:g} scatters by {sd:g}")
    return Beta(mean, min(sd, 0.99 * widest), section.text("basis"))


def _mass(section: Section) -> RestorationMass:
    return RestorationMass(
        section.number("mean_mg", 1, 100_000),
        section.number("mean_se_mg", 0, 100_000),
        section.number("scatter_mg", 0, 100_000),
        section.text("basis"),
    )
