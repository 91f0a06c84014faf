"""Pictures on pages: as blocks for any document, as a document of their own, and each as an SVG file."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from reportlab.graphics import renderPDF

from wasteledger.documents.blocks import SMALL, Block, space, stack, text
from wasteledger.documents.fonts import uncovered_finding
from wasteledger.documents.furniture import Workshop, continued_head, foot, open_workshop, title_block
from wasteledger.documents.pages import Plan, Printed, set_on_pages
from wasteledger.documents.papers import Basis, MassFigure
from wasteledger.documents.papers.pictures import ContainerPicture, Pictures, PicturesPaper, ReceivedPoint
from wasteledger.documents.pen import Pen
from wasteledger.documents.pictures.catch import draw_catch
from wasteledger.documents.pictures.fullness import Words, draw_container
from wasteledger.documents.pictures.received import can_draw, draw_received
from wasteledger.documents.pictures.sketch import Sketch
from wasteledger.documents.pictures.svg import svg_of
from wasteledger.documents.wording import read_wording
from wasteledger.settings import Paper

# The rows of a catch that a page of US Letter holds beside its title and its foot; A4 is higher.
_MOST_ROWS = 34


@dataclass(frozen=True, slots=True)
class SvgFile:
    """A picture as a file: a name of letters, digits, dots and hyphens, its title, and the text of the SVG."""

    name: str
    title: str
    text: str


@dataclass(frozen=True, slots=True)
class _ReceivedCells:
    """One row of the table under the picture of past pickups."""

    name: str
    pickup: str
    left_on: object
    before: MassFigure | None
    stated: MassFigure
    received: MassFigure


def draw(paper: PicturesPaper, size: Paper, *, own: Path | None = None) -> Printed:
    """The pictures as a PDF; *own* is the office's template folder, by default the one the environment names."""
    shop = open_workshop("pictures", size, own)
    title, show = shop.words.text("title"), shop.show
    period = shop.common.text("words.period", **{"from": show.day(paper.from_on), "to": show.day(paper.to_on)})
    prepared = shop.common.text("words.prepared", moment=show.moment(paper.prepared_at))
    plan = Plan(
        origin=shop.origin(f"{title}, {period}", paper.practice.name, paper.prepared_at),
        blocks=[
            title_block(shop, title, (shop.words.text("subject"), prepared), paper.practice.name, period),
            *picture_blocks(shop, paper.pictures, bookmarked=True),
        ],
        continued=continued_head(shop, title, period, paper.practice.name),
        foot=foot(shop, paper.anchor, f"{title}, {period}"),
        findings=shop.findings,
    )
    return set_on_pages(plan, size, shop.faces)


def picture_blocks(shop: Workshop, pictures: Pictures, *, bookmarked: bool = False) -> list[Block]:
    """The pictures as blocks of any document, each with its words beneath it, and a bookmark if that is asked for.

    What was cut to fit is added to the shop's findings.
    """
    shop = replace(shop, words=read_wording("pictures", own=shop.own))
    words = Words(shop.words, shop.show)
    blocks: list[Block] = []
    for container in pictures.containers:
        sketch = draw_container(container, words, shop.width, shop.faces)
        ahead = text(_looks_ahead(container, words), shop.width, SMALL, shop.faces)
        whole = stack([_block(shop, sketch), ahead])
        title = words.text("fullness.title", container=container.container)
        blocks += [space(8), replace(whole, anchor=title if bookmarked else "")]
    if pictures.catch is not None:
        for sketch in draw_catch(pictures.catch, words, shop.width, shop.faces, most_rows=_MOST_ROWS):
            blocks += [space(10), _block(shop, sketch)]
        blocks.append(text(_joined(words.text("catch.note"), pictures.catch.says), shop.width, SMALL, shop.faces))
    if can_draw(pictures.received):
        sketch = draw_received(pictures.received, words, shop.width, shop.faces)
        said = _joined(_agreement(pictures.received, words), words.text("received.note"))
        note = text(said, shop.width, SMALL, shop.faces)
        blocks += [space(10), stack([_block(shop, sketch), note]), space(4)]
        blocks += _table(shop, pictures.received)
    if not blocks:
        blocks.append(text(words.text("nothing"), shop.width, SMALL, shop.faces))
    return blocks


