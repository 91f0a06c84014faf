"""What levels say of the volumes that went in: one increment for each stretch that is known throughout.

A container is empty when it is opened, so its level says what all that went in since takes up together. Every level
of a stretch speaks of the same things as the last one, and the last one was read when the most had gone in: it alone is
taken, so that no reading counts in two increments. An addition of unknown volume ends a stretch; the next level after
it begins another, with the uncertainty of a second reading.

That stretches of one container are packed alike is left out: they count as if in different containers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime

from wasteledger.estimate.volumes import VolumesIn, volume_of
from wasteledger.model.entries import ContainerOpened, Deposit, Level, Swap, UnitReplaced
from wasteledger.model.facts import Fact

READ_FOR_VOLUME: tuple[str, ...] = tuple(body.KIND for body in (ContainerOpened, Swap, Deposit, UnitReplaced, Level))
"""The kinds of entries that `volume_increments` wants; others may be handed in and change nothing."""

LEVEL_READ_SD_PERMILLE = 30
"""Standard uncertainty of a level that was read by eye, in thousandths of the fill line (judgement, no source)."""


@dataclass(frozen=True, slots=True)
class VolumeIncrement:
    """What a known stretch of additions took up of a container.

    Attributes:
        container: Which.
        seq: The entry of the level at its end.
        began_at: When the container was opened, or the level at its beginning was read.
        ended_at: When the level at its end was read.
        filled_ml: Millilitres of the fill line between both; may be below 0.
        variance_ml2: Of that, by how a level is read.
        volumes: What went in, as stated or assumed.
    """

    container: str
    seq: int
    began_at: datetime
    ended_at: datetime
    filled_ml: float
    variance_ml2: float
    volumes: VolumesIn


def volume_increments(facts: Iterable[Fact]) -> tuple[VolumeIncrement, ...]:
    """The increments that the levels among *facts* give, oldest first.

    Args:
        facts: Effective facts of one site, oldest first, of the kinds in `READ_FOR_VOLUME` at least. A container whose
            opening is not among them, or whose fill line has no stated volume, gives none.
    """
    filling: dict[str, _Filling] = {}
    for fact in facts:
        if isinstance(fact.body, ContainerOpened):
            if fact.body.fill_ml:
                filling[fact.body.container] = _Filling(fact.body.container, fact.body.fill_ml, fact.happened_at)
        elif found := filling.get(str(getattr(fact.body, "container", ""))):
            found.take(fact)
    increments = [one for each in filling.values() for one in each.increments()]
    return tuple(sorted(increments, key=lambda one: (one.ended_at, one.seq)))


def level_variance_ml2(fill_ml: int) -> float:
    """Variance of one reading of a container that holds *fill_ml* to its line."""
    return (LEVEL_READ_SD_PERMILLE * fill_ml / 1000) ** 2


@dataclass(slots=True)
class _Filling:
    """One container on its way: where the stretch began, what went in since, and the increment up to the last level."""

    container: str
    fill_ml: int
    began_at: datetime
    base_permille: int = 0
    base_variance_ml2: float = 0.0  # it was empty when it was opened
    volumes: VolumesIn = field(default_factory=VolumesIn)
    last: VolumeIncrement | None = None
    found: list[VolumeIncrement] = field(default_factory=list)

    def take(self, fact: Fact) -> None:
        if isinstance(fact.body, Level):
            self._read(fact, fact.body.level_permille)
            return
        self.volumes = self.volumes.plus(volume_of(fact.body))

    def increments(self) -> Iterator[VolumeIncrement]:
        yield from self.found
        if self.last is not None:
            yield self.last

    def _read(self, fact: Fact, level_permille: int) -> None:
        variance = level_variance_ml2(self.fill_ml)
        if self.volumes.unknown:
            if self.last is not None:
                self.found.append(self.last)
            self.began_at, self.base_permille, self.base_variance_ml2 = fact.happened_at, level_permille, variance
            self.volumes, self.last = VolumesIn(), None
        elif self.volumes.by_kind:
            self.last = VolumeIncrement(
                container=self.container,
                seq=fact.seq,
                began_at=self.began_at,
                ended_at=fact.happened_at,
                filled_ml=(level_permille - self.base_permille) * self.fill_ml / 1000,
                variance_ml2=self.base_variance_ml2 + variance,
                volumes=self.volumes,
            )
