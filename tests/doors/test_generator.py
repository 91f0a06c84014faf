"""Other waste and the monthly count through the command line."""

from __future__ import annotations

from typing import get_args

import pytest

from tests.doors.conftest import Office
from wasteledger import resources
from wasteledger.cli.generator import Basis
from wasteledger.model.filings import OtherWaste

FEDERAL = "US federal hazardous waste generator rules (40 CFR Part 262)"


@pytest.fixture
def counting(office: Office) -> Office:
    """The starter plan's practice with the federal rules for generators in force; its manager records."""
    starter = resources.find("practice/starter.toml").read_text("utf-8")
    plan = office.folder / "more.toml"
    plan.write_text(
        starter.replace('["us-federal-dental", ', '["us-federal-dental", "us-federal-generator", '), "utf-8"
    )
    office.did("register", "update", str(plan))
    return office


def swap_one(office: Office) -> None:
    """A clogged trap, into the pail."""
    office.did("swap", "1-HV", "--condition", "clogged")


def test_the_words_for_how_a_mass_is_known_are_the_journals() -> None:
    assert {word.value for word in Basis} == set(get_args(OtherWaste.model_fields["basis"].annotation))


def test_other_waste_is_typed_in_once_a_month(office: Office) -> None:
    first = office.did(
        "other-waste", "--month", "2026-02", "--what", "Spent fixer", "--mass", "12kg", "--on-hand", "3kg"
    )
    assert first.said == (
        f"Entry {first.seq}: Other hazardous waste of 2026-02, Spent fixer: 12 kg made (estimate), 3 kg on hand.\n"
    )

    again = office.run("other-waste", "--month", "2026-02", "--what", "spent  fixer", "--mass", "1kg")
    assert again.status == 3
    assert f"Entry {first.seq} holds “Spent fixer” of 2026-02 already: 12 kg." in again.complained
    assert f"wasteledger correct {first.seq}" in again.complained

    office.did("correct", str(first.seq), "--reason", "Weighed again.", "--set", "made_mg=13kg")
    told = office.did("generator", "--from", "2026-02", "--to", "2026-02", "--json").json()
    assert told["months"][0]["others"][0]["made_mg"] == 13_000_000


def test_other_waste_in_json(office: Office) -> None:
    told = office.did(
        "other-waste",
        "--month",
        "2026-03",
        "--what",
        "Old acid",
        "--mass",
        "0g",
        "--acute",
        "--basis",
        "paper",
        "--json",
    ).json()

    assert told["entry"]["kind"] == "other_waste"
    assert told["entry"]["body"]["acute"] is True
    assert told["entry"]["body"]["basis"] == "paper"
    assert told["entry"]["body"]["made_mg"] == 0


@pytest.mark.parametrize(
    ("arguments", "status", "words"),
    [
        (("--month", "March", "--what", "Fixer", "--mass", "1kg"), 2, "“March” is not a month."),
        (("--month", "2026-13", "--what", "Fixer", "--mass", "1kg"), 2, "is not a month"),
        (("--month", "2026-04", "--what", "Fixer", "--mass", "1kg"), 3, "April 2026 begins only after 2026-03-02"),
        (("--month", "2026-02", "--what", "Fixer", "--mass", "12"), 2, "has no unit"),
        (("--month", "2026-02", "--what", "Fixer", "--mass", "1kg", "--on-hand", "much"), 2, "is not a mass"),
        (("--month", "2026-02", "--what", " ", "--mass", "1kg"), 2, "name"),
        (("--month", "2026-02", "--what", "Fixer", "--mass", "1kg", "--basis", "guess"), 2, "guess"),
        (("--month", "2026-02", "--what", "Fixer"), 2, "--mass"),
    ],
)
def test_what_cannot_be_understood(office: Office, arguments: tuple[str, ...], status: int, words: str) -> None:
    done = office.run("other-waste", *arguments)

    assert done.status == status
    assert words in done.complained


