"""Bodies of entries: every kind round-trips through canonical JSON, and nothing unknown slips in."""

from __future__ import annotations

import json
from typing import Any

import pytest
from pydantic import ValidationError

from tests.makers import a_correction, a_look, a_reading, a_replacement, a_swap, an_opening, one_of_each
from tests.model.histories import an_entry
from wasteledger.ledger.chain import body_text
from wasteledger.model.entries import (
    KINDS,
    BodyNotUnderstood,
    Correction,
    Deposit,
    Look,
    Receipt,
    Replacement,
    Swap,
    read_body,
)
from wasteledger.model.traps import Condition
from wasteledger.model.values import Body

EACH = one_of_each()
BODIES = pytest.mark.parametrize("body", EACH.values(), ids=EACH.keys())


def test_there_is_one_of_each_kind_here() -> None:
    assert set(EACH) == set(KINDS)


@BODIES
def test_a_body_comes_back_from_its_canonical_text(body: Body) -> None:
    text = body_text(body)

    again = read_body(body.KIND, body.VERSION, text)

    assert again == body
    assert type(again) is type(body)
    assert body_text(again) == text


@BODIES
def test_a_body_holds_only_what_has_one_exact_form(body: Body) -> None:
    def leaves(value: Any) -> list[Any]:
        if isinstance(value, dict):
            return [leaf for one in value.values() for leaf in leaves(one)]
        if isinstance(value, list):
            return [leaf for one in value for leaf in leaves(one)]
        return [value]

    assert {type(leaf) for leaf in leaves(json.loads(body_text(body)))} <= {str, int, bool}


@BODIES
def test_an_unknown_key_is_refused(body: Body) -> None:
    said = json.loads(body_text(body)) | {"patient": "nobody"}

    with pytest.raises(BodyNotUnderstood, match="patient"):
        read_body(body.KIND, body.VERSION, json.dumps(said))


@BODIES
def test_a_missing_key_is_refused(body: Body) -> None:
    said = json.loads(body_text(body))
    required = [name for name, one in type(body).model_fields.items() if one.is_required()]
    assert required

    for name in required:
        short = {key: value for key, value in said.items() if key != name}
        with pytest.raises(BodyNotUnderstood, match=name):
            read_body(body.KIND, body.VERSION, json.dumps(short))


@BODIES
def test_a_float_is_refused_wherever_a_whole_number_stands(body: Body) -> None:
    said = json.loads(body_text(body))
    whole = [name for name, value in said.items() if type(value) is int]

    for name in whole:
        with pytest.raises(BodyNotUnderstood, match=name):
            read_body(body.KIND, body.VERSION, json.dumps(said | {name: said[name] + 0.5}))
        with pytest.raises(BodyNotUnderstood, match=name):
            read_body(body.KIND, body.VERSION, json.dumps(said | {name: float(said[name])}))


@BODIES
def test_a_body_is_frozen(body: Body) -> None:
    with pytest.raises(ValidationError):
        body.note = "changed my mind"


def test_a_float_deep_inside_is_refused_too() -> None:
    said = json.loads(body_text(EACH["weighing"]))
    said["gross"]["mass_mg"] = 200_000.0

    with pytest.raises(BodyNotUnderstood, match=r"gross\.mass_mg"):
        read_body("weighing", 1, json.dumps(said))


@pytest.mark.parametrize(
    ("kind", "version"), [("look", 2), ("look", 0), ("polish", 1), ("Look", 1), ("", 1)], ids=lambda one: str(one)
)
def test_an_unknown_kind_or_version_is_refused(kind: str, version: int) -> None:
    with pytest.raises(BodyNotUnderstood, match="not known here") as refusal:
        read_body(kind, version, body_text(a_look()))

    assert "newer release" in refusal.value.hint


_NAME = "is no short name: letters, digits, dot, dash, underscore"


