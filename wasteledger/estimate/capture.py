"""Where amalgam stays on its way from the chair to the sewer: shares caught by each stage, and the expected catch.

Each stage holds a share of what reaches it. The shares are beta-distributed and independent of each other; the catches
are not, since what one stage lets through the next ones get.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from wasteledger.errors import NotUnderstood
from wasteledger.estimate.procedures import Restorations, Uncertain

CAPTURE = "estimate/capture.toml"


class BadCapture(NotUnderstood):
    """Capture figures that cannot be read; ``faults`` has one sentence a fault, with its key."""

    code = "bad-capture"


class Stage(StrEnum):
    """A stage of the suction line, in the order in which it is passed."""

    CHAIRSIDE = "chairside"
    LINE_FILTER = "line_filter"
    PUMP = "pump"
    SEPARATOR = "separator"

    @property
    def words(self) -> str:
        """Its name in a sentence."""
        return ""


def stage_of(kind: str) -> Stage:
    """The stage in which a kind of trap (a `TrapKind` value, or ``separator_unit``) sits.

    Raises:
        BadCapture: No such kind.
    """
    raise BadCapture("")


@dataclass(frozen=True, slots=True)
class Beta:
    """A share between 0 and 1 with a beta distribution of this mean and standard deviation."""

    mean: float
    sd: float
    basis: str = ""


@dataclass(frozen=True, slots=True)
class RestorationMass:
    """Mass of one restoration: mean, standard error of that mean, and the scatter from one to the next; mg."""

    mean_mg: float
    mean_se_mg: float
    scatter_mg: float
    basis: str = ""


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


def read_capture(source: str | bytes | Mapping[str, object], *, name: str = CAPTURE) -> CaptureFigures:
    """Read a file of capture figures: TOML as text or as UTF-8 bytes, or a table that was parsed already.

    Raises:
        BadCapture: No TOML, or keys that are missing, unknown or out of range; all of them are named.
    """
    raise BadCapture("")


def entering_suction(removed: Restorations, placed: Restorations, figures: CaptureFigures) -> Uncertain:
    """Amalgam that *removed* and *placed* restorations send into the suction, in mg."""
    raise BadCapture("")


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
    """The expected catch of *stages* (those that this practice has) of the amalgam *entering* the line."""
    raise BadCapture("")
