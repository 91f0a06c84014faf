"""Days and figures that authorities outside 40 CFR 262 set, worked out by hand and counted independently.

As read in November 2026: Regulation (EU) 2017/852, Article 10, consolidated to 30 July 2024 (CELEX
02017R0852-20240730); Abwasserverordnung, Anhang 50 E(2); Hazardous Waste (England and Wales) Regulations 2005, reg. 49
and 53(4); SI 2025/1189; Oxford County, Dental Safety; 38 M.R.S. 1667; R.I.G.L. 23-24.9-9.2; N.H. Env-Wq 306.04;
40 CFR 441.10 and 441.50(a) in the copy of Wis. Admin. Code NR 229 (2022); the pages of Dublin San Ramon Services
District (2024), King County and the Washington Department of Ecology. What of these is from memory the files say.

The references that we did not make: numpy's ``datetime64`` and ``busday_offset``, and the days that the texts print.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest

from tests.ordinance.makers import FEDERAL, shipped
from wasteledger.ordinance import (
    Basis,
    Event,
    Interval,
    Manual,
    Obligation,
    Ordinance,
    Record,
    Trigger,
    Unit,
    cleaner_findings,
    obligations,
    removal_minimum,
    retention,
    undated,
)
from wasteledger.ordinance.circumstances import Circumstances, out_of_scope
from wasteledger.ordinance.words import Specialty, Wastewater

DSRSD = shipped("us-california-dsrsd")
ENGLAND = shipped("uk-england")
EU = shipped("eu-2017-852")
GERMANY = shipped("de-abwv-50")
KING = shipped("us-washington-king-county")
MAINE = shipped("us-maine")
NEW_HAMPSHIRE = shipped("us-new-hampshire")
NORTHERN_IRELAND = shipped("uk-northern-ireland")
OREGON = shipped("us-oregon")
OXFORD = shipped("ca-ontario-oxford")
PALO_ALTO = shipped("us-california-palo-alto")
RHODE_ISLAND = shipped("us-rhode-island")

ONE_DAY = timedelta(days=1)


def the_obligation(ordinance: Ordinance, rule: str, *triggers: Trigger) -> Obligation:
    """The one obligation that *rule* of the file gives."""
    (found,) = [one for one in obligations([ordinance], triggers) if one.rule == rule]
    return found


def years_later(start: date, years: int) -> date:
    """The same day of a later year by numpy; only for days that every year has."""
    month = np.datetime64(start.isoformat()[:7]) + 12 * years
    return date.fromisoformat(str(month.astype("datetime64[D]") + (start.day - 1)))


def test_e40_oxford_county_ninety_days_from_the_filling() -> None:
    """Oxford County, Dental Safety: shipped within 90 days of being filled, and not of the first waste in it."""
    filled = Trigger(Event.CONTAINER_FULL, date(2026, 6, 1), "container C1", 8)
    first_waste = Trigger(Event.CONTAINER_FIRST_WASTE, date(2026, 3, 2), "container C1", 2)

    (found,) = obligations([OXFORD], [filled, first_waste])

    assert (found.rule, found.trigger_seq) == ("ON-01", 8)
    assert found.due_on == date(2026, 8, 30)
    assert (filled.on.strftime("%a"), found.due_on.strftime("%a")) == ("Mon", "Sun")
    assert np.datetime64(filled.on) + np.timedelta64(90, "D") == np.datetime64(found.due_on)
    assert found.advised_on == date(2026, 8, 28)
    assert "first enters the container" in found.standing_of_source


def test_e41_germany_five_years_from_the_last_check() -> None:
    """AbwV, Anhang 50 E(2) 5: checked at intervals of at most five years."""
    found = the_obligation(GERMANY, "DE-01", Trigger(Event.SEPARATOR_TESTED, date(2024, 9, 12), "separator", 4))

    assert found.due_on == date(2029, 9, 12)
    assert (found.trigger_on.strftime("%a"), found.due_on.strftime("%a")) == ("Thu", "Wed")
    assert found.due_on == years_later(found.trigger_on, 5)


def test_germany_check_on_record_counts_from_its_own_day() -> None:
    """Anhang 50 E(2) 5: before first use, then within five years; the check's own day binds."""
    installed = Trigger(Event.SEPARATOR_INSTALLED, date(2021, 5, 3), "separator", 1)
    before_first_use = Trigger(Event.SEPARATOR_TESTED, date(2021, 4, 28), "separator", 2)

    unchecked = obligations([GERMANY], [installed])
    checked = obligations([GERMANY], [installed, before_first_use])

    assert [(one.rule, one.due_on) for one in unchecked] == [("DE-01-INSTALLED", date(2026, 5, 3))]
    assert [(one.rule, one.due_on, one.binds) for one in checked] == [
        ("DE-01", date(2026, 4, 28), True),
        ("DE-01-INSTALLED", date(2026, 5, 3), False),
    ]


