"""Blocks: pieces of a page that know their height before they are drawn.

A document is a list of blocks from top to bottom. Each is made for a known width; `pages` sets them on as many pages as
they need. A block is never cut: what may break over a page is made of several.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Self

from wasteledger.documents.fonts import Typefaces
from wasteledger.documents.papers import Basis
from wasteledger.documents.pen import FINE, HAIR, RULE_GREY, STRONG, Pen, mark_width
from wasteledger.documents.text import Style, clamp, size_that_fits, wrap

TITLE = Style(19, 23, bold=True)
NUMBER = Style(15, 19, bold=True)
HEADING = Style(10.5, 14, bold=True)
NAME = Style(9.6, 12.4, bold=True)
BODY = Style(8.8, 11.6)
STRONG_BODY = Style(8.8, 11.6, bold=True)
SMALL = Style(7.6, 10)
STRONG_SMALL = Style(7.6, 10, bold=True)
CAPTION = Style(6.8, 9, bold=True, grey=0.3)
FOOT = Style(6.6, 8.4, grey=0.15)


@dataclass(frozen=True, slots=True)
class Block:
    """A piece of a page.

    Attributes:
        height: In points.
        draw: Draws it with its top left corner at the given place.
        keeps_next: It never stands last on a page: a heading stays with what it heads.
        running: Drawn again at the head of a page that begins with this block (the head of a table).
        anchor: Name of a section that begins here, for the table of contents and the bookmarks.
        starts_page: It stands first on a page of its own.
    """

    height: float
    draw: Callable[[Pen, float, float], None]
    keeps_next: bool = False
    running: Self | None = None
    anchor: str = ""
    starts_page: bool = False

    def kept(self) -> Block:
        """The same block, not to be parted from what follows."""
        return replace(self, keeps_next=True)


def space(height: float) -> Block:
    """Empty room."""
    return Block(height, lambda pen, x, y: None)


def text(words: str, width: float, style: Style, faces: Typefaces, *, align: str = "left", most: int = 0) -> Block:
    """Wrapped text; at most *most* lines where that is above 0, the last then ending in an ellipsis."""
    lines = wrap(words, width, style, faces)
    if most:
        lines = clamp(lines, most, width, style, faces)

    def draw(pen: Pen, x: float, y: float) -> None:
        for number, line in enumerate(lines):
            pen.line(line, x, y + number * style.leading, width, style, align)

    return Block(len(lines) * style.leading, draw)


def fitted(words: str, width: float, style: Style, least: float, faces: Typefaces, *, align: str = "left") -> Block:
    """Text on one line, set smaller down to *least* points where it is long, and wrapped where that is not enough."""
    return text(words, width, size_that_fits(words, width, style, least, faces), faces, align=align)


def stack(blocks: Sequence[Block], *, gap: float = 0.0) -> Block:
    """Blocks one under the other, kept together as one."""
    height = sum(block.height for block in blocks) + gap * max(0, len(blocks) - 1)

    def draw(pen: Pen, x: float, y: float) -> None:
        for block in blocks:
            block.draw(pen, x, y)
            y += block.height + gap

    return Block(height, draw)


def beside(blocks: Sequence[Block], widths: Sequence[float], *, gap: float = 0.0) -> Block:
    """Blocks side by side, their tops level."""

    def draw(pen: Pen, x: float, y: float) -> None:
        for block, width in zip(blocks, widths, strict=True):
            block.draw(pen, x, y)
            x += width + gap

    return Block(max((block.height for block in blocks), default=0.0), draw)


def framed(block: Block, width: float, *, padding: float = 6.0, weight: float = FINE) -> Block:
    """A block, made for *width* less twice the *padding*, in a frame of *width*."""

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.frame(x, y, width, block.height + 2 * padding, weight)
        block.draw(pen, x + padding, y + padding)

    return Block(block.height + 2 * padding, draw)


def barred(block: Block, *, indent: float = 8.0) -> Block:
    """A block, made for the width less the *indent*, with a strong bar at its left."""

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.fill(x, y + 1, STRONG, block.height - 2)
        block.draw(pen, x + indent, y)

    return Block(block.height, draw)


def rule(
    width: float, *, weight: float = HAIR, grey: float = RULE_GREY, above: float = 0.0, below: float = 0.0
) -> Block:
    """A line across *width* with room above and below."""
    return Block(above + below, lambda pen, x, y: pen.rule(x, y + above, x + width, y + above, weight, grey))


def heading(words: str, width: float, faces: Typefaces, *, style: Style = HEADING, above: float = 9.0) -> Block:
    """A heading under a fine rule; it stays with what follows."""
    body = text(words, width, style, faces)

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.rule(x, y + above, x + width, y + above, FINE)
        body.draw(pen, x, y + above + 3)

    return Block(above + 3 + body.height + 2, draw, keeps_next=True)


def captioned(caption: str, value: str, width: float, faces: Typefaces, *, style: Style = BODY) -> Block:
    """A value under its small caption; a line to write on where the value is empty."""
    above = text(caption, width, CAPTION, faces)
    below = text(value, width, style, faces) if value else write_line(width, style.leading)
    return stack([above, below])


def write_line(width: float, height: float = 14.0) -> Block:
    """A line to write on by hand."""
    return Block(height, lambda pen, x, y: pen.rule(x, y + height - 1.5, x + width, y + height - 1.5, HAIR * 1.5))


def write_lines(captions: Sequence[str], width: float, faces: Typefaces, *, room: float = 20.0) -> Block:
    """Lines to write on, each with a caption under it."""
    return stack([stack([write_line(width, room), text(caption, width, CAPTION, faces)]) for caption in captions])


def tick(words: str, width: float, faces: Typefaces, *, style: Style = SMALL) -> Block:
    """A square to tick by hand, and what it stands for."""
    side, indent = style.size * 1.05, style.size * 1.7
    body = text(words, width - indent, style, faces)

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.frame(x, y + (style.leading - side) / 2, side, side, FINE)
        body.draw(pen, x + indent, y)

    return Block(body.height, draw)


def marked(basis: Basis, words: str, width: float, faces: Typefaces, *, style: Style = BODY) -> Block:
    """Words after the mark of *basis*."""
    indent = mark_width(style)
    body = text(words, width - indent, style, faces)

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.basis_mark(basis, x, y, style)
        body.draw(pen, x + indent, y)

    return Block(body.height, draw)


def numbered(
    lines: Sequence[str], width: float, faces: Typefaces, *, style: Style = SMALL, bullet: str = ""
) -> list[Block]:
    """One block a line, numbered from 1, or each after the same *bullet*; the number hangs to the left."""
    indent = style.size * (1.0 if bullet else 1.7)
    found: list[Block] = []
    for number, line in enumerate(lines, start=1):
        body = text(line, width - indent, style, faces)

        def draw(pen: Pen, x: float, y: float, sign: str = bullet or f"{number}.", body: Block = body) -> None:
            pen.line(sign, x, y, indent, replace(style, bold=True))
            body.draw(pen, x + indent, y)

        found.append(Block(body.height + 1.5, draw))
    return found


def in_columns(blocks: Sequence[Block], count: int, width: float, *, gap: float) -> Block:
    """Blocks, each made for its column's width, dealt into *count* columns of about equal height, in reading order."""
    total = sum(block.height for block in blocks)
    columns: list[list[Block]] = [[]]
    filled = 0.0
    for block in blocks:
        if len(columns) < count and columns[-1] and filled + block.height / 2 > total / count * len(columns):
            columns.append([])
        columns[-1].append(block)
        filled += block.height
    each = column_width(width, count, gap)
    return beside([stack(column) for column in columns], [each] * len(columns), gap=gap)


def column_width(width: float, count: int, gap: float) -> float:
    """Width of each of *count* equal columns with *gap* between them."""
    return (width - gap * (count - 1)) / count
