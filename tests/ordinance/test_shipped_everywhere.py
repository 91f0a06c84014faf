"""Every shipped ordinance file, wherever it is from: readable, cited, honest, and fit to stand beside the others."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.ordinance.makers import HOLIDAYS, days
from wasteledger import resources
from wasteledger.ordinance import (
    Basis,
    Event,
    Force,
    Interval,
    Kind,
    Level,
    Manual,
    Obligation,
    Ordinance,
    Record,
    Trigger,
    Unit,
    in_force,
    obligations,
    read_ordinance,
    retention,
)
from wasteledger.ordinance.clocks import SITE
from wasteledger.ordinance.rules import (
    ContainerNeeds,
    LabelWords,
    Provision,
    RemovalMinimum,
    Rule,
    SharingRule,
    Uncounted,
    WhileLasting,
)
from wasteledger.ordinance.words import FILINGS


def ordinance_files() -> list[Path]:
    """The shipped files that are ordinances; the starter is empty, and holidays have a form of their own."""
    files = resources.find_all("ordinances", "*.toml")
    return [file for file in files if file.name != "local-starter.toml" and not file.name.startswith("holidays-")]


FILES = ordinance_files()
ORDINANCES = tuple(read_ordinance(file) for file in FILES)
STREAMS = frozenset(
    stream["ref"] for stream in tomllib.loads(resources.find("practice/streams.toml").read_text("utf-8"))["streams"]
)

NOT_READ = {
    "eu-2017-852": {"EU-CODE"},
    "uk-england": {"UK-02", "UK-CLASS", "UK-SEPARATOR", "UK-TRACKING"},
    "us-california-dsrsd": {"DSRSD-01"},
    "us-federal-dental": {"US-441-03", "US-441-MANUAL"},
    "us-federal-generator": {
        "US-RCRA-03",
        "US-RCRA-05",
        "US-RCRA-11",
        "US-RCRA-RECYCLED",
        "US-RCRA-CONTRACT",
        "US-RCRA-LABEL-LQG",
    },
    "us-new-jersey": {"NJ-RECORDS"},
    "us-universal-waste": {"US-UW-01", "US-UW-UNCOUNTED", "US-UW-PAPER"},
    "us-vermont": {"VT-NEW", "VT-ANSWERS"},
}
"""By file, the provisions whose wording nobody read: from memory, or read for another place or another year.

