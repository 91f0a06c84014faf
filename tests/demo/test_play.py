"""A short demo: it plays, says the same twice, is quick the second time, and leaves foreign folders alone."""

from __future__ import annotations

import json
import shlex
from dataclasses import dataclass
from pathlib import Path

import pytest

from demo import play
from demo.beside import compared
from demo.parts import Truth
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.reader import Filter
from wasteledger.ledger.verify import verify
from wasteledger.model.entries import Look
from wasteledger.model.procedures import Procedures

SHORT = ["--years", "0.25", "--seed", "5"]


@dataclass(frozen=True, slots=True)
class Played:
    folder: Path
    status: int

    @property
    def ledger(self) -> Path:
        return self.folder / play.LEDGER

    def truth(self) -> Truth:
        return Truth.load(self.folder / play.TRUTH)


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Played:
    folder = tmp_path_factory.mktemp("demo") / "here"
    return Played(folder, play.main(["--folder", str(folder), *SHORT]))


def digest_of(ledger: Path, site: str) -> str:
    with Ledger.open(str(ledger)) as opened, opened.reading(site) as reader:
        end = reader.chain_end()
        assert end is not None
        return end.digest


def test_a_short_demo_plays_and_both_chains_verify(played: Played) -> None:
    assert played.status == 0
    with Ledger.open(str(played.ledger)) as opened:
        assert opened.sites() == ["linden", "linden-mill"]
        assert all(verify(opened.engine, site).holds for site in opened.sites())


def test_the_second_time_the_ledger_is_only_shown(played: Played, capsys: pytest.CaptureFixture[str]) -> None:
    before = played.ledger.read_bytes()

    assert play.main(["--folder", str(played.folder), *SHORT]) == 0

    assert "Already played" in capsys.readouterr().out
    assert played.ledger.read_bytes() == before


def test_each_user_sees_what_is_theirs_and_the_figures_are_called_invented(
    played: Played, capsys: pytest.CaptureFixture[str]
) -> None:
    play.main(["--folder", str(played.folder), *SHORT])
    printed = capsys.readouterr().out

    for words in (
        "To change before the suction starts tomorrow: 2-HV, 4-SE",
        "$ wasteledger status",
        "Ask for the receipt, pickup P-2026-10",
        "$ wasteledger verify",
        "Every digest agrees",
        "$ wasteledger pickup plan",
        "$ wasteledger balance",
        "Truth: every swap was written down; so short a play hides nothing.",
        "A weighing, and what it teaches: PAIL-1",
        "$ wasteledger learned",
        "Truth beside estimate (INVENTED",
        str(played.folder),
    ):
        assert words in printed


def test_all_papers_are_drawn(played: Played) -> None:
    papers = {path.name: path.read_bytes()[:5] for path in (played.folder / play.PAPERS).iterdir()}

    assert set(papers) == {
        "manifest-P-2026-10.pdf",
        "reminder-P-2026-10.pdf",
        "labels.pdf",
        "trap-labels.pdf",
        "deposit-log.pdf",
        "log-sheet.pdf",
        "pictures.pdf",
    }
    assert set(papers.values()) == {b"%PDF-"}


def test_the_same_seed_plays_the_same_practice_and_another_another(played: Played, tmp_path: Path) -> None:
    for name, seed in (("same", "5"), ("other", "6")):
        play.main(["--folder", str(tmp_path / name), "--years", "0.25", "--seed", seed])

    assert Truth.load(tmp_path / "same" / play.TRUTH) == played.truth()
    assert digest_of(tmp_path / "same" / play.LEDGER, "linden") == digest_of(played.ledger, "linden")
    assert digest_of(tmp_path / "other" / play.LEDGER, "linden") != digest_of(played.ledger, "linden")
    assert Truth.load(tmp_path / "other" / play.TRUTH) != played.truth()


