"""The transfer manifest: the office's own record of what was handed to a carrier."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from wasteledger.documents.blocks import (
    BODY,
    CAPTION,
    SMALL,
    STRONG_BODY,
    STRONG_SMALL,
    Block,
    barred,
    beside,
    column_width,
    framed,
    heading,
    in_columns,
    marked,
    numbered,
    rule,
    space,
    stack,
    text,
    tick,
    write_line,
    write_lines,
)
from wasteledger.documents.furniture import Workshop, continued_head, foot, open_workshop, party, title_block
from wasteledger.documents.pages import Plan, Printed, set_on_pages
from wasteledger.documents.papers import Basis, ManifestContainer, ManifestPaper, MassFigure
from wasteledger.documents.tables import Cell, Row, Table, picked
from wasteledger.settings import Paper

_GAP = 14.0


def draw(paper: ManifestPaper, size: Paper, *, own: Path | None = None) -> Printed:
    """The manifest as a PDF; *own* is the office's template folder, by default the one the environment names."""
    shop = open_workshop("manifest", size, own)
    title, number = shop.words.text("title"), paper.number
    if paper.reprinted_at:
        number = shop.words.text("reprint_short", number=number)
    blocks = [
        _title(shop, paper),
        barred(text(shop.words.text("face"), shop.width - 8, STRONG_SMALL, shop.faces)),
        space(6),
        _parties(shop, paper),
        space(4),
        _key_facts(shop, paper),
        *_containers(shop, paper),
        *_totals(shop, paper),
        *_remark(shop, paper),
        *_codes_and_questions(shop, paper),
        *_cautions(shop, paper),
        *_signatures(shop, paper),
        *_receipt(shop),
    ]
    origin = shop.origin(f"{title} {paper.number}", paper.practice.name, paper.reprinted_at or paper.prepared_at)
    plan = Plan(
        origin=origin,
        blocks=blocks,
        continued=continued_head(shop, title, number, paper.practice.name),
        foot=foot(shop, paper.anchor, f"{title} {number}"),
        findings=shop.findings,
    )
    return set_on_pages(plan, size, shop.faces)


@dataclass(frozen=True, slots=True)
class _ContainerCells:
    """One row of the container table; the wording picks among these fields."""

    number: Cell
    container: Cell
    stream: Cell
    dates: Cell
    counts: Cell
    gross: Cell
    tare: Cell
    net: Cell
    basis: Cell


def _title(shop: Workshop, paper: ManifestPaper) -> Block:
    moment = shop.show.moment(paper.prepared_at)
    prepared = shop.common.text("words.prepared_by", moment=moment, person=paper.prepared_by)
    mark = ""
    if paper.reprinted_at:
        mark = shop.words.text("reprint", moment=shop.show.moment(paper.reprinted_at))
    return title_block(
        shop,
        shop.words.text("title"),
        (shop.words.text("subject"), prepared),
        shop.words.text("head.number"),
        paper.number,
        mark,
    )


def _parties(shop: Workshop, paper: ManifestPaper) -> Block:
    width = column_width(shop.width, 3, _GAP)
    parts = (("practice", paper.practice), ("carrier", paper.carrier), ("facility", paper.facility))
    return beside(
        [party(shop, shop.words.text(f"parties.{role}"), who, width) for role, who in parts], [width] * 3, gap=_GAP
    )


def _key_facts(shop: Workshop, paper: ManifestPaper) -> Block:
    room = shop.width - 3 * _GAP
    facts = (
        ("planned", shop.show.day(paper.planned_on), 0.21),
        ("left", shop.show.day(paper.left_on), 0.21),
        ("packages", str(len(paper.containers)), 0.13),
        ("contact_24h", paper.emergency_contact or shop.words.text("head.not_named"), 0.45),
    )
    widths = [room * share for *_, share in facts]
    cells = []
    for (name, value, _), width in zip(facts, widths, strict=True):
        said = shop.cut(value, width, STRONG_BODY, 8) if value else write_line(width, STRONG_BODY.leading)
        cells.append(stack([text(shop.words.text(f"head.{name}"), width, CAPTION, shop.faces), said]))
    return stack([rule(shop.width, below=5), beside(cells, widths, gap=_GAP)])


def _containers(shop: Workshop, paper: ManifestPaper) -> list[Block]:
    columns = shop.words.columns("containers.columns", _ContainerCells)
    rows = []
    for number, container in enumerate(paper.containers, start=1):
        rows.append(Row(picked(columns, _cells(shop, number, container)), beneath=container.remark))
    table = Table(columns, shop.width, shop.faces)
    return [
        heading(shop.words.text("containers.heading"), shop.width, shop.faces),
        *table.blocks(rows, empty=shop.words.text("containers.none")),
    ]


def _cells(shop: Workshop, number: int, container: ManifestContainer) -> _ContainerCells:
    words, show = shop.words, shop.show
    counts = show.counts(container.counts)
    contents = [container.stream, container.contents]
    contents += [words.text("containers.in_it", counts=counts)] if counts else []
    contents += [words.text("containers.condition", condition=container.condition)] if container.condition else []
    dates = []
    if container.first_waste_on:
        dates.append(words.text("containers.first_waste", day=show.short_day(container.first_waste_on)))
    if container.closed_on:
        dates.append(words.text("containers.closed", day=show.short_day(container.closed_on)))
    return _ContainerCells(
        number=Cell(str(number)),
        container=Cell(container.id + (f"\n{container.kind}" if container.kind else "")),
        stream=Cell("\n".join(part for part in contents if part)),
        dates=Cell("\n".join(dates)),
        counts=Cell(counts),
        gross=Cell(show.mass(container.gross_mg)),
        tare=Cell(show.mass(container.tare_mg)),
        net=Cell(container.net.statement, bold=True),
        basis=Cell(show.basis(container.net.basis), basis=container.net.basis),
    )


