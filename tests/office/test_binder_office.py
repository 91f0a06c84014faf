"""What the office recorded besides waste, as the binder's rows tell it, and the papers of the separator."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from tests.makers import Clinic, a_line_cleaning, make_clinic
from tests.office.places import A_LOCAL_RULE, FEDERAL, a_place, put_in_force
from wasteledger.documents.fill_binder import binder_paper
from wasteledger.documents.papers import BinderPaper
from wasteledger.model.entries import Milestone
from wasteledger.model.filings import (
    DutyDone,
    OtherWaste,
    PaperFiled,
    PaperKind,
    Statement,
    StatementTopic,
    Topic,
    Training,
)
from wasteledger.office.workplace import Workplace

MONDAY = date(2026, 3, 2)
"""The day on which the small practice of `tests.makers` begins."""


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Clinic]:
    """That practice, with its register alone."""
    made = make_clinic(tmp_path)
    with made.ledger:
        yield made


@pytest.fixture
def place(clinic: Clinic) -> Workplace:
    """The federal rule and a local one are in force there."""
    found = a_place(clinic, FEDERAL)
    put_in_force(clinic, "river-district", A_LOCAL_RULE)
    return found


def rows(paper: BinderPaper) -> list[tuple[str, str, str, str]]:
    """Sort, what, whose and paper of each row."""
    return [(row.sort, row.what, row.whose, row.paper) for row in paper.office]


def test_what_was_filed_trained_and_stated_is_told_with_its_entries(clinic: Clinic, place: Workplace) -> None:
    said = [
        clinic.record(
            DutyDone(
                duty="own-look",
                ordinance="river-district",
                rule="RD-1",
                due_on=date(2026, 3, 31),
                document="Letter 4",
            )
        ),
        clinic.record(DutyDone(duty="certify", ordinance="far-off", rule="FO-9")),
        clinic.record(Milestone(what="one_time_report_filed")),
        clinic.record(Training(people=("kim",), topics=(Topic.HANDLING, Topic.LINE_CLEANERS), held_by="Mo")),
        clinic.record(PaperFiled(what=PaperKind.PROCEDURE, place="Binder 3", about="sinks", document="Rev. B")),
        clinic.record(Statement(topic=StatementTopic.NO_BULK_MERCURY, holds=True)),
        clinic.record(Statement(topic=StatementTopic.CAPSULES_RECYCLED, holds=False, why="The tub\ncame late.")),
    ]

    paper = binder_paper(place, MONDAY, MONDAY)

    assert rows(paper) == [
        ("duty", "Ship within ninety days of full", "RD-1 of River District sewer code", "Letter 4"),
        ("duty", "Certify", "FO-9 of far-off", ""),
        ("duty", "One-time report", "40 CFR 441.50", ""),
        ("training", "Handling, Line cleaners", "Kim Example", ""),
        ("paper", "Procedure", "sinks", "Rev. B, Binder 3"),
        ("statement", "No bulk mercury", "", ""),
        ("statement", "Capsules recycled", "", ""),
    ]
    assert [row.entry for row in paper.office] == [fact.seq for fact in said]
    assert {row.on for row in paper.office} == {MONDAY}
    assert paper.office[0].due_on == date(2026, 3, 31)
    assert [row.why for row in paper.office[-2:]] == ["", "The tub came late."]
    assert paper.office[3].person == "Mo"


def test_line_cleanings_are_one_row_and_other_days_are_left_out(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_line_cleaning())
    clinic.watch.wait(days=1)
    last = clinic.record(a_line_cleaning())
    clinic.watch.wait(days=10)
    clinic.record(Statement(topic=StatementTopic.NO_BULK_MERCURY, holds=True))

    (row,) = binder_paper(place, MONDAY, date(2026, 3, 8)).office

    assert (row.sort, row.count, row.entry, row.on) == ("cleaning", 2, last.seq, date(2026, 3, 3))


def test_other_waste_is_told_by_its_month(clinic: Clinic, place: Workplace) -> None:
    clinic.watch.wait(days=40)
    for month in ("2026-01", "2026-02", "2026-03", "2026-04"):
        clinic.record(OtherWaste(month=month, name="Spent fixer", made_mg=12_000_000, on_hand_mg=3_000_000))

    paper = binder_paper(place, date(2026, 2, 10), date(2026, 3, 31))

    assert [row.what for row in paper.office] == ["Spent fixer, 2026-02", "Spent fixer, 2026-03"]
    assert paper.office[0].whose == "12 kg, estimate, 3 kg on hand"


def test_a_noted_manual_stands_beside_its_separator(clinic: Clinic, place: Workplace) -> None:
    (equipment, *_) = binder_paper(place, MONDAY, MONDAY).equipment
    assert "no manual noted" in equipment.papers

    clinic.watch.wait(days=1)
    noted = clinic.record(PaperFiled(what=PaperKind.OPERATING_MANUAL, place="Binder 2", separator="SEP"))

    (equipment, *_) = binder_paper(place, MONDAY, date(2026, 3, 3)).equipment
    assert equipment.papers.startswith(f"operating manual (entry {noted.seq})")
    assert "no manual" not in equipment.papers
    # What was noted later is not on file yet on an earlier day.
    assert "no manual noted" in binder_paper(place, MONDAY, MONDAY).equipment[0].papers
