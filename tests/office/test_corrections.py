"""Corrections: an entry no longer counts, counts as corrected, or counts again; it stays as it was written."""

from __future__ import annotations

import pytest

from tests.makers import Watch
from tests.office.makers import (
    SET_UP_AT,
    Crew,
    as_person,
    assert_repeated,
    chain_end,
    container,
    entry,
    hours_ago,
    open_pail,
    refused,
    released,
    trap,
)
from wasteledger.errors import NotUnderstood, WasteLedgerError
from wasteledger.ledger.append import InTheFuture, KeyReused, NotCorrectable
from wasteledger.ledger.reader import EntryUnknown
from wasteledger.model.entries import BodyNotUnderstood, Correction, Deposit, Level, Look, Swap, Weighing
from wasteledger.model.facts import replaced_body
from wasteledger.model.standing import Contradicts
from wasteledger.model.standing.refusals import BelowTare, ContainerSealed, NotThereYet
from wasteledger.model.traps import Condition
from wasteledger.model.values import Body
from wasteledger.office.containers import close_container, open_container, record_level, weigh_container
from wasteledger.office.corrections import FieldUnknown, correct_entry
from wasteledger.office.other_waste import Month, record_other_waste
from wasteledger.office.separator import inspect_separator, replace_unit
from wasteledger.office.swaps import record_deposit, record_look, record_swap
from wasteledger.office.workplace import NotTheirTask, Recorded, Said, Workplace
from wasteledger.units import BadQuantity, Mass


def put_in(corrected: Recorded) -> Body:
    """The body that a correction put in the place of the wrong one."""
    assert isinstance(corrected.entry.body, Correction)
    assert corrected.entry.body.replacement is not None
    return replaced_body(corrected.entry.body.replacement)


@pytest.fixture
def swapped(place: Workplace, watch: Watch) -> Recorded:
    """A swap of 1-HV into C-1, with C-2 open beside it."""
    open_pail(place, "C-1")
    open_pail(place, "C-2")
    watch.wait(hours=2)
    made = record_swap(place, "1-HV", into="C-1", condition=Condition.CLOGGED)
    watch.wait(hours=2)
    return made


def test_void_replace_and_reinstate_in_a_row(place: Workplace, swapped: Recorded) -> None:
    first = correct_entry(place, swapped.seq, "Never happened.")
    assert isinstance(first.entry.body, Correction)
    assert (first.entry.body.action, first.entry.body.reason) == ("void", "Never happened.")
    assert (container(place).swaps, trap(place).swaps) == (0, 0)
    correct_entry(place, swapped.seq, "It did after all.", action="reinstate")
    assert (container(place).swaps, trap(place).swaps) == (1, 1)
    correct_entry(place, swapped.seq, "Other pail.", action="replace", changes={"container": "C-2"})
    assert (container(place, "C-1").swaps, container(place, "C-2").swaps) == (0, 1)
    # A replacement starts from what the last replacement said, not from the first writing.
    third = correct_entry(place, swapped.seq, "And worse.", action="replace", changes={"condition": "damaged"})
    body = put_in(third)
    assert isinstance(body, Swap)
    assert (body.container, body.condition) == ("C-2", Condition.DAMAGED)
    correct_entry(place, swapped.seq, "As written.", action="reinstate")
    assert (container(place, "C-1").swaps, container(place, "C-2").swaps) == (1, 0)
    assert entry(place, swapped.seq) == swapped.entry


@pytest.mark.parametrize(
    ("changes", "field", "value"),
    [
        ({"condition": "debris"}, "condition", Condition.DEBRIS),
        ({"amalgam_seen": "true"}, "amalgam_seen", True),
        ({"on_paper": "true"}, "on_paper", True),
        ({"insert_mg": "4.2 g"}, "insert_mg", 4_200),
        ({"insert_mg": "4200"}, "insert_mg", 4_200),
        ({"insert_mg": ""}, "insert_mg", None),
        ({"insert_ml": "0.05 L"}, "insert_ml", 50),
        ({"days_in_service": "9"}, "days_in_service", 9),
        ({"note": "12"}, "note", "12"),
        ({"note": "true"}, "note", "true"),
    ],
    ids=lambda one: str(one),
)
def test_changes_are_read_as_the_field_wants_them(
    place: Workplace, swapped: Recorded, changes: dict[str, str], field: str, value: object
) -> None:
    corrected = correct_entry(place, swapped.seq, "Read wrongly.", action="replace", changes=changes)
    before, after = swapped.entry.body, put_in(corrected)
    assert getattr(after, field) == value
    assert after.model_copy(update={field: getattr(before, field)}) == before


