"""The container ledger and the inspection binder, filled from the ledger of a small practice."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from tests.makers import (
    TRAPS,
    Clinic,
    a_closing,
    a_correction,
    a_deposit,
    a_line,
    a_look,
    a_receipt,
    a_repair,
    a_replacement,
    a_swap,
    a_weighing,
    an_inspection,
    an_opening,
    make_clinic,
)
from tests.office.places import A_LOCAL_RULE, FEDERAL, a_place, put_in_force
from wasteledger.documents import draw_binder
from wasteledger.documents.fill import deposit_log_paper, manifest_paper
from wasteledger.documents.fill_binder import binder_paper
from wasteledger.documents.papers import Basis
from wasteledger.errors import NotUnderstood
from wasteledger.model.register import CleanerDetails
from wasteledger.model.traps import Condition
from wasteledger.office.answers import answers
from wasteledger.office.coverage import coverage
from wasteledger.office.movements import Held, movements_between
from wasteledger.office.pickups import book_pickup, release_pickup
from wasteledger.office.workplace import Workplace

MONDAY = date(2026, 3, 2)
TUESDAY = date(2026, 3, 3)


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Clinic]:
    """The small practice of `tests.makers`, on a Monday morning, with its register alone."""
    made = make_clinic(tmp_path)
    with made.ledger:
        yield made


@pytest.fixture
def place(clinic: Clinic) -> Workplace:
    """That practice with the federal rule and a local one in force."""
    found = a_place(clinic, FEDERAL)
    put_in_force(clinic, "river-district", A_LOCAL_RULE)
    return found


def mg(held: Held) -> int:
    """The value of what is held; nothing where nothing is."""
    return held.mass.value_mg if held.mass is not None else 0


def two_days(clinic: Clinic, place: Workplace) -> None:
    """Monday: a swap and scrap of known mass. Tuesday: another swap, a weighing; the container leaves."""
    clinic.record(an_opening())
    clinic.record(a_swap())
    clinic.record(a_deposit(count=2))
    clinic.watch.wait(days=1)
    clinic.record(a_swap("2-HV"))
    clinic.record(a_weighing(gross_mg=200_000))
    book_pickup(place, "P-1", "swiftcart", "smelter", date(2026, 3, 9), ("C-1",))


def test_what_stood_and_came_in_and_went_out_adds_up(clinic: Clinic, place: Workplace) -> None:
    two_days(clinic, place)

    with clinic.ledger.reading(clinic.site) as reader:
        (first,) = movements_between(reader, MONDAY, MONDAY)
        (second,) = movements_between(reader, TUESDAY, TUESDAY)

    assert (first.opening.pieces, first.put_in.pieces, first.taken_out.pieces, first.closing.pieces) == (0, 3, 0, 3)
    assert first.adjustment is None
    assert first.closing == second.opening
    assert (second.opening.pieces, second.put_in.pieces, second.closing.pieces) == (3, 1, 4)
    assert second.adjustment is not None
    assert not second.adjustment.is_weighed
    # 200 g on the scale less the 150 g of the empty pail; each part is rounded to a milligram by itself.
    assert mg(second.closing) == 50_000
    assert abs(mg(second.opening) + mg(second.put_in) + second.adjustment.value_mg - 50_000) <= 2
    assert second.adjustment.lower_mg <= second.adjustment.value_mg <= second.adjustment.upper_mg


def test_a_second_weighing_is_set_against_the_first_as_a_weighing(clinic: Clinic, place: Workplace) -> None:
    two_days(clinic, place)
    clinic.watch.wait(days=1)
    clinic.record(a_weighing(gross_mg=199_000))

    paper = binder_paper(place, TUESDAY + timedelta(days=1), TUESDAY + timedelta(days=1))

    (moved,) = paper.movements
    assert (moved.adjustment.basis, moved.adjustment.value_mg) == (Basis.WEIGHED, -1_000)
    assert moved.adjustment.statement == "−1 g, between −1.36 g and −0.64 g"
    assert (moved.opening.value_mg, moved.closing.value_mg) == (50_000, 49_000)


def test_what_left_is_shown_as_its_manifest_says_and_then_no_more(clinic: Clinic, place: Workplace) -> None:
    two_days(clinic, place)
    release_pickup(place, "P-1", taken_by="Dana Driver")
    manifest = manifest_paper(place, "P-1")
    clinic.watch.wait(days=9)
    clinic.record(a_receipt(proves="received"))

    paper = binder_paper(place, TUESDAY, TUESDAY)

    (moved,), (shipment,) = paper.movements, paper.shipments
    assert moved.taken_out.statement == f"4 pieces: {manifest.containers[0].net.statement}"
    assert (moved.taken_out.value_mg, moved.closing.statement) == (50_000, "0 pieces")
    assert (shipment.manifest_entry, shipment.sent) == (manifest.anchor.seq, manifest.weighed_total)
    assert shipment.received is not None
    assert shipment.received.value_mg == 50_000
    assert shipment.days_open == 9
    assert any("the proof of recycling is not recorded" in said for said in paper.findings)

    clinic.record(a_receipt(proves="recycled", document="R-77", containers=()))
    later = binder_paper(place, date(2026, 3, 10), date(2026, 3, 13))
    assert later.movements == ()
    # It is still shown: its second paper came in, or after, that period.
    assert later.shipments[0].certificate.startswith("R-77 (entry ")
    assert later.shipments[0].days_open is None


def test_months_add_up_to_the_coverage_of_the_whole_and_late_looks_are_told_apart(
    clinic: Clinic, place: Workplace
) -> None:
    clinic.record(a_look("1-HV"))
    clinic.record(a_look("2-HV", Condition.NOT_LOOKED, reason="Room closed"))
    clinic.watch.wait(days=40)
    clinic.record(a_look("1-HV"), datetime(2026, 3, 4, 18, tzinfo=UTC))

    paper = binder_paper(place, date(2026, 2, 20), date(2026, 12, 31))

    # From Friday, 20 February, to Friday, 10 April 2026: one day, and seven weeks of five.
    with clinic.ledger.reading(clinic.site) as reader:
        whole = coverage(reader, place.zone, date(2026, 2, 20), place.today() - timedelta(days=1))
    assert (paper.coverage.looks_made, paper.coverage.looks_due) == (whole.looks_made, whole.looks_due)
    assert (whole.looks_made, whole.looks_due) == (2, 36 * len(TRAPS))
    assert sum(month.looks_due for month in paper.months) == whole.looks_due
    assert [month.month.month for month in paper.months] == [2, 3, 4]
    assert (paper.months[1].entered_later, paper.months[1].with_reason) == (1, 1)


def test_this_evening_s_round_is_no_blank_yet(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_look("1-HV"))
    assert binder_paper(place, MONDAY, MONDAY).coverage.looks_due == 0
    clinic.watch.wait(days=1)

    for paper in (binder_paper(place, MONDAY, TUESDAY), deposit_log_paper(place, MONDAY, TUESDAY)):
        assert (paper.coverage.looks_made, paper.coverage.looks_due) == (1, len(TRAPS))
        assert {blank.on for blank in paper.coverage.blanks} == {MONDAY}
    missed = f"{len(TRAPS) - 1} of {len(TRAPS)} looks that were due were not made, and no reason is given."
    assert missed in binder_paper(place, MONDAY, TUESDAY).findings


def test_what_inspectors_ask_and_the_journal_lacks_stands_out(clinic: Clinic, place: Workplace) -> None:
    two_days(clinic, place)
    release = release_pickup(place, "P-1", taken_by="Dana Driver")
    clinic.watch.wait(days=200)

    found = binder_paper(place, MONDAY, date(2099, 1, 1)).findings

    gaps = {one.question.asks: one.missing for one in answers(place, since=MONDAY).answers if one.missing}
    certificate = next(asks for asks in gaps if "certificate" in asks)
    said = [one for one in found if one.startswith(certificate)]
    assert said == [f"{certificate} {' '.join(point.says for point in gaps[certificate])}"]
    # An open shipment is told once, with what is still to come.
    (open_one,) = (one for one in found if "P-1" in one and "recycling" in one)
    assert open_one == (
        f"Pickup P-1 left 200 days ago (entry {release.seq}); neither a receipt nor the proof of recycling is recorded."
    )
    assert not any("without a reason" in one for one in found)


def test_what_is_overdue_when_the_binder_is_made_stands_out(clinic: Clinic, place: Workplace) -> None:
    clinic.record(an_opening())
    clinic.record(a_swap())
    full = clinic.record(a_closing())
    clinic.watch.wait(days=120)

    (said,) = (one for one in binder_paper(place, MONDAY, MONDAY).findings if "Ship within ninety days" in one)

    assert said.startswith("Overdue, due ")
    assert said.endswith(f"container C-1 (River District sewer code, entry {full.seq}).")


def test_repairs_inspections_cleaners_and_corrections_are_told_in_full(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_line("bleach", CleanerDetails(name="Bleach", ph_low_tenths=110, oxidiser=True)))
    clinic.record(an_opening())
    swap = clinic.record(a_swap())
    clinic.record(an_inspection("malfunction"))
    assert binder_paper(place, MONDAY, MONDAY).verification.statement.startswith("Every digest agrees")
    assert any("no repair" in said for said in binder_paper(place, MONDAY, MONDAY).findings)
    clinic.watch.wait(days=1)
    repair = clinic.record(a_repair())
    replacing = clinic.record(a_replacement(swap, a_swap(condition=Condition.DEBRIS)))
    voiding = clinic.record(a_correction(swap))

    paper = binder_paper(place, MONDAY, TUESDAY)

    assert [(row.found_on, row.done_on, row.entry) for row in paper.repairs] == [(MONDAY, TUESDAY, repair.seq)]
    assert paper.separator[0].result == "malfunction, level 30 %, no bypass seen, no leak seen"
    first, second = paper.corrections
    assert (first.entry, second.entry, first.corrects) == (replacing.seq, voiding.seq, swap.seq)
    assert Condition.DEBRIS.words in first.after
    assert (second.before, second.after) == (first.after, "does not count")
    # 40 CFR 441.30(b)(2): no oxidising or acidic cleaner, pH from 6 to 8.
    judged = {row.name: row.judged for row in paper.cleaners}
    assert judged["Neutral cleaner"] == "No rule in force here speaks against what is entered."
    assert "441.30(b)(2)" in judged["Bleach"]
    assert "pH 11.0 lies outside the band 6.0 to 8.0" in judged["Bleach"]
    assert paper.verification.entries == paper.anchor.seq == len(clinic.entries())
    assert not any("no repair" in said for said in paper.findings)
    assert paper.deposits == deposit_log_paper(place, MONDAY, TUESDAY).rows
    assert draw_binder(paper).findings == ()


def test_a_period_that_ends_before_it_begins_is_refused(place: Workplace) -> None:
    with pytest.raises(NotUnderstood):
        binder_paper(place, TUESDAY, MONDAY)
