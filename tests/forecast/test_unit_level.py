"""When a retaining unit is full by the levels read: against matrices, against simulation, and at its edges."""

from __future__ import annotations

import math
import random
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wasteledger.forecast import unit_level
from wasteledger.forecast.unit_level import (
    FULL_PERMILLE,
    HORIZON_DAYS,
    BadLevels,
    LevelRead,
    UnitForecast,
    days_of,
    unit_forecast,
)
from wasteledger.forecast.working_time import WorkingTime

THURSDAY = date(2026, 1, 15)


def foreseen(*levels: tuple[int, int]) -> UnitForecast:
    """The forecast from levels by working day; there must be one."""
    found = unit_forecast([LevelRead(*one) for one in levels])
    assert found is not None
    return found


def test_a_level_that_rises_on_a_line_is_full_where_the_line_is() -> None:
    """Half full after 104 working days, so as likely as not full after 208."""
    found = foreseen((26, 125), (52, 250), (78, 375), (104, 500))

    assert found.per_day == pytest.approx(500 / 104)
    assert found.day_of(0.5) == 208
    assert found.chance_by(208) == pytest.approx(0.5)
    early, late = found.day_of(0.1), found.day_of(0.9)
    assert early is not None
    assert late is not None
    assert 104 < early < 208 < late


def test_days_are_counted_from_the_exchange_and_days_off_do_not_fill() -> None:
    worked = WorkingTime(THURSDAY, lambda day: day.weekday() < 5)
    found = foreseen((10, 100))

    assert days_of(found, worked.nth_working_day, [0.5]) == (THURSDAY + timedelta(weeks=20),)


def test_nothing_is_known_beyond_ten_years() -> None:
    found = foreseen((250, 1))

    assert found.day_of(0.5) is None
    assert days_of(found, WorkingTime(THURSDAY, lambda day: True).nth_working_day, [0.5]) == (None,)
    assert found.chance_by(250 + HORIZON_DAYS) < 0.5


@pytest.mark.parametrize("levels", [[], [(0, 0)], [(0, 100)], [(20, 0)], [(20, 300), (40, 0)], [(30, 1000)]])
def test_where_nothing_says_that_it_fills_there_is_no_forecast(levels: list[tuple[int, int]]) -> None:
    """Nor where it is full: that was read, and is no forecast."""
    assert unit_forecast([LevelRead(*one) for one in levels]) is None


@pytest.mark.parametrize("levels", [[(-1, 0)], [(3, -1)], [(30, 200), (20, 300)]])
def test_levels_out_of_order_are_refused(levels: list[tuple[int, int]]) -> None:
    with pytest.raises(BadLevels) as refused:
        unit_forecast([LevelRead(*one) for one in levels])

    assert refused.value.hint


@pytest.mark.parametrize("sd", [0.0, -1.0, math.inf, math.nan])
def test_no_level_is_read_without_uncertainty(sd: float) -> None:
    with pytest.raises(BadLevels):
        unit_forecast([LevelRead(10, 100)], reading_sd_permille=sd)


def test_two_levels_of_one_day_count_as_two_readings() -> None:
    once, twice = foreseen((40, 400)), foreseen((40, 420), (40, 380))

    assert twice.level == pytest.approx(once.level)
    assert twice.per_day_sd < once.per_day_sd


def test_a_level_well_above_the_line_makes_it_full_sooner_and_the_days_more_uneven() -> None:
    even = foreseen((20, 100), (40, 200), (60, 300))
    jumped = foreseen((20, 100), (40, 200), (60, 500))

    assert (jumped.day_of(0.5) or 0) < (even.day_of(0.5) or 0)
    assert jumped.uneven > even.uneven


@st.composite
def risings(draw: st.DrawFn) -> list[tuple[int, int]]:
    """Up to ten levels on rising days, below the mark, the last above 0."""
    days = sorted(draw(st.lists(st.integers(1, 400), min_size=1, max_size=10, unique=True)))
    levels = [draw(st.integers(0, FULL_PERMILLE - 1)) for _ in days]
    levels[-1] = max(1, levels[-1])
    return [*zip(days, levels, strict=True)]


