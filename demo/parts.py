"""The two sites of the demo and how they are played, the simulated clock, and what only the simulation knows."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from demo.simulate import Clinic

END_ON = date(2026, 11, 20)
"""The last day that is played, a Friday: fixed, so that the same seed always prints the same."""


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
        events: Whether things go wrong here: a leak, a paper that is lost, an entry that is set right, a month in which
            the swaps of one trap are not written down.
        exchanged: The pickup on whose receipt two lines are exchanged, as weeks before the last day; 0 for none.
        procedures: Whether the manager enters each week's restorations.
        years: The site opened so many years before the last day, or when the play begins, if that is later.
    """

    clinic: Clinic
    assistants: tuple[str, ...]
    series: tuple[tuple[str, str], ...]
    pickups: tuple[tuple[int, tuple[str, ...]], ...]
    last_open: tuple[str, ...] = ()
    left_to_dry: tuple[str, ...] = ()
    events: bool = False
    exchanged: int = 0
    procedures: bool = False
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
    exchanged=56,
    procedures=True,
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
        """What time it is there."""
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
    """The estimate of a container just before it was weighed, or of what stands now, beside the truth.

    What starts with *published* is what the starting values alone would have said, all weighings before left out.
    """

    site: str
    container: str
    on: str
    truth_mg: int
    value_mg: int
    lower_mg: int
    upper_mg: int
    stated: str
    unknown_pieces: int
    published_mg: int
    published_lower_mg: int
    published_upper_mg: int

    @property
    def inside(self) -> bool:
        """Whether the truth lies within the stated interval."""
        return self.lower_mg <= self.truth_mg <= self.upper_mg


@dataclass(slots=True)
class Hidden:
    """One month in which the swaps of one trap were made, and never written down.

    Attributes:
        site, trap: Where.
        month: Which month: ``2025-03``.
        swapped_on: The days on which it was truly swapped, ISO 8601.
        mass_mg: What went into the containers with these swaps, inserts and all.
    """

    site: str
    trap: str
    month: str
    swapped_on: list[str] = field(default_factory=list)
    mass_mg: int = 0


@dataclass(slots=True)
class Truth:
    """What the ledger does not know.

    Attributes:
        began_on: The first day played of each site, ISO 8601.
        containers: What is in them, by site and name.
        outcomes: Estimates just before a weighing, beside the truth.
        hidden: Swaps that were made and never written down.
    """

    containers: dict[str, dict[str, TrueContainer]] = field(default_factory=dict)
    outcomes: list[Outcome] = field(default_factory=list)
    hidden: list[Hidden] = field(default_factory=list)
    began_on: dict[str, str] = field(default_factory=dict)

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
        outcomes, hidden = [Outcome(**one) for one in read["outcomes"]], [Hidden(**one) for one in read["hidden"]]
        return cls(sites, outcomes, hidden, read["began_on"])


def first_day(years: float) -> date:
    """The Tuesday on which the play begins."""
    start = END_ON - timedelta(days=round(365.25 * years))
    return start + timedelta(days=(1 - start.weekday()) % 7)
