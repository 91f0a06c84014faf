"""What the pictures show, as plain values: fullness over time, catch by room and trap, stated against received.

Masses are whole milligrams; levels and pieces whole thousandths of the limit. Every interval holds 95 %.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from wasteledger.documents.papers.common import Anchor, BadPaper, Basis, Party


class Measure(StrEnum):
    """What a course is measured in: thousandths of the fill line, milligrams, thousandths of the pieces' limit."""

    LEVEL = "level"
    MASS = "mass"
    PIECES = "pieces"


class Sign(StrEnum):
    """What a mark on a course stands for; each has a shape of its own."""

    WEIGHED = "weighed"
    READ = "read"


@dataclass(frozen=True, slots=True)
class Interval:
    """A value and the ends between which it lies; the ends equal the value where nothing is uncertain.

    Raises:
        BadPaper: The value lies outside its ends, or an end below 0.
    """

    value: int
    lower: int
    upper: int

    def __post_init__(self) -> None:
        if not 0 <= self.lower <= self.value <= self.upper:
            raise BadPaper(
                f"{self.value} does not lie between {self.lower} and {self.upper}.",
                hint="A picture wants a value of 0 or more between the ends of its interval.",
            )


@dataclass(frozen=True, slots=True)
class Step:
    """What stood in a container from a moment on, until the next step."""

    at: datetime
    held: Interval


@dataclass(frozen=True, slots=True)
class Mark:
    """Something that was read off, not reckoned: a weighing, a level."""

    at: datetime
    held: Interval
    sign: Sign


@dataclass(frozen=True, slots=True)
class Fan:
    """A look ahead: by which days a mark is reached with a chance of 10, 50 and 90 %.

    Attributes:
        from_at: The moment from which it looks ahead.
        full_at: The mark that it looks to, in the unit of the course.
        p10_on, p50_on, p90_on: None where that is further off than anybody can say.
        reason: How it came about, in words.
    """

    from_at: datetime
    full_at: int
    p10_on: date | None
    p50_on: date | None
    p90_on: date | None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Course:
    """One measure of one container over time.

    Attributes:
        steps: Oldest first; they may not be empty.
        until_at: To which moment the last step holds.
        marks: Oldest first.
        limit: The measure's full mark, in its own unit; None where there is none.
        plan_at: Where a pickup should be planned, in the same unit.
        close_at: Where it should be closed, in the same unit.
        says: The last step in words, weighed or estimate.
        fan: The look ahead, where this measure is the one that fills first.

    Raises:
        BadPaper: No step, steps out of order, or a look ahead to no mark.
    """

    measure: Measure
    steps: tuple[Step, ...]
    until_at: datetime
    marks: tuple[Mark, ...] = ()
    limit: int | None = None
    plan_at: int | None = None
    close_at: int | None = None
    says: str = ""
    fan: Fan | None = None

    def __post_init__(self) -> None:
        times = [step.at for step in self.steps]
        if not times or times != sorted(times) or self.until_at < times[-1]:
            raise BadPaper("A course wants steps in the order of time.", hint="Give the oldest first.")
        if self.fan is not None and self.fan.full_at <= 0:
            raise BadPaper("A look ahead wants a mark that it looks to.", hint="Leave it out, or state the mark.")


@dataclass(frozen=True, slots=True)
class ContainerPicture:
    """One container over time; the measure that says how full it is comes first."""

    container: str
    stream: str
    state: str
    courses: tuple[Course, ...]


@dataclass(frozen=True, slots=True)
class CatchRow:
    """What one trap, or all of a room, caught in the period: debris alone, without the bodies of the traps.

    Attributes:
        name: The trap with its kind, or the room.
        swaps: How many swaps it is the sum of.
        basis: Weighed where every swap was weighed by itself, none where nothing was swapped.
        caught: In mg.
        says: The figure in words.
    """

    name: str
    swaps: int
    basis: Basis
    caught: Interval
    says: str = ""


@dataclass(frozen=True, slots=True)
class CatchRoom:
    """A room's sum, and its traps in walking order."""

    total: CatchRow
    traps: tuple[CatchRow, ...]


@dataclass(frozen=True, slots=True)
class CatchPicture:
    """The catch of a period, both days included, room by room in walking order."""

    from_on: date
    to_on: date
    rooms: tuple[CatchRoom, ...]
    says: str = ""


@dataclass(frozen=True, slots=True)
class ReceivedPoint:
    """One container, or a whole pickup, as it was stated at the site and as it was received.

    Attributes:
        name: The container, or the pickup.
        pickup: Which pickup it left with.
        left_on: The day it left.
        basis: Whether *stated* stood on the site's scale or is an estimate.
        stated: What the release recorded, in mg.
        received: What the facility's paper says, in mg, with the uncertainty that it states or is taken to have.
        agrees: Whether the two differ by no more than their uncertainties allow.
        says: *stated* in words.
        before: What was estimated until it was weighed for leaving; None where that was what was stated.
        before_says: The same in words.
    """

    name: str
    pickup: str
    left_on: date
    basis: Basis
    stated: Interval
    received: Interval
    agrees: bool = True
    says: str = ""
    before: Interval | None = None
    before_says: str = ""


@dataclass(frozen=True, slots=True)
class Pictures:
    """All pictures of a period; what there is nothing to show of is left out."""

    containers: tuple[ContainerPicture, ...] = ()
    catch: CatchPicture | None = None
    received: tuple[ReceivedPoint, ...] = ()


@dataclass(frozen=True, slots=True)
class PicturesPaper:
    """The pictures by themselves."""

    practice: Party
    anchor: Anchor
    prepared_at: datetime
    from_on: date
    to_on: date
    pictures: Pictures = field(default_factory=Pictures)
