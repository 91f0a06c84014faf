"""What a level changes, typed and read at the command line."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from tests.doors.conftest import Office


@pytest.fixture
def filling(office: Office) -> Office:
    """Twenty inserts of 1-HV in T-1, which nobody has read yet."""
    for _ in range(20):
        office.watch.wait(hours=1)
        office.did("swap", "1-HV", "--condition", "clogged")
    return office


def shown(office: Office) -> Any:
    return office.did("container", "show", "T-1", "--json").json()


def level_of(office: Office) -> Any:
    (found,) = [one for one in shown(office)["fullness"]["components"] if one["measure"] == "level"]
    return found


def test_container_show_before_and_after_a_level(filling: Office) -> None:
    before = level_of(filling)
    line = filling.did("container", "show", "T-1").said.splitlines()[1]
    percent, lower, upper = (f"{before[name] / 10:.0f} %" for name in ("permille", "lower_permille", "upper_permille"))
    assert before["basis"] == "estimate of what went in"
    assert before["lower_permille"] < before["permille"] < before["upper_permille"]
    assert f"{percent} full by level, estimate, between {lower} and {upper} (95 %)" in line

    filling.did("level", "T-1", "12%")

    after = level_of(filling)
    assert (after["permille"], after["basis"]) == (120, "level read")
    assert after != before
    line = filling.did("container", "show", "T-1").said.splitlines()[1]
    assert "12 % full by level; " in line
    assert "estimate" not in line
    assert shown(filling)["outlook"]["reason"] != ""


def test_what_a_level_taught_is_reckoned_with_from_then_on(filling: Office) -> None:
    untaught = level_of(filling)["permille"]
    filling.did("level", "T-1", f"{1.5 * untaught / 10:.1f}%")
    read = level_of(filling)["permille"]
    for _ in range(20):
        filling.watch.wait(hours=1)
        filling.did("swap", "1-HV", "--condition", "clogged")

    found = level_of(filling)

    assert found["basis"] == "level read earlier, and estimate of what went in since"
    # The same twenty again, at more than a millilitre for each, though not at one and a half after one reading alone.
    assert read + untaught < found["permille"] < read + 1.5 * untaught
    assert "learned from levels read here" in shown(filling)["outlook"]["reason"]


def test_the_level_says_what_was_expected_and_what_it_taught_and_warns_where_it_is_far_off(filling: Office) -> None:
    expected = level_of(filling)

    near = filling.did("level", "T-1", f"{expected['permille'] / 10 + 1:.1f}%").said
    assert f"  The estimate had said {expected['permille'] / 10:.0f} %, between " in near
    assert "  Learned: of what went in, 1 mL takes about 1." in near
    assert "; before, about 1.00 mL, between " in near
    assert "right container" not in near

    far = filling.did("level", "T-1", "70%").said
    assert "! The level reads 70 %; until then it lay between " in far
    assert "Was every swap recorded, and is it the right container?" in far


def test_a_level_typed_in_late_is_set_against_what_stood_at_its_time(filling: Office) -> None:
    then, at = level_of(filling)["permille"], filling.watch.now + timedelta(minutes=5)
    for _ in range(30):
        filling.watch.wait(hours=1)
        filling.did("swap", "1-HV", "--condition", "clogged")

    said = filling.did("level", "T-1", "20%", "--at", at.isoformat()).said

    assert f"The estimate had said {then / 10:.0f} %, between " in said


def test_a_level_far_above_the_line_is_asked_about_first(filling: Office) -> None:
    before = level_of(filling)

    refused = filling.run("level", "T-1", "180%", answers="n\n")
    assert refused.status == 3
    assert "180 % is far above the fill line. Did you mean 18 %? Write 180 % all the same?" in refused.complained
    assert filling.run("level", "T-1", "180%", answers="").status == 3
    assert level_of(filling) == before

    said = filling.did("level", "T-1", "180%", "--yes").said
    assert "nothing is learned from it. Was it 18 %?" in said
    assert "1 mL takes" not in said
    assert filling.did("level", "T-1", "120%", answers="").status == 0


def test_history_shows_the_calibration_of_volumes(filling: Office) -> None:
    filling.did("level", "T-1", "12%")

    rows = filling.did("history", "--kind", "calibration", "--json").json()["rows"]

    assert [row["body"]["quantity"] for row in rows] == ["volume"]
    assert filling.did("verify").status == 0
