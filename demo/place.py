"""One site of the demo: what its plan says, its clock, and what is truly in its containers."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, time
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import event

from demo.beside import outcome_of
from demo.parts import Part, TrueContainer, Truth, Watch
from demo.simulate import Lump, SuctionLine
from wasteledger.ledger.ledger import Ledger
from wasteledger.model.register import ContainerTypeDetails, ScaleDetails, SeparatorDetails, SiteDetails, TrapDetails
from wasteledger.model.values import Reading
from wasteledger.office.containers import open_container
from wasteledger.office.plan import Plan
from wasteledger.office.workplace import Workplace
from wasteledger.units import Mass


@contextmanager
def in_a_hurry(ledger: Ledger) -> Iterator[None]:
    """Let *ledger* be written without waiting for the disk: a demo that loses power is simply played anew."""

    def hurry(connection: Any, _record: object) -> None:
        connection.execute("PRAGMA synchronous = OFF")
        # Pages that change each evening are carried over a few times instead of some hundred times.
        connection.execute("PRAGMA wal_autocheckpoint = 20000")

    event.listen(ledger.engine, "connect", hurry)
    # Whoever closes the last connection carries the whole write-ahead log over; one that stays open spares that.
    with ledger.engine.connect() as held:
        held.exec_driver_sql("SELECT 1 FROM sqlite_master").fetchall()
        yield
    event.remove(ledger.engine, "connect", hurry)


class Site:
    """A site of the demo between its plan and its true contents; `ledger` and `manager` are there once it is open."""

    ledger: Ledger
    manager: Workplace
    started_on: date

    def __init__(
        self, location: str, plan: Plan, part: Part, watch: Watch, random: Random, aside: Random, truth: Truth
    ) -> None:
        self.plan, self.part, self.watch, self.random, self.truth = plan, part, watch, random, truth
        # What is only written down wrong, or not at all, is drawn apart, so that it leaves the practice as it is.
        self.aside = aside
        self.site = plan.site
        details = [(line.ref, line.details) for line in plan.lines]
        self.office = next(one for _, one in details if isinstance(one, SiteDetails))
        self.traps = {ref: one for ref, one in details if isinstance(one, TrapDetails)}
        self.types = {ref: one for ref, one in details if isinstance(one, ContainerTypeDetails)}
        self.separator = next(one for _, one in details if isinstance(one, SeparatorDetails))
        self.scale = next(one for _, one in details if isinstance(one, ScaleDetails))
        self.zone = ZoneInfo(self.office.time_zone)
        self.location = location
        self.line = SuctionLine(part.clinic, random)
        self.inside = truth.containers.setdefault(self.site, {})
        self.used: dict[str, str] = {}  # the open container of each type

    def at(self, day: date, clock: time) -> datetime:
        """Set the watch to a local time and give the instant."""
        self.watch.now = datetime.combine(day, clock, self.zone).astimezone(UTC)
        return self.watch.now

    def open_new(self, kind: str) -> str:
        """Take the next container of a type into use; gives its name."""
        name = dict(self.part.series)[kind]
        number = sum(ref.rpartition("-")[0] == name for ref in self.inside) + 1
        ref, tare_mg = f"{name}-{number}", self.types[kind].tare_mg or 0
        true_tare_mg = round(tare_mg * self.random.uniform(0.995, 1.005))
        self.inside[ref] = TrueContainer(true_tare_mg)
        open_container(self.manager, ref, kind, tare=self.shown(true_tare_mg), at_place="Plant room")
        self.used[kind] = ref
        return ref

    def shown(self, true_mg: int) -> Mass:
        """What the scale shows: an error within its tolerance, then the step of its display."""
        step = self.scale.readability_mg
        error = self.random.uniform(-self.scale.tolerance_mg, self.scale.tolerance_mg)
        return Mass(max(0, round((true_mg + error) / step) * step))

    def reading_of(self, shown: Mass) -> Reading:
        """What the scale showed, with its limits."""
        return Reading(
            mass_mg=shown.mg,
            readability_mg=self.scale.readability_mg,
            tolerance_mg=self.scale.tolerance_mg,
            scale="bench",
        )

    def taking(self, stream: str) -> str:
        """The open container that takes a stream."""
        return next(self.used[one] for one, what in self.types.items() if stream in what.streams and one in self.used)

    def put(self, container: str, lump: Lump, body_mg: int, volume_ml: int) -> None:
        """Let what came out, and the body it came out in, lie in a container."""
        inside = self.inside[container]
        inside.contents_mg += lump.wet_mg + body_mg
        inside.volume_ml += volume_ml

    def note_outcome(self, ref: str, day: date) -> None:
        """Keep what the program states of a container before it is weighed, beside the truth."""
        with self.manager.reading() as reader:
            standing = reader.find_container(ref)
            assert standing is not None
            outcome = outcome_of(reader, self.site, standing, day.isoformat(), self.inside[ref].contents_mg)
        if outcome is not None:
            self.truth.outcomes.append(outcome)
