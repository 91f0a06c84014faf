"""How full containers are by their levels: what levels taught, what went in since the last one, and both together.

A calibration of volumes is an entry of the journal, as that of masses is, and is learned anew at each level from all
that the journal holds. Neither changes the other: a level says nothing of a mass, nor a weighing of a volume.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import lru_cache

from wasteledger.estimate.level import LevelEstimate, standing_level
from wasteledger.estimate.volume_increments import READ_FOR_VOLUME, VolumeIncrement, volume_increments
from wasteledger.estimate.volume_learning import VolumeFactors, starting_factors, teach_volume
from wasteledger.estimate.volumes import VolumesIn, volume_of
from wasteledger.ledger.append import Appended, Desk
from wasteledger.ledger.reader import Reader
from wasteledger.model import entries as kinds
from wasteledger.model.facts import Entry, Fact, Subject
from wasteledger.model.standing import ContainerStanding
from wasteledger.model.values import Body
from wasteledger.office.bodies import make
from wasteledger.office.learning import appended_to, newest_calibration, number_text, says_the_same

PUTS_IN: tuple[str, ...] = tuple(kind for kind in READ_FOR_VOLUME if kind != kinds.ContainerOpened.KIND)
"""The kinds of entries from which what went in since a level is known: additions, and levels themselves."""

UNLIKELY_LEVEL_PERMILLE = 1200
"""Above this level, in thousandths of the fill line, a reading is asked about, and teaches nothing of what went in (own
convention, no source)."""

_SINCE, _UNTIL = datetime.min.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC)


class Volumes:
    """What levels taught a site, and what went into each of its containers since its level was read.

    Args:
        reader: The site's ledger.
        facts: Facts of the kinds in `PUTS_IN` that were read already, oldest first.
        facts_since: The instant from which on *facts* leave none out.
    """

    def __init__(self, reader: Reader, facts: Sequence[Fact] = (), facts_since: datetime = _UNTIL) -> None:
        self._reader, self._facts_since = reader, facts_since
        self.factors = current_factors(reader)
        self._since = volumes_since_levels(facts)

    def since_level(self, container: ContainerStanding) -> VolumesIn:
        """What went into *container* since its last level, or since it was opened."""
        base_at = container.level_at or container.opened_at
        if base_at < self._facts_since:
            about = Subject("container", container.container)
            facts = self._reader.facts_between(base_at, _UNTIL, PUTS_IN, about)
            return volumes_since_levels(facts).get(container.container, VolumesIn())
        return self._since.get(container.container, VolumesIn())

    def level(self, container: ContainerStanding) -> LevelEstimate | None:
        """How far *container* is filled; None where nothing tells it."""
        return standing_level(container, self.since_level(container), self.factors)


def volumes_since_levels(facts: Iterable[Fact]) -> dict[str, VolumesIn]:
    """What went into each container after the last of its levels among *facts*, or in all of them."""
    found: dict[str, VolumesIn] = {}
    for fact in facts:
        container = getattr(fact.body, "container", None)
        if container is not None:
            found[container] = volumes_after(found.get(container, VolumesIn()), fact)
    return found


def volumes_after(since: VolumesIn, fact: Fact) -> VolumesIn:
    """What went in since the last level, one fact of the container later."""
    return VolumesIn() if isinstance(fact.body, kinds.Level) else since.plus(volume_of(fact.body))


def current_factors(reader: Reader) -> VolumeFactors:
    """What is believed now: the newest calibration of volumes laid over the starting values, else these alone."""
    entry = newest_calibration(reader, "volume")
    if entry is None or not isinstance(entry.body, kinds.Calibration):
        return starting_factors()
    return _read(entry.digest, entry.body)


def site_volume_increments(reader: Reader) -> tuple[VolumeIncrement, ...]:
    """Every increment that the journal's levels give, oldest first."""
    return taught_increments(reader.facts_between(_SINCE, _UNTIL, READ_FOR_VOLUME))


def taught_increments(facts: Iterable[Fact]) -> tuple[VolumeIncrement, ...]:
    """The increments that may be learned from: a level far above its fill line is taken as if it had not been read."""
    return volume_increments(fact for fact in facts if not is_unlikely(fact.body))


def is_unlikely(body: Body) -> bool:
    """Whether *body* reads a level that nothing should be learned from."""
    return isinstance(body, kinds.Level) and body.level_permille > UNLIKELY_LEVEL_PERMILLE


def teaches_volume(reader: Reader, entry: Entry) -> bool:
    """Whether an entry just written changes what can be learned of volumes.

    It is a level; or it went into a container whose level has been read since (a swap typed in late); or it corrects
    what was read or put in.
    """
    match entry.body:
        case kinds.Level():
            return True
        case kinds.Swap() | kinds.Deposit() | kinds.UnitReplaced():
            found = reader.find_container(entry.container or "")
            return found is not None and found.level_at is not None and entry.happened_at <= found.level_at
        case kinds.Correction(corrects=seq, replacement=put_in):
            touched = {reader.get_entry(seq).kind, put_in.kind if put_in is not None else ""}
            return bool(touched & {*READ_FOR_VOLUME, kinds.Calibration.KIND})
    return False


def learn_volumes_after(desk: Desk, appended: Appended) -> Appended | None:
    """Write a calibration of volumes if the entry just appended changed what is known; one transaction holds both.

    None where the entry was written before, teaches nothing, or leaves everything as it was.
    """
    if appended.repeated or not teaches_volume(desk, appended.entry):
        return None
    return learn_volumes_again(desk)


def learn_volumes_again(desk: Desk) -> Appended | None:
    """Learn from all levels, and write down what came of it where that differs from what was known."""
    before = newest_calibration(desk, "volume")
    increments = site_volume_increments(desk)
    if not increments and before is None:
        # No level ever said anything: numpy stays unloaded.
        return None
    factors = teach_volume(starting_factors(), increments).factors
    body = make(
        kinds.Calibration,
        quantity="volume",
        data_to=appended_to(desk),
        kinds=factors.kinds,
        means=tuple(number_text(mean) for mean in factors.means),
        covariance=tuple(tuple(number_text(cell) for cell in row) for row in factors.covariance),
        scale=number_text(factors.scale),
        degrees_of_freedom=number_text(factors.degrees_of_freedom),
    )
    if before is not None and says_the_same(before.body, body):
        return None
    return desk.append(body)


@lru_cache(maxsize=8)
def _read(digest: str, body: kinds.Calibration) -> VolumeFactors:
    """The factors that a calibration holds; kinds that are new since keep their starting values."""
    starting = starting_factors()
    row = {kind: place for place, kind in enumerate(body.kinds)}
    places = [row.get(kind) for kind in starting.kinds]
    means = tuple(
        believed if place is None else float(body.means[place])
        for place, believed in zip(places, starting.means, strict=True)
    )
    covariance = tuple(
        tuple(_cell(body, one, other, believed) for other, believed in zip(places, cells, strict=True))
        for one, cells in zip(places, starting.covariance, strict=True)
    )
    return replace(
        starting,
        means=means,
        covariance=covariance,
        scale=float(body.scale),
        degrees_of_freedom=float(body.degrees_of_freedom),
        taught=frozenset(
            kind for at, kind in enumerate(starting.kinds) if covariance[at][at] != starting.covariance[at][at]
        ),
    )


def _cell(body: kinds.Calibration, one: int | None, other: int | None, believed: float) -> float:
    if one is not None and other is not None:
        return float(body.covariance[one][other])
    return believed if one is None and other is None else 0.0
