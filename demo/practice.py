"""Plays an invented practice's years into a ledger, evening by evening, under a simulated clock.

Looks, swaps and deposits are appended at the ledger's desk, one transaction for a morning or an evening; everything
rarer goes through the office's own use cases. The true masses stay here and in ``truth.json``: no entry holds them,
except where a simulated scale read one.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import event

from demo.simulate import Clinic, DayWork, Lump, SuctionLine
from wasteledger.estimate.rounding import statement
from wasteledger.ledger.append import Desk, Recorder
from wasteledger.ledger.ledger import Ledger
from wasteledger.model.entries import Deposit, LineCleaning, Look, SeparatorInspection, Swap
from wasteledger.model.register import ContainerTypeDetails, ScaleDetails, SeparatorDetails, SiteDetails, TrapDetails
from wasteledger.model.traps import Condition, Insert
from wasteledger.model.values import Reading
from wasteledger.office.containers import open_container, record_level, weigh_container
from wasteledger.office.corrections import correct_entry
from wasteledger.office.masses import mass_of
from wasteledger.office.pickups import book_pickup, receive_pickup, release_pickup
from wasteledger.office.plan import Plan
from wasteledger.office.separator import repair_separator, replace_unit
from wasteledger.office.setup import set_up
from wasteledger.office.swaps import record_milestone, record_remark
from wasteledger.office.workplace import Said, Workplace
from wasteledger.units import Mass

END_ON = date(2026, 11, 20)
"""The last day that is played, a Friday: fixed, so that the same seed always prints the same."""

EVENING, MORNING = time(17, 5), time(7, 45)
CAPSULE_MG = 1100  # judgement, no source: an empty capsule


@dataclass(frozen=True, slots=True)
class Part:
    """How one site of the demo is played.

    Attributes:
        clinic: Rooms, dentists and working days.
        assistants: Who walks the round; they take turns by the week.
        series: Container types in use, and how their containers are called.
        pickups: Pickups, as weeks before the last day, and the container types that leave.
        last_open: Rooms that the last evening's round has not reached.
        left_to_dry: Traps that the last evening leaves to dry.
        events: Whether things go wrong here: a leak, a paper that is lost, an entry that is set right.
        years: The site opened so many years before the last day, or when the play begins, if that is later.
    """

    clinic: Clinic
    assistants: tuple[str, ...]
    series: tuple[tuple[str, str], ...]
    pickups: tuple[tuple[int, tuple[str, ...]], ...]
    last_open: tuple[str, ...] = ()
    left_to_dry: tuple[str, ...] = ()
    events: bool = False
    years: float = 10.0


_ALL = ("trap-pail", "filter-tub", "scrap-jar", "tooth-jar", "capsule-tub", "unit-box")
MAIN = Part(
    Clinic(restorative=(1, 2, 3, 4), hygiene=(5, 6), week=(1, 2, 3, 4), dentists=2),
    ("tamsin", "bao"),
    (
        ("trap-pail", "PAIL"),
        ("filter-tub", "TUB"),
        ("scrap-jar", "SCRAP"),
        ("tooth-jar", "TEETH"),
        ("capsule-tub", "CAPS"),
        ("unit-box", "UNIT"),
    ),
    (*((weeks, _ALL) for weeks in (130, 104, 80, 56, 32)), (6, _ALL[1:])),
    ("room5", "room6", "plant"),
    ("2-HV", "4-SE"),
    events=True,
)
SATELLITE = Part(
    Clinic(restorative=(1, 2), hygiene=(), week=(2, 3), share_of_week=0.4, plant=False),
    ("bao",),
    (("trap-pail", "MILL-PAIL"), ("unit-box", "MILL-UNIT")),
    tuple((weeks, ("trap-pail", "unit-box")) for weeks in (30, 8)),
    years=1.0,
)


@dataclass(slots=True)
class Watch:
    """The simulated clock."""

    now: datetime

    def __call__(self) -> datetime:
        return self.now


@dataclass(slots=True)
class TrueContainer:
    """What a container really weighs empty, and what is really in it, inserts and all."""

    tare_mg: int
    contents_mg: int = 0
    volume_ml: int = 0
    is_open: bool = True


@dataclass(frozen=True, slots=True)
class Outcome:
    """The estimate of a container just before it was weighed, beside the truth."""

    site: str
    container: str
    on: str
    truth_mg: int
    value_mg: int
    lower_mg: int
    upper_mg: int
    stated: str
    unknown_pieces: int


@dataclass(slots=True)
class Truth:
    """What the ledger does not know."""

    containers: dict[str, dict[str, TrueContainer]] = field(default_factory=dict)
    outcomes: list[Outcome] = field(default_factory=list)

    def save(self, path: Path) -> None:
        """Write it as JSON."""
        path.write_text(json.dumps(asdict(self), indent=1, sort_keys=True), "utf-8")

    @classmethod
    def load(cls, path: Path) -> Truth:
        """Read what `save` wrote."""
        read: dict[str, Any] = json.loads(path.read_text("utf-8"))
        sites = {
            site: {ref: TrueContainer(**one) for ref, one in containers.items()}
            for site, containers in read["containers"].items()
        }
        return cls(sites, [Outcome(**one) for one in read["outcomes"]])


def first_day(years: float) -> date:
    """The Tuesday on which the play begins."""
    start = END_ON - timedelta(days=round(365.25 * years))
    return start + timedelta(days=(1 - start.weekday()) % 7)


@contextmanager
def _in_a_hurry(ledger: Ledger) -> Iterator[None]:
    """Let *ledger* be written without waiting for the disk: a demo that loses power is simply played anew."""

    def hurry(connection: Any, _record: object) -> None:
        connection.execute("PRAGMA synchronous = OFF")

    event.listen(ledger.engine, "connect", hurry)
    # Whoever closes the last connection carries the whole write-ahead log over; one that stays open spares that.
    with ledger.engine.connect() as held:
        held.exec_driver_sql("SELECT 1 FROM sqlite_master").fetchall()
        yield
    event.remove(ledger.engine, "connect", hurry)


class Years:
    """One site, from its set-up to the last evening."""

    def __init__(self, location: str, plan: Plan, part: Part, watch: Watch, random: Random, truth: Truth) -> None:
        self.plan, self.part, self.watch, self.random, self.truth = plan, part, watch, random, truth
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
        self.swapped_on: dict[str, date] = {}
        self.seen: dict[str, Condition] = {}
        self.drying: list[str] = []
        self.scrap_mg = self.capsules = self.boxes = 0
        self.teeth_mg: list[int] = []
        self.released: dict[str, date] = {}
        self.leaving: dict[str, tuple[str, ...]] = {}  # what each booked pickup takes

    # -- the calendar ----------------------------------------------------------------------------------------------

    def play(self, start_on: date) -> None:
        """Play every working day from *start_on*, or from the site's opening, to the last."""
        start_on = max(start_on, first_day(self.part.years))
        self.at(start_on, time(6, 30))
        set_up(self.location, self.plan, by="odile", clock=self.watch)
        with Ledger.open(self.location, clock=self.watch) as ledger, _in_a_hurry(ledger):
            self.ledger = ledger
            self.manager = Workplace(ledger, self.site, "odile")
            self._begin(start_on)
            days = [start_on + timedelta(days=n) for n in range((END_ON - start_on).days + 1)]
            working = [day for day in days if day.weekday() in self.part.clinic.week and not self._is_closed(day)]
            self._plan_events(working)
            work: dict[date, DayWork] = {}
            for day in working:
                if day not in work:
                    monday = day - timedelta(days=day.weekday())
                    work = self.line.week([one for one in working if monday <= one < monday + timedelta(days=7)])
                self._day(day, work[day], is_last=day == working[-1])

    def at(self, day: date, clock: time) -> datetime:
        """Set the watch to a local time and give the instant."""
        self.watch.now = datetime.combine(day, clock, self.zone).astimezone(UTC)
        return self.watch.now

    def _is_closed(self, day: date) -> bool:
        return any(first <= day <= last for first, last in self.office.closures)

    def _plan_events(self, working: Sequence[date]) -> None:
        fridays = [day for day in working if day.weekday() == self.part.clinic.week[-1]]
        last = END_ON if END_ON.weekday() in self.part.clinic.week else working[-1]
        self.pickups = {last - timedelta(weeks=weeks): types for weeks, types in self.part.pickups}
        self.bookings = {on - timedelta(weeks=2): on for on in self.pickups if on >= working[0]}
        self.breaks_on = fridays[int(len(fridays) * 0.62)] if self.part.events else None
        self.repair_on = next(
            (day for day in working if self.breaks_on and day > self.breaks_on + timedelta(days=4)), None
        )
        self.wrong_on = fridays[int(len(fridays) * 0.4)] if self.part.events else None
        self.unit_on = self.separator.installed_on or working[0]

    def _day(self, day: date, work: DayWork, *, is_last: bool) -> None:
        week = day.isocalendar().week
        who = Recorder(self.part.assistants[week % len(self.part.assistants)], "cli")
        self._morning(day, who)
        self._office_morning(day)
        self.line.work(work)
        self.scrap_mg += work.non_contact_mg
        self.capsules += work.capsules
        self.teeth_mg += work.teeth_mg
        if day.weekday() == self.part.clinic.week[-1]:
            self._last_day_of_week(day, who)
        self._evening(day, who, is_last=is_last)

    # -- mornings --------------------------------------------------------------------------------------------------

    def _morning(self, day: date, who: Recorder) -> None:
        if not self.drying:
            return
        when = self.at(day, MORNING)
        with self.ledger.writing(self.site, who) as desk:
            for place, trap in enumerate(self.drying):
                self._swap(desk, day, trap, when - timedelta(minutes=len(self.drying) - place))
        self.drying = []

    def _swap(self, desk: Desk, day: date, trap: str, when: datetime) -> None:
        details, lump = self.traps[trap], self.line.take(trap)
        container = self._taking(details.stream)
        since = self.swapped_on.get(trap)
        desk.append(
            Swap(
                trap=trap,
                trap_kind=details.trap_kind,
                container=container,
                stream=details.stream,
                condition=self.seen.get(trap, Condition.NOT_LOOKED),
                days_in_service=(day - since).days if since else None,
                interval_days=details.interval_days,
                dentists_permille=details.dentists_permille,
                insert=Insert.EMPTIED if details.reusable else Insert.WHOLE,
                insert_mg=details.insert_mg,
                insert_ml=details.insert_ml,
                amalgam_seen=lump.amalgam_mg > 100,
            ),
            happened_at=when,
        )
        self._put(container, lump, details.insert_mg or 0, details.insert_ml or 0)
        self.swapped_on[trap] = day
        self.seen.pop(trap, None)

    def _put(self, container: str, lump: Lump, body_mg: int, volume_ml: int) -> None:
        inside = self.inside[container]
        inside.contents_mg += lump.wet_mg + body_mg
        inside.volume_ml += volume_ml

    def _taking(self, stream: str) -> str:
        return next(self.used[one] for one, what in self.types.items() if stream in what.streams and one in self.used)

    # -- evenings --------------------------------------------------------------------------------------------------

    def _evening(self, day: date, who: Recorder, *, is_last: bool) -> None:
        draw = self.random.random()
        if draw < 0.012 and not is_last:
            return  # the whole evening was forgotten, and stays blank
        on_paper = draw < 0.03 and not is_last
        started = self.at(day, EVENING)
        bodies = [self._cleaning(on_paper)]
        skipped = self.random.choice(list(self.traps.values())).room if self.random.random() < 0.06 else None
        for trap, details in self.traps.items():
            if is_last and details.room in self.part.last_open:
                continue
            if details.room == skipped and not is_last:
                continue
            bodies.append(self._look(day, trap, details, on_paper, is_last=is_last))
        if on_paper:
            # The telephone was flat: written on the printed sheet, and typed in before the next morning's work.
            self.at(day + timedelta(days=1), time(7, 20))
        else:
            self.watch.now = started + timedelta(minutes=12)
        with self.ledger.writing(self.site, who) as desk:
            for place, body in enumerate(bodies):
                desk.append(body, happened_at=started + timedelta(seconds=20 * place))

    def _cleaning(self, on_paper: bool) -> Look | LineCleaning:
        rooms = tuple(dict.fromkeys(one.room for one in self.traps.values() if one.room != "plant"))
        return LineCleaning(
            rooms=rooms, cleaner="mild", volume_ml=1893 * len(rooms), suction_left_minutes=5, on_paper=on_paper
        )

    def _look(self, day: date, trap: str, details: TrapDetails, on_paper: bool, *, is_last: bool) -> Look:
        if self.random.random() < 0.008 and not is_last:
            return Look(trap=trap, condition=Condition.NOT_LOOKED, reason="Room still in use", on_paper=on_paper)
        forced = is_last and trap in self.part.left_to_dry
        condition = Condition.CLOGGED if forced else self._condition(trap)
        if not is_last:
            self.seen[trap] = condition
        dry = forced or (
            not is_last and (condition in (Condition.CLOGGED, Condition.DAMAGED) or self._is_due(day, trap))
        )
        if dry:
            self.drying.append(trap)
        return Look(trap=trap, condition=condition, left_to_dry=dry, on_paper=on_paper)

    def _condition(self, trap: str) -> Condition:
        if self.random.random() < 0.001:
            return Condition.DAMAGED
        fill = self.line.fill(trap) * self.random.lognormvariate(0, 0.3)
        if fill < 0.12:
            return Condition.CLEAN
        return Condition.DEBRIS if fill < 1 else Condition.CLOGGED

    def _is_due(self, day: date, trap: str) -> bool:
        if trap in self.part.left_to_dry and (END_ON - day).days < 4:
            return False
        since, details = self.swapped_on.get(trap, self.started_on), self.traps[trap]
        if details.trap_kind.is_chairside and day.weekday() != self.part.clinic.week[-2]:
            return False  # chairside traps are changed on the morning of the week's last day
        return (day - since).days + 1 >= details.interval_days

    # -- the manager's mornings ------------------------------------------------------------------------------------

    def _begin(self, day: date) -> None:
        self.started_on = day
        self.at(day, time(7, 0))
        if self.part.events:
            note = Said(note="Done in 2021; noted when this ledger was begun.")
            record_milestone(self.manager, "first_discharge", note)
            record_milestone(self.manager, "one_time_report_filed", note)
        for kind, _ in self.part.series:
            if kind != "unit-box":
                self._open(kind)

    def _open(self, kind: str) -> str:
        name = dict(self.part.series)[kind]
        number = sum(ref.rpartition("-")[0] == name for ref in self.inside) + 1
        ref, tare_mg = f"{name}-{number}", self.types[kind].tare_mg or 0
        true_tare_mg = round(tare_mg * self.random.uniform(0.995, 1.005))
        self.inside[ref] = TrueContainer(true_tare_mg)
        open_container(self.manager, ref, kind, tare=self._weigh(true_tare_mg), at_place="Plant room")
        self.used[kind] = ref
        return ref

    def _weigh(self, true_mg: int) -> Mass:
        """What the scale shows: an error within its tolerance, then the step of its display."""
        step = self.scale.readability_mg
        error = self.random.uniform(-self.scale.tolerance_mg, self.scale.tolerance_mg)
        return Mass(max(0, round((true_mg + error) / step) * step))

    def _office_morning(self, day: date) -> None:
        self._exchange_unit(day)
        if day in self.bookings:
            self._book(self.bookings[day], day)
        if day in self.pickups and self._pickup_of(day) in self.leaving:
            self._hand_over(day)
        for pickup, left_on in list(self.released.items()):
            self._chase(pickup, left_on, day)
        if day == self.repair_on:
            self.at(day, time(11, 30))
            repair_separator(
                self.manager,
                "SEP",
                "repaired",
                done_by="Joon, service (invented)",
                description="Seal of the inlet renewed; no leak at full flow afterwards.",
                make_name=self.separator.make,
                model=self.separator.model,
                serial=self.separator.serial,
            )

    def _exchange_unit(self, day: date) -> None:
        months = self.separator.replace_unit_every_months or 12
        due_on = self.unit_on + timedelta(days=round(365.25 / 12 * months) - 10)
        if day < due_on:
            return
        if due_on < self.started_on:
            self.unit_on = due_on  # exchanged before this ledger was begun
            self._exchange_unit(day)
            return
        self.at(day, time(8, 30))
        box, lump = self._open("unit-box"), self.line.take("SEP")
        self.boxes += 1
        self.watch.now += timedelta(minutes=20)
        replace_unit(self.manager, "SEP", box, new_serial=f"INV-U{self.boxes:03}", done_by="Odile")
        self._put(box, lump, self.separator.unit_mg or 0, 0)
        self.unit_on = day

    def _pickup_of(self, on: date) -> str:
        return f"P-{on:%Y-%m}"

    def _book(self, on: date, day: date) -> None:
        self.at(day, time(9, 10))
        types = {name for kind, name in self.part.series if kind in self.pickups[on]}
        refs = tuple(ref for ref, one in self.inside.items() if one.is_open and ref.rpartition("-")[0] in types)
        pickup = self._pickup_of(on)
        book_pickup(self.manager, pickup, "ferryman", "stillhouse", on, refs)
        self.leaving[pickup] = refs

    def _hand_over(self, day: date) -> None:
        pickup = self._pickup_of(day)
        self.at(day, time(9, 30))
        for ref in self.leaving[pickup]:
            self._note_outcome(ref, day)
            one = self.inside[ref]
            weigh_container(self.manager, ref, self._weigh(one.tare_mg + one.contents_mg))
            one.is_open = False
        kinds = [
            kind for kind, name in self.part.series if any(ref.startswith(f"{name}-") for ref in self.leaving[pickup])
        ]
        for kind in kinds:
            self.used.pop(kind, None)
            if kind != "unit-box":
                self._open(kind)
        self.at(day, time(10, 20))
        release_pickup(self.manager, pickup, taken_by="Mirela, driver (invented)", document=f"INV-{day:%y%m%d}")
        self.released[pickup] = day

    def _note_outcome(self, ref: str, day: date) -> None:
        with self.manager.reading() as reader:
            standing = reader.find_container(ref)
            assert standing is not None
            estimate = mass_of(reader, standing)
        if estimate.basis == "estimate":
            self.truth.outcomes.append(
                Outcome(
                    self.site,
                    ref,
                    day.isoformat(),
                    self.inside[ref].contents_mg,
                    estimate.value_mg,
                    estimate.lower_mg,
                    estimate.upper_mg,
                    statement(estimate),
                    estimate.unknown_pieces,
                )
            )

    def _chase(self, pickup: str, left_on: date, day: date) -> None:
        waited = (day - left_on).days
        is_lost = self.part.events and (END_ON - left_on).days < 60
        if is_lost:
            if waited >= 31:
                self.at(day, time(9, 0))
                text = "Called Ferryman for the signed receipt; they will ask the driver."
                record_remark(self.manager, text, pickup=pickup)
                del self.released[pickup]
            return
        if waited < 20:
            return
        self.at(day, time(9, 0))
        net = tuple(
            (ref, Mass(round(self.inside[ref].contents_mg * self.random.uniform(0.998, 1.002))))
            for ref in self.leaving[pickup]
        )
        receive_pickup(
            self.manager,
            pickup,
            received_on=left_on + timedelta(days=6),
            document=f"R-{left_on:%y%m%d}",
            final_facility="Stillhouse Mercury Recovery (invented), 9 Retort Road, Upper Marlow",
            net=net,
        )
        del self.released[pickup]

    # -- the last day of a week ------------------------------------------------------------------------------------

    def _last_day_of_week(self, day: date, who: Recorder) -> None:
        when = self.at(day, time(15, 30))
        broken = day == self.breaks_on
        level = min(950, 50 * round(20 * self.line.fill("SEP")))
        with self.ledger.writing(self.site, who) as desk:
            desk.append(
                SeparatorInspection(
                    separator="SEP",
                    result="malfunction" if broken else "in order",
                    level_permille=level,
                    leak_seen=broken,
                    follow_up="Drip at the inlet; service called, tray put under." if broken else None,
                ),
                happened_at=when,
            )
            self._put_scrap_away(desk, when)
        if day.day <= 7:
            self._read_levels(day)
        if day == self.wrong_on:
            self._set_right(day)

    def _put_scrap_away(self, desk: Desk, when: datetime) -> None:
        if self.scrap_mg and "scrap-jar" in self.used:
            shown, true_mg, self.scrap_mg = self._weigh(self.scrap_mg), self.scrap_mg, 0
            if shown.mg:
                self._deposit(desk, when, "scrap-jar", "non_contact", true_mg, mass=self._reading(shown))
        if self.capsules and "capsule-tub" in self.used:
            count, self.capsules = self.capsules, 0
            self._deposit(desk, when, "capsule-tub", "capsules", count * CAPSULE_MG, count=count)
        if self.teeth_mg and "tooth-jar" in self.used:
            teeth, self.teeth_mg = self.teeth_mg, []
            shown = self._weigh(sum(teeth))
            self._deposit(desk, when, "tooth-jar", "teeth", sum(teeth), count=len(teeth), mass=self._reading(shown))

    def _deposit(
        self,
        desk: Desk,
        when: datetime,
        kind: str,
        stream: str,
        true_mg: int,
        *,
        count: int | None = None,
        mass: Reading | None = None,
    ) -> None:
        container = self.used[kind]
        desk.append(Deposit(container=container, stream=stream, count=count, mass=mass), happened_at=when)
        self.inside[container].contents_mg += true_mg

    def _reading(self, shown: Mass) -> Reading:
        return Reading(
            mass_mg=shown.mg,
            readability_mg=self.scale.readability_mg,
            tolerance_mg=self.scale.tolerance_mg,
            scale="bench",
        )

    def _read_levels(self, day: date) -> None:
        self.at(day, time(16, 0))
        for kind in ("trap-pail", "filter-tub"):
            if kind in self.used:
                ref, fill_ml = self.used[kind], self.types[kind].fill_ml or 1
                level = self.inside[ref].volume_ml / fill_ml * self.random.uniform(0.95, 1.05)
                record_level(self.manager, ref, min(1500, 50 * math.floor(20 * level + 0.5)))

    def _set_right(self, day: date) -> None:
        """A deposit was written twice, and a level with a nought too many: one made void, one replaced."""
        when = self.at(day, time(16, 20))
        with self.ledger.writing(self.site, Recorder("bao", "cli")) as desk:
            twice = desk.append(
                Deposit(container=self.used["capsule-tub"], stream="capsules", count=4), happened_at=when
            ).entry.seq
        wrong = record_level(self.manager, self.used["filter-tub"], 1000).seq
        self.at(day, time(16, 35))
        correct_entry(self.manager, twice, "Written twice: these four capsules are in the deposit before.")
        correct_entry(self.manager, wrong, "A nought too many.", action="replace", changes={"level_permille": "100"})