def test_germany_check_recorded_as_done_starts_the_next_five_years() -> None:
    """Anhang 50 E(2) 5: the check of 20 April 2026 answers what was due from the installation."""
    installed = Trigger(Event.SEPARATOR_INSTALLED, date(2021, 5, 3), "separator", 1)
    checked = Trigger(Event.DUTY_DONE, date(2026, 4, 20), "separator", 9, duty="test-separator")

    (found,) = obligations([GERMANY], [installed, checked])

    assert (found.rule, found.trigger_seq) == ("DE-01", 9)
    assert found.due_on == years_later(checked.on, 5) == date(2031, 4, 20)


PRINTED_RETURN_DAYS = {1: (4, 30), 2: (7, 31), 3: (10, 31), 4: (1, 31)}
"""Reg. 53(4) of the 2005 regulations: by quarter, the month and day of the return; the fourth in the next year."""


def test_e42_england_return_by_the_end_of_the_month_after_the_quarter() -> None:
    """Hazardous Waste Regulations 2005, reg. 53(4); that it holds for the producer's copy (54) is from memory."""
    found = the_obligation(ENGLAND, "UK-02", Trigger(Event.PICKUP_RECEIVED, date(2026, 11, 10), "pickup P1", 30))

    assert found.due_on == date(2027, 1, 31)
    assert (found.trigger_on.strftime("%a"), found.due_on.strftime("%a")) == ("Tue", "Sun")
    assert found.advised_on == date(2027, 1, 29)
    assert found.basis is Basis.CALENDAR
    assert found.standing_of_source.startswith("NOT CONFIRMED")


@pytest.mark.parametrize("year", [2024, 2026, 2027])
def test_reg_53_4_prints_one_day_for_each_quarter(year: int) -> None:
    """Every day of a year leads to the day that reg. 53(4) prints for its quarter; 2024 has a leap day."""
    received = [
        date(year, 1, 1) + timedelta(days=n) for n in range(366) if (date(year, 1, 1) + n * ONE_DAY).year == year
    ]
    triggers = [Trigger(Event.PICKUP_RECEIVED, on, f"pickup {on}", 1) for on in received]

    found = {one.trigger_on: one.due_on for one in obligations([ENGLAND], triggers) if one.rule == "UK-02"}

    assert sorted(found) == received
    for on, due_on in found.items():
        quarter = (on.month + 2) // 3
        assert due_on == date(year + (quarter == 4), *PRINTED_RETURN_DAYS[quarter])


@pytest.mark.parametrize("record", [Record.CONSIGNMENT_NOTE, Record.CONSIGNEE_RETURN, Record.PICKUP])
@pytest.mark.parametrize("ordinance", [ENGLAND, NORTHERN_IRELAND], ids=["England", "Northern Ireland"])
def test_e43_register_of_notes_and_returns_for_three_years(ordinance: Ordinance, record: Record) -> None:
    """Hazardous Waste Regulations 2005, reg. 49, and the agencies' guidance: three years from note or return."""
    kept = retention([ordinance], record, date(2026, 11, 10))

    assert kept.longest is not None
    assert kept.longest.due_on == date(2029, 11, 10)
    assert kept.longest.due_on.strftime("%a") == "Sat"
    assert kept.longest.due_on == years_later(date(2026, 11, 10), 3)


def standing_on(ordinance: Ordinance, day: date) -> set[str]:
    """Ids of the provisions that stand on a day."""
    return {one.id for one in ordinance.provisions if one.stands_on(day)}


def test_e44_on_1_july_2026_the_longer_use_is_over_and_the_import_ban_is_on() -> None:
    """Article 10(2a) and (7): nothing else of the file changes between 30 June and 1 July 2026."""
    before, after = standing_on(EU, date(2026, 6, 30)), standing_on(EU, date(2026, 7, 1))

    assert before - after == {"EU-01"}
    assert after - before == {"EU-02"}
    assert EU.get("EU-01").citation == "Regulation (EU) 2017/852, Art. 10(2a)"
    assert EU.get("EU-02").citation == "Regulation (EU) 2017/852, Art. 10(7)"
    assert (date(2026, 6, 30).strftime("%a"), date(2026, 7, 1).strftime("%a")) == ("Tue", "Wed")


