"""The evening round on paper, for days without power: a row for each trap in walking order, with squares to tick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby
from pathlib import Path

from wasteledger.documents.blocks import (
    CAPTION,
    SMALL,
    STRONG_BODY,
    STRONG_SMALL,
    Block,
    beside,
    captioned,
    column_width,
    heading,
    numbered,
    space,
    stack,
    text,
    write_line,
)
from wasteledger.documents.furniture import Workshop, continued_head, foot, open_workshop, title_block
from wasteledger.documents.pages import Plan, Printed, set_on_pages
from wasteledger.documents.papers import LogSheetPaper, Stop
from wasteledger.documents.pen import FINE, HAIR, RULE_GREY, Pen
from wasteledger.documents.text import wrap
from wasteledger.settings import Paper

_GAP, _GUTTER, _ROW, _TILE = 14.0, 5.0, 22.0, 12.0
_MOST_TOGETHER = 8
_TILES = ("clean", "debris", "clogged", "damaged")
_SHARES = {
    "room": 13.0,
    "trap": 22.0,
    "clean": 7.0,
    "debris": 7.0,
    "clogged": 8.0,
    "damaged": 9.0,
    "not_looked": 22.0,
    "swapped": 16.0,
    "time": 9.0,
    "initials": 9.0,
}


@dataclass(frozen=True, slots=True)
class _Place:
    x: float
    width: float


def draw(paper: LogSheetPaper, size: Paper, *, own: Path | None = None) -> Printed:
    """The sheets as a PDF, one for each date; *own* is the office's template folder."""
    shop = open_workshop("log_sheet", size, own)
    title = shop.words.text("title")
    blocks = [block for day in paper.dates or (None,) for block in _sheet(shop, paper, day)]
    plan = Plan(
        origin=shop.origin(title, paper.practice, paper.prepared_at),
        blocks=blocks,
        continued=continued_head(shop, title, "", paper.practice),
        foot=foot(shop, paper.anchor, title),
        findings=shop.findings,
    )
    return set_on_pages(plan, size, shop.faces)


def _sheet(shop: Workshop, paper: LogSheetPaper, day: date | None) -> list[Block]:
    words = shop.words
    prepared = shop.common.text("words.prepared", moment=shop.show.moment(paper.prepared_at))
    number = shop.show.day(day)
    title = title_block(shop, words.text("title"), (words.text("subject"), prepared), paper.practice, number)
    lines = ["person", "started", "finished"] if day else ["day", "person", "started", "finished"]
    width = column_width(shop.width, len(lines), _GAP)
    to_fill = beside(
        [captioned(words.text(name), "", width, shop.faces) for name in lines], [width] * len(lines), gap=_GAP
    )
    head = _head(shop)
    # A later page begins with the day it belongs to: the sheets of several days may lie in one pile.
    day_again = f"{words.text('day')}: {number or '_' * 24}"
    again = stack([text(day_again, shop.width, STRONG_BODY, shop.faces), head])
    rows = _rows(shop, paper.stops, again)
    return [
        replace(title, starts_page=True),
        to_fill,
        space(6),
        text(words.text("how"), shop.width, STRONG_SMALL, shop.faces),
        space(2),
        _key(shop),
        space(3),
        head.kept(),
        *rows,
        *_after(shop, paper),
    ]


def _places(width: float) -> dict[str, _Place]:
    room, total, x = width - _GUTTER * (len(_SHARES) - 1), sum(_SHARES.values()), 0.0
    found = {}
    for name, share in _SHARES.items():
        found[name] = _Place(x, room * share / total)
        x += found[name].width + _GUTTER
    return found


def _key(shop: Workshop) -> Block:
    width = column_width(shop.width, 4, 8)
    return beside(
        [text(shop.words.text(f"key.{name}"), width, SMALL, shop.faces) for name in _TILES], [width] * 4, gap=8
    )


