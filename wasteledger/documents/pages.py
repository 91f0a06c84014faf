"""Setting blocks on numbered pages and writing the PDF."""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import islice

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas

from wasteledger.documents.blocks import Block
from wasteledger.documents.fonts import Typefaces, uncovered_finding
from wasteledger.documents.papers import BadPaper
from wasteledger.documents.pen import Pen
from wasteledger.settings import Paper

MARGIN = 40.0
TOP = 34.0
BOTTOM = 26.0
_SIZES = {Paper.LETTER: LETTER, Paper.A4: A4}


@dataclass(frozen=True, slots=True)
class Printed:
    """A document as it comes out.

    Attributes:
        pdf: The bytes of the file.
        pages: How many pages it has.
        findings: What the caller should be told: characters that no typeface has, text that was cut to fit a label.
    """

    pdf: bytes
    pages: int
    findings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Origin:
    """What a file says of itself.

    Attributes:
        title, author, subject: For the file's description.
        language: RFC 3066 tag, such as ``en-US``.
        made_at: Written into the file as its time of making; None writes 1 January 2000, for papers that bear no time.
    """

    title: str
    author: str
    subject: str
    language: str
    made_at: datetime | None


@dataclass(frozen=True, slots=True)
class Plan:
    """A document before it is set on pages.

    Attributes:
        origin: What the file says of itself.
        blocks: From top to bottom.
        continued: Stands at the head of every page but the first.
        foot: Makes the foot of page *x* of *y*; every foot is as high as that of page 1.
        findings: What was already noticed when the blocks were made.
        page_of: Filled with the page on which each anchor came to stand, before anything is drawn.
    """

    origin: Origin
    blocks: Sequence[Block]
    continued: Block
    foot: Callable[[int, int], Block]
    findings: Sequence[str] = ()
    page_of: dict[str, int] = field(default_factory=dict)


def page_box(size: Paper) -> tuple[float, float]:
    """Width and height of a page in points."""
    width, height = _SIZES[size]
    return float(width), float(height)


def text_width(size: Paper) -> float:
    """Width between the margins, in points."""
    return page_box(size)[0] - 2 * MARGIN


def set_on_pages(plan: Plan, size: Paper, faces: Typefaces) -> Printed:
    """Set *plan* on pages of *size* and write the file.

    Raises:
        BadPaper: A single block is higher than a page.
    """
    width, height = page_box(size)
    bottom = height - BOTTOM - plan.foot(1, 1).height
    pages = paginate(plan.blocks, bottom - TOP, bottom - TOP - plan.continued.height)
    for number, page in enumerate(pages, start=1):
        plan.page_of.update({block.anchor: number for block in page if block.anchor})

    file, canvas = open_canvas(plan.origin, (width, height))
    pen = Pen(canvas, height, faces)
    for number, page in enumerate(pages, start=1):
        at = TOP
        if number > 1:
            plan.continued.draw(pen, MARGIN, at)
            at += plan.continued.height
        for block in page:
            if block.anchor:
                canvas.bookmarkPage(block.anchor)
                canvas.addOutlineEntry(block.anchor, block.anchor, 0)
            block.draw(pen, MARGIN, at)
            at += block.height
        foot = plan.foot(number, len(pages))
        foot.draw(pen, MARGIN, height - BOTTOM - foot.height)
        canvas.showPage()
    return close_canvas(file, canvas, pen, len(pages), plan.findings)


def paginate(blocks: Iterable[Block], first: float, later: float) -> list[list[Block]]:
    """The blocks of each page, where the first has *first* points of height and the others *later*.

    Blocks that keep the next one move to a new page together with it. A page that begins inside a table begins with the
    table's head.

    Raises:
        BadPaper: Blocks that must stay together are higher than a page.
    """
    pages: list[list[Block]] = [[]]
    left = first
    for group in _kept_together(blocks):
        needed = sum(block.height for block in group)
        if (needed > left or group[0].starts_page) and pages[-1]:
            pages.append([])
            left = later
            running = group[0].running
            if running is not None:
                pages[-1].append(running)
                left -= running.height
        if needed > left + 0.01:
            raise BadPaper(
                "Something on this paper is higher than a page.",
                hint="Shorten the longest name, address or remark; the ledger keeps it whole.",
            )
        pages[-1] += group
        left -= needed
    return pages


def open_canvas(origin: Origin, page: tuple[float, float]) -> tuple[io.BytesIO, Canvas]:
    """A canvas whose file says what it is and, drawn from the same paper, always comes out the same."""
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=page, invariant=1, lang=origin.language, pageCompression=1)
    canvas.setTitle(_one_line(origin.title))
    canvas.setAuthor(_one_line(origin.author))
    canvas.setSubject(_one_line(origin.subject))
    canvas.setCreator("wasteledger")
    canvas.setProducer("wasteledger")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    if origin.made_at:
        made = f"D:{origin.made_at:%Y%m%d%H%M%S}"
        canvas.setDateFormatter(lambda *_: made)
    return file, canvas


def close_canvas(file: io.BytesIO, canvas: Canvas, pen: Pen, pages: int, findings: Sequence[str] = ()) -> Printed:
    """Finish the file."""
    canvas.save()
    found = [*findings, *([uncovered_finding(pen.uncovered)] if pen.uncovered else [])]
    return Printed(file.getvalue(), pages, tuple(dict.fromkeys(found)))


def _one_line(words: str) -> str:
    """*words* without line ends, controls and halves of surrogate pairs, which the file's description cannot hold."""
    return " ".join("".join("\ufffd" if unicodedata.category(sign) in ("Cc", "Cs") else sign for sign in words).split())


def _kept_together(blocks: Iterable[Block]) -> Iterable[list[Block]]:
    left = iter(blocks)
    for block in left:
        group = [block]
        while group[-1].keeps_next:
            following = list(islice(left, 1))
            if not following:
                break
            group += following
        yield group