def test_e44_separator_and_waste_duties_are_unchanged() -> None:
    """Article 10(4), (5), (6): they stand on both days, and the same days follow from the maker's schedule."""
    unchanged = {
        "EU-SEPARATOR",
        "EU-REMOVAL-NEW",
        "EU-REMOVAL-ALL",
        "EU-INSPECT",
        "EU-RETAINING-UNIT",
        "EU-STANDARD",
        "EU-WASTE",
    }
    manual = Manual(inspect_every=Interval(30, Unit.DAYS), replace_every=Interval(12, Unit.MONTHS))

    for day in (date(2026, 6, 30), date(2026, 7, 1)):
        assert unchanged <= standing_on(EU, day)
        inspected = Trigger(Event.SEPARATOR_INSPECTED, day, "separator", 5, manual)
        replaced = Trigger(Event.RETAINING_UNIT_REPLACED, day, "separator", 6, manual)
        assert {one.rule: one.due_on for one in obligations([EU], [inspected, replaced])} == {
            "EU-INSPECT": date.fromisoformat(str(np.datetime64(day) + np.timedelta64(30, "D"))),
            "EU-RETAINING-UNIT": years_later(day, 1),
        }


@pytest.mark.parametrize(
    ("provision", "first_day"),
    [
        pytest.param("EU-GROUPS", date(2018, 7, 1), id="10(2)"),
        pytest.param("EU-CAPSULES", date(2019, 1, 1), id="10(1)"),
        pytest.param("EU-SEPARATOR", date(2019, 1, 1), id="10(4)"),
        pytest.param("EU-REMOVAL-ALL", date(2021, 1, 1), id="10(4)(b)"),
        pytest.param("EU-USE", date(2025, 1, 1), id="10(2a)"),
        pytest.param("EU-EXPORT", date(2025, 1, 1), id="10(7), export"),
        pytest.param("EU-02", date(2026, 7, 1), id="10(7), import"),
    ],
)
def test_article_10_each_paragraph_from_its_day(provision: str, first_day: date) -> None:
    """Regulation (EU) 2017/852, Article 10: the days that its paragraphs print, and nothing on the day before."""
    assert EU.get(provision).stands_on(first_day)
    assert not EU.get(provision).stands_on(first_day - ONE_DAY)


def test_si_2025_1189_use_ends_with_2034() -> None:
    """SI 2025/1189: use may go on until 31 December 2034; the working day before that Sunday is advice."""
    found = the_obligation(NORTHERN_IRELAND, "NI-01", Trigger(Event.IN_FORCE, date(2026, 11, 25), "site", 3))

    assert found.due_on == date(2034, 12, 31)
    assert found.due_on.strftime("%a") == "Sun"
    assert found.advised_on == date.fromisoformat(str(np.busday_offset("2034-12-31", 0, roll="backward")))


@pytest.mark.parametrize("provision", ["NI-EXPORT", "NI-MANUFACTURE"])
def test_si_2025_1189_carries_nothing_before_it_was_in_force(provision: str) -> None:
    """SI 2025/1189, in force 3 December 2025: an older day of a ban is said in words, and is not the instrument's."""
    cited = NORTHERN_IRELAND.get(provision)

    assert cited.citation == "SI 2025/1189"
    assert not cited.stands_on(date(2025, 12, 2))
    assert cited.stands_on(date(2026, 7, 1))
    assert NORTHERN_IRELAND.get("NI-EXPORT").stands_on(date(2025, 12, 3))
    assert "1 January 2025" in NORTHERN_IRELAND.get("NI-EXPORT").asks


@pytest.mark.parametrize(
    ("ordinance", "installed_on", "percent", "provision"),
    [
        pytest.param(MAINE, date(2003, 3, 19), 95, "ME-REMOVAL-EARLY", id="38 M.R.S. 1667, the day before"),
        pytest.param(MAINE, date(2003, 3, 20), 98, "ME-REMOVAL", id="38 M.R.S. 1667, the day itself"),
        pytest.param(RHODE_ISLAND, date(2026, 1, 5), 99, "RI-REMOVAL", id="R.I.G.L. 23-24.9-9.2"),
        pytest.param(GERMANY, date(2026, 1, 5), 95, "DE-REMOVAL", id="AbwV, Anhang 50 E"),
        pytest.param(EU, date(2017, 12, 31), 95, "EU-REMOVAL-ALL", id="Article 10(4)(b)"),
        pytest.param(EU, date(2018, 1, 1), 95, "EU-REMOVAL-NEW", id="Article 10(4)(a)"),
    ],
)
def test_least_removal_by_day_of_installation(
    ordinance: Ordinance, installed_on: date, percent: int, provision: str
) -> None:
    """The shares that the named texts print, on both sides of the days that part them."""
    found = removal_minimum([ordinance], installed_on)

    assert found is not None
    assert (found.provision.at_least_percent, found.provision.id) == (Decimal(percent), provision)


