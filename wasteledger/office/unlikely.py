"""What a hurried hand may have typed wrong: it is recorded as said, and asked about in the same breath."""

from __future__ import annotations

from datetime import datetime, timedelta

from wasteledger.model.entries import ContainerOpened, Deposit, Level, Swap
from wasteledger.model.register import ContainerTypeDetails
from wasteledger.model.standing import ContainerStanding, TrapStanding
from wasteledger.office.lessons import UNIT_RIGHT
from wasteledger.office.masses import shipped_prior
from wasteledger.office.volumes import is_unlikely
from wasteledger.units import Mass

SAME_SWAP = timedelta(minutes=10)
UNLIKELY_TIMES = 100
"""From which multiple of the published mean a weighed trap is asked about (own convention, no source)."""

TARE_TIMES = 5
"""How many times its type's tare, or which part of it, an empty container may weigh unasked (own convention, no
source)."""

MERCURY_MG_PER_ML = 13_595
"""Nothing that goes into a container is denser than mercury: 13.5951 g/cm³, by which the conventional millimetre of
mercury is defined (NIST SP 811, 2008, B.8)."""


def unlikely_swap(trap: TrapStanding, body: Swap, when: datetime, seq: int, asked: tuple[str, ...]) -> tuple[str, ...]:
    """The same swap twice, another trap's tare, or grams for kilograms if that was not *asked* before."""
    found: list[str] = []
    if trap.last_swap_at is not None and timedelta(0) <= when - trap.last_swap_at <= SAME_SWAP:
        found.append(
            f"Trap {trap.trap} was swapped just before, entry {trap.last_swap_seq}. Typed twice? Then correct one."
        )
    if body.gross is None or body.tare is None:
        return tuple(found)
    if body.insert_mg and 2 * abs(body.tare.mass_mg - body.insert_mg) > body.insert_mg:
        planned = f"the plan says {Mass(body.insert_mg)} (insert_mass)"
        found.append(
            f"The clean trap weighed {Mass(body.tare.mass_mg)}; {planned}. Is that right? "
            f"If not, correct entry {seq}, or the plan."
        )
    prior = shipped_prior()
    usual_mg = dict(zip(prior.kinds, prior.means_mg, strict=True)).get(body.trap_kind.value, 0)
    net = Mass(body.gross.mass_mg - body.tare.mass_mg)
    if usual_mg and net.mg > UNLIKELY_TIMES * usual_mg and not any(UNIT_RIGHT in one for one in asked):
        found.append(f"{net} in one {body.trap_kind.words} is very much. {UNIT_RIGHT} If not, correct it.")
    return tuple(found)


def unlikely_deposit(container: ContainerStanding | None, body: Deposit, seq: int) -> tuple[str, ...]:
    """More at once than the container may hold in all, or than it could hold of mercury."""
    if container is None or body.mass is None:
        return ()
    limit_mg = container.mass_limit_mg or _of_mercury(container.fill_ml)
    if limit_mg is None or body.mass.mass_mg <= limit_mg:
        return ()
    said = f"{Mass(body.mass.mass_mg)} at once is more than container {container.container} can hold in all"
    return (f"{said}, {Mass(limit_mg)}. {UNIT_RIGHT} If not, correct entry {seq}.",)


def unlikely_opening(details: ContainerTypeDetails, body: ContainerOpened, seq: int) -> tuple[str, ...]:
    """A tare that is another container's: far from the type's, or above all that such a container could hold."""
    tare = Mass(body.tare.mass_mg)
    if details.tare_mg:
        if details.tare_mg <= TARE_TIMES * tare.mg and tare.mg <= TARE_TIMES * details.tare_mg:
            return ()
        against = f"the plan says {Mass(details.tare_mg)} for {details.name}"
    else:
        limit_mg = _of_mercury(body.fill_ml) or (UNLIKELY_TIMES * body.mass_limit_mg if body.mass_limit_mg else None)
        if limit_mg is None or tare.mg <= limit_mg:
            return ()
        against = "that is more than one of its size can hold"
    return (f"The empty container weighs {tare}; {against}. {UNIT_RIGHT} If not, correct entry {seq}.",)


def unlikely_level(body: Level, seq: int) -> tuple[str, ...]:
    """A level far above the fill line: a digit too many, as like as not."""
    if not is_unlikely(body):
        return ()
    read = body.level_permille / 10
    said = f"{read:g} % is far above the fill line, and nothing is learned from it. Was it {read / 10:g} %?"
    return (f"{said} If so, correct entry {seq}.",)


def _of_mercury(fill_ml: int | None) -> int | None:
    return fill_ml * MERCURY_MG_PER_ML if fill_ml else None
