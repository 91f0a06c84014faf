"""The office manager's part of the play: containers, pickups and their papers, the separator, what is set right."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

from demo.filings import Filing
from demo.hidden import choose_hidden
from demo.parts import END_ON, Hidden
from demo.simulate import DayWork
from wasteledger.ledger.append import Recorder
from wasteledger.model.entries import Deposit
from wasteledger.model.procedures import BySurfaces
from wasteledger.office.containers import record_level, weigh_container
from wasteledger.office.corrections import correct_entry
from wasteledger.office.pickups import book_pickup, receive_pickup, release_pickup
from wasteledger.office.procedures import record_procedures
from wasteledger.office.received import comparisons_of, explain_pickup
from wasteledger.office.separator import repair_separator, replace_unit
from wasteledger.office.swaps import record_milestone, record_remark
from wasteledger.office.workplace import Said
from wasteledger.units import Mass

SURFACES_FORGOTTEN = 0.04
"""Judgement, no source: share of restorations whose surfaces nobody noted."""


class Managed(Filing):
    """A site with the manager at work; every step goes through the office's use cases."""

    def __init__(self, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.released: dict[str, date] = {}
        self.leaving: dict[str, tuple[str, ...]] = {}  # what each booked pickup takes
        self.boxes = 0
        self.unexplained: dict[str, date] = {}
        self.hidden: Hidden | None = None

    def plan_events(self, working: Sequence[date]) -> None:
        """Lay down the days of pickups and of what goes wrong."""
        fridays = [day for day in working if day.weekday() == self.part.clinic.week[-1]]
        last = END_ON if END_ON.weekday() in self.part.clinic.week else working[-1]
        self.pickups = {last - timedelta(weeks=weeks): types for weeks, types in self.part.pickups}
        self.bookings = {on - timedelta(weeks=2): on for on in self.pickups if on >= working[0]}
        self.breaks_on = fridays[int(len(fridays) * 0.62)] if self.part.events else None
        self.repair_on = next(
            (day for day in working if self.breaks_on and day > self.breaks_on + timedelta(days=4)), None
        )
        self.wrong_on = fridays[int(len(fridays) * 0.4)] if self.part.events else None
        self.exchanged_on = last - timedelta(weeks=self.part.exchanged) if self.part.exchanged else None
        if self.part.events and (hidden := choose_hidden(self.aside, self.site, self.traps, working)):
            self.hidden = hidden
            self.truth.hidden.append(hidden)

    def is_hidden(self, trap: str, day: date) -> bool:
        """Whether a swap of that day is made and not written down."""
        return self.hidden is not None and (trap, f"{day:%Y-%m}") == (self.hidden.trap, self.hidden.month)

    def note_hidden(self, day: date, mass_mg: int) -> None:
        """Keep for the truth alone that a swap was made."""
        assert self.hidden is not None
        self.hidden.swapped_on.append(day.isoformat())
        self.hidden.mass_mg += mass_mg

    def begin(self, day: date) -> None:
        """Note the milestones and take the first containers into use."""
        self.started_on = day
        self.at(day, time(7, 0))
        if self.part.events:
            for what, on in (("first_discharge", date(2021, 5, 3)), ("one_time_report_filed", date(2021, 6, 15))):
                at = datetime.combine(on, time(9, 0), self.zone)
                record_milestone(self.manager, what, Said(at, note="Noted when this ledger was begun."))
            self.file_papers(day)
        for kind, _ in self.part.series:
            if kind != "unit-box":
                self.open_new(kind)

    def office_morning(self, day: date) -> None:
        """What the manager does on a morning."""
        self._exchange_unit(day)
        if self.part.events:
            self.keep_filings(day)
        if day in self.bookings:
            self._book(self.bookings[day], day)
        if day in self.pickups and self._pickup_of(day) in self.leaving:
            self._hand_over(day)
        for pickup, left_on in list(self.released.items()):
            self._chase(pickup, left_on, day)
        for pickup, received_on in list(self.unexplained.items()):
            if (day - received_on).days >= 5:
                self._explain(pickup, day)
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

    @property
    def _unit_lasts(self) -> timedelta:
        months = self.separator.replace_unit_every_months or 12
        return timedelta(days=round(365.25 / 12 * months) - 10)

    def work_before(self, start_on: date) -> None:
        """Fill the separator with what the practice did since the last exchange, before this ledger was begun."""
        self.unit_on = self.separator.installed_on or start_on
        while self.unit_on + self._unit_lasts < start_on:
            self.unit_on += self._unit_lasts
        for week in range((start_on - self.unit_on).days // 7):
            monday = self.unit_on + timedelta(weeks=week) - timedelta(days=self.unit_on.weekday())
            for work in self.line.week([monday + timedelta(days=n) for n in self.part.clinic.week]).values():
                self.line.work(work)
        for trap in self.traps:
            self.line.take(trap)  # every trap was new on the first day

    def _exchange_unit(self, day: date) -> None:
        if day < self.unit_on + self._unit_lasts:
            return
        self.at(day, time(8, 30))
        box, lump = self.open_new("unit-box"), self.line.take("SEP")
        self.boxes += 1
        self.watch.now += timedelta(minutes=20)
        replace_unit(self.manager, "SEP", box, new_serial=f"INV-U{self.boxes:03}", done_by="Odile")
        self.put(box, lump, self.separator.unit_mg or 0, 0)
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
            self.note_outcome(ref, day)
            one = self.inside[ref]
            weigh_container(self.manager, ref, self.shown(one.tare_mg + one.contents_mg))
            one.is_open = False
        kinds = [
            kind for kind, name in self.part.series if any(ref.startswith(f"{name}-") for ref in self.leaving[pickup])
        ]
        for kind in kinds:
            self.used.pop(kind, None)
            if kind != "unit-box":
                self.open_new(kind)
        self.at(day, time(10, 20))
        release_pickup(self.manager, pickup, taken_by="Mirela, driver (invented)", document=f"INV-{day:%y%m%d}")
        self.released[pickup] = day

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
        net = {
            ref: Mass(round(self.inside[ref].contents_mg * self.random.uniform(0.998, 1.002)))
            for ref in self.leaving[pickup]
        }
        if left_on == self.exchanged_on:
            one, other = self._exchanged(pickup)
            net[one], net[other] = net[other], net[one]
            self.unexplained[pickup] = day
        receive_pickup(
            self.manager,
            pickup,
            received_on=left_on + timedelta(days=6),
            document=f"R-{left_on:%y%m%d}",
            final_facility="Stillhouse Mercury Recovery (invented), 9 Retort Road, Upper Marlow",
            net=tuple(net.items()),
        )
        del self.released[pickup]

    def _exchanged(self, pickup: str) -> tuple[str, str]:
        """The two containers whose lines the facility exchanges."""
        names = dict(self.part.series)
        one, other = (
            next(ref for ref in self.leaving[pickup] if ref.rpartition("-")[0] == names[kind])
            for kind in ("trap-pail", "filter-tub")
        )
        return one, other

    def _explain(self, pickup: str, day: date) -> None:
        del self.unexplained[pickup]
        with self.manager.reading() as reader:
            if not any(one.is_open for one in comparisons_of(reader, pickup)):
                return  # the two weigh nearly the same, and nobody noticed
        self.at(day, time(9, 0))
        one, other = self._exchanged(pickup)
        why = f"Called Stillhouse (invented): the lines of {one} and {other} are exchanged on their paper."
        explain_pickup(self.manager, pickup, why)

    def enter_procedures(self, week: Mapping[date, DayWork]) -> None:
        """Enter the restorations of a week's working days, as the dentists' day sheets have them."""
        days = sorted(week)
        self.at(days[-1], time(16, 45))
        record_procedures(
            self.manager,
            days[0],
            days[-1],
            removed=self._counted(surfaces for work in week.values() for surfaces in work.removed),
            placed=self._counted(surfaces for work in week.values() for surfaces in work.placed),
        )

    def _counted(self, surfaces: Iterable[int]) -> BySurfaces:
        counts = [0] * 5
        for one in surfaces:
            counts[4 if self.aside.random() < SURFACES_FORGOTTEN else one - 1] += 1
        one, two, three, four_or_more, unknown = counts
        return BySurfaces(one=one, two=two, three=three, four_or_more=four_or_more, unknown=unknown)

    def read_levels(self, day: date) -> None:
        """Read how full the pail and the tub are."""
        self.at(day, time(16, 0))
        for kind in ("trap-pail", "filter-tub"):
            if kind in self.used:
                ref, fill_ml = self.used[kind], self.types[kind].fill_ml or 1
                level = self.inside[ref].volume_ml / fill_ml * self.random.uniform(0.95, 1.05)
                record_level(self.manager, ref, min(1500, 50 * math.floor(20 * level + 0.5)))

    def set_right(self, day: date) -> None:
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
