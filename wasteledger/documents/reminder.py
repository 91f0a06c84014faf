"""A short letter that asks for the receipt of a pickup."""

from __future__ import annotations

from pathlib import Path

from wasteledger.documents.blocks import (
    BODY,
    HEADING,
    STRONG_BODY,
    Block,
    beside,
    column_width,
    numbered,
    space,
    stack,
    text,
    write_lines,
)
from wasteledger.documents.furniture import continued_head, foot, open_workshop, party, title_block
from wasteledger.documents.pages import Plan, Printed, set_on_pages
from wasteledger.documents.papers import ReminderPaper, SentContainer
from wasteledger.settings import Paper

_GAP = 24.0


def draw(paper: ReminderPaper, size: Paper, *, own: Path | None = None) -> Printed:
    """The letter as a PDF; *own* is the office's template folder, by default the one the environment names."""
    shop = open_workshop("reminder", size, own)
    words, show, faces = shop.words, shop.show, shop.faces
    title, half = words.text("title"), column_width(shop.width, 2, _GAP)
    opening = words.text(
        "opening_one" if len(paper.containers) == 1 else "opening",
        left=show.day(paper.left_on),
        facility=paper.facility.name,
        days=paper.days_open,
    )

    def strong(key: str, above: float = 10) -> list[Block]:
        return [space(above), text(words.text(key), shop.width, STRONG_BODY, faces).kept(), space(2).kept()]

    blocks = [
        title_block(shop, title, (show.day(paper.written_on),), words.text("number"), paper.number),
        beside(
            [party(shop, words.text("to"), paper.to, half), party(shop, words.text("from"), paper.practice, half)],
            [half, half],
            gap=_GAP,
        ),
        space(22),
        text(words.text("about", number=paper.number, left=show.day(paper.left_on)), shop.width, HEADING, faces),
        space(8),
        text(opening, shop.width, BODY, faces),
        *strong("containers_heading"),
        *shop.table("columns", SentContainer, paper.containers),
        *strong("asks_heading", 14),
        *numbered(words.lines("asks"), shop.width, faces, style=BODY),
    ]
    if paper.earlier:
        blocks += strong("earlier_heading")
        blocks += [text(f"{show.day(day)}: {what}", shop.width, BODY, faces) for day, what in paper.earlier]
    cautions = " ".join(shop.cautions_for("receipt"))
    signed = words.text("signed", signer=paper.signer, practice=paper.practice.name)
    blocks += [
        space(10),
        text(f"{words.text('closing')} {cautions}".strip(), shop.width, BODY, faces),
        space(14),
        stack(
            [
                write_lines([words.text("signature")], half, faces, room=30),
                text(signed, shop.width, BODY, faces),
            ]
        ),
    ]
    plan = Plan(
        origin=shop.origin(f"{title}, {paper.number}", paper.practice.name, None),
        blocks=blocks,
        continued=continued_head(shop, title, paper.number, paper.practice.name),
        foot=foot(shop, paper.anchor, f"{title}, {paper.number}"),
        findings=shop.findings,
    )
    return set_on_pages(plan, size, faces)
