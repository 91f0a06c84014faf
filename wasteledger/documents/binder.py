"""The inspection binder: tables of the whole record of a period, with contents, bookmarks and how to check it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from wasteledger.documents.blocks import (
    BODY,
    CAPTION,
    SMALL,
    STRONG_BODY,
    STRONG_SMALL,
    Block,
    beside,
    column_width,
    heading,
    numbered,
    space,
    stack,
    text,
)
from wasteledger.documents.deposit_log import blank_blocks, coverage_facts, deposit_blocks
from wasteledger.documents.furniture import Workshop, continued_head, foot, open_workshop, party, title_block
from wasteledger.documents.pages import Plan, Printed, set_on_pages
from wasteledger.documents.papers import (
    BinderPaper,
    CleanerRow,
    ContainerMovement,
    CorrectionRow,
    CoverageMonth,
    Equipment,
    OfficeRow,
    RepairRow,
    SeparatorRow,
    Shipment,
)
from wasteledger.documents.pen import HAIR, RULE_GREY, Pen
from wasteledger.documents.pictures import picture_blocks
from wasteledger.documents.show import share_percent
from wasteledger.documents.standing import standing_blocks
from wasteledger.documents.tables import Cell, Row, Table, picked
from wasteledger.documents.text import Style
from wasteledger.documents.wording import BadWording
from wasteledger.settings import Paper

_GAP = 14.0
_ROW = Style(7.1, 9.1)


def draw(paper: BinderPaper, size: Paper, *, own: Path | None = None) -> Printed:
    """The binder as a PDF; *own* is the office's template folder, by default the one the environment names.

    Raises:
        BadWording: The wording names a section that the binder does not have.
    """
    shop = open_workshop("binder", size, own)
    title, show = shop.words.text("title"), shop.show
    period = shop.common.text("words.period", **{"from": show.day(paper.from_on), "to": show.day(paper.to_on)})
    prepared = shop.common.text("words.prepared", moment=show.moment(paper.prepared_at))
    names = shop.words.lines("sections")
    if unknown := [name for name in names if name not in _SECTIONS]:
        faults = [f"{shop.words.source('sections')}: sections has no “{name}”" for name in unknown]
        raise BadWording(faults)
    page_of: dict[str, int] = {}
    blocks = [
        title_block(shop, title, (shop.words.text("subject"), prepared), paper.practice.name, period),
        *_rules(shop, paper),
        *_contents(shop, names, page_of),
    ]
    for number, name in enumerate(names, start=1):
        head = heading(f"{number}. {shop.words.text(f'headings.{name}')}", shop.width, shop.faces, above=16)
        blocks += [replace(head, anchor=shop.words.text(f"headings.{name}")), *_SECTIONS[name](shop, paper)]
    plan = Plan(
        origin=shop.origin(f"{title}, {period}", paper.practice.name, paper.prepared_at),
        blocks=blocks,
        continued=continued_head(shop, title, period, paper.practice.name),
        foot=foot(shop, paper.anchor, f"{title}, {period}"),
        findings=shop.findings,
        page_of=page_of,
    )
    return set_on_pages(plan, size, shop.faces)


@dataclass(frozen=True, slots=True)
class _MonthCells:
    """What the table of months can show."""

    month: Cell
    made: Cell
    due: Cell
    share: Cell
    blank: Cell
    with_reason: Cell
    entered_later: Cell


@dataclass(frozen=True, slots=True)
class _OfficeCells:
    """What the table of the office's doings can show."""

    entry: Cell
    on: Cell
    sort: Cell
    says: Cell
    paper: Cell
    person: Cell


def _rules(shop: Workshop, paper: BinderPaper) -> list[Block]:
    lines = paper.rules or (shop.words.text("rules_none"),)
    return [
        text(shop.words.text("rules"), shop.width, STRONG_SMALL, shop.faces).kept(),
        *(text(line, shop.width, SMALL, shop.faces) for line in lines),
    ]


