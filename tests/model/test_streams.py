"""Which streams may lie in one container, and the words for traps and tallies."""

from __future__ import annotations

import pytest

from wasteledger.model.containers import Holding, Tally
from wasteledger.model.streams import Sharing, SharingMatrix
from wasteledger.model.traps import Condition, TrapKind

MATRIX = SharingMatrix(
    words={"traps": "chairside traps", "scrap": "scrap", "teeth": "teeth", "sludge": "sludge", "units": "units"},
    pairs={
        frozenset(("traps", "scrap")): Sharing.ASK,
        frozenset(("traps", "sludge")): Sharing.YES,
        frozenset(("scrap", "teeth")): Sharing.OWN_LID,
        frozenset(("units",)): Sharing.NO,
    },
)


@pytest.mark.parametrize(
    ("one", "other", "sharing"),
    [
        ("traps", "sludge", Sharing.YES),
        ("sludge", "traps", Sharing.YES),
        ("traps", "scrap", Sharing.ASK),
        ("scrap", "teeth", Sharing.OWN_LID),
        ("traps", "traps", Sharing.YES),
        ("units", "units", Sharing.NO),
        ("traps", "teeth", Sharing.NO),
        ("traps", "unheard-of", Sharing.NO),
    ],
)
def test_what_the_matrix_says_of_two_streams(one: str, other: str, sharing: Sharing) -> None:
    assert MATRIX.between(one, other) is sharing


def test_conflicts_are_named_in_pairs() -> None:
    assert MATRIX.conflicts(["traps", "sludge"]) == ()
    assert MATRIX.conflicts(["traps", "scrap", "traps"]) == (("scrap", "traps", Sharing.ASK),)
    assert MATRIX.conflicts(["teeth", "scrap", "traps"]) == (
        ("scrap", "traps", Sharing.ASK),
        ("teeth", "traps", Sharing.NO),
    )


def test_a_written_rule_answers_what_must_be_asked_and_nothing_else() -> None:
    assert MATRIX.conflicts(["traps", "scrap"], written_rule="carrier's letter of 2 March") == ()
    assert MATRIX.conflicts(["traps", "teeth"], written_rule="carrier's letter of 2 March") == (
        ("teeth", "traps", Sharing.NO),
    )


def test_every_trap_and_condition_has_words() -> None:
    assert len({kind.words for kind in TrapKind}) == len(TrapKind)
    assert len({condition.words for condition in Condition}) == len(Condition)
    assert [kind.value for kind in TrapKind if kind.is_chairside] == ["saliva_ejector", "high_volume", "cuspidor"]


def test_tallies_of_different_things_do_not_add() -> None:
    with pytest.raises(ValueError, match="do not add"):
        Tally("pump", "clogged").plus(Tally("pump", "debris"))


def test_a_holding_keeps_its_tallies_sorted_and_summed() -> None:
    holding = Holding()
    for source, grade in (("pump", "clogged"), ("high_volume", "debris"), ("pump", "clogged")):
        holding = holding.with_tally(Tally(source, grade, 1, 1000, 7000, 50, 0))

    assert holding.tallies == (
        Tally("high_volume", "debris", 1, 1000, 7000, 50, 0),
        Tally("pump", "clogged", 2, 2000, 14_000, 100, 0),
    )
