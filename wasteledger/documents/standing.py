"""The binder's section of standing containers: each mass with its budget, and beneath it what is in it."""

from __future__ import annotations

from collections.abc import Sequence

from wasteledger.documents.blocks import SMALL, Block, text
from wasteledger.documents.furniture import Workshop
from wasteledger.documents.papers.standing import StandingContainer
from wasteledger.documents.tables import Row, Table
from wasteledger.documents.text import Style


def standing_blocks(shop: Workshop, standing: Sequence[StandingContainer], style: Style) -> list[Block]:
    """A row for each container; its content, an estimate, runs across beneath it."""
    columns = shop.words.columns("standing.columns", StandingContainer)
    rows = (
        Row(tuple(shop.cell(getattr(one, column.field)) for column in columns), _beneath(shop, one)) for one in standing
    )
    note = text(shop.words.text("notes.standing"), shop.width, SMALL, shop.faces).kept()
    table = Table(columns, shop.width, shop.faces, style=style)
    return [note, *table.blocks(rows, empty=shop.words.text("empty.standing"))]


def _beneath(shop: Workshop, one: StandingContainer) -> str:
    parts = [shop.words.text("standing.content", substance=name, amount=words) for name, words in one.content]
    return " ".join([*parts, *one.notes])
