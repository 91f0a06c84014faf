"""Papers filled from the ledger."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from tests.documents.reading import by_pypdf
from tests.makers import (
    MONDAY_MORNING,
    Clinic,
    a_booking,
    a_closing,
    a_correction,
    a_deposit,
    a_look,
    a_reading,
    a_receipt,
    a_released_container,
    a_replacement,
    a_site,
    a_swap,
    a_weighing,
    an_opening,
    make_clinic,
)
from tests.office.places import A_LOCAL_RULE, CONVENTIONS, a_place, put_in_force
from wasteledger.documents import PAPERS
from wasteledger.documents.fill import (
    deposit_log_paper,
    labels_paper,
    log_sheet_paper,
    manifest_paper,
    reminder_paper,
    trap_labels_paper,
)
from wasteledger.documents.papers import Basis, Blank
from wasteledger.errors import NotUnderstood, Unknown
from wasteledger.model.entries import PickupReleased, Remark
from wasteledger.model.traps import Condition
from wasteledger.office.enquiries import verify_site
from wasteledger.office.pickups import release_pickup
from wasteledger.office.shipments import NothingToAskFor
from wasteledger.office.workplace import Workplace
from wasteledger.settings import Paper

MONDAY = date(2026, 3, 2)


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Clinic]:
    """The small practice of `tests.makers`, on a Monday morning, with its register alone."""
    made = make_clinic(tmp_path)
    with made.ledger:
        yield made


@pytest.fixture
def place(clinic: Clinic) -> Workplace:
    """That practice with the office's conventions and a local rule in force."""
    found = a_place(clinic, CONVENTIONS)
    put_in_force(clinic, "river-district", A_LOCAL_RULE)
    return found


def two_containers(clinic: Clinic) -> None:
    """C-1 weighed, C-2 not, both booked for P-1."""
    clinic.record(an_opening("C-1"))
    clinic.record(a_swap(container="C-1"))
    clinic.record(a_weighing("C-1", 200_000))
    clinic.record(an_opening("C-2"))
    clinic.record(a_swap("2-HV", "C-2"))
    clinic.record(a_booking(containers=("C-1", "C-2")))


def test_before_the_release_the_manifest_is_a_draft_on_the_end_of_the_chain(clinic: Clinic, place: Workplace) -> None:
    two_containers(clinic)
    end = clinic.entries()[-1]

    paper = manifest_paper(place, "P-1")

    assert (paper.anchor.seq, paper.anchor.digest) == (end.seq, end.digest)
    assert paper.remark.startswith("Draft")
    assert paper.left_on is None
    assert [one.net.basis for one in paper.containers] == [Basis.WEIGHED, Basis.ESTIMATE]


def test_a_released_manifest_rests_on_its_entry_and_says_the_same_for_ever(clinic: Clinic, place: Workplace) -> None:
    two_containers(clinic)
    release = release_pickup(place, "P-1", taken_by="Dana Driver").entry
    first = manifest_paper(place, "P-1")

    clinic.watch.wait(days=40)
    clinic.record(a_site(name="Renamed Dental"))
    put_in_force(clinic, "river-district", A_LOCAL_RULE.replace("River District sewer code", "Another title"))
    clinic.record(a_receipt(containers=("C-1", "C-2")))

    assert manifest_paper(place, "P-1") == first
    assert (first.anchor.seq, first.anchor.digest) == (release.seq, release.digest)
    assert first.practice.name == "Élan Dental, Elm Street"
    assert first.ordinances == ("Office conventions", "River District sewer code")
    assert first.left_on == MONDAY
    assert first.prepared_by == "Mo Example"
    assert isinstance(release.body, PickupReleased)
    # The basis stands beside each figure, so the statement is printed without it.
    stated = [one.statement.replace(f", {one.basis}", "", 1) for one in release.body.containers]
    assert [one.net.statement for one in first.containers] == stated
    assert verify_site(place, f"{first.anchor.seq}:{first.anchor.digest}").holds
    again = manifest_paper(place, "P-1", reprint=True)
    assert again.reprinted_at == datetime(2026, 4, 11, 17, 0)  # noqa: DTZ001  five in the afternoon, summer time
    assert again.containers == first.containers