def test_a_weighing_is_corrected_by_its_mass_and_keeps_its_scale(place: Workplace) -> None:
    open_pail(place)
    weighed = weigh_container(place, "C-1", Mass(812_000))
    body = put_in(correct_entry(place, weighed.seq, "Misread.", action="replace", changes={"gross": "0.612 kg"}))
    assert isinstance(body, Weighing)
    assert (body.gross.mass_mg, body.gross.scale, body.gross.typed) == (612_000, "bench", "0.612 kg")
    assert container(place).holding.base_mg == 112_000
    with refused(place, BelowTare, "below the empty mass"):
        correct_entry(place, weighed.seq, "Misread.", action="replace", changes={"gross": "1 g"})
    body = put_in(correct_entry(place, weighed.seq, "Misread.", action="replace", changes={"gross.mass_mg": "700 g"}))
    assert isinstance(body, Weighing)
    assert body.gross.mass_mg == 700_000


def test_a_level_is_said_in_percent_and_told_as_it_was_and_is(place: Workplace) -> None:
    open_pail(place)
    read = record_level(place, "C-1", 600)

    def corrected(**changes: str) -> tuple[int, tuple[str, ...]]:
        made = correct_entry(place, read.seq, "Misread.", action="replace", changes=changes)
        body = put_in(made)
        assert isinstance(body, Level)
        return body.level_permille, made.cautions

    assert corrected(level="65%") == (650, ("level_permille was 600 (60 %), is 650 (65 %).",))
    assert corrected(level_permille="62.5 %") == (625, ("level_permille was 650 (65 %), is 625 (62.5 %).",))
    # Thousandths may be written, and the answer shows what became of them.
    assert corrected(level_permille="65") == (65, ("level_permille was 625 (62.5 %), is 65 (6.5 %).",))
    for name, typed in (("level", "65"), ("level", "6.25%"), ("level_permille", "65.5"), ("level", "%")):
        with refused(place, FieldUnknown, "no share of a hundred"):
            corrected(**{name: typed})
    with refused(place, FieldUnknown, "one field"):
        corrected(level="65%", level_permille="650")


def test_the_level_of_a_separator_likewise(place: Workplace) -> None:
    seen = inspect_separator(place, "SEP", "in order", level=400)
    made = correct_entry(place, seen.seq, "Misread.", action="replace", changes={"level": "45%"})
    assert made.cautions == ("level_permille was 400 (40 %), is 450 (45 %).",)


@pytest.mark.parametrize(
    ("name", "typed", "told"),
    [
        ("made", "60kg", "made_mg was 12000000 (12 kg), is 60000000 (60 kg)."),
        ("mass", "60kg", "made_mg was 12000000 (12 kg), is 60000000 (60 kg)."),
        ("made_mg", "13 kg", "made_mg was 12000000 (12 kg), is 13000000 (13 kg)."),
        ("on_hand", "3 kg", "on_hand_mg was not entered, is 3000000 (3 kg)."),
        ("on-hand", "3 kg", "on_hand_mg was not entered, is 3000000 (3 kg)."),
        ("acute", "true", "acute was no, is yes."),
        ("name", "Old fixer", "name was “Spent fixer”, is “Old fixer”."),
    ],
)
def test_the_plain_name_of_a_mass_does(crew: Crew, name: str, typed: str, told: str) -> None:
    waste = record_other_waste(crew.mo, Month(2026, 2), "Spent fixer", Mass(12_000_000))
    made = correct_entry(crew.mo, waste.seq, "Read wrongly.", action="replace", changes={name: typed})
    assert made.cautions == (told,)
    with refused(crew.mo, BadQuantity, "no unit"):
        correct_entry(crew.mo, waste.seq, "Read wrongly.", action="replace", changes={"made": "60"})


