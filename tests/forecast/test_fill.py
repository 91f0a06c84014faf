"""The outlook of a container: what moves its dates, what it says, and its edges."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from tests.forecast.makers import FRIDAY, WEEKDAYS, a_prior, a_rate, foreseen, traps
from wasteledger.estimate.containers import UnknownKind
from wasteledger.forecast.fill import BadForecast, Gauge, Inflow, Outlook, earliest
from wasteledger.forecast.rates import learn_rate
from wasteledger.forecast.working_time import WorkingTime

POT = Gauge("mass", 200_000.0, known=20_000.0, exposures=(10.0, 0.0), prior=a_prior(), is_learned=True)


def days_between(found: Outlook) -> int:
    """Working days from the 10 % day to the 90 % day."""
    assert found.p10_on is not None
    assert found.p90_on is not None
    return WEEKDAYS.working_days_until(found.p90_on) - WEEKDAYS.working_days_until(found.p10_on)


def middle(found: Outlook) -> int:
    """Working days to the 50 % day."""
    assert found.p50_on is not None
    return WEEKDAYS.working_days_until(found.p50_on)


def test_what_is_left_over_what_comes_is_the_middle() -> None:
    """150 g left (200 less 20 weighed, less 10 swaps of 3 g) at 1.8 g a working day: about 83 working days."""
    found = foreseen(POT, [traps()])

    assert middle(found) == pytest.approx(83, abs=4)
    assert found.measure == "mass"
    assert found.learned


def test_each_day_is_the_first_on_which_its_chance_is_reached() -> None:
    found = foreseen(POT, [traps()])

    for share, on in ((0.1, found.p10_on), (0.5, found.p50_on), (0.9, found.p90_on)):
        assert on is not None
        assert on.weekday() < 5
        before = WEEKDAYS.nth_working_day(WEEKDAYS.working_days_until(on) - 1)
        assert found.chance_by(before) < share <= found.chance_by(on)


def test_the_chance_grows_from_working_day_to_working_day_and_rests_on_sunday() -> None:
    found = foreseen(POT, [traps()])
    chances = [found.chance_by(FRIDAY + timedelta(days=ahead)) for ahead in range(-3, 400)]

    assert chances == sorted(chances)
    assert chances[0] == 0
    assert chances[-1] > 0.99
    saturday = date(2026, 7, 4)
    assert found.chance_by(saturday) == found.chance_by(saturday - timedelta(days=1))


def test_nothing_happens_while_the_practice_is_closed() -> None:
    closed = WorkingTime(FRIDAY, lambda day: day.weekday() < 5 and not date(2026, 3, 9) <= day < date(2026, 4, 6))

    open_all, with_holiday = foreseen(POT, [traps()]), foreseen(POT, [traps()], closed)

    assert open_all.p50_on is not None
    assert with_holiday.p50_on == open_all.p50_on + timedelta(weeks=4)


def test_a_gauge_that_knows_its_coefficients_less_well_is_wider() -> None:
    sure, unsure = (foreseen(replace(POT, prior=a_prior(shared_cv=cv)), [traps()]) for cv in (0.05, 0.5))

    assert days_between(unsure) > 1.5 * days_between(sure)


def test_few_degrees_of_freedom_are_wider() -> None:
    many, few = (
        foreseen(replace(POT, prior=a_prior(shared_cv=0.4, degrees_of_freedom=n)), [traps()]) for n in (200, 2)
    )

    assert days_between(few) > 1.1 * days_between(many)


def test_uneven_counts_are_wider() -> None:
    even, uneven = (foreseen(POT, [Inflow("high_volume", a_rate(dispersion=d))]) for d in (0.05, 3.0))

    assert days_between(uneven) > 1.2 * days_between(even)


def test_a_rate_that_few_swaps_stand_behind_is_wider() -> None:
    many, few = (foreseen(POT, [Inflow("high_volume", a_rate(swaps=count))]) for count in (200, 2))

    assert days_between(few) > 1.5 * days_between(many)


def test_what_stands_shares_its_error_with_what_comes() -> None:
    """80 g of debris stand and 100 g more would fill it: wrong by one factor, the two are wrong by it together.

    Had each an error of its own, the sum would be surer than it is.
    """
    shared = Gauge("mass", 180_000.0, exposures=(80_000 / 3000, 0.0), prior=a_prior(shared_cv=0.4, cv=0.01))
    known = replace(shared, known=80_000.0, exposures=())
    own = replace(known, known_sd=0.4 * 80_000)

    widths = [days_between(foreseen(gauge, [traps()])) for gauge in (known, own, shared)]

    assert widths == sorted(widths)
    assert widths[2] > 1.15 * widths[1]


def test_a_shared_factor_alone_gives_the_log_normal_quantiles() -> None:
    """Closed form: nothing stands in it, nothing scatters, so the time is a constant over a log-normal factor."""
    gauge = Gauge("mass", 180_000.0, prior=a_prior(shared_cv=0.5, cv=1e-6))
    found = foreseen(gauge, [Inflow("high_volume", a_rate(swaps=1e9, dispersion=0.0))])

    sigma = math.sqrt(math.log1p(0.25))
    steady = 100.0 * math.exp(sigma**2 / 2)  # 180 g at 3 g times 0.6 a day, over the median factor
    for on, deviate in ((found.p10_on, -1.28155), (found.p50_on, 0.0), (found.p90_on, 1.28155)):
        assert on is not None
        assert WEEKDAYS.working_days_until(on) == pytest.approx(steady * math.exp(sigma * deviate), rel=0.02, abs=1)


def test_bodies_of_known_mass_fill_it_sooner() -> None:
    assert middle(foreseen(POT, [traps(body_mean=5000.0)])) < 0.5 * middle(foreseen(POT, [traps()]))


def test_bodies_alone_need_no_prior() -> None:
    found = foreseen(Gauge("level", 600.0), [Inflow("stream:scrap", a_rate(0.2), 0.0, body_mean=12.0, body_sd=4.0)])

    assert middle(found) == pytest.approx(250, rel=0.06)


def test_kinds_held_at_nothing_are_taken_by_their_uncertainty() -> None:
    prior = a_prior()
    held = replace(prior, means_mg=(0.0, 15_000.0))

    assert middle(foreseen(replace(POT, prior=held), [traps()])) > middle(foreseen(POT, [traps()]))


def test_a_container_that_is_full_says_so() -> None:
    found = foreseen(replace(POT, known=230_000.0), [traps()])

    assert (found.p10_on, found.p50_on, found.p90_on) == (FRIDAY, FRIDAY, FRIDAY)
    assert found.chance_by(FRIDAY) == 1
    assert "probably reached its limit" in found.reason


def test_a_container_that_nothing_goes_into_is_never_full() -> None:
    found = foreseen(POT, [])

    assert (found.p10_on, found.p50_on, found.p90_on) == (None, None, None)
    assert found.chance_by(date(2050, 1, 1)) == 0
    assert found.reason == "Nothing goes in, as far as the journal shows."


def test_more_than_ten_years_is_no_date() -> None:
    found = foreseen(replace(POT, limit=4_000_000.0), [traps()])

    assert found.p50_on is not None
    assert found.p90_on is None
    # No day beyond ten years adds to the chance.
    assert found.chance_by(date(2070, 1, 1)) == found.chance_by(date(2036, 3, 7))


def test_before_the_first_swap_it_says_so_with_its_width() -> None:
    unseen = learn_rate([], [], FRIDAY, 0.6)
    found = foreseen(replace(POT, prior=a_prior(shared_cv=1.0), is_learned=False), [Inflow("high_volume", unseen)])

    assert not found.learned
    assert found.reason.startswith("About ")
    assert "80 %" in found.reason
    assert "No swap was seen yet" in found.reason
    assert "published starting value" in found.reason
    assert days_between(found) > 2 * days_between(foreseen(POT, [traps()]))


def test_seen_swaps_and_weighings_are_named() -> None:
    found = foreseen(POT, [traps(), Inflow("line_filter", learn_rate([], [], FRIDAY, 0.04))])

    assert "From 60 swaps or deposits in 100 working days; for kinds not seen yet" in found.reason
    assert "learned from weighings here" in found.reason
    assert not found.learned


def test_pieces_are_counted() -> None:
    """40 pieces at one every second day, strictly: 80 working days."""
    rate = a_rate(0.5, swaps=1e6, dispersion=0.05)
    found = foreseen(Gauge("pieces", 100.0, 60.0), [Inflow("x", rate)])

    assert middle(found) == pytest.approx(80, abs=2)
    assert "pieces" in found.reason


@pytest.mark.parametrize("dispersion", [0.3, 1.0, 2.5])
def test_counting_and_first_passage_agree_where_they_meet(dispersion: float) -> None:
    """With room for 400 pieces both ways are used, one on each side."""
    inflow = Inflow("x", a_rate(2.0, dispersion=dispersion), pieces=((1, 0.5), (2, 0.3), (7, 0.2)))
    counted, passed = (foreseen(Gauge("pieces", room), [inflow]) for room in (400.0, 401.0))

    assert middle(passed) == pytest.approx(middle(counted), rel=0.02)
    assert days_between(passed) == pytest.approx(days_between(counted), rel=0.1)


def test_the_earliest_measure_governs_and_no_chance_is_lost() -> None:
    mass, level = (
        foreseen(POT, [traps()]),
        foreseen(Gauge("level", 900.0), [Inflow("v", a_rate(), 0.0, body_mean=12.0)]),
    )

    both = earliest([level, mass])

    assert both is not None
    assert both.measure == "mass"
    assert (both.p50_on, both.reason) == (mass.p50_on, mass.reason)
    for on in (date(2026, 5, 1), date(2026, 7, 10), date(2026, 9, 1)):
        assert both.chance_by(on) == max(mass.chance_by(on), level.chance_by(on))
    assert earliest([]) is None


def test_a_measure_without_a_date_does_not_hide_one_with_a_date() -> None:
    found = earliest([foreseen(POT, []), foreseen(POT, [traps()])])

    assert found is not None
    assert found.p50_on is not None


def test_a_kind_that_the_prior_has_not_is_refused() -> None:
    with pytest.raises(UnknownKind, match="pump"):
        foreseen(POT, [Inflow("pump", a_rate())])


@pytest.mark.parametrize("wrong", [{"limit": 0.0}, {"known": -1.0}, {"known_sd": math.nan}, {"exposures": (1.0,)}])
def test_gauges_that_cannot_be_are_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(BadForecast):
        replace(POT, **wrong)


@pytest.mark.parametrize("wrong", [{"exposure_mean": -1.0}, {"body_sd": math.inf}, {"pieces": ((1, 0.5),)}])
def test_inflows_that_cannot_be_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(BadForecast):
        traps(**wrong)
