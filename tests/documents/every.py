"""Papers of every kind, some plain and some that use every word a document has."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from tests.documents import makers, pictured
from wasteledger.documents.papers import (
    Basis,
    BinderPaper,
    Coverage,
    LabelsPaper,
    MassFigure,
    Pictures,
    Verification,
    WasteCode,
)
from wasteledger.settings import Paper

_COUNTED = makers.a_container(3, net=MassFigure(Basis.NONE), gross_mg=None, tare_mg=None)
_OWNED = replace(makers.PRACTICE, contact="", owner="Dr. Rosa Lindqvist")
_DOUBTED = WasteCode("X001", "mercury", "Elm District 4-2", "NOT CONFIRMED: From memory.")
_SHIPMENT = makers.a_binder(0).shipments[0]
_EMPTY_BINDER = BinderPaper(
    practice=makers.PRACTICE,
    anchor=makers.ANCHOR,
    prepared_at=makers.TUESDAY,
    from_on=date(2026, 1, 1),
    to_on=date(2026, 3, 1),
    verification=Verification(1, "Every digest agrees."),
    coverage=Coverage(0, 0),
)

PAPERS_BY_NAME: dict[str, tuple[Any, ...]] = {
    "manifest": (
        makers.a_manifest(),
        makers.a_manifest(40, reprinted_at=makers.TUESDAY, remark="Handed over at the back door."),
        makers.a_manifest(containers=(_COUNTED,), weighed_total=None, emergency_contact="", ordinances=()),
        makers.a_manifest(0, practice=_OWNED, codes=(_DOUBTED,)),
    ),
    "labels": (LabelsPaper((makers.a_label(), makers.a_label(first_waste_on=None)), "half"), LabelsPaper(())),
    "trap-labels": (makers.trap_labels(),),
    "deposit-log": (
        makers.a_log(60),
        makers.a_log(0, coverage=Coverage(5, 5), containers=()),
        makers.a_log(0, coverage=Coverage(0, 0)),
    ),
    "log-sheet": (makers.a_log_sheet(), makers.a_log_sheet(30, dates=(date(2026, 3, 9),))),
    "reminder": (
        makers.a_reminder(),
        makers.a_reminder(containers=makers.a_reminder().containers[:1], earlier=()),
    ),
    "pictures": (
        pictured.a_paper(),
        pictured.a_paper(pictured.awkward_pictures()),
        pictured.a_paper(Pictures()),
    ),
    "binder": (
        makers.a_binder(),
        pictured.a_binder_with_pictures(),
        replace(_EMPTY_BINDER, coverage=Coverage(7, 7)),
        _EMPTY_BINDER,
        replace(_EMPTY_BINDER, shipments=(replace(_SHIPMENT, days_open=None, difference="one container less"),)),
    ),
}

EVERY_PAPER = [(name, paper, size) for name, papers in PAPERS_BY_NAME.items() for paper in papers for size in Paper]