def test_weighed_and_estimated_are_added_up_apart(clinic: Clinic, place: Workplace) -> None:
    """Expanded uncertainties of one scale are added (JCGM 100:2008, 5.2.2 note 1): 0.13 g twice is 0.26 g."""
    clinic.record(an_opening("C-1"))
    clinic.record(an_opening("C-2"))
    clinic.record(an_opening("C-3"))
    for container in ("C-1", "C-2", "C-3"):
        clinic.record(a_closing(container))
    clinic.record(a_booking(containers=("C-1", "C-2", "C-3")))
    estimated = a_released_container(
        "C-3",
        basis="estimate",
        gross_mg=None,
        net_mg=10_000,
        estimated_mg=10_000,
        lower_mg=4_000,
        upper_mg=20_000,
        uncertainty_mg=8_000,
        statement="about 10 g, estimate",
    )
    release = PickupReleased(
        pickup="P-1",
        carrier=a_booking().carrier,
        facility=a_booking().facility,
        containers=(a_released_container("C-1"), a_released_container("C-2"), estimated),
        taken_by="Dana Driver",
    )
    clinic.record(release)

    paper = manifest_paper(place, "P-1")

    assert paper.weighed_total is not None
    assert paper.weighed_total.statement == "100.00 g ± 0.26 g (95 %)"
    assert paper.weighed_total.value_mg == 100_000
    assert paper.estimated_total is not None
    assert paper.estimated_total.statement == "about 10.0 g, between 4.0 g and 20.0 g (95 %)"
    assert paper.combined.startswith("about 110.0 g, between ")
    assert "estimate, of which 100.00 g weighed" in paper.combined
    assert paper.codes[0].code == "RD09"
    assert paper.codes[0].named_by == "River District sewer code, River District 5-10"
    assert paper.codes[0].mark == ""


def test_a_code_that_was_not_read_at_its_source_is_marked_on_the_manifest(clinic: Clinic, place: Workplace) -> None:
    put_in_force(
        clinic,
        "river-district",
        A_LOCAL_RULE.replace(
            'confirmed = true\ncode = "RD09"', 'confirmed = false\nconfirmed_note = "From memory."\ncode = "RD09"'
        ),
    )
    two_containers(clinic)

    paper = manifest_paper(place, "P-1")

    assert [(code.code, code.mark) for code in paper.codes] == [("RD09", "NOT CONFIRMED: From memory.")]
    assert "River District 5-10) NOT CONFIRMED: From memory." in by_pypdf(
        PAPERS["manifest"].draw(paper, Paper.LETTER).pdf
    )


def test_papers_name_the_contact_and_without_one_the_owner_as_owner(clinic: Clinic, place: Workplace) -> None:
    two_containers(clinic)
    clinic.append(a_site(owner="Imke Owner"))
    release_pickup(place, "P-1", taken_by="Dana Driver")
    by_owner = (manifest_paper(place, "P-1"), reminder_paper(Workplace(clinic.ledger, clinic.site), "P-1"))
    clinic.append(a_site(owner="Imke Owner", contact="Odile Contact"))
    by_contact = reminder_paper(Workplace(clinic.ledger, clinic.site), "P-1")

    for paper in by_owner:
        assert (paper.practice.owner, paper.practice.contact) == ("Imke Owner", "")
    assert (by_contact.practice.owner, by_contact.practice.contact) == ("", "Odile Contact")
    assert (by_owner[1].signer, by_contact.signer) == ("Imke Owner", "Odile Contact")
    said = by_pypdf(PAPERS["manifest"].draw(by_owner[0], Paper.LETTER).pdf)
    assert "Owner Imke Owner" in said
    assert "Contact" not in said
    assert "Contact Odile Contact" in by_pypdf(PAPERS["reminder"].draw(by_contact, Paper.LETTER).pdf)


def test_a_corrected_release_prints_what_the_correction_put_in(clinic: Clinic, place: Workplace) -> None:
    clinic.record(an_opening())
    clinic.record(a_closing())
    clinic.record(a_booking())
    body = PickupReleased(
        pickup="P-1",
        carrier=a_booking().carrier,
        facility=a_booking().facility,
        containers=(a_released_container(),),
        taken_by="Dana Driver",
    )
    release = clinic.record(body)
    lighter = a_released_container(statement="49.00 g ± 0.13 g, weighed", net_mg=49_000)
    correction = clinic.record(a_replacement(release, body.model_copy(update={"containers": (lighter,)})))

    paper = manifest_paper(place, "P-1")

    assert paper.anchor.seq == correction.seq
    assert paper.containers[0].net.statement == "49.00 g ± 0.13 g"


def test_labels_carry_the_words_of_every_rule_and_the_days_known(clinic: Clinic, place: Workplace) -> None:
    clinic.record(an_opening("C-1"))
    clinic.record(an_opening("C-2"))
    clinic.record(a_swap(container="C-1"))

    paper = labels_paper(place, sheet="2x3", first_place=2)

    assert [label.container for label in paper.labels] == ["C-1", "C-2"]
    assert paper.labels[0].words == ("Amalgam Waste for Recycling", "Amalgam. Contains mercury")
    assert paper.labels[0].kind == "Two-litre pail"
    assert paper.labels[0].stream == "Chairside traps, scrap"
    assert (paper.labels[0].first_waste_on, paper.labels[1].first_waste_on) == (MONDAY, None)
    assert (paper.sheet, paper.first_place) == ("2x3", 2)
    assert [label.container for label in labels_paper(place, ("C-2",)).labels] == ["C-2"]
    with pytest.raises(Unknown):
        labels_paper(place, ("C-9",))