def svg_files(paper: PicturesPaper, *, own: Path | None = None) -> tuple[SvgFile, ...]:
    """Each picture as an SVG file, as wide as on US Letter."""
    shop = open_workshop("pictures", Paper.LETTER, own)
    words, pictures = Words(shop.words, shop.show), paper.pictures
    files = []
    for container in pictures.containers:
        sketch = draw_container(container, words, shop.width, shop.faces)
        title = words.text("fullness.title", container=container.container)
        says = "; ".join(course.says for course in container.courses if course.says)
        ahead = _looks_ahead(container, words)
        files.append(
            _file(sketch, f"fullness-{container.container}", title, _joined(f"{says}." if says else "", ahead))
        )
    if pictures.catch is not None:
        (sketch,) = draw_catch(pictures.catch, words, shop.width, shop.faces)
        rooms = [f"{room.total.name}: {room.total.says}." for room in pictures.catch.rooms]
        files.append(_file(sketch, "catch", words.text("catch.head"), _joined(pictures.catch.says, *rooms)))
    if can_draw(pictures.received):
        sketch = draw_received(pictures.received, words, shop.width, shop.faces)
        files.append(_file(sketch, "received", words.text("received.head"), _agreement(pictures.received, words)))
    return tuple(files)


def _block(shop: Workshop, sketch: Sketch) -> Block:
    shop.findings.extend(f"shortened on paper, whole in the ledger: “{words}”" for words in sketch.shortened)
    if sketch.uncovered:
        shop.findings.append(uncovered_finding(sketch.uncovered))

    def draw_it(pen: Pen, x: float, y: float) -> None:
        renderPDF.draw(sketch.drawing, pen.canvas, x, pen.page_height - y - sketch.height, showBoundary=False)

    return Block(sketch.height, draw_it)


def _looks_ahead(container: ContainerPicture, words: Words) -> str:
    """The look ahead in a sentence, with its reason; nothing where there is none."""
    fan = next((course.fan for course in container.courses if course.fan is not None), None)
    if fan is None:
        return ""
    chances = (("10", fan.p10_on), ("50", fan.p50_on), ("90", fan.p90_on))
    days = [
        words.text("fullness.chance_whole", percent=percent, day=words.show.day(day))
        for percent, day in chances
        if day is not None
    ]
    never = next((percent for percent, day in chances if day is None), None)
    if not days:
        return _joined(words.text("fullness.full_never", percent=never), fan.reason)
    if never is not None:
        return _joined(words.text("fullness.full_until", days=", ".join(days), percent=never), fan.reason)
    return _joined(words.text("fullness.full", days=", ".join(days)), fan.reason)


def _agreement(points: tuple[ReceivedPoint, ...], words: Words) -> str:
    return words.text("received.agree", agree=sum(point.agrees for point in points), of=len(points))


def _table(shop: Workshop, points: tuple[ReceivedPoint, ...]) -> list[Block]:
    rows = [
        _ReceivedCells(
            point.name,
            point.pickup,
            point.left_on,
            MassFigure(Basis.ESTIMATE, point.before_says) if point.before is not None else None,
            MassFigure(point.basis, point.says),
            MassFigure(Basis.WEIGHED, shop.show.mass(point.received.value), point.received.value),
        )
        for point in points
    ]
    return shop.table("received.columns", _ReceivedCells, rows)


def _file(sketch: Sketch, name: str, title: str, description: str) -> SvgFile:
    return SvgFile(name, title, svg_of(sketch, name, title, description or title))


def _joined(*sentences: str) -> str:
    return " ".join(sentence for sentence in sentences if sentence)