@given(risings())
def test_generalised_least_squares_by_matrices_gives_the_same(levels: list[tuple[int, int]]) -> None:
    """The same rise, its uncertainty, and the level on the last day, from the whole covariance matrix at once.

    Rise and variance: A. C. Aitken, Proceedings of the Royal Society of Edinburgh 55 (1935) 42-48. Prediction of W:
    A. S. Goldberger, Journal of the American Statistical Association 57 (1962) 369-375.
    """
    found = unit_forecast([LevelRead(*one) for one in levels])
    days, read = (np.array(column, dtype=float) for column in zip(*levels, strict=True))
    rise = read[-1] / days[-1]
    uneven = unit_level._unevenness([LevelRead(*one) for one in levels], rise, 900.0)
    gathered = uneven * np.minimum.outer(days, days)
    inverse = np.linalg.inv(gathered + 900.0 * np.eye(len(days)))
    variance = 1 / (days @ inverse @ days)
    slope = variance * (days @ inverse @ read)
    gathered_on_last = gathered[-1] @ inverse
    if found is None:
        assert slope <= 1e-9
        return
    assert found.per_day == pytest.approx(slope, rel=1e-6, abs=1e-9)
    assert found.per_day_sd == pytest.approx(math.sqrt(variance), rel=1e-6)
    level = slope * days[-1] + gathered_on_last @ (read - slope * days)
    assert found.level == pytest.approx(level, rel=1e-6, abs=1e-6)
    # Variance of the level 30 days on: that of W given the rise, and the rise's own.
    reach = days[-1] + 30 - gathered_on_last @ days
    spread = gathered[-1, -1] - gathered_on_last @ gathered[-1] + 30 * uneven + variance * reach**2
    z = (level + 30 * slope - FULL_PERMILLE) / math.sqrt(spread)
    chance = found.chance_by(int(days[-1]) + 30)
    assert chance == pytest.approx((1 + math.erf(z / math.sqrt(2))) / 2, abs=1e-6)


@given(risings(), st.integers(0, 800), st.integers(0, 800))
def test_the_chance_never_falls_while_the_level_is_below_the_mark(
    levels: list[tuple[int, int]], one: int, other: int
) -> None:
    found = unit_forecast([LevelRead(*level) for level in levels])
    if found is None or found.level >= FULL_PERMILLE:
        return
    early, late = sorted((one, other))
    assert 0 <= found.chance_by(early) <= found.chance_by(late) + 1e-12


def test_a_line_through_the_origin_as_nist_certifies_it() -> None:
    """NIST Statistical Reference Datasets, Linear Regression, NoInt1: y = 2.07438016528926 x, its standard deviation
    0.0165289256198347, the residual one 3.56753034006338 (read November 2026, data 60 to 70 against 130 to 140).

    Without unevenness of the days, and readings as uncertain as the residuals, the rise is that line's.
    """
    levels = [LevelRead(60 + step, 130 + step) for step in range(11)]

    found = unit_level._filtered(levels, 0.0, 3.56753034006338**2)

    assert found.per_day == pytest.approx(2.07438016528926, rel=1e-14)
    assert found.per_day_sd == pytest.approx(0.0165289256198347, rel=1e-12)


@pytest.mark.parametrize(
    ("share_of_days", "least", "most"),
    [(0.55, 0.75, 0.87), (0.25, 0.62, 0.87)],
    ids=["as uneven as judged", "nearly twice as uneven"],
)
def test_about_eight_of_ten_simulated_units_are_full_between_the_ends_of_the_forecast(
    share_of_days: float, least: float, most: float
) -> None:
    """Units fed by days that bring nothing or a lump, foretold from four monthly levels, 10 % to 90 %.

    Where days are more uneven than judged, four levels tell only part of it, and the forecast is somewhat too narrow.
    """
    draw = random.Random(20261125)
    inside = counted = 0
    for _ in range(600):
        lump = max(1.0, draw.gauss(5.0, 1.5)) / share_of_days
        level, full_on = 0.0, 0
        levels: list[LevelRead] = []
        while not full_on:
            month_from = levels[-1].day if levels else 0
            for day in range(month_from + 1, month_from + 22):
                level += draw.expovariate(1 / lump) if draw.random() < share_of_days else 0.0
                full_on = full_on or (day if level >= FULL_PERMILLE else 0)
            levels.append(LevelRead(month_from + 21, max(0, min(999, round(draw.gauss(level, 30))))))
        if len(levels) < 5:
            continue
        found = unit_forecast(levels[:4])
        assert found is not None
        early, late = found.day_of(0.1), found.day_of(0.9)
        counted += 1
        inside += early is not None and early <= full_on and (late is None or full_on <= late)

    assert counted > 500
    assert least < inside / counted < most