def test_no_entry_knows_a_true_mass_but_those_that_a_scale_read(played: Played) -> None:
    with Ledger.open(str(played.ledger)) as opened, opened.reading("linden") as reader:
        swaps = list(reader.entries(Filter(kinds=("swap",))))
        contents = {one.container: one for one in reader.containers("open")}

    assert swaps
    assert all(entry.body.gross is None for entry in swaps)  # type: ignore[attr-defined]
    assert contents["PAIL-1"].holding.base_mg == 0


def test_the_years_hold_forgotten_looks_paper_entries_and_a_corrected_pair(played: Played) -> None:
    with Ledger.open(str(played.ledger)) as opened, opened.reading("linden") as reader:
        looks = [entry.body for entry in reader.entries(Filter(kinds=("look",)))]
        corrections = [entry.body.action for entry in reader.entries(Filter(kinds=("correction",)))]  # type: ignore[attr-defined]
        malfunctions = [one.malfunction_seq for one in reader.separators()]
        repairs = list(reader.entries(Filter(kinds=("repair",))))

    assert any(look.reason for look in looks if isinstance(look, Look))
    assert corrections == ["void", "replace"]
    assert len(repairs) == 1
    assert malfunctions == [0]


def test_the_manager_enters_every_weeks_restorations_and_each_working_day_once(played: Played) -> None:
    with Ledger.open(str(played.ledger)) as opened, opened.reading("linden") as reader:
        entered = [entry.body for entry in reader.entries(Filter(kinds=("procedures",)))]
        looked_on = {entry.happened_at.date() for entry in reader.entries(Filter(kinds=("look",)))}
    spans = [one for one in entered if isinstance(one, Procedures)]

    assert sum(one.removed.total + one.placed.total for one in spans) > 50
    assert all(sum(one.first_on <= day <= one.last_on for one in spans) == 1 for day in looked_on)
    assert any(one.removed.unknown or one.placed.unknown for one in spans)


def test_estimates_are_compared_with_the_truth_and_not_with_themselves(played: Played) -> None:
    rows = compared(played.ledger, played.truth())
    truths = {row.container: row.truth_mg for row in rows}

    assert {"PAIL-1", "TUB-1"} <= set(truths)
    moved = played.truth()
    moved.containers["linden"]["PAIL-1"].contents_mg *= 10
    assert not next(row for row in compared(played.ledger, moved) if row.container == "PAIL-1").inside


def test_what_the_published_values_alone_would_say_is_kept_beside_what_was_learned(played: Played) -> None:
    rows = [row for row in compared(played.ledger, played.truth()) if row.container == "TUB-2"]

    # One tub has been weighed by then, so the two no longer say the same.
    assert len(rows) == 1
    assert rows[0].value_mg != rows[0].published_mg > 0
    assert rows[0].published_lower_mg < rows[0].published_mg < rows[0].published_upper_mg


def test_the_weighing_that_is_shown_leaves_the_ledger_as_it_was(
    played: Played, capsys: pytest.CaptureFixture[str]
) -> None:
    end = digest_of(played.ledger, "linden")

    play.main(["--folder", str(played.folder), *SHORT])

    assert "The estimate had said" in capsys.readouterr().out
    assert digest_of(played.ledger, "linden") == end


def test_a_folder_with_something_else_in_it_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "letter.txt").write_text("mine", "utf-8")

    assert play.main(["--folder", str(tmp_path), *SHORT, "--fresh"]) == 3

    assert "letter.txt" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


def test_a_stamp_of_another_release_is_not_taken_for_this_ones(played: Played, tmp_path: Path) -> None:
    stamp = json.loads((played.folder / play.STAMP).read_text("utf-8"))

    assert stamp["made_from"] == play._made_from()
    assert stamp["years"] == 0.25
    assert play._read_stamp(tmp_path) is None


def test_what_is_to_be_tried_next_can_be_pasted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "ann's own demo"
    folder.mkdir()

    play._say_where(folder)

    typed = [line for line in capsys.readouterr().out.splitlines() if line.startswith("  wasteledger ")]
    assert len(typed) == 5
    for line in typed:
        words = shlex.split(line)
        assert words[words.index("--ledger") + 1] == str(folder / play.LEDGER)
