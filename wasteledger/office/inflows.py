"""What goes into each container, as the journal shows it: the histories that a forecast of its filling rests on.

A trap feeds the container that its last old insert went into, while that one is open; else the open container that
takes its stream. Streams put in by hand, and retaining units, feed the open container that takes them. Histories are
those of the traps and streams, whichever container they filled at the time, so that a new container starts with what
is known already.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from wasteledger.estimate.containers import STREAM, exposures_of
from wasteledger.estimate.prior import SEPARATOR_UNIT, Prior
from wasteledger.estimate.volumes import UNKNOWN_VOLUME, Volume, insert_volume, volume_of
from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model.containers import Holding, Tally
from wasteledger.model.entries import Deposit, Look, Swap, UnitReplaced
from wasteledger.model.facts import Fact
from wasteledger.model.register import SeparatorDetails
from wasteledger.model.standing import ContainerStanding, TrapStanding
from wasteledger.model.standing.containers import tally_of
from wasteledger.model.traps import Condition, Insert, TrapKind
from wasteledger.office.starting_values import mass_sources
from wasteledger.office.volumes import PUTS_IN, Volumes
from wasteledger.ordinance import WorkCalendar

LOOK_BACK_DAYS = 730
"""How far back swaps are read: far enough that what lies before would hardly count any more (own convention)."""

BY_HAND_PER_WEEK = 1.0
"""How often a stream is put in by hand before its own deposits say it: once a week (judgement, no source)."""

_DAYS_A_MONTH = 30.4375


@dataclass(frozen=True, slots=True)
class PutIn:
    """One addition: its local day, and what it brought.

    Attributes:
        exposure: Full swaps of one dentist (or pieces) that its debris is estimated from; 0 where its mass is known, or
            nothing tells it.
        pieces: How many pieces.
        known_mg: Mass besides: a trap's body, or all that was weighed of what is no trap.
        volume: What it takes up.
    """

    on: date
    exposure: float
    pieces: int
    known_mg: int
    volume: Volume


@dataclass(frozen=True, slots=True)
class Feed:
    """What one source brings into one container.

    Attributes:
        source: A trap kind's value, ``separator_unit``, or ``stream:`` and a stream.
        kind: The prior's kind that its mass is estimated by; None where nothing tells its mass.
        members: The traps, or the separators, that feed it; empty for a stream.
        history: Every addition that was observed, oldest first.
        observed: The working days on which one could have been recorded, oldest first.
        expected_per_day: Additions a working day that the traps' own intervals let expect.
        expected: One addition as the register lets expect it.
    """

    source: str
    kind: str | None
    members: tuple[str, ...]
    history: tuple[PutIn, ...]
    observed: tuple[date, ...]
    expected_per_day: float
    expected: PutIn

    @property
    def noun(self) -> str:
        """What it is, in words."""
        if self.source.startswith(STREAM):
            return self.source.removeprefix(STREAM)
        return "retaining units" if self.source == SEPARATOR_UNIT else f"{TrapKind(self.source).words}s"


class Inflows:
    """The feeds of every open container of a site, read once, with the *volumes* that went in."""

    def __init__(self, reader: Reader, zone: tzinfo, today: date, calendar: WorkCalendar, prior: Prior) -> None:
        self._zone, self._today, self._calendar, self._prior = zone, today, calendar, prior
        self._sources = mass_sources(reader)
        self._exposure_of: dict[Tally, float] = {}
        self._traps = reader.traps()
        self._separators = [(one.separator, one.details) for one in reader.separators()]
        self._open = reader.containers("open")
        self._recorded_from, self._recorded_until = _recorded(reader, zone, today)
        since_at = _midnight(today - timedelta(days=LOOK_BACK_DAYS), zone)
        self._facts = reader.facts_between(since_at, _midnight(today + timedelta(days=1), zone), PUTS_IN)
        self._fed = self._containers_fed()
        self.volumes = Volumes(reader, self._facts, since_at)

    def of(self, container: ContainerStanding) -> tuple[Feed, ...]:
        """What goes into *container*; nothing goes into one that is closed."""
        if container.status != "open":
            return ()
        groups: dict[tuple[str, date], list[TrapStanding]] = {}
        for trap in self._traps:
            if self._fed.get(trap.trap) == container.container:
                # Traps that came into service later are counted from then on, so they make a feed of their own.
                groups.setdefault((trap.trap_kind.value, self._first_day(trap.in_service_at)), []).append(trap)
        found = [self._of_traps(kind, since, traps) for (kind, since), traps in groups.items()]
        for name, details in self._separators:
            if self._taker_of(details.unit_stream) == container.container and details.replace_unit_every_months:
                found.append(self._of_separator(name, details, details.replace_unit_every_months))
        streams = [stream for stream in container.streams if self._taker_of(stream) == container.container]
        found.extend(feed for stream in streams if (feed := self._of_stream(stream)) is not None)
        return tuple(found)

    # -- which container ---------------------------------------------------------------------------------------------

    def _containers_fed(self) -> dict[str, str]:
        still_open = {one.container for one in self._open}
        last = {fact.body.trap: fact.body.container for fact in self._facts if isinstance(fact.body, Swap)}
        fed: dict[str, str] = {}
        for trap in self._traps:
            into = last.get(trap.trap)
            found = into if into in still_open else self._taker_of(trap.details.stream)
            if found is not None:
                fed[trap.trap] = found
        return fed

    def _taker_of(self, stream: str) -> str | None:
        taking = [one for one in self._open if stream in one.streams]
        if len(taking) == 1:
            return taking[0].container
        used = [one for one in taking if one.swaps or one.deposits]
        # The one used last; where none was used yet, the one that was opened first is filled first.
        newest = max(used, key=lambda one: one.last_at, default=None)
        oldest = min(taking, key=lambda one: one.opened_at, default=None)
        found = newest or oldest
        return found.container if found is not None else None

    # -- what each source brings -------------------------------------------------------------------------------------

    def _of_traps(self, kind: str, since: date, traps: Sequence[TrapStanding]) -> Feed:
        names = {trap.trap for trap in traps}
        swaps = [fact for fact in self._facts if isinstance(fact.body, Swap) and fact.body.trap in names]
        expected = [self._expected_swap(trap) for trap in traps]
        per_day = [self._per_working_day(trap.details.interval_days) for trap in traps]
        return Feed(
            source=kind,
            kind=kind,
            members=tuple(trap.trap for trap in traps),
            history=self._history(swaps, since),
            observed=self._observed(since),
            expected_per_day=sum(per_day),
            expected=_mean(expected, per_day, self._today),
        )

    def _of_separator(self, name: str, details: SeparatorDetails, months: int) -> Feed:
        facts = [one for one in self._facts if isinstance(one.body, UnitReplaced) and one.body.separator == name]
        days = round(months * _DAYS_A_MONTH)
        tally = Tally(
            source=SEPARATOR_UNIT,
            grade=Condition.NOT_LOOKED.value,
            count=1,
            dentists_permille=details.dentists_permille,
            dentist_days_permille=details.dentists_permille * days,
        )
        since = self._first_day(None)
        return Feed(
            source=SEPARATOR_UNIT,
            kind=SEPARATOR_UNIT,
            members=(name,),
            history=self._history(facts, since),
            observed=self._observed(since),
            expected_per_day=self._per_working_day(days),
            expected=PutIn(self._today, self._exposure(tally), 1, details.unit_mg or 0, UNKNOWN_VOLUME),
        )

    def _of_stream(self, stream: str) -> Feed | None:
        facts = [one for one in self._facts if isinstance(one.body, Deposit) and one.body.stream == stream]
        since = self._first_day(None)
        history = self._history(facts, since)
        if not history:
            return None
        kind = self._sources.get(stream)
        return Feed(
            source=f"{STREAM}{stream}",
            kind=kind if kind in self._prior.kinds else None,
            members=(),
            history=history,
            observed=self._observed(since),
            expected_per_day=BY_HAND_PER_WEEK / max(1, len(self._weekdays())),
            expected=_mean(history, [1.0] * len(history), self._today),
        )

    def _history(self, facts: Sequence[Fact], since: date) -> tuple[PutIn, ...]:
        found = (self._put_in(fact) for fact in facts)
        return tuple(one for one in found if since <= one.on <= self._recorded_until)

    def _put_in(self, fact: Fact) -> PutIn:
        on, body = fact.happened_at.astimezone(self._zone).date(), fact.body
        match body:
            case Swap():
                whole = body.insert is Insert.WHOLE
                # One that was weighed tells by its condition and its body, too, what the next may bring.
                tare_mg = body.tare.mass_mg if body.tare is not None else 0
                body_mg = (body.insert_mg or tare_mg) if whole else 0
                return PutIn(on, self._exposure(tally_of(body)), 1, body_mg, volume_of(body))
            case UnitReplaced():
                return PutIn(on, self._exposure(tally_of(body)), 1, body.unit_mg or 0, volume_of(body))
            case Deposit():
                pieces = body.count or 1
                if body.mass is not None:
                    return PutIn(on, 0.0, pieces, body.mass.mass_mg, volume_of(body))
                has_mass = self._sources.get(body.stream) in self._prior.kinds
                return PutIn(on, float(pieces) if has_mass else 0.0, pieces, 0, volume_of(body))
        raise ValueError(f"entry {fact.seq} puts nothing into a container")

    def _exposure(self, tally: Tally) -> float:
        if tally not in self._exposure_of:
            shares = exposures_of(Holding(tallies=(tally,)), self._prior, mass_sources=self._sources)
            self._exposure_of[tally] = float(sum(shares))
        return self._exposure_of[tally]

    def _expected_swap(self, trap: TrapStanding) -> PutIn:
        details = trap.details
        tally = Tally(
            source=trap.trap_kind.value,
            grade=Condition.NOT_LOOKED.value,
            count=1,
            dentists_permille=details.dentists_permille,
            dentist_days_permille=details.dentists_permille * details.interval_days,
        )
        whole = not details.reusable
        return PutIn(
            self._today,
            self._exposure(tally),
            1,
            (details.insert_mg or 0) if whole else 0,
            insert_volume(trap.trap_kind, details.insert_ml, reusable=details.reusable),
        )

    # -- days ----------------------------------------------------------------------------------------------------------

    def _weekdays(self) -> frozenset[int]:
        return self._calendar.working_weekdays or frozenset(range(5))

    def _per_working_day(self, interval_days: int) -> float:
        return 7 / (interval_days * len(self._weekdays()))

    def _first_day(self, in_service_at: datetime | None) -> date:
        since = max(self._today - timedelta(days=LOOK_BACK_DAYS), self._recorded_from)
        return since if in_service_at is None else max(since, in_service_at.astimezone(self._zone).date())

    def _observed(self, since: date) -> tuple[date, ...]:
        days = (since + timedelta(days=ahead) for ahead in range((self._recorded_until - since).days + 1))
        return tuple(day for day in days if self._calendar.works_on(day))


def _mean(each: Sequence[PutIn], weights: Sequence[float], on: date) -> PutIn:
    """One addition as the weighted mean of several.

    Its volume is the mean of those known, assumed if any of them is, and unknown if none is known.
    """
    whole = sum(weights)
    known = [(one.volume, weight) for one, weight in zip(each, weights, strict=True) if one.volume.is_known]
    share = sum(weight for _, weight in known)

    def mean(values: Iterator[float]) -> float:
        return sum(value * weight for value, weight in zip(values, weights, strict=True)) / whole

    return PutIn(
        on,
        mean(one.exposure for one in each),
        max(1, round(mean(float(one.pieces) for one in each))),
        round(mean(float(one.known_mg) for one in each)),
        Volume(
            max((volume for volume, _ in known), key=lambda volume: (volume.is_assumed, volume.kind)).kind,
            round(sum(volume.ml * weight for volume, weight in known) / share),
        )
        if known
        else UNKNOWN_VOLUME,
    )


def _recorded(reader: Reader, zone: tzinfo, today: date) -> tuple[date, date]:
    """The first and the last local day on which a look or a swap was recorded: outside them nothing is known."""
    kinds = (Look.KIND, Swap.KIND, Deposit.KIND)
    ends: list[date] = []
    for newest in (False, True):
        found = next(iter(reader.entries(Filter(kinds=kinds, newest_first=newest, limit=1))), None)
        if found is None:
            return today, today - timedelta(days=1)
        ends.append(found.happened_at.astimezone(zone).date())
    return ends[0], min(today, ends[1])


def _midnight(day: date, zone: tzinfo) -> datetime:
    return datetime.combine(day, time.min, zone).astimezone(UTC)