def test_a_misspelt_name_of_a_mass_is_led_to_its_field(crew: Crew) -> None:
    waste = record_other_waste(crew.mo, Month(2026, 2), "Spent fixer", Mass(12_000_000))
    for typed in ("masss", "mass_mg", "on_hands"):
        with pytest.raises(FieldUnknown) as caught:
            correct_entry(crew.mo, waste.seq, "Read wrongly.", action="replace", changes={typed: "60kg"})
        field = "on_hand_mg" if typed == "on_hands" else "made_mg"
        assert caught.value.hint.startswith(f"Did you mean {field}? It has acute, basis, ")


def test_a_mass_left_out_at_first_may_be_said_later(place: Workplace) -> None:
    open_pail(place)
    put = record_deposit(place, "C-1", "contact", count=2)
    body = put_in(correct_entry(place, put.seq, "There were three.", action="replace", changes={"count": "3"}))
    assert isinstance(body, Deposit)
    assert body.count == 3


def test_an_entry_may_get_another_time(place: Workplace, swapped: Recorded) -> None:
    right = hours_ago(place, 3)
    made = correct_entry(place, swapped.seq, "It was earlier.", action="replace", happened_at=right)
    assert len(made.cautions) == 1
    assert "before, at 2026-03-02" in made.cautions[0]
    assert trap(place).last_swap_at == right
    with refused(place, InTheFuture):
        correct_entry(place, swapped.seq, "It was later.", action="replace", happened_at=hours_ago(place, -1))
    with refused(place, NotThereYet, "only since"):
        correct_entry(place, swapped.seq, "Long before.", action="replace", happened_at=SET_UP_AT)


def test_what_cannot_be_said_of_an_entry_is_refused(place: Workplace, swapped: Recorded) -> None:
    def replaced(**changes: str) -> None:
        correct_entry(place, swapped.seq, "Read wrongly.", action="replace", changes=changes)

    with refused(place, FieldUnknown, "A swap entry has no “colour”"):
        replaced(colour="red")
    with refused(place, FieldUnknown, "has no parts"):
        replaced(**{"condition.colour": "red"})
    with refused(place, BadQuantity, "is not a unit"):
        replaced(insert_mg="4 stone")
    with refused(place, BodyNotUnderstood, "condition"):
        replaced(condition="splendid")
    with refused(place, BodyNotUnderstood, "trap"):
        replaced(trap="")
    with refused(place, NotThereYet, "no container “C-9”"):
        replaced(container="C-9")
    with refused(place, NotThereYet, "no trap “9-HV”"):
        replaced(trap="9-HV")
    open_container(place, "B-1", "unit-box")
    unit = replace_unit(place, "SEP", "B-1")
    with refused(place, FieldUnknown, "A unit replaced entry has no “gross”"):
        correct_entry(place, unit.seq, "Weighed.", action="replace", changes={"gross": "1 kg"})
    opening = swapped.seq - 2
    with refused(place, FieldUnknown, "is no list"):
        correct_entry(place, opening, "Read wrongly.", action="replace", changes={"streams": "[traps"})
    with refused(place, NotUnderstood, "Nothing was said"):
        replaced()


def test_what_cannot_be_corrected_is_refused(place: Workplace, swapped: Recorded) -> None:
    with refused(place, EntryUnknown, "no entry 999"):
        correct_entry(place, 999, "Never happened.")
    with refused(place, BodyNotUnderstood, "action"):
        correct_entry(place, swapped.seq, "Never happened.", action="erase")
    with refused(place, BodyNotUnderstood, "reason"):
        correct_entry(place, swapped.seq, "  ")
    with refused(place, NotCorrectable, "counts as it is"):
        correct_entry(place, swapped.seq, "It counts.", action="reinstate")
    with refused(place, NotTheirTask, "cannot record this"):
        correct_entry(place, 1, "What only the office records, only the office corrects.")
    with refused(place, NotCorrectable, "first entry of a chain"):
        correct_entry(as_person(place, "mo"), 1, "Never happened.")
    made = correct_entry(place, swapped.seq, "Never happened.")
    with refused(place, NotCorrectable, f"void before, by entry {made.seq}"):
        correct_entry(place, swapped.seq, "Never happened.")
    for action, changes in (("void", None), ("replace", {"reason": "Another."})):
        with refused(place, WasteLedgerError, "itself a correction|cannot stand in the place"):
            correct_entry(place, made.seq, "Wrong correction.", action=action, changes=changes)


