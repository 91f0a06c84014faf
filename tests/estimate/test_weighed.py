from __future__ import annotations

import math
from datetime import date
from random import Random
from typing import Any

import pytest
from scipy import stats

from wasteledger.estimate.weighed import WeighingCheck, Weighings, compare_weighings, normal_equivalent

PREDICTED = {"predicted_mg": 400_000.0, "predicted_sd_mg": 80_000.0}


def a_check(weighed_mg: float, **changes: Any) -> WeighingCheck:
    fields: dict[str, Any] = {
        "container": "PAIL-1",
        "from_on": date(2026, 1, 5),
        "on": date(2026, 4, 6),
        "weighed_mg": weighed_mg,
        "weighed_sd_mg": 500.0,
        "degrees_of_freedom": 12.0,
        **PREDICTED,
    }
    return WeighingCheck(**{**fields, **changes})


def test_what_was_predicted_is_not_odd() -> None:
    found = compare_weighings([a_check(390_000.0)])

    assert not found.lines[0].is_odd
    assert abs(found.lines[0].z) < 0.2
    assert found.p > 0.5


@pytest.mark.parametrize(("weighed_mg", "sign"), [(1_500_000.0, 1), (60_000.0, -1), (-5_000.0, -1)])
def test_far_too_much_or_too_little_is_odd(weighed_mg: float, sign: int) -> None:
    (line,) = compare_weighings([a_check(weighed_mg)]).lines

    assert line.is_odd
    assert math.copysign(1, line.z) == sign


@pytest.mark.parametrize("degrees_of_freedom", [3, 5, 8, 20, 200])
@pytest.mark.parametrize("t", [-4.0, -2.0, 0.0, 1.0, 3.0])
def test_a_student_deviate_is_as_unlikely_as_its_normal_one(t: float, degrees_of_freedom: int) -> None:
    exact = stats.norm.ppf(stats.t.cdf(t, degrees_of_freedom))

    assert normal_equivalent(t, degrees_of_freedom) == pytest.approx(exact, abs=0.03)


@pytest.mark.parametrize(("t", "short_by"), [(6.0, 0.033), (12.0, 0.065)])
def test_far_out_the_normal_deviate_falls_a_little_short(t: float, short_by: float) -> None:
    for side in (-1, 1):
        exact = -side * stats.norm.ppf(stats.t.sf(t, 3))
        assert side * (exact - normal_equivalent(side * t, 3)) == pytest.approx(short_by, abs=0.001)
    tenth = -stats.norm.ppf(stats.t.sf(t, 10)) - normal_equivalent(t, 10)
    assert 0 < tenth < short_by


def test_without_limit_of_freedom_it_is_normal() -> None:
    assert normal_equivalent(2.5, math.inf) == 2.5


class TestMixedUp:
    more = a_check(800_000.0, seq=41)
    less = a_check(100_000.0, container="TUB-1", seq=42)

    def test_two_containers_that_part_in_opposite_ways(self) -> None:
        found = compare_weighings([self.more, self.less])

        assert [{line.check.container for line in pair} for pair in found.swapped] == [{"PAIL-1", "TUB-1"}]

    @pytest.mark.parametrize(
        "other",
        [
            a_check(720_000.0, container="TUB-1"),
            a_check(150_000.0),
            a_check(150_000.0, container="TUB-1", from_on=date(2026, 4, 6), on=date(2026, 6, 1)),
            a_check(350_000.0, container="TUB-1"),
            a_check(5_000.0, container="TUB-1", predicted_mg=4e6, predicted_sd_mg=4e5),
        ],
        ids=["same way", "same container", "other time", "only one odd", "other amount"],
    )
    def test_any_other_two_do_not(self, other: WeighingCheck) -> None:
        assert not compare_weighings([self.more, other]).swapped


def test_debris_that_is_heavier_than_believed_is_no_fault_of_the_record() -> None:
    """All means come from one belief, so all increments are off together; that is not counted as many oddities."""
    found = compare_weighings([a_check(640_000.0, on=date(2026, month, 6)) for month in range(2, 12)])

    assert found.lines[0].z > 2
    assert found.p > 0.9


def test_nothing_weighed_says_nothing() -> None:
    assert compare_weighings([]) == Weighings()
    assert compare_weighings([a_check(5.0, weighed_sd_mg=0.0, predicted_sd_mg=0.0)]).lines[0].z == 0


def test_where_counts_are_right_hardly_any_year_gives_a_finding() -> None:
    """Ten increments a year, log-normal about their predictions; one year in a thousand is meant to be odd."""
    random, odd = Random(8), 0
    spread = math.sqrt(math.log1p((80_000.0**2 + 500.0**2) / 400_000.0**2))
    for _ in range(1000):
        checks = [
            a_check(random.lognormvariate(math.log(400_000) - spread**2 / 2, spread), degrees_of_freedom=math.inf)
            for _ in range(10)
        ]
        found = compare_weighings(checks)
        odd += any(line.is_odd for line in found.lines) or found.p < 0.001

    assert odd <= 6
