"""The separator's days: what was entered of it, inspections, exchanges and repairs, each on a day that is said."""

from __future__ import annotations

from datetime import date
from typing import Any

from tests.office.asking import on
from wasteledger.model.register import SeparatorDetails
from wasteledger.office.containers import open_container
from wasteledger.office.people import register_line
from wasteledger.office.separator import inspect_separator, repair_separator, replace_unit
from wasteledger.office.workplace import Recorded, Workplace

TODAY = date(2026, 3, 2)


def entered(place: Workplace, day: date = TODAY, **changes: Any) -> Recorded:
    """The separator as the register has it, with some details changed, from the morning of a day on."""
    with place.reading() as reader:
        details = reader.separators()[0].details
    return register_line(place, "SEP", SeparatorDetails(**details.model_dump() | changes), on(day, 7))


def inspected(place: Workplace, day: date, **changes: Any) -> Recorded:
    return inspect_separator(place, "SEP", changes.pop("result", "in order"), on(day), **changes)


def exchanged(place: Workplace, day: date, box: str = "BOX-1") -> Recorded:
    open_container(place, box, "unit-box", on(day, 9))
    return replace_unit(place, "SEP", box, on(day, 10), done_by="Robin Fitter")


def repaired(place: Workplace, day: date, **changes: Any) -> Recorded:
    said: dict[str, Any] = {
        "done_by": "Robin Fitter",
        "description": "New seal.",
        "make_name": "Invented",
        "model": "A",
    }
    return repair_separator(place, "SEP", changes.pop("action", "repaired"), on(day), **said | changes)