def test_the_count_in_words(counting: Office) -> None:
    swap_one(counting)
    fixer = counting.did(
        "other-waste", "--month", "2026-03", "--what", "Spent fixer", "--mass", "15kg", "--on-hand", "2kg"
    )

    # February is over, and nothing was typed in for it.
    done = counting.run("generator", "--from", "2026-02")

    assert done.status == 1
    lines = done.said.splitlines()
    assert lines[0] == "Hazardous waste by the month:"
    assert lines[1] == "February 2026: amalgam waste none; amalgam only"
    assert lines[2:4] == [
        f"  {FEDERAL}: by amalgam alone",
        "  VSQG; other waste was not typed in, so not known",
    ]
    assert lines[4].startswith("March 2026, so far: amalgam waste about ")
    assert f"  Spent fixer: 15 kg, estimate (entry {fixer.seq})" in lines
    assert "  together about 15.0" in done.said
    assert f"  Spent fixer: 2 kg, told for 2026-03 (entry {fixer.seq})" in lines
    assert "Amalgam only: no other waste was typed in for that month" in done.said
    assert "  VSQG: up to 100 kg a month; acute up to 1 kg; a clock from 1,000 kg on site;" in lines
    assert "  LQG: from 1,000 kg a month (40 CFR 262.13; 40 CFR 260.10)" in lines
    assert "What was typed in is taken as it stands: intervals are of the amalgam alone." in lines
    assert lines[-1].endswith("The local authority decides.")
    # On which month and figure the duties rest, last of all.
    assert lines[-3:-1] == [
        f"{FEDERAL}: duties go by VSQG",
        "    (March 2026 so far, by the value), since the ledger's beginning, 2026-03-02.",
    ]
    assert max(len(line) for line in lines) <= 80
    (marked,) = [line for line in lines if line.startswith("!")]
    assert marked.startswith("! other waste: No other waste was typed in for February 2026, not even that")
    counting.did("other-waste", "--month", "2026-02", "--what", "Spent fixer", "--mass", "0g")
    assert counting.run("generator", "--from", "2026-02").status == 0


def test_the_count_says_which_month_the_duties_go_by(counting: Office) -> None:
    """The running month is plain; the one before reaches a boundary with a piece of unknown mass."""
    counting.did("container", "open", "C-1", "--type", "capsule-tub", "--tare", "100g")
    counting.did("deposit", "C-1", "--stream", "capsules", "--count", "1")
    counting.watch.wait(days=30)
    counting.did("other-waste", "--month", "2026-03", "--what", "Spent fixer", "--mass", "99.99kg", "--on-hand", "0g")

    done = counting.run("generator", "--from", "2026-04")

    text = " ".join(done.said.split())
    assert (
        f"April 2026, so far: amalgam waste none; amalgam only {FEDERAL}: by amalgam alone VSQG; other waste was not "
        "typed in, so not known"
    ) in text
    assert (
        f"{FEDERAL}: duties go by SQG (March 2026, at the upper end, which takes 20 g for 1 piece of unknown mass; "
        "not settled), since the ledger's beginning, 2026-03-02."
    ) in text
    assert "the upper end takes for each 20 g for a small piece such as a used capsule" in text
    assert "own judgement, no source." in text
    told = counting.run("generator", "--json").json()
    assert told["now"][0]["ordinance"] == "us-federal-generator"
    assert (told["now"][0]["name"], told["now"][0]["since"], told["now"][0]["is_settled"]) == (
        "SQG",
        "2026-03-02",
        False,
    )


def test_without_other_waste_the_duties_go_by_no_category(counting: Office) -> None:
    swap_one(counting)

    text = " ".join(counting.did("generator").said.split())

    assert (
        f"{FEDERAL}: which category duties go by is not known, so that due shows those of each: no other waste was "
        "typed in for this month or the last, not even that there was none. Amalgam alone gives VSQG. This says"
    ) in text
    counting.did("other-waste", "--month", "2026-02", "--what", "Spent fixer", "--mass", "0g")
    assert "duties go by VSQG" in " ".join(counting.did("generator").said.split())


def test_the_count_in_json(counting: Office) -> None:
    swap_one(counting)

    told = counting.did("generator", "--json").json()

    (month,) = told["months"]
    assert (month["month"], month["is_so_far"], month["is_amalgam_only"]) == ("2026-03", True, True)
    assert month["categories"][0]["category"] == "VSQG"
    assert told["wants_attention"] is False


def test_a_stock_over_its_limit_wants_attention(counting: Office) -> None:
    counting.did("other-waste", "--month", "2026-02", "--what", "Spent fixer", "--mass", "0g", "--on-hand", "1000kg")

    done = counting.run("generator")

    assert done.status == 1
    assert "! on site: " in done.said
    assert "wasteledger milestone stock_limit_reached" in " ".join(done.said.split())

    counting.did("milestone", "stock_limit_reached")
    assert counting.run("generator").status == 0


def test_months_that_cannot_be_counted(office: Office) -> None:
    for arguments, words, status in (
        (("--from", "2026-03", "--to", "2026-02"), "February 2026 comes before March 2026.", 2),
        (("--to", "2026-04"), "April 2026 begins only after", 3),
        (("--from", "yesteryear"), "is not a month", 2),
    ):
        done = office.run("generator", *arguments)
        assert (done.status, words in done.complained) == (status, True)


def test_without_categories_in_force_it_says_so(office: Office) -> None:
    done = office.did("generator")

    assert "No ordinance in force sets generator categories" in done.said
