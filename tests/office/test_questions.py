"""The list of questions, shipped or an office's own, and what the state of an answer follows from."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.office.asking import says
from tests.office.makers import Crew
from wasteledger.office.answers import BadQuestions, Point, State, answers, read_questions
from wasteledger.office.answers.answering import ANSWERERS
from wasteledger.office.answers.points import Answer, elsewhere, here, missing, outside, shown
from wasteledger.office.answers.questions import QUESTIONS, Question
from wasteledger.resources import find

SHIPPED = find(QUESTIONS, own=Path(__file__).parent)


def test_the_shipped_list_has_every_question_once_with_its_source_and_an_answer() -> None:
    found = read_questions(SHIPPED.read_bytes(), ANSWERERS.keys())

    assert [one.number for one in found] == list(range(1, 35))
    assert sorted(one.answer for one in found) == sorted(ANSWERERS)
    assert all(one.asked_by and one.asks.endswith("?") for one in found)
    assert all(source.name and source.where for one in found for source in one.asked_by)


def test_no_source_is_listed_that_nobody_asks() -> None:
    text = SHIPPED.read_text("utf-8")
    listed = set(re.findall(r"^\[sources\.([a-z0-9-]+)\]", text, re.MULTILINE))
    named = {name for line in re.findall(r'^asked_by = "(.+)"', text, re.MULTILINE) for name in line.split(", ")}

    assert listed == named


def test_every_fault_of_a_list_is_named_at_once() -> None:
    text = """
format = 1
[questions.one]
number = 1
asks = "Is it so?"
asked_by = "nobody-known"
answer = "no_such_answer"
[questions.two]
number = 1
asks = ""
asked_by = "mill"
answer = "amount"
colour = "red"
elsewhere = "answered"
[questions.three]
number = 3
asks = "Is it?"
asked_by = "mill"
answer = "amount"
belongs_to = "river-*, brook"
elsewhere = "perhaps"
[sources.mill]
name = "The miller"
"""
    with pytest.raises(BadQuestions) as caught:
        read_questions(text, ANSWERERS.keys(), name="own.toml")

    faults = "\n".join(caught.value.faults)
    for words in (
        "questions.one.asked_by: “nobody-known” is not among the sources",
        "questions.one.answer: there is no answer “no_such_answer”",
        "questions.two.number: 1 is the number of another question too",
        "questions.two.asks: must be a text that is not empty",
        "questions.two.colour: is not known here",
        "questions.two.elsewhere: goes with belongs_to, which is missing",
        "questions.three.place: is missing",
        "questions.three.elsewhere: must be one of answered, not_asked",
        "sources.mill.where: is missing",
    ):
        assert words in faults
    assert len(caught.value.faults) == 9
    assert "own.toml" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("format = 1\n[questions]\n[sources]\n", "holds no question"),
        ("format = 2\n[questions]\n[sources]\n", "2 is not read here"),
        ("not TOML", "It is no TOML text"),
    ],
)
def test_a_list_that_cannot_be_read_is_refused(text: str, words: str) -> None:
    with pytest.raises(BadQuestions, match=words):
        read_questions(text, ANSWERERS.keys())


def test_a_question_belongs_to_ordinances_by_id_or_by_its_beginning() -> None:
    theirs = Question(1, "Is it so?", (), "amount", ("river-*", "brook"), "the valley")

    assert theirs.is_at_home(["us-federal-dental", "river-district"])
    assert theirs.is_at_home(["brook"])
    assert not theirs.is_at_home(["brook-2", "my-river-district"])
    assert not theirs.is_at_home([])
    assert Question(2, "Is it so?", (), "amount").is_at_home([])


def test_questions_of_one_place_are_so_in_the_shipped_list() -> None:
    found = {one.number: one for one in read_questions(SHIPPED.read_bytes(), ANSWERERS.keys()) if one.belongs_to}

    assert sorted(found) == [6, 29, 32, 33]
    assert [number for number, one in found.items() if not one.is_asked_elsewhere] == [32]
    assert found[32].is_at_home(["de-abwv-50"])


def test_an_office_lays_its_own_list_over(crew: Crew, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    own = tmp_path / "own"
    (own / "inspection").mkdir(parents=True)
    (own / "inspection" / "questions.toml").write_text(
        'format = 1\n[questions.ours]\nnumber = 7\nasks = "How much, please?"\nasked_by = "us"\nanswer = "amount"\n'
        '[sources.us]\nname = "Our own district"\nwhere = "Its letter of May"\n',
        "utf-8",
    )
    monkeypatch.setenv("WASTELEDGER_TEMPLATES", str(own))

    (only,) = answers(crew.iris).answers

    assert (only.question.number, only.question.asks) == (7, "How much, please?")
    assert only.question.asked_by[0].name == "Our own district"
    assert says(only) == "Nothing left in the period."


# -- states ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("points", "state"),
    [
        ((shown("a"), shown("b")), State.ANSWERED),
        ((shown("a"), missing("b")), State.PARTLY),
        ((shown("a"), here("b")), State.PARTLY),
        ((shown("a"), missing("b"), here("c")), State.PARTLY),
        ((missing("a"),), State.GAP),
        ((missing("a"), here("b")), State.GAP),
        ((), State.GAP),
        ((here("a"),), State.ON_SITE),
        ((outside("a"), shown("b")), State.OUT_OF_SCOPE),
        ((elsewhere("a"),), State.NOT_ASKED),
    ],
)
def test_the_state_follows_from_the_points(points: tuple[Point, ...], state: State) -> None:
    question = Question(1, "Is it so?", (), "amount")

    assert Answer(question, points).state is state
