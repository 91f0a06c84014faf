"""Estimate, forecast and second opinion held against practices whose truth is known (demo/trials).

The full tables, and the goals themselves, come from ``python3 demo/coverage.py``; here a smaller number of practices
must agree with those goals as far as chance allows: a share lies outside these bounds once in a thousand runs at most
if the goal holds, by the binomial distribution (SciPy).
"""

from __future__ import annotations

import pytest
from scipy import stats

from demo.trials.standing import SCENARIOS
from demo.trials.standing_table import METHODS, ORACLE, OURS
from demo.trials.table import BY_HAND, Goal, Simulated, lines, simulate

PRACTICES = 80
SEED = 11


@pytest.fixture(scope="module")
def found() -> Simulated:
    return simulate(PRACTICES, SEED, standing_times=1)


def bounds(low: float, high: float) -> tuple[float, float]:
    """Between which the share of so many practices lies, were the true share anywhere from *low* to *high*."""
    return (
        float(stats.binom.ppf(0.0005, PRACTICES, low)) / PRACTICES,
        float(stats.binom.ppf(0.9995, PRACTICES, high)) / PRACTICES,
    )


@pytest.mark.parametrize("scenario", list(SCENARIOS))
def test_the_interval_of_the_standing_mass_holds_the_truth(found: Simulated, scenario: str) -> None:
    low, high = bounds(0.92, 0.98)

    assert low <= found.standing[scenario][3].covered <= high


@pytest.mark.parametrize("scenario", list(SCENARIOS))
def test_the_day_on_which_it_is_full_lies_within_the_forecast(found: Simulated, scenario: str) -> None:
    low, high = bounds(0.72, 0.88)

    assert low <= found.filling[scenario, 3] <= high


@pytest.mark.parametrize("scenario", list(SCENARIOS))
@pytest.mark.parametrize("pickups", [3, 6])
def test_the_estimate_is_nearer_than_what_an_office_reckons(found: Simulated, scenario: str, pickups: int) -> None:
    column = found.standing[scenario][pickups]

    assert column.ninetieth(OURS) < min(column.ninetieth(method) for method in (*BY_HAND, METHODS[-1]))
    assert column.middle(OURS) < 1.1 * min(column.middle(method) for method in (*BY_HAND, METHODS[-1]))
    # Not far from what the true means would give; nothing can do better than these on average.
    assert column.middle(OURS) < 1.5 * column.middle(ORACLE)


def test_the_second_opinion_is_quiet_where_nothing_is_wrong_and_speaks_where_swaps_are_missing(
    found: Simulated,
) -> None:
    assert found.findings["none"] <= bounds(0.0, 0.02)[1]
    assert found.findings["tenth"] > 0.5
    assert found.findings["month"] > 0.5


def test_a_goal_that_is_missed_is_said(found: Simulated) -> None:
    assert not Goal("anything", 0.0, 1.0, 1.5).is_met
    table = list(lines(found))
    missed = [goal for goal in found.goals() if not goal.is_met]

    assert [line for line in table if "asked for" in line] == [
        f"  {goal.name}: {goal.came:.3f}, asked for {goal.low:.2f} to {goal.high:.2f}" for goal in missed
    ]
