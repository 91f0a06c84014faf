"""Printed documents: each is drawn from a plain frozen value (a paper) and comes out as a PDF.

The papers are in `wasteledger.documents.papers`; `PAPERS` lists every document by name. Importing this package loads no
PDF library: a document's drawer is imported when it is first used.
"""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wasteledger.documents.papers import (
    BinderPaper,
    DepositLogPaper,
    LabelsPaper,
    LogSheetPaper,
    ManifestPaper,
    PicturesPaper,
    ReminderPaper,
    TrapLabelsPaper,
)
from wasteledger.settings import Paper

if TYPE_CHECKING:
    from wasteledger.documents.pages import Printed

__all__ = [
    "PAPERS",
    "Document",
    "draw_binder",
    "draw_deposit_log",
    "draw_labels",
    "draw_log_sheet",
    "draw_manifest",
    "draw_pictures",
    "draw_reminder",
    "draw_trap_labels",
]


@dataclass(frozen=True, slots=True)
class Document:
    """One kind of document.

    Attributes:
        paper: The class of value that it is drawn from.
        module, drawer: Where its drawing function is.
    """

    paper: type[Any]
    module: str
    drawer: str = "draw"

    def draw(self, paper: Any, size: Paper = Paper.LETTER, *, own: Path | None = None) -> Printed:
        """Draw *paper* on pages of *size*; *own* is the office's template folder, else the environment's.

        Raises:
            TypeError: *paper* is of another class.
        """
        if not isinstance(paper, self.paper):
            raise TypeError(f"{self.paper.__name__} is wanted, not {type(paper).__name__}")
        module = importlib.import_module(f"wasteledger.documents.{self.module}")
        printed: Printed = getattr(module, self.drawer)(paper, size, own=own)
        return printed


PAPERS: Mapping[str, Document] = {
    "manifest": Document(ManifestPaper, "manifest"),
    "labels": Document(LabelsPaper, "labels"),
    "trap-labels": Document(TrapLabelsPaper, "labels", "draw_trap_labels"),
    "deposit-log": Document(DepositLogPaper, "deposit_log"),
    "log-sheet": Document(LogSheetPaper, "log_sheet"),
    "reminder": Document(ReminderPaper, "reminder"),
    "binder": Document(BinderPaper, "binder"),
    "pictures": Document(PicturesPaper, "pictures"),
}


def draw_manifest(paper: ManifestPaper, size: Paper = Paper.LETTER, *, own: Path | None = None) -> Printed:
    """The transfer manifest of a pickup."""
    return PAPERS["manifest"].draw(paper, size, own=own)


def draw_labels(paper: LabelsPaper, size: Paper = Paper.LETTER, *, own: Path | None = None) -> Printed:
    """Labels for containers."""
    return PAPERS["labels"].draw(paper, size, own=own)


def draw_trap_labels(paper: TrapLabelsPaper, size: Paper = Paper.LETTER, *, own: Path | None = None) -> Printed:
    """Labels for traps, each with a QR code."""
    return PAPERS["trap-labels"].draw(paper, size, own=own)


def draw_deposit_log(paper: DepositLogPaper, size: Paper = Paper.LETTER, *, own: Path | None = None) -> Printed:
    """The deposit log of a period, with its coverage."""
    return PAPERS["deposit-log"].draw(paper, size, own=own)


def draw_log_sheet(paper: LogSheetPaper, size: Paper = Paper.LETTER, *, own: Path | None = None) -> Printed:
    """The evening round on paper."""
    return PAPERS["log-sheet"].draw(paper, size, own=own)


def draw_reminder(paper: ReminderPaper, size: Paper = Paper.LETTER, *, own: Path | None = None) -> Printed:
    """The letter that asks for a receipt."""
    return PAPERS["reminder"].draw(paper, size, own=own)


def draw_binder(paper: BinderPaper, size: Paper = Paper.LETTER, *, own: Path | None = None) -> Printed:
    """The inspection binder of a period."""
    return PAPERS["binder"].draw(paper, size, own=own)


def draw_pictures(paper: PicturesPaper, size: Paper = Paper.LETTER, *, own: Path | None = None) -> Printed:
    """Fullness over time, the catch of a period, and what was stated against what was received."""
    return PAPERS["pictures"].draw(paper, size, own=own)
