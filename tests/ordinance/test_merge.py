"""A nearer ordinance laid over a wider one."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest

from tests.ordinance.makers import CONVENTIONS, FEDERAL, HOLIDAYS, a_rule, an_ordinance, first_waste
from wasteledger import resources
from wasteledger.errors import Unknown
from wasteledger.ordinance import (
    BadOrdinance,
    Event,
    Interval,
    Kind,
    Level,
    Manual,
    Ordinance,
    Override,
    Provision,
    Record,
    Trigger,
    Unit,
    get_provision,
    in_force,
    obligations,
    read_ordinance,
    retention,
)
from wasteledger.ordinance.rules import After, Due, EachYear, OnDay, SharingRule, WhileLasting
from wasteledger.ordinance.words import Lasting, Together

FOUND = Trigger(Event.MALFUNCTION_FOUND, date(2026, 4, 1), "separator", 12)


def an_override(
    provision: str = "US-441-03",
    *,
    ordinance: str = "us-federal-dental",
    due: Due | None = None,
    asks: str = "",
    together: Together | None = None,
    sets_aside: bool = False,
    line: int = 17,
) -> Override:
    return Override(
        ordinance=ordinance,
        provision=provision,
        reason="The district's letter says so.",
        citation="Letter of 2 March 2026",
        confirmed=True,
        due=due,
        asks=asks,
        together=together,
        sets_aside=sets_aside,
        line=line,
    )


def overriding(*overrides: Override, identity: str = "district", level: Level = Level.LOCAL) -> Ordinance:
    return an_ordinance(identity, level=level, overrides=overrides)


@pytest.mark.parametrize(("days", "due_on"), [(5, date(2026, 4, 6)), (30, date(2026, 5, 1))])
def test_override_wins_whether_stricter_or_not_and_says_so(days: int, due_on: date) -> None:
    district = overriding(an_override(due=After(Interval(days, Unit.DAYS))))

    (found,) = obligations([FEDERAL, district], [FOUND], holidays=[HOLIDAYS])

    assert found.due_on == due_on
    assert found.due_with_holidays_on is None
    assert found.asks == FEDERAL.get("US-441-03").asks
    assert found.override is not None
    assert str(found.override) == (
        "Changed by Ordinance district (Letter of 2 March 2026): The district's letter says so."
    )
    assert found.override.original == FEDERAL.get("US-441-03")
    assert found.ordinance == "us-federal-dental"


def test_words_alone_may_be_changed() -> None:
    district = overriding(an_override(asks="Telephone the district within ten business days."))

    (found,) = obligations([FEDERAL, district], [FOUND])

    assert found.asks == "Telephone the district within ten business days."
    assert found.due_on == date(2026, 4, 15)
    assert found.override is not None
    assert found.override.original.asks == FEDERAL.get("US-441-03").asks


def test_after_a_change_the_note_on_the_source_speaks_of_the_text_before() -> None:
    federal, _ = in_force(
        [
            FEDERAL,
            overriding(
                an_override("US-441-07", due=After(Interval(5, Unit.YEARS))),
                an_override("US-441-03", due=After(Interval(5, Unit.DAYS))),
                an_override("US-441-06", sets_aside=True),
            ),
        ]
    )
    before = {one.id: one.standing_of_source for one in FEDERAL.provisions}

    assert federal.get("US-441-07").standing_of_source == f"Of the text that was changed: {before['US-441-07']}"
    assert federal.get("US-441-03").standing_of_source == before["US-441-03"].replace(
        "NOT CONFIRMED: ", "NOT CONFIRMED: Of the text that was changed: "
    )
    assert federal.get("US-441-06").standing_of_source == before["US-441-06"]


def test_a_source_without_a_note_is_only_said_to_have_been_read_where_it_is_named() -> None:
    assert a_rule().standing_of_source == "Read in the source that its file names, 2026-11."


def test_provision_set_aside_asks_nothing_and_is_still_there() -> None:
    forces = in_force([FEDERAL, overriding(an_override(sets_aside=True))])

    assert obligations(forces, [FOUND]) == ()
    assert forces[0].get("US-441-03").is_set_aside
    assert str(forces[0].get("US-441-03").override).startswith("Set aside by Ordinance district")


def test_laying_over_twice_changes_nothing_more() -> None:
    once = in_force([FEDERAL, CONVENTIONS, overriding(an_override(due=After(Interval(5, Unit.DAYS))))])

    assert in_force(once) == once
    assert once[1] == CONVENTIONS


def test_nearest_of_two_overrides_wins() -> None:
    state = overriding(an_override(due=After(Interval(7, Unit.DAYS))), identity="state", level=Level.STATE)
    district = overriding(an_override(due=After(Interval(20, Unit.DAYS))))

    for order in ([FEDERAL, state, district], [district, state, FEDERAL]):
        (found,) = obligations(order, [FOUND])
        assert found.due_on == date(2026, 4, 21)
        assert found.override is not None
        assert found.override.by_id == "district"


def test_conventions_give_way_to_everybody_and_the_authority_before_the_office() -> None:
    def twelve_months(months: int) -> Override:
        due = After(Interval(months, Unit.MONTHS))
        return an_override("OFFICE-CONTAINER-12M", ordinance="office-conventions", due=due)

    ours = overriding(twelve_months(9), identity="our-own", level=Level.OFFICE)
    district = overriding(twelve_months(6))

    def due_on(*ordinances: Ordinance) -> list[date]:
        return [one.due_on for one in obligations(ordinances, [first_waste(date(2026, 3, 2))])]

    assert due_on(CONVENTIONS, ours) == [date(2026, 12, 2)]
    assert due_on(CONVENTIONS, ours, district) == [date(2026, 9, 2)]
    assert due_on(district, ours, CONVENTIONS) == [date(2026, 9, 2)]


def test_override_leaves_the_second_event_of_a_rule() -> None:
    district = overriding(an_override("US-441-05", due=After(Interval(24, Unit.MONTHS))))
    replaced = Trigger(
        Event.RETAINING_UNIT_REPLACED,
        date(2026, 1, 15),
        "separator",
        40,
        manual=Manual(replace_every=Interval(12, Unit.MONTHS)),
    )
    full = Trigger(Event.RETAINING_UNIT_FULL, date(2026, 11, 3), "separator", is_forecast=True)

    assert [one.due_on for one in obligations([FEDERAL, district], [replaced])] == [date(2028, 1, 15)]
    assert [one.due_on for one in obligations([FEDERAL, district], [replaced, full])] == [date(2026, 11, 3)]


def test_retention_may_be_made_lasting_by_an_override() -> None:
    district = overriding(an_override("US-441-07", due=WhileLasting(Lasting.UNTIL_TRANSFER)))

    kept = retention([FEDERAL, district], Record.PICKUP, date(2026, 5, 1))

    assert kept.longest is None
    assert [one.why for one in kept.lasting] == ["Kept until ownership is transferred."]


CONVENTIONS_OVER_THEMSELVES = replace(
    CONVENTIONS,
    file="district.toml",
    overrides=(an_override("OFFICE-FILL", ordinance="office-conventions", sets_aside=True),),
)


@pytest.mark.parametrize(
    ("ordinances", "problem"),
    [
        ([overriding(an_override())], "“us-federal-dental” is not in force"),
        ([FEDERAL, overriding(an_override("US-441-99"))], "has no provision “US-441-99”"),
        ([FEDERAL, overriding(an_override(), level=Level.FEDERAL)], "level federal cannot change one of level federal"),
        ([FEDERAL, overriding(an_override(), level=Level.OFFICE)], "level office cannot change one of level federal"),
        ([CONVENTIONS_OVER_THEMSELVES], "level office cannot change one of level office"),
        (
            [FEDERAL, overriding(an_override(due=WhileLasting(Lasting.IN_USE)))],
            "This due day does not fit US-441-03",
        ),
        (
            [FEDERAL, overriding(an_override("US-441-BMP-2", due=After(Interval(1, Unit.DAYS))))],
            "This due day does not fit US-441-BMP-2",
        ),
        (
            [FEDERAL, overriding(an_override("US-441-07", due=OnDay(date(2030, 1, 1))))],
            "This due day does not fit US-441-07",
        ),
        (
            [FEDERAL, overriding(an_override("US-441-07", due=EachYear(3, 31)))],
            "This due day does not fit US-441-07",
        ),
        (
            [FEDERAL, overriding(an_override("US-441-BMP-2", together=Together.YES))],
            "US-441-BMP-2 does not say which streams may lie together",
        ),
        (
            [FEDERAL, overriding(an_override(), level=Level.UNION)],
            "level union cannot change one of level federal",
        ),
        (
            [FEDERAL, overriding(an_override(sets_aside=True)), overriding(an_override(asks="No."), identity="city")],
            "is also changed by",
        ),
    ],
)
def test_override_that_does_not_fit_is_refused_with_its_line(ordinances: list[Ordinance], problem: str) -> None:
    with pytest.raises(BadOrdinance) as refused:
        obligations(ordinances, [FOUND])

    (fault,) = refused.value.faults
    assert problem in fault.problem
    assert fault.line == 17
    assert fault.file in ("district.toml", "city.toml")


def test_a_name_that_is_nearly_right_is_asked_after() -> None:
    nearly = overriding(an_override(ordinance="us-federal-dentl"), an_override("US-441-7"))
    with pytest.raises(BadOrdinance) as refused:
        in_force([FEDERAL, nearly])

    assert [fault.accepted.split(" is meant.")[0] for fault in refused.value.faults] == [
        "Perhaps “us-federal-dental”",
        "Perhaps “US-441-07”",
    ]


def test_two_files_of_one_id_are_refused() -> None:
    with pytest.raises(BadOrdinance, match="in force twice"):
        in_force([FEDERAL, FEDERAL])


def test_rules_added_by_a_local_file_stand_beside_the_others() -> None:
    district = an_ordinance("district", a_rule("D-1", due=After(Interval(6, Unit.MONTHS))))

    found = obligations([CONVENTIONS, district], [first_waste(date(2026, 3, 2))])

    assert [(one.rule, one.due_on, one.binds) for one in found] == [
        ("D-1", date(2026, 9, 2), True),
        ("OFFICE-CONTAINER-12M", date(2027, 3, 2), False),
    ]


def test_provision_is_found_by_its_id() -> None:
    ordinance, rule = get_provision([FEDERAL, CONVENTIONS], "US-441-03")

    assert (ordinance.id, rule.citation) == ("us-federal-dental", "40 CFR 441.30(a)(1)(v)")
    with pytest.raises(Unknown, match="US-441-99"):
        get_provision([FEDERAL], "US-441-99")


def test_equal_ids_are_told_apart_by_their_ordinance() -> None:
    twins = [an_ordinance("one", a_rule("R-1")), an_ordinance("two", a_rule("R-1", kind=Kind.DEADLINE))]

    with pytest.raises(Unknown) as refused:
        get_provision(twins, "R-1")
    assert refused.value.hint == "Write one:R-1 or two:R-1."
    assert get_provision(twins, "two:R-1")[0].id == "two"


STARTER = read_ordinance(
    re.sub(r"(?m)^#(?=[^ #])", "", resources.find("ordinances/local-starter.toml").read_text("utf-8"))
)
EVERYTHING = replace(STARTER, id="everything", level=Level.STATE, overrides=())


@pytest.mark.parametrize("provision", EVERYTHING.provisions, ids=lambda provision: type(provision).__name__)
def test_a_word_is_laid_over_every_kind_of_provision(provision: Provision) -> None:
    other = an_override(provision.id, ordinance="everything", asks="Ask the district first.")

    changed = in_force([EVERYTHING, overriding(other)])[0].get(provision.id)
    left_out = in_force([EVERYTHING, overriding(replace(other, asks="", sets_aside=True))])[0].get(provision.id)

    assert (changed.asks, changed.is_set_aside) == ("Ask the district first.", False)
    assert changed.override is not None
    assert changed.override.original == provision
    assert left_out.is_set_aside
    assert replace(left_out, override=None) == provision


def test_every_kind_of_provision_is_among_those_laid_over() -> None:
    # By name: a class with slots is made twice, and its first form is still listed.
    every = {kind.__name__ for kind in Provision.__subclasses__()}

    assert {type(provision).__name__ for provision in EVERYTHING.provisions} == every


def test_nearer_word_on_two_streams_is_laid_over_and_known_as_such() -> None:
    sharing = EVERYTHING.sharings[0]
    other = an_override(sharing.id, ordinance="everything", together=Together.OWN_LID)

    changed = in_force([EVERYTHING, overriding(other)])[0].get(sharing.id)

    assert isinstance(changed, SharingRule)
    assert (sharing.together, changed.together) == (Together.NO, Together.OWN_LID)
    assert changed.override is not None
    assert changed.override.together is Together.OWN_LID


def test_national_law_gives_way_to_its_states_and_not_to_the_union() -> None:
    nation = an_ordinance("nation", a_rule("N-1"), level=Level.NATIONAL)
    other = an_override("N-1", ordinance="nation", asks="Other words.")

    state = overriding(other, identity="state", level=Level.STATE)
    assert in_force([nation, state])[0].get("N-1").asks == "Other words."
    with pytest.raises(BadOrdinance, match="union, then federal, then national, then state, then local"):
        in_force([nation, overriding(other, level=Level.UNION)])


def test_a_letter_of_the_authority_may_change_its_printed_code() -> None:
    code = an_ordinance("code", a_rule("C-1"))
    letter = an_ordinance("letter", overrides=(an_override("C-1", ordinance="code", asks="Within a month."),))

    changed, _ = in_force([code, letter])

    assert changed.get("C-1").asks == "Within a month."


def test_two_local_files_that_change_each_other_are_refused() -> None:
    one = an_ordinance("one", a_rule("A"), overrides=(an_override("B", ordinance="two", asks="This."),))
    two = an_ordinance("two", a_rule("B"), overrides=(an_override("A", ordinance="one", asks="That."),))

    with pytest.raises(BadOrdinance, match="cannot change"):
        in_force([one, two])
