"""The standing of a container: what it takes, what it holds, and when it is gone."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.makers import (
    MONDAY_MORNING,
    a_booking,
    a_closing,
    a_deposit,
    a_level,
    a_reading,
    a_receipt,
    a_release,
    a_swap,
    a_unit_replacement,
    a_weighing,
    an_opening,
)
from tests.model.histories import facts_of, standing_after
from wasteledger.errors import WasteLedgerError
from wasteledger.model.containers import Tally
from wasteledger.model.entries import ContainerMoved, Remark
from wasteledger.model.standing import ContainerStanding
from wasteledger.model.standing.containers import tally_of
from wasteledger.model.standing.refusals import (
    AlreadyThere,
    BelowTare,
    ContainerGone,
    ContainerSealed,
    NotAsBooked,
    NotClosed,
    NotThereYet,
    WrongStream,
)
from wasteledger.model.traps import Condition, Insert
from wasteledger.model.values import Body

SHIPPED = (an_opening(), a_swap(), a_closing(), a_booking(), a_release())


def container_after(*bodies: Body) -> ContainerStanding:
    state = standing_after("container", "C-1", *bodies)
    assert isinstance(state, ContainerStanding)
    return state


def test_an_opened_container_is_empty() -> None:
    opened = container_after(an_opening())

    assert opened.status == "open"
    assert opened.tare_mg == 150_000
    assert (opened.pieces, opened.swaps, opened.deposits, opened.first_waste_at) == (0, 0, 0, None)
    assert (opened.holding.base_mg, opened.holding.added_mg, opened.holding.tallies) == (0, 0, ())


def test_swaps_are_tallied_by_trap_kind_and_condition() -> None:
    state = container_after(
        an_opening(),
        a_swap("1-HV"),
        a_swap("1-HV", days_in_service=9, insert_mg=6_000),
        a_swap("1-HV", condition=Condition.DEBRIS),
        a_swap("1-SE", insert_mg=None),
    )

    tallies = {(one.source, one.grade): one for one in state.holding.tallies}
    assert tallies["high_volume", "clogged"] == Tally("high_volume", "clogged", 2, 2000, 16_000, 11_000, 0)
    assert tallies["high_volume", "debris"].count == 1
    assert tallies["saliva_ejector", "clogged"] == Tally("saliva_ejector", "clogged", 1, 1000, 7_000, 0, 1)
    assert (state.swaps, state.pieces) == (4, 4)


def test_days_in_service_fall_back_on_the_interval() -> None:
    state = container_after(an_opening(), a_swap(days_in_service=None, interval_days=14))

    assert state.holding.tallies[0].dentist_days_permille == 14_000


def test_an_emptied_trap_adds_no_insert() -> None:
    state = container_after(an_opening(), a_swap(insert=Insert.EMPTIED))

    assert (state.holding.tallies[0].inserts_mg, state.holding.tallies[0].inserts_unknown) == (0, 0)
    assert (state.pieces, state.volume_since_level_ml) == (1, 0)


def test_a_trap_weighed_by_itself_is_added_as_weighed() -> None:
    whole = container_after(an_opening(), a_swap(gross=a_reading(34_200), tare=a_reading(5_000)))
    emptied = container_after(
        an_opening(), a_swap(gross=a_reading(34_200), tare=a_reading(5_000), insert=Insert.EMPTIED)
    )

    assert (whole.holding.added_mg, whole.holding.tallies) == (34_200, ())
    assert emptied.holding.added_mg == 29_200
    assert emptied.holding.added_twelfths_mg2 == 2 * whole.holding.added_twelfths_mg2


def test_a_weighing_starts_the_holding_anew() -> None:
    state = container_after(
        an_opening(), a_swap(), a_deposit(mass=a_reading(900)), a_weighing(gross_mg=180_000), a_swap()
    )

    assert (state.holding.base_mg, state.holding.base_seq) == (30_000, 4)
    assert state.holding.base_twelfths_mg2 == 2 * (100**2 + 4 * 100**2)
    assert state.holding.added_mg == 0
    assert [one.count for one in state.holding.tallies] == [1]
    assert (state.swaps, state.deposits, state.pieces) == (2, 1, 5)


def test_a_container_may_weigh_exactly_its_tare() -> None:
    assert container_after(an_opening(), a_weighing(gross_mg=150_000)).holding.base_mg == 0


def test_a_level_reading_starts_the_volume_anew() -> None:
    state = container_after(
        an_opening(), a_swap(), a_deposit(), a_level(level_permille=300), a_swap(), a_deposit(volume_ml=20)
    )

    assert (state.level_permille, state.level_seq) == (300, 4)
    assert (state.volume_since_level_ml, state.volumes_unknown) == (50, 0)


def test_a_deposit_by_count_and_one_by_mass() -> None:
    state = container_after(an_opening(), a_deposit(count=4), a_deposit(count=None, mass=a_reading(2_500)))

    assert state.holding.tallies == (Tally("stream:scrap", "", 4, 4000),)
    assert state.holding.added_mg == 2_500
    assert (state.deposits, state.pieces) == (2, 5)


def test_a_retaining_unit_goes_in_as_one_piece() -> None:
    state = container_after(an_opening(), a_unit_replacement(days_in_service=300))

    assert state.holding.tallies == (Tally("separator_unit", "not_looked", 1, 1000, 300_000, 400_000, 0),)
    assert (state.deposits, state.pieces, state.volumes_unknown) == (1, 1, 1)


def test_a_container_is_moved() -> None:
    assert container_after(an_opening(), ContainerMoved(container="C-1", place="Back door")).place == "Back door"


def test_a_closed_container_may_still_be_weighed_moved_and_booked() -> None:
    state = container_after(
        an_opening(), a_swap(), a_closing(), a_weighing(), a_level(), ContainerMoved(container="C-1", place="Back door")
    )

    assert state.status == "closed"
    assert state.holding.base_mg == 50_000


def test_a_container_leaves_and_is_received() -> None:
    gone = container_after(*SHIPPED)
    received = container_after(*SHIPPED, a_receipt())

    assert (gone.status, gone.pickup, gone.received_mg) == ("released", "P-1", None)
    assert (received.status, received.received_mg) == ("received", 50_000)


def test_the_second_paper_keeps_the_mass_of_the_first() -> None:
    later = container_after(*SHIPPED, a_receipt(), a_receipt(proves="recycled", containers=()))

    assert later.received_mg == 50_000


def test_a_remark_may_follow_at_any_time() -> None:
    assert container_after(*SHIPPED, Remark(text="lid replaced", container="C-1")).status == "released"


@pytest.mark.parametrize(
    ("history", "refusal"),
    [
        ((a_swap(),), NotThereYet),
        ((a_closing(),), NotThereYet),
        ((an_opening(), an_opening()), AlreadyThere),
        ((an_opening(), a_closing(), a_swap()), ContainerSealed),
        ((an_opening(), a_closing(), a_deposit()), ContainerSealed),
        ((an_opening(), a_closing(), a_unit_replacement()), ContainerSealed),
        ((an_opening(), a_closing(), a_closing()), ContainerSealed),
        ((an_opening(), a_swap(stream="teeth")), WrongStream),
        ((an_opening(), a_deposit(stream="teeth")), WrongStream),
        ((an_opening(), a_unit_replacement(stream="retaining_units")), WrongStream),
        ((an_opening(), a_weighing(gross_mg=149_999)), BelowTare),
        ((an_opening(), a_booking(), a_booking("P-2")), NotAsBooked),
        ((an_opening(), a_closing(), a_release()), NotAsBooked),
        ((an_opening(), a_closing(), a_booking(), a_release("P-2")), NotAsBooked),
        ((an_opening(), a_booking(), a_release()), NotClosed),
        ((an_opening(), a_closing(), a_receipt()), NotAsBooked),
        ((*SHIPPED, a_swap()), ContainerGone),
        ((*SHIPPED, a_weighing()), ContainerGone),
        ((*SHIPPED, a_level()), ContainerGone),
        ((*SHIPPED, a_booking("P-2")), ContainerGone),
        ((*SHIPPED, a_release()), ContainerGone),
        ((*SHIPPED, a_receipt(), a_deposit()), ContainerGone),
        ((*SHIPPED, an_opening()), AlreadyThere),
    ],
    ids=lambda one: one.__name__ if isinstance(one, type) else f"{len(one)}-{one[-1].KIND}",
)
def test_what_cannot_be(history: tuple[Body, ...], refusal: type[WasteLedgerError]) -> None:
    if len(history) > 1:
        container_after(*history[:-1])

    with pytest.raises(refusal) as refused:
        container_after(*history)

    assert refused.value.hint
    assert "C-1" in str(refused.value)


def test_a_refusal_says_when_in_words() -> None:
    with pytest.raises(ContainerSealed) as refused:
        container_after(an_opening(), a_closing(), a_swap())

    closed_at = MONDAY_MORNING + timedelta(hours=2)
    assert str(refused.value) == f"Container C-1 was closed on 2 March 2026 {closed_at:%H:%M} UTC."


def test_a_standing_says_when_its_last_fact_happened() -> None:
    facts = facts_of(an_opening(), a_swap(), Remark(text="x", container="C-1"))

    assert container_after(*(fact.body for fact in facts)).last_at == facts[-1].happened_at


def test_a_trap_left_for_years_holds_no_more_than_a_full_one() -> None:
    """A swap after 876 days was reckoned as 125 full traps, 1.7 kg in an insert of 45 mL."""
    usual, late, forgotten = (tally_of(a_swap(days_in_service=days)) for days in (7, 14, 876))

    assert usual.dentist_days_permille == 7_000
    assert late == forgotten
    assert late.dentist_days_permille == 14_000
