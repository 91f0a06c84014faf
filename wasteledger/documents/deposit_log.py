"""The deposit log of a period: what went into which container, with the coverage of the looks that were due."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from wasteledger.documents.blocks import (
    SMALL,
    STRONG_SMALL,
    Block,
    beside,
    captioned,
    column_width,
    heading,
    space,
    text,
)
from wasteledger.documents.furniture import Workshop, continued_head, foot, open_workshop, title_block
from wasteledger.documents.pages import Plan, Printed, set_on_pages
from wasteledger.documents.papers import Blank, ContainerSum, Coverage, DepositLogPaper, DepositRow
from wasteledger.documents.show import share_percent
from wasteledger.documents.tables import Cell, Row, Table, picked
from wasteledger.documents.text import Style
from wasteledger.settings import Paper

_GAP = 14.0
_BIG = Style(15, 19, bold=True)
_ROW = Style(7.1, 9.1)


def draw(paper: DepositLogPaper, size: Paper, *, own: Path | None = None) -> Printed:
    """The deposit log as a PDF; *own* is the office's template folder, by default the one the environment names."""
    shop = open_workshop("deposit_log", size, own)
    title, show = shop.words.text("title"), shop.show
    period = shop.common.text("words.period", **{"from": show.day(paper.from_on), "to": show.day(paper.to_on)})
    prepared = shop.common.text("words.prepared", moment=show.moment(paper.prepared_at))
    cautions = " ".join(shop.cautions_for("log"))
    blocks = [
        title_block(shop, title, (shop.words.text("subject"), prepared), paper.practice.name, period),
        heading(shop.words.text("coverage.heading"), shop.width, shop.faces),
        coverage_facts(shop, paper.coverage),
        *blank_blocks(shop, paper.coverage),
        *_containers(shop, paper),
        heading(shop.words.text("rows.heading"), shop.width, shop.faces),
        text(f"{shop.words.text('rows.key')} {cautions}".strip(), shop.width, SMALL, shop.faces).kept(),
        *deposit_blocks(shop, paper.rows),
    ]
    plan = Plan(
        origin=shop.origin(f"{title}, {period}", paper.practice.name, paper.prepared_at),
        blocks=blocks,
        continued=continued_head(shop, title, period, paper.practice.name),
        foot=foot(shop, paper.anchor, f"{title}, {period}"),
        findings=shop.findings,
    )
    return set_on_pages(plan, size, shop.faces)


def coverage_facts(shop: Workshop, coverage: Coverage) -> Block:
    """The share of looks made, as fraction and as percent, and how many are blank."""
    words, width = shop.words, column_width(shop.width, 3, _GAP)
    fraction = words.text("coverage.fraction", made=coverage.looks_made, due=coverage.looks_due)
    percent = words.text("coverage.nothing_due")
    if coverage.looks_due:
        percent = share_percent(coverage.looks_made, coverage.looks_due)
    missing = max(0, coverage.looks_due - coverage.looks_made)
    facts = (("made", fraction), ("percent", percent), ("blanks", str(missing)))
    cells = [captioned(words.text(f"coverage.{name}"), value, width, shop.faces, style=_BIG) for name, value in facts]
    return beside(cells, [width] * 3, gap=_GAP)


def blank_blocks(shop: Workshop, coverage: Coverage) -> list[Block]:
    """Every blank by day and room; one sentence where there is none."""
    if coverage.looks_due and coverage.looks_made >= coverage.looks_due:
        return [text(shop.words.text("coverage.no_blanks"), shop.width, SMALL, shop.faces)]
    if not coverage.blanks:
        return []
    columns = shop.words.columns("coverage.columns", _BlankCells)
    rows = (Row(picked(columns, _blank_cells(shop, blank))) for blank in coverage.blanks)
    return [
        space(4).kept(),
        text(shop.words.text("coverage.blanks_heading"), shop.width, STRONG_SMALL, shop.faces).kept(),
        *Table(columns, shop.width, shop.faces, style=_ROW).blocks(rows),
    ]


