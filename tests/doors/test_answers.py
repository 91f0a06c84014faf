"""The questions of an inspector, and what is on file, through the command line."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.doors.conftest import Office
from wasteledger.cli import filings
from wasteledger.model.filings import PaperKind, StatementTopic, Topic


def test_options_take_the_words_of_the_model() -> None:
    assert [word.value for word in filings.Topic] == [word.value for word in Topic]
    assert [word.value for word in filings.PaperKind] == [word.value for word in PaperKind]
    assert [word.value for word in filings.StatementTopic] == [word.value for word in StatementTopic]


def test_a_training_a_paper_and_a_statement(office: Office) -> None:
    trained = office.did(
        "training", "--who", "max", "--topic", "handling", "--topic", "spill", "--held-by", "The district"
    )
    filed = office.did("paper", "operating_manual", "--place", "Binder 2", "--document", "Rev. C")
    asked_for = office.did("paper", "certificate", "--place", "the maker", "--on-request", "--json").json()
    stated = office.did("statement", "no_bulk_mercury")
    denied = office.did("statement", "capsules_recycled", "--not", "--why", "No tub yet.")

    assert trained.said == f"Entry {trained.seq}: Trained in handling, spill: max.\n"
    assert filed.said.splitlines() == [
        f"Entry {filed.seq}: Operating manual is on file: Binder 2.",
        "  The journal notes the paper; the paper itself is kept where the entry says.",
    ]
    assert asked_for["entry"]["body"]["on_request"] is True
    assert stated.said == f"Entry {stated.seq}: Stated: no bulk mercury.\n"
    assert denied.said == f"Entry {denied.seq}: Stated that this does not hold: capsules recycled.\n"


@pytest.mark.parametrize(
    ("arguments", "status", "words"),
    [
        (("training", "--topic", "handling"), 2, "--who"),
        (("training", "--who", "nobody", "--topic", "handling"), 3, "not somebody of this practice"),
        (("training", "--who", "max", "--topic", "juggling"), 2, "juggling"),
        (("paper", "poem", "--place", "Binder 2"), 2, "poem"),
        (("paper", "certificate"), 2, "--place"),
        (("paper", "certificate", "--place", " "), 2, "place"),
        (("paper", "certificate", "--place", "Binder 2", "--separator", "SEP-9"), 3, "SEP-9"),
        (("statement", "all_is_well"), 2, "all_is_well"),
        (("statement", "no_bulk_mercury", "--not"), 2, "wants its reason"),
        (("statement", "no_bulk_mercury", "--why", "because"), 2, "belongs to what does not hold"),
    ],
)
def test_what_is_refused(office: Office, arguments: tuple[str, ...], status: int, words: str) -> None:
    before = office.did("history", "--json").json()["total"]

    done = office.run(*arguments)

    assert done.status == status
    assert words in done.complained
    assert office.did("history", "--json").json()["total"] == before


def test_answers_are_short_numbered_and_end_with_a_count(office: Office) -> None:
    stated = office.did("statement", "no_bulk_mercury")

    done = office.run("answers")

    assert done.status == 1
    lines = done.said.splitlines()
    assert max(map(len, lines)) <= 80
    assert [int(line[:2]) for line in lines if re.match(r"[ \d]\d  \S", line)] == list(range(1, 35))
    assert lines[1] == "The journal begins on 2 Mar 2026; of the days before it shows nothing."
    assert f"[entry {stated.seq}]" in " ".join(done.said.split())
    assert lines[-1] == "This says what the journal shows. The local authority decides."
    missing = sum(line.startswith("  ! ") for line in lines)
    end = office.did("history", "--json").json()["total"]
    assert lines[-2] == f"{missing} things missing. It rests on entry {end}."


def test_answers_in_json_carry_every_entry_number(office: Office) -> None:
    for _ in range(6):
        office.watch.wait(minutes=5)
        office.did("line-cleaning", "room1")

    found = office.run("answers", "--from", "2026-03-02", "--to", "today", "--json")

    assert found.status == 1
    said = found.json()
    assert (said["since"], said["until"]) == ("2026-03-02", "2026-03-02")
    assert [one["number"] for one in said["answers"]] == list(range(1, 35))
    cleaned = next(point for point in said["answers"][10]["points"] if point["says"].startswith("Lines cleaned"))
    assert cleaned["sort"] == "shown"
    assert len(cleaned["seqs"]) == 6
    assert said["missing"] == sum(point["sort"] == "missing" for one in said["answers"] for point in one["points"])
    assert all({"name", "where"} <= source.keys() for one in said["answers"] for source in one["asked_by"])


def test_another_places_question_says_so_where_it_is_printed_and_in_json(office: Office) -> None:
    printed = " ".join(office.run("answers").said.split())

    weekly = "6 Has its log a line for every week? [not asked here] A question of the Twin Cities, Minnesota; no"
    assert weekly in printed
    assert "[not asked here] - Not asked here: no ordinance of Germany is in force." in printed
    assert "3 not asked here." in printed
    said = office.run("answers", "--json").json()["answers"]
    assert (said[31]["state"], said[31]["points"][0]["sort"]) == ("not_asked", "elsewhere")
    assert said[5]["place"] == "the Twin Cities, Minnesota"
    assert said[5]["note"].startswith("A question of the Twin Cities, Minnesota; ")
    assert (said[0]["place"], said[0]["note"]) == ("", "")


def test_many_entries_are_counted_where_they_are_printed(office: Office) -> None:
    seqs = []
    for _ in range(5):
        office.watch.wait(minutes=5)
        seqs.append(office.did("line-cleaning", "room1").seq)

    printed = " ".join(office.run("answers").said.split())

    assert f"Lines cleaned on 1 day of the period. [5 entries, {seqs[0]} to {seqs[-1]}]" in printed


def test_a_list_without_gaps_ends_well(office: Office, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    own = tmp_path / "own"
    (own / "inspection").mkdir(parents=True)
    (own / "inspection" / "questions.toml").write_text(
        'format = 1\n[questions.ours]\nnumber = 1\nasks = "How much, please?"\nasked_by = "us"\nanswer = "amount"\n'
        '[sources.us]\nname = "Our own district"\nwhere = "Its letter of May"\n',
        "utf-8",
    )
    monkeypatch.setenv("WASTELEDGER_TEMPLATES", str(own))

    done = office.did("answers", "--from", "today")

    assert " 1  How much, please? [answered]\n    Nothing left in the period.\n" in done.said
    assert "0 things missing." in done.said

    (own / "inspection" / "questions.toml").write_text("format = 1\n[questions]\n[sources]\n", "utf-8")
    broken = office.run("answers")
    assert broken.status == 2
    assert "holds no question" in broken.complained


@pytest.mark.parametrize("period", [("--to", "tomorrow"), ("--from", "2026-03-02", "--to", "2026-03-01")])
def test_a_period_that_cannot_be_is_not_understood(office: Office, period: tuple[str, ...]) -> None:
    done = office.run("answers", *period)

    assert done.status == 2
    assert not done.said
