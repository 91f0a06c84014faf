"""The history as an inspector asks for it, and verifying."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from tests.makers import (
    KIM,
    MONDAY_MORNING,
    SET_UP_AT,
    Clinic,
    a_calibration,
    a_correction,
    a_look,
    a_replacement,
    a_swap,
    an_inspection,
    an_opening,
    make_clinic,
    one_of_each,
)
from wasteledger.errors import NotUnderstood, Unknown
from wasteledger.ledger.append import Recorder
from wasteledger.model.traps import Condition
from wasteledger.office.enquiries import HistoryPage, describe, history, verify_site
from wasteledger.office.workplace import Workplace

CHICAGO = ZoneInfo("America/Chicago")


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Clinic]:
    """The small practice of `tests.makers`, on a Monday morning, with its register alone."""
    made = make_clinic(tmp_path)
    with made.ledger:
        yield made


@pytest.fixture
def place(clinic: Clinic) -> Workplace:
    return Workplace(clinic.ledger, clinic.site, "iris")


def seqs(page: HistoryPage) -> list[int]:
    return [row.entry.seq for row in page.rows]


def test_thousands_of_entries_are_paged_without_a_gap_or_a_repeat(clinic: Clinic, place: Workplace) -> None:
    with clinic.ledger.writing(clinic.site, KIM) as desk:
        for number in range(2500):
            at = MONDAY_MORNING - timedelta(minutes=2500 - number)
            desk.append(a_look("1-HV", Condition.CLEAN), happened_at=at)

    first = history(place, kind=("look",), page_size=400)
    pages = [history(place, kind=("look",), page_size=400, page=number) for number in range(1, 8)]

    assert (first.total, first.pages) == (2500, 7)
    assert [len(page.rows) for page in pages] == [400] * 6 + [100]
    told = [row.entry.happened_at for page in pages for row in page.rows]
    assert told == sorted(told)
    assert len({row.entry.seq for page in pages for row in page.rows}) == 2500
    assert history(place, kind=("look",), page_size=400, page=8).rows == ()


def test_order_by_happening_or_by_recording_newest_or_oldest_first(clinic: Clinic, place: Workplace) -> None:
    today = clinic.record(a_look("1-HV"))
    backdated = clinic.append(a_look("2-HV"), MONDAY_MORNING - timedelta(days=5)).entry

    def looks(**asked: Any) -> list[int]:
        return seqs(history(place, kind=("look",), **asked))

    assert looks() == [backdated.seq, today.seq]
    assert looks(newest_first=True) == [today.seq, backdated.seq]
    assert looks(order="recorded") == [today.seq, backdated.seq]
    assert looks(order="recorded", newest_first=True) == [backdated.seq, today.seq]


def test_what_was_written_long_after_is_marked_late(clinic: Clinic, place: Workplace) -> None:
    clinic.append(a_look("1-HV"), MONDAY_MORNING - timedelta(hours=25))
    clinic.append(a_look("2-HV"), MONDAY_MORNING - timedelta(hours=23))

    late, in_time = history(place, kind=("look",)).rows

    assert late.late
    assert not in_time.late
    assert late.local_happened == datetime(2026, 3, 1, 7, 0, tzinfo=CHICAGO)
    assert late.local_recorded == datetime(2026, 3, 2, 8, 0, tzinfo=CHICAGO)


def test_every_condition_narrows(clinic: Clinic, place: Workplace) -> None:
    opened = clinic.record(an_opening())
    swap = clinic.record(a_swap("1-HV"))
    other = clinic.record(a_swap("2-HV"))
    inspected = clinic.record(an_inspection())
    with clinic.ledger.writing(clinic.site, Recorder("mo", "web")) as desk:
        look = desk.append(a_look("1-HV")).entry

    assert seqs(history(place, container="C-1")) == [opened.seq, swap.seq, other.seq]
    assert seqs(history(place, container="C-1", trap="1-HV")) == [swap.seq]
    assert seqs(history(place, trap="1-HV", kind=("swap", "look"))) == [swap.seq, look.seq]
    assert inspected.seq in seqs(history(place, separator="SEP"))
    assert seqs(history(place, by="mo")) == [look.seq]
    assert seqs(history(place, kind=("swap",), since=swap.happened_at, until=other.happened_at)) == [swap.seq]


def test_a_date_means_the_whole_local_day(clinic: Clinic, place: Workplace) -> None:
    clinic.watch.now = datetime(2026, 3, 10, 12, tzinfo=UTC)
    edges = [datetime(2026, 3, 8, 0, 0), datetime(2026, 3, 8, 23, 59), datetime(2026, 3, 9, 0, 0)]  # noqa: DTZ001
    written = [clinic.append(a_look(), at.replace(tzinfo=CHICAGO)).entry.seq for at in edges]

    day = date(2026, 3, 8)  # the day on which summer time began there, 23 hours long

    assert seqs(history(place, kind=("look",), since=day, until=day)) == written[:2]
    assert seqs(history(place, kind=("look",), since=date(2026, 3, 9))) == written[2:]
    assert seqs(history(place, kind=("look",), until=date.max)) == written
    assert seqs(history(place, kind=("look",), since=edges[1])) == written[1:]


def test_a_corrected_entry_and_its_correction_name_each_other(clinic: Clinic, place: Workplace) -> None:
    void = clinic.record(a_look("1-HV"))
    replaced = clinic.record(a_look("2-HV"))
    first = clinic.record(a_correction(void))
    second = clinic.record(a_replacement(replaced, a_look("2-SE")))

    rows = {row.entry.seq: row for row in history(place, kind=("look", "correction")).rows}

    assert (rows[void.seq].corrected_by, rows[void.seq].corrected_action) == (first.seq, "void")
    assert rows[void.seq].reason == rows[first.seq].reason == "Entered by mistake."
    assert rows[first.seq].corrects == void.seq
    assert not rows[void.seq].counts
    assert rows[replaced.seq].corrected_action == "replace"
    assert "Trap 2-SE looked at" in rows[second.seq].words
    clinic.record(a_correction(void, "reinstate"))
    again = {row.entry.seq: row for row in history(place, kind=("look",)).rows}
    assert again[void.seq].counts
    # A correction belongs to the history of the trap that it speaks of.
    assert first.seq in seqs(history(place, trap="1-HV"))


def test_a_kind_may_be_written_with_dashes(place: Workplace) -> None:
    asked = history(place, kind=("register",))
    assert seqs(history(place, kind=("Register",))) == seqs(asked)
    assert history(place, kind=("other-waste", "separator inspection", "swap")).total == 0
    with pytest.raises(NotUnderstood) as caught:
        history(place, kind=("other-wast",))
    assert caught.value.hint.startswith("Did you mean other_waste? There are: ")
    assert "milestone, other_waste, paper_filed" in caught.value.hint


@pytest.mark.parametrize(
    ("ask", "refusal"),
    [
        (lambda place: history(place, trap="9-XX"), Unknown),
        (lambda place: history(place, container="C-404"), Unknown),
        (lambda place: history(place, kind=("swop",)), NotUnderstood),
        (lambda place: history(place, order="sideways"), NotUnderstood),  # type: ignore[arg-type]
        (lambda place: history(place, page=0), NotUnderstood),
        (lambda place: history(place, page_size=0), NotUnderstood),
        (lambda place: history(place, page_size=1001), NotUnderstood),
    ],
)
def test_what_cannot_be_asked_is_refused(
    place: Workplace, ask: Callable[[Workplace], HistoryPage], refusal: type[Exception]
) -> None:
    with pytest.raises(refusal):
        ask(place)


def test_an_empty_answer_is_one_page(place: Workplace) -> None:
    page = history(place, kind=("swap",))

    assert (page.rows, page.total, page.page, page.pages) == ((), 0, 1, 1)


def test_every_kind_has_a_plain_line() -> None:
    lines = {kind: describe(body, CHICAGO) for kind, body in one_of_each().items()}

    assert lines == {
        "register": "Site elm (Élan Dental, Elm Street) registered.",
        "look": "Trap 1-HV looked at: clogged, holes not visible.",
        "swap": "Trap 1-HV (high-volume trap) swapped into container C-1, clogged, holes not visible, after 7 days, "
        "weighed 34.2 g (clean 5 g). Note: Zoë’s room",
        "deposit": "Scrap from room r1 into container C-1: 3 pieces, weighed 1.2 g.",
        "weighing": "Container C-1 weighed: gross 200 g.",
        "level": "Container C-1 read: 40 % of its fill line.",
        "container_opened": "Container C-1 opened (pail, for traps, scrap), empty 150 g, at Plant room.",
        "container_closed": "Container C-1 closed, full.",
        "container_moved": "Container C-1 moved to Back door.",
        "pickup_booked": "Pickup P-1 booked for 2026-03-09 with Invented swiftcart, to Invented smelter: C-1.",
        "pickup_released": "Pickup P-1 left with Dana Driver of Invented swiftcart: C-1 50.00 g ± 0.13 g, weighed.",
        "receipt": "Pickup P-1: the receipt of 2026-03-16 came: C-1 50 g.",
        "separator_inspection": "Separator SEP inspected: malfunction, level 30 %.",
        "repair": "Separator SEP repaired by Robin Example (Invented One): New seal.",
        "unit_replaced": "Separator SEP: retaining unit changed, the old one in container C-1.",
        "line_cleaning": "Lines cleaned with neutral in r1, r2, 3.785 L.",
        "milestone": "First discharge.",
        "remark": "Remark: Called the carrier. Nobody there.",
        "correction": "Entry 3 replaced, at 2026-03-02 08:00: Trap 1-HV looked at: clogged, holes not visible, "
        "because: Mixed up two lines.",
        "calibration": "Learned from the entries up to 12, estimate of the debris in one of each: "
        "high-volume trap 0.81 g.",
        "procedures": "Amalgam restorations of 2026-02-23 to 2026-02-27: removed 8 (3 with 1 surface, "
        "4 with 2 surfaces, 1 with surfaces not noted), placed 2 (2 with 2 surfaces).",
        "duty_done": "Done: certify (state, ST-01), separator SEP, due 2026-03-31.",
        "training": "Trained: kim in handling, spill, by Mo.",
        "paper_filed": "Paper: operating manual of separator SEP, on file in Binder 2.",
        "statement": "Stated: no bulk mercury does not hold: One bottle waits for the carrier.",
        "other_waste": "Other hazardous waste of 2026-02, Spent fixer: 12 kg made (estimate), 3 kg on hand.",
        "reminder_sent": "Reminder of 2026-03-02 sent to office@example.org: 2 duties.",
    }


def test_a_calibration_of_volumes_names_what_levels_moved() -> None:
    learned = a_calibration().model_copy(
        update={
            "quantity": "volume",
            "kinds": ("stated.high_volume", "stated.pump", "assumed.pump"),
            "means": ("0.8123", "1", "12.34"),
        }
    )

    assert describe(learned, UTC) == (
        "Learned from the entries up to 12, estimate of the room that a millilitre takes: "
        "high-volume trap (stated) 0.81, central-pump trap (assumed) 12."
    )


def test_a_row_as_json_carries_the_body_and_the_digest(clinic: Clinic, place: Workplace) -> None:
    clinic.record(an_opening())
    entry = clinic.record(a_swap())

    (row,) = json.loads(json.dumps(history(place, kind=("swap",)).as_json()))["rows"]

    assert (row["seq"], row["digest"], row["happened_at"]) == (entry.seq, entry.digest, "2026-03-02T16:00:00Z")
    assert row["body"]["insert_mg"] == 5_000
    assert row["local_happened"] == "2026-03-02T10:00:00-06:00"


def test_verifying_a_site_and_a_papers_foot(clinic: Clinic, place: Workplace) -> None:
    entry = clinic.record(a_look())

    assert verify_site(place).holds
    assert verify_site(place).entries == entry.seq
    assert verify_site(place, f"{entry.seq}:{entry.digest[:16]}").holds
    assert not verify_site(place, f"{entry.seq}:{'0' * 16}").holds
    with pytest.raises(NotUnderstood):
        verify_site(place, "nonsense")


def test_set_up_entries_are_in_the_history_too(place: Workplace) -> None:
    page = history(place, until=SET_UP_AT.date(), page_size=5)

    assert page.total > 5
    assert page.rows[0].words == "Site elm (Élan Dental, Elm Street) registered."