def deposit_blocks(shop: Workshop, deposits: Iterable[DepositRow]) -> list[Block]:
    """The rows of the log, corrected ones struck through."""
    columns = shop.words.columns("rows.columns", _DepositCells)
    rows = (
        Row(picked(columns, _deposit_cells(shop, row)), _beneath(shop, row), struck=row.corrected_by is not None)
        for row in deposits
    )
    return Table(columns, shop.width, shop.faces, style=_ROW).blocks(rows, empty=shop.words.text("rows.none"))


@dataclass(frozen=True, slots=True)
class _BlankCells:
    """What the table of blanks can show."""

    on: Cell
    room: Cell
    looks: Cell
    reason: Cell


@dataclass(frozen=True, slots=True)
class _ContainerCells:
    """What the table of containers can show."""

    container: Cell
    stream: Cell
    opened_on: Cell
    deposits: Cell
    count: Cell
    mass: Cell
    basis: Cell
    state: Cell


@dataclass(frozen=True, slots=True)
class _DepositCells:
    """What the log's table can show."""

    entry: Cell
    day: Cell
    time: Cell
    person: Cell
    place: Cell
    what: Cell
    stream: Cell
    count: Cell
    mass: Cell
    basis: Cell
    container: Cell


def _containers(shop: Workshop, paper: DepositLogPaper) -> list[Block]:
    columns = shop.words.columns("containers.columns", _ContainerCells)
    rows = (Row(picked(columns, _container_cells(shop, container))) for container in paper.containers)
    table = Table(columns, shop.width, shop.faces, style=_ROW)
    return [
        heading(shop.words.text("containers.heading"), shop.width, shop.faces),
        *table.blocks(rows, empty=shop.words.text("containers.none")),
    ]


def _container_cells(shop: Workshop, container: ContainerSum) -> _ContainerCells:
    return _ContainerCells(
        container=Cell(container.container, bold=True),
        stream=Cell(container.stream),
        opened_on=Cell(shop.show.short_day(container.opened_on)),
        deposits=Cell(str(container.deposits)),
        count=Cell(str(container.count)),
        mass=Cell(container.mass.statement),
        basis=Cell(shop.show.basis(container.mass.basis), basis=container.mass.basis),
        state=Cell(container.state),
    )


def _blank_cells(shop: Workshop, blank: Blank) -> _BlankCells:
    return _BlankCells(
        on=Cell(shop.show.short_day(blank.on)),
        room=Cell(blank.room),
        looks=Cell(str(blank.looks)),
        reason=Cell(blank.reason or shop.words.text("coverage.blank_reason")),
    )


def _deposit_cells(shop: Workshop, row: DepositRow) -> _DepositCells:
    what = row.what if row.stream in ("", row.what) else f"{row.what}\n{row.stream}"
    basis = row.mass.basis if row.mass else None
    return _DepositCells(
        entry=Cell(str(row.entry)),
        day=Cell(shop.show.short_day(row.happened_at.date())),
        time=Cell(shop.show.time(row.happened_at)),
        person=Cell(row.person),
        place=Cell(row.place),
        what=Cell(what),
        stream=Cell(row.stream),
        count=Cell("" if row.count is None else str(row.count)),
        mass=Cell(row.mass.statement if row.mass else ""),
        basis=Cell(shop.show.basis(basis), basis=basis) if basis else Cell(""),
        container=Cell(row.container),
    )


def _beneath(shop: Workshop, row: DepositRow) -> str:
    notes = []
    if row.recorded_at is not None:
        notes.append(shop.words.text("rows.entered_later", moment=shop.show.short_moment(row.recorded_at)))
    if row.corrected_by is not None:
        notes.append(shop.words.text("rows.struck", entry=row.corrected_by, reason=row.reason))
    if row.corrects is not None:
        notes.append(shop.words.text("rows.corrects", entry=row.corrects, reason=row.reason))
    return " ".join(note.strip() for note in notes)
