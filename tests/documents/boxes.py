"""Watching that no drawn string leaves its box or its page, measured by ReportLab, not by our own widths."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from reportlab.pdfbase.pdfmetrics import stringWidth

from wasteledger.documents.fonts import code_box_ems
from wasteledger.documents.pages import BOTTOM
from wasteledger.documents.pen import Pen
from wasteledger.documents.text import Style

HAIR = 0.05  # points; floating-point dust


@contextmanager
def no_string_leaves_its_box(lowest: Callable[[Pen], float] = lambda pen: pen.page_height - BOTTOM) -> Iterator[None]:
    """Fail at the first line of text that is wider than its box, or stands off the page."""
    drawn = Pen.line

    def watched(pen: Pen, text: str, x: float, top: float, width: float, style: Style, align: str = "left") -> None:
        wide = 0.0
        for run in pen.faces.runs(text, bold=style.bold):
            if run.font is None:
                wide += sum(code_box_ems(sign) for sign in run.text) * style.size
            else:
                wide += stringWidth(run.text, run.font, style.size)
        page_width = float(vars(pen.canvas)["_pagesize"][0])
        assert wide <= width + HAIR, f"“{text}” is {wide:.1f} pt wide in a box of {width:.1f} pt"
        assert x >= 0, f"“{text}” begins off the page"
        assert x + width <= page_width + HAIR, f"the box of “{text}” ends off the page"
        assert top >= 0, f"“{text}” stands above the page"
        assert top + style.leading <= lowest(pen) + HAIR, f"“{text}” stands in the lower margin"
        drawn(pen, text, x, top, width, style, align)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Pen, "line", watched)
        yield
