"""Drawing on a page: lines of text in their boxes, rules, frames and the marks that tell weighed from estimated.

Places are given from the top left corner in points, downward; the pen turns them into the PDF's upward coordinates.
Only black, white and greys are used, and nothing is told by grey alone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from reportlab.graphics.barcode import qrencoder
from reportlab.pdfgen.canvas import Canvas

from wasteledger.documents.fonts import Typefaces, code_box_ems, code_digits
from wasteledger.documents.papers import Basis
from wasteledger.documents.text import Style

HAIR, FINE, STRONG = 0.4, 0.8, 2.2
RULE_GREY = 0.45
# Share of the line's size that lies above the baseline; what is below it holds the descenders.
ASCENT = 0.80


@dataclass
class Pen:
    """Draws on one canvas and remembers the characters that no face had.

    Attributes:
        page_height: In points.
        uncovered: Characters drawn as boxes with their number, in order of first appearance.
    """

    canvas: Canvas
    page_height: float
    faces: Typefaces
    uncovered: dict[str, None] = field(default_factory=dict)

    def line(self, text: str, x: float, top: float, width: float, style: Style, align: str = "left") -> None:
        """Draw one prepared line of *text* in the box that begins at (*x*, *top*) and is *width* wide."""
        if not text:
            return
        wide = self.faces.width(text, style.size, bold=style.bold) if align != "left" else 0.0
        at = x if align == "left" else x + width - wide if align == "right" else x + (width - wide) / 2
        baseline = self.page_height - top - (style.leading - style.size) / 2 - style.size * ASCENT
        canvas = self.canvas
        canvas.setFillGray(style.grey)
        for run in self.faces.runs(text, bold=style.bold):
            if run.font is None:
                for sign in run.text:
                    self._code_box(sign, at, baseline, style)
                    at += code_box_ems(sign) * style.size
                continue
            canvas.setFont(run.font, style.size)
            canvas.drawString(at, baseline, run.text)
            at += self.faces.width(run.text, style.size, bold=style.bold)

    def rule(self, x: float, y: float, to_x: float, to_y: float, weight: float = HAIR, grey: float = 0.0) -> None:
        """Draw a straight line."""
        self.canvas.setStrokeGray(grey)
        self.canvas.setLineWidth(weight)
        self.canvas.line(x, self.page_height - y, to_x, self.page_height - to_y)

    def frame(self, x: float, y: float, width: float, height: float, weight: float = HAIR, grey: float = 0.0) -> None:
        """Draw an empty rectangle."""
        self.canvas.setStrokeGray(grey)
        self.canvas.setLineWidth(weight)
        self.canvas.rect(x, self.page_height - y - height, width, height, stroke=1, fill=0)

    def fill(self, x: float, y: float, width: float, height: float, grey: float = 0.0) -> None:
        """Fill a rectangle."""
        self.canvas.setFillGray(grey)
        self.canvas.rect(x, self.page_height - y - height, width, height, stroke=0, fill=1)

    def basis_mark(self, basis: Basis, x: float, top: float, style: Style) -> float:
        """Draw the mark of *basis*, a full square for weighed, a ring for estimate; gives the width it takes."""
        side = style.size * 0.62
        baseline = self.page_height - top - (style.leading - style.size) / 2 - style.size * ASCENT
        self.canvas.setLineWidth(HAIR * 2)
        self.canvas.setStrokeGray(0)
        self.canvas.setFillGray(0)
        if basis is Basis.WEIGHED:
            self.canvas.rect(x, baseline, side, side, stroke=0, fill=1)
        elif basis is Basis.ESTIMATE:
            self.canvas.circle(x + side / 2, baseline + side / 2, side / 2 - HAIR, stroke=1, fill=0)
        else:
            self.canvas.line(x, baseline + side / 2, x + side, baseline + side / 2)
        return mark_width(style)

    def qr(self, text: str, x: float, y: float, side: float) -> None:
        """Draw *text* as a QR code (ISO/IEC 18004, level M) of *side* points, its quiet zone of four included."""
        code: Any = qrencoder.QRCode(None, qrencoder.QRErrorCorrectLevel.M)
        code.addData(text)
        code.make()
        count = code.getModuleCount()
        module = side / (count + 8)
        self.canvas.setFillGray(0)
        for row in range(count):
            start = None
            for column in range(count + 1):
                dark = column < count and code.isDark(row, column)
                if dark and start is None:
                    start = column
                elif not dark and start is not None:
                    # Neighbours are drawn as one bar, so that no hairline gap shows between them.
                    left, top = x + (start + 4) * module, self.page_height - y - (row + 4) * module
                    self.canvas.rect(left, top - module, (column - start) * module, module, stroke=0, fill=1)
                    start = None

    def strike(self, x: float, top: float, width: float, style: Style) -> None:
        """Draw a line through a line of text."""
        middle = top + style.leading / 2 + style.size * 0.05
        self.rule(x, middle, x + width, middle, FINE * 0.7)

    def _code_box(self, sign: str, x: float, baseline: float, style: Style) -> None:
        self.uncovered[sign] = None
        canvas, size = self.canvas, style.size
        wide, low, high = code_box_ems(sign) * size, baseline - 0.14 * size, 0.92 * size
        canvas.setStrokeGray(style.grey)
        canvas.setLineWidth(size * 0.04)
        canvas.rect(x + 0.05 * size, low, wide - 0.1 * size, high, stroke=1, fill=0)
        font = self.faces.runs("0")[0].font or ""
        for digits, above in zip(code_digits(sign), (0.5, 0.08), strict=True):
            small = 0.44 * size
            across = self.faces.width(digits, small)
            canvas.setFont(font, small)
            canvas.drawString(x + (wide - across) / 2, low + above * size, digits)


def mark_width(style: Style) -> float:
    """Room that the mark of a basis takes before the words, in points."""
    return style.size * 0.95
