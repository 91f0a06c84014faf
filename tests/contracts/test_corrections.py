"""Corrections: what they do to the standing, and what they may not contradict."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.contracts.journals import Journal
from tests.makers import (
    MONDAY_MORNING,
    a_booking,
    a_closing,
    a_correction,
    a_deposit,
    a_look,
    a_reading,
    a_release,
    a_replacement,
    a_swap,
    a_weighing,
    an_opening,
)
from wasteledger.model.facts import Subject
from wasteledger.model.standing import Contradicts
from wasteledger.model.standing.refusals import BelowTare, ContainerSealed, NotThereYet, WrongStream
from wasteledger.model.traps import Condition


def test_a_void_swap_leaves_no_trace_in_the_standing(journal: Journal) -> None:
    journal.record(an_opening())
    before = journal.container(), journal.standing("trap", "1-HV")
    swap = journal.record(a_swap())

    journal.record(a_correction(swap))

    assert (journal.container(), journal.standing("trap", "1-HV")) == before
    assert journal.entries()[swap.seq - 1] == swap
    assert journal.verify().holds


def test_a_replaced_swap_moves_to_the_other_container(journal: Journal) -> None:
    journal.record(an_opening("C-1"))
    journal.record(an_opening("C-2"))
    swap = journal.record(a_swap(container="C-1"))

    journal.record(a_replacement(swap, a_swap(container="C-2")))

    assert (journal.container("C-1").pieces, journal.container("C-2").pieces) == (0, 1)
    assert journal.verify().holds


def test_a_replaced_time_moves_a_swap_to_the_other_side_of_a_weighing(journal: Journal) -> None:
    journal.record(an_opening())
    weighing = journal.record(a_weighing())
    swap = journal.record(a_swap())
    assert len(journal.container().holding.tallies) == 1

    journal.record(a_replacement(swap, happened_at=weighing.happened_at - timedelta(minutes=1)))

    assert journal.container().holding.tallies == ()
    assert journal.container().swaps == 1
    assert journal.verify().holds


def test_a_reinstated_entry_counts_again(journal: Journal) -> None:
    journal.record(an_opening())
    swap = journal.record(a_swap())
    with_swap = journal.container()
    journal.record(a_correction(swap))

    journal.record(a_correction(swap, "reinstate"))

    assert journal.container() == with_swap
    assert journal.verify().holds


def test_the_newest_correction_counts(journal: Journal) -> None:
    look = journal.record(a_look())
    journal.record(a_correction(look))
    journal.record(a_replacement(look, a_look("2-HV", Condition.DEBRIS)))
    journal.record(a_replacement(look, a_look("2-SE", Condition.CLEAN)))

    looked = {ref: getattr(journal.standing("trap", ref), "looks", None) for ref in ("1-HV", "2-HV", "2-SE")}

    assert looked == {"1-HV": 0, "2-HV": 0, "2-SE": 1}
    with journal.ledger.reading(journal.site) as reader:
        assert reader.corrections_of([look.seq, 1]) == {look.seq: (look.seq + 3, "replace")}
    assert journal.verify().holds


def test_a_moved_swap_is_not_forgotten_when_its_new_container_is_folded_anew(journal: Journal) -> None:
    """The target of a correction spoke of another container, so it was not among the entries about this one."""
    for ref in ("C-1", "C-2"):
        journal.append(an_opening(ref), at=MONDAY_MORNING - timedelta(days=9))
    swap = journal.append(a_swap(container="C-1"), at=MONDAY_MORNING - timedelta(days=5)).entry
    journal.record(a_replacement(swap, a_swap(container="C-2")))

    journal.append(a_deposit("C-2"), at=MONDAY_MORNING - timedelta(days=6))

    assert (journal.container("C-2").swaps, journal.container("C-2").deposits) == (1, 1)
    assert journal.verify().holds


def test_a_moved_swap_is_not_forgotten_by_the_correction_of_a_neighbour(journal: Journal) -> None:
    journal.record(an_opening("C-1"))
    journal.record(an_opening("C-2"))
    swap, neighbour = journal.record(a_swap(container="C-1")), journal.record(a_deposit("C-2"))
    journal.record(a_replacement(swap, a_swap(container="C-2")))

    journal.record(a_correction(neighbour))

    assert (journal.container("C-2").swaps, journal.container("C-2").deposits) == (1, 0)
    assert journal.verify().holds


def test_a_swap_moved_twice_and_back_stands_once(journal: Journal) -> None:
    for ref in ("C-1", "C-2", "C-3"):
        journal.record(an_opening(ref))
    swap = journal.record(a_swap(container="C-1"))
    for ref in ("C-2", "C-3", "C-1", "C-2"):
        journal.record(a_replacement(swap, a_swap(container=ref)))
        held = [one for one in ("C-1", "C-2", "C-3") if journal.container(one).pieces]
        assert held == [ref]

    journal.record(a_correction(swap, "reinstate"))

    assert [journal.container(one).pieces for one in ("C-1", "C-2", "C-3")] == [1, 0, 0]
    assert journal.verify().holds


def test_every_mention_of_a_moved_entry_can_be_found(journal: Journal) -> None:
    journal.record(an_opening("C-1"))
    journal.record(an_opening("C-2"))
    swap = journal.record(a_swap(container="C-1"))
    moved = journal.record(a_replacement(swap, a_swap(container="C-2")))

    with journal.ledger.reading(journal.site) as reader:
        facts = reader.facts_about(Subject("container", "C-2"))
        left = reader.facts_about(Subject("container", "C-1"))

    assert [fact.seq for fact in facts] == [journal.container("C-2").opened_seq, moved.seq]
    assert [fact.seq for fact in left] == [journal.container("C-1").opened_seq]


# -- contradictions ----------------------------------------------------------------------------------------------------


def test_a_backdated_closing_contradicts_the_swap_after_it(journal: Journal) -> None:
    journal.record(an_opening())
    swap = journal.record(a_swap())
    before = journal.entries(), journal.container()

    with pytest.raises(Contradicts, match=f"entry {swap.seq}: Container C-1 was closed") as refused:
        journal.append(a_closing(), at=swap.happened_at - timedelta(minutes=1))

    assert refused.value.later_seq == swap.seq
    assert isinstance(refused.value.reason, ContainerSealed)
    assert (journal.entries(), journal.container()) == before


def test_an_opening_with_swaps_in_it_cannot_be_void(journal: Journal) -> None:
    opening = journal.record(an_opening())
    swap = journal.record(a_swap())

    with pytest.raises(Contradicts, match="no container “C-1”") as refused:
        journal.append(a_correction(opening))

    assert refused.value.later_seq == swap.seq


def test_an_opening_cannot_be_moved_past_its_first_swap(journal: Journal) -> None:
    opening = journal.record(an_opening())
    swap = journal.record(a_swap())

    too_late = a_replacement(opening, happened_at=swap.happened_at + timedelta(minutes=1))
    journal.watch.wait(hours=1)

    with pytest.raises(Contradicts, match="only since") as refused:
        journal.append(too_late)

    assert refused.value.later_seq == swap.seq


def test_a_closing_with_a_release_after_it_cannot_be_void(journal: Journal) -> None:
    journal.record(an_opening())
    closing = journal.record(a_closing())
    journal.record(a_booking())
    release = journal.record(a_release())

    with pytest.raises(Contradicts) as refused:
        journal.append(a_correction(closing))

    assert refused.value.later_seq == release.seq


def test_a_heavier_tare_contradicts_a_weighing(journal: Journal) -> None:
    opening = journal.record(an_opening())
    weighing = journal.record(a_weighing(gross_mg=160_000))

    with pytest.raises(Contradicts) as refused:
        journal.append(a_replacement(opening, an_opening(tare=a_reading(170_000))))

    assert refused.value.later_seq == weighing.seq
    assert isinstance(refused.value.reason, BelowTare)


def test_a_void_entry_cannot_come_back_into_a_container_that_closed(journal: Journal) -> None:
    journal.record(an_opening())
    swap = journal.record(a_swap())
    journal.record(a_correction(swap))
    journal.append(a_closing(), at=swap.happened_at - timedelta(minutes=1))

    with pytest.raises(ContainerSealed):
        journal.append(a_correction(swap, "reinstate"))


def test_a_replacement_is_refused_in_its_own_words(journal: Journal) -> None:
    journal.record(an_opening())
    swap = journal.record(a_swap())

    for body, refusal in (
        (a_swap(stream="teeth"), WrongStream),
        (a_swap(container="C-9"), NotThereYet),
        (a_swap(trap="9-HV"), NotThereYet),
    ):
        with pytest.raises(refusal):
            journal.append(a_replacement(swap, body))


def test_a_mistake_may_be_mended_in_the_right_order(journal: Journal) -> None:
    """What contradicts can be done once the later entry is corrected."""
    opening = journal.record(an_opening())
    swap = journal.record(a_swap())
    with pytest.raises(Contradicts):
        journal.append(a_correction(opening))

    journal.record(a_correction(swap))
    journal.record(a_correction(opening))

    assert journal.container() is None
    assert journal.verify().holds
