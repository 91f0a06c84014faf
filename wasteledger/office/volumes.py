"""How much of the fill line a stated millilitre takes up, taught by the levels that were read.

The outer volume of an insert is stated in the register, yet inserts nest or leave gaps. One factor a container says how
much they really take; factors differ from container to container about the mean of their type. The mean starts at 1 and
is taught by the last level of each container whose additions all had a volume: level times fill line against the sum of
what went in, weighed by what is uncertain in either (a normal prior and normal readings, as in G. E. P. Box,
G. C. Tiao, Bayesian Inference in Statistical Analysis, 1973, 1.2.3).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from wasteledger.model.entries import ContainerOpened, Deposit, Level, Swap, UnitReplaced
from wasteledger.model.facts import Fact
from wasteledger.model.traps import Insert

LEVEL_READ_SD_PERMILLE = 30
"""Standard uncertainty of a level that was read by eye, in thousandths of the fill line (judgement, no source)."""

FACTOR_CV = 0.2
"""How wrong stated volumes may be before a level taught them, as a share (judgement, no source)."""

PACKING_CV = 0.1
"""How much the factor differs from one container of a type to the next, as a share (judgement, no source)."""


@dataclass(frozen=True, slots=True)
class VolumeFactor:
    """What one stated millilitre takes up in the next container of a type.

    Attributes:
        mean: Millilitres of the fill line, for one that was stated.
        sd: Its standard uncertainty for one container.
        containers: How many containers' levels taught it; 0 for a starting value.
    """

    mean: float = 1.0
    sd: float = (FACTOR_CV**2 + PACKING_CV**2) ** 0.5
    containers: int = 0


@dataclass(slots=True)
class _Filled:
    """One container's additions since it was opened, and its last level with what had gone in until then."""

    container_type: str
    fill_ml: int | None
    volume_ml: int = 0
    is_known: bool = True
    read: tuple[int, int] | None = None  # level in permille, millilitres that had gone in


def volume_factors(facts: Iterable[Fact]) -> dict[str, VolumeFactor]:
    """The factor of each type of container whose levels taught one, by type.

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
            if one.is_known and one.volume_ml:
                one.read = (body.level_permille, one.volume_ml)
            continue
        volume_ml = stated_volume_ml(body)
        one.is_known = one.is_known and volume_ml is not None
        one.volume_ml += volume_ml or 0
    by_type: dict[str, list[tuple[float, float]]] = {}
    for one in filled.values():
        if one.fill_ml is not None and one.read is not None:
            level_permille, volume_ml = one.read
            taken = level_permille * one.fill_ml / 1000 / volume_ml
            reading = LEVEL_READ_SD_PERMILLE * one.fill_ml / 1000 / volume_ml
            by_type.setdefault(one.container_type, []).append((taken, reading**2 + PACKING_CV**2))
    return {container_type: _taught(read) for container_type, read in by_type.items()}


def stated_volume_ml(body: object) -> int | None:
    """The volume that an addition was stated to take; None where nobody stated one."""
    match body:
        case Swap():
            return body.insert_ml if body.insert is Insert.WHOLE else 0
        case Deposit():
            return body.volume_ml
        case UnitReplaced():
            return None
    return 0


def _taught(read: list[tuple[float, float]]) -> VolumeFactor:
    precision = 1 / FACTOR_CV**2 + sum(1 / variance for _, variance in read)
    mean = (1 / FACTOR_CV**2 + sum(taken / variance for taken, variance in read)) / precision
    # A level of nothing, read in containers that hold something, must not make the factor vanish.
    return VolumeFactor(max(mean, 0.1), (1 / precision + PACKING_CV**2) ** 0.5, len(read))
