"""What a weighing teaches, through the command line: before and after, in words, in JSON, and in a chain that moves."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.doors.conftest import Office
from wasteledger import settings
from wasteledger.estimate.prior import DEFAULTS
from wasteledger.resources import find

# The starter plan states no body of its traps, so nothing could be learned; an office would weigh a clean one.
BODIES = 'insert_mass = "5 g"\n'


@pytest.fixture
def weighing(office: Office) -> Office:
    """The starter practice, whose trap bodies are now stated in its plan, with ten swaps in T-1."""
    plan = office.folder / "plan.toml"
    text = starter()
    plan.write_text(text.replace('kind = "high_volume"\n', f'kind = "high_volume"\n{BODIES}'), "utf-8")
    office.did("register", "update", str(plan))
    for _ in range(5):
        for trap in ("1-HV", "2-HV"):
            office.did("swap", trap, "-c", "clogged", by="ann")
        office.watch.wait(days=7)
    return office


def starter() -> str:
    """The starter plan's text."""
    return find("practice/starter.toml").read_text("utf-8")


def estimate(office: Office) -> Any:
    """The estimate of T-1 as JSON says it."""
    return office.did("container", "show", "T-1", "--budget", "--json").json()["budget"]


def lines(office: Office, *arguments: str) -> list[str]:
    """What a command says, line by line."""
    return office.did(*arguments).said.splitlines()


def test_a_weighing_before_and_after(weighing: Office) -> None:
    before = weighing.did("container", "show", "T-1", "--json").json()
    budget = estimate(weighing)
    assert before["estimate"]["basis"] == "estimate"
    assert budget["degrees_of_freedom"] is None
    assert budget["lower_mg"] < 50_000 + 15_000 < budget["upper_mg"]

    said = lines(weighing, "weigh", "T-1", "247.4g")  # 182.4 g of pail, 50 g of bodies, 15 g of debris

    assert said[0].startswith("Entry ")
    assert said[0].endswith("Container T-1 holds 65.00 g ± 0.33 g (95 %), weighed.")
    assert said[1] == f"  The estimate had said {before['statement']}; the scale shows 15 g less (19 %)."
    assert said[2].startswith("  Learned of a high-volume trap, one full swap: about 1.")
    assert "(95 %), estimate; before, about 3.0 g, between " in said[2]
    assert said[3] == "  6 other kinds moved with it: wasteledger learned."

    after = weighing.did("container", "show", "T-1", "--json").json()
    assert after["estimate"]["basis"] == "weighed"
    assert after["estimate"]["value_mg"] == 65_000
    # The next swap is estimated by what this one taught: with its degrees of freedom, and a narrower interval.
    weighing.did("swap", "1-HV", "-c", "clogged", by="ann")
    taught = estimate(weighing)
    assert taught["degrees_of_freedom"] > 10
    assert taught["estimated_mg"] < 2_000
    assert taught["weighed_mg"] == 65_000


def test_the_answer_in_json_has_what_was_learned(weighing: Office) -> None:
    answer = weighing.did("weigh", "T-1", "247.4g", "--json").json()

    assert len(answer["learned"]) == 3
    assert answer["learned"][0].startswith("The estimate had said ")
    assert answer["entry"]["kind"] == "weighing"


def test_learned_says_each_kind_before_and_after(weighing: Office) -> None:
    first = lines(weighing, "learned")
    assert first[0] == "No weighing has taught anything yet: the published starting values count."
    assert "  high-volume trap: about 3.0 g, between 0.4 g and 10.9 g (95 %), estimate" in first

    weighing.did("weigh", "T-1", "247.4g")

    said = lines(weighing, "learned")
    assert said[0].startswith("Learned from 1 weighing, written down in entry ")
    place = next(number for number, line in enumerate(said) if line.startswith("  high-volume trap: about 1."))
    assert said[place + 1] == "    published about 3.0 g, between 0.4 g and 10.9 g (95 %); 1 weighing of it"
    assert any(line.startswith("Scale factor ") for line in said)
    found = weighing.did("learned", "--json").json()
    (high,) = [one for one in found["kinds"] if one["kind"] == "high_volume"]
    assert (high["published"]["value_mg"], high["weighings"], high["now"]["basis"]) == (3_000, 1, "estimate")
    assert high["now"]["lower_mg"] < 1_500 < high["now"]["upper_mg"] < high["published"]["upper_mg"]
    assert found["calibration_seq"] == found["data_to"] + 1


