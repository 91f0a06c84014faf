"""Laws of due days, with drawn ordinances, events and calendars."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from tests.ordinance.makers import (
    FEDERAL,
    a_rule,
    an_ordinance,
    days,
    some_ordinances,
    some_triggers,
    work_calendars,
)
from wasteledger.ordinance import (
    Event,
    Interval,
    Kind,
    Manual,
    Obligation,
    Ordinance,
    Record,
    Trigger,
    Unit,
    WorkCalendar,
    binding,
    obligations,
    retention,
)
from wasteledger.ordinance.rules import After


def _bound(
    ordinances: list[Ordinance], triggers: list[Trigger], calendar: WorkCalendar | None = None
) -> dict[tuple[str, str], Obligation]:
    return {(one.duty, one.subject): one for one in binding(obligations(ordinances, triggers, calendar))}


@given(some_ordinances(), some_triggers(), st.data())
def test_a_later_trigger_never_gives_an_earlier_due_day(
    ordinances: list[Ordinance], triggers: list[Trigger], data: st.DataObject
) -> None:
    place = data.draw(st.integers(0, len(triggers) - 1))
    moved = triggers[place]
    later = Trigger(moved.event, moved.on + timedelta(days=data.draw(st.integers(0, 900))), moved.subject, moved.seq)

    before = _bound(ordinances, triggers)
    after_move = _bound(ordinances, [*triggers[:place], later, *triggers[place + 1 :]])

    assert before.keys() == after_move.keys()
    assert all(before[named].due_on <= after_move[named].due_on for named in before)


@given(days(), st.integers(0, 5000), st.integers(0, 5000), days())
def test_a_later_trigger_never_gives_an_earlier_day_by_schedule_level_or_fixed_day(
    start: date, later_by: int, months: int, full_on: date
) -> None:
    manual = Manual(replace_every=Interval(1 + months % 60, Unit.MONTHS))
    full = Trigger(Event.RETAINING_UNIT_FULL, full_on, "separator", is_forecast=True)

    def due_days(on: date) -> dict[str, date]:
        replaced = Trigger(Event.RETAINING_UNIT_REPLACED, on, "separator", 5, manual=manual)
        installed = Trigger(Event.SEPARATOR_INSTALLED, on, "separator", 2, manual=manual)
        return {one.rule: one.due_on for one in obligations([FEDERAL], [replaced, installed, full])}

    before, after_move = due_days(start), due_days(start + timedelta(days=later_by))

    assert before["US-441-05"] <= after_move["US-441-05"]
    # Retiring a legacy separator is asked of early installations only; then the day is the same for all.
    assert "US-441-04" not in after_move or before["US-441-04"] == after_move["US-441-04"]


@given(some_ordinances(), some_ordinances(), some_triggers())
def test_more_ordinances_never_move_a_binding_day_later(
    few: list[Ordinance], more: list[Ordinance], triggers: list[Trigger]
) -> None:
    added = [an_ordinance(f"more-{one.id}", *one.rules, level=one.level) for one in more]

    before, with_more = _bound(few, triggers), _bound([*few, *added], triggers)

    assert before.keys() <= with_more.keys()
    assert all(with_more[named].due_on <= before[named].due_on for named in before)


@given(st.lists(st.integers(1, 100), min_size=1, max_size=6), st.integers(0, 5), days())
def test_more_ordinances_never_shorten_a_retention(years: list[int], at_first: int, made_on: date) -> None:
    keepers = [
        an_ordinance(
            f"o{place}",
            a_rule(
                duty="keep-records",
                kind=Kind.RETENTION,
                triggers=(Event.RECORD_MADE,),
                records=(Record.PICKUP,),
                due=After(Interval(count, Unit.YEARS)),
            ),
        )
        for place, count in enumerate(years)
    ]

    few = retention(keepers[: 1 + at_first], Record.PICKUP, made_on).longest
    every = retention(keepers, Record.PICKUP, made_on).longest

    assert few is not None
    assert every is not None
    assert few.due_on <= every.due_on


@given(some_ordinances(), some_triggers(), work_calendars())
def test_advice_never_lies_after_the_due_day(
    ordinances: list[Ordinance], triggers: list[Trigger], practice: WorkCalendar
) -> None:
    found = obligations(ordinances, triggers, practice)

    assert all(one.advised_on <= one.due_on for one in found)
    assert [one.due_on for one in found] == sorted(one.due_on for one in found)


@given(some_ordinances(), some_triggers())
def test_the_practice_calendar_moves_no_deadline(ordinances: list[Ordinance], triggers: list[Trigger]) -> None:
    sundays_only = WorkCalendar(frozenset({6}))

    by_default = obligations(ordinances, triggers)

    assert [one.due_on for one in by_default] == [one.due_on for one in obligations(ordinances, triggers, sundays_only)]


@given(some_ordinances(), some_triggers(), st.randoms(use_true_random=False))
def test_order_of_files_and_triggers_does_not_matter(
    ordinances: list[Ordinance], triggers: list[Trigger], random: Random
) -> None:
    distinct = list({(one.event, one.subject, one.on, one.seq): one for one in triggers}.values())
    shuffled, mixed = list(distinct), list(ordinances)
    random.shuffle(shuffled)
    random.shuffle(mixed)

    assert obligations(mixed, shuffled) == obligations(ordinances, distinct)