Every other provision was read in the rule's text or on the agency's own page, or in a copy, an agency's form or an
independent summary, which its note then names.
"""

SECOND_HAND = re.compile(
    r"\b(?:cop(?:y|ies)|repost(?:ed)?|restate\w*|summar(?:y|ies)|account|notes|form)\b", re.IGNORECASE
)

SAME_CLAUSE = {"us-federal-generator:US-RCRA-VSQG-DELIVERY": ("40 CFR 261.5(g)(3)",)}
"""The other numbers of a clause: 81 FR 85732 moved 40 CFR 261.5(g)(3) to 262.14(a)(5)."""

MANUAL = Manual(Interval(30, Unit.DAYS), Interval(12, Unit.MONTHS))


SAID = [(ordinance, provision) for ordinance in ORDINANCES for provision in ordinance.provisions]
SAID_WHERE = [f"{ordinance.id}:{provision.id}" for ordinance, provision in SAID]


def test_files_are_there_for_each_place_that_is_promised() -> None:
    """The federal pair, at least eight states or cities, the Union, Germany, England, Ontario, the conventions."""
    levels = [ordinance.level for ordinance in ORDINANCES]

    assert {"us-federal-dental", "us-federal-generator", "office-conventions"} <= {one.id for one in ORDINANCES}
    assert {"eu-2017-852", "de-abwv-50", "uk-england", "uk-northern-ireland", "ca-ontario-oxford"} <= {
        one.id for one in ORDINANCES
    }
    american = [one for one in ORDINANCES if one.id.startswith("us-") and one.level in (Level.STATE, Level.LOCAL)]
    assert len(american) >= 8
    assert {Level.UNION, Level.FEDERAL, Level.NATIONAL, Level.STATE, Level.LOCAL, Level.OFFICE} == set(levels)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_file_reads_clean_under_its_own_name(file: Path) -> None:
    ordinance = read_ordinance(file)

    assert ordinance.id == file.stem
    assert ordinance.provisions
    assert ordinance.dated_on <= date(2026, 11, 30)
    assert not ordinance.overrides, "an override would need the file that it changes"


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_file_says_at_its_head_that_others_decide(file: Path) -> None:
    head = file.read_text("utf-8").split("schema = 1", 1)[0]

    said = " ".join(line.removeprefix("#").strip() for line in head.splitlines())
    assert re.search(r"decides nothing|own text prevails|none of it law", said)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_file_hands_out_no_verdict_and_names_no_telephone(file: Path) -> None:
    text = file.read_text("utf-8").casefold()

    assert not re.search(r"\b(?:non-?)?compliant\b|\bin compliance\b|\b(?:il)?legal(?:ly)?\b|\blawful\b", text)
    assert not re.search(r"\(?\b\d{3}\)?[ .-]\d{3}[ .-]\d{4}\b", text)


@pytest.mark.parametrize(("ordinance", "provision"), SAID, ids=SAID_WHERE)
def test_provision_says_where_it_was_read_and_how_sure_it_is(ordinance: Ordinance, provision: Provision) -> None:
    assert len(provision.citation) > 5
    assert provision.source
    assert provision.read_on.startswith("2026-11")
    assert provision.standing_of_source.startswith("NOT CONFIRMED: ") != provision.confirmed
    assert provision.asks.endswith((".", "?"))
    assert provision.title[0].isupper()
    if provision.source.casefold().startswith("from memory"):
        assert not provision.confirmed
    if ordinance.level is Level.OFFICE:
        assert provision.force is not Force.LAW


@pytest.mark.parametrize(("ordinance", "provision"), SAID, ids=SAID_WHERE)
def test_provision_says_itself_how_it_was_read(ordinance: Ordinance, provision: Provision) -> None:
    """No file leaves that to a default: the note begins with it, and says the same as the flag."""
    note = provision.confirmed_note

    assert len(note.split(". ")[0]) <= 150
    assert note.endswith(".")
    if provision.citation == "Own convention":
        assert provision.force is Force.CONVENTION
        assert note.startswith("Own convention; no rule asks ")
    elif provision.confirmed:
        assert re.match(r"Read (?:in|on) \w", note)
        assert not re.search(r"not confirmed|not read\b|itself", note, re.IGNORECASE)
        assert bool(SECOND_HAND.search(note)) >= bool(SECOND_HAND.search(provision.source)), (
            "it hides that it was a copy"
        )
    else:
        assert re.match(r"From memory\b|Not read ", note)


def test_another_number_is_given_only_where_it_is_the_same_clause() -> None:
    """A clause that only refers to another, or a state's copy of it, is no other number of it."""
    others = {f"{one.id}:{said.id}": said.also_cited_as for one, said in SAID if said.also_cited_as}

    assert others == SAME_CLAUSE


@pytest.mark.parametrize(("ordinance", "provision"), SAID, ids=SAID_WHERE)
def test_provision_speaks_of_streams_and_spans_that_exist(ordinance: Ordinance, provision: Provision) -> None:
    if isinstance(provision, LabelWords | ContainerNeeds | SharingRule | Uncounted):
        assert set(provision.streams) <= STREAMS
    if isinstance(provision, RemovalMinimum) and provision.installed_from and provision.installed_before:
        assert provision.installed_from < provision.installed_before
    if provision.in_force_from and provision.in_force_until:
        assert provision.in_force_from <= provision.in_force_until


@pytest.mark.parametrize("ordinance", ORDINANCES, ids=lambda ordinance: ordinance.id)
def test_what_comes_from_memory_is_marked(ordinance: Ordinance) -> None:
    not_confirmed = {one.id for one in ordinance.provisions if not one.confirmed}

    assert not_confirmed == NOT_READ.get(ordinance.id, set())
    for provision in ordinance.provisions:
        assert provision.confirmed or len(provision.confirmed_note) > 20


@pytest.mark.parametrize("ordinance", ORDINANCES, ids=lambda ordinance: ordinance.id)
def test_rules_and_reports_answer_each_other(ordinance: Ordinance) -> None:
    """A report names a duty that the file asks; a rule names categories that the file has."""
    duties = {rule.duty for rule in ordinance.rules}
    categories = {category.name for category in ordinance.categories}

    assert {report.duty for report in ordinance.reports} <= duties
    assert {name for rule in ordinance.rules for name in rule.only_for} <= categories
    assert {one for scope in [ordinance.scope] if scope for one in scope.emergency_leaves} <= duties


