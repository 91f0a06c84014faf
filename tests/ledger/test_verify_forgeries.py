"""A forged chain, every digest made to fit, gives itself away: by what stands, by what cannot be, by papers."""

from __future__ import annotations

import pytest

from tests.ledger.damage import MARK, codes, marked, rechain
from tests.makers import (
    Clinic,
    a_correction,
)
from wasteledger.errors import NotUnderstood
from wasteledger.ledger.verify import Paper, verify


def test_a_forged_chain_gives_itself_away_by_what_stands(busy: Clinic) -> None:
    seq = next(one.seq for one in busy.entries() if one.kind == "deposit")

    def change(number: int, row: dict[str, object]) -> None:
        if number == seq:
            row["body"] = str(row["body"]).replace('"count":3', '"count":2')

    rechain(busy, change)

    verification = busy.verify()
    assert verification.first_bad is None
    assert codes(verification) == ["standing-differs"]
    assert "pieces" in verification.findings[0].says


def test_a_forged_chain_does_not_agree_with_a_paper(busy: Clinic) -> None:
    papers = [Paper(one.seq, one.digest) for one in busy.entries()]
    seq = marked(busy)
    rechain(busy, lambda number, row: row.update(body=str(row["body"]).replace(MARK, "x")) if number == seq else None)

    agreeing = [paper.seq for paper in papers if verify(busy.ledger.engine, "elm", paper=paper).holds]

    assert agreeing == list(range(1, seq))


@pytest.mark.parametrize(
    ("was", "is_now"),
    [
        ('"corrects":23', '"corrects":27'),
        ('"corrects":23', '"corrects":26'),
        ('"corrects":23', '"corrects":999'),
    ],
    ids=["a later one", "itself", "none"],
)
def test_a_forged_correction_of_what_is_not_before_it_is_named(busy: Clinic, was: str, is_now: str) -> None:
    seq = next(one.seq for one in busy.entries() if one.kind == "correction")
    assert (marked(busy), seq) == (23, 26)
    rechain(busy, lambda number, row: row.update(body=str(row["body"]).replace(was, is_now)))

    verification = busy.verify()

    assert (verification.first_bad, codes(verification)) == (seq, ["entry-impossible"])


def test_a_forged_correction_of_a_correction_is_named(busy: Clinic) -> None:
    busy.record(a_correction(5, "void"))
    last = busy.entries()[-1].seq
    rechain(busy, lambda _, row: row.update(body=str(row["body"]).replace('"corrects":5', '"corrects":26')))

    assert (busy.verify().first_bad, codes(busy.verify())) == (last, ["entry-impossible"])


def test_a_forged_chain_that_could_never_have_been_is_named(busy: Clinic) -> None:
    entries = busy.entries()
    closing_seq = next(one.seq for one in entries if one.kind == "container_closed")
    deposit = next(one for one in entries if one.kind == "deposit")

    def change(number: int, row: dict[str, object]) -> None:
        if number == closing_seq:
            row["happened_at"] = entries[deposit.seq - 2].happened_at

    rechain(busy, change)

    verification = busy.verify()
    assert (verification.first_bad, codes(verification)) == (deposit.seq, ["entry-impossible"])
    assert "was closed" in verification.findings[0].says


def test_a_forged_entry_from_before_it_was_known_is_named(busy: Clinic) -> None:
    """Nothing can have been recorded before it happened."""
    look = next(one for one in busy.entries() if one.kind == "look")

    def change(number: int, row: dict[str, object]) -> None:
        if number == look.seq:
            row["happened_at"] = look.recorded_at.replace(year=look.recorded_at.year + 1)

    rechain(busy, change)

    assert (busy.verify().first_bad, codes(busy.verify())[0]) == (look.seq, "entry-impossible")


# -- papers ------------------------------------------------------------------------------------------------------------


def test_a_paper_agrees_by_the_beginning_of_its_digest(busy: Clinic) -> None:
    entry = busy.entries()[9]
    shown = f"{entry.seq}: {entry.digest[:8].upper()} {entry.digest[8:16].upper()}"

    assert verify(busy.ledger.engine, "elm", paper=Paper.parse(shown)).holds


@pytest.mark.parametrize("seq", [10, 999])
def test_a_wrong_paper_is_found(busy: Clinic, seq: int) -> None:
    verification = verify(busy.ledger.engine, "elm", paper=Paper.parse(f"{seq}:deadbeefdeadbeef"))

    assert codes(verification) == ["paper-differs"]
    assert verification.findings[0].place == f"paper {seq}:deadbeefdeadbeef"


@pytest.mark.parametrize(
    "text", ["", "12", "12:", "12:abc", "12:xyzxyzxyz", "x:deadbeef", "12:" + "0" * 65, "-1:deadbeef"]
)
def test_no_foot_of_a_paper(text: str) -> None:
    with pytest.raises(NotUnderstood, match="foot"):
        Paper.parse(text)