def _contents(shop: Workshop, names: Sequence[str], page_of: dict[str, int]) -> list[Block]:
    # The page numbers are known only when all blocks stand on their pages, which is before any of them is drawn.
    number_width = 40.0
    width = shop.width - number_width
    blocks = [heading(shop.words.text("contents"), shop.width, shop.faces)]
    for number, name in enumerate(names, start=1):
        anchor = shop.words.text(f"headings.{name}")
        body = text(f"{number}. {anchor}", width, BODY, shop.faces)

        def draw_line(pen: Pen, x: float, y: float, anchor: str = anchor, body: Block = body) -> None:
            body.draw(pen, x, y + 1)
            page = str(page_of.get(anchor, ""))
            pen.line(page, x + width, y + 1, number_width, STRONG_BODY, "right")
            pen.rule(x, y + body.height + 2, x + shop.width, y + body.height + 2, HAIR, RULE_GREY)

        blocks.append(Block(body.height + 3, draw_line))
    return blocks


def _facility(shop: Workshop, paper: BinderPaper) -> list[Block]:
    width = column_width(shop.width, 3, _GAP)
    facts = [
        stack([text(name, width, CAPTION, shop.faces), shop.cut(value or "–", width, BODY, 12)])
        for name, value in paper.facility
    ]
    rows = [facts[start : start + 3] for start in range(0, len(facts), 3)]
    blocks = [party(shop, "", paper.practice, shop.width)]
    for row in rows:
        blocks += [space(3), beside(row, [width] * len(row), gap=_GAP)]
    empty = shop.words.text("empty.equipment")
    return [
        *blocks,
        space(5),
        *shop.table("equipment.columns", Equipment, paper.equipment, empty=empty, style=_ROW),
    ]


def _coverage(shop: Workshop, paper: BinderPaper) -> list[Block]:
    columns = shop.words.columns("months.columns", _MonthCells)
    rows = (Row(picked(columns, _month_cells(shop, month))) for month in paper.months)
    months = Table(columns, shop.width, shop.faces, style=_ROW).blocks(rows, empty=shop.words.text("empty.months"))
    return [
        _note(shop, "coverage"),
        space(3).kept(),
        coverage_facts(shop, paper.coverage),
        space(4),
        *months,
        *blank_blocks(shop, paper.coverage),
    ]


def _month_cells(shop: Workshop, month: CoverageMonth) -> _MonthCells:
    share = share_percent(month.looks_made, month.looks_due) if month.looks_due else "–"
    return _MonthCells(
        month=Cell(shop.show.month(month.month)),
        made=Cell(str(month.looks_made)),
        due=Cell(str(month.looks_due)),
        share=Cell(share),
        blank=Cell(str(max(0, month.looks_due - month.looks_made))),
        with_reason=Cell(str(month.with_reason)),
        entered_later=Cell(str(month.entered_later)),
    )


def _separator(shop: Workshop, paper: BinderPaper) -> list[Block]:
    return _plain(shop, "separator", SeparatorRow, paper.separator)


def _movements(shop: Workshop, paper: BinderPaper) -> list[Block]:
    return [_note(shop, "movements"), *_plain(shop, "movements", ContainerMovement, paper.movements)]


def _standing(shop: Workshop, paper: BinderPaper) -> list[Block]:
    return standing_blocks(shop, paper.standing, _ROW)


def _shipments(shop: Workshop, paper: BinderPaper) -> list[Block]:
    columns = shop.words.columns("shipments.columns", Shipment)
    rows = (
        Row(tuple(shop.cell(getattr(shipment, column.field)) for column in columns), _papers_of(shop, shipment))
        for shipment in paper.shipments
    )
    table = Table(columns, shop.width, shop.faces, style=_ROW)
    return [_note(shop, "shipments"), *table.blocks(rows, empty=shop.words.text("empty.shipments"))]


def _papers_of(shop: Workshop, shipment: Shipment) -> str:
    words = shop.words
    receipt = words.text("shipments.receipt_missing")
    if shipment.receipt_entry is not None:
        receipt = words.text("shipments.receipt_entry", entry=shipment.receipt_entry)
    elif shipment.days_open is not None:
        receipt = words.text("shipments.receipt_open", days=shipment.days_open)
    manifest = "–" if shipment.manifest_entry is None else str(shipment.manifest_entry)
    parts = [words.text("shipments.papers", manifest=manifest, receipt=receipt)]
    for name in ("certificate", "final_site", "difference"):
        if value := getattr(shipment, name):
            place = "site" if name == "final_site" else name
            parts.append(words.text(f"shipments.{name}", **{place: value}))
    return " ".join(parts)


