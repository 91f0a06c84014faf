"""How much of the fill line goes with each addition: what was stated, what has to be assumed, and what levels taught.

The outer volume of an insert may be stated in the register, yet inserts nest or leave gaps; where it is not, a judged
volume by kind stands in. One factor says how much they really take up, one for stated and one for assumed volumes;
factors differ from container to container about the mean of their type. The mean starts at 1 and is taught by the last
level of each container: level times fill line against the sum of what went in, weighed by what is uncertain in either
(a normal prior and normal readings, as in G. E. P. Box, G. C. Tiao, Bayesian Inference in Statistical Analysis, 1973,
1.2.3).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from wasteledger.model.entries import ContainerOpened, Deposit, Level, Swap, UnitReplaced
from wasteledger.model.facts import Fact
from wasteledger.model.traps import Insert, TrapKind

LEVEL_READ_SD_PERMILLE = 30
"""Standard uncertainty of a level that was read by eye, in thousandths of the fill line (judgement, no source)."""

FACTOR_CV = 0.2
"""How wrong stated volumes may be before a level taught them, as a share (judgement, no source)."""

ASSUMED_CV = 1.0
"""How wrong assumed volumes may be before a level taught them, as a share (judgement, no source): as wide as masses."""

PACKING_CV = 0.1
"""How much the factor differs from one container of a type to the next, as a share (judgement, no source)."""


_WHOLE_ML = {
    TrapKind.SALIVA_EJECTOR: 30,
    TrapKind.HIGH_VOLUME: 45,
    TrapKind.CUSPIDOR: 45,
    TrapKind.LINE_FILTER: 250,
    TrapKind.PUMP: 900,
}
"""What an insert of each kind takes up where nobody stated it (judgement, no source)."""

_DEBRIS_ML = {
    TrapKind.SALIVA_EJECTOR: 1,
    TrapKind.HIGH_VOLUME: 2,
    TrapKind.CUSPIDOR: 1,
    TrapKind.LINE_FILTER: 10,
    TrapKind.PUMP: 38,
}
"""What is tapped out of each kind: the starting masses over the starting bulk density of 1.6 g/mL, carried up."""


@dataclass(frozen=True, slots=True)
class VolumeFactor:
    """What one millilitre takes up in the next container of a type; at first as a stated one does.

    Attributes:
        mean: Millilitres of the fill line.
        sd: Its standard uncertainty for one container.
        containers: How many containers' levels taught it; 0 for a starting value.
    """

    mean: float = 1.0
    sd: float = math.hypot(FACTOR_CV, PACKING_CV)
    containers: int = 0


@dataclass(frozen=True, slots=True)
class VolumeFactors:
    """Both factors of one type of container."""

    stated: VolumeFactor = VolumeFactor()
    assumed: VolumeFactor = VolumeFactor(sd=math.hypot(ASSUMED_CV, PACKING_CV))


@dataclass(frozen=True, slots=True)
class Volume:
    """What an addition takes up in mL: *stated*, or *assumed* where nobody stated it; both 0 where nothing tells it."""

    stated_ml: int = 0
    assumed_ml: int = 0
    is_known: bool = True

    @property
    def whole_ml(self) -> int:
        """Both together."""
        return self.stated_ml + self.assumed_ml


@dataclass(slots=True)
class _Filled:
    """One container's additions since it was opened, and its last level with what had gone in until then."""

    container_type: str
    fill_ml: int | None
    stated_ml: int = 0
    assumed_ml: int = 0
    is_known: bool = True
    read: tuple[int, int, int] | None = None  # level in permille, stated and assumed millilitres until then


def volume_factors(facts: Iterable[Fact]) -> dict[str, VolumeFactors]:
    """The factors of each type of container that was read, by type.

    Args:
        facts: Openings, additions and levels, oldest first; a container whose opening is not among them is left out.
    """
    filled: dict[str, _Filled] = {}
    for fact in facts:
        body = fact.body
        if isinstance(body, ContainerOpened):
            filled[body.container] = _Filled(body.container_type, body.fill_ml)
            continue
        one = filled.get(str(getattr(body, "container", "")))
        if one is None:
            continue
        if isinstance(body, Level):
            if one.is_known and (one.stated_ml or one.assumed_ml):
                one.read = (body.level_permille, one.stated_ml, one.assumed_ml)
            continue
        volume = volume_of(body)
        one.is_known = one.is_known and volume.is_known
        one.stated_ml += volume.stated_ml
        one.assumed_ml += volume.assumed_ml
    by_type: dict[str, list[_Filled]] = {}
    for one in filled.values():
        if one.fill_ml is not None and one.read is not None:
            by_type.setdefault(one.container_type, []).append(one)
    return {container_type: _taught(some) for container_type, some in by_type.items()}


def volume_of(body: object) -> Volume:
    """What an addition takes up."""
    match body:
        case Swap():
            if body.insert is Insert.EMPTIED:
                return Volume(assumed_ml=_DEBRIS_ML[body.trap_kind])
            return insert_volume(body.trap_kind, body.insert_ml)
        case Deposit():
            return Volume(stated_ml=body.volume_ml or 0, is_known=body.volume_ml is not None)
        case UnitReplaced():
            return Volume(is_known=False)
    return Volume()


def insert_volume(kind: TrapKind, insert_ml: int | None, *, reusable: bool = False) -> Volume:
    """What a trap of that kind takes up when its insert, or only what it held, goes into a container."""
    if reusable:
        return Volume(assumed_ml=_DEBRIS_ML[kind])
    return Volume(assumed_ml=_WHOLE_ML[kind]) if insert_ml is None else Volume(stated_ml=insert_ml)


def _taught(filled: list[_Filled]) -> VolumeFactors:
    start = VolumeFactors()
    read = [(one.fill_ml, *one.read) for one in filled if one.fill_ml is not None and one.read is not None]
    stated = [
        (level_permille * fill_ml / 1000 / stated_ml, LEVEL_READ_SD_PERMILLE * fill_ml / 1000 / stated_ml)
        for fill_ml, level_permille, stated_ml, assumed_ml in read
        if not assumed_ml
    ]
    by_stated = _factor(stated, FACTOR_CV) if stated else start.stated
    assumed = []
    for fill_ml, level_permille, stated_ml, assumed_ml in read:
        if assumed_ml:
            # What was stated is taken off at its own factor; what is left was assumed.
            left_ml = level_permille * fill_ml / 1000 - by_stated.mean * stated_ml
            left_sd_ml = math.hypot(LEVEL_READ_SD_PERMILLE * fill_ml / 1000, by_stated.sd * stated_ml)
            assumed.append((left_ml / assumed_ml, left_sd_ml / assumed_ml))
    return VolumeFactors(by_stated, _factor(assumed, ASSUMED_CV) if assumed else start.assumed)


def _factor(read: list[tuple[float, float]], start_cv: float) -> VolumeFactor:
    """The factor that these values, each with the standard uncertainty of its reading, leave of one that began at 1."""
    weights = [1 / (sd**2 + PACKING_CV**2) for _, sd in read]
    precision = 1 / start_cv**2 + sum(weights)
    taken = sum(weight * value for weight, (value, _) in zip(weights, read, strict=True))
    mean = (1 / start_cv**2 + taken) / precision
    # A level of nothing, read in containers that hold something, must not make the factor vanish.
    return VolumeFactor(max(mean, 0.1), (1 / precision + PACKING_CV**2) ** 0.5, len(read))
