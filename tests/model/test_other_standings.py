"""The standing of traps, pickups, separators, lines of the register and milestones."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from tests.makers import (
    MONDAY_MORNING,
    a_booking,
    a_line_cleaning,
    a_look,
    a_person,
    a_receipt,
    a_release,
    a_repair,
    a_room,
    a_separator,
    a_swap,
    a_trap,
    a_unit_replacement,
    an_inspection,
)
from tests.model.histories import standing_after
from wasteledger.errors import WasteLedgerError
from wasteledger.model.entries import Milestone, Remark
from wasteledger.model.register import Role
from wasteledger.model.standing.pickups import SecondReceipt
from wasteledger.model.standing.refusals import AlreadyThere, NotAsBooked, NotReleased, NotThereYet, Retired
from wasteledger.model.traps import Condition, TrapKind
from wasteledger.model.values import Body

GONE = (a_booking(), a_release())


def hour(number: int) -> Any:
    """When the fact of that number happened."""
    return MONDAY_MORNING + timedelta(hours=number)


def trap_after(*bodies: Body) -> Any:
    return standing_after("trap", "1-HV", *bodies)


def pickup_after(*bodies: Body) -> Any:
    return standing_after("pickup", "P-1", *bodies)


def separator_after(*bodies: Body) -> Any:
    return standing_after("separator", "SEP", *bodies)


# -- traps -------------------------------------------------------------------------------------------------------------


def test_a_registered_trap_was_never_swapped() -> None:
    trap = trap_after(a_trap())

    assert (trap.trap_kind, trap.room) == (TrapKind.HIGH_VOLUME, "r1")
    assert (trap.looks, trap.swaps, trap.last_swap_seq, trap.last_condition) == (0, 0, 0, None)


def test_looked_at_tonight_and_swapped_tomorrow_are_two_events() -> None:
    tonight = trap_after(a_trap(), a_look(left_to_dry=True))
    tomorrow = trap_after(a_trap(), a_look(left_to_dry=True), a_swap())

    assert (tonight.looks, tonight.swaps, tonight.drying_seq) == (1, 0, 2)
    assert tonight.last_condition is Condition.CLOGGED
    assert (tomorrow.looks, tomorrow.swaps, tomorrow.drying_seq) == (1, 1, 0)
    assert (tomorrow.last_look_at, tomorrow.last_swap_at) == (hour(2), hour(3))


def test_a_trap_that_was_not_looked_at_keeps_its_last_condition() -> None:
    trap = trap_after(
        a_trap(),
        a_look(condition=Condition.DEBRIS),
        a_look(condition=Condition.NOT_LOOKED, reason="room in use"),
    )

    assert (trap.looks, trap.last_condition, trap.last_look_seq, trap.last_at) == (1, Condition.DEBRIS, 2, hour(3))


def test_a_trap_may_change_its_details_and_come_back_into_service() -> None:
    moved = trap_after(a_trap(), a_trap(room="r2", walk=4))
    back = trap_after(a_trap(), a_trap(retired=True), a_trap())

    assert (moved.room, moved.walk, moved.in_service_at) == ("r2", 4, hour(1))
    assert back.retired_at is None


@pytest.mark.parametrize(
    ("history", "refusal"),
    [
        ((a_look(),), NotThereYet),
        ((a_swap(),), NotThereYet),
        ((Remark(text="leaks", trap="1-HV"),), NotThereYet),
        ((a_trap(retired=True),), NotThereYet),
        ((a_trap(), a_trap(retired=True), a_look()), Retired),
        ((a_trap(), a_trap(retired=True), a_swap()), Retired),
        ((a_trap(), a_trap(retired=True), a_trap(retired=True)), Retired),
        ((a_trap(), a_swap(trap_kind=TrapKind.SALIVA_EJECTOR)), NotThereYet),
    ],
    ids=lambda one: one.__name__ if isinstance(one, type) else f"{len(one)}-{one[-1].KIND}",
)
def test_a_trap_refuses(history: tuple[Body, ...], refusal: type[WasteLedgerError]) -> None:
    if len(history) > 1:
        trap_after(*history[:-1])

    with pytest.raises(refusal, match="1-HV") as refused:
        trap_after(*history)

    assert refused.value.hint


def test_a_retired_trap_still_takes_a_remark() -> None:
    assert trap_after(a_trap(), a_trap(retired=True), Remark(text="thrown away", trap="1-HV")).last_at == hour(3)


# -- pickups -----------------------------------------------------------------------------------------------------------


def test_a_pickup_is_booked_released_received_and_closed() -> None:
    booked, released = pickup_after(a_booking()), pickup_after(*GONE)
    received = pickup_after(*GONE, a_receipt())
    closed = pickup_after(*GONE, a_receipt(), a_receipt(proves="recycled", received_on=date(2026, 4, 1)))

    assert [one.status for one in (booked, released, received, closed)] == ["booked", "released", "received", "closed"]
    assert (released.released_seq, received.received_seq, closed.recycled_seq) == (2, 3, 4)
    assert (closed.received_on, closed.recycled_on) == (date(2026, 3, 16), date(2026, 4, 1))


def test_one_paper_may_prove_both() -> None:
    closed = pickup_after(*GONE, a_receipt(proves="both"))

    assert (closed.status, closed.received_seq, closed.recycled_seq) == ("closed", 3, 3)


def test_proof_of_recycling_may_come_before_the_signed_copy() -> None:
    assert pickup_after(*GONE, a_receipt(proves="recycled"), a_receipt()).status == "closed"


@pytest.mark.parametrize(
    ("history", "refusal"),
    [
        ((a_release(),), NotThereYet),
        ((a_receipt(),), NotReleased),
        ((a_booking(), a_receipt()), NotReleased),
        ((a_booking(), a_booking()), AlreadyThere),
        ((*GONE, a_release()), AlreadyThere),
        ((*GONE, a_receipt(), a_receipt()), SecondReceipt),
        ((*GONE, a_receipt(), a_receipt(proves="both")), SecondReceipt),
        ((*GONE, a_receipt(proves="both"), a_receipt(proves="recycled")), SecondReceipt),
        ((*GONE, a_receipt(containers=("C-9",))), NotAsBooked),
        ((a_booking(containers=("C-1", "C-2")), a_release()), NotAsBooked),
        ((a_booking(), a_release(containers=("C-1", "C-2"))), NotAsBooked),
        ((a_booking(), a_release(containers=("C-1", "C-1"))), NotAsBooked),
    ],
    ids=lambda one: one.__name__ if isinstance(one, type) else f"{len(one)}-{one[-1].KIND}",
)
def test_a_pickup_refuses(history: tuple[Body, ...], refusal: type[WasteLedgerError]) -> None:
    if len(history) > 1:
        pickup_after(*history[:-1])

    with pytest.raises(refusal, match="P-1") as refused:
        pickup_after(*history)

    assert refused.value.hint


# -- separators --------------------------------------------------------------------------------------------------------


def test_a_malfunction_stays_open_until_the_repair() -> None:
    broken = separator_after(a_separator(), an_inspection("malfunction"), an_inspection("attention"))
    again = separator_after(a_separator(), an_inspection("malfunction"), an_inspection("malfunction"))
    mended = separator_after(a_separator(), an_inspection("malfunction"), a_repair())

    assert (broken.malfunction_seq, broken.malfunction_at, broken.last_result) == (2, hour(2), "attention")
    assert again.malfunction_seq == 2
    assert (mended.malfunction_seq, mended.malfunction_at) == (0, None)


def test_an_exchanged_unit_starts_empty() -> None:
    exchanged = separator_after(a_separator(), an_inspection(), a_unit_replacement())
    replaced = separator_after(a_separator(), an_inspection(), a_repair("replaced"))
    repaired = separator_after(a_separator(), an_inspection(), a_repair())

    assert (exchanged.level_permille, exchanged.last_unit_seq) == (0, 3)
    assert (replaced.level_permille, replaced.last_unit_seq) == (0, 3)
    assert (repaired.level_permille, repaired.last_unit_seq) == (300, 0)


@pytest.mark.parametrize(
    ("history", "refusal"),
    [
        ((an_inspection(),), NotThereYet),
        ((a_separator(retired=True),), NotThereYet),
        ((a_separator(), a_separator(retired=True), an_inspection()), Retired),
        ((a_separator(), a_separator(retired=True), a_repair()), Retired),
        ((a_separator(), a_separator(retired=True), a_separator(retired=True)), Retired),
    ],
    ids=lambda one: one.__name__ if isinstance(one, type) else f"{len(one)}-{one[-1].KIND}",
)
def test_a_separator_refuses(history: tuple[Body, ...], refusal: type[WasteLedgerError]) -> None:
    with pytest.raises(refusal, match="SEP"):
        separator_after(*history)


# -- the register and milestones ---------------------------------------------------------------------------------------


def test_the_newest_details_of_a_line_count() -> None:
    person = standing_after("person", "kim", a_person(), a_person("kim", Role.MANAGER))

    assert getattr(person, "details", None) == a_person("kim", Role.MANAGER).details
    assert getattr(person, "since_at", None) == hour(1)


@pytest.mark.parametrize(
    ("history", "refusal"),
    [
        ((a_line_cleaning("r1"),), NotThereYet),
        ((a_room(), a_room().model_copy(update={"retired": True}), a_line_cleaning("r1")), Retired),
    ],
    ids=["unknown", "retired"],
)
def test_a_room_that_is_not_in_service_is_not_cleaned(
    history: tuple[Body, ...], refusal: type[WasteLedgerError]
) -> None:
    with pytest.raises(refusal, match="r1"):
        standing_after("room", "r1", *history)


@pytest.mark.parametrize(
    ("history", "refusal"),
    [
        ((a_person("kim", retired=True),), NotThereYet),
        ((a_person(), a_person("kim", retired=True), a_person("kim", retired=True)), Retired),
    ],
    ids=["never came", "left twice"],
)
def test_nobody_leaves_who_is_not_there(history: tuple[Body, ...], refusal: type[WasteLedgerError]) -> None:
    with pytest.raises(refusal, match="kim"):
        standing_after("person", "kim", *history)


def test_a_first_discharge_happens_once() -> None:
    with pytest.raises(AlreadyThere) as refused:
        standing_after(
            "milestone", "first_discharge", Milestone(what="first_discharge"), Milestone(what="first_discharge")
        )

    assert str(refused.value) == "There is already a record of “first discharge”, since 2 March 2026 15:00 UTC."


def test_other_milestones_may_happen_again() -> None:
    moved = Milestone(what="ownership_transferred")

    state = standing_after("milestone", "ownership_transferred", moved, moved)

    assert (getattr(state, "times", 0), getattr(state, "seq", 0)) == (2, 2)
