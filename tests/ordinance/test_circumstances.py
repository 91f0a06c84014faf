"""Whom a rule speaks to: specialties, drains, distance, categories, days on which a rule stands, duties done."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from tests.ordinance.makers import FEDERAL, a_rule, an_ordinance, first_waste
from wasteledger.ordinance import (
    Event,
    Interval,
    Kind,
    Lasting,
    Level,
    Override,
    Record,
    Trigger,
    Unit,
    label_words,
    obligations,
    undated,
)
from wasteledger.ordinance.circumstances import Circumstances, out_of_scope, speaking_to
from wasteledger.ordinance.rules import After, EachYear, LabelWords, Ordinance, WhileLasting
from wasteledger.ordinance.words import Specialty, Wastewater, Years

MONDAY = date(2026, 3, 2)


def days_due(
    ordinances: list[Ordinance], triggers: list[Trigger], circumstances: Circumstances | None = None
) -> dict[str, date]:
    return {one.rule: one.due_on for one in obligations(ordinances, triggers, circumstances=circumstances) if one.binds}


def done(duty: str, on: date, subject: str = "site", **further: object) -> Trigger:
    return Trigger(Event.DUTY_DONE, on, subject, 9, duty=duty, **further)  # type: ignore[arg-type]


# -- whom an ordinance covers (40 CFR 441.10) -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("known", "is_out"),
    [
        (Circumstances(), False),
        (Circumstances(specialties=frozenset({Specialty.ORTHODONTICS})), True),
        (Circumstances(specialties=frozenset({Specialty.PROSTHODONTICS, Specialty.ORAL_SURGERY})), True),
        (Circumstances(specialties=frozenset({Specialty.ENDODONTICS})), False),
        (Circumstances(specialties=frozenset({Specialty.ORTHODONTICS, Specialty.ENDODONTICS})), False),
        (Circumstances(specialties=frozenset()), False),
        (Circumstances(wastewater=Wastewater.SEPTIC), True),
        (Circumstances(wastewater=Wastewater.COLLECTED), True),
        (Circumstances(wastewater=Wastewater.PUBLIC_SEWER), False),
        (Circumstances(is_mobile=True), True),
    ],
)
def test_441_10_c_d_e_who_is_left_out(known: Circumstances, is_out: bool) -> None:
    """Six specialties practised exclusively, mobile units, no discharge to a public works; endodontics is covered."""
    discharge = [Trigger(Event.FIRST_DISCHARGE, MONDAY, "site", 3)]

    assert bool(out_of_scope([FEDERAL], known)) is is_out
    assert ("US-441-01" in days_due([FEDERAL], discharge, known)) is not is_out


def test_441_10_f_emergencies_leave_the_report() -> None:
    """Who never places and removes in emergencies only certifies that in the one-time report, and nothing else."""
    scope = replace(FEDERAL.scope, emergency_leaves=("one-time-report",))  # type: ignore[type-var]
    federal = replace(FEDERAL, scope=scope)
    triggers = [
        Trigger(Event.FIRST_DISCHARGE, MONDAY, "site", 3),
        Trigger(Event.MALFUNCTION_FOUND, MONDAY, "separator", 4),
    ]

    assert set(days_due([federal], triggers)) == {"US-441-01", "US-441-03"}
    assert set(days_due([federal], triggers, Circumstances(only_emergencies=True))) == {"US-441-01"}


# -- category and distance --------------------------------------------------------------------------------------------

SHIP = an_ordinance(
    "generator",
    a_rule("NEAR", due=After(Interval(180, Unit.DAYS)), only_for=("SQG",), haul_up_to_miles=200),
    a_rule("FAR", due=After(Interval(270, Unit.DAYS)), only_for=("SQG",), haul_over_miles=200),
)


@pytest.mark.parametrize(
    ("known", "rules"),
    [
        (Circumstances(), {"NEAR"}),
        (Circumstances(categories={"generator": "SQG"}), {"NEAR"}),
        (Circumstances(categories={"generator": "VSQG"}), set()),
        (Circumstances(categories={"elsewhere": "VSQG"}), {"NEAR"}),
        (Circumstances(haul_miles=200), {"NEAR"}),
        (Circumstances(haul_miles=201), {"FAR"}),
    ],
)
def test_262_16_c_the_longer_term_wants_a_long_way(known: Circumstances, rules: set[str]) -> None:
    """180 days, 270 where the waste travels more than 200 miles; what is not known never lengthens a term."""
    found = obligations([SHIP], [first_waste(MONDAY)], circumstances=known)

    assert {one.rule for one in found} == rules


def test_what_an_obligation_rests_on_is_said() -> None:
    (unknown,) = obligations([SHIP], [first_waste(MONDAY)])
    far = Circumstances(haul_miles=260, categories={"generator": "SQG"})
    (known,) = obligations([SHIP], [first_waste(MONDAY)], circumstances=far)

    assert "SQG only; the category here is not known" in unknown.condition
    assert "no more than 200 miles" in unknown.condition
    assert known.condition == "asked of SQG only, as here now; the waste travels 260 miles, over 200"


# -- days on which a rule stands --------------------------------------------------------------------------------------


def test_the_text_that_stood_on_the_day_of_the_event_counts() -> None:
    """An older and a newer text of one clause: each event is judged by the text that stood on its day."""
    older = a_rule("OLD", due=After(Interval(45, Unit.DAYS)), in_force_until=date(2025, 1, 21))
    newer = a_rule("NEW", due=After(Interval(60, Unit.DAYS)), in_force_from=date(2025, 1, 22))
    federal = an_ordinance("f", older, newer)

    assert set(days_due([federal], [first_waste(date(2025, 1, 21))])) == {"OLD"}
    assert set(days_due([federal], [first_waste(date(2025, 1, 22))])) == {"NEW"}


# -- what was done ----------------------------------------------------------------------------------------------------

CERTIFY = a_rule(
    "C-1",
    duty="certify",
    due=EachYear(3, 31, Years.EVEN),
    triggers=(Event.IN_FORCE, Event.DUTY_DONE),
    recurs=True,
)


def test_a_yearly_filing_runs_from_the_day_the_ordinance_came_into_force_here() -> None:
    state = an_ordinance("state", CERTIFY, level=Level.STATE)
    begun = Trigger(Event.IN_FORCE, date(2026, 10, 5), "site", 3, ordinance="state")

    assert days_due([state], [begun]) == {"C-1": date(2028, 3, 31)}
    assert days_due([state], [begun, done("certify", date(2028, 2, 1))]) == {"C-1": date(2030, 3, 31)}
    assert days_due([state], [begun, done("certify", date(2028, 2, 1), ordinance="city")]) == {"C-1": date(2028, 3, 31)}
    assert days_due([state], [replace(begun, ordinance="city")]) == {}


def test_a_duty_that_is_asked_once_ends_with_what_was_done_after_it() -> None:
    once = an_ordinance("o", a_rule("N-1", duty="notify-authority", triggers=(Event.SEPARATOR_INSTALLED,)))
    two = [Trigger(Event.SEPARATOR_INSTALLED, MONDAY, f"separator {ref}", 3) for ref in ("A", "B")]

    def subjects(*answered: Trigger) -> set[str]:
        return {one.subject for one in obligations([once], [*two, *answered])}

    assert subjects() == {"separator A", "separator B"}
    assert subjects(done("notify-authority", MONDAY, "separator A")) == {"separator B"}
    assert subjects(done("notify-authority", MONDAY)) == set()
    assert subjects(done("notify-authority", date(2026, 3, 1))) == {"separator A", "separator B"}
    assert subjects(done("certify", MONDAY)) == {"separator A", "separator B"}


def test_a_recurring_duty_done_for_the_whole_practice_counts_for_each_subject() -> None:
    rule = a_rule(
        "T-1",
        duty="own-check",
        due=After(Interval(30, Unit.DAYS)),
        triggers=(Event.SEPARATOR_INSTALLED, Event.DUTY_DONE),
        recurs=True,
    )
    two = [Trigger(Event.SEPARATOR_INSTALLED, MONDAY, f"separator {ref}", 3) for ref in ("A", "B")]
    april = date(2026, 4, 1)

    found = obligations([an_ordinance("o", rule)], [*two, done("own-check", april, "separator B")])
    for_all = obligations([an_ordinance("o", rule)], [*two, done("own-check", april)])

    assert {one.subject: one.due_on for one in found} == {
        "separator A": date(2026, 4, 1),
        "separator B": date(2026, 5, 1),
    }
    assert {one.due_on for one in for_all} == {date(2026, 5, 1)}


# -- filings, and one clause in two files -----------------------------------------------------------------------------


def test_a_filing_is_owed_to_each_authority_by_itself() -> None:
    state = an_ordinance("state", a_rule("S", duty="certify", due=After(Interval(60, Unit.DAYS))), level=Level.STATE)
    city = an_ordinance("city", a_rule("C", duty="certify", due=After(Interval(90, Unit.DAYS))))

    found = obligations([state, city], [first_waste(MONDAY)])

    assert {one.rule: (one.binds, one.also) for one in found} == {"S": (True, ()), "C": (True, ())}


def test_a_later_and_a_dead_number_of_one_clause_are_one_rule() -> None:
    """40 CFR 261.5(g)(3) was moved to 262.14(a)(5) in 2016 (81 FR 85732); papers still print the old number."""
    ninety = After(Interval(90, Unit.DAYS))
    new = a_rule(
        "NEW", duty="certify", due=ninety, citation="40 CFR 262.14(a)(5)", also_cited_as=("40 CFR 261.5(g)(3)",)
    )
    old = a_rule("OLD", duty="certify", due=ninety, citation="40 CFR 261.5(g)(3)")
    found = obligations([an_ordinance("f", new, level=Level.FEDERAL), an_ordinance("l", old)], [first_waste(MONDAY)])

    assert [(one.rule, one.binds) for one in found] == [("NEW", True), ("OLD", False)]
    assert [(other.rule, other.is_same_rule) for one in found for other in one.also] == [("OLD", True), ("NEW", True)]


def test_what_was_filed_under_one_number_was_filed_under_the_other() -> None:
    federal = an_ordinance(
        "f", a_rule("F", duty="one-time-report", citation="40 CFR 441.50(a)(4)"), level=Level.FEDERAL
    )
    county = an_ordinance("c", a_rule("C", duty="one-time-report", citation="40 CFR 441.50(a)(4)"))
    city = an_ordinance("t", a_rule("T", duty="one-time-report", citation="Town code 4"))

    found = obligations([federal, county, city], [first_waste(MONDAY), done("one-time-report", MONDAY, ordinance="c")])

    assert [one.rule for one in found] == ["T"]


def test_two_clauses_that_ask_the_same_are_not_called_one() -> None:
    one, other = a_rule("A", citation="40 CFR 262.16(b)"), a_rule("B", citation="40 CFR 262.17(a)")
    found = obligations([an_ordinance("f", one), an_ordinance("l", other)], [first_waste(MONDAY)])

    assert [also.is_same_rule for obligation in found for also in obligation.also] == [False, False]


# -- what a record is kept for ends -----------------------------------------------------------------------------------


def test_what_is_kept_until_a_transfer_is_kept_no_longer_after_it() -> None:
    keep = a_rule(
        "K",
        duty="keep-records",
        kind=Kind.RETENTION,
        triggers=(Event.RECORD_MADE,),
        records=(Record.ONE_TIME_REPORT,),
        due=WhileLasting(Lasting.UNTIL_TRANSFER),
    )
    made = Trigger(Event.RECORD_MADE, MONDAY, "site", 3, record=Record.ONE_TIME_REPORT)
    transferred = replace(made, ended=frozenset({Lasting.UNTIL_TRANSFER}))

    assert [one.rule for one in undated([an_ordinance("o", keep)], [made])] == ["K"]
    assert undated([an_ordinance("o", keep)], [transferred]) == ()


def test_a_window_that_has_not_opened_does_not_press() -> None:
    rule = replace(CERTIFY, due=EachYear(3, 31, Years.ALL, (3, 25)))
    (found,) = obligations([an_ordinance("o", rule)], [Trigger(Event.IN_FORCE, MONDAY, "site", 3)])

    assert found.opens_on == date(2026, 3, 25)
    assert found.state_on(date(2026, 3, 24), soon_days=14).value == "later"
    assert found.state_on(date(2026, 3, 25), soon_days=14).value == "due_soon"


# -- the ordinances as they speak to a practice -----------------------------------------------------------------------


def a_label(identity: str, *only_for: str) -> LabelWords:
    return LabelWords(
        id=identity,
        title="Words",
        asks="These words stand on it.",
        citation="Section 1",
        source="Invented for a test",
        read_on="2026-11",
        confirmed=True,
        lines=(identity,),
        only_for=only_for,
    )


@pytest.mark.parametrize(
    ("category", "lines"), [("VSQG", ["ALL"]), ("SQG", ["ALL", "SMALL"]), (None, ["ALL", "SMALL"])]
)
def test_262_14_words_asked_of_larger_generators_are_not_asked_of_the_smallest(
    category: str | None, lines: list[str]
) -> None:
    """40 CFR 262.16(b)(6) asks the marking of SQG; 262.14 asks none of VSQG. What is not known leaves nothing out."""
    generator = an_ordinance("generator", labels=(a_label("ALL"), a_label("SMALL", "SQG", "LQG")))
    known = Circumstances(categories={"generator": category} if category else {})

    found = label_words(speaking_to([generator], known), "contact")

    assert [line for said in found for line in said.provision.lines] == lines


def test_an_ordinance_that_leaves_the_practice_out_says_nothing_else_to_it() -> None:
    (heard,) = speaking_to([FEDERAL], Circumstances(specialties=frozenset({Specialty.ORTHODONTICS})))

    assert heard.provisions == (heard.scope,)


def test_overrides_hold_in_what_speaks_to_a_practice() -> None:
    local = an_ordinance(
        "letter",
        overrides=(
            Override(
                ordinance="generator",
                provision="SMALL",
                reason="Told so.",
                citation="Letter",
                confirmed=True,
                asks="No.",
            ),
            Override(
                ordinance="generator",
                provision="ALL",
                reason="Told so.",
                citation="Letter",
                confirmed=True,
                asks="Yes.",
            ),
        ),
    )
    generator = an_ordinance("generator", labels=(a_label("ALL"), a_label("SMALL", "SQG")), level=Level.FEDERAL)
    known = Circumstances(categories={"generator": "VSQG"})

    heard, _ = speaking_to(speaking_to([generator, local], known), known)

    assert [(one.id, one.asks) for one in heard.labels] == [("ALL", "Yes.")]


def test_scope_that_was_not_read_leaves_nobody_out() -> None:
    scope = replace(FEDERAL.scope, covers_septic=None, covers_mobile_units=None)  # type: ignore[type-var]
    federal = replace(FEDERAL, scope=scope)

    assert out_of_scope([federal], Circumstances(wastewater=Wastewater.SEPTIC, is_mobile=True)) == ()


def test_262_14_duties_of_a_larger_generator_begin_with_the_category() -> None:
    """A very small generator owes no weekly look and no exception report, nor for what it shipped as one."""
    weekly = a_rule(
        "LOOK",
        duty="look-at-containers",
        due=After(Interval(7, Unit.DAYS)),
        triggers=(Event.IN_FORCE,),
        recurs=True,
        only_for=("SQG",),
    )
    report = a_rule("REPORT", duty="own-report", triggers=(Event.PICKUP_RELEASED,), only_for=("SQG",))
    generator = an_ordinance("generator", weekly, report)
    october = date(2026, 10, 1)
    known = Circumstances(
        categories={"generator": "SQG"},
        since={"generator": october},
        months={"generator": {date(2026, 9, 1): "VSQG", october: "SQG"}},
    )
    triggers = [
        Trigger(Event.IN_FORCE, date(2023, 11, 21), "site", 3),
        Trigger(Event.PICKUP_RELEASED, date(2026, 9, 25), "pickup A", 4),
        Trigger(Event.PICKUP_RELEASED, date(2026, 10, 2), "pickup B", 5),
    ]

    found = obligations([generator], triggers, circumstances=known)

    assert {(one.rule, one.subject): one.due_on for one in found} == {
        ("LOOK", "site"): date(2026, 10, 8),
        ("REPORT", "pickup B"): date(2026, 12, 31),
    }
    assert {one.condition for one in found} == {
        "asked of SQG only, as here since 2026-10-01",
        "asked of SQG only, as here in the half year to October 2026",
    }


def test_a_category_that_the_estimate_leaves_open_is_not_stated() -> None:
    known = Circumstances(categories={"generator": "SQG"}, unsettled=frozenset({"generator"}), haul_miles=10)
    (found,) = obligations([SHIP], [first_waste(MONDAY)], circumstances=known)

    assert found.condition == "asked of SQG only; the practice may be SQG now, the estimate leaves it open"


def test_what_a_small_generator_shipped_stays_under_its_rules_in_quieter_months() -> None:
    """262.42(b), 262.40(a): a report and a copy are owed for the shipment, whatever the month after makes."""
    report = a_rule("REPORT", duty="report-missing-receipt", triggers=(Event.PICKUP_RELEASED,), only_for=("SQG",))
    keep = a_rule(
        "KEEP",
        duty="keep-records",
        kind=Kind.RETENTION,
        triggers=(Event.RECORD_MADE,),
        records=(Record.MANIFEST,),
        due=After(Interval(3, Unit.YEARS)),
        only_for=("SQG",),
    )
    generator = an_ordinance("generator", report, keep)
    september = date(2026, 9, 10)
    triggers = [
        Trigger(Event.PICKUP_RELEASED, september, "pickup A", 4),
        Trigger(Event.RECORD_MADE, september, "pickup A", 4, record=Record.MANIFEST),
    ]
    quiet = Circumstances(
        categories={"generator": "VSQG"}, months={"generator": {date(2026, 9, 1): "SQG", date(2026, 11, 1): "VSQG"}}
    )
    not_counted = Circumstances(categories={"generator": "VSQG"})

    assert {one.rule for one in obligations([generator], triggers, circumstances=quiet)} == {"REPORT", "KEEP"}
    assert {one.rule for one in obligations([generator], triggers, circumstances=not_counted)} == {"REPORT", "KEEP"}


def test_a_standing_duty_begins_with_its_rule() -> None:
    later = a_rule(
        "NEW",
        duty="own-look",
        due=After(Interval(7, Unit.DAYS)),
        triggers=(Event.IN_FORCE,),
        recurs=True,
        in_force_from=date(2026, 1, 1),
    )
    begun = Trigger(Event.IN_FORCE, date(2025, 1, 2), "site", 3)

    assert days_due([an_ordinance("o", later)], [begun]) == {"NEW": date(2026, 1, 8)}


def test_a_yearly_day_after_the_rule_s_end_is_not_asked() -> None:
    ends = replace(CERTIFY, due=EachYear(3, 31), in_force_until=date(2026, 12, 31))
    begun = Trigger(Event.IN_FORCE, MONDAY, "site", 3)
    state = an_ordinance("o", ends)

    assert days_due([state], [begun]) == {"C-1": date(2026, 3, 31)}
    assert days_due([state], [begun, done("certify", date(2026, 3, 20))]) == {}


def test_two_acts_under_one_duty_are_each_done_by_themselves() -> None:
    one, other = replace(CERTIFY, id="A"), replace(CERTIFY, id="B", due=EachYear(6, 30))
    state = an_ordinance("state", one, other)
    begun = Trigger(Event.IN_FORCE, MONDAY, "site", 3)
    filed = done("certify", date(2028, 2, 1), ordinance="state", rule="A", answers_on=date(2026, 3, 31))

    found = obligations([state], [begun, filed])

    assert {(each.rule, each.binds): each.due_on for each in found} == {
        ("A", True): date(2028, 3, 31),
        ("B", True): date(2026, 6, 30),
    }


def test_a_chapter_that_both_cite_makes_no_one_rule_of_two() -> None:
    state = an_ordinance("state", replace(CERTIFY, citation="310 CMR 73.00"), level=Level.STATE)
    town = an_ordinance("town", replace(CERTIFY, id="T", due=EachYear(3, 31), citation="Rule 3, under 310 CMR 73.00"))
    begun = Trigger(Event.IN_FORCE, MONDAY, "site", 3)
    filed = done("certify", date(2026, 3, 20), ordinance="town", rule="T")

    found = obligations([state, town], [begun, filed])

    assert {each.rule: each.due_on for each in found} == {"C-1": date(2026, 3, 31), "T": date(2027, 3, 31)}
    assert [each.also for each in found] == [(), ()]


def test_what_was_done_before_on_the_same_day_answers_nothing_that_came_later() -> None:
    once = an_ordinance("o", a_rule("N-1", duty="notify-authority", triggers=(Event.MALFUNCTION_FOUND,)))
    told = Trigger(Event.DUTY_DONE, MONDAY, "separator SEP", 5, duty="notify-authority")

    def owed(seq: int) -> list[str]:
        found = [Trigger(Event.MALFUNCTION_FOUND, MONDAY, "separator SEP", seq), told]
        return [one.rule for one in obligations([once], found)]

    assert owed(4) == []
    assert owed(6) == ["N-1"]


def test_441_50_a_a_report_may_be_filed_before_the_first_wastewater() -> None:
    discharge = Trigger(Event.FIRST_DISCHARGE, date(2025, 12, 1), "site", 9)
    ahead = done("one-time-report", date(2025, 11, 27), ordinance="us-federal-dental", rule="US-441-01")

    assert "US-441-01" in days_due([FEDERAL], [discharge])
    assert "US-441-01" not in days_due([FEDERAL], [discharge, ahead])


def test_what_names_the_due_day_counts_for_it_though_it_was_done_before() -> None:
    rule = a_rule("N-1", duty="notify-authority", triggers=(Event.SEPARATOR_INSTALLED,))
    owed = an_ordinance("o", rule)
    installed = Trigger(Event.SEPARATOR_INSTALLED, MONDAY, "separator A", 3)
    early = done("notify-authority", date(2026, 2, 20), "separator A", answers_on=date(2026, 5, 31))

    assert days_due([owed], [installed, done("notify-authority", date(2026, 2, 20), "separator A")]) != {}
    assert days_due([owed], [installed, early]) == {}


def test_a_day_that_a_second_event_set_is_told_from_that_event() -> None:
    rule = a_rule("S-1", due=After(Interval(365, Unit.DAYS)), or_when=Event.CONTAINER_FULL)
    full = Trigger(Event.CONTAINER_FULL, date(2026, 4, 1), "C1", 44)
    (found,) = obligations([an_ordinance("o", rule)], [first_waste(MONDAY, seq=12), full])

    assert (found.due_on, found.trigger_seq, found.event) == (date(2026, 4, 1), 44, Event.CONTAINER_FULL)


def test_a_standing_duty_says_from_what_its_day_counts() -> None:
    weekly = a_rule(
        "LOOK",
        duty="own-look",
        due=After(Interval(7, Unit.DAYS)),
        triggers=(Event.IN_FORCE,),
        recurs=True,
        only_for=("SQG",),
    )
    known = Circumstances(categories={"g": "SQG"}, since={"g": date(2026, 10, 1)})
    begun = Trigger(Event.IN_FORCE, date(2025, 11, 25), "site", 3)

    (found,) = obligations([an_ordinance("g", weekly)], [begun], circumstances=known)

    assert "may have been one of those, 2026-10-01" in found.counted


def test_of_two_starts_the_one_whose_day_was_named_is_answered() -> None:
    """Two transfers of ownership, each with a report of its own."""
    first, second = (Trigger(Event.OWNERSHIP_TRANSFERRED, date(2026, month, 20), "site", month) for month in (1, 11))
    late = done(
        "one-time-report",
        date(2026, 11, 25),
        ordinance="us-federal-dental",
        rule="US-441-02",
        answers_on=date(2026, 4, 20),
    )

    found = obligations([FEDERAL], [first, second, late])

    assert [(one.rule, one.due_on) for one in found] == [("US-441-02", date(2027, 2, 18))]


def test_what_was_done_for_a_rule_that_was_renamed_since_counts() -> None:
    state = an_ordinance("state", replace(CERTIFY, id="RENEWED"), level=Level.STATE)
    begun = Trigger(Event.IN_FORCE, MONDAY, "site", 3)
    filed = done("certify", date(2026, 3, 20), ordinance="state", rule="C-1", answers_on=date(2026, 3, 31))

    assert days_due([state], [begun, filed]) == {"RENEWED": date(2028, 3, 31)}


def test_a_yearly_day_counts_from_the_first_device_though_it_was_replaced() -> None:
    yearly = a_rule(
        "Y-1",
        duty="own-proof",
        due=EachYear(3, 31),
        triggers=(Event.SEPARATOR_INSTALLED, Event.DUTY_DONE),
        recurs=True,
    )
    old, new = (Trigger(Event.SEPARATOR_INSTALLED, date(year, 7, 1), "separator A", year) for year in (2024, 2026))

    assert days_due([an_ordinance("o", yearly)], [old, new]) == {"Y-1": date(2025, 3, 31)}


def test_instants_order_what_happened_on_one_day() -> None:
    """A correction gives a higher number, and moves nothing in time."""
    once = an_ordinance("o", a_rule("N-1", duty="notify-authority", triggers=(Event.MALFUNCTION_FOUND,)))
    morning, noon, evening = (datetime(2026, 3, 2, hour, tzinfo=UTC) for hour in (9, 12, 18))

    def owed(found_at: datetime) -> list[str]:
        found = Trigger(Event.MALFUNCTION_FOUND, MONDAY, "separator A", 4, at=found_at)
        told = done("notify-authority", MONDAY, "separator A", at=noon)
        return [one.rule for one in obligations([once], [found, told])]

    assert owed(morning) == []
    assert owed(evening) == ["N-1"]


def test_while_the_category_is_open_no_duty_of_either_is_dropped() -> None:
    lower = a_rule("LOW", triggers=(Event.STOCK_LIMIT_REACHED,), only_for=("VSQG",))
    reached = Trigger(Event.STOCK_LIMIT_REACHED, MONDAY, "site", 3)
    above = a_rule("HIGH", duty="own-high", triggers=(Event.STOCK_LIMIT_REACHED,), only_for=("LQG",))
    known = Circumstances(categories={"g": "SQG"}, unsettled=frozenset({"g"}), may_be={"g": ("SQG", "VSQG")})

    assert set(days_due([an_ordinance("g", lower, above)], [reached], known)) == {"LOW"}