def test_a_body_of_unknown_mass_is_said_and_can_be_mended(office: Office) -> None:
    office.did("swap", "1-HV", "-c", "clogged", by="ann")
    swap = office.did("swap", "2-HV", "-c", "clogged", "--json", by="ann").json()["seq"]

    said = office.did("weigh", "T-1", "195g").said
    assert "! Nothing can be learned from this weighing: 2 bodies of unknown mass went in. State the mass" in said
    told = office.did("learned").said
    assert "1 weighing left out, since a body of unknown mass went in: " in told
    assert "(container T-1)" in told
    (left_out,) = office.did("learned", "--json").json()["left_out"]
    assert left_out["what"] == "container T-1"

    for seq in (swap - 1, swap):
        mended = office.did("correct", str(seq), "--set", "insert_mg=5g", "--reason", "Weighed a clean one.").said
    assert "  Learned of a high-volume trap, one full swap: about " in mended
    assert "left out" not in office.did("learned").said


def test_a_kind_held_at_zero_is_a_warning_wherever_its_mass_is_shown(weighing: Office) -> None:
    """The pail weighs no more than when it was empty, though ten bodies of 5 g went in."""
    held = "! Weighings pull the mean mass of a high-volume trap below nothing; it is held at 0 g."

    weighed = weighing.did("weigh", "T-1", "182.4g").said

    assert held in weighed
    assert held in weighing.did("container", "show", "T-1", "--budget").said
    assert held in weighing.did("learned").said
    assert held not in weighing.did("container", "show", "T-1").said
    (high,) = [one for one in weighing.did("learned", "--json").json()["kinds"] if one["is_held_at_zero"]]
    assert (high["kind"], high["now"]["value_mg"]) == ("high_volume", 0)


def test_history_says_in_plain_words_what_was_learned(weighing: Office) -> None:
    seq = weighing.did("weigh", "T-1", "247.4g").seq

    said = weighing.did("history", "--kind", "calibration").said

    assert f"{seq + 1}" in said
    assert f"Learned from the entries up to {seq}, estimate of the debris in one of each: saliva-ejector trap " in said
    assert "high-volume trap 1." in said


def test_a_chain_with_calibrations_is_verified_exported_and_taken_in(weighing: Office) -> None:
    weighing.did("weigh", "T-1", "247.4g")
    weighing.did("swap", "1-HV", "-c", "clogged", "--gross", "7g", "--tare", "5g", by="ann")
    assert "Every digest agrees, and so does the standing." in weighing.did("verify").said
    whole, learned = estimate(weighing), weighing.did("learned", "--json").json()
    weighing.did("export", "--out", "chain.jsonl")
    kinds = [json.loads(line)["kind"] for line in (weighing.folder / "chain.jsonl").read_text("utf-8").splitlines()]
    assert kinds.count("calibration") == 2

    taken = weighing.runner.invoke(
        _app(), ["import", "chain.jsonl"], env={settings.LEDGER: str(weighing.folder / "other.db")}
    )
    assert taken.exit_code == 0, taken.output
    other = Office(weighing.folder, weighing.watch)
    (weighing.folder / "other.db").replace(weighing.folder / "wasteledger.db")
    assert estimate(other) == whole
    assert other.did("learned", "--json").json() == learned
    # The standing made anew from the journal says the same; a calibration has none.
    assert "Every digest agrees, and so does the standing." in other.did("verify", "--rebuild").said
    assert estimate(other) == whole
    # Nothing was learned anew on the way, and the chain goes on from where it was.
    other.did("export", "--out", "again.jsonl")
    again, chain = ((weighing.folder / name).read_bytes() for name in ("again.jsonl", "chain.jsonl"))
    assert again == chain
    assert other.did("weigh", "T-1", "250g").seq == len(kinds) + 1