def test_trap_labels_and_log_sheets_walk_the_rooms(clinic: Clinic, place: Workplace) -> None:
    clinic.record(an_opening("C-1"))

    traps, sheet = trap_labels_paper(place), log_sheet_paper(place, (MONDAY,))

    assert [label.trap for label in traps.labels] == ["1-HV", "1-SE", "2-HV", "2-SE", "PUMP"]
    assert traps.labels[-1].room == "Plant room"
    assert (sheet.stops[0].room, sheet.stops[0].trap) == ("Room r1", "1-HV")
    assert sheet.containers == (("C-1", "Chairside traps, scrap"),)
    assert sheet.dates == (MONDAY,)


def test_the_deposit_log_keeps_what_was_corrected_and_sums_what_counts(clinic: Clinic, place: Workplace) -> None:
    clinic.record(an_opening("C-1"))
    void = clinic.record(a_swap("1-HV"))
    weighed = clinic.record(a_deposit(mass=a_reading(1_200), room="r1"))
    wrong = clinic.record(a_swap("2-HV"))
    clinic.record(a_correction(void))
    put_in = clinic.record(a_replacement(wrong, a_swap("2-HV", gross=a_reading(34_200), tare=a_reading(5_000))))
    clinic.record(a_look("1-SE", Condition.NOT_LOOKED, reason="Locked"))
    late = clinic.append(a_swap("PUMP"), put_in.happened_at).entry
    clinic.watch.wait(days=2)
    later = clinic.append(a_swap("1-SE"), late.happened_at + timedelta(minutes=1)).entry

    paper = deposit_log_paper(place, MONDAY, MONDAY)
    rows = {row.entry: row for row in paper.rows}
    masses = {row.entry: row.mass for row in paper.rows if row.mass is not None}

    assert list(rows) == [void.seq, weighed.seq, wrong.seq, put_in.seq, late.seq, later.seq]
    assert (rows[void.seq].corrected_by is not None, rows[void.seq].reason) == (True, "Entered by mistake.")
    assert rows[put_in.seq].corrects == wrong.seq
    assert masses[put_in.seq].basis is Basis.WEIGHED
    assert masses[weighed.seq].value_mg == 1_200
    assert rows[weighed.seq].place == "Room r1"
    assert masses[late.seq].basis is Basis.ESTIMATE
    assert rows[late.seq].recorded_at is None
    assert rows[later.seq].recorded_at is not None
    assert rows[void.seq].happened_at == datetime(2026, 3, 2, 10, 0)  # noqa: DTZ001
    (total,) = paper.containers
    assert (total.container, total.deposits, total.mass.basis) == ("C-1", 4, Basis.ESTIMATE)
    assert "of which 35.40 g weighed" in total.mass.statement  # 34.2 g and 1.2 g
    assert (paper.coverage.looks_made, paper.coverage.looks_due) == (3, 5)
    assert Blank(MONDAY, "Room r2", 1) in paper.coverage.blanks
    with pytest.raises(NotUnderstood):
        deposit_log_paper(place, MONDAY, MONDAY - timedelta(days=1))


def test_the_reminder_counts_days_from_the_release_and_asks_whoever_owes_the_paper(
    clinic: Clinic, place: Workplace
) -> None:
    two_containers(clinic)
    with pytest.raises(NothingToAskFor):
        reminder_paper(place, "P-1")
    release_pickup(place, "P-1", taken_by="Dana Driver")
    clinic.watch.now = MONDAY_MORNING + timedelta(days=31)
    clinic.record(Remark(text="Called the carrier.\nNobody there.", pickup="P-1"))

    paper = reminder_paper(place, "P-1")

    assert (paper.left_on, paper.days_open) == (MONDAY, 31)
    assert paper.to.name == "Invented Carrier"
    assert paper.earlier == ((date(2026, 4, 2), "Called the carrier. Nobody there."),)
    assert paper.signer == "Mo Example"
    assert [one.id for one in paper.containers] == ["C-1", "C-2"]
    clinic.record(a_receipt(containers=("C-1", "C-2")))
    assert reminder_paper(place, "P-1").to.name == "Invented Recycling Works"
    clinic.record(a_receipt(proves="recycled", containers=()))
    with pytest.raises(NothingToAskFor):
        reminder_paper(place, "P-1")


def test_every_filled_paper_can_be_drawn(clinic: Clinic, place: Workplace) -> None:
    two_containers(clinic)
    release_pickup(place, "P-1", taken_by="Dana Driver")
    clinic.record(an_opening("C-3"))
    papers = {
        "manifest": manifest_paper(place, "P-1"),
        "labels": labels_paper(place),
        "trap-labels": trap_labels_paper(place),
        "deposit-log": deposit_log_paper(place, MONDAY, MONDAY),
        "log-sheet": log_sheet_paper(place),
        "reminder": reminder_paper(place, "P-1"),
    }

    drawn = {name: PAPERS[name].draw(paper) for name, paper in papers.items()}

    assert all(one.pdf.startswith(b"%PDF") and one.pages >= 1 for one in drawn.values())
    assert {name: one.findings for name, one in drawn.items() if one.findings} == {}
