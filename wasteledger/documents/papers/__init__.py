"""What each printed document says, as plain frozen values.

A paper holds everything that its document prints: text, whole milligrams, days, wall-clock times of the site. Whoever
fills one reads the ledger; drawing reads nothing but the paper and the wording, so a reprint says the same, and the
same value can be shown as a page of HTML. This package imports no PDF library.

Times are the site's local wall-clock times, already converted; a time zone on them is not printed and not converted.
"""

from __future__ import annotations

from wasteledger.documents.papers.binder import (
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
    Verification,
)
from wasteledger.documents.papers.common import (
    Anchor,
    BadPaper,
    Basis,
    MassFigure,
    Party,
)
from wasteledger.documents.papers.logs import (
    Blank,
    ContainerSum,
    Coverage,
    DepositLogPaper,
    DepositRow,
    LogSheetPaper,
    Stop,
)
from wasteledger.documents.papers.pictures import Pictures, PicturesPaper
from wasteledger.documents.papers.shipping import (
    LabelPaper,
    LabelsPaper,
    ManifestContainer,
    ManifestPaper,
    ReminderPaper,
    SentContainer,
    TrapLabelPaper,
    TrapLabelsPaper,
    WasteCode,
)
from wasteledger.documents.papers.standing import StandingContainer

__all__ = [
    "Anchor",
    "BadPaper",
    "Basis",
    "BinderPaper",
    "Blank",
    "CleanerRow",
    "ContainerMovement",
    "ContainerSum",
    "CorrectionRow",
    "Coverage",
    "CoverageMonth",
    "DepositLogPaper",
    "DepositRow",
    "Equipment",
    "LabelPaper",
    "LabelsPaper",
    "LogSheetPaper",
    "ManifestContainer",
    "ManifestPaper",
    "MassFigure",
    "OfficeRow",
    "Party",
    "Pictures",
    "PicturesPaper",
    "ReminderPaper",
    "RepairRow",
    "SentContainer",
    "SeparatorRow",
    "Shipment",
    "StandingContainer",
    "Stop",
    "TrapLabelPaper",
    "TrapLabelsPaper",
    "Verification",
    "WasteCode",
]