def test_a_backup_that_is_restored_estimates_the_same(weighing: Office) -> None:
    weighing.did("weigh", "T-1", "247.4g")
    weighing.did("swap", "1-HV", "-c", "clogged", by="ann")
    before = estimate(weighing)
    weighing.did("backup", "kept.db")

    weighing.did("swap", "2-HV", "-c", "clogged", by="ann")
    assert estimate(weighing) != before
    weighing.did("restore", "kept.db", "--overwrite", "--yes")

    assert estimate(weighing) == before


def _app() -> Any:
    from wasteledger.cli import app

    return app


def lay_over(office: Office, monkeypatch: pytest.MonkeyPatch) -> None:
    """The office, or another machine, has starting values of its own: other scatter, days, means and grades."""
    own = office.folder / "own" / DEFAULTS
    own.parent.mkdir(parents=True)
    text = find(DEFAULTS).read_text("utf-8")
    for said, instead in (
        ("mean_mg = 3000\nsd_mg = 3000\nnominal_days = 7", "mean_mg = 9000\nsd_mg = 900\nnominal_days = 30"),
        ("clogged = 1000", "clogged = 700"),
        ("debris = 500", "debris = 250"),
    ):
        assert text.count(said) == 1
        text = text.replace(said, instead)
    own.write_text(text, "utf-8")
    monkeypatch.setenv(settings.TEMPLATES, str(office.folder / "own"))


def test_other_starting_values_change_what_nothing_has_taught_yet(
    weighing: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = weighing.did("container", "show", "T-1").said

    lay_over(weighing, monkeypatch)

    assert weighing.did("container", "show", "T-1").said != before


def test_what_was_learned_is_shown_the_same_under_other_starting_values(
    weighing: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    weighing.did("weigh", "T-1", "247.4g")
    for condition in ("clogged", "debris"):
        weighing.did("swap", "1-HV", "-c", condition, by="ann")
    weighing.did("swap", "2-HV", by="ann")
    shown, whole = weighing.did("container", "show", "T-1").said, estimate(weighing)
    history = weighing.did("history", "--kind", "calibration").said
    weighing.did("export", "--out", "chain.jsonl")

    lay_over(weighing, monkeypatch)

    assert weighing.did("container", "show", "T-1").said == shown
    assert estimate(weighing) == whole
    assert weighing.did("history", "--kind", "calibration").said == history

    # So it is where a chain is taken in on a machine that has other starting values.
    taken = weighing.runner.invoke(
        _app(), ["import", "chain.jsonl"], env={settings.LEDGER: str(weighing.folder / "other.db")}
    )
    assert taken.exit_code == 0, taken.output
    (weighing.folder / "other.db").replace(weighing.folder / "wasteledger.db")
    assert weighing.did("container", "show", "T-1").said == shown
    assert estimate(weighing) == whole


def test_an_explained_receipt_teaches_no_more(weighing: Office) -> None:
    nothing_yet = weighing.did("learned").said
    weighing.did("pickup", "book", "P-1", "T-1", "--carrier", "carrier", "--facility", "recycler", "--on", "2026-04-20")
    weighing.watch.wait(days=20)
    weighing.did("pickup", "release", "P-1", "--taken-by", "Dana Driver", "--yes")
    weighing.did("pickup", "receive", "P-1", "--on", "2026-04-26", "--net", "T-1=900g")
    assert "Learned from 1 weighing" in weighing.did("learned").said

    weighing.did("pickup", "explain", "P-1", "--why", "Weighed with its pallet.")

    found = weighing.did("learned", "--json").json()
    assert (found["weighings"], found["left_out"]) == (0, [])
    assert all(one["now"] == one["published"] for one in found["kinds"])
    # Written down in an entry of its own, else as it was.
    assert weighing.did("learned").said.splitlines()[1:] == nothing_yet.splitlines()[1:]