def _totals(shop: Workshop, paper: ManifestPaper) -> list[Block]:
    label, gap = shop.width * 0.16, 8.0
    value = shop.width * 0.62 - label - gap
    words = shop.words

    def line(name: str, basis: Basis | None, figure: MassFigure | None, statement: str = "") -> Block:
        said = figure.statement if figure else statement or words.text("totals.nothing")
        shown = text(said, value, STRONG_BODY, shop.faces)
        name_block = text(words.text(f"totals.{name}"), label, BODY, shop.faces)
        if basis:
            name_block = marked(basis, words.text(f"totals.{name}"), label, shop.faces)
        return beside([name_block, shown], [label, value], gap=gap)

    lines = [
        line("weighed", Basis.WEIGHED, paper.weighed_total),
        line("estimated", Basis.ESTIMATE, paper.estimated_total),
    ]
    lines += [line("combined", None, None, paper.combined)] if paper.combined else []
    aside = shop.width - label - value - 2 * gap
    key = stack(
        [
            text(words.text("totals.kept_apart"), aside, SMALL, shop.faces),
            marked(Basis.WEIGHED, shop.common.text("basis.key_weighed"), aside, shop.faces, style=SMALL),
            marked(Basis.ESTIMATE, shop.common.text("basis.key_estimate"), aside, shop.faces, style=SMALL),
        ]
    )
    both = beside([stack(lines, gap=2), key], [label + value + gap, aside], gap=gap)
    return [heading(words.text("totals.heading"), shop.width, shop.faces), both]


def _codes_and_questions(shop: Workshop, paper: ManifestPaper) -> list[Block]:
    both = bool(paper.codes and paper.questions)
    half = column_width(shop.width, 2, _GAP)
    if both:
        sides = [_codes(shop, paper, half), _questions(shop, paper, half)]
        # Side by side only while each side is short: a block is never cut at the end of a page.
        if max(sum(block.height for block in side) for side in sides) <= 150:
            return [beside([stack(side) for side in sides], [half, half], gap=_GAP)]
    return [*_codes(shop, paper, shop.width), *_questions(shop, paper, shop.width)]


def _codes(shop: Workshop, paper: ManifestPaper, width: float) -> list[Block]:
    if not paper.codes:
        return []
    lines: list[Block] = []
    for code in paper.codes:
        said = shop.words.text("codes.line", code=code.code, words=code.words, named_by=code.named_by)
        lines.append(text(said, width, SMALL, shop.faces))
        # No wording of an office's own leaves the mark out.
        lines += [text(code.mark, width, STRONG_SMALL, shop.faces)] if code.mark else []
    return [heading(shop.words.text("codes.heading"), width, shop.faces), *lines]


def _questions(shop: Workshop, paper: ManifestPaper, width: float) -> list[Block]:
    if not paper.questions:
        return []
    return [
        heading(shop.words.text("questions.heading"), width, shop.faces),
        *(tick(question, width, shop.faces) for question in paper.questions),
    ]


def _remark(shop: Workshop, paper: ManifestPaper) -> list[Block]:
    if not paper.remark:
        return []
    return [
        heading(shop.words.text("remark.heading"), shop.width, shop.faces),
        text(paper.remark, shop.width, SMALL, shop.faces),
    ]


def _cautions(shop: Workshop, paper: ManifestPaper) -> list[Block]:
    width = column_width(shop.width, 2, _GAP)
    lines = (*shop.cautions_for("manifest"), *paper.cautions)
    rules = "; ".join(paper.ordinances)
    local = shop.words.text("cautions.local", ordinances=rules) if rules else shop.words.text("cautions.local_none")
    blocks = numbered(lines, width, shop.faces)
    # A few stand side by side; many flow over pages one under the other.
    if len(lines) <= 12:
        blocks = [in_columns(blocks, 2, shop.width, gap=_GAP)]
    else:
        blocks = numbered(lines, shop.width, shop.faces)
    return [
        heading(shop.words.text("cautions.heading"), shop.width, shop.faces),
        *blocks,
        space(2),
        text(local, shop.width, STRONG_SMALL, shop.faces),
    ]


def _signatures(shop: Workshop, paper: ManifestPaper) -> list[Block]:
    width = column_width(shop.width, 3, _GAP)
    lines = shop.words.lines("signatures.lines")
    columns = [
        stack(
            [
                text(shop.words.text(f"signatures.{role}"), width, STRONG_SMALL, shop.faces),
                text(name, width, SMALL, shop.faces, most=2),
                write_lines(lines, width, shop.faces, room=16.5),
            ]
        )
        for role, name in (
            ("practice", paper.practice.name),
            ("carrier", paper.carrier.name),
            ("facility", paper.facility.name),
        )
    ]
    return [
        heading(shop.words.text("signatures.heading"), shop.width, shop.faces),
        beside(columns, [width] * 3, gap=_GAP),
        space(10),
    ]


def _receipt(shop: Workshop) -> list[Block]:
    inner = shop.width - 12
    left = inner * 0.42
    right = inner - left - _GAP
    ticks = stack([tick(words, left, shop.faces) for words in shop.words.lines("receipt.ticks")], gap=2)
    lines = write_lines(shop.words.lines("receipt.lines"), right, shop.faces, room=16)
    body = stack(
        [
            text(shop.words.text("receipt.heading"), inner, STRONG_BODY, shop.faces),
            space(3),
            beside([ticks, lines], [left, right], gap=_GAP),
        ]
    )
    return [framed(body, shop.width)]
