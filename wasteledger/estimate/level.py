"""How far a container is filled now: the last level read off it, and an estimate of what went in since.

Three parts: the reading, normal with the uncertainty of an eye; what went in since, log-normal by matched moments, by
factors that all containers share and by how this one is packed; additions of unknown volume, never taken as nothing,
but counted. The interval holds the quantiles of the sum of the first two, as that of a standing mass does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from wasteledger.estimate.coverage import coverage_factor, lognormal_limits, sum_limits
from wasteledger.estimate.volume_learning import VolumeFactors
from wasteledger.estimate.volumes import VolumesIn
from wasteledger.model.standing.containers import ContainerStanding

READ = "level read"
READ_EARLIER = "level read earlier"
NOT_READ = "no level read"
ESTIMATED = "estimate of what went in"
READ_AND_ESTIMATED = "level read earlier, and estimate of what went in since"

_ROUNDING = 1e-6  # of a thousandth; sums of real numbers are not carried up for less


@dataclass(frozen=True, slots=True)
class LevelEstimate:
    """How far a container is filled, in thousandths of its fill line.

    Attributes:
        permille: The level, carried up.
        lower_permille: Lower end of the 95 % interval, carried down, never below 0.
        upper_permille: Its upper end, carried up. The interval need not be symmetric.
        basis: How the figure came about, in words.
        left_out: How many additions it does not reckon with.
    """

    permille: int
    lower_permille: int
    upper_permille: int
    basis: str
    left_out: int = 0

    @property
    def is_estimate(self) -> bool:
        """Whether something that went in since was reckoned."""
        return self.basis in (ESTIMATED, READ_AND_ESTIMATED)


def standing_level(container: ContainerStanding, since: VolumesIn, factors: VolumeFactors) -> LevelEstimate | None:
    """How far *container* is filled; None for one that was never read and whose fill line has no stated volume.

    Args:
        container: Which.
        since: What went in since its last level, or since it was opened.
        factors: How much room a millilitre takes.
    """
    read, fill_ml = container.level_permille, container.fill_ml
    if fill_ml is None:
        if read is None:
            return None
        # Without a stated volume, what went in since cannot be set against the fill line.
        left_out = since.unknown + bool(since.by_kind)
        return _estimate(read, 1000, VolumesIn(), factors, READ_EARLIER if left_out else READ, left_out)
    if read is None:
        basis = ESTIMATED if since.by_kind else NOT_READ
    else:
        basis = READ if since.is_empty else READ_AND_ESTIMATED if since.by_kind else READ_EARLIER
    return _estimate(read, fill_ml, since, factors, basis, since.unknown)


def _estimate(
    read: int | None, fill_ml: int, since: VolumesIn, factors: VolumeFactors, basis: str, left_out: int
) -> LevelEstimate:
    taken_ml = factors.taken_ml(since)
    # What was never read was opened empty, and that is sure.
    reading_sd_ml = 0.0 if read is None else factors.reading_sd_ml(fill_ml)
    variances = (factors.shared_variance_ml2(since), factors.packing_variance_ml2(since))
    low_ml, high_ml = lognormal_limits(taken_ml, variances, coverage_factor(factors.degrees_of_freedom))
    lower_ml, upper_ml = sum_limits((read or 0) * fill_ml / 1000, reading_sd_ml, low_ml, high_ml)
    # Carried up: a warning that comes a thousandth early is better than one that comes late.
    permille = (read or 0) + math.ceil(1000 * taken_ml / fill_ml - _ROUNDING)
    return LevelEstimate(
        permille,
        min(permille, max(0, math.floor(1000 * lower_ml / fill_ml + _ROUNDING))),
        max(permille, math.ceil(1000 * upper_ml / fill_ml - _ROUNDING)),
        basis,
        left_out,
    )
