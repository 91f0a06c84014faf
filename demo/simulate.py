"""An invented practice's suction line with known contents: what the demo holds against the estimates.

Pure: it reads no clock and no file, and draws everything from the `random.Random` that it is handed. Amalgam is
followed in whole micrograms from the tooth to the sewer, so that what enters is what is held, taken out and escaped,
to the last microgram. Work comes from published figures; whatever is a judgement says so.

All amalgam in the traps comes from the restorations drawn for each dentist's week, and the counts of these, by
surfaces, are what the office enters. The rest of the debris (prophylaxis paste, tooth, plaque) does not follow from
amalgam restorations and is drawn by itself, day by day; so is the water in it.

Sources:
    Workload: Adegbembo et al. 2005, J Can Dent Assoc 71:565 (removed and placed in seven days, a dentist).
    Masses by surfaces: Adegbembo, Watson, Rokni 2004, J Can Dent Assoc 70:30.
    Fate of a mixed portion: Drummond, Cailas, Croke 2003, J Dent 31:493.
    Capture at the chair, between a third (Adegbembo, Watson, Lugowski 2002, J Can Dent Assoc 68:553) and 68 % (Hiltz
    2007, J Can Dent Assoc 73:59); by the line filter, between 15 and 31 % of what reaches it (the same 2002 paper;
    Vandeven, McGinnis 2005, Water Air Soil Pollut 164:349).
    Amalgam work has fallen since these surveys; the figures are taken as they were printed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from random import Random
from typing import Final

REMOVED_MEAN, REMOVED_SD = 8.91, 17.32  # a dentist in seven days; Adegbembo et al. 2005
PLACED_MEAN, PLACED_SD = 6.64, 18.88  # the same survey
SURFACE_MEANS_MG = (310, 490, 810, 1380)  # one, two, three, four or more surfaces; Adegbembo, Watson, Rokni 2004
# Judgement: shares that bring the mean to the 0.659 g of all removals in Ontario in 2002 (1,880.32 kg over 2,855,178).
SURFACE_SHARES = (0.23, 0.40, 0.21, 0.16)
MASS_CV = 0.35  # judgement, no source: scatter within one number of surfaces
# Drummond, Cailas, Croke 2003: of a mixed portion 46 % stays in the tooth, 43 % (SD 19) was never in the mouth,
# 11 % (SD 4) is carved off and drawn in.
IN_TOOTH, NEVER_IN_MOUTH, CARVED_MEAN, CARVED_SD = 0.46, 0.43, 0.11, 0.04
REMOVED_TO_SUCTION, REMOVED_TO_SUCTION_SD = 0.95, 0.05  # judgement, no source: the rest falls on tray and gauze
CHAIRSIDE = (5.056, 5.056)  # beta: mean 0.50, SD 0.15
LINE_FILTER = (2.599, 8.700)  # beta: mean 0.23, SD 0.12
PUMP = (4.0, 9.333)  # judgement, no source; beta: mean 0.30
SEPARATOR = (23.287, 1.753)  # beta: mean 0.93, SD 0.05
MOISTURE = (5.056, 5.056)  # judgement, no source; beta: mean 0.50, SD 0.15 of the wet mass
HIGH_VOLUME_SHARE = 0.93  # judgement, no source: the rest is drawn into the saliva ejector

# Judgement, no source: dry solids that are no amalgam, in mg a week, and the dry solids that close a trap's holes.
# They were chosen so that wet masses come near the starting values of templates/estimate/defaults.toml, since no
# weighed trap is in print. That the estimates agree with this simulation is therefore in part built in, and no
# evidence that they would agree with a real practice.
OTHER_MG: Final = {"restorative-HV": 350, "restorative-SE": 400, "hygiene-HV": 400, "hygiene-SE": 220}
OTHER_PER_DENTIST_MG: Final = {"LINE": 900, "JAR": 1350, "SEP": 1380}
CLOSED_MG: Final = {"HV": 1300, "SE": 450, "LINE": 13_000, "JAR": 53_000, "SEP": 540_000}
TEETH_PER_WEEK = 0.5  # judgement, no source: extracted teeth with amalgam, a dentist


@dataclass(frozen=True, slots=True)
class Clinic:
    """What the simulation has to know of a practice.

    Attributes:
        restorative, hygiene: Rooms by number; each has the traps ``1-HV`` and ``1-SE``.
        week: Weekdays of work, Monday 0.
        dentists: How many dentists work there.
        share_of_week: Share of a dentist's week that is worked here (0 to 1).
        plant: Whether there is a plant room with the traps ``LINE`` and ``JAR``.
    """

    restorative: tuple[int, ...]
    hygiene: tuple[int, ...]
    week: tuple[int, ...]
    dentists: int = 1
    share_of_week: float = 1.0
    plant: bool = True


@dataclass(frozen=True, slots=True)
class Lump:
    """What came out of a trap, a filter, a jar or a retaining unit, in whole milligrams; the insert not counted."""

    amalgam_mg: int
    other_mg: int
    water_mg: int

    @property
    def wet_mg(self) -> int:
        """What it would weigh, drained."""
        return self.amalgam_mg + self.other_mg + self.water_mg


@dataclass(frozen=True, slots=True)
class Restoration:
    """One restoration removed or placed."""

    surfaces: int
    mass_mg: float


@dataclass(frozen=True, slots=True)
class DentistWeek:
    """What one dentist removed and placed in a week."""

    removed: tuple[Restoration, ...]
    placed: tuple[Restoration, ...]


@dataclass(slots=True)
class DayWork:
    """What a day sends into the suction of each room (amalgam, micrograms), and what is put away by hand.

    *removed* and *placed* are the restorations that it comes from, by surfaces.
    """

    entering_ug: dict[int, int] = field(default_factory=dict)
    non_contact_mg: int = 0
    capsules: int = 0
    teeth_mg: list[int] = field(default_factory=list)
    removed: list[int] = field(default_factory=list)
    placed: list[int] = field(default_factory=list)


def count_of(random: Random, mean: float, sd: float) -> int:
    """A count with *mean* and *sd*: Poisson with a gamma-distributed rate, which scatters more than Poisson does.

    The shape of the gamma is mean² / (sd² − mean), which needs sd² > mean.
    """
    shape = mean**2 / (sd**2 - mean)
    return poisson(random, random.gammavariate(shape, mean / shape))


def poisson(random: Random, rate: float) -> int:
    """A Poisson count: how many gaps of mean one fit into *rate*."""
    count, reached = 0, random.expovariate(1.0)
    while reached < rate:
        count, reached = count + 1, reached + random.expovariate(1.0)
    return count


def restoration(random: Random) -> Restoration:
    """A restoration: surfaces by their shares, mass log-normal about the published mean."""
    place = random.choices(range(4), SURFACE_SHARES)[0]
    spread = math.sqrt(math.log(1 + MASS_CV**2))
    mass_mg = random.lognormvariate(math.log(SURFACE_MEANS_MG[place]) - spread**2 / 2, spread)
    return Restoration(place + 1, mass_mg)


def dentist_week(random: Random) -> DentistWeek:
    """One dentist's week, as surveyed."""
    removed = count_of(random, REMOVED_MEAN, REMOVED_SD)
    placed = count_of(random, PLACED_MEAN, PLACED_SD)
    return DentistWeek(
        tuple(restoration(random) for _ in range(removed)), tuple(restoration(random) for _ in range(placed))
    )