@pytest.mark.parametrize(
    ("kind", "changes", "words"),
    [
        ("line_cleaning", {"rooms": ["?"]}, f"rooms: “?” {_NAME}"),
        ("line_cleaning", {"rooms": ["op 1", "op-2"]}, f"rooms: “op 1” {_NAME}"),
        ("line_cleaning", {"rooms": []}, "rooms: at least 1 must be named."),
        ("look", {"trap": "é" * 60}, f"trap: “{'é' * 39}…” {_NAME}"),
        ("look", {"condition": "shiny"}, "“shiny” is none of clean, debris, "),
        ("look", {"on_paper": "perhaps"}, "on_paper: it should be true or false."),
        ("look", {"trap": 7}, "trap: it should be text."),
        ("look", {"mood": "good"}, "mood: there is no such value here."),
        ("level", {"level_permille": 2500}, "level_permille: 250 % is too high: 200 % is the most."),
        ("level", {"level_permille": -1}, "level_permille: -0.1 % is too low: 0 % is the least."),
        (
            "weighing",
            {"gross": {"mass_mg": -1, "readability_mg": 1, "tolerance_mg": 1}},
            "mass_mg: -1 mg is too low: 0",
        ),
        ("weighing", {"gross": None}, "gross: it should be a table of names and values."),
        ("swap", {"interval_days": 0}, "interval_days: 0 is too low: 1 is the least."),
        ("deposit", {"volume_ml": 10**20}, "volume_ml: 100000000000000000000 mL is too high: "),
        ("other_waste", {"month": "2026-13"}, "month: “2026-13” is no month: write it such as 2026-11."),
        ("reminder_sent", {"digest": "abc"}, "digest: “abc” is no digest: 64 digits from 0 to f."),
        ("duty_done", {"due_on": "soon"}, "due_on: it should be a day such as 2026-03-01."),
    ],
)
def test_what_is_wrong_is_said_in_plain_words(kind: str, changes: dict[str, object], words: str) -> None:
    said = json.loads(body_text(EACH[kind])) | changes

    with pytest.raises(BodyNotUnderstood) as refusal:
        read_body(kind, 1, json.dumps(said))

    assert words in str(refusal.value)
    assert not any(raw in str(refusal.value) for raw in ("pattern", "Input", "should match", "equal to", ".0", "'"))


