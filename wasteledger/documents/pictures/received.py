"""Draws what was stated of each container that left against what was received, about the line where both are one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wasteledger.documents.fonts import Typefaces
from wasteledger.documents.papers import Basis
from wasteledger.documents.papers.pictures import Interval, ReceivedPoint
from wasteledger.documents.pictures.axes import Decades, round_ratios
from wasteledger.documents.pictures.fullness import Words
from wasteledger.documents.pictures.sketch import (
    FINE,
    GRID_GREY,
    HEAD,
    LABEL,
    LINE,
    QUIET,
    RULE_GREY,
    STRONG_LABEL,
    Box,
    Place,
    Sketch,
    clear_of,
)
from wasteledger.units import Mass

_LEFT, _RIGHT, _BELOW = 58.0, 8.0, 32.0
_HIGHEST = 330.0
_ROOM = 1.6
"""So many times below the least and above the most, so that no mark stands on the edge."""


@dataclass(frozen=True, slots=True)
class _Shown:
    """One mark: what was said of a mass, by which basis, against what was received."""

    name: str
    basis: Basis
    said: Interval
    received: Interval
    agrees: bool


def can_draw(points: Sequence[ReceivedPoint]) -> bool:
    """Whether there is anything to draw: by ratios, nothing is no place."""
    return bool(_shown(points))


def draw_received(points: Sequence[ReceivedPoint], words: Words, width: float, faces: Typefaces) -> Sketch:
    """The drawing of past pickups; both axes by ratio, since containers differ by hundreds of times.

    A weighed mass is a square, an estimate a ring. Those are named that differ, and the others as far as there is room.

    Raises:
        ValueError: No point, or none with a mass on either side.
    """
    shown = _shown(points)
    if not shown:
        raise ValueError("nothing was stated and received")
    head = HEAD.leading + 4 + LABEL.leading + 3
    side = min(width - _LEFT - _RIGHT, _HIGHEST)
    sketch = Sketch(width, head + side + _BELOW, faces)
    low = min(mass for one in shown for mass in (one.said.value, one.received.value)) / _ROOM
    high = max(mass for one in shown for mass in (one.said.upper, one.received.upper)) * _ROOM
    across = Decades(low, high, _LEFT, sketch.width - _RIGHT)
    up = Decades(low, high, head + side, head)
    sketch.words(words.text("received.head"), 0, 0, HEAD)
    sketch.fitted(words.text("received.stated"), 0, HEAD.leading + 4, sketch.width / 2, STRONG_LABEL)
    _draw_axes(sketch, words, across, up)
    whiskers = [box for one in shown for box in _draw_whiskers(sketch, one, across, up)]
    taken = [*whiskers, *(_draw_mark(sketch, one, across, up) for one in shown)]
    taken.append(_name_line(sketch, words.text("received.same"), taken, across, up))
    _name(sketch, shown, taken, across, up)
    return sketch


def _shown(points: Sequence[ReceivedPoint]) -> list[_Shown]:
    found = []
    for point in points:
        if not point.received.value:
            continue
        if point.before is not None and point.before.value:
            found.append(_Shown(point.name, Basis.ESTIMATE, point.before, point.received, True))
        if point.stated.value:
            found.append(_Shown(point.name, point.basis, point.stated, point.received, point.agrees))
    return found


def _draw_axes(sketch: Sketch, words: Words, across: Decades, up: Decades) -> None:
    for tick in round_ratios(across.low, across.high, 8):
        x, y, name = across(tick), up(tick), str(Mass(round(tick)))
        sketch.line((x, up.start), (x, up.end), FINE, GRID_GREY)
        sketch.line((across.start, y), (across.end, y), FINE, GRID_GREY)
        sketch.words(name, across.start - 5, y - LABEL.leading / 2, LABEL, "right")
        sketch.centred(name, x, up.start + 3)
    sketch.line((across.start, up.start), (across.end, up.start), FINE, RULE_GREY)
    sketch.line((across.start, up.start), (across.start, up.end), FINE, RULE_GREY)
    title = words.text("received.received")
    sketch.fitted(title, across.end, up.start + 5 + LABEL.leading, across.end, STRONG_LABEL, "right")
    sketch.line((across.start, up.start), (across.end, up.end), LINE, 0.0)


def _draw_whiskers(sketch: Sketch, one: _Shown, across: Decades, up: Decades) -> tuple[Box, Box]:
    x, y = across(one.received.value), up(one.said.value)
    # What begins below the axis begins on it.
    low, high = up(one.said.lower), up(one.said.upper)
    left, right = across(one.received.lower), across(one.received.upper)
    sketch.line((x, low), (x, high), LINE, 0.35)
    sketch.line((left, y), (right, y), LINE, 0.35)
    return (x - 1, high, x + 1, low), (left, y - 1, right, y + 1)


def _draw_mark(sketch: Sketch, one: _Shown, across: Decades, up: Decades) -> Box:
    x, y = across(one.received.value), up(one.said.value)
    (sketch.square if one.basis is Basis.WEIGHED else sketch.ring)((x, y))
    return x - 4, y - 4, x + 4, y + 4


def _name_line(sketch: Sketch, name: str, taken: Sequence[Box], across: Decades, up: Decades) -> Box:
    """The line says what it is, above itself, as near to its end as there is room."""
    wide = sketch.wide(name)
    found = []
    for tenth in range(95, 25, -5):
        x = across.start + (across.end - across.start) * tenth / 100
        y = up.start + (up.end - up.start) * tenth / 100
        box = x - 8 - wide, y - LABEL.leading, x - 8, y
        found.append(box)
        if box[0] > across.start + 2 and _is_free(box, taken, across, up):
            break
    else:
        box = found[0]
    sketch.words(name, box[0], box[1], QUIET)
    return box


def _name(sketch: Sketch, shown: Sequence[_Shown], taken: Sequence[Box], across: Decades, up: Decades) -> None:
    taken, named = list(taken), set[str]()
    for one in sorted(shown, key=lambda one: (one.agrees, one.basis is Basis.WEIGHED)):
        if one.name in named:
            # Both marks of a container stand over the same mass received, and its name beside one of them.
            continue
        boxes = _boxes((across(one.received.value), up(one.said.value)), sketch.wide(one.name))
        box = next((box for box in boxes if _is_free(box, taken, across, up)), None)
        if box is None and one.agrees:
            continue
        box = box or boxes[0]
        named.add(one.name)
        sketch.words(one.name, box[0], box[1], LABEL if one.agrees else STRONG_LABEL)
        taken.append(box)


def _boxes(place: Place, wide: float) -> list[Box]:
    """Where a name may stand beside its mark: right and left of it, a little lower or higher."""
    x, y = place
    half, high = LABEL.leading / 2, LABEL.leading
    corners = [(left, top) for top in (y - half, y, y - high) for left in (x + 7, x - 7 - wide)]
    return [(left, top, left + wide, top + high) for left, top in corners]


def _is_free(box: Box, taken: Sequence[Box], across: Decades, up: Decades) -> bool:
    left, top, right, bottom = box
    if left < across.start or right > across.end + _RIGHT or top < up.end or bottom > up.start:
        return False
    # The line of equal masses rises: it crosses a box that has its upper left corner above it, its lower right below.
    slope = (up.end - up.start) / (across.end - across.start)
    if top < up.start + (left - across.start) * slope and bottom > up.start + (right - across.start) * slope:
        return False
    return clear_of(box, taken)
