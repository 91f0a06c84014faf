"""The month whose swaps nobody wrote down: truly made, kept by the truth alone, and named by the second opinion."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache
from random import Random

import pytest

from demo import play
from demo.hidden import choose_hidden, period_with, period_without
from demo.parts import END_ON, MAIN, Hidden, Truth, Watch, first_day
from demo.practice import Years
from demo.show import LAST_EVENING
from wasteledger.ledger.reader import Filter
from wasteledger.model.entries import Swap
from wasteledger.model.register import TrapDetails
from wasteledger.office.balance import balance
from wasteledger.office.received import comparisons_of
from wasteledger.office.setup import read_plan_file
from wasteledger.office.workplace import Workplace

SEEDS = (1, 2, 3, 4)
YEARS = 1.25


@dataclass(frozen=True, slots=True)
class PlayedYears:
    place: Workplace
    hidden: Hidden
    truth: Truth

    @property
    def swapped_on(self) -> list[date]:
        return [date.fromisoformat(day) for day in self.hidden.swapped_on]

    @property
    def began_on(self) -> date:
        return date.fromisoformat(self.truth.began_on["linden"])


@pytest.fixture(scope="module", params=SEEDS)
def years(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[PlayedYears]:
    """A practice of another seed, played long enough for a hidden month with swaps before it and after."""
    ledger, seed = str(tmp_path_factory.mktemp("hidden") / "linden.db"), int(request.param)
    truth, watch = Truth(), Watch(datetime(2020, 1, 1, tzinfo=UTC))
    plan = read_plan_file(play.HERE / "plan.toml")
    Years(ledger, plan, MAIN, watch, Random(seed), Random(f"aside {seed}"), truth).play(first_day(YEARS))
    with Workplace.open(ledger, "linden", clock=lambda: LAST_EVENING) as place:
        yield PlayedYears(place, truth.hidden[0], truth)


def test_the_second_opinion_names_the_trap_and_days_that_hold_all_hidden_swaps(years: PlayedYears) -> None:
    since, until = period_with(years.hidden, years.began_on)

    found = balance(years.place, since=since, until=until)

    [gap] = found.balance.rhythm.long_gaps
    assert gap.trap == years.hidden.trap
    assert gap.from_on < years.swapped_on[0]
    assert years.swapped_on[-1] < gap.to_on
    # It names the month, and not the whole year with it.
    assert (gap.to_on - gap.from_on).days < 60
    assert found.wants_attention
    assert any(f"no swap of trap {years.hidden.trap} " in one.says for one in found.findings)


def test_nothing_is_found_where_nothing_is_hidden(years: PlayedYears) -> None:
    since, until = period_without(years.hidden)

    found = balance(years.place, since=since, until=until)

    assert until == END_ON
    assert (until - since).days > 60
    assert found.balance.rhythm.gaps > 50
    assert not found.wants_attention


def test_no_entry_knows_of_the_hidden_swaps_and_the_container_holds_them_all_the_same(years: PlayedYears) -> None:
    with years.place.reading() as reader:
        recorded = [
            (entry.body.trap, entry.happened_at.astimezone(years.place.zone).date())
            for entry in reader.entries(Filter(kinds=("swap",)))
            if isinstance(entry.body, Swap)
        ]
        about = [on for trap, on in recorded if trap == years.hidden.trap]
        held = sum(one.contents_mg for one in years.truth.containers["linden"].values())

    assert len(years.swapped_on) >= 3
    assert {f"{on:%Y-%m}" for on in years.swapped_on} == {years.hidden.month}
    assert not any(f"{on:%Y-%m}" == years.hidden.month for on in about)
    assert {on for on in about if on < years.swapped_on[0]}
    assert {on for on in about if on > years.swapped_on[-1]}
    assert 0 < years.hidden.mass_mg < held


def test_days_in_service_are_counted_from_the_swap_that_was_written_down(years: PlayedYears) -> None:
    with years.place.reading() as reader:
        swaps = [
            (entry.happened_at.astimezone(years.place.zone).date(), entry.body.days_in_service)
            for entry in reader.entries(Filter(kinds=("swap",), by_recorded=True))
            if isinstance(entry.body, Swap) and entry.body.trap == years.hidden.trap
        ]

    before = max(on for on, _ in swaps if on < years.swapped_on[0])
    after, days = next((on, days) for on, days in swaps if on > years.swapped_on[-1])
    assert days == (after - before).days


def test_a_receipt_with_two_lines_exchanged_disagrees_and_is_explained(years: PlayedYears) -> None:
    with years.place.reading() as reader:
        compared = comparisons_of(reader, "P-2025-10")
    beyond = [one for one in compared if one.is_beyond]

    assert {(one.container or "").partition("-")[0] for one in beyond} == {"PAIL", "TUB"}
    assert all(one.explained_seq and not one.is_open for one in beyond)
    assert "are exchanged on their paper" in beyond[0].explained
    assert len(compared) > len(beyond)


# -- which month -----------------------------------------------------------------------------------------------------


@cache
def working_days(years: float) -> list[date]:
    start = first_day(years)
    days = [start + timedelta(days=n) for n in range((END_ON - start).days + 1)]
    return [day for day in days if day.weekday() in MAIN.clinic.week]


@cache
def traps() -> dict[str, TrapDetails]:
    plan = read_plan_file(play.HERE / "plan.toml")
    return {line.ref: line.details for line in plan.lines if isinstance(line.details, TrapDetails)}


@pytest.mark.parametrize("years", [1.0, 3.0, 10.0])
def test_the_month_lies_deep_in_the_history_and_the_trap_is_changed_weekly(years: float) -> None:
    days = working_days(years)
    for seed in range(200):
        hidden = choose_hidden(Random(seed), "linden", traps(), days)

        assert hidden is not None
        first_on = date.fromisoformat(f"{hidden.month}-01")
        assert days[0] + timedelta(days=60) <= first_on <= END_ON - timedelta(days=92)
        assert hidden.trap in {f"{room}-{short}" for room in (1, 2, 3, 4) for short in ("SE", "HV")}
        since, until = period_with(hidden, days[0])
        assert days[0] <= since <= first_on < until <= END_ON
        assert period_without(hidden)[0] > first_on + timedelta(days=31)


def test_every_trap_and_several_months_can_be_drawn_and_short_plays_hide_nothing() -> None:
    drawn = [choose_hidden(Random(seed), "linden", traps(), working_days(3)) for seed in range(400)]

    assert len({one.trap for one in drawn if one}) == 8
    assert len({one.month for one in drawn if one}) > 8
    assert choose_hidden(Random(1), "linden", traps(), working_days(0.25)) is None
