"""Reading what is asked of containers, sharing, shipments, categories and reports, and days of the calendar."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from tests.ordinance.test_reader import HEAD, RULE, faults_of
from wasteledger.ordinance import BadOrdinance, Event, Ordinance, read_ordinance
from wasteledger.ordinance.rules import AfterQuarter, Due, EachYear, EveryYears
from wasteledger.ordinance.words import (
    ContainerNeed,
    LabelElement,
    Level,
    Regime,
    ReportField,
    ReportKind,
    ShipmentName,
    ShippingPaper,
    ShownBy,
    Together,
    Years,
)

SAID = """\
title = "Title"
asks = "As it says."
citation = "Section"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
"""


def read(*tables: str) -> Ordinance:
    return read_ordinance(HEAD + "".join(tables))


def a_table(kind: str, lines: str = "", identity: str = "RD-1") -> str:
    return f'[[{kind}]]\nid = "{identity}"\n{SAID}{lines}\n'


def a_due(due: str, kind: str = "deadline") -> str:
    more = '\nrecords = "pickup"' if kind == "retention" else ""
    return RULE.replace("{ days = 90 }", due).replace('kind = "deadline"', f'kind = "{kind}"{more}')


# -- due days of the calendar ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("due", "read_as"),
    [
        ('{ each = "04-01" }', EachYear(4, 1, Years.ALL, None)),
        # 310 CMR 73 asks by 31 March of even years, 10 V.S.A. 7110 by 31 January of odd ones (both read 2026-11).
        ('{ each = "03-31", years = "even" }', EachYear(3, 31, Years.EVEN, None)),
        ('{ each = "01-31", years = "odd" }', EachYear(1, 31, Years.ODD, None)),
        # New Jersey's agency opens the window on 1 January (read 2026-11).
        ('{ each = "03-31", years = "all", opens = "01-01" }', EachYear(3, 31, Years.ALL, (1, 1))),
        ('{ each = "01-31", opens = "11-01" }', EachYear(1, 31, Years.ALL, (11, 1))),
        # 40 CFR 262.18(d)(1) asks on 1 September 2021 and every four years (from memory).
        ("{ from = 2021-09-01, every_years = 4 }", EveryYears(date(2021, 9, 1), 4)),
        ("{ after_quarter_months = 1 }", AfterQuarter(1)),
    ],
)
def test_days_of_the_calendar_are_read(due: str, read_as: Due) -> None:
    assert read(a_due(due)).rules[0].due == read_as


@pytest.mark.parametrize(
    ("due", "key"),
    [
        ('{ each = "02-29" }', "rule[1].due.each"),
        ('{ each = "13-01" }', "rule[1].due.each"),
        ('{ each = "3-31" }', "rule[1].due.each"),
        ("{ each = 2026-03-31 }", "rule[1].due.each"),
        ('{ each = "04-31" }', "rule[1].due.each"),
        ('{ each = "03-31", years = "leap" }', "rule[1].due.years"),
        ('{ each = "03-31", years = 3 }', "rule[1].due.years"),
        ('{ each = "03-31", opens = "02-30" }', "rule[1].due.opens"),
        ('{ each = "03-31", days = 3 }', "rule[1].due"),
        ('{ days = 90, opens = "01-01" }', "rule[1].due.opens"),
        ("{ every_years = 4 }", "rule[1].due.from"),
        ("{ from = 2021-09-01 }", "rule[1].due"),
        ("{ from = 2021-09-01, every_years = 0 }", "rule[1].due.every_years"),
        ("{ after_quarter_months = 13 }", "rule[1].due.after_quarter_months"),
        ('{ after_quarter_months = 1 }\nor_when = "container_full"', "rule[1].or_when"),
        ('{ each = "03-31" }\nor_when = "container_full"', "rule[1].or_when"),
    ],
)
def test_day_of_the_calendar_that_is_none_is_refused(due: str, key: str) -> None:
    assert [named for _, named in faults_of(HEAD + a_due(due))] == [key]


@pytest.mark.parametrize(
    "due", ['{ each = "03-31" }', "{ from = 2021-09-01, every_years = 4 }", "{ after_quarter_months = 1 }"]
)
def test_no_record_is_kept_until_a_day_of_the_calendar(due: str) -> None:
    assert [named for _, named in faults_of(HEAD + a_due(due, "retention"))] == ["rule[1].due"]


def test_years_are_even_odd_or_all() -> None:
    assert [years.has(2028) for years in Years] == [True, True, False]
    assert [years.has(2027) for years in Years] == [True, False, True]


# -- whom and when a rule speaks to ------------------------------------------------------------------------------------


def test_rule_names_its_span_its_haul_and_its_events() -> None:
    more = "in_force_from = 2025-01-22\nin_force_until = 2030-12-31\nhaul_over_miles = 200\nrecurs = true\n"
    rule = read(RULE.replace('"container_full"', '["in_force", "duty_done"]') + more).rules[0]

    assert (rule.haul_over_miles, rule.haul_up_to_miles) == (200, None)
    assert rule.triggers == (Event.IN_FORCE, Event.DUTY_DONE)
    assert [rule.stands_on(date(2025, 1, day)) for day in (21, 22)] == [False, True]
    assert [rule.stands_on(on) for on in (date(2030, 12, 31), date(2031, 1, 1))] == [True, False]


def test_provision_without_a_span_always_stands() -> None:
    rule = read(RULE).rules[0]

    assert rule.stands_on(date.min)
    assert rule.stands_on(date.max)


@pytest.mark.parametrize(
    ("lines", "key"),
    [
        ("in_force_from = 2026-02-01\nin_force_until = 2026-01-31", "rule[1].in_force_until"),
        ('in_force_from = "2026-02-01"', "rule[1].in_force_from"),
        ("haul_over_miles = -1", "rule[1].haul_over_miles"),
        ("haul_up_to_miles = 200.5", "rule[1].haul_up_to_miles"),
        ("haul_over_miles = 200\nhaul_up_to_miles = 200", "rule[1].haul_up_to_miles"),
        ('only_for = ["SQG"]', "rule[1].only_for"),
        ("only_for = []", "rule[1].only_for"),
    ],
)
def test_what_limits_a_rule_must_fit(lines: str, key: str) -> None:
    assert [named for _, named in faults_of(HEAD + RULE + lines)] == [key]


def test_a_duty_that_was_done_starts_only_a_clock_that_comes_back() -> None:
    done = RULE.replace('"container_full"', '"duty_done"')

    assert [named for _, named in faults_of(HEAD + done)] == ["rule[1].recurs"]
    assert read(done + "recurs = true\n").rules[0].recurs


def test_rule_speaks_to_categories_of_its_own_file() -> None:
    category = a_table("category", 'name = "Small"\nrank = 1', "RD-2")

    assert read(RULE, 'only_for = ["Small"]\n', category).rules[0].only_for == ("Small",)
    with pytest.raises(BadOrdinance) as refused:
        read(RULE, 'only_for = ["small", "Small"]\n', category)
    assert [(fault.key, fault.accepted) for fault in refused.value.faults] == [("rule[1].only_for", "Write Small.")]


def test_scope_says_which_duties_stay_in_emergencies() -> None:
    scope = f'[scope]\nid = "RD-S"\n{SAID}covers_septic = true\ncovers_mobile_units = false\n'

    emergency = read(scope + 'emergency_leaves = ["one-time-report"]\n').scope
    assert emergency is not None
    assert emergency.emergency_leaves == ("one-time-report",)
    assert [key for _, key in faults_of(HEAD + scope + 'emergency_leaves = ["report"]\n')] == ["scope.emergency_leaves"]


# -- the tables without a day ------------------------------------------------------------------------------------------


def test_each_table_is_read_as_it_says() -> None:
    river = read(
        a_table("container", 'needs = ["closed", "airtight"]\nnever_add = ["water"]\nstreams = ["traps"]', "C"),
        a_table("sharing", 'streams = ["contact", "non_contact"]\ntogether = "own_lid"', "S"),
        a_table("label", 'elements = ["start_date", "hazard"]', "L"),
        a_table("shipment", 'document = "consignment_note"\nweight = true\nnames = ["facility_name"]', "P"),
        a_table("uncounted", 'streams = ["capsules"]', "U"),
        a_table("report", 'report = "amounts"\nduty = "report-amounts"\nfields = ["amalgam_made_mg"]', "R"),
    )

    (container,), (sharing,), (label,) = river.containers, river.sharings, river.labels
    assert (container.needs, container.never_add) == ((ContainerNeed.CLOSED, ContainerNeed.AIRTIGHT), ("water",))
    assert container.streams == ("traps",)
    assert (sharing.streams, sharing.together) == (("contact", "non_contact"), Together.OWN_LID)
    assert (label.lines, label.elements) == ((), (LabelElement.START_DATE, LabelElement.HAZARD))
    (shipment,), (uncounted,), (report,) = river.shipments, river.uncounted, river.reports
    assert (shipment.document, shipment.weight) == (ShippingPaper.CONSIGNMENT_NOTE, True)
    assert shipment.names == (ShipmentName.FACILITY_NAME,)
    assert uncounted.streams == ("capsules",)
    assert (report.report, report.duty) == (ReportKind.AMOUNTS, "report-amounts")
    assert report.fields == (ReportField.AMALGAM_MADE_MG,)
    assert [provision.id for provision in river.provisions] == ["L", "C", "S", "P", "U", "R"]


def test_a_practice_may_say_that_it_forbids() -> None:
    never, always = read(a_table("practice", "forbids = true", "N"), a_table("practice", "", "A")).practices

    assert (never.forbids, always.forbids) == (True, False)
    assert [key for _, key in faults_of(HEAD + a_table("practice", 'forbids = "yes"'))] == ["practice[1].forbids"]


def test_a_practice_may_say_what_shows_that_it_is_done() -> None:
    (told,) = read(a_table("practice", 'shown_by = ["training", "sized_for_peak_flow", "certificate"]')).practices

    assert told.shown_by == (ShownBy.TRAINING, ShownBy.SIZED_FOR_PEAK_FLOW, ShownBy.CERTIFICATE)
    assert [key for _, key in faults_of(HEAD + a_table("practice", 'shown_by = ["hope"]'))] == ["practice[1].shown_by"]


def test_a_shipment_may_leave_the_paper_open_or_want_none() -> None:
    weighed, none = read(
        a_table("shipment", "weight = true", "P1"), a_table("shipment", 'document = "none"', "P2")
    ).shipments

    assert (weighed.document, weighed.weight, weighed.names) == (None, True, ())
    assert (none.document, none.weight) == (ShippingPaper.NONE, False)


@pytest.mark.parametrize(
    ("table", "key"),
    [
        (a_table("label"), "label[1]"),
        (a_table("label", "lines = []"), "label[1].lines"),
        (a_table("label", 'elements = ["logo"]'), "label[1].elements"),
        (a_table("container"), "container[1]"),
        (a_table("container", 'needs = ["air_tight"]'), "container[1].needs"),
        (a_table("container", "never_add = [3]"), "container[1].never_add"),
        (a_table("sharing", 'together = "no"'), "sharing[1].streams"),
        (a_table("sharing", 'streams = ["traps"]\ntogether = "no"'), "sharing[1].streams"),
        (a_table("sharing", 'streams = ["traps", "traps"]\ntogether = "no"'), "sharing[1].streams"),
        (a_table("sharing", 'streams = ["traps", "teeth", "sludge"]\ntogether = "no"'), "sharing[1].streams"),
        (a_table("sharing", 'streams = ["traps", "teeth"]\ntogether = "never"'), "sharing[1].together"),
        (a_table("shipment"), "shipment[1]"),
        (a_table("shipment", 'document = "letter"'), "shipment[1].document"),
        (a_table("shipment", 'weight = "yes"'), "shipment[1].weight"),
        (a_table("uncounted"), "uncounted[1].streams"),
        (a_table("report", 'report = "amounts"\nduty = "report"\nfields = "phone"'), "report[1].duty"),
        (a_table("report", 'report = "yearly"\nduty = "certify"\nfields = "phone"'), "report[1].report"),
        (a_table("report", 'report = "amounts"\nduty = "certify"'), "report[1].fields"),
        (a_table("report", 'report = "amounts"\nduty = "certify"\nfields = ["fax"]'), "report[1].fields"),
    ],
)
def test_table_that_does_not_fit_is_refused_at_its_key(table: str, key: str) -> None:
    assert [named for _, named in faults_of(HEAD + table)] == [key]


def test_ids_are_unique_over_all_tables() -> None:
    twice = a_table("uncounted", 'streams = ["capsules"]') + a_table("shipment", "weight = true")

    assert [key for _, key in faults_of(HEAD + twice)] == ["uncounted[1].id"]


@pytest.mark.parametrize("level", ["union", "national"])
def test_levels_of_unions_and_nations_are_read(level: str) -> None:
    assert read_ordinance(HEAD.replace('"local"', f'"{level}"')).level is Level(level)


def test_levels_rise_from_the_widest_to_the_nearest() -> None:
    assert [level.value for level in sorted(Level, key=lambda level: level.nearness)] == [
        "union",
        "federal",
        "national",
        "state",
        "local",
        "office",
    ]


def test_regime_is_read_or_left_open() -> None:
    assert read().regime is None
    assert read('regime = "undecided"\n').regime is Regime.UNDECIDED
    assert [key for _, key in faults_of(HEAD + 'regime = "special"\n')] == ["ordinance.regime"]


# -- generator categories ----------------------------------------------------------------------------------------------


def categories_of(*bounds: str, ranks: tuple[int, ...] = (1, 2, 3)) -> str:
    """Categories A, B and C with those *bounds*."""
    return "".join(
        a_table("category", f'name = "{name}"\nrank = {rank}\n{lines}', f"RD-{name}")
        for name, rank, lines in zip("ABC", ranks, bounds, strict=False)
    )


def test_categories_of_the_federal_rule_are_read_exactly() -> None:
    # 40 CFR 262.13 and 260.10, read in state copies 2026-11: 100 kg or less; over 100 and under 1,000; 1,000 or more.
    lowest, middle, highest = read(
        categories_of(
            "month_up_to_kg = 100\nstock_below_kg = 1000\nacute_over_kg = 1",
            "month_over_kg = 100\nmonth_below_kg = 1000\nstock_up_to_kg = 6000.125",
            "month_from_kg = 1000",
        )
    ).categories

    assert (lowest.month_over_kg, lowest.month_from_kg, lowest.month_up_to_kg) == (None, None, Decimal(100))
    assert (lowest.stock_below_kg, lowest.acute_over_kg) == (Decimal(1000), Decimal(1))
    assert (middle.month_over_kg, middle.month_below_kg) == (Decimal(100), Decimal(1000))
    assert middle.stock_up_to_kg == Decimal("6000.125")
    assert (highest.name, highest.rank, highest.month_from_kg) == ("C", 3, Decimal(1000))


@pytest.mark.parametrize(
    ("bounds", "key", "problem"),
    [
        (("month_up_to_kg = 100", ""), "category[2]", "no beginning"),
        (("month_up_to_kg = 100", "month_over_kg = 100\nmonth_from_kg = 100"), "category[2].month_from_kg", "twice"),
        (("month_up_to_kg = 9\nmonth_below_kg = 9", "month_over_kg = 9"), "category[1].month_below_kg", "ends twice"),
        (("month_up_to_kg = 100", "month_from_kg = 100"), "category[2].month_from_kg", "goes up to 100 kg"),
        (("month_below_kg = 100", "month_over_kg = 100"), "category[2].month_over_kg", "goes below 100 kg"),
        (("month_up_to_kg = 100", "month_over_kg = 101"), "category[2].month_over_kg", "goes up to 100 kg"),
        (("month_over_kg = 5", "month_over_kg = 5"), "category[2].month_over_kg", "begins no higher than “A”"),
        (("month_over_kg = 5\nmonth_up_to_kg = 5",), "category[1].month_up_to_kg", "ends before it begins"),
        (("month_from_kg = 5\nmonth_below_kg = 5",), "category[1].month_below_kg", "ends before it begins"),
        (("month_up_to_kg = 0.0001",), "category[1].month_up_to_kg", "does not fit"),
        (("stock_up_to_kg = -1",), "category[1].stock_up_to_kg", "does not fit"),
    ],
)
def test_categories_that_leave_a_gap_or_overlap_are_refused(bounds: tuple[str, ...], key: str, problem: str) -> None:
    with pytest.raises(BadOrdinance) as refused:
        read(categories_of(*bounds))

    assert (refused.value.faults[0].key, len(refused.value.faults)) == (key, 1)
    assert problem in refused.value.faults[0].problem


def test_one_amount_alone_may_be_a_category() -> None:
    (only,) = read(categories_of("month_from_kg = 5\nmonth_up_to_kg = 5")).categories

    assert only.month_from_kg == only.month_up_to_kg == Decimal(5)


def test_names_and_ranks_of_categories_are_told_apart() -> None:
    same_name = categories_of("", "month_over_kg = 5").replace('"B"', '"A"')
    same_rank = categories_of("month_up_to_kg = 5", "month_over_kg = 5", ranks=(1, 1))

    assert [key for _, key in faults_of(HEAD + same_name)] == ["category[1].name", "category[2].name"]
    assert {key for _, key in faults_of(HEAD + same_rank)} == {"category[1].rank", "category[2].rank"}
