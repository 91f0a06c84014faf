from __future__ import annotations

import math
import tomllib
from typing import Any

import numpy as np
import pytest

from wasteledger.estimate.capture import (
    CAPTURE,
    BadCapture,
    CaptureFigures,
    Stage,
    catch_logs,
    catch_third,
    entering_suction,
    expected_catch,
    read_capture,
    stage_of,
)
from wasteledger.estimate.prior import SEPARATOR_UNIT
from wasteledger.estimate.procedures import Restorations, Uncertain
from wasteledger.model.traps import TrapKind
from wasteledger.resources import find

SHIPPED = read_capture(find(CAPTURE).read_bytes())
ALL = tuple(Stage)
DRAWS = 400_000


def shipped_table() -> dict[str, Any]:
    return tomllib.loads(find(CAPTURE).read_text("utf-8"))


def caught_by_drawing(entering: Uncertain, stages: tuple[Stage, ...], figures: CaptureFigures) -> Any:
    rng = np.random.default_rng(11)
    spread = math.sqrt(math.log1p((entering.sd_mg / entering.mean_mg) ** 2))
    reaching = rng.lognormal(math.log(entering.mean_mg) - spread**2 / 2, spread, DRAWS)
    rows = []
    for stage in stages:
        share = rng.beta(*figures.stages[stage].shapes, DRAWS)
        rows.append(reaching * share)
        reaching = reaching * (1 - share)
    return np.array([*rows, reaching])


def test_every_kind_has_a_stage() -> None:
    assert {stage_of(kind) for kind in (*TrapKind, SEPARATOR_UNIT)} == set(Stage)
    assert all(stage.words for stage in Stage)
    with pytest.raises(BadCapture, match="bucket"):
        stage_of("bucket")


@pytest.mark.parametrize("stages", [ALL, (Stage.CHAIRSIDE, Stage.SEPARATOR), (Stage.PUMP,)])
def test_exact_moments_are_those_of_a_simulation(stages: tuple[Stage, ...]) -> None:
    entering = Uncertain(300_000, 30_000)
    found = expected_catch(entering, stages, SHIPPED)
    drawn = caught_by_drawing(entering, stages, SHIPPED)

    assert found.stages == stages
    assert sum(found.means_mg) == pytest.approx(entering.mean_mg)  # nothing gets lost between stages
    assert found.means_mg == pytest.approx(drawn.mean(axis=1), rel=0.01)
    covariance = np.cov(drawn)
    largest = np.sqrt(np.outer(np.diag(covariance), np.diag(covariance)))
    assert np.array(found.covariance_mg2) / largest == pytest.approx(covariance / largest, abs=0.02)


def test_all_that_is_uncertain_about_the_whole_lies_in_its_parts() -> None:
    """The parts add to what entered, so their covariance adds to its variance."""
    found = expected_catch(Uncertain(300_000, 30_000), ALL, SHIPPED)

    assert sum(cell for row in found.covariance_mg2 for cell in row) == pytest.approx(30_000**2)


def test_moments_of_the_logarithms_are_those_of_a_simulation() -> None:
    means, covariance = catch_logs(ALL, SHIPPED)
    drawn = np.log(caught_by_drawing(Uncertain(1.0, 1e-9), ALL, SHIPPED))

    assert means == pytest.approx(drawn.mean(axis=1), abs=0.01)
    assert np.array(covariance) == pytest.approx(np.cov(drawn), abs=0.02)
    for place in range(4):
        third = np.mean((drawn[place] - drawn[place].mean()) ** 3)
        assert catch_third(ALL, place, SHIPPED) == pytest.approx(third, rel=0.1)


def test_the_line_goes_from_the_chair_to_the_sewer_whatever_the_order() -> None:
    entering = Uncertain(1000, 0)

    assert expected_catch(entering, ALL[::-1], SHIPPED) == expected_catch(entering, ALL, SHIPPED)
    assert expected_catch(entering, (), SHIPPED).means_mg == (1000,)


class TestEntering:
    def test_what_is_removed_goes_in_nearly_whole(self) -> None:
        found = entering_suction(Restorations(two=100), Restorations(), SHIPPED)

        assert found.mean_mg == pytest.approx(0.95 * 49_000)
        # Common error of the mean, scatter, and the share: exact for a product of independent quantities.
        mass_variance = (100 * 20.408) ** 2 + 100 * 171.5**2
        assert found.sd_mg == pytest.approx(
            math.sqrt(0.95**2 * mass_variance + 0.05**2 * (49_000**2 + mass_variance)), rel=1e-12
        )

    def test_of_what_is_placed_only_what_is_carved_off(self) -> None:
        found = entering_suction(Restorations(), Restorations(two=100), SHIPPED)

        assert found.mean_mg == pytest.approx(49_000 / 0.46 * 0.11)
        assert found.sd_mg / found.mean_mg == pytest.approx(0.375, abs=0.005)  # 4 of 11, most of all

    def test_both_share_the_error_of_the_mean_masses(self) -> None:
        one, other = Restorations(two=1000), Restorations(two=1000)
        both = entering_suction(one, other, SHIPPED)
        apart = math.hypot(
            entering_suction(one, Restorations(), SHIPPED).sd_mg, entering_suction(Restorations(), other, SHIPPED).sd_mg
        )

        assert both.sd_mg > apart

    def test_no_work_sends_nothing(self) -> None:
        assert entering_suction(Restorations(), Restorations(), SHIPPED) == Uncertain(0, 0)


class TestReading:
    def test_every_figure_says_what_it_rests_on(self) -> None:
        shares = [*SHIPPED.stages.values(), SHIPPED.removed_to_suction, SHIPPED.placed_in_tooth]
        assert all(share.basis for share in (*shares, SHIPPED.placed_to_suction))
        assert all(mass.basis for mass in SHIPPED.masses)

    def test_text_bytes_and_table_read_alike(self) -> None:
        text = find(CAPTURE).read_text("utf-8")

        assert read_capture(text) == read_capture(text.encode()) == read_capture(shipped_table()) == SHIPPED

    def test_all_faults_come_at_once_with_their_keys(self) -> None:
        table = shipped_table()
        table["format"] = 2
        table["capture"]["pump"]["mean"] = 1.2
        table["capture"]["line_filter"]["sd"] = 0.49
        del table["capture"]["separator"]["basis"]
        table["restoration"]["one"]["mean_mg"] = "0.31 g"
        table["fate"]["spilled"] = {}

        with pytest.raises(BadCapture) as refused:
            read_capture(table, name="ours.toml")

        named = "\n".join(refused.value.faults)
        assert len(refused.value.faults) == 6
        for part in (
            "format: 2",
            "capture.pump.mean",
            "capture.line_filter.sd",
            "capture.separator.basis",
            "restoration.one.mean_mg",
            "fate.spilled",
        ):
            assert part in named
        assert "ours.toml: 6 faults" in str(refused.value)

    @pytest.mark.parametrize("source", ["= 3", b"\xff\xfe", ""])
    def test_no_such_file(self, source: str | bytes) -> None:
        with pytest.raises(BadCapture):
            read_capture(source)
