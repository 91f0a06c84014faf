from __future__ import annotations

from datetime import date, timedelta
from random import Random

import pytest

from tests.estimate.practices import DAY, FIRST_ON, LAST_ON, WEEKLY, a_year
from wasteledger.estimate.gaps import TrapHistory
from wasteledger.estimate.rhythm import Rhythm, watch_rhythm

YEARS = 150


def weekdays(day: date) -> bool:
    return day.weekday() < 5


def every(days: int, *, trap: str = "1-HV", left_out: tuple[int, ...] = (), **changes: object) -> TrapHistory:
    """A trap swapped every *days* calendar days of 2025, without the swaps whose numbers are *left_out*."""
    first = date(2025, 1, 7)
    swaps = [first + timedelta(days=days * n) for n in range(364 // days) if n not in left_out]
    fields = {
        "trap": trap,
        "kind": "high_volume",
        "room": "room1",
        "swapped_on": tuple(day for day in swaps if day <= LAST_ON),
        "in_service_from": FIRST_ON,
        "to": LAST_ON,
        "interval_days": days,
    }
    return TrapHistory(**{**fields, **changes})  # type: ignore[arg-type]


def is_found(found: Rhythm) -> bool:
    return bool(found.long_gaps) or found.many is not None


def test_a_regular_year_gives_nothing() -> None:
    found = watch_rhythm([every(7)], weekdays)

    assert not is_found(found)
    assert found.usual_days == {"1-HV": 5.0}


def test_a_month_without_swaps_is_named_with_its_days() -> None:
    found = watch_rhythm([every(7, left_out=(20, 21, 22, 23)), every(7, trap="1-SE")], weekdays)

    (gap,) = found.long_gaps
    assert (gap.trap, gap.from_on, gap.to_on, gap.working_days, gap.missing) == (
        "1-HV",
        date(2025, 5, 20),
        date(2025, 6, 24),
        25,
        4,
    )
    assert not gap.is_open
    assert gap.chance < 0.002
    assert found.many is None


def test_looks_within_the_gap_go_with_it() -> None:
    inside, outside = (date(2025, 6, 4), date(2025, 6, 5)), (date(2025, 3, 4), date(2025, 3, 5))

    found = watch_rhythm([every(7, left_out=(20, 21, 22, 23), falls=(outside, inside))], weekdays)

    assert found.long_gaps[0].falls == (inside,)


def test_a_trap_that_is_swapped_no_more_has_an_open_gap() -> None:
    found = watch_rhythm([every(7, left_out=tuple(range(40, 60)))], weekdays)

    (gap,) = found.long_gaps
    assert (gap.is_open, gap.from_on, gap.to_on) == (True, date(2025, 10, 7), LAST_ON)


def test_one_missing_monthly_swap_is_seen_by_itself() -> None:
    found = watch_rhythm([every(28, trap="LINE", kind="line_filter", left_out=(6,))], weekdays)
    whole = watch_rhythm([every(28, trap="LINE", kind="line_filter")], weekdays)

    assert not is_found(whole)
    # One of twelve may be late by a month; it takes two to be sure.
    assert not is_found(found)
    assert (
        watch_rhythm([every(28, trap="LINE", kind="line_filter", left_out=(6, 7))], weekdays).long_gaps[0].missing == 2
    )


def test_a_tenth_missing_here_and_there_is_found_in_sum() -> None:
    traps = [every(7, trap=f"{chair}-HV", left_out=(5 + chair, 17 + chair, 26, 35 - chair)) for chair in range(1, 5)]

    found = watch_rhythm(traps, weekdays)

    assert found.many is not None
    assert found.many.long == 16
    assert found.many.missing == pytest.approx(16, abs=5)
    assert found.many.expected < 8
    assert not found.long_gaps


def test_known_closures_lengthen_nothing() -> None:
    closed = {date(2025, 7, 1) + DAY * n for n in range(30)}
    history = every(7)
    open_days = tuple(day for day in history.swapped_on if day not in closed)

    found = watch_rhythm([every(7, swapped_on=open_days)], lambda day: weekdays(day) and day not in closed)

    assert not is_found(found)


def test_gaps_before_the_period_teach_and_are_not_judged() -> None:
    history = every(7, left_out=(20, 21, 22, 23))

    assert watch_rhythm([history], weekdays, since=date(2025, 6, 23)).long_gaps
    later = watch_rhythm([history], weekdays, since=date(2025, 6, 24))
    assert not later.long_gaps
    assert later.usual_days == {"1-HV": 5.0}


def test_a_trap_without_a_swap_takes_the_nominal_interval() -> None:
    found = watch_rhythm([every(7, swapped_on=(), to=date(2025, 1, 20))], weekdays)

    assert found.usual_days["1-HV"] == pytest.approx(5, abs=0.5)
    assert not is_found(found)


def test_no_traps_give_nothing() -> None:
    assert watch_rhythm([], weekdays) == Rhythm({}, 0, (), None)


def test_the_order_of_traps_and_days_does_not_matter() -> None:
    year = a_year(Random(3))
    histories = year.losing(Random(4), 0.15)
    turned = [
        TrapHistory(
            one.trap,
            one.kind,
            one.room,
            tuple(reversed(one.swapped_on)),
            one.in_service_from,
            one.to,
            one.interval_days,
        )
        for one in reversed(histories)
    ]

    assert watch_rhythm(histories, year.works_on) == watch_rhythm(turned, year.works_on)


def test_a_round_left_out_by_all_is_no_proof_of_many() -> None:
    """One evening forgotten makes a long gap of every trap at once: one event, not twenty."""
    traps = [every(7, trap=f"{n}-HV", left_out=(12, 33)) for n in range(20)]

    assert watch_rhythm(traps, weekdays).many is None


class TestBySimulation:
    """Years of practices that swap weekly, up to a fifth of the swaps one to four days late.

    Limits leave room for what 150 years can tell; larger runs: 0.3 % false alarms, 93 % and 98 % found.
    """

    def test_with_every_swap_recorded_hardly_any_year_gives_a_finding(self) -> None:
        false = 0
        for seed in range(YEARS):
            year = a_year(Random(seed))
            false += is_found(watch_rhythm(year.histories(), year.works_on))

        assert false <= 3

    def test_with_a_tenth_unrecorded_most_years_give_one(self) -> None:
        found = 0
        for seed in range(YEARS):
            random = Random(seed)
            year = a_year(random)
            found += is_found(watch_rhythm(year.losing(random, 0.10), year.works_on))

        assert found >= 0.87 * YEARS

    def test_a_month_of_one_weekly_trap_is_named(self) -> None:
        named = 0
        for seed in range(YEARS):
            random = Random(seed)
            year = a_year(random)
            trap = random.choice([one for one, (_, interval, _) in year.swaps.items() if interval == WEEKLY])
            begin = date(2025, 2, 1) + DAY * random.randrange(270)
            end = begin + timedelta(days=30)
            histories = year.without(trap, begin, end)
            gaps = watch_rhythm(histories, year.works_on).long_gaps
            named += any(gap.trap == trap and gap.from_on < end and gap.to_on >= begin for gap in gaps)

        assert named >= 0.95 * YEARS
