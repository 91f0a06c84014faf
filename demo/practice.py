"""Plays an invented practice's years into a ledger, evening by evening, under a simulated clock.

Looks, swaps and deposits are appended at the ledger's desk, one transaction for a morning or an evening; everything
rarer goes through the office's own use cases. The true masses stay here and in ``truth.json``: no entry holds them,
except where a simulated scale read one.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from typing import Any

from demo.manager import Managed
from demo.parts import END_ON, first_day
from demo.place import in_a_hurry
from demo.simulate import DayWork, Lump
from wasteledger.ledger.append import Desk, Recorder
from wasteledger.ledger.ledger import Ledger
from wasteledger.model.entries import Deposit, LineCleaning, Look, SeparatorInspection, Swap
from wasteledger.model.register import TrapDetails
from wasteledger.model.traps import Condition, Insert
from wasteledger.model.values import Reading
from wasteledger.office.setup import set_up
from wasteledger.office.workplace import Workplace

EVENING, MORNING = time(17, 5), time(7, 45)
CAPSULE_MG = 1100  # judgement, no source: an empty capsule


class Years(Managed):
    """One site, from its set-up to the last evening."""

    def __init__(self, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.swapped_on: dict[str, date] = {}
        self.recorded_on: dict[str, date] = {}
        self.seen: dict[str, Condition] = {}
        self.drying: list[str] = []
        self.scrap_mg = self.capsules = 0
        self.teeth_mg: list[int] = []

    def play(self, start_on: date) -> None:
        """Play every working day from *start_on*, or from the site's opening, to the last."""
        start_on = max(start_on, first_day(self.part.years))
        self.truth.began_on[self.site] = start_on.isoformat()
        self.at(start_on, time(6, 30))
        set_up(self.location, self.plan, by="odile", clock=self.watch)
        with Ledger.open(self.location, clock=self.watch) as ledger, in_a_hurry(ledger):
            self.ledger = ledger
            self.manager = Workplace(ledger, self.site, "odile")
            self.begin(start_on)
            self.work_before(start_on)
            days = [start_on + timedelta(days=n) for n in range((END_ON - start_on).days + 1)]
            working = [day for day in days if day.weekday() in self.part.clinic.week and not self._is_closed(day)]
            self.plan_events(working)
            work: dict[date, DayWork] = {}
            for day in working:
                if day not in work:
                    monday = day - timedelta(days=day.weekday())
                    work = self.line.week([one for one in working if monday <= one < monday + timedelta(days=7)])
                self._day(day, work, is_last=day == working[-1])

    def _is_closed(self, day: date) -> bool:
        return any(first <= day <= last for first, last in self.office.closures)

    def _day(self, day: date, week_of_work: Mapping[date, DayWork], *, is_last: bool) -> None:
        work = week_of_work[day]
        week = day.isocalendar().week
        who = Recorder(self.part.assistants[week % len(self.part.assistants)], "cli")
        self._morning(day, who)
        self.office_morning(day)
        self.line.work(work)
        self.scrap_mg += work.non_contact_mg
        self.capsules += work.capsules
        self.teeth_mg += work.teeth_mg
        if day.weekday() == self.part.clinic.week[-1]:
            self._last_day_of_week(day, who)
        if day == max(week_of_work) and self.part.procedures:
            self.enter_procedures(week_of_work)
        self._evening(day, who, is_last=is_last)

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
        container = self.taking(details.stream)
        if self.is_hidden(trap, day):
            self.note_hidden(day, lump.wet_mg + (details.insert_mg or 0))
        else:
            self._record_swap(desk, day, trap, when, lump)
        self.put(container, lump, details.insert_mg or 0, details.insert_ml or 0)
        self.swapped_on[trap] = day
        self.seen.pop(trap, None)

    def _record_swap(self, desk: Desk, day: date, trap: str, when: datetime, lump: Lump) -> None:
        details, since = self.traps[trap], self.recorded_on.get(trap)
        desk.append(
            Swap(
                trap=trap,
                trap_kind=details.trap_kind,
                container=self.taking(details.stream),
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
        self.recorded_on[trap] = day

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
            self.read_levels(day)
        if day == self.wrong_on:
            self.set_right(day)

    def _put_scrap_away(self, desk: Desk, when: datetime) -> None:
        if self.scrap_mg and "scrap-jar" in self.used:
            shown, true_mg, self.scrap_mg = self.shown(self.scrap_mg), self.scrap_mg, 0
            if shown.mg:
                self._deposit(desk, when, "scrap-jar", "non_contact", true_mg, mass=self.reading_of(shown))
        if self.capsules and "capsule-tub" in self.used:
            count, self.capsules = self.capsules, 0
            self._deposit(desk, when, "capsule-tub", "capsules", count * CAPSULE_MG, count=count)
        if self.teeth_mg and "tooth-jar" in self.used:
            teeth, self.teeth_mg = self.teeth_mg, []
            shown = self.shown(sum(teeth))
            self._deposit(desk, when, "tooth-jar", "teeth", sum(teeth), count=len(teeth), mass=self.reading_of(shown))

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
