"""How full a container is: the largest of level, mass and pieces, each against its own limit.

That a pickup is planned at three quarters and a container closed at full is this program's own convention, not a rule;
both marks stand in the container's type and may be changed there.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from wasteledger.estimate.containers import Estimate
from wasteledger.estimate.level import LevelEstimate
from wasteledger.model.standing.containers import ContainerStanding


class Advice(StrEnum):
    """What the fullness asks for."""

    FINE = "fine"
    PLAN = "plan a pickup"
    CLOSE = "close it"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Component:
    """One measure of fullness, in thousandths of its limit, carried up.

    Attributes:
        measure: What is measured.
        permille: Thousandths of the limit.
        lower_permille: Lower end of the 95 % interval; the figure itself for what is counted.
        upper_permille: Its upper end.
        basis: How the figure came about, in words.
        left_out: How many pieces it does not reckon with, since their volume or mass is not known; where there are
            any, the container is at least so full.
    """

    measure: Literal["level", "mass", "pieces"]
    permille: int
    lower_permille: int
    upper_permille: int
    basis: str
    left_out: int = 0

    @property
    def is_estimate(self) -> bool:
        """Whether it was reckoned, not read off, weighed or counted."""
        return "estimate" in self.basis


@dataclass(frozen=True, slots=True)
class Fullness:
    """All that is known of how full a container is; *governing* is the largest component."""

    components: tuple[Component, ...]
    governing: Component | None
    advice: Advice

    @property
    def permille(self) -> int | None:
        """Thousandths of the limit that governs; None where no limit is known."""
        return self.governing.permille if self.governing else None

    @property
    def is_least(self) -> bool:
        """Whether something was left out, so that it may be fuller than stated."""
        return any(component.left_out for component in self.components)


def fullness(container: ContainerStanding, estimate: Estimate, level: LevelEstimate | None) -> Fullness:
    """How full *container* is, given the mass that stands in it, and its level where that can be told.

    A measure without a limit is no component. The mass is that of the contents, as the limit is. At equal fullness
    level comes before mass, mass before pieces.
    """
    found = (_level(level), _mass(container, estimate), _pieces(container))
    components = tuple(component for component in found if component is not None)
    governing = max(components, key=lambda component: component.permille, default=None)
    return Fullness(components, governing, _advice(container, governing))


def _advice(container: ContainerStanding, governing: Component | None) -> Advice:
    if governing is None:
        return Advice.NOT_KNOWN
    if governing.permille >= container.close_at_permille and container.closed_at is None:
        return Advice.CLOSE
    # Closed already and still here: what is left to do is to have it picked up.
    if governing.permille >= min(container.plan_at_permille, container.close_at_permille):
        return Advice.PLAN
    return Advice.FINE


def _level(level: LevelEstimate | None) -> Component | None:
    if level is None:
        return None
    return Component("level", level.permille, level.lower_permille, level.upper_permille, level.basis, level.left_out)


def _mass(container: ContainerStanding, estimate: Estimate) -> Component | None:
    limit_mg = container.mass_limit_mg
    if limit_mg is None:
        return None
    permille = _permille(estimate.value_mg, limit_mg)
    lower_mg, upper_mg = estimate.lower_mg, estimate.upper_mg
    return Component(
        "mass",
        permille,
        1000 * lower_mg // limit_mg,
        _permille(upper_mg, limit_mg),
        estimate.basis,
        estimate.unknown_pieces,
    )


def _pieces(container: ContainerStanding) -> Component | None:
    if container.items_limit is None:
        return None
    permille = _permille(container.pieces, container.items_limit)
    return Component("pieces", permille, permille, permille, "counted")


def _permille(part: int, limit: int) -> int:
    # Carried up: a warning that comes a thousandth early is better than one that comes late.
    return -(-1000 * part // limit)
