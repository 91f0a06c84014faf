"""Labels for containers and for traps, on sheets that the wording describes by their dimensions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from wasteledger.documents.blocks import (
    Block,
    barred,
    beside,
    fitted,
    in_columns,
    numbered,
    rule,
    space,
    stack,
    text,
    write_line,
)
from wasteledger.documents.furniture import Workshop, open_workshop
from wasteledger.documents.label_sheets import Sheet, check_first_place, get_sheet
from wasteledger.documents.pages import Printed, close_canvas, open_canvas, page_box
from wasteledger.documents.papers import Anchor, LabelPaper, LabelsPaper, TrapLabelPaper, TrapLabelsPaper
from wasteledger.documents.pen import FINE, HAIR, RULE_GREY, Pen
from wasteledger.documents.show import GROUP
from wasteledger.documents.text import Style, size_that_fits
from wasteledger.errors import WasteLedgerError
from wasteledger.settings import Paper

# Sizes at scale 1; a label is set as large as its box allows, and never below the least scale (5.4 pt for the foot).
_WORDS, _STREAM, _BODY = Style(14, 16.5, bold=True), Style(10.5, 13, bold=True), Style(8.4, 10.6)
_CAUTION, _FOOT = Style(7.2, 8.8), Style(6, 7.4)
_LARGEST, _LEAST, _STEP = 2.4, 0.9, 0.96
_PADDING, _INSET = 7.0, 3.0


class LabelTooSmall(WasteLedgerError):
    """A label has no room for what must stand on it."""

    code = "label-too-small"

    def __init__(self, of: str, sheet: str) -> None:
        super().__init__(
            f"The label of {of} does not fit on the sheet “{sheet}”.",
            hint="Take a sheet with larger labels, such as half or single.",
        )


def draw(paper: LabelsPaper, size: Paper, *, own: Path | None = None) -> Printed:
    """Container labels as a PDF.

    Raises:
        LabelTooSmall: The words that must stand on a label do not fit on it.
        UnknownSheet, NoSuchPlace: The sheet or the first place is not there.
    """
    shop = open_workshop("label", size, own)
    sheet = get_sheet(shop.words, paper.sheet, size)
    name = paper.sheet or shop.words.text("sheet")

    def drawer(label: LabelPaper) -> Callable[[Pen, float, float], None]:
        inner_width, inner_height = (side - 2 * (_PADDING + _INSET) for side in (sheet.width, sheet.height))
        body, foot = _largest_that_fits(shop, label, inner_width, inner_height, name)

        def put(pen: Pen, x: float, y: float) -> None:
            pen.frame(x + _INSET, y + _INSET, sheet.width - 2 * _INSET, sheet.height - 2 * _INSET, FINE)
            x, y = x + _INSET + _PADDING, y + _INSET + _PADDING
            body.draw(pen, x, y)
            foot.draw(pen, x, y + inner_height - foot.height)

        return put

    practice = paper.labels[0].practice.name if paper.labels else ""
    return _on_sheets(shop, size, sheet, [drawer(label) for label in paper.labels], practice, paper.first_place)


def draw_trap_labels(paper: TrapLabelsPaper, size: Paper, *, own: Path | None = None) -> Printed:
    """Trap labels as a PDF: name, room and kind in words beside a QR code.

    Raises:
        LabelTooSmall: A label has no room for its words beside the code.
        UnknownSheet, NoSuchPlace: The sheet or the first place is not there.
    """
    shop = open_workshop("trap_label", size, own)
    sheet = get_sheet(shop.words, paper.sheet, size)
    name = paper.sheet or shop.words.text("sheet")
    drawers = [_trap_drawer(shop, label, paper, sheet, name) for label in paper.labels]
    return _on_sheets(shop, size, sheet, drawers, paper.practice, paper.first_place)


@dataclass(frozen=True, slots=True)
class _Limits:
    """How many lines the free texts of a label may take; 0 sets no limit."""

    name: int = 0
    address: int = 0
    contents: int = 0


_FULL, _SHORT, _SHORTEST = _Limits(), _Limits(3, 2, 3), _Limits(2, 1, 1)


def _largest_that_fits(
    shop: Workshop, label: LabelPaper, width: float, height: float, sheet: str
) -> tuple[Block, Block]:
    """Body and foot at the largest scale for the box; only where the least does not fit are free texts shortened."""
    for limits in (_FULL, _SHORT, _SHORTEST):
        scale = _LARGEST
        while scale >= _LEAST:
            trial = replace(shop, findings=[])
            foot = _label_foot(trial, label.anchor, width, scale)
            body = _label_body(trial, label, width, scale, limits)
            if body.height + 3 + foot.height <= height:
                shop.findings.extend(trial.findings)
                return body, foot
            scale *= _STEP
    raise LabelTooSmall(f"container {label.container}", sheet)


def _label_body(shop: Workshop, label: LabelPaper, width: float, scale: float, limits: _Limits) -> Block:
    faces, words = shop.faces, shop.words
    gap = 12.0 * scale
    left = (width - gap) * 0.58
    right = width - gap - left
    body, stream, caution = _BODY.scaled(scale), _STREAM.scaled(scale), _CAUTION.scaled(scale)

    asked = _asked(shop, label.words, width - 9, _WORDS.scaled(scale))
    practice = label.practice
    lines = [line for line in practice.address if line.strip()]
    who = [
        _limited(shop, practice.name, left, replace(body, bold=True), limits.name),
        *(_limited(shop, line, left, body, limits.address) for line in lines),
    ]
    who += [text(shop.common.text("words.phone", phone=practice.phone), left, body, faces)] if practice.phone else []
    what = [_caption(shop, words.text("label.contents"), left, scale)]
    what += [fitted(label.stream, left, stream, 0.85 * stream.size, faces)]
    what += [_limited(shop, label.contents, left, body, limits.contents)] if label.contents else []
    left_side = stack([*what, space(4 * scale), _caption(shop, words.text("label.practice"), left, scale), stack(who)])
    number = stream.scaled(1.35)
    right_side = stack(
        [
            _caption(shop, words.text("label.container"), right, scale),
            fitted(label.container, right, number, body.size, faces),
            *([_limited(shop, label.kind, right, body, limits.contents)] if label.kind else []),
            space(4 * scale),
            _day(shop, words.text("label.first_waste"), shop.show.day(label.first_waste_on), right, scale),
            space(2 * scale),
            _day(shop, words.text("label.closed"), shop.show.day(label.closed_on), right, scale),
        ]
    )
    columns_gap = 10.0 * scale
    half = (width - columns_gap) / 2
    cautions = in_columns(
        numbered(shop.cautions_for("label"), half, faces, style=caution, bullet="•"), 2, width, gap=columns_gap
    )
    return stack(
        [
            *([barred(asked, indent=9.0), space(5 * scale)] if asked.height else []),
            beside([left_side, right_side], [left, right], gap=gap),
            rule(width, weight=HAIR, above=4 * scale, below=3 * scale),
            cautions,
            text(words.text("label.deference"), width, replace(caution, bold=True), faces),
        ]
    )


def _asked(shop: Workshop, lines: Sequence[str], width: float, style: Style) -> Block:
    """The words that the ordinances ask for, all of one size: smaller where that keeps each to one line."""
    lines = [line for line in lines if line.strip()]
    smallest = min((size_that_fits(line, width, style, 1, shop.faces) for line in lines), key=_size, default=style)
    chosen = smallest if smallest.size >= 0.72 * style.size else style
    return stack([text(line, width, chosen, shop.faces) for line in lines])


def _size(style: Style) -> float:
    return style.size


def _label_foot(shop: Workshop, anchor: Anchor, width: float, scale: float) -> Block:
    return text(_short_anchor(shop, anchor), width, _FOOT.scaled(min(scale, 1.3)), shop.faces)


def _short_anchor(shop: Workshop, anchor: Anchor) -> str:
    digest = f"{anchor.digest[:GROUP]} {anchor.digest[GROUP : 2 * GROUP]}"
    return shop.common.text("foot.short_anchor", site=anchor.site, seq=anchor.seq, digest=digest)


def _caption(shop: Workshop, words: str, width: float, scale: float) -> Block:
    return text(words, width, Style(6.2 * scale, 7.8 * scale, bold=True, grey=0.25), shop.faces)


def _day(shop: Workshop, caption: str, day: str, width: float, scale: float) -> Block:
    if day:
        style = replace(_BODY.scaled(scale * 1.1), bold=True)
        return stack([_caption(shop, caption, width, scale), fitted(day, width, style, 0.8 * style.size, shop.faces)])
    by_hand = f"{caption} ({shop.words.text('label.by_hand')})"
    return stack([_caption(shop, by_hand, width, scale), write_line(width, 15 * scale)])


def _limited(shop: Workshop, words: str, width: float, style: Style, most: int) -> Block:
    return shop.cut(words, width, style, most) if most else text(words, width, style, shop.faces)


def _trap_drawer(
    shop: Workshop, label: TrapLabelPaper, paper: TrapLabelsPaper, sheet: Sheet, name: str
) -> Callable[[Pen, float, float], None]:
    foot_style = Style(5.2, 6.4)
    code_side = min(sheet.height - 2 * _INSET - foot_style.leading - 2, sheet.width * 0.42)
    width = sheet.width - code_side - 3 * _INSET
    anchor, foot_width = _short_anchor(shop, paper.anchor), sheet.width - 4 * _INSET
    # A long site name is set smaller: the digest at the end of the line must not be cut off.
    foot = text(anchor, foot_width, size_that_fits(anchor, foot_width, foot_style, 2.5, shop.faces), shop.faces)
    room = code_side - 2
    for scale in (1.0, 0.92, 0.85, 0.78, 0.72):
        body = stack(
            [
                fitted(label.trap, width, Style(13 * scale, 15.5 * scale, bold=True), 7, shop.faces),
                text(
                    shop.words.text("label.room", room=label.room), width, Style(8.6 * scale, 10.8 * scale), shop.faces
                ),
                text(label.kind, width, Style(8.6 * scale, 10.8 * scale), shop.faces),
                space(2 * scale),
                *(
                    text(caution, width, Style(6.6 * scale, 8 * scale, bold=True), shop.faces)
                    for caution in shop.cautions_for("trap_label")
                ),
            ]
        )
        if body.height <= room:
            break
    else:
        raise LabelTooSmall(f"trap {label.trap}", name)

    def put(pen: Pen, x: float, y: float) -> None:
        pen.frame(x, y, sheet.width, sheet.height, HAIR, RULE_GREY)
        pen.qr(label.code, x + _INSET, y + _INSET, code_side)
        body.draw(pen, x + _INSET + code_side + _INSET, y + _INSET + max(0.0, (code_side - body.height) / 2))
        foot.draw(pen, x + 2 * _INSET, y + sheet.height - _INSET - foot.height)

    return put


def _on_sheets(
    shop: Workshop,
    size: Paper,
    sheet: Sheet,
    drawers: Sequence[Callable[[Pen, float, float], None]],
    author: str,
    first_place: int,
) -> Printed:
    check_first_place(first_place, sheet)
    origin = shop.origin(shop.words.text("title"), author, None)
    page = page_box(size)
    file, canvas = open_canvas(origin, page)
    pen = Pen(canvas, page[1], shop.faces)
    place, pages = first_place - 1, 1
    for draw_label in drawers:
        if place == sheet.places:
            canvas.showPage()
            place, pages = 0, pages + 1
        draw_label(pen, *sheet.place(place))
        place += 1
    canvas.showPage()
    return close_canvas(file, canvas, pen, pages, shop.findings)
