"""Tables of rows: wrapped cells, a head that is repeated on every page, rows that were corrected struck through."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from wasteledger.documents.blocks import CAPTION, SMALL, Block
from wasteledger.documents.fonts import Typefaces
from wasteledger.documents.papers import Basis
from wasteledger.documents.pen import FINE, HAIR, RULE_GREY, Pen, mark_width
from wasteledger.documents.text import Style, wrap
from wasteledger.documents.wording import Column

GUTTER = 5.0
PADDING = 2.2
# A row with more lines than this goes on as a further row, so that no row is ever higher than a page.
MOST_LINES = 40


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in one cell.

    Attributes:
        text: Its words; line ends are kept.
        basis: Prints the mark of weighed or estimate before them.
        bold: For the word that a row is looked up by.
    """

    text: str
    basis: Basis | None = None
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table.

    Attributes:
        cells: One for each column.
        beneath: A line across the whole width under them: why the row was corrected, a remark.
        struck: The cells are struck through; what they say stays legible.
    """

    cells: tuple[Cell, ...]
    beneath: str = ""
    struck: bool = False


@dataclass(frozen=True, slots=True)
class _Place:
    x: float
    width: float
    align: str


class Table:
    """Makes the blocks of one table *width* points wide."""

    def __init__(self, columns: Sequence[Column], width: float, faces: Typefaces, *, style: Style = SMALL) -> None:
        self._width, self._faces = width, faces
        self._style, self._bold = style, replace(style, bold=True)
        self._places = _places(columns, width)
        self._columns = columns

    def blocks(self, rows: Iterable[Row], *, empty: str = "") -> list[Block]:
        """The head and one block a row; where there is no row, the words *empty* stand under the head."""
        head = self._head()
        found = [block for row in rows for block in self._row(row, head)]
        if not found:
            line = Row((Cell(""),) * len(self._columns), beneath=empty)
            found = self._row(line, head)
        return [head.kept(), *found]

    def _head(self) -> Block:
        style = replace(CAPTION, grey=0.0)
        cells = [
            (place, wrap(column.heading, place.width, style, self._faces))
            for place, column in zip(self._places, self._columns, strict=True)
        ]
        most = max(len(lines) for _, lines in cells)
        height = most * style.leading + 2 * PADDING

        def draw(pen: Pen, x: float, y: float) -> None:
            for place, lines in cells:
                # Headings stand on the rule, however many lines their neighbours need.
                top = y + PADDING + (most - len(lines)) * style.leading
                for number, line in enumerate(lines):
                    pen.line(line, x + place.x, top + number * style.leading, place.width, style, place.align)
            pen.rule(x, y + height - 0.4, x + self._width, y + height - 0.4, FINE)

        return Block(height, draw)

    def _row(self, row: Row, head: Block) -> list[Block]:
        cells = []
        for place, cell in zip(self._places, row.cells, strict=True):
            style = self._bold if cell.bold else self._style
            indent = mark_width(style) if cell.basis else 0.0
            lines = wrap(cell.text, place.width - indent, style, self._faces) if cell.text else ()
            cells.append((place, cell.basis, style, indent, lines))
        beneath = wrap(row.beneath, self._width - 12, self._style, self._faces) if row.beneath else ()
        most = max(len(lines) for *_, lines in cells)
        parts = [
            self._part(
                [
                    (place, basis, style, indent, lines[start : start + MOST_LINES])
                    for place, basis, style, indent, lines in cells
                ],
                () if start + MOST_LINES < most else beneath[:MOST_LINES],
                row.struck,
                head,
                first=start == 0,
                last=start + MOST_LINES >= most and len(beneath) <= MOST_LINES,
            )
            for start in range(0, max(most, 1), MOST_LINES)
        ]
        for start in range(MOST_LINES, len(beneath), MOST_LINES):
            rest = beneath[start : start + MOST_LINES]
            parts.append(self._part([], rest, False, head, first=False, last=start + MOST_LINES >= len(beneath)))
        return parts

    def _part(
        self,
        cells: list[tuple[_Place, Basis | None, Style, float, tuple[str, ...]]],
        beneath: tuple[str, ...],
        struck: bool,
        head: Block,
        *,
        first: bool,
        last: bool,
    ) -> Block:
        leading = self._style.leading
        most = max((len(lines) for *_, lines in cells), default=0)
        height = (most + len(beneath)) * leading + 2 * PADDING
        style, width, faces = self._style, self._width, self._faces

        def draw(pen: Pen, x: float, y: float) -> None:
            top = y + PADDING
            for place, basis, cell_style, indent, lines in cells:
                if basis and first and lines:
                    at = (
                        place.x
                        if place.align == "left"
                        else place.x
                        + place.width
                        - indent
                        - faces.width(lines[0], cell_style.size, bold=cell_style.bold)
                    )
                    pen.basis_mark(basis, x + at, top, cell_style)
                for number, line in enumerate(lines):
                    here = top + number * leading
                    pen.line(line, x + place.x + indent, here, place.width - indent, cell_style, place.align)
                    if struck and line:
                        wide = faces.width(line, cell_style.size, bold=cell_style.bold)
                        left = place.x + indent + (place.width - indent - wide) * _SHIFT[place.align]
                        pen.strike(x + left, here, wide, cell_style)
            for number, line in enumerate(beneath):
                pen.line(line, x + 12, top + (most + number) * leading, width - 12, style)
            if last:
                pen.rule(x, y + height, x + width, y + height, HAIR, RULE_GREY)

        return Block(height, draw, running=head)


_SHIFT = {"left": 0.0, "center": 0.5, "right": 1.0}


def picked(columns: Sequence[Column], cells: object) -> tuple[Cell, ...]:
    """The cells of one row in the order of *columns*; *cells* has a field of type `Cell` for each that may be named."""
    return tuple(getattr(cells, column.field) for column in columns)


def _places(columns: Sequence[Column], width: float) -> list[_Place]:
    shares = sum(column.share for column in columns)
    room = width - GUTTER * (len(columns) - 1)
    found, x = [], 0.0
    for column in columns:
        each = room * column.share / shares
        found.append(_Place(x, each, column.align))
        x += each + GUTTER
    return found
