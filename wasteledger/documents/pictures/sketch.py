"""Drawing a picture once, for paper and page alike: lines, areas, marks and words as a ReportLab drawing.

Places are given from the top left corner in points, downward, as `pen` has them. Only black, white and greys are used,
and nothing is told by grey alone: what was weighed is a full square, an estimate a ring, a level that was read a
lozenge.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence

from reportlab.graphics.shapes import Circle, Drawing, Line, Polygon, PolyLine, Shape, String
from reportlab.lib.colors import Color

from wasteledger.documents.fonts import Typefaces, code_box_ems, code_digits
from wasteledger.documents.text import Style, clamp, wrap

FINE, LINE, STRONG = 0.6, 1.1, 1.6
GRID_GREY, RULE_GREY, BAND_GREY, FAN_GREY = 0.85, 0.45, 0.80, 0.88
DASHES = (4.0, 3.0)

HEAD = Style(11.5, 15, bold=True)
LABEL = Style(9.2, 11.6)
STRONG_LABEL = Style(9.2, 11.6, bold=True)
QUIET = Style(9.2, 11.6, grey=0.25)

WORDS = "data-words"
"""Attribute of a string: all the words that it stands for, in reading order."""
REST = "data-rest"
"""Attribute of what stands for the same words on paper only: further runs, boxes for what no face has."""

Place = tuple[float, float]
Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""


def clear_of(box: Box, taken: Iterable[Box]) -> bool:
    """Whether a box lies over none of those that are taken.

    >>> clear_of((0, 0, 10, 10), [(10, 0, 20, 10)]), clear_of((0, 0, 10, 10), [(9, 9, 20, 20)])
    (True, False)
    """
    left, top, right, bottom = box
    return not any(left < other[2] and right > other[0] and top < other[3] and bottom > other[1] for other in taken)


def lines_wanted(text: str, width: float, most: int, faces: Typefaces, style: Style = LABEL) -> int:
    """On how many lines, of at most *most*, words stand that may be *width* wide; 1 where there are none."""
    return min(most, len(wrap(text, width, style, faces)))


class Sketch:
    """A drawing in the making.

    Attributes:
        drawing: The drawing; *width* and *height* are whole points.
        uncovered: Characters that no face has, in order of first appearance.
        shortened: Words that were cut to fit.
    """

    def __init__(self, width: float, height: float, faces: Typefaces) -> None:
        self.width, self.height, self.faces = int(width), int(height), faces
        self.drawing = Drawing(self.width, self.height)
        self.uncovered: dict[str, None] = {}
        self.shortened: dict[str, None] = {}

    def line(
        self, start: Place, end: Place, weight: float = FINE, grey: float = 0.0, dashes: Sequence[float] = ()
    ) -> None:
        """A straight line."""
        self._add(
            Line(
                start[0],
                self._up(start[1]),
                end[0],
                self._up(end[1]),
                strokeColor=_grey(grey),
                strokeWidth=weight,
                strokeDashArray=list(dashes),
                strokeLineCap=0,
            )
        )

    def path(self, places: Sequence[Place], weight: float = LINE, grey: float = 0.0) -> None:
        """Straight lines from place to place."""
        points = [number for x, y in places for number in (x, self._up(y))]
        self._add(PolyLine(points, strokeColor=_grey(grey), strokeWidth=weight, strokeLineCap=0))

    def area(self, places: Sequence[Place], grey: float = BAND_GREY) -> None:
        """A filled area without an edge."""
        points = [number for x, y in places for number in (x, self._up(y))]
        self._add(Polygon(points, fillColor=_grey(grey), strokeColor=None, strokeWidth=0))

    def bar(self, x: float, y: float, width: float, height: float, grey: float = 0.0) -> None:
        """A filled rectangle."""
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        self.area(corners, grey)

    def square(self, middle: Place, side: float = 6.4) -> None:
        """The mark of what was weighed."""
        self.bar(middle[0] - side / 2, middle[1] - side / 2, side, side)

    def ring(self, middle: Place, radius: float = 3.4) -> None:
        """The mark of an estimate; white inside, so that a line through it does not fill it."""
        x, y = middle
        self._add(
            Circle(x, self._up(y), radius, fillColor=_grey(1.0), strokeColor=_grey(0), strokeWidth=1.3, strokeLineCap=0)
        )

    def lozenge(self, middle: Place, reach: float = 4.2) -> None:
        """The mark of a level that was read."""
        x, y = middle
        self.area(((x - reach, y), (x, y - reach), (x + reach, y), (x, y + reach)), grey=0.0)

    def words(self, text: str, x: float, top: float, style: Style = LABEL, align: str = "left") -> float:
        """One line of words that begins, ends or has its middle at *x*; gives its width."""
        prepared = self.faces.prepare(text).replace("\n", " ")
        wide = self.faces.width(prepared, style.size, bold=style.bold)
        at = x - wide * {"left": 0.0, "center": 0.5, "right": 1.0}[align]
        # The writer of SVG moves words by whole numbers only, so their baseline stands on a half.
        baseline = round(2 * self._up(top + (style.leading - style.size) / 2 + style.size * 0.8)) / 2
        runs = self.faces.runs(prepared, bold=style.bold)
        said = {WORDS: unicodedata.normalize("NFC", text.replace("\n", " ")), "textLength": f"{wide:.2f}"}
        whole = len(runs) == 1 and runs[0].font is not None
        if not whole:
            # Nothing on paper; a page is given the words here, in one piece and in reading order.
            self._string("", at, baseline, self.faces.runs("0")[0].font or "", style, said)
        for run in runs:
            if run.font is None:
                for sign in run.text:
                    self._code_box(sign, at, baseline, style)
                    at += code_box_ems(sign) * style.size
                continue
            self._string(run.text, at, baseline, run.font, style, said if whole else {REST: "run"})
            at += self.faces.width(run.text, style.size, bold=style.bold)
        return wide

    def centred(self, text: str, middle: float, top: float, style: Style = LABEL) -> None:
        """Words about *middle*, moved as far as they must be to stand within the drawing."""
        half = self.wide(text, style) / 2
        self.words(text, min(max(middle, half), self.width - half), top, style, "center")

    def fitted(self, text: str, x: float, top: float, width: float, style: Style = LABEL, align: str = "left") -> float:
        """Words on one line of at most *width*; what is cut off is remembered."""
        lines = wrap(text, width, style, self.faces)
        cut = clamp(lines, 1, width, style, self.faces)
        if cut != lines:
            self.shortened[text] = None
        if not cut or not cut[0]:
            return 0.0
        # What was not cut is handed on as it was written: lines that were wrapped have their letters joined already.
        return self.words(cut[0] if cut != lines or len(lines) > 1 else text.strip(" "), x, top, style, align)

    def wrapped(
        self, text: str, x: float, top: float, width: float, most: int, style: Style = LABEL, align: str = "left"
    ) -> float:
        """Words on at most *most* lines (see `lines_wanted`); gives the width of the widest."""
        lines = wrap(text, width, style, self.faces)
        if len(lines) < 2 or most < 2:
            return self.fitted(text, x, top, width, style, align)
        cut = clamp(lines, most, width, style, self.faces)
        if cut != lines:
            self.shortened[text] = None
        return max(self.words(line, x, top + row * style.leading, style, align) for row, line in enumerate(cut))

    def on_white(self, text: str, x: float, top: float, style: Style = LABEL) -> None:
        """Words that end at *x*, with white behind them, so that a line that passes there does not cross them."""
        wide = self.wide(text, style)
        self.bar(x - wide - 1, top, wide + 2, style.leading, 1.0)
        self.words(text, x, top, style, "right")

    def wide(self, text: str, style: Style = LABEL) -> float:
        """How wide words will be."""
        return self.faces.width(self.faces.prepare(text), style.size, bold=style.bold)

    def _up(self, y: float) -> float:
        return self.height - y

    def _add(self, shape: Shape) -> None:
        self.drawing.add(shape)

    def _string(
        self, text: str, x: float, baseline: float, font: str, style: Style, attributes: dict[str, str]
    ) -> None:
        string = String(x, baseline, text, fontName=font, fontSize=style.size, fillColor=_grey(style.grey))
        _tag(string, attributes)
        self._add(string)

    def _code_box(self, sign: str, x: float, baseline: float, style: Style) -> None:
        self.uncovered[sign] = None
        size, font = style.size, self.faces.runs("0")[0].font or ""
        wide = code_box_ems(sign) * size
        left, right = x + 0.05 * size, x + wide - 0.05 * size
        low, high = baseline - 0.14 * size, baseline + 0.78 * size
        corners = [left, low, right, low, right, high, left, high]
        frame = Polygon(corners, fillColor=None, strokeColor=_grey(style.grey), strokeWidth=size * 0.04)
        _tag(frame, {REST: "box"})
        self._add(frame)
        for digits, above in zip(code_digits(sign), (0.5, 0.08), strict=True):
            small = 0.44 * size
            middle = x + (wide - self.faces.width(digits, small)) / 2
            string = String(middle, baseline + above * size, digits, fontName=font, fontSize=small)
            _tag(string, {REST: "box"})
            self._add(string)


def _tag(shape: Shape, attributes: dict[str, str]) -> None:
    # ReportLab's writer of SVG puts these on the element; the writer of PDF does not look at them.
    vars(shape)["_svgAttrs"] = attributes


def _grey(grey: float) -> Color:
    return Color(grey, grey, grey)
