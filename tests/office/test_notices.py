"""What a dated duty is called outside: a name that stays, and words that say who asks and how sure that is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.makers import Clinic, a_repair, an_inspection, an_opening
from tests.office.places import A_LOCAL_RULE, CONVENTIONS, FEDERAL, a_place, put_in_force
from wasteledger.model.entries import Milestone
from wasteledger.office.due import DueList, due
from wasteledger.office.notices import changed_by, lines_of, notices_of
from wasteledger.ordinance import AppliedOverride, Basis, Kind, Level, Obligation, OtherDay, read_ordinance
from wasteledger.resources import find


def an_obligation(clinic: Clinic, **changes: object) -> Obligation:
    """The ten business days after a malfunction, changed."""
    place = a_place(clinic, FEDERAL)
    clinic.record(an_inspection("malfunction"))
    found = next(one for one in due(place).obligations if one.rule == "US-441-03")
    return replace(found, **changes)  # type: ignore[arg-type]


def listed(*obligations: Obligation) -> DueList:
    return DueList(date(2026, 3, 2), obligations)


def identities(*obligations: Obligation) -> list[str]:
    return [one.identity for one in notices_of(listed(*obligations))]


def another(ordinance: str) -> OtherDay:
    return OtherDay(
        rule="X-1",
        ordinance=ordinance,
        ordinance_title=ordinance,
        level=Level.LOCAL,
        due_on=date(2026, 4, 1),
        citation="1-1",
        confirmed=True,
        is_same_rule=True,
    )


def test_a_name_does_not_change_with_day_rule_or_ordinance(clinic: Clinic) -> None:
    one = an_obligation(clinic)
    moved = replace(one, due_on=date(2027, 1, 1), rule="RD-9", ordinance="river-district", trigger_seq=99)

    assert identities(one) == identities(moved)
    assert identities(one) != identities(replace(one, subject="separator SEP-2"))
    assert identities(one) != identities(replace(one, duty="own-look"))


def test_a_paper_is_owed_to_each_authority_by_itself(clinic: Clinic) -> None:
    one = an_obligation(clinic, duty="certify", subject="site")
    two = replace(one, ordinance="river-district")

    assert len(set(identities(one, two))) == 2


def test_one_clause_restated_by_two_has_one_name_whichever_binds(clinic: Clinic) -> None:
    one = an_obligation(clinic, duty="certify", subject="site", ordinance="a-state", also=(another("b-city"),))
    two = replace(
        one, ordinance="b-city", rule=another("b-city").rule, also=(replace(another("a-state"), rule=one.rule),)
    )

    assert identities(one) == identities(two)


def test_no_two_duties_of_a_list_share_a_name_and_the_first_keeps_its_own(clinic: Clinic) -> None:
    one = an_obligation(clinic, rule="A-1")
    two, three = replace(one, rule="A-2"), replace(one, rule="A-2", trigger_seq=one.trigger_seq + 1)

    together = identities(three, one, two)
    assert len(set(together)) == 3
    assert identities(one)[0] == together[1]
    assert identities(two, one, three) == [together[2], together[1], together[0]]


def test_every_name_of_a_full_list_is_its_own(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL, CONVENTIONS)
    put_in_force(clinic, "river-district", A_LOCAL_RULE)
    for body in (
        an_opening(),
        an_opening("C-2"),
        an_inspection("malfunction"),
        a_repair(),
        an_inspection("malfunction"),
    ):
        clinic.record(body)
    clinic.record(Milestone(what="first_discharge"))

    names = [one.identity for one in notices_of(due(place))]
    assert len(names) == len(set(names)) > 2


def test_how_long_a_record_is_kept_is_no_notice(clinic: Clinic) -> None:
    one = an_obligation(clinic)

    assert notices_of(listed(replace(one, kind=Kind.RETENTION))) == ()


@pytest.mark.parametrize(
    ("changes", "line"),
    [
        ({"basis": Basis.FORECAST}, "This day is a forecast, an estimate: it moves with what is recorded."),
        ({"opens_on": date(2026, 3, 1)}, "Not before: 1 March 2026."),
        ({"advised_on": date(2026, 3, 13)}, "Last working day before: 13 March 2026."),
        ({"due_with_holidays_on": date(2026, 3, 17)}, "If holidays do not count as business days: 17 March 2026."),
        ({"condition": "where the unit is full"}, "Where the unit is full."),
        ({"also": (another("b-city"),)}, "Also by 1 April 2026: b-city, 1-1, the same clause."),
    ],
)
def test_a_notice_says_what_its_day_rests_on(clinic: Clinic, changes: dict[str, object], line: str) -> None:
    one = an_obligation(clinic)
    plain = replace(one, advised_on=one.due_on, due_with_holidays_on=None)

    assert line in list(lines_of(replace(plain, **changes)))  # type: ignore[arg-type]
    assert line not in list(lines_of(plain))


@pytest.mark.parametrize(
    ("since", "due_on", "says"),
    [
        (date(2033, 3, 1), date(2033, 3, 15), "Holidays of 2033 are not listed here: no later reading is told."),
        (
            date(2032, 12, 16),
            date(2032, 12, 30),
            "Holidays of 2032 to 2033 are not all listed here: no later reading is told.",
        ),
    ],
)
def test_holidays_that_are_not_listed_are_said_not_to_be(clinic: Clinic, since: date, due_on: date, says: str) -> None:
    one = an_obligation(clinic, trigger_on=since, due_on=due_on, due_with_holidays_on=None, holidays_unknown=True)

    assert says in list(lines_of(one))
    assert not [line for line in lines_of(replace(one, holidays_unknown=False)) if "oliday" in line]
    # The day of a second event was not counted.
    assert not [line for line in lines_of(replace(one, basis=Basis.EVENT)) if "oliday" in line]


def test_a_malfunction_of_a_year_beyond_the_list_says_that_its_holidays_are_not_known(clinic: Clinic) -> None:
    """40 CFR 441.30(a)(1)(v), ten business days; the shipped list of federal holidays ends with 2032."""
    place = a_place(clinic, FEDERAL)
    clinic.watch.wait(days=(date(2033, 3, 1) - date(2026, 3, 2)).days)
    clinic.record(an_inspection("malfunction"))
    (repair,) = (one for one in due(place).obligations if one.rule == "US-441-03")

    assert "Holidays of 2033 are not listed here: no later reading is told." in list(lines_of(repair))


def test_who_changed_a_rule_is_said_in_few_words(clinic: Clinic) -> None:
    rule = next(one for one in read_ordinance(find(f"ordinances/{FEDERAL}.toml")).rules if one.id == "US-441-03")
    change = AppliedOverride("marsh", "Marsh Town code", "Told so.", "Letter", True, "", False, rule)

    assert changed_by(change) == "Changed by Marsh Town code, Letter."
    assert changed_by(replace(change, confirmed=False, sets_aside=True)) == (
        "Set aside by Marsh Town code, Letter; NOT CONFIRMED, not read at its source."
    )
    assert changed_by(None) == ""


def test_what_was_not_read_is_marked(clinic: Clinic) -> None:
    one = an_obligation(clinic)

    assert not [line for line in lines_of(replace(one, confirmed=True)) if "NOT CONFIRMED" in line]
    assert [line for line in lines_of(replace(one, confirmed=False)) if "NOT CONFIRMED" in line]
    unsure = replace(another("b-city"), confirmed=False)
    assert [line for line in lines_of(replace(one, confirmed=True, also=(unsure,))) if "NOT CONFIRMED" in line]