@pytest.mark.parametrize("ordinance", ORDINANCES, ids=lambda ordinance: ordinance.id)
def test_every_rule_gives_a_day_or_says_why_not(ordinance: Ordinance) -> None:
    """Each rule is started by each of its events, on the days of two leap years, and none of them breaks."""
    for rule in ordinance.rules:
        for event in rule.triggers:
            for on in (date(2027, 12, 31), date(2028, 2, 29), date(2016, 2, 29)):
                found = _counted(ordinance, rule, event, on)
                stands = rule.stands_on(on) and (rule.only_if_before is None or on < rule.only_if_before)
                expected = stands and rule.haul_over_miles is None
                is_dated = not isinstance(rule.due, WhileLasting)
                assert bool(found) == (expected and is_dated), (rule.id, event, on)
                assert all(one.due_on >= on or one.basis is Basis.FIXED_DAY for one in found)


def test_any_two_stand_beside_each_other_and_all_do() -> None:
    for several in [*combinations(ORDINANCES, 2), ORDINANCES]:
        assert [one.id for one in in_force(several)] == [one.id for one in several]


def _counted(ordinance: Ordinance, rule: Rule, event: Event, on: date) -> list[Obligation]:
    duty = rule.duty if event is Event.DUTY_DONE else ""
    record = rule.records[0] if event is Event.RECORD_MADE else None
    trigger = Trigger(event, on, SITE, 1, MANUAL, record=record, duty=duty)
    found = obligations([ordinance], [trigger], holidays=[HOLIDAYS])
    return [one for one in found if one.rule == rule.id]


@st.composite
def a_practice(draw: st.DrawFn) -> tuple[Sequence[Ordinance], list[Trigger]]:
    """Two to four files in force, and some of the events that start their clocks."""
    several = draw(st.lists(st.sampled_from(ORDINANCES), min_size=2, max_size=4, unique_by=lambda one: one.id))
    separator = [Event.SEPARATOR_INSTALLED, Event.SEPARATOR_INSPECTED, Event.RETAINING_UNIT_REPLACED]
    container = [Event.CONTAINER_FIRST_WASTE, Event.CONTAINER_FULL]
    site = [Event.FIRST_DISCHARGE, Event.IN_FORCE, Event.LAST_PICKUP, Event.OWNERSHIP_TRANSFERRED]
    pickup = [Event.PICKUP_RELEASED, Event.PICKUP_RECEIVED]
    near = st.dates(date(2015, 1, 1), date(2035, 12, 31))
    drawn = [
        Trigger(draw(st.sampled_from(events)), draw(near), subject, seq, MANUAL)
        for seq, (subject, events) in enumerate(
            [("separator S", separator), ("container C", container), (SITE, site), ("pickup P", pickup)] * 2, 1
        )
    ]
    return several, drawn


@given(a_practice())
def test_each_file_keeps_its_days_beside_the_others_and_the_earliest_binds(
    practice: tuple[Sequence[Ordinance], list[Trigger]],
) -> None:
    """What a file asks alone it asks among others; what binds is never later than what any of them asks of the same."""
    several, triggers = practice

    together = obligations(several, triggers, holidays=[HOLIDAYS])
    alone = [one for ordinance in several for one in obligations([ordinance], triggers, holidays=[HOLIDAYS])]

    assert sorted(map(_day_of, together)) == sorted(map(_day_of, alone))
    deadlines = [one for one in together if one.kind is Kind.DEADLINE]
    binding_on = {(one.duty, one.subject): one.due_on for one in reversed(deadlines) if one.binds}
    for one in deadlines:
        assert binding_on[one.duty, one.subject] <= one.due_on
        if one.duty in FILINGS and not one.binds:
            # A paper to one authority stands aside only for that authority's own, or for the same clause elsewhere.
            assert any(other.ordinance == one.ordinance or other.is_same_rule for other in one.also)


def _day_of(one: Obligation) -> tuple[str, str, str, int, date]:
    return one.ordinance, one.rule, one.subject, one.trigger_seq, one.due_on


@given(st.sets(st.sampled_from(range(len(ORDINANCES))), min_size=2, max_size=4), st.sampled_from(Record), days())
def test_longest_term_of_several_is_taken(places: set[int], record: Record, made_on: date) -> None:
    several = [ORDINANCES[place] for place in sorted(places)]
    terms = [kept.longest.due_on for one in several if (kept := retention([one], record, made_on)).longest]

    longest = retention(several, record, made_on).longest

    assert (longest.due_on if longest else None) == max(terms, default=None)
    assert longest is None or longest.due_on > made_on + timedelta(days=300)
