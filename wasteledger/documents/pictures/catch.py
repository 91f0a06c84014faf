"""Draws the catch of a period: a row for each trap under its room, on one scale, with the interval of each figure.

The scale is one of ratios: the trap of a pump catches a hundred times what a trap at the chair does, and an interval
about an estimate reaches further up than down.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from wasteledger.documents.fonts import Typefaces
from wasteledger.documents.papers import Basis
from wasteledger.documents.papers.pictures import CatchPicture, CatchRow
from wasteledger.documents.pictures.axes import Decades, round_ratios
from wasteledger.documents.pictures.fullness import Words
from wasteledger.documents.pictures.sketch import (
    FINE,
    GRID_GREY,
    HEAD,
    LABEL,
    QUIET,
    STRONG_LABEL,
    Sketch,
    lines_wanted,
)
from wasteledger.units import Mass

_ROW, _ROOM_GAP, _AXIS, _HEADINGS = 14.0, 5.0, 16.0, 15.0
_ROOM = 1.2
_NAMES, _SWAPS, _SAYS, _GAP = 0.25, 0.06, 0.37, 10.0
_SAYS_LINES = 3


@dataclass(frozen=True, slots=True)
class _Line:
    row: CatchRow
    is_room: bool
    lines: int

    @classmethod
    def of(cls, row: CatchRow, width: float, faces: Typefaces, *, is_room: bool) -> _Line:
        style = STRONG_LABEL if is_room else LABEL
        return cls(row, is_room, lines_wanted(row.says, int(width) * _SAYS, _SAYS_LINES, faces, style))

    @property
    def height(self) -> float:
        return _ROW + LABEL.leading * (self.lines - 1)


def draw_catch(
    picture: CatchPicture, words: Words, width: float, faces: Typefaces, *, most_rows: int = 1000
) -> list[Sketch]:
    """The drawing of a period's catch, parted between rooms where it has more than *most_rows* rows."""
    lines = [
        [_Line.of(row, width, faces, is_room=row is room.total) for row in (room.total, *room.traps)]
        for room in picture.rooms
    ]
    ends = _ends([line.row for room in lines for line in room if line.row.basis is not Basis.NONE])
    parts = list(_parts(lines, most_rows))
    return [_draw_part(part, picture, words, width, faces, ends, is_first=part is parts[0]) for part in parts]


def _parts(rooms: Sequence[list[_Line]], most_rows: int) -> Iterator[list[list[_Line]]]:
    part: list[list[_Line]] = []
    for room in rooms:
        # A room that would fill a page by itself is parted too.
        for piece in _pieces(room, most_rows):
            if part and sum(map(_rows, part)) + _rows(piece) > most_rows:
                yield part
                part = []
            part.append(piece)
    if part:
        yield part


def _pieces(room: list[_Line], most_rows: int) -> Iterator[list[_Line]]:
    piece: list[_Line] = []
    for line in room:
        if piece and _rows(piece) + line.lines > most_rows:
            yield piece
            piece = []
        piece.append(line)
    if piece:
        yield piece


def _rows(lines: Sequence[_Line]) -> int:
    """How many rows they take at most: each line of words counts as one."""
    return sum(line.lines for line in lines)


def _draw_part(
    rooms: list[list[_Line]],
    picture: CatchPicture,
    words: Words,
    width: float,
    faces: Typefaces,
    ends: tuple[float, float],
    *,
    is_first: bool,
) -> Sketch:
    head = HEAD.leading + 4 if is_first else 0.0
    rows = sum(line.height for room in rooms for line in room) + _ROOM_GAP * len(rooms)
    sketch = Sketch(width, head + _HEADINGS + rows + _AXIS, faces)
    names, swaps, says = (sketch.width * share for share in (_NAMES, _SWAPS, _SAYS))
    across = Decades(*ends, names + swaps + _GAP, sketch.width - says - _GAP)
    if is_first:
        title = words.text("catch.head")
        wide = sketch.words(title, 0, 0, HEAD)
        days = words.text("catch.days", first=words.show.day(picture.from_on), last=words.show.day(picture.to_on))
        sketch.fitted(days, wide + 8, 2, sketch.width - wide - 8, QUIET)
    top, bottom = head + _HEADINGS, head + _HEADINGS + rows
    sketch.fitted(words.text("catch.swaps"), names + swaps, head, names + swaps, QUIET, "right")
    sketch.fitted(words.text("catch.mass"), across.start, head, across.end - across.start + _GAP, QUIET)
    sketch.fitted(words.text("catch.says"), sketch.width - says, head, says, QUIET)
    for tick in round_ratios(*ends, 4):
        x = across(tick)
        sketch.line((x, top), (x, bottom), FINE, GRID_GREY)
        sketch.centred(str(Mass(round(tick))), x, bottom + 2)
    y = top
    for room in rooms:
        y += _ROOM_GAP
        for line in room:
            _draw_row(sketch, line, across, y, names, swaps, says)
            y += line.height
    return sketch


def _draw_row(sketch: Sketch, line: _Line, across: Decades, y: float, names: float, swaps: float, says: float) -> None:
    row, style = line.row, STRONG_LABEL if line.is_room else LABEL
    indent = 0.0 if line.is_room else 10.0
    text_top, middle = y + (_ROW - LABEL.leading) / 2, y + _ROW / 2
    sketch.fitted(row.name, indent, text_top, names - indent, style)
    sketch.words(str(row.swaps), names + swaps, text_top, style, "right")
    sketch.wrapped(row.says, sketch.width - says, text_top, says, _SAYS_LINES, style)
    if row.basis is Basis.NONE:
        return
    place = across(row.caught.value), middle
    weight = 2.4 if line.is_room else 1.2
    sketch.line((across(row.caught.lower), middle), (across(row.caught.upper), middle), weight, 0.35)
    if row.basis is Basis.WEIGHED:
        sketch.square(place)
    else:
        sketch.ring(place)


def _ends(rows: Sequence[CatchRow]) -> tuple[float, float]:
    """The ends of the scale: the highest upper end, and the lowest lower end unless that is next to nothing."""
    highest = max((row.caught.upper for row in rows), default=0) or 1000
    values = [row.caught.value for row in rows if row.caught.value] or [highest]
    lowers = [row.caught.lower for row in rows if row.caught.lower] or [highest]
    return max(min(lowers), min(values) / 30, 1) / _ROOM, highest * _ROOM
