"""Pictures of an invented practice, for the tests of the documents."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

from tests.documents import makers
from tests.documents.makers import ANCHOR, PRACTICE, TUESDAY
from wasteledger.documents.papers import Basis, BinderPaper
from wasteledger.documents.papers.pictures import (
    CatchPicture,
    CatchRoom,
    CatchRow,
    ContainerPicture,
    Course,
    Fan,
    Interval,
    Mark,
    Measure,
    Pictures,
    PicturesPaper,
    ReceivedPoint,
    Sign,
    Step,
)

OPENED = datetime(2025, 9, 1, 8, 0)  # noqa: DTZ001  wall-clock time of the site


def exactly(value: int) -> Interval:
    """A value without a doubt."""
    return Interval(value, value, value)


def a_level_course(**changed: Any) -> Course:
    """A level that rises by 4 ‰ a day, read once a month, and is looked ahead from."""
    steps = tuple(
        Step(OPENED + timedelta(days=day), Interval(4 * day, max(0, 4 * day - 59), 4 * day + 59))
        for day in range(0, 190, 3)
    )
    values: dict[str, Any] = {
        "measure": Measure.LEVEL,
        "steps": steps,
        "until_at": TUESDAY,
        "marks": tuple(Mark(OPENED + timedelta(days=day), exactly(4 * day), Sign.READ) for day in range(30, 181, 30)),
        "limit": 1000,
        "plan_at": 750,
        "says": "76 % full by level",
        "fan": Fan(TUESDAY, 1000, date(2026, 4, 2), date(2026, 5, 10), date(2026, 7, 20), "From 63 swaps in 190 days."),
    }
    return Course(**values | changed)


def a_mass_course(**changed: Any) -> Course:
    """A mass that grows by 12 g a swap and becomes less sure, until it is weighed."""
    steps, mass, since = [], 0, 0
    for day in range(0, 190, 3):
        mass, since = mass + 12_000, since + 12_000
        steps.append(Step(OPENED + timedelta(days=day), Interval(mass, mass - since * 2 // 5, mass + since * 3 // 5)))
        if day == 90:
            mass, since = 300_000, 0
            steps.append(Step(OPENED + timedelta(days=day, hours=1), Interval(mass, mass - 600, mass + 600)))
    weighed = next(step for step in steps if step.held.upper - step.held.lower == 1200)
    values: dict[str, Any] = {
        "measure": Measure.MASS,
        "steps": tuple(steps),
        "until_at": TUESDAY,
        "marks": (Mark(weighed.at, weighed.held, Sign.WEIGHED),),
        "limit": 5_000_000,
        "plan_at": 3_750_000,
        "says": "about 690 g, between 530 g and 930 g (95 %), estimate",
    }
    return Course(**values | changed)


def a_container(**changed: Any) -> ContainerPicture:
    """A pail for traps."""
    values: dict[str, Any] = {
        "container": "C-001",
        "stream": "Contact amalgam and traps",
        "state": "open",
        "courses": (a_level_course(), a_mass_course()),
    }
    return ContainerPicture(**values | changed)


def a_row(name: str = "R1-H, high-volume trap", caught_mg: int = 90_000, **changed: Any) -> CatchRow:
    """What one trap caught in thirty swaps."""
    values: dict[str, Any] = {
        "name": name,
        "swaps": 30,
        "basis": Basis.ESTIMATE,
        "caught": Interval(caught_mg, caught_mg // 3, caught_mg * 3),
        "says": f"about {caught_mg // 1000} g, between {caught_mg // 3000} g and {caught_mg * 3 // 1000} g",
    }
    return CatchRow(**values | changed)


def a_catch(count: int = 4, **changed: Any) -> CatchPicture:
    """The catch of some rooms; in the first all was weighed, in the last nothing swapped."""
    found = []
    for number in range(1, count + 1):
        traps = [
            a_row(f"R{number}-S, saliva-ejector trap", 30_000 * number),
            a_row(f"R{number}-H, high-volume trap", 80_000 * number),
        ]
        total = a_row(f"Room {number}", 110_000 * number, swaps=60)
        if number == 1:
            held = Interval(81_200, 81_000, 81_400)
            sure: dict[str, Any] = {
                "basis": Basis.WEIGHED,
                "caught": held,
                "swaps": 3,
                "says": "81.20 g ± 0.20 g",
            }
            traps, total = [a_row("R1-H, high-volume trap", **sure)], a_row("Room 1", **sure)
        if number == count:
            traps = [a_row(f"R{number}-H, high-volume trap", 0, basis=Basis.NONE, swaps=0, says="no swap")]
            total = a_row(f"Room {number}", 0, basis=Basis.NONE, swaps=0, says="no swap")
        found.append(CatchRoom(total, tuple(traps)))
    values: dict[str, Any] = {
        "from_on": date(2025, 3, 1),
        "to_on": date(2026, 2, 28),
        "rooms": tuple(found),
        "says": "All rooms together: about 640 g, between 260 g and 1530 g.",
    }
    return CatchPicture(**values | changed)


def a_point(name: str = "C-000", stated_mg: int = 700_000, received_mg: int = 820_000, **changed: Any) -> ReceivedPoint:
    """A container that left as an estimate."""
    values: dict[str, Any] = {
        "name": name,
        "pickup": "P-0011",
        "left_on": date(2025, 3, 12),
        "basis": Basis.ESTIMATE,
        "stated": Interval(stated_mg, stated_mg // 2, stated_mg * 2),
        "received": exactly(received_mg),
        "says": f"about {stated_mg // 1000} g, between {stated_mg // 2000} g and {stated_mg * 2 // 1000} g (95 %)",
    }
    return ReceivedPoint(**values | changed)


def some_points() -> tuple[ReceivedPoint, ...]:
    """Six containers: estimates that met, one that did not, and what was weighed before it left."""
    weighed = Interval(811_600, 811_200, 812_000)
    return (
        a_point("C-000"),
        a_point("C-001", 30_000, 24_000),
        a_point("C-002", 90_000, 410_000, agrees=False),
        a_point("C-003", 1_500_000, 1_900_000, received=Interval(1_900_000, 1_860_000, 1_940_000)),
        a_point(
            "C-004",
            basis=Basis.WEIGHED,
            stated=weighed,
            received=exactly(812_300),
            says="811.60 g ± 0.40 g",
            before=Interval(700_000, 400_000, 1_200_000),
            before_says="about 700 g, between 400 g and 1200 g (95 %)",
        ),
        a_point("C-005", 8_000, 6_000, stated=Interval(8_000, 0, 40_000), says="about 8 g, at most 40 g"),
    )


def all_pictures() -> Pictures:
    """One of each."""
    return Pictures((a_container(),), a_catch(), some_points())


def a_short_course(**changed: Any) -> Course:
    """Pieces put in on the first day, of which half the limit is foreseen by no day in sight."""
    values: dict[str, Any] = {
        "measure": Measure.PIECES,
        "steps": (Step(TUESDAY, exactly(0)), Step(TUESDAY + timedelta(hours=2), exactly(55))),
        "until_at": TUESDAY + timedelta(hours=3),
        "limit": 1000,
        "says": "6 %, counted",
        "fan": Fan(TUESDAY + timedelta(hours=3), 1000, date(2027, 5, 1), None, None, "From no swap yet."),
    }
    return Course(**values | changed)


def a_look_without_a_day() -> Fan:
    """A look ahead in which no day comes in sight."""
    return Fan(TUESDAY + timedelta(hours=3), 1000, None, None, None, "From no swap yet.")


def a_heavy_course(**changed: Any) -> Course:
    """A mass near its limit that is weighed at the end, closed before the limit, and full at once by forecast."""
    held = Interval(3_900_000, 3_000_000, 5_200_000)
    weighed = Interval(4_200_000, 4_199_700, 4_200_300)
    steps = (Step(OPENED, exactly(0)), Step(OPENED + timedelta(days=60), held), Step(TUESDAY, weighed))
    values: dict[str, Any] = {
        "steps": steps,
        "marks": (Mark(TUESDAY, weighed, Sign.WEIGHED),),
        "close_at": 4_500_000,
        "fan": Fan(TUESDAY, 4_500_000, date(2026, 3, 11), date(2026, 3, 12), date(2026, 3, 20)),
        "says": "4.20000 kg ± 0.00030 kg (95 %), weighed",
    }
    return a_mass_course(**values | changed)


def awkward_pictures() -> Pictures:
    """Containers of a day, near their limit, without a look ahead; a long round; what cannot be placed by ratio."""
    level = a_level_course(until_at=TUESDAY + timedelta(days=2), fan=None)
    containers = (
        a_container(container="C-002", courses=(a_short_course(),)),
        a_container(container="C-003", courses=(a_heavy_course(),)),
        a_container(container="C-004", state="left with P-0012", courses=(level,)),
        a_container(container="C-005", courses=(a_short_course(fan=a_look_without_a_day()),)),
    )
    points = (a_point("C-009", 0, 4_000, stated=exactly(0)), a_point("C-010", 5_000, 0), a_point("C-011"))
    return Pictures(containers, a_catch(30), points)


def named(name: str) -> Pictures:
    """Pictures that say *name* wherever a name can stand."""
    rooms = tuple(
        CatchRoom(replace(room.total, name=name, says=name), tuple(replace(row, name=name) for row in room.traps))
        for room in a_catch().rooms
    )
    fan = Fan(TUESDAY, 1000, date(2026, 4, 2), date(2026, 5, 10), None, name)
    container = a_container(stream=name, state=name, courses=(a_level_course(says=name, fan=fan),))
    point = a_point(name or "–", pickup=name, says=name)
    return Pictures((container,), a_catch(rooms=rooms, says=name), (point, a_point("C-001", 30_000, 24_000)))


def a_binder_with_pictures() -> BinderPaper:
    """A binder of the same practice."""
    return makers.a_binder(3, pictures=all_pictures())


def a_paper(pictures: Pictures | None = None, **changed: Any) -> PicturesPaper:
    """The pictures of three years by themselves."""
    values: dict[str, Any] = {
        "practice": PRACTICE,
        "anchor": ANCHOR,
        "prepared_at": TUESDAY,
        "from_on": date(2025, 3, 1),
        "to_on": date(2026, 3, 10),
        "pictures": all_pictures() if pictures is None else pictures,
    }
    return PicturesPaper(**values | changed)