def _deposits(shop: Workshop, paper: BinderPaper) -> list[Block]:
    return deposit_blocks(shop, paper.deposits)


def _repairs(shop: Workshop, paper: BinderPaper) -> list[Block]:
    return _plain(shop, "repairs", RepairRow, paper.repairs)


def _pictures(shop: Workshop, paper: BinderPaper) -> list[Block]:
    return picture_blocks(shop, paper.pictures)


def _cleaners(shop: Workshop, paper: BinderPaper) -> list[Block]:
    caution = " ".join(shop.cautions_for("cleaner"))
    note = [text(caution, shop.width, SMALL, shop.faces).kept()] if caution else []
    return [*note, *_plain(shop, "cleaners", CleanerRow, paper.cleaners)]


def _office(shop: Workshop, paper: BinderPaper) -> list[Block]:
    columns = shop.words.columns("office.columns", _OfficeCells)
    rows = (Row(picked(columns, _office_cells(shop, row))) for row in paper.office)
    return Table(columns, shop.width, shop.faces, style=_ROW).blocks(rows, empty=shop.words.text("empty.office"))


def _office_cells(shop: Workshop, row: OfficeRow) -> _OfficeCells:
    said = row.sort
    if row.sort == "duty" and row.due_on is not None:
        said = "duty_on_time" if row.on <= row.due_on else "duty_late"
    elif row.sort == "paper" and row.whose:
        said = "paper_about"
    elif row.sort == "statement" and row.why:
        said = "denied"
    elif row.sort == "cleaning" and row.count > 1:
        said = "cleanings"
    due_on = shop.show.short_day(row.due_on) if row.due_on else ""
    says = shop.words.text(
        f"office.says.{said}", what=row.what, whose=row.whose, due_on=due_on, why=row.why, count=row.count
    )
    return _OfficeCells(
        entry=Cell(str(row.entry)),
        on=shop.cell(row.on),
        sort=Cell(shop.words.text(f"office.sorts.{row.sort}")),
        says=Cell(says),
        paper=Cell(row.paper),
        person=Cell(row.person),
    )


def _corrections(shop: Workshop, paper: BinderPaper) -> list[Block]:
    return [_note(shop, "corrections"), *_plain(shop, "corrections", CorrectionRow, paper.corrections)]


def _findings(shop: Workshop, paper: BinderPaper) -> list[Block]:
    if not paper.findings:
        return [text(shop.words.text("empty.findings"), shop.width, SMALL, shop.faces)]
    return numbered(paper.findings, shop.width, shop.faces)


def _verification(shop: Workshop, paper: BinderPaper) -> list[Block]:
    check, words = paper.verification, shop.words
    said = words.text("verification.checked", entries=check.entries)
    if check.first_on and check.last_on:
        first, last = shop.show.day(check.first_on), shop.show.day(check.last_on)
        said = words.text("verification.checked_days", entries=check.entries, first=first, last=last)
    steps = [
        step.replace("{seq}", str(paper.anchor.seq)).replace("{site}", paper.anchor.site)
        for step in words.lines("verification.steps")
    ]
    return [
        text(said, shop.width, BODY, shop.faces),
        text(check.statement, shop.width, STRONG_BODY, shop.faces),
        space(4),
        *numbered(steps, shop.width, shop.faces),
    ]


def _plain(shop: Workshop, name: str, row: type, values: Sequence[object]) -> list[Block]:
    return shop.table(f"{name}.columns", row, values, empty=shop.words.text(f"empty.{name}"), style=_ROW)


def _note(shop: Workshop, name: str) -> Block:
    return text(shop.words.text(f"notes.{name}"), shop.width, SMALL, shop.faces).kept()


_SECTIONS: dict[str, Callable[[Workshop, BinderPaper], list[Block]]] = {
    "facility": _facility,
    "coverage": _coverage,
    "separator": _separator,
    "movements": _movements,
    "standing": _standing,
    "shipments": _shipments,
    "pictures": _pictures,
    "deposits": _deposits,
    "repairs": _repairs,
    "cleaners": _cleaners,
    "office": _office,
    "corrections": _corrections,
    "findings": _findings,
    "verification": _verification,
}
