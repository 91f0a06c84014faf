"""How much waste arose and left in a period: weighed and estimated apart, and nothing twice at the turn of a year."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tests.makers import (
    Clinic,
    a_booking,
    a_closing,
    a_correction,
    a_deposit,
    a_reading,
    a_receipt,
    a_released_container,
    a_swap,
    a_weighing,
    an_opening,
    make_clinic,
)
from wasteledger.ledger.append import Recorder
from wasteledger.model.entries import PickupReleased, ReleasedContainer
from wasteledger.office.amounts import Amount, Amounts, amounts_between, together
from wasteledger.office.masses import mass_of
from wasteledger.office.waste_counting import Counting

IN_2026 = (date(2026, 1, 1), date(2026, 12, 31))
IN_2027 = (date(2027, 1, 1), date(2027, 12, 31))


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Clinic]:
    """The small practice of `tests.makers`, on Monday 2 March 2026, with its register alone."""
    made = make_clinic(tmp_path)
    with made.ledger:
        yield made


def amounts(clinic: Clinic, period: tuple[date, date] = IN_2026) -> Amounts:
    """What was made and shipped in that period."""
    with clinic.ledger.reading(clinic.site) as reader:
        return amounts_between(reader, *period)


def standing_of(clinic: Clinic, container: str = "C-1") -> Amount:
    """What stands in the container now, as any other command states it."""
    with clinic.ledger.reading(clinic.site) as reader:
        found = reader.find_container(container)
        assert found is not None
        mass = mass_of(reader, found)
    assert mass.basis != "empty"
    return Amount(
        mass.value_mg,
        mass.lower_mg,
        mass.upper_mg,
        mass.weighed_mg,
        -(-mass.scale_mg * 196 // 100),
        mass.basis,
        mass.unknown_pieces,
    )


def in_2027(clinic: Clinic) -> None:
    """Let the new year come: 4 January 2027."""
    clinic.watch.now = datetime(2027, 1, 4, 15, 0, tzinfo=UTC)


def shipped(clinic: Clinic, *containers: ReleasedContainer) -> None:
    """Pickup P-1 with what it states of each container, booked and released."""
    refs = tuple(one.container for one in containers)
    for ref in refs:
        clinic.record(a_closing(ref))
    clinic.record(a_booking(containers=refs, planned_on=date(2027, 1, 8)))
    booking = a_booking(containers=refs)
    clinic.record(
        PickupReleased(
            pickup="P-1",
            carrier=booking.carrier,
            facility=booking.facility,
            containers=containers,
            taken_by="Dana Driver",
            document="INV-7",
        )
    )


def test_a_container_weighed_in_the_end_was_made_by_weighing(clinic: Clinic) -> None:
    """200 g on the scale, 150 g empty: 50 g. Both readings within 50 mg of their step and 100 mg of tolerance, so
    U = 1.96 √(2 (100² + 4·100²)/12) = 179 mg, carried up.
    """
    opened = clinic.record(an_opening())
    clinic.record(a_swap())
    weighed = clinic.record(a_weighing())

    found = amounts(clinic)

    assert [(one.container, one.seqs) for one in found.made] == [("C-1", (opened.seq, weighed.seq))]
    total = found.made_in_all
    assert (total.value_mg, total.weighed_mg, total.basis) == (50_000, 50_000, "weighed")
    assert (total.lower_mg, total.upper_mg) == (50_000 - 179, 50_000 + 179)
    assert total.words == "50.00 g ± 0.18 g (95 %), weighed"
    assert found.on_site == total


def test_an_estimate_is_never_said_as_weighed(clinic: Clinic) -> None:
    clinic.record(an_opening())
    clinic.record(a_swap())

    total = amounts(clinic).made_in_all

    assert total == standing_of(clinic)
    assert (total.basis, total.weighed_mg) == ("estimate", 0)
    assert total.words.startswith("about ")
    assert total.words.endswith(", estimate")


def test_what_stood_on_a_scale_is_told_apart_from_the_rest(clinic: Clinic) -> None:
    """A weighed container beside an estimated one: value and ends add up, and the weighed part keeps its name."""
    clinic.record(an_opening("C-1"))
    clinic.record(a_weighing("C-1"))
    clinic.record(an_opening("C-2"))
    clinic.record(a_swap("1-SE", "C-2"))

    total, other = amounts(clinic).made_in_all, standing_of(clinic, "C-2")

    assert total.value_mg == 50_000 + other.value_mg
    assert (total.lower_mg, total.upper_mg) == (49_821 + other.lower_mg, 50_179 + other.upper_mg)
    assert (total.basis, total.weighed_mg) == ("estimate", 50_000)
    assert total.words.endswith(", estimate, of which 50.00 g weighed")


def test_pieces_of_unknown_mass_are_counted_and_not_taken_as_nothing(clinic: Clinic) -> None:
    clinic.record(an_opening())
    clinic.record(a_deposit(count=3))

    total = amounts(clinic).made_in_all

    assert (total.unknown_pieces, total.value_mg, total.basis) == (3, 0, "estimate")
    assert total.words == "3 pieces of unknown mass, estimate"


def test_the_year_counts_only_what_came_in_it(clinic: Clinic) -> None:
    """A container that spans the turn of the year: one swap before, the same swap after."""
    clinic.record(an_opening())
    clinic.record(a_swap())
    before = standing_of(clinic)
    in_2027(clinic)
    clinic.record(a_swap())

    first, second = amounts(clinic), amounts(clinic, IN_2027)

    assert first.made_in_all == before == second.made_in_all
    assert first.on_site == before
    assert second.on_site == standing_of(clinic)


def test_of_two_weighings_the_difference_came_in_between_by_the_wider_of_both_ends(clinic: Clinic) -> None:
    clinic.record(an_opening())
    clinic.record(a_weighing(gross_mg=200_000))
    in_2027(clinic)
    clinic.record(a_swap())
    clinic.record(a_weighing(gross_mg=260_000))

    total = amounts(clinic, IN_2027).made_in_all

    assert (total.value_mg, total.weighed_mg, total.basis) == (60_000, 60_000, "weighed")
    assert (total.lower_mg, total.upper_mg) == (60_000 - 2 * 179, 60_000 + 2 * 179)


def test_what_a_weighing_shows_of_before_is_of_before(clinic: Clinic) -> None:
    """Twenty swaps in one year, and the scale shows less than they were thought to hold in the next one."""
    clinic.record(an_opening())
    for _ in range(20):
        clinic.record(a_swap())
    before = standing_of(clinic)
    in_2027(clinic)
    clinic.record(a_weighing(gross_mg=150_500))

    assert before.value_mg > 500
    assert amounts(clinic, IN_2027).made_in_all.words == "nothing"
    assert (amounts(clinic).made_in_all.value_mg, amounts(clinic).made_in_all.basis) == (500, "weighed")


def test_what_is_on_site_is_one_estimate_as_the_monthly_count_has_it(clinic: Clinic) -> None:
    """Two containers with traps of one kind, and a weighed one: no ends of their own intervals are added up."""
    for ref in ("C-1", "C-2"):
        clinic.record(an_opening(ref))
        for _ in range(8):
            clinic.record(a_swap(container=ref))
    clinic.record(an_opening("C-3"))
    clinic.record(a_weighing("C-3"))
    with clinic.ledger.reading(clinic.site) as reader:
        counted = Counting(reader, date(2026, 3, 2), ()).on_site()

    found = amounts(clinic).on_site

    assert (found.value_mg, found.lower_mg, found.upper_mg) == (counted.value_mg, counted.lower_mg, counted.upper_mg)
    ends = together([standing_of(clinic, ref) for ref in ("C-1", "C-2", "C-3")])
    assert ends.lower_mg < found.lower_mg < found.value_mg == ends.value_mg
    assert found.upper_mg < ends.upper_mg


def test_what_left_counts_as_it_was_stated_then(clinic: Clinic) -> None:
    clinic.record(an_opening())
    clinic.record(a_weighing())
    in_2027(clinic)
    shipped(clinic, a_released_container())
    # A correction made afterwards changes what is reckoned, and nothing of what was stated.
    clinic.record(a_correction(next(one.seq for one in clinic.entries() if one.kind == "weighing")))

    before, after = amounts(clinic), amounts(clinic, IN_2027)

    assert before.shipped == ()
    assert before.shipped_in_all.words == "nothing"
    assert [(one.pickup, one.left_on, one.document) for one in after.shipped] == [("P-1", date(2027, 1, 4), "INV-7")]
    assert (after.shipped_in_all.value_mg, after.shipped_in_all.basis) == (50_000, "weighed")
    assert after.on_site.basis == "none"


def test_what_the_facility_states_stands_beside_it(clinic: Clinic) -> None:
    clinic.record(an_opening())
    clinic.record(a_weighing())
    in_2027(clinic)
    shipped(clinic, a_released_container())
    (open_pickup,) = amounts(clinic, IN_2027).shipped
    assert (open_pickup.received_mg, open_pickup.received_on) == (None, None)
    receipt = clinic.record(a_receipt(received_on=date(2027, 1, 4)))

    found = amounts(clinic, IN_2027)

    (one,) = found.shipped
    assert (one.received_mg, found.received_in_all_mg) == (50_000, 50_000)
    assert one.received_words == "the facility states 50 g received"
    assert one.seqs[-1] == receipt.seq
    assert one.recycled_on is None


def test_a_paper_that_leaves_a_container_out_states_no_sum(clinic: Clinic) -> None:
    for ref in ("C-1", "C-2"):
        clinic.record(an_opening(ref))
        clinic.record(a_weighing(ref))
    shipped(clinic, a_released_container("C-1"), a_released_container("C-2"))
    clinic.record(a_receipt("P-1", ("C-1",), received_on=date(2026, 3, 2)))

    (one,) = amounts(clinic).shipped

    assert one.received_mg is None
    assert one.received_words == "no received weight of all of it is recorded"
    assert one.amount.value_mg == 100_000
    assert (one.amount.lower_mg, one.amount.upper_mg) == (2 * 49_870, 2 * 50_130)


def test_a_weighed_deposit_alone_is_weighed(clinic: Clinic) -> None:
    clinic.record(an_opening())
    clinic.record(a_deposit(mass=a_reading(1_200), count=1))

    assert amounts(clinic).made_in_all.weighed_mg == 1_200
    assert amounts(clinic).made_in_all.basis == "weighed"


def test_nothing_together_is_nothing() -> None:
    assert together([Amount(), Amount()]) == Amount()
    assert Amount().words == "nothing"


def test_an_empty_container_and_one_of_another_year_are_left_out(clinic: Clinic) -> None:
    with clinic.ledger.writing(clinic.site, Recorder("kim", "cli")) as desk:
        desk.append(an_opening())

    assert amounts(clinic).made == ()
    assert amounts(clinic, (date(2025, 1, 1), date(2025, 12, 31))).made == ()
