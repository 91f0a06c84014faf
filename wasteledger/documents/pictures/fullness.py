"""Draws a container over time: how full it is, the band in which the truth lies, what was read off, what is to come."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise

from wasteledger.documents.fonts import Typefaces
from wasteledger.documents.papers.pictures import ContainerPicture, Course, Fan, Mark, Measure, Sign
from wasteledger.documents.pictures.axes import Days, Linear, flags, named_days, round_steps
from wasteledger.documents.pictures.sketch import (
    BAND_GREY,
    DASHES,
    FAN_GREY,
    FINE,
    GRID_GREY,
    HEAD,
    LABEL,
    LINE,
    QUIET,
    RULE_GREY,
    STRONG,
    STRONG_LABEL,
    Box,
    Place,
    Sketch,
    clear_of,
    lines_wanted,
)
from wasteledger.documents.show import Shower
from wasteledger.documents.wording import Wording

_LEFT, _RIGHT = 46.0, 10.0
_PLOT, _CAPTION, _DAYS, _GAP = 104.0, 19.0, 27.0, 12.0
_SAYS, _SAYS_LINES = 0.62, 3
_FAN_ROW = LABEL.leading + 1
_LEAST_SPAN = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Words:
    """What a picture says, and how it shows days."""

    wording: Wording
    show: Shower

    def text(self, key: str, **filled: object) -> str:
        """The words at *key*."""
        return self.wording.text(key, **filled)


def draw_container(picture: ContainerPicture, words: Words, width: float, faces: Typefaces) -> Sketch:
    """The drawing of one container, its measures one above the other over the same days."""
    first_at, last_at = _span(picture.courses)
    heads = [
        _caption(course, faces, width) + _FAN_ROW * _fan_rows(course, words, faces, width, first_at, last_at)
        for course in picture.courses
    ]
    height = HEAD.leading + 4 + _DAYS
    height += sum(head + _PLOT for head in heads) + _GAP * (len(heads) - 1)
    sketch = Sketch(width, height, faces)
    days = Days(first_at, last_at, _LEFT, sketch.width - _RIGHT)
    _head(sketch, picture)
    top = HEAD.leading + 4
    for course, head in zip(picture.courses, heads, strict=True):
        plot_top = top + head
        _draw_course(sketch, course, words, days, top, plot_top)
        top = plot_top + _PLOT + _GAP
    _draw_days(sketch, words, days, top - _GAP)
    return sketch


def _caption(course: Course, faces: Typefaces, width: float) -> float:
    """How high the words over a course are."""
    return _CAPTION + LABEL.leading * (lines_wanted(course.says, int(width) * _SAYS, _SAYS_LINES, faces) - 1)


def _span(courses: tuple[Course, ...]) -> tuple[datetime, datetime]:
    """From the first step to the end of the look ahead, which is let take at most twice the room of the past."""
    first_at = min(course.steps[0].at for course in courses)
    last_at = max(course.until_at for course in courses)
    last_at = max(last_at, first_at + _LEAST_SPAN)
    seen = last_at - first_at
    for fan in (course.fan for course in courses):
        if fan is not None:
            most = fan.from_at + max(2 * seen, timedelta(days=90))
            ends = [_noon(day) for day in (fan.p90_on, fan.p50_on, fan.p10_on) if day is not None]
            # A little room behind the last day, so that it does not stand on the edge.
            last_at = max(last_at, min([most, *(end + (end - first_at) * 0.04 for end in ends[:1])]))
    return first_at, last_at


def _noon(day: date) -> datetime:
    return datetime.combine(day, time(12))


def _head(sketch: Sketch, picture: ContainerPicture) -> None:
    wide = sketch.fitted(picture.container, 0, 0, sketch.width * 0.4, HEAD)
    said = ", ".join(part for part in (picture.stream, picture.state) if part)
    sketch.fitted(said, wide + 8, 2, sketch.width - wide - 8, QUIET)


def _draw_course(sketch: Sketch, course: Course, words: Words, days: Days, top: float, plot_top: float) -> None:
    bottom = plot_top + _PLOT
    ticks, unit = _ticks(course)
    up = Linear(0, ticks[-1], bottom, plot_top)
    caption = words.text(f"fullness.{course.measure.value}", unit=unit[0])
    room = float(sketch.width)
    if course.says:
        room -= sketch.wrapped(course.says, sketch.width, top, sketch.width * _SAYS, _SAYS_LINES, LABEL, "right") + 10
    sketch.fitted(caption, 0, top, room, STRONG_LABEL)
    for tick in ticks:
        y = up(tick)
        sketch.line((_LEFT, y), (sketch.width - _RIGHT, y), FINE, RULE_GREY if tick == 0 else GRID_GREY)
        label = f"{tick / unit[1]:g}"
        # The highest name would stand over the caption, were it not let down a little.
        sketch.words(label, _LEFT - 5, y - LABEL.leading / 2, LABEL, "right")
    if course.fan is not None:
        _draw_fan(sketch, course, course.fan, words, days, up, plot_top)
    _draw_band(sketch, course, days, up)
    taken = _draw_limits(sketch, course, words, up)
    sketch.path(list(_stairs(course, days, up)), LINE)
    _draw_marks(sketch, course, words, days, up, taken)


def _ticks(course: Course) -> tuple[tuple[float, ...], tuple[str, int]]:
    """Values that the upright axis names, and the unit that they are named in, with its size."""
    highest = max(
        max(step.held.upper for step in course.steps), max((mark.held.upper for mark in course.marks), default=0), 1
    )
    if course.measure is not Measure.MASS:
        return round_steps(max(highest, course.limit or 0), 5), ("%", 10)
    if course.fan is not None or (course.limit and highest > course.limit / 3):
        highest = max(highest, course.limit or 0, course.fan.full_at if course.fan else 0)
    unit = next(unit for unit in (("kg", 1_000_000), ("g", 1000), ("mg", 1)) if highest >= unit[1])
    return round_steps(highest, 5), unit


def _stairs(course: Course, days: Days, up: Linear) -> Iterator[Place]:
    before: Place | None = None
    for step in course.steps:
        x, y = days(step.at), up(step.held.value)
        if before is not None:
            yield x, before[1]
        yield x, y
        before = x, y
    if before is not None:
        yield days(course.until_at), before[1]


def _draw_band(sketch: Sketch, course: Course, days: Days, up: Linear) -> None:
    """One piece a step: where a weighing makes the band a line, nothing is left of it."""
    ends = [step.at for step in course.steps[1:]] + [course.until_at]
    run: list[tuple[float, float, float, float]] = []
    for step, end in zip(course.steps, ends, strict=True):
        x, to_x, low, high = days(step.at), days(end), up(step.held.lower), up(step.held.upper)
        if low - high < 0.2:
            _draw_run(sketch, run)
            run = []
        elif to_x > x:
            run.append((x, to_x, low, high))
    _draw_run(sketch, run)


def _draw_run(sketch: Sketch, run: list[tuple[float, float, float, float]]) -> None:
    if not run:
        return
    above = [place for x, to_x, _, high in run for place in ((x, high), (to_x, high))]
    below = [place for x, to_x, low, _ in reversed(run) for place in ((to_x, low), (x, low))]
    sketch.area([*above, *below], BAND_GREY)


def _draw_limits(sketch: Sketch, course: Course, words: Words, up: Linear) -> list[Box]:
    """The lines across, each with its name where there is room; gives what they take."""
    right = sketch.width - _RIGHT
    lines: list[tuple[int | None, str, float, tuple[float, ...]]] = [
        (course.limit, words.text(f"fullness.limit_{course.measure.value}"), STRONG, ()),
        (course.close_at, words.text("fullness.close"), LINE, ()),
        (course.plan_at, words.text("fullness.plan"), FINE, DASHES),
    ]
    shown: list[tuple[float, str]] = []
    taken: list[Box] = []
    for value, name, weight, dashes in lines:
        if value and up.low < value <= up.high:
            y = up(value)
            sketch.line((_LEFT, y), (right, y), weight, 0.0, dashes)
            shown.append((y, name))
            taken.append((_LEFT, y - 0.5, right, y + 0.5))
    for y, name in shown:
        left = _LEFT + 4
        boxes = [(left, top, left + sketch.wide(name), top + LABEL.leading) for top in (y + 1, y - 1 - LABEL.leading)]
        box = next((box for box in boxes if box[3] <= up.start and clear_of(box, taken)), None)
        if box is not None:
            sketch.words(name, box[0], box[1], LABEL)
            taken.append(box)
    return taken


def _draw_marks(sketch: Sketch, course: Course, words: Words, days: Days, up: Linear, taken: list[Box]) -> None:
    stairs = list(_stairs(course, days, up))
    drawn = [_around(one, other, 1) for one, other in pairwise(stairs)]
    last: dict[Sign, Mark] = {}
    for mark in course.marks:
        place = days(mark.at), up(mark.held.value)
        (sketch.square if mark.sign is Sign.WEIGHED else sketch.lozenge)(place)
        drawn.append(_around(place, place, 4))
        last[mark.sign] = mark
    for mark in last.values():
        place = days(mark.at), up(mark.held.value)
        _name_mark(sketch, words.text(f"fullness.{mark.sign.value}"), place, up, taken, drawn)


def _around(one: Place, other: Place, reach: float) -> Box:
    xs, ys = sorted((one[0], other[0])), sorted((one[1], other[1]))
    return xs[0] - reach, ys[0] - reach, xs[1] + reach, ys[1] + reach


def _name_mark(sketch: Sketch, name: str, place: Place, up: Linear, taken: list[Box], drawn: Sequence[Box]) -> None:
    """The last mark of a kind says what it is, first to its right and below, where a course that rises leaves room.

    It keeps off the course and its marks if it can, and off the lines across and their names always. Where nothing
    near it is free it is not named; its shape says it, as on every other mark.
    """
    x, y = place
    wide, high = sketch.wide(name), LABEL.leading
    tops = (y + 3, y + 3 + high, y - 4 - high, y - 4 - 2 * high, up.start - high)
    lefts = (x + 6, x - 6 - wide)
    boxes = [(left, top, left + wide, top + high) for top in tops for left in lefts]
    inside = [
        box for box in boxes if box[0] >= _LEFT and box[2] <= sketch.width and up.end <= box[1] <= up.start - high
    ]
    free = [box for box in inside if clear_of(box, taken)]
    box = next((box for box in free if clear_of(box, drawn)), free[0] if free else None)
    if box is not None:
        sketch.words(name, box[0], box[1], LABEL)
        taken.append(box)


@dataclass(frozen=True, slots=True)
class _Flag:
    """The name of a day ahead, on a pole that stands on that day."""

    name: str
    pole: float
    row: int


def _flags(fan: Fan, words: Words, faces: Typefaces, days: Days) -> list[_Flag]:
    """A flag for each day ahead that the axis reaches."""
    found = []
    for percent, day in (("10", fan.p10_on), ("50", fan.p50_on), ("90", fan.p90_on)):
        if day is not None and days(_noon(day)) <= days.end + 0.01:
            name = words.text("fullness.chance", percent=percent, day=words.show.short_day(day))
            found.append((name, max(days(_noon(day)), days.start)))
    wide = [faces.width(faces.prepare(name), LABEL.size) + 3 for name, _ in found]
    rows = flags([(pole, each) for (_, pole), each in zip(found, wide, strict=True)], 5)
    return [_Flag(name, pole, row) for (name, pole), row in zip(found, rows, strict=True)]


def _fan_rows(
    course: Course, words: Words, faces: Typefaces, width: float, first_at: datetime, last_at: datetime
) -> int:
    if course.fan is None:
        return 0
    days = Days(first_at, last_at, _LEFT, int(width) - _RIGHT)
    return max((flag.row + 1 for flag in _flags(course.fan, words, faces, days)), default=0)


def _draw_fan(sketch: Sketch, course: Course, fan: Fan, words: Words, days: Days, up: Linear, plot_top: float) -> None:
    start = days(fan.from_at), up(course.steps[-1].held.value)
    full_y = up(fan.full_at)
    early, middle, late = (_ray(start, day, days, full_y) for day in (fan.p10_on, fan.p50_on, fan.p90_on))
    # Where the first ray reaches the mark and the last leaves at the side, the corner lies between them.
    corner = [(days.end, full_y)] if early[0] < days.end - 0.01 <= late[0] else []
    sketch.area([start, early, *corner, late], FAN_GREY)
    sketch.line(start, middle, LINE, 0.0, DASHES)
    found = _flags(fan, words, sketch.faces, days)
    tops = [plot_top - (flag.row + 1) * _FAN_ROW - 2 for flag in found]
    for flag, top in zip(found, tops, strict=True):
        sketch.line((flag.pole, top + 1), (flag.pole, full_y), FINE)
    for flag, top in zip(found, tops, strict=True):
        sketch.on_white(flag.name, max(flag.pole - 3, sketch.wide(flag.name) + 1), top)


def _ray(start: Place, day: date | None, days: Days, full_y: float) -> Place:
    """Where the way from *start* to the mark on *day* leaves the picture; level where that day is not in sight."""
    if day is None:
        return days.end, start[1]
    x = max(days(_noon(day)), start[0])
    if x <= days.end:
        return x, full_y
    return days.end, start[1] + (full_y - start[1]) * (days.end - start[0]) / (x - start[0])


def _draw_days(sketch: Sketch, words: Words, days: Days, bottom: float) -> None:
    most = int((days.end - days.start) // 62)
    named = named_days(days.first_at.date(), days.last_at.date(), max(most, 2))
    years = all(day.month == day.day == 1 for day in named) and len(named) > 1
    whole_months = all(day.day == 1 for day in named) and len(named) > 1
    year = 0
    for day in named:
        x = days.of_day(day)
        if not days.start - 0.5 <= x <= days.end + 0.5:
            continue
        sketch.line((x, bottom), (x, bottom + 4), FINE, RULE_GREY)
        month = words.show.short_month(day)
        short = month if whole_months else words.text("fullness.day", day=day.day, month=month)
        sketch.centred(str(day.year) if years else short, x, bottom + 4)
        if not years and day.year != year:
            sketch.centred(str(day.year), x, bottom + 4 + LABEL.leading)
        year = day.year