def test_stricter_state_sets_the_least_removal_beside_the_federal_rule() -> None:
    """Maine's 98 percent stand over the federal 95, its 95 of early units beside them."""
    assert [
        found.provision.at_least_percent
        for on in (date(2001, 5, 1), date(2020, 5, 1))
        if (found := removal_minimum([FEDERAL, MAINE], on)) is not None
    ] == [95, 98]


@pytest.mark.parametrize(
    ("in_force_on", "due_on", "weekday"),
    [
        pytest.param(date(2024, 6, 3), date(2024, 12, 15), "Sun", id="the printed day, 2024"),
        pytest.param(date(2026, 12, 15), date(2026, 12, 15), "Tue", id="put in force on the day itself"),
        pytest.param(date(2026, 12, 16), date(2027, 12, 15), "Wed", id="a day too late for that year"),
    ],
)
def test_dsrsd_yearly_amounts(in_force_on: date, due_on: date, weekday: str) -> None:
    """Dublin San Ramon Services District: 15 December 2024 was printed; other years are marked as not confirmed."""
    found = the_obligation(DSRSD, "DSRSD-01", Trigger(Event.IN_FORCE, in_force_on, "site", 2))

    assert found.due_on == due_on
    assert found.due_on.strftime("%a") == weekday
    assert not found.confirmed
    assert "any year but 2024" in found.standing_of_source


def test_dsrsd_report_sent_in_early_december_answers_that_year() -> None:
    """The district's report of one year sent: the next is due a year on."""
    in_force = Trigger(Event.IN_FORCE, date(2026, 10, 5), "site", 2)
    sent = Trigger(Event.DUTY_DONE, date(2026, 12, 3), "site", 44, duty="report-amounts")

    assert the_obligation(DSRSD, "DSRSD-01", in_force).due_on == date(2026, 12, 15)
    assert the_obligation(DSRSD, "DSRSD-01", in_force, sent).due_on == date(2027, 12, 15)


def test_king_county_report_is_the_federal_report() -> None:
    """The county repeats 40 CFR 441.50(a)(1)(ii) and (a)(4): one filing answers both, so only one of them binds."""
    for event, federal_rule, county_rule in (
        (Event.FIRST_DISCHARGE, "US-441-01", "KING-01"),
        (Event.OWNERSHIP_TRANSFERRED, "US-441-02", "KING-02"),
    ):
        found = obligations([FEDERAL, KING], [Trigger(event, date(2026, 3, 2), "site", 7)])

        assert [(one.rule, one.due_on, one.binds) for one in found] == [
            (federal_rule, date(2026, 5, 31), True),
            (county_rule, date(2026, 5, 31), False),
        ]
        assert [(other.rule, other.is_same_rule) for other in found[0].also] == [(county_rule, True)]


def test_washington_manifests_for_five_years() -> None:
    """Washington Department of Ecology, recordkeeping: five years; no other record of this file has a term."""
    kept = retention([KING], Record.MANIFEST, date(2026, 5, 1))

    assert kept.longest is not None
    assert (kept.longest.rule, kept.longest.due_on) == ("WA-MANIFEST", date(2031, 5, 1))
    assert kept.longest.due_on.strftime("%a") == "Thu"
    assert kept.longest.due_on == years_later(date(2026, 5, 1), 5)
    assert retention([KING], Record.PICKUP, date(2026, 5, 1)).longest is None


@pytest.mark.parametrize("ordinance", [OREGON, RHODE_ISLAND], ids=["ORS 679.520", "250-RICR-140-20-3.15"])
def test_state_logs_for_three_years_beside_the_federal_three(ordinance: Ordinance) -> None:
    """Three years each: on one day the federal rule stands first, and the state's beside it."""
    kept = retention([FEDERAL, ordinance], Record.SEPARATOR_REPAIR, date(2028, 2, 29))

    assert kept.longest is not None
    assert kept.longest.rule == "US-441-07"
    assert kept.longest.due_on == date(2031, 3, 1)
    assert [(other.ordinance, other.due_on) for other in kept.longest.also] == [(ordinance.id, date(2031, 3, 1))]


