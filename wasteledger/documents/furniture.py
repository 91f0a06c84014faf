"""What every document has: a title, the head of its later pages, a foot that names the entry it rests on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from wasteledger.documents.blocks import (
    BODY,
    CAPTION,
    FOOT,
    NAME,
    NUMBER,
    SMALL,
    STRONG_SMALL,
    TITLE,
    Block,
    beside,
    fitted,
    space,
    stack,
    text,
)
from wasteledger.documents.fonts import Typefaces, typefaces
from wasteledger.documents.pages import Origin, text_width
from wasteledger.documents.papers import Anchor, MassFigure, Party
from wasteledger.documents.pen import FINE, HAIR, STRONG, Pen
from wasteledger.documents.show import Shower, digest_groups
from wasteledger.documents.tables import Cell, Row, Table
from wasteledger.documents.text import Style, clamp, wrap
from wasteledger.documents.wording import Wording, own_fonts, read_wording
from wasteledger.settings import Paper

# A party takes no more than this many points of a page; what is longer is cut, line by line, and reported.
_HIGHEST_PARTY, _MOST_LINES = 330.0, 12


@dataclass(frozen=True, slots=True)
class Workshop:
    """What the drawing of one document needs: its words, the common words, the faces, the width to fill.

    Attributes:
        width: Between the margins, in points.
        findings: Collects what the caller should be told.
        own: The office's template folder that the words were read from.
    """

    words: Wording
    common: Wording
    cautions: Wording
    show: Shower
    faces: Typefaces
    width: float
    findings: list[str]
    own: Path | None = None

    def cautions_for(self, place: str) -> tuple[str, ...]:
        """The cautions that belong to *place*, in the order of their file."""
        return cautions_for(place, self.cautions)

    def origin(self, title: str, author: str, made_at: datetime | None) -> Origin:
        """What the file says of itself."""
        return Origin(title, author, self.words.text("subject"), self.common.text("language"), made_at)

    def cell(self, value: object) -> Cell:
        """How a plain value stands in a table: days spelled, a mass with its mark and its word, a dash for nothing."""
        match value:
            case MassFigure():
                return Cell(self.show.figure(value), basis=value.basis)
            case datetime():
                return Cell(self.show.short_moment(value))
            case date():
                return Cell(self.show.short_day(value))
            case tuple():
                return Cell(", ".join(str(part) for part in value))
            case None:
                return Cell(self.common.text("words.nothing"))
            case _:
                return Cell(str(value))

    def table(
        self, key: str, row: type, values: Iterable[object], *, empty: str = "", style: Style = SMALL
    ) -> list[Block]:
        """A table of *values*, dataclasses of type *row*, with the columns that the wording lists at *key*."""
        columns = self.words.columns(key, row)
        rows = (Row(tuple(self.cell(getattr(value, column.field)) for column in columns)) for value in values)
        return Table(columns, self.width, self.faces, style=style).blocks(rows, empty=empty)

    def cut(self, words: str, width: float, style: Style, most: int) -> Block:
        """Wrapped text of at most *most* lines; what is cut off is reported."""
        lines = wrap(words, width, style, self.faces)
        if clamp(lines, most, width, style, self.faces) != lines:
            self.findings.append(f"shortened on paper, whole in the ledger: “{words}”")
        return text(words, width, style, self.faces, most=most)


def open_workshop(document: str, size: Paper, own: Path | None) -> Workshop:
    """Read the wording of *document* and load the faces."""
    common = read_wording("common", own=own)
    return Workshop(
        words=read_wording(document, own=own),
        common=common,
        cautions=read_wording("cautions", own=own),
        show=Shower(common),
        faces=typefaces(own_fonts(own=own)),
        width=text_width(size),
        findings=[],
        own=own,
    )


def cautions_for(place: str, cautions: Wording) -> tuple[str, ...]:
    """The cautions that `cautions.toml` gives to *place* (``label``, ``manifest`` …)."""
    return tuple(
        cautions.text(f"cautions.{name}.text")
        for name in cautions.names("cautions")
        if place in cautions.lines(f"cautions.{name}.where")
    )


def title_block(shop: Workshop, title: str, beneath: Sequence[str], caption: str, number: str, mark: str = "") -> Block:
    """The head of page 1: the title with lines *beneath* it, at the right the *number* that it is called by.

    *mark* is a word that must not be missed (a reprint), set in a filled bar under the number.
    """
    left_width, gap = shop.width * 0.62, 14.0
    right_width = shop.width - left_width - gap
    left = stack(
        [
            fitted(title, left_width, TITLE, 14, shop.faces),
            *(text(line, left_width, SMALL, shop.faces) for line in beneath),
        ]
    )
    right = [
        text(caption, right_width, CAPTION, shop.faces, align="right"),
        fitted(number, right_width, NUMBER, 8, shop.faces, align="right"),
    ]
    if mark:
        right += [space(2), _filled(mark, right_width, shop.faces)]
    body = beside([left, stack(right)], [left_width, right_width], gap=gap)

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.fill(x, y, shop.width, STRONG)
        body.draw(pen, x, y + 9)

    return Block(body.height + 9 + 8, draw)


def continued_head(shop: Workshop, title: str, number: str, name: str) -> Block:
    """The head of every later page: what it belongs to."""
    half = (shop.width - 10) / 2
    left = text(shop.common.text("words.continued", title=title), half, STRONG_SMALL, shop.faces, most=1)
    right = text(" · ".join(part for part in (number, name) if part), half, SMALL, shop.faces, align="right", most=1)

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.fill(x, y, shop.width, STRONG / 2)
        left.draw(pen, x, y + 4)
        right.draw(pen, x + half + 10, y + 4)
        pen.rule(x, y + 17, x + shop.width, y + 17, HAIR)

    return Block(24, draw)


def foot(shop: Workshop, anchor: Anchor, title: str) -> Callable[[int, int], Block]:
    """Makes the foot of page x of y: deference to local codes, the entry the paper rests on with its whole digest."""
    numbered = shop.width * 0.38
    beside_it = shop.width - numbered - 10
    rests = text(shop.common.text("foot.anchor", seq=anchor.seq, site=anchor.site), beside_it, FOOT, shop.faces)
    digest = text(digest_groups(anchor), beside_it, Style(FOOT.size, FOOT.leading, bold=True), shop.faces)
    deference = text(shop.common.text("foot.deference"), shop.width, FOOT, shop.faces)
    left = stack([rests, digest])

    def block(page: int, pages: int) -> Block:
        right = stack(
            [
                text(title, numbered, FOOT, shop.faces, align="right", most=1),
                text(
                    shop.common.text("foot.page", page=page, pages=pages),
                    numbered,
                    Style(FOOT.size, FOOT.leading, bold=True),
                    shop.faces,
                    align="right",
                ),
            ]
        )
        lower = beside([left, right], [beside_it, numbered], gap=10)

        def draw(pen: Pen, x: float, y: float) -> None:
            pen.rule(x, y + 6, x + shop.width, y + 6, FINE)
            deference.draw(pen, x, y + 9)
            lower.draw(pen, x, y + 10 + deference.height)

        return Block(10 + deference.height + lower.height, draw)

    return block


def party(shop: Workshop, role: str, who: Party, width: float) -> Block:
    """A practice, carrier or facility under the word for its part; whole, unless that would take half a page."""
    caption = [text(role, width, CAPTION, shop.faces)] if role else []
    lines = [line for line in who.address if line.strip()]
    lines += [shop.common.text("words.phone", phone=who.phone)] if who.phone else []
    lines += [shop.common.text("words.contact", contact=who.contact)] if who.contact else []
    lines += [shop.common.text("words.owner", owner=who.owner)] if who.owner else []
    lines += [f"{name} {number}" for name, number in who.ids]
    name = text(who.name, width, NAME, shop.faces)
    whole = stack([*caption, name, *(text(line, width, BODY, shop.faces) for line in lines)])
    if whole.height <= _HIGHEST_PARTY:
        return whole
    if len(lines) > _MOST_LINES:
        shop.findings.append(f"shortened on paper, whole in the ledger: address of “{who.name}”")
    cut = [shop.cut(line, width, BODY, 2) for line in lines[:_MOST_LINES]]
    return stack([*caption, shop.cut(who.name, width, NAME, 4), *cut])


def _filled(words: str, width: float, faces: Typefaces) -> Block:
    body = text(words, width - 10, Style(7.6, 10, bold=True, grey=1.0), faces, align="center")

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.fill(x, y, width, body.height + 5)
        body.draw(pen, x + 5, y + 2)

    return Block(body.height + 5, draw)
