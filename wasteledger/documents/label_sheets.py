"""Sheets of labels: where each label lies, from the dimensions that the wording states."""

from __future__ import annotations

from dataclasses import dataclass

from wasteledger.documents.pages import page_box
from wasteledger.documents.wording import BadWording, Wording
from wasteledger.errors import NotUnderstood
from wasteledger.settings import Paper

POINTS_PER_MM = 72 / 25.4


class UnknownSheet(NotUnderstood):
    """No label sheet of that name is described for that page size."""

    code = "unknown-sheet"


class NoSuchPlace(NotUnderstood):
    """The first place to print on lies outside the sheet."""

    code = "no-such-place"


@dataclass(frozen=True, slots=True)
class Sheet:
    """Labels in columns and rows on a page; all lengths in points."""

    columns: int
    rows: int
    width: float
    height: float
    left: float
    top: float
    gap_x: float
    gap_y: float

    @property
    def places(self) -> int:
        """How many labels fit on it."""
        return self.columns * self.rows

    def place(self, number: int) -> tuple[float, float]:
        """Left and top of the label at *number*, counted from 0 by rows."""
        row, column = divmod(number, self.columns)
        return self.left + column * (self.width + self.gap_x), self.top + row * (self.height + self.gap_y)


def get_sheet(words: Wording, name: str, size: Paper) -> Sheet:
    """The sheet called *name* for pages of *size*; an empty name takes the one that the wording calls its own.

    Raises:
        UnknownSheet: There is none of that name.
        BadWording: Its labels do not fit the page.
    """
    name = name or words.text("sheet")
    known = words.names(f"sheets.{size.value}")
    if name not in known:
        raise UnknownSheet(
            f"There is no label sheet “{name}” for {size.value} pages.", hint=f"Take one of {', '.join(known)}."
        )
    key = f"sheets.{size.value}.{name}"
    columns, rows = (_whole(words, f"{key}.{field}") for field in ("columns", "rows"))
    width, height, left, top, gap_x, gap_y = (
        words.number(f"{key}.{field}_mm") * POINTS_PER_MM
        for field in ("width", "height", "left", "top", "gap_x", "gap_y")
    )
    sheet = Sheet(columns, rows, width, height, left, top, gap_x, gap_y)
    page_width, page_height = page_box(size)
    right, bottom = (last + span for last, span in zip(sheet.place(sheet.places - 1), (width, height), strict=True))
    if min(width, height) <= 0 or min(left, top, gap_x, gap_y) < 0 or right > page_width or bottom > page_height:
        raise BadWording([f"{words.source(key)}: {key}: its labels do not fit on a page of size {size.value}"])
    return sheet


def check_first_place(first_place: int, sheet: Sheet) -> None:
    """Refuse a first place that the sheet does not have.

    Raises:
        NoSuchPlace: It is below 1 or above the number of labels on the sheet.
    """
    if not 1 <= first_place <= sheet.places:
        raise NoSuchPlace(f"The sheet has no place {first_place}.", hint=f"Its places go from 1 to {sheet.places}.")


def _whole(words: Wording, key: str) -> int:
    found = words.number(key)
    if found < 1 or found != int(found):
        raise BadWording([f"{words.source(key)}: {key} should be a whole number of 1 or more"])
    return int(found)
