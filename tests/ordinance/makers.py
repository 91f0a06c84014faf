"""Ordinances, triggers and drawn values that several of these tests use."""

from __future__ import annotations

from datetime import date
from typing import Any

from hypothesis import strategies as st

from wasteledger import resources
from wasteledger.ordinance import (
    Event,
    Force,
    Interval,
    Kind,
    Level,
    Ordinance,
    Override,
    Record,
    Rule,
    Trigger,
    Unit,
    WorkCalendar,
    read_holidays,
    read_ordinance,
)
from wasteledger.ordinance.rules import After, AfterQuarter, Due, EachYear, EveryYears
from wasteledger.ordinance.words import Years


def shipped(name: str) -> Ordinance:
    """The shipped ordinance file of that name."""
    return read_ordinance(resources.find(f"ordinances/{name}.toml"))


FEDERAL = shipped("us-federal-dental")
CONVENTIONS = shipped("office-conventions")
HOLIDAYS = read_holidays(resources.find("ordinances/holidays-us-federal.toml"))


def a_rule(
    identity: str = "R-1",
    *,
    due: Due | None = None,
    duty: str = "ship-container",
    kind: Kind = Kind.DEADLINE,
    triggers: tuple[Event, ...] = (Event.CONTAINER_FIRST_WASTE,),
    recurs: bool = False,
    only_if_before: date | None = None,
    or_when: Event | None = None,
    records: tuple[Record, ...] = (),
    force: Force = Force.LAW,
    citation: str = "",
    **further: Any,
) -> Rule:
    """A rule of an invented ordinance: ship a container 90 days after the first waste, unless told otherwise."""
    return Rule(
        id=identity,
        title=f"Rule {identity}",
        asks="What it asks.",
        citation=citation or f"Section {identity}",
        source="Invented for a test",
        read_on="2026-11",
        confirmed=True,
        force=force,
        duty=duty,
        kind=kind,
        triggers=triggers,
        due=due or After(Interval(90, Unit.DAYS)),
        recurs=recurs,
        only_if_before=only_if_before,
        or_when=or_when,
        records=records,
        **further,
    )


def an_ordinance(
    identity: str = "river-district",
    *rules: Rule,
    level: Level = Level.LOCAL,
    overrides: tuple[Override, ...] = (),
    **further: Any,
) -> Ordinance:
    """An invented ordinance with those rules."""
    return Ordinance(
        id=identity,
        title=f"Ordinance {identity}",
        authority="Invented authority",
        level=level,
        version="1",
        dated_on=date(2026, 1, 1),
        source="Invented for a test",
        rules=rules,
        overrides=overrides,
        file=f"{identity}.toml",
        **further,
    )


def first_waste(on: date, container: str = "C1", seq: int = 1) -> Trigger:
    """The first waste went into a container."""
    return Trigger(Event.CONTAINER_FIRST_WASTE, on, container, seq)


def days() -> st.SearchStrategy[date]:
    """Days that a practice could have written down, leap days among them."""
    return st.dates(date(1990, 1, 1), date(2090, 12, 31)) | st.sampled_from(
        [date(y, 2, 29) for y in range(1992, 2090, 4)]
    )


def intervals(units: tuple[Unit, ...] = tuple(Unit)) -> st.SearchStrategy[Interval]:
    """Intervals of every kind."""
    return st.builds(Interval, st.integers(1, 400), st.sampled_from(units))


def work_calendars() -> st.SearchStrategy[WorkCalendar]:
    """Practices that work on some weekdays, or on none that are named, and close for some days."""
    weekdays = st.frozensets(st.integers(0, 6))
    return st.builds(WorkCalendar, weekdays, st.frozensets(st.dates(date(1990, 1, 1), date(2091, 12, 31)), max_size=20))


def due_forms() -> st.SearchStrategy[Due]:
    """Days by interval, by the calendar's year, by years from a first day, by the quarter."""
    in_year = st.dates(date(2027, 1, 1), date(2027, 12, 31)).map(lambda day: (day.month, day.day))
    each = st.builds(
        lambda on, years, opens: EachYear(on[0], on[1], years, opens),
        in_year,
        st.sampled_from(Years),
        st.none() | in_year,
    )
    every = st.builds(EveryYears, st.dates(date(1980, 1, 1), date(2050, 12, 31)), st.integers(1, 10))
    return st.one_of(intervals().map(After), each, every, st.builds(AfterQuarter, st.integers(1, 12)))


def dated_rules() -> st.SearchStrategy[Rule]:
    """Deadlines of two duties, counted from two events, some recurring, some only for early events."""
    return st.builds(
        a_rule,
        st.from_regex(r"[A-Z]-[1-9]", fullmatch=True),
        due=due_forms(),
        duty=st.sampled_from(["ship-container", "look-at-containers"]),
        triggers=st.sampled_from(
            [
                (Event.CONTAINER_FIRST_WASTE,),
                (Event.CONTAINER_FULL,),
                (Event.CONTAINER_FULL, Event.CONTAINER_FIRST_WASTE),
            ]
        ),
        recurs=st.booleans(),
        force=st.sampled_from(Force),
    )


def some_ordinances() -> st.SearchStrategy[list[Ordinance]]:
    """Ordinances of several levels, with ids of their own."""
    one = st.tuples(st.sampled_from(Level), st.lists(dated_rules(), max_size=4, unique_by=lambda rule: rule.id))
    return st.lists(one, max_size=4).map(
        lambda drawn: [an_ordinance(f"o{place}", *rules, level=level) for place, (level, rules) in enumerate(drawn)]
    )


def some_triggers() -> st.SearchStrategy[list[Trigger]]:
    """Events of a few containers."""
    events = st.sampled_from([Event.CONTAINER_FIRST_WASTE, Event.CONTAINER_FULL])
    return st.lists(
        st.builds(Trigger, events, days(), st.sampled_from(["C1", "C2"]), st.integers(1, 9)), min_size=1, max_size=6
    )