def beta_of(random: Random, mean: float, sd: float) -> float:
    """A share with *mean* and *sd*."""
    total = mean * (1 - mean) / sd**2 - 1
    return random.betavariate(mean * total, (1 - mean) * total)


class SuctionLine:
    """The line of one clinic, from the chairs to the sewer; its places are the traps' and ``SEP``.

    Each stage's share is drawn once for the site and scatters about it from day to day, so that the error of a
    published mean is shared by all traps of a kind, as in a real practice.
    """

    def __init__(self, clinic: Clinic, random: Random) -> None:
        self.clinic, self._random = clinic, random
        rooms = [*clinic.restorative, *clinic.hygiene]
        self.places = [f"{room}-{short}" for room in rooms for short in ("SE", "HV")]
        self.stages = ["LINE", "JAR", "SEP"] if clinic.plant else ["SEP"]
        self._amalgam_ug = dict.fromkeys([*self.places, *self.stages], 0)
        self._other_ug = dict.fromkeys([*self.places, *self.stages], 0)
        self._share = {"chair": random.betavariate(*CHAIRSIDE)}
        by_stage = {"LINE": LINE_FILTER, "JAR": PUMP, "SEP": SEPARATOR}
        self._share |= {stage: random.betavariate(*by_stage[stage]) for stage in self.stages}
        self.entered_ug = self.taken_ug = self.escaped_ug = 0

    @property
    def held_ug(self) -> int:
        """Amalgam that lies in the line now."""
        return sum(self._amalgam_ug.values())

    def week(self, days: Sequence[date]) -> dict[date, DayWork]:
        """Draw the work of one week; what would fall on a day that is not among *days* is not done."""
        work = {day: DayWork() for day in days}
        by_weekday = {day.weekday(): day for day in days}
        for dentist in range(self.clinic.dentists):
            rooms = self.clinic.restorative[dentist :: self.clinic.dentists]
            drawn = dentist_week(self._random)
            for one in drawn.removed:
                if day := self._some_day(by_weekday):
                    work[day].removed.append(one.surfaces)
                    self._enter(work[day], rooms, one.mass_mg * self._to_suction())
            for one in drawn.placed:
                if day := self._some_day(by_weekday):
                    self._place(work[day], rooms, one)
            for _ in range(poisson(self._random, TEETH_PER_WEEK)):
                if day := self._some_day(by_weekday):
                    work[day].teeth_mg.append(round(self._random.lognormvariate(math.log(1800), 0.3)))
        return work

    def work(self, today: DayWork) -> None:
        """Let a day's work run through the line."""
        for room in [*self.clinic.restorative, *self.clinic.hygiene]:
            entering = today.entering_ug.get(room, 0)
            self.entered_ug += entering
            to_high_volume = round(entering * HIGH_VOLUME_SHARE)
            self._run(f"{room}-HV", to_high_volume)
            self._run(f"{room}-SE", entering - to_high_volume)
            sort = "restorative" if room in self.clinic.restorative else "hygiene"
            for short in ("HV", "SE"):
                self._other_ug[f"{room}-{short}"] += self._solids(OTHER_MG[f"{sort}-{short}"])
        for stage in self.stages:
            self._other_ug[stage] += self._solids(OTHER_PER_DENTIST_MG[stage] * self.clinic.dentists)

    def fill(self, place: str) -> float:
        """How far *place* is from closed: 0 bare, 1 its holes are covered; more where it overflows."""
        closed = CLOSED_MG[place.rpartition("-")[2]]
        return (self._amalgam_ug[place] + self._other_ug[place]) / (1000 * closed)

    def take(self, place: str) -> Lump:
        """Take out what lies in *place*; a fraction of a milligram stays on the wall."""
        amalgam_mg, self._amalgam_ug[place] = divmod(self._amalgam_ug[place], 1000)
        other_mg, self._other_ug[place] = divmod(self._other_ug[place], 1000)
        self.taken_ug += amalgam_mg * 1000
        moisture = min(0.85, self._random.betavariate(*MOISTURE))
        return Lump(amalgam_mg, other_mg, round((amalgam_mg + other_mg) * moisture / (1 - moisture)))

    def _run(self, first: str, entering_ug: int) -> None:
        reaching = entering_ug
        for place in [first, *self.stages]:
            mean = self._share.get(place, self._share["chair"])
            held = round(reaching * self._random.betavariate(12 * mean, 12 * (1 - mean)))
            self._amalgam_ug[place] += held
            reaching -= held
        self.escaped_ug += reaching

    def _some_day(self, by_weekday: dict[int, date]) -> date | None:
        if self._random.random() >= self.clinic.share_of_week:
            return None
        return by_weekday.get(self._random.choice(self.clinic.week))

    def _enter(self, day: DayWork, rooms: Sequence[int], mass_mg: float) -> None:
        room = self._random.choice(rooms)
        day.entering_ug[room] = day.entering_ug.get(room, 0) + round(mass_mg * 1000)

    def _place(self, day: DayWork, rooms: Sequence[int], placed: Restoration) -> None:
        mixed_mg = placed.mass_mg / IN_TOOTH
        self._enter(day, rooms, mixed_mg * beta_of(self._random, CARVED_MEAN, CARVED_SD))
        day.placed.append(placed.surfaces)
        day.non_contact_mg += round(mixed_mg * NEVER_IN_MOUTH)
        day.capsules += 1 if placed.surfaces < 3 else 2

    def _to_suction(self) -> float:
        return beta_of(self._random, REMOVED_TO_SUCTION, REMOVED_TO_SUCTION_SD)

    def _solids(self, weekly_mg: int) -> int:
        share = self.clinic.share_of_week if len(self.clinic.week) < 4 else 1.0
        daily_mg = weekly_mg * share / len(self.clinic.week)
        return round(1000 * self._random.gammavariate(2.0, daily_mg / 2.0))