@pytest.mark.parametrize("text", ["", "null", "[]", "{", '"look"', "NaN", b"\xff\xfe"])
def test_a_text_that_is_no_body_is_refused(text: str | bytes) -> None:
    with pytest.raises(BodyNotUnderstood):
        read_body("look", 1, text)


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        (Look, {"trap": "1-HV", "condition": Condition.NOT_LOOKED}),
        (Look, {"trap": "1-HV", "condition": Condition.CLEAN, "reason": "room in use"}),
        (Deposit, {"container": "C-1", "stream": "scrap"}),
        (Deposit, {"container": "C-1", "stream": "scrap", "count": 0}),
        (Correction, {"corrects": 0, "action": "void", "reason": "wrong"}),
        (Correction, {"corrects": 3, "action": "replace", "reason": "wrong"}),
        (Receipt, {"pickup": "P-1", "proves": "nothing"}),
    ],
)
def test_what_does_not_fit_together_is_refused(kind: type[Body], said: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        kind(**said)


def test_void_takes_no_replacement() -> None:
    put_in = a_replacement(an_entry(3, a_look())).replacement

    with pytest.raises(ValidationError):
        Correction(corrects=3, action="void", reason="wrong", replacement=put_in)


def test_a_swap_is_weighed_twice_or_not_at_all() -> None:
    with pytest.raises(ValidationError, match="both"):
        a_swap(gross=a_reading(9_000))
    with pytest.raises(ValidationError, match="both"):
        a_swap(tare=a_reading(5_000))
    with pytest.raises(ValidationError, match="below its tare"):
        a_swap(gross=a_reading(4_999), tare=a_reading(5_000))

    assert isinstance(a_swap(gross=a_reading(5_000), tare=a_reading(5_000)), Swap)


def test_a_container_may_weigh_more_than_a_kilogram() -> None:
    assert an_opening(mass_limit_mg=25_000_000).mass_limit_mg == 25_000_000
    with pytest.raises(ValidationError):
        an_opening(mass_limit_mg=0)


def test_what_the_office_adds_is_left_out_of_what_was_said() -> None:
    tonight, later = a_swap(days_in_service=7), a_swap(days_in_service=8, insert_mg=None)

    assert tonight.said() == later.said()
    assert a_swap(trap="2-HV").said() != tonight.said()
    assert a_swap(note="torn").said() != tonight.said()


def test_what_the_office_adds_to_a_replacement_is_left_out_too() -> None:
    entry = an_entry(3, a_swap())
    first, again = (a_replacement(entry, a_swap(condition=Condition.DEBRIS, days_in_service=days)) for days in (7, 9))

    assert first.said() == again.said()
    assert a_replacement(entry, a_swap(trap="2-HV")).said() != first.said()
    assert a_correction(3).said() != first.said()


@pytest.mark.parametrize("happened_at", ["2026-03-02", "2026-03-02T14:00:00Z", "soon"])
def test_a_replacement_says_its_time_exactly(happened_at: str) -> None:
    with pytest.raises(ValidationError):
        Replacement(kind="look", version=1, happened_at=happened_at, body="{}")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"means": ("812.5", "1")}, "one mean"),
        ({"covariance": (("12.25", "0"),)}, "one row and column"),
        ({"covariance": (("12.25",), ("0",))}, "one row and column"),
        ({"kinds": ("pump", "pump"), "means": ("1", "1")}, "named twice"),
        ({"means": ("inf",)}, "finite"),
        ({"covariance": (("nan",),)}, "finite"),
        ({"scale": "heavy"}, "decimal number"),
        ({"scale": "-1"}, "above 0"),
        ({"scale": "0"}, "above 0"),
        ({"means": ("1e300",)}, "below 0, nor so small or large"),
        ({"means": ("1e-300",)}, "below 0, nor so small or large"),
        ({"means": ("1_000",)}, "decimal number"),
        ({"means": ("\u0661",)}, "decimal number"),
        ({"covariance": (("-1",),)}, "variance"),
        ({"covariance": (("1e308",),)}, "variance"),
        ({"degrees_of_freedom": "0"}, "1 or more"),
        ({"degrees_of_freedom": "nan"}, "decimal number"),
        ({"degrees_of_freedom": "0.5"}, "1 or more"),
        ({"means": ("-0.5",)}, "below 0"),
        ({"scatter": ()}, "one scatter"),
        ({"scatter": ("1", "1")}, "one scatter"),
        ({"scatter": ("-1",)}, "0 or more"),
        ({"scatter": ("inf",)}, "decimal number"),
        ({"scatter": ("wide",)}, "decimal number"),
        ({"nominal_days": ()}, "one number of days"),
        ({"nominal_days": (7, 7)}, "one number of days"),
        ({"nominal_days": (-1,)}, "-1 is too low: 0 is the least"),
        ({"nominal_days": (7.5,)}, "a whole number"),
        ({"grades": ()}, "grades belong to masses"),
        ({"grades": (("debris", 500), ("clean", 100))}, "sorted"),
        ({"grades": (("clean", 100), ("clean", 200))}, "named once"),
        ({"grades": (("clean", -1),)}, "-1 is too low: 0 is the least"),
        ({"grades": (("clean", 100, 3),)}, "at most 2"),
        ({"quantity": "volume"}, "of volumes none"),
        ({"quantity": "volume", "scatter": (), "nominal_days": ()}, "nothing else"),
    ],
)
def test_numbers_of_a_calibration_that_do_not_fit_together_are_refused(changes: dict[str, object], words: str) -> None:
    """A chain that was learned elsewhere may hold anything; whoever reads the newest calibration must not stumble."""
    said = json.loads(body_text(EACH["calibration"])) | changes

    with pytest.raises(BodyNotUnderstood, match=words):
        read_body("calibration", 1, json.dumps(said))


@pytest.mark.parametrize(
    ("covariance", "words"),
    [
        ((("4", "1"), ("2", "4")), "same both ways"),
        ((("4", "5"), ("5", "4")), "correlation beyond 1"),
        ((("1", "-0.9", "-0.9"), ("-0.9", "1", "-0.9"), ("-0.9", "-0.9", "1")), "below 0"),
    ],
)
def test_a_covariance_that_is_none_is_refused(covariance: tuple[tuple[str, ...], ...], words: str) -> None:
    count = len(covariance)
    said = json.loads(body_text(EACH["calibration"])) | {
        "kinds": [f"kind{number}" for number in range(count)],
        "means": ["1"] * count,
        "covariance": covariance,
        "scatter": ["1"] * count,
        "nominal_days": [7] * count,
    }

    with pytest.raises(BodyNotUnderstood, match=words):
        read_body("calibration", 1, json.dumps(said))


def test_a_calibration_of_volumes_rests_on_no_file() -> None:
    said = json.loads(body_text(EACH["calibration"]))
    said |= {"quantity": "volume", "scatter": (), "nominal_days": (), "grades": ()}

    assert read_body("calibration", 1, json.dumps(said)).KIND == "calibration"


def test_degrees_of_freedom_may_be_without_limit() -> None:
    said = json.loads(body_text(EACH["calibration"])) | {"degrees_of_freedom": "inf"}

    assert read_body("calibration", 1, json.dumps(said)).KIND == "calibration"
