"""From entries to facts: corrections applied, everything in its place in time."""

from __future__ import annotations

import random
from datetime import timedelta

import pytest

from tests.makers import (
    MONDAY_MORNING,
    a_correction,
    a_deposit,
    a_line_cleaning,
    a_look,
    a_receipt,
    a_release,
    a_replacement,
    a_swap,
    a_trap,
    an_opening,
    one_of_each,
    some_procedures,
)
from tests.model.histories import an_entry, entries_of
from wasteledger.model.entries import Remark
from wasteledger.model.facts import Subject, effective_facts, facts_about, subjects_of
from wasteledger.model.traps import Condition
from wasteledger.model.values import Body


def test_without_corrections_every_entry_is_a_fact() -> None:
    entries = entries_of(a_look(), a_swap(), a_deposit())

    assert [(fact.seq, fact.body) for fact in effective_facts(entries)] == [(one.seq, one.body) for one in entries]


def test_a_void_entry_is_no_fact() -> None:
    entries = entries_of(a_look(), a_swap(), a_correction(2))

    assert [fact.seq for fact in effective_facts(entries)] == [1]


def test_a_replaced_entry_counts_as_written_in_the_correction() -> None:
    look, swap = an_entry(1, a_look()), an_entry(2, a_swap())
    entries = [look, swap, an_entry(3, a_replacement(swap, a_swap("2-HV")))]

    replaced = effective_facts(entries)[1]

    assert replaced.body == a_swap("2-HV")
    assert (replaced.seq, replaced.place) == (3, 2)
    assert replaced.happened_at == swap.happened_at
    assert replaced.recorded_at == entries[2].recorded_at


def test_a_reinstated_entry_counts_as_first_written() -> None:
    entries = entries_of(a_look(), a_correction(1), a_correction(1, "reinstate"))

    assert [(fact.seq, fact.body) for fact in effective_facts(entries)] == [(1, a_look())]


@pytest.mark.parametrize(
    ("order", "counts"),
    [
        (("void", "replace"), "2-HV"),
        (("replace", "void"), None),
        (("replace", "reinstate"), "1-HV"),
        (("void", "reinstate", "void"), None),
        (("replace", "void", "reinstate"), "1-HV"),
    ],
)
def test_the_newest_correction_governs(order: tuple[str, ...], counts: str | None) -> None:
    first = an_entry(1, a_look())
    says: dict[str, Body] = {
        "void": a_correction(1),
        "reinstate": a_correction(1, "reinstate"),
        "replace": a_replacement(first, a_look("2-HV")),
    }
    entries = [first, *(an_entry(seq, says[action]) for seq, action in enumerate(order, start=2))]

    traps = [getattr(fact.body, "trap", None) for fact in effective_facts(entries)]

    assert traps == ([counts] if counts else [])


def test_a_replaced_time_moves_the_fact() -> None:
    first, second = entries_of(a_look(condition=Condition.CLEAN), a_look(condition=Condition.CLOGGED))
    moved = an_entry(3, a_replacement(second, happened_at=first.happened_at - timedelta(minutes=5)))

    facts = effective_facts([first, second, moved])

    assert [(fact.place, fact.seq) for fact in facts] == [(2, 3), (1, 1)]


def test_a_backdated_entry_takes_its_place_in_time() -> None:
    entries = [
        an_entry(1, a_look()),
        an_entry(2, a_swap()),
        an_entry(3, a_look("2-HV"), MONDAY_MORNING - timedelta(days=3)),
    ]

    assert [fact.seq for fact in effective_facts(entries)] == [3, 1, 2]


def test_facts_of_one_instant_stand_as_they_were_written() -> None:
    entries = [an_entry(seq, a_look(), MONDAY_MORNING) for seq in (1, 2, 3)]
    second_again = an_entry(4, a_replacement(entries[1], a_look(condition=Condition.DEBRIS)))

    assert [fact.place for fact in effective_facts([*entries, second_again])] == [1, 2, 3]


def test_the_order_in_which_entries_are_handed_in_does_not_matter() -> None:
    first = an_entry(1, a_look())
    entries = [
        first,
        *entries_of(a_look(), a_swap(), a_deposit())[1:],
        an_entry(4, a_correction(2)),
        an_entry(5, a_replacement(first, a_look("2-HV"))),
        an_entry(6, a_correction(2, "reinstate")),
    ]
    shuffled = entries[:]
    random.Random(7).shuffle(shuffled)

    assert shuffled != entries
    assert effective_facts(shuffled) == effective_facts(entries)


def test_each_kind_says_what_it_speaks_of() -> None:
    named = {kind: {f"{one.what} {one.ref}" for one in subjects_of(body)} for kind, body in one_of_each().items()}

    assert named == {
        "register": {"site elm"},
        "look": {"trap 1-HV"},
        "swap": {"trap 1-HV", "container C-1"},
        "deposit": {"container C-1", "room r1"},
        "weighing": {"container C-1"},
        "level": {"container C-1"},
        "container_opened": {"container C-1"},
        "container_closed": {"container C-1"},
        "container_moved": {"container C-1"},
        "pickup_booked": {"pickup P-1", "container C-1"},
        "pickup_released": {"pickup P-1", "container C-1"},
        "receipt": {"pickup P-1", "container C-1"},
        "separator_inspection": {"separator SEP"},
        "repair": {"separator SEP"},
        "unit_replaced": {"separator SEP", "container C-1"},
        "line_cleaning": {"room r1", "room r2", "cleaner neutral"},
        "milestone": {"milestone first_discharge"},
        "remark": set(),
        "correction": {"trap 1-HV"},
        "calibration": set(),
        "procedures": set(),
        "duty_done": {"separator SEP"},
        "training": set(),
        "paper_filed": {"separator SEP"},
        "statement": set(),
        "other_waste": set(),
        "reminder_sent": set(),
    }


def test_a_line_of_the_register_is_of_its_own_kind() -> None:
    assert subjects_of(a_trap("1-HV")) == {Subject("trap", "1-HV")}
    assert subjects_of(Remark(text="torn hose", trap="1-HV", container="C-1")) == {
        Subject("trap", "1-HV"),
        Subject("container", "C-1"),
    }
    assert subjects_of(a_line_cleaning("r2")) == {Subject("room", "r2"), Subject("cleaner", "neutral")}
    assert subjects_of(some_procedures(room="r2")) == {Subject("room", "r2")}
    assert subjects_of(a_release(containers=("C-1", "C-2"))) >= {Subject("container", "C-2")}
    assert subjects_of(a_receipt(containers=())) == {Subject("pickup", "P-1")}


def test_facts_about_one_subject_leave_the_others_out() -> None:
    first = an_entry(1, an_opening())
    second = an_entry(2, a_look("1-HV"))
    entries = [first, second, an_entry(3, a_swap()), an_entry(4, a_replacement(second, a_look("2-HV")))]

    assert [fact.seq for fact in facts_about(Subject("trap", "1-HV"), entries)] == [3]
    assert [fact.seq for fact in facts_about(Subject("trap", "2-HV"), entries)] == [4]
    assert [fact.seq for fact in facts_about(Subject("container", "C-1"), entries)] == [1, 3]