def test_a_correction_that_contradicts_a_later_entry_is_refused(
    place: Workplace, swapped: Recorded, watch: Watch
) -> None:
    close_container(place, "C-2")
    watch.wait(hours=1)
    opened = swapped.seq - 2
    with refused(place, Contradicts, f"contradict entry {swapped.seq}"):
        correct_entry(place, opened, "Never opened.")
    with refused(place, ContainerSealed, "C-2 was closed"):
        correct_entry(
            place,
            swapped.seq,
            "Other pail.",
            action="replace",
            changes={"container": "C-2"},
            happened_at=place.ledger.clock(),
        )


def test_a_closing_made_void_opens_the_container_again(place: Workplace, swapped: Recorded) -> None:
    closed = close_container(place, "C-1")
    correct_entry(place, closed.seq, "Not full yet.")
    assert container(place).status == "open"
    assert record_swap(place, "1-SE", into="C-1").seq


def test_a_swap_is_corrected_after_its_container_left(crew: Crew, swapped: Recorded) -> None:
    released(crew.mo)
    correct_entry(crew.kim, swapped.seq, "Only debris.", action="replace", changes={"condition": "debris"})
    assert container(crew.kim).status == "released"


def test_an_inspector_corrects_nothing(crew: Crew, swapped: Recorded) -> None:
    with refused(crew.iris, NotTheirTask, "inspector"):
        correct_entry(crew.iris, swapped.seq, "Never happened.")


def test_a_repeated_key_answers_with_the_first_correction(place: Workplace, swapped: Recorded) -> None:
    def void() -> Recorded:
        return correct_entry(place, swapped.seq, "Never happened.", Said(key="k-1"))

    def replace() -> Recorded:
        said = Said(key="k-2", note="Asked Bao.")
        return correct_entry(place, swapped.seq, "Other pail.", said, action="replace", changes={"container": "C-2"})

    def reinstate() -> Recorded:
        return correct_entry(place, swapped.seq, "As written.", Said(key="k-3"), action="reinstate")

    doings = (void, replace, reinstate)
    firsts = [do() for do in doings]
    close_container(place, "C-1")
    close_container(place, "C-2")
    correct_entry(place, swapped.seq, "Worse.", action="replace", changes={"condition": "damaged"})
    before = chain_end(place)
    for first, again in zip(firsts, doings, strict=True):
        assert_repeated(place, first, again())
    assert chain_end(place) == before


def test_a_key_that_corrects_otherwise_is_another_saying(place: Workplace, swapped: Recorded) -> None:
    said = Said(key="k-1")
    correct_entry(place, swapped.seq, "Other pail.", said, action="replace", changes={"container": "C-2"})
    with refused(place, KeyReused, "k-1"):
        correct_entry(place, swapped.seq, "Other pail.", said, action="replace", changes={"container": "C-1"})
    with refused(place, KeyReused, "k-1"):
        correct_entry(place, swapped.seq, "Other pail.", said)


def test_a_look_replaced_by_one_that_was_not_made_needs_its_reason(place: Workplace) -> None:
    looked = record_look(place, "1-HV", Condition.CLEAN)
    with refused(place, BodyNotUnderstood, "reason"):
        correct_entry(place, looked.seq, "Not looked.", action="replace", changes={"condition": "not_looked"})
    both = {"condition": "not_looked", "reason": "Room locked"}
    body = put_in(correct_entry(place, looked.seq, "Not looked.", action="replace", changes=both))
    assert body == Look(trap="1-HV", condition=Condition.NOT_LOOKED, reason="Room locked")
    assert trap(place).looks == 0