def test_441_50_a_1_i_offices_from_before_the_rule_had_a_day_of_their_own() -> None:
    """40 CFR 441.50(a)(1)(i) prints 12 October 2020; ninety days (ii) are for those that came after 14 July 2017."""
    for on, rule, due_on, weekday in (
        (date(1998, 5, 4), "US-441-EXISTING", date(2020, 10, 12), "Mon"),
        (date(2017, 7, 14), "US-441-EXISTING", date(2020, 10, 12), "Mon"),
        (date(2017, 7, 15), "US-441-01", date(2017, 10, 13), "Fri"),
    ):
        (found,) = obligations([FEDERAL], [Trigger(Event.FIRST_DISCHARGE, on, "site", 2)])

        assert (found.rule, found.due_on, found.due_on.strftime("%a")) == (rule, due_on, weekday)


def test_441_10_f_emergencies_only_leave_the_report() -> None:
    """40 CFR 441.10(f): certified in the one-time report; everything else of the part falls away."""
    manual = Manual(Interval(30, Unit.DAYS), Interval(12, Unit.MONTHS))
    triggers = [
        Trigger(Event.FIRST_DISCHARGE, date(2026, 3, 2), "site", 1),
        Trigger(Event.SEPARATOR_INSTALLED, date(2026, 3, 2), "separator", 2, manual),
        Trigger(Event.MALFUNCTION_FOUND, date(2026, 4, 1), "separator", 3, manual),
    ]

    everything = {one.rule for one in obligations([FEDERAL], triggers)}
    left = obligations([FEDERAL], triggers, circumstances=Circumstances(only_emergencies=True))

    assert everything == {"US-441-01", "US-441-03", "US-441-05", "US-441-06"}
    assert [one.rule for one in left] == ["US-441-01"]


def test_env_wq_306_covers_septic_systems_where_the_federal_rule_does_not() -> None:
    """N.H. Env-Wq 306 against 40 CFR 441.10(e): the state's day for old separators stays on a septic system."""
    septic = Circumstances(wastewater=Wastewater.SEPTIC)
    old_unit = Trigger(Event.SEPARATOR_INSTALLED, date(2015, 5, 20), "separator", 3)

    found = obligations([FEDERAL, NEW_HAMPSHIRE], [old_unit], circumstances=septic)

    assert [(one.rule, one.due_on) for one in found] == [("NH-LEGACY", date(2027, 6, 14))]
    assert [out.ordinance.id for out in out_of_scope([FEDERAL, NEW_HAMPSHIRE], septic)] == ["us-federal-dental"]


def test_441_10_c_specialties_are_out_and_endodontics_is_in() -> None:
    """40 CFR 441.10(c): six specialties, practised exclusively."""
    listed = frozenset(Specialty) - {Specialty.ENDODONTICS}

    for specialty in Specialty:
        out = out_of_scope([FEDERAL], Circumstances(specialties=frozenset({specialty})))
        assert bool(out) == (specialty in listed), specialty


def test_palo_alto_bars_bleach_and_chlorine_and_names_no_band() -> None:
    """Palo Alto Municipal Code, dental section: two substances; the federal rule adds the band of 6 to 8."""
    bleach = cleaner_findings([PALO_ALTO], ph_low_tenths=110, oxidiser=True, chemistry=["household bleach"])
    mild = cleaner_findings([PALO_ALTO], ph_low_tenths=70, oxidiser=False, chemistry=["enzymes"])
    acid = cleaner_findings([PALO_ALTO], ph_low_tenths=30, oxidiser=False, chemistry=["citric acid"])
    acid_federal = cleaner_findings([FEDERAL, PALO_ALTO], ph_low_tenths=30, oxidiser=False, chemistry=["citric acid"])

    assert [(one.rule, one.words) for one in bleach] == [("PALO-ALTO-CLEANERS", "The cleaner contains bleach.")]
    assert (mild, acid) == ((), ())
    assert [one.rule for one in acid_federal] == ["US-441-BMP-2"]


@pytest.mark.parametrize("ordinance", [EU, GERMANY], ids=["Article 10(4)", "Anhang 50 E(2)"])
def test_maintenance_by_the_maker_sets_no_interval_of_its_own(ordinance: Ordinance) -> None:
    """By the maker's instructions, or by the approval: without them entered there is a gap, and no day is made up."""
    installed = Trigger(Event.SEPARATOR_INSTALLED, date(2026, 3, 2), "separator", 2)

    by_maker = {"inspect-separator", "replace-retaining-unit"}
    assert [one for one in obligations([ordinance], [installed]) if one.duty in by_maker] == []
    assert {gap.duty for gap in undated([ordinance], [installed]) if gap.is_gap} == by_maker