def _head(shop: Workshop) -> Block:
    style = replace(CAPTION, grey=0.0)
    cells = [
        (name, place, wrap(shop.words.text(f"columns.{name}"), place.width, style, shop.faces))
        for name, place in _places(shop.width).items()
    ]
    most = max(len(lines) for *_, lines in cells)
    height = most * style.leading + 5

    def draw(pen: Pen, x: float, y: float) -> None:
        for name, place, lines in cells:
            top = y + 2 + (most - len(lines)) * style.leading
            for number, line in enumerate(lines):
                align = "center" if name in _TILES else "left"
                pen.line(line, x + place.x, top + number * style.leading, place.width, style, align)
        pen.rule(x, y + height - 0.4, x + shop.width, y + height - 0.4, FINE)

    return Block(height, draw)


def _rows(shop: Workshop, stops: Sequence[Stop], again: Block) -> list[Block]:
    rows: list[Block] = []
    for _, group in groupby(stops, key=lambda stop: stop.room):
        room = list(group)
        # The traps of one room stay on one page; where there are too many for that, each row names the room.
        together = len(room) <= _MOST_TOGETHER
        for place, stop in enumerate(room):
            row = _row(shop, stop, again, shows_room=place == 0 or not together)
            rows.append(row.kept() if together and place < len(room) - 1 else row)
    return rows


def _row(shop: Workshop, stop: Stop, head: Block, *, shows_room: bool) -> Block:
    places = _places(shop.width)
    room = shop.cut(stop.room, places["room"].width, STRONG_BODY, 3) if shows_room else space(0)
    trap = stack(
        [
            shop.cut(stop.trap, places["trap"].width, STRONG_BODY, 2),
            shop.cut(stop.kind, places["trap"].width, SMALL, 2),
        ]
    )
    height = max(_ROW, room.height + 4, trap.height + 4)

    def draw(pen: Pen, x: float, y: float) -> None:
        # A strong line begins a room, a hairline the next trap in it: the eye walks as the feet do.
        pen.rule(x, y, x + shop.width, y, FINE if shows_room else HAIR, 0.0 if shows_room else RULE_GREY)
        room.draw(pen, x + places["room"].x, y + 2)
        trap.draw(pen, x + places["trap"].x, y + 2)
        for name in _TILES:
            left = x + places[name].x + (places[name].width - _TILE) / 2
            pen.frame(left, y + (height - _TILE) / 2, _TILE, _TILE, FINE)
        for name in ("not_looked", "swapped", "time", "initials"):
            left = x + places[name].x
            pen.rule(left, y + height - 4, left + places[name].width, y + height - 4, HAIR, RULE_GREY)

    return Block(height, draw, running=head)


def _after(shop: Workshop, paper: LogSheetPaper) -> list[Block]:
    width = column_width(shop.width, 2, _GAP)
    left = numbered(shop.cautions_for("round"), width, shop.faces, bullet="•")
    lines = [shop.words.text("containers_line", id=name, stream=stream) for name, stream in paper.containers]
    right: list[Block] = []
    if lines and len(lines) <= 12:
        right += [text(shop.words.text("containers_heading"), width, STRONG_SMALL, shop.faces)]
        right += [text(line, width, SMALL, shop.faces) for line in lines]
        right += [space(4)]
    right += [text(shop.words.text("notes"), width, STRONG_SMALL, shop.faces)]
    right += [write_line(width, 16)] * 2
    sides: Sequence[Block] = [
        stack([text(shop.words.text("cautions_heading"), width, STRONG_SMALL, shop.faces), *left]),
        stack(right),
    ]
    blocks = [space(8), beside(sides, [width, width], gap=_GAP)]
    if len(lines) > 12:
        blocks += [heading(shop.words.text("containers_heading"), shop.width, shop.faces)]
        blocks += [text(line, shop.width, SMALL, shop.faces) for line in lines]
    return blocks
