"""The ordinance files that are shipped: readable, cited, and honest about what was not confirmed."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from tests.ordinance.makers import CONVENTIONS, FEDERAL, HOLIDAYS
from wasteledger import resources
from wasteledger.errors import Unknown
from wasteledger.ordinance import Event, Force, Level, Trigger, obligations, read_ordinance
from wasteledger.ordinance.fields import Table
from wasteledger.ordinance.rules import After, AfterQuarter, EachYear, EveryYears
from wasteledger.ordinance.words import (
    ContainerNeed,
    Duty,
    Kind,
    LabelElement,
    Lasting,
    MakerTask,
    Record,
    Regime,
    ReportField,
    ReportKind,
    ShipmentName,
    ShippingPaper,
    ShownBy,
    Specialty,
    Together,
    Years,
)

STARTER = resources.find("ordinances/local-starter.toml").read_text("utf-8")
FILLED_IN = "\n".join(re.sub(r"^#(?=[^ #])", "", line) for line in STARTER.splitlines())


def test_federal_file_has_the_dated_rules_of_part_441() -> None:
    assert FEDERAL.level is Level.FEDERAL
    assert [(rule.id, rule.citation) for rule in FEDERAL.rules if re.fullmatch(r"US-441-\d\d", rule.id)] == [
        ("US-441-01", "40 CFR 441.50(a)(1)(ii)"),
        ("US-441-02", "40 CFR 441.50(a)(4)"),
        ("US-441-03", "40 CFR 441.30(a)(1)(v)"),
        ("US-441-04", "40 CFR 441.30(a)(1)(iii)"),
        ("US-441-05", "40 CFR 441.30(a)(1)(vi)"),
        ("US-441-06", "40 CFR 441.30(a)(1)(iv)"),
        ("US-441-07", "40 CFR 441.50(b)"),
        ("US-441-08", "40 CFR 441.50(a)(5)"),
    ]


def test_what_comes_from_memory_is_marked() -> None:
    assert [one.id for one in FEDERAL.provisions if not one.confirmed] == ["US-441-03", "US-441-MANUAL"]
    for provision in FEDERAL.provisions:
        assert provision.standing_of_source
        assert provision.standing_of_source.startswith("NOT CONFIRMED: ") != provision.confirmed


def test_no_convention_passes_for_law() -> None:
    assert CONVENTIONS.level is Level.OFFICE
    assert all(one.force is not Force.LAW for one in CONVENTIONS.provisions)
    assert CONVENTIONS.get("OFFICE-CONTAINER-12M").force is Force.ADVICE
    assert {one.force.words for one in CONVENTIONS.provisions} == {"advice, not law", "own convention, not law"}
    assert all(one.force is Force.LAW for one in FEDERAL.provisions)


@pytest.mark.parametrize("file", resources.find_all("ordinances", "*.toml"), ids=lambda file: file.name)
def test_no_file_hands_out_a_verdict(file: Path) -> None:
    text = file.read_text("utf-8").lower()

    assert "compliant" not in text
    assert not re.search(r"\blegal\b", text)


def test_starter_is_empty_and_reads_clean() -> None:
    starter = read_ordinance(STARTER)

    assert starter.provisions == ()
    assert starter.overrides == ()


def test_starter_filled_in_reads_clean_and_works() -> None:
    local = read_ordinance(FILLED_IN)

    found = obligations([local, CONVENTIONS], [Trigger(Event.CONTAINER_FIRST_WASTE, date(2026, 3, 2), "C1", 1)])

    assert [(one.rule, one.due_on, one.binds) for one in found] == [
        ("OFFICE-CONTAINER-12M", date(2026, 9, 2), True),
        ("LOCAL-01", date(2027, 3, 2), False),
    ]
    assert str(found[0].override) == (
        f"Changed by {local.title} (Letter of the district, 2 March 2026): "
        "The district's letter allows six months only. NOT CONFIRMED: Told by telephone; the letter is to come."
    )


def test_starter_filled_in_shows_every_table_and_every_form_of_a_due_day() -> None:
    local = read_ordinance(FILLED_IN)

    tables = ("rules", "practices", "cleaners", "labels", "containers", "sharings", "shipments", "categories")
    assert [name for name in (*tables, "uncounted", "reports", "removals") if not getattr(local, name)] == []
    assert [category.name for category in local.categories] == ["Small", "Middle", "Large"]
    assert {type(rule.due) for rule in local.rules} >= {After, EachYear, EveryYears, AfterQuarter}
    assert [rule.only_for for rule in local.rules if rule.only_for] == [("Middle", "Large")]


def test_starter_names_every_key_that_a_file_may_have(monkeypatch: pytest.MonkeyPatch) -> None:
    asked_for: set[str] = set()
    asks = Table.has

    def remember(table: Table, key: str) -> bool:
        asked_for.add(key)
        return asks(table, key)

    monkeypatch.setattr(Table, "has", remember)
    read_ordinance(FILLED_IN)

    assert len(asked_for) > 80
    assert [key for key in sorted(asked_for) if not re.search(rf"\b{key}\b", STARTER)] == []


@pytest.mark.parametrize(
    "words",
    [
        ContainerNeed,
        Duty,
        Event,
        Force,
        Kind,
        LabelElement,
        Lasting,
        Level,
        MakerTask,
        Record,
        Regime,
        ReportField,
        ReportKind,
        ShipmentName,
        ShippingPaper,
        ShownBy,
        Specialty,
        Together,
        Years,
    ],
)
def test_starter_names_every_word_that_a_file_may_use(words: type[Event]) -> None:
    assert [word.value for word in words if not re.search(rf"(?<![\w-]){word.value}(?![\w-])", STARTER)] == []


def test_provision_that_is_not_there_names_those_that_are() -> None:
    with pytest.raises(Unknown) as refused:
        CONVENTIONS.get("OFFICE-RECEIPT-90")

    assert "OFFICE-RECEIPT-60" in refused.value.hint


def test_holidays_are_whole_years() -> None:
    assert HOLIDAYS.years == set(range(2022, 2033))
    assert [len([day for day in HOLIDAYS.rest_days if day.year == year]) for year in (2026, 2027)] == [11, 12]
