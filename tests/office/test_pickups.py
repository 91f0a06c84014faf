"""Booking, releasing and receiving a pickup."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest

from tests.makers import Watch
from tests.office.makers import (
    PICKUP_ON,
    Crew,
    assert_repeated,
    booked,
    chain_end,
    container,
    entry,
    hours_ago,
    open_pail,
    pickup,
    refused,
    released,
)
from wasteledger.errors import NotUnderstood, Unknown
from wasteledger.ledger.append import InTheFuture, KeyReused
from wasteledger.model.entries import BodyNotUnderstood, ContainerClosed, PickupBooked, PickupReleased, Receipt
from wasteledger.model.register import CarrierDetails
from wasteledger.model.standing import Contradicts
from wasteledger.model.standing.pickups import SecondReceipt
from wasteledger.model.standing.refusals import (
    AlreadyThere,
    ContainerGone,
    NotAsBooked,
    NotReleased,
    NotThereYet,
    Retired,
)
from wasteledger.model.traps import Condition
from wasteledger.office.containers import close_container, weigh_container
from wasteledger.office.corrections import correct_entry
from wasteledger.office.days import BeyondReckoning
from wasteledger.office.people import register_line, retire_line
from wasteledger.office.pickups import book_pickup, receive_pickup, release_pickup, released_container
from wasteledger.office.received import explain_pickup
from wasteledger.office.swaps import record_deposit, record_swap
from wasteledger.office.workplace import NotTheirTask, Recorded, Said, Workplace
from wasteledger.units import Mass


@pytest.fixture
def mo(crew: Crew, watch: Watch) -> Workplace:
    """Mo, who manages, an hour after pail C-1 got its first trap."""
    open_pail(crew.kim)
    record_swap(crew.kim, "1-HV", condition=Condition.CLOGGED)
    watch.wait(hours=1)
    return crew.mo


# -- booking ---------------------------------------------------------------------------------------------------------


def test_a_booking_keeps_the_parties_as_they_stood(mo: Workplace) -> None:
    made = book_pickup(mo, "P-1", "ferryman", "stillhouse", PICKUP_ON, ("C-1", "C-1"), reference="R 7")
    body = made.entry.body
    assert isinstance(body, PickupBooked)
    assert (body.carrier.name, body.facility.name) == ("Ferryman Carriage (invented)", "Stillhouse Recovery (invented)")
    assert (body.containers, body.planned_on, body.reference) == (("C-1",), PICKUP_ON, "R 7")
    assert container(mo).pickup == "P-1"
    register_line(mo, "ferryman", CarrierDetails(name="Renamed Carriage (invented)"))
    assert entry(mo, made.seq).body == body


def test_a_booking_wants_what_is_there(mo: Workplace) -> None:
    with refused(mo, Unknown, "no carrier “cart”"):
        book_pickup(mo, "P-1", "cart", "stillhouse", PICKUP_ON, ("C-1",))
    with refused(mo, Unknown, "no receiving facility “dump”"):
        book_pickup(mo, "P-1", "ferryman", "dump", PICKUP_ON, ("C-1",))
    with refused(mo, NotThereYet, "no container “C-9”"):
        book_pickup(mo, "P-1", "ferryman", "stillhouse", PICKUP_ON, ("C-1", "C-9"))
    with refused(mo, BodyNotUnderstood, "containers"):
        book_pickup(mo, "P-1", "ferryman", "stillhouse", PICKUP_ON, ())
    retire_line(mo, "carrier", "ferryman")
    with refused(mo, Retired, "carrier “ferryman”"):
        booked(mo)


def test_a_pickup_or_a_container_is_booked_once(mo: Workplace) -> None:
    booked(mo)
    open_pail(mo, "C-2")
    with refused(mo, AlreadyThere, "already a pickup “P-1”"):
        booked(mo, "C-2")
    with refused(mo, NotAsBooked, "already booked for pickup P-1"):
        book_pickup(mo, "P-2", "ferryman", "stillhouse", PICKUP_ON, ("C-1",))


# -- release ---------------------------------------------------------------------------------------------------------


def test_a_release_closes_what_is_open_and_keeps_what_the_ledger_states(mo: Workplace) -> None:
    booked(mo)
    before = chain_end(mo)
    left = release_pickup(mo, "P-1", taken_by="Dana Driver", document="D 12")
    assert before is not None
    assert left.seq == before.entries + 2
    assert entry(mo, left.seq - 1).body == ContainerClosed(container="C-1", why="pickup")
    body = left.entry.body
    assert isinstance(body, PickupReleased)
    (one,) = body.containers
    assert (one.container, one.basis, one.tare_mg, one.gross_mg) == ("C-1", "estimate", 500_000, None)
    assert (one.swaps, one.deposits) == (1, 0)
    assert one.lower_mg <= one.net_mg <= one.upper_mg
    assert one.net_mg > 5_100
    assert one.closed_on == mo.today()
    assert "estimate" in one.statement
    assert "Not weighed since the last additions" in left.warnings[0]
    assert (container(mo).status, pickup(mo).status) == ("released", "released")


def test_a_weighed_container_leaves_as_weighed(mo: Workplace) -> None:
    weigh_container(mo, "C-1", Mass(508_000))
    left = released(mo)
    assert isinstance(left.entry.body, PickupReleased)
    (one,) = left.entry.body.containers
    assert (one.basis, one.gross_mg, one.net_mg, one.estimated_mg) == ("weighed", 508_000, 8_000, 0)
    assert left.warnings == ()


def test_what_never_stood_on_a_scale_has_no_gross_mass_of_its_own(crew: Crew) -> None:
    """A pail filled by deposits weighed one by one was printed with its empty mass as gross, beside a larger net."""
    open_pail(crew.mo)
    record_deposit(crew.mo, "C-1", "contact", mass=Mass(30_000))
    with crew.mo.reading() as reader:
        draft = released_container(crew.mo, reader, "C-1")
    assert (draft.basis, draft.net_mg, draft.gross_mg) == ("weighed", 30_000, None)
    left = released(crew.mo).entry.body
    assert isinstance(left, PickupReleased)
    assert (left.containers[0].net_mg, left.containers[0].gross_mg) == (30_000, None)


def test_a_deposit_after_the_weighing_leaves_the_gross_mass_open(mo: Workplace) -> None:
    weigh_container(mo, "C-1", Mass(508_000))
    record_deposit(mo, "C-1", "contact", mass=Mass(30_000))
    left = released(mo).entry.body
    assert isinstance(left, PickupReleased)
    assert (left.containers[0].basis, left.containers[0].net_mg) == ("weighed", 38_000)
    assert left.containers[0].gross_mg is None


def test_a_release_that_fails_closes_nothing(mo: Workplace) -> None:
    booked(mo)
    with refused(mo, BodyNotUnderstood, "longer than 200"):
        release_pickup(mo, "P-1", taken_by="x" * 201)
    with refused(mo, BodyNotUnderstood, "longer than 2000"):
        release_pickup(mo, "P-1", Said(note="n" * 2001), taken_by="Dana Driver")
    with refused(mo, InTheFuture):
        release_pickup(mo, "P-1", Said(at=hours_ago(mo, -1)), taken_by="Dana Driver")
    assert container(mo).status == "open"


def test_only_a_booked_pickup_is_released_and_once(mo: Workplace) -> None:
    with refused(mo, NotThereYet, "no pickup “P-1”"):
        release_pickup(mo, "P-1", taken_by="Dana Driver")
    released(mo)
    with refused(mo, ContainerGone, "left the site with pickup P-1"):
        release_pickup(mo, "P-1", taken_by="Dana Driver")


def test_a_backdated_release_takes_its_place_in_time(mo: Workplace, watch: Watch) -> None:
    made = booked(mo)
    watch.wait(days=3)
    with refused(mo, NotAsBooked, "not booked for pickup P-1"):
        release_pickup(mo, "P-1", Said(at=made.entry.happened_at - timedelta(minutes=1)), taken_by="Dana Driver")
    left = release_pickup(mo, "P-1", Said(at=hours_ago(mo, 48)), taken_by="Dana Driver")
    assert pickup(mo).released_at == container(mo).closed_at == hours_ago(mo, 48)
    assert isinstance(left.entry.body, PickupReleased)
    assert left.entry.body.containers[0].closed_on == mo.local(hours_ago(mo, 48)).date()


def test_a_release_before_the_last_addition_contradicts_it(mo: Workplace, watch: Watch) -> None:
    booked(mo)
    watch.wait(days=2)
    swapped = record_swap(mo, "1-SE")
    with refused(mo, Contradicts, f"contradict entry {swapped.seq}"):
        release_pickup(mo, "P-1", Said(at=hours_ago(mo, 24)), taken_by="Dana Driver")
    assert (container(mo).status, pickup(mo).status) == ("open", "booked")


# -- receipt ---------------------------------------------------------------------------------------------------------


def test_two_papers_close_a_pickup(mo: Workplace, watch: Watch) -> None:
    released(mo)
    watch.wait(days=20)
    arrived = receive_pickup(mo, "P-1", proves="received", received_on=mo.today(), net=(("C-1", Mass(7_000)),))
    assert isinstance(arrived.entry.body, Receipt)
    assert "still open" in arrived.says
    assert (pickup(mo).status, container(mo).received_mg) == ("received", 7_000)
    watch.wait(days=20)
    proved = receive_pickup(mo, "P-1", proves="recycled", received_on=mo.today(), document="C 99")
    assert "closed" in proved.says
    assert pickup(mo).status == "closed"
    with refused(mo, SecondReceipt, f"entry {proved.seq}"):
        receive_pickup(mo, "P-1", received_on=mo.today(), proves="recycled")
    with refused(mo, SecondReceipt, f"entry {arrived.seq}"):
        receive_pickup(mo, "P-1", received_on=mo.today(), proves="both")


def test_a_receipt_wants_a_release(mo: Workplace) -> None:
    with refused(mo, NotReleased, "P-7 was never released"):
        receive_pickup(mo, "P-7", received_on=mo.today())
    booked(mo)
    with refused(mo, NotReleased, "P-1 was never released"):
        receive_pickup(mo, "P-1", received_on=mo.today())


def test_a_receipt_has_its_day_after_the_release(mo: Workplace, watch: Watch) -> None:
    booked(mo)
    watch.wait(days=2)
    release_pickup(mo, "P-1", taken_by="Dana Driver")
    watch.wait(days=2)
    with refused(mo, NotUnderstood, "cannot have been received"):
        receive_pickup(mo, "P-1", received_on=mo.today() - timedelta(days=3))
    with refused(mo, NotUnderstood, "has not come yet"):
        receive_pickup(mo, "P-1", received_on=mo.today() + timedelta(days=1))
    with refused(mo, NotReleased, "never released"):
        receive_pickup(mo, "P-1", Said(at=hours_ago(mo, 49)), received_on=mo.today())
    with refused(mo, BodyNotUnderstood, "proves"):
        receive_pickup(mo, "P-1", received_on=mo.today(), proves="hope")
    with refused(mo, NotThereYet, "no container “C-9”"):
        receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-9", Mass(7_000)),))
    open_pail(mo, "C-9")
    with refused(mo, NotAsBooked, "C-9"):
        receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-9", Mass(7_000)),))
    assert receive_pickup(mo, "P-1", received_on=mo.today() - timedelta(days=2)).seq


def test_a_receipt_far_from_what_left_is_warned_of(mo: Workplace) -> None:
    weigh_container(mo, "C-1", Mass(608_000))
    released(mo)
    got = receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(4_000)),), discrepancy="Lid loose")
    assert "the facility states 4 g; what left was" in got.warnings[0]
    assert "weighed" in got.warnings[0]


def test_a_receipt_in_agreement_is_not_warned_of(mo: Workplace) -> None:
    weigh_container(mo, "C-1", Mass(508_000))
    released(mo)
    assert not receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(8_000)),)).warnings


@pytest.mark.parametrize(("total_mg", "is_said"), [(1_000, True), (8_000, False), (8_900, False), (80_000, True)])
def test_a_total_that_is_not_the_sum_of_its_parts_is_asked_about(mo: Workplace, total_mg: int, is_said: bool) -> None:
    weigh_container(mo, "C-1", Mass(508_000))
    released(mo)
    got = receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(8_000)),), total=Mass(total_mg))
    said = [one for one in got.warnings if "come to 8 g together" in one]
    assert bool(said) == is_said


def test_a_total_beside_some_of_the_containers_alone_is_no_sum(mo: Workplace) -> None:
    open_pail(mo, "C-2")
    released(mo, "C-1", "C-2")
    got = receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(8_000)),), total=Mass(20_000))
    assert not [one for one in got.warnings if "together; its total" in one]


def test_a_correction_of_the_paper_s_day_is_checked_like_the_paper(mo: Workplace, watch: Watch) -> None:
    released(mo)
    watch.wait(days=3)
    receipt = receive_pickup(mo, "P-1", received_on=mo.today()).seq

    def correct(day: object) -> Recorded:
        return correct_entry(mo, receipt, "Other day.", action="replace", changes={"received_on": str(day)})

    with refused(mo, NotUnderstood, "has not come yet"):
        correct(mo.today() + timedelta(days=1))
    with refused(mo, NotUnderstood, "cannot have been received"):
        correct(mo.today() - timedelta(days=4))
    with refused(mo, BeyondReckoning, "0206-03-01 is too far away"):
        correct("0206-03-01")
    assert correct(mo.today() - timedelta(days=1)).seq


def test_a_pickup_in_a_year_that_nobody_means_is_not_booked(mo: Workplace) -> None:
    with refused(mo, BeyondReckoning, "9999-12-31 is too far away"):
        book_pickup(mo, "P-1", "ferryman", "stillhouse", date.max, ("C-1",))
    seq = booked(mo).seq
    with refused(mo, BeyondReckoning, "9999-12-31 is too far away"):
        correct_entry(mo, seq, "Other day.", action="replace", changes={"planned_on": "9999-12-31"})


def test_a_pickup_that_is_not_there_cannot_be_explained(mo: Workplace) -> None:
    with refused(mo, NotThereYet, "no pickup “P-NOPE”"):
        explain_pickup(mo, "P-NOPE", "As they say.")


# -- all of them -----------------------------------------------------------------------------------------------------

DOINGS: dict[str, Callable[[Workplace, Said], Recorded]] = {
    "book": lambda place, said: book_pickup(place, "P-1", "ferryman", "stillhouse", PICKUP_ON, ("C-1",), said),
    "release": lambda place, said: release_pickup(place, "P-1", said, taken_by="Dana Driver"),
    "receive": lambda place, said: receive_pickup(place, "P-1", said, received_on=place.today()),
}


@pytest.mark.parametrize("do", DOINGS.values(), ids=DOINGS.keys())
def test_pickups_are_the_office_s_to_record(
    mo: Workplace, crew: Crew, do: Callable[[Workplace, Said], Recorded]
) -> None:
    for place, role in ((crew.kim, "assistant"), (crew.iris, "inspector")):
        with refused(place, NotTheirTask, role):
            do(place, Said())


def test_a_repeated_key_answers_with_the_first_entry_at_every_stage(mo: Workplace, watch: Watch) -> None:
    open_pail(mo, "C-2")
    day = mo.today()

    def book() -> Recorded:
        return book_pickup(mo, "P-1", "ferryman", "stillhouse", PICKUP_ON, ("C-2", "C-1"), Said(key="book"))

    def release() -> Recorded:
        return release_pickup(mo, "P-1", Said(key="release"), taken_by="Dana Driver")

    def receive() -> Recorded:
        return receive_pickup(mo, "P-1", Said(key="receive"), received_on=day, net=(("C-1", Mass(7_000)),))

    doings = (book, release, receive)
    firsts = []
    for do in doings:
        firsts.append(do())
        watch.wait(hours=1)
        # Right after it, and after everything that followed.
        for first, again in zip(firsts, doings, strict=False):
            before = chain_end(mo)
            assert_repeated(mo, first, again())
            assert chain_end(mo) == before
    retire_line(mo, "carrier", "ferryman")
    register_line(mo, "stillhouse", CarrierDetails(name="Another kind of line"))
    for first, again in zip(firsts, doings, strict=True):
        assert_repeated(mo, first, again())


def test_a_key_that_names_another_carrier_is_another_saying(mo: Workplace) -> None:
    book_pickup(mo, "P-1", "ferryman", "stillhouse", PICKUP_ON, ("C-1",), Said(key="k-1"))
    with refused(mo, KeyReused, "k-1"):
        book_pickup(mo, "P-1", "barge", "stillhouse", PICKUP_ON, ("C-1",), Said(key="k-1"))


def test_a_release_with_a_used_key_that_said_something_else_closes_nothing(mo: Workplace) -> None:
    close_container(mo, "C-1", Said(key="k-1"))
    open_pail(mo, "C-2")
    booked(mo, "C-2")
    with refused(mo, KeyReused, "k-1"):
        release_pickup(mo, "P-1", Said(key="k-1"), taken_by="Dana Driver")
    assert container(mo, "C-2").status == "open"


def test_a_release_made_void_can_be_made_again(mo: Workplace) -> None:
    left = released(mo)
    correct_entry(mo, left.seq, "The carrier did not come.")
    assert (pickup(mo).status, container(mo).status) == ("booked", "closed")
    assert release_pickup(mo, "P-1", taken_by="Ira Driver").seq
    assert pickup(mo).status == "released"
