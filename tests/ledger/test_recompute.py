"""What follows from a whole chain, and what in it could never have been written."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.makers import (
    SITE,
    Clinic,
    a_correction,
    a_deposit,
    a_look,
    a_replacement,
    a_site,
    a_swap,
    a_weighing,
    an_opening,
)
from wasteledger.ledger.engine import writing
from wasteledger.ledger.lay_down import lay_down
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.rebuild import rebuild
from wasteledger.ledger.recompute import ImpossibleEntry, recompute
from wasteledger.model.entries import Correction, Replacement
from wasteledger.model.facts import Entry, Subject
from wasteledger.model.values import Body


@pytest.fixture
def chain(clinic: Clinic) -> list[Entry]:
    """The register in 21 entries, an opening (22), a swap (23), a look (24)."""
    for body in (an_opening(), a_swap(), a_look()):
        clinic.record(body)
    return clinic.entries()


def with_next(chain: list[Entry], body: Body, **changes: object) -> list[Entry]:
    """The chain and one entry more, unchecked."""
    last = chain[-1]
    at = last.happened_at + timedelta(hours=1)
    entry = replace(last, seq=last.seq + 1, body=body, happened_at=at, recorded_at=at, key="next")
    return [*chain, replace(entry, **changes)]  # type: ignore[arg-type]


def impossible(chain: list[Entry]) -> list[tuple[int, str]]:
    return [(one.seq, str(one).partition(": ")[2]) for one in recompute(chain).impossible]


def test_a_good_chain_gives_what_stands(clinic: Clinic, chain: list[Entry]) -> None:
    found = recompute(chain)

    assert found.impossible == ()
    assert found.standing[Subject("container", "C-1")] == clinic.container()
    assert {("trap", "1-HV", 23), ("container", "C-1", 23), ("trap", "1-HV", 24)} <= found.mentions
    assert found.governing == {}


def test_corrections_are_listed_and_mentioned_everywhere(clinic: Clinic, chain: list[Entry]) -> None:
    moved = clinic.record(a_replacement(chain[22], a_swap("2-HV")))
    again = clinic.record(a_replacement(chain[22], a_swap("2-SE")))

    found = recompute(clinic.entries())

    assert found.governing == {23: (again.seq, "replace")}
    assert {ref for what, ref, seq in found.mentions if seq == moved.seq and what == "trap"} == {"1-HV", "2-HV"}
    assert {ref for what, ref, seq in found.mentions if seq == again.seq and what == "trap"} == {
        "1-HV",
        "2-HV",
        "2-SE",
    }


@pytest.mark.parametrize(
    ("body", "reason"),
    [
        (a_correction(25), "it corrects entry 25, which is not before it."),
        (a_correction(26), "it corrects entry 26, which is not before it."),
        (a_site("oak"), "the chain of site “elm” cannot begin another site, “oak”."),
        (
            Correction(
                corrects=24,
                action="replace",
                reason="wrong",
                replacement=Replacement(kind="look", version=1, happened_at="2030-01-01T00:00:00.000000Z", body="{}"),
            ),
            "its replacement was recorded before it happened.",
        ),
        (
            Correction(
                corrects=24,
                action="replace",
                reason="wrong",
                replacement=Replacement(kind="look", version=1, happened_at="2026-03-02T16:00:00.000000Z", body="{}"),
            ),
            "its replacement cannot be read: The look cannot be written: trap: it is missing.",
        ),
        (
            Correction(
                corrects=24,
                action="replace",
                reason="wrong",
                replacement=Replacement(
                    kind="correction",
                    version=1,
                    happened_at="2026-03-02T16:00:00.000000Z",
                    body='{"corrects":3,"action":"void","reason":"wrong"}',
                ),
            ),
            "a correction cannot stand in the place of an entry.",
        ),
    ],
)
def test_an_entry_out_of_place(chain: list[Entry], body: Body, reason: str) -> None:
    assert impossible(with_next(chain, body)) == [(25, reason)]


def test_a_correction_of_a_correction(chain: list[Entry]) -> None:
    corrected = with_next(chain, a_correction(24))

    assert impossible(with_next(corrected, a_correction(25))) == [
        (26, "it corrects entry 25, which is itself a correction.")
    ]


def test_an_entry_recorded_before_it_happened(chain: list[Entry]) -> None:
    early = with_next(chain, a_look(), recorded_at=chain[-1].happened_at)

    assert impossible(early) == [(25, "it was recorded before it happened.")]


def test_a_gap_and_a_wrong_beginning(chain: list[Entry]) -> None:
    assert impossible([chain[0], *chain[2:]])[0] == (3, "it stands in place 2 of the chain.")
    assert impossible([replace(chain[1], seq=1)]) == [(1, "a chain begins with its site.")]


def test_of_each_thing_the_first_fault_is_named_in_the_order_of_the_chain(chain: list[Entry]) -> None:
    wrong = with_next(chain, a_weighing(gross_mg=1))
    for body in (a_deposit("C-9"), a_look("9-HV"), a_deposit("C-9")):
        wrong = with_next(wrong, body)

    assert [seq for seq, _ in impossible(wrong)] == [25, 26, 27]


def test_an_impossible_chain_is_neither_laid_down_nor_rebuilt(
    clinic: Clinic, chain: list[Entry], monkeypatch: pytest.MonkeyPatch
) -> None:
    wrong = with_next(chain, a_weighing(gross_mg=1))
    before = clinic.container()
    elsewhere = Ledger.open(str(clinic.ledger.engine.url.database) + ".new", create=True)

    with pytest.raises(ImpossibleEntry, match="Entry 25"), writing(elsewhere.engine) as connection:
        lay_down(connection, SITE, wrong)
    monkeypatch.setattr("wasteledger.ledger.rebuild.Reader.entries", lambda _: iter(wrong))
    with pytest.raises(ImpossibleEntry, match="Entry 25"), writing(clinic.ledger.engine) as connection:
        rebuild(connection, SITE)

    assert elsewhere.sites() == []
    assert clinic.container() == before
