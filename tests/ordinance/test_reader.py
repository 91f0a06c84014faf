"""Reading ordinance files: what is accepted, and every fault with its line."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from wasteledger import resources
from wasteledger.ordinance import BadOrdinance, Event, Interval, Level, Unit, read_holidays, read_ordinance
from wasteledger.ordinance.rules import After

HEAD = """\
schema = 1
[ordinance]
id = "river-district"
title = "River district"
authority = "River district"
level = "local"
version = "1"
dated_on = 2026-01-01
source = "Invented for a test"
"""

RULE = """\
[[rule]]
id = "RD-1"
duty = "ship-container"
kind = "deadline"
title = "Ship"
asks = "Ship it."
trigger = "container_full"
due = { days = 90 }
citation = "Section 1"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
"""

BROKEN = """\
schema = 1

[ordinance]
id = "River District"
title = ""
level = "country"
version = 2
dated_on = "2026-01-01"
source = "Invented for a test"
colour = "blue"

[[rule]]
id = "RD-1"
duty = "ship-containers"
kind = "deadline"
title = "Ship"
asks = "Ship it."
trigger = ["container_full", "container_ful"]
due = { days = 0 }
citation = "Section 1"
source = "Invented for a test"
read_on = "November 2026"
confirmed = "yes"

[[rule]]
id = "RD-1"
duty = "keep-records"
kind = "retention"
title = "Keep"
asks = "Keep it."
trigger = "record_made"
due = { days = 90, years = 3 }
citation = "Section 2"
source = "Invented for a test"
read_on = "2026-11"
confirmed = false

[[cleaner]]
id = "RD-2"
title = "Cleaners"
asks = "In the band."
citation = "Section 3"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
ph_low = 8.25
ph_high = "8"
ban_oxidisers = true

[[override]]
ordinance = "us-federal-dental"
provision = "US-441-03"
reason = "Told so."
citation = "Letter"
confirmed = false
"""


def faults_of(text: str) -> list[tuple[int, str]]:
    with pytest.raises(BadOrdinance) as refused:
        read_ordinance(text, name="broken.toml")
    return [(fault.line, fault.key) for fault in refused.value.faults]


def test_broken_file_gives_every_fault_with_its_line() -> None:
    assert faults_of(BROKEN) == [
        (3, "ordinance.authority"),
        (4, "ordinance.id"),
        (5, "ordinance.title"),
        (6, "ordinance.level"),
        (7, "ordinance.version"),
        (8, "ordinance.dated_on"),
        (10, "ordinance.colour"),
        (14, "rule[1].duty"),
        (18, "rule[1].trigger"),
        (19, "rule[1].due.days"),
        (22, "rule[1].read_on"),
        (23, "rule[1].confirmed"),
        (25, "rule[2].confirmed_note"),
        (25, "rule[2].records"),
        (26, "rule[2].id"),
        (32, "rule[2].due"),
        (46, "cleaner[1].ph_low"),
        (47, "cleaner[1].ph_high"),
        (48, "cleaner[1].ban_oxidisers"),
        (50, "override[1].confirmed_note"),
        (50, "override[1]"),
    ]


def test_faults_say_what_would_be_accepted() -> None:
    with pytest.raises(BadOrdinance) as refused:
        read_ordinance(BROKEN, name="broken.toml")
    said = str(refused.value)

    assert (
        "broken.toml line 6, ordinance.level: “country” is not known. "
        "Write one of union, federal, national, state, local, office." in said
    )
    assert (
        "broken.toml line 18, rule[1].trigger: “container_ful” is not known. Perhaps “container_full” is meant." in said
    )
    assert (
        "line 48, cleaner[1].ban_oxidisers: The key “ban_oxidisers” is not known. Perhaps “bans_oxidisers” is" in said
    )
    assert "line 19, rule[1].due.days: 0 does not fit. Write a whole number from 1 to 36500." in said
    assert "so no other rule would be held against it" in said
    assert refused.value.code == "bad-ordinance"
    assert refused.value.exit_status == 2
    assert refused.value.hint


def test_text_that_is_no_toml_gives_its_line() -> None:
    with pytest.raises(BadOrdinance) as refused:
        read_ordinance(HEAD + "\n[[rule]]\nid = RD-1\n", name="broken.toml")

    (fault,) = refused.value.faults
    assert (fault.file, fault.line) == ("broken.toml", 12)
    assert "not TOML" in fault.problem


def test_toml_that_ends_too_early_gives_its_last_line() -> None:
    with pytest.raises(BadOrdinance) as refused:
        read_ordinance('schema = 1\ntitle = "open', name="broken.toml")

    assert refused.value.faults[0].line == 2


def test_empty_file_says_what_is_missing() -> None:
    keys = [key for _, key in faults_of("")]

    assert keys[:2] == ["schema", "ordinance"]
    assert "ordinance.id" in keys


def test_file_of_a_later_form_is_refused() -> None:
    assert faults_of(HEAD.replace("schema = 1", "schema = 2")) == [(1, "schema")]


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("due = { days = 90 }", "due = 90", "rule[1].due"),
        ("due = { days = 90 }", "due = {}", "rule[1].due"),
        ("due = { days = 90 }", "due = { weeks = 2 }", "rule[1].due.weeks"),
        ("due = { days = 90 }", 'due = { days = 90, holidays = "us-federal" }', "rule[1].due.holidays"),
        ("due = { days = 90 }", 'due = { lasts = "in_use" }', "rule[1].due"),
        ("due = { days = 90 }", "due = { on = 2027-06-14T00:00:00 }", "rule[1].due.on"),
        ("due = { days = 90 }", "due = { years = true }", "rule[1].due.years"),
        ("due = { days = 90 }", 'due = { maker = "cleaning" }', "rule[1].due.maker"),
        ("due = { days = 90 }", 'due = { on = 2027-06-14 }\nor_when = "container_full"', "rule[1].or_when"),
        ("due = { days = 90 }", 'due = { days = 90 }\nrecords = "pickup"', "rule[1].records"),
        ('trigger = "container_full"', "trigger = []", "rule[1].trigger"),
        ('trigger = "container_full"', "trigger = 3", "rule[1].trigger"),
        ('citation = "Section 1"', 'citation = "   "', "rule[1].citation"),
        ('read_on = "2026-11"', 'read_on = "2026-13"', "rule[1].read_on"),
        ('kind = "deadline"', 'kind = "deadline"\nalso_cited_as = [1]', "rule[1].also_cited_as"),
        ("confirmed = true", "confirmed = 1", "rule[1].confirmed"),
        ("[[rule]]", "[rule]", "rule"),
    ],
)
def test_one_thing_wrong_in_a_rule_is_named(old: str, new: str, key: str) -> None:
    assert old in RULE
    assert key in [named for _, named in faults_of(HEAD + RULE.replace(old, new))]


@pytest.mark.parametrize(
    ("due", "key"),
    [
        ("{ business_days = 10 }", "rule[1].due"),
        ("{ on = 2030-01-01 }", "rule[1].due"),
        ('{ maker = "inspection" }', "rule[1].due"),
        ("{ years = 3 }\nrecurs = true", "rule[1].recurs"),
        ('{ years = 3 }\nor_when = "container_full"', "rule[1].or_when"),
    ],
)
def test_retention_takes_terms_and_lastings_only(due: str, key: str) -> None:
    kept = RULE.replace('kind = "deadline"', 'kind = "retention"\nrecords = "pickup"').replace("{ days = 90 }", due)

    assert [named for _, named in faults_of(HEAD + kept)] == [key]


@pytest.mark.parametrize(
    ("lines", "key"),
    [
        ("ph_low = 8.0\nph_high = 6.0", "cleaner[1].ph_high"),
        ("ph_low = 14.1", "cleaner[1].ph_low"),
        ("ph_low = nan", "cleaner[1].ph_low"),
        ("ph_high = inf", "cleaner[1].ph_high"),
        ("ph_high = true", "cleaner[1].ph_high"),
        ("ph_high = 6.05", "cleaner[1].ph_high"),
    ],
)
def test_ph_band_is_tenths_from_0_to_14(lines: str, key: str) -> None:
    cleaner = RULE.replace("[[rule]]", "[[cleaner]]")
    for line in (
        'duty = "ship-container"\n',
        'kind = "deadline"\n',
        'trigger = "container_full"\n',
        "due = { days = 90 }\n",
    ):
        cleaner = cleaner.replace(line, "")

    assert [named for _, named in faults_of(HEAD + cleaner + lines)] == [key]


def test_own_duty_is_accepted_with_its_beginning() -> None:
    own = read_ordinance(HEAD + RULE.replace("ship-container", "own-wash-the-van"))

    assert own.rules[0].duty == "own-wash-the-van"


def test_file_is_read_as_it_says(tmp_path: Path) -> None:
    file = tmp_path / "river.toml"
    file.write_bytes(b"\xef\xbb\xbf" + (HEAD + RULE).replace("\n", "\r\n").encode())

    read = read_ordinance(file)

    assert (read.id, read.level, read.dated_on, read.file) == (
        "river-district",
        Level.LOCAL,
        date(2026, 1, 1),
        "river.toml",
    )
    assert read.rules[0].due == After(Interval(90, Unit.DAYS))
    assert read.rules[0].triggers == (Event.CONTAINER_FULL,)
    # Line ends and the mark that some editors add are not part of what was in force.
    assert read.digest == read_ordinance(HEAD + RULE).digest


def test_file_that_is_not_there_and_file_that_is_not_utf_8(tmp_path: Path) -> None:
    latin = tmp_path / "latin.toml"
    latin.write_bytes('title = "Bezirk Süd"'.encode("latin-1"))

    for file in (tmp_path / "none.toml", tmp_path, latin):
        with pytest.raises(BadOrdinance) as refused:
            read_ordinance(file)
        assert refused.value.faults[0].file == file.name


def test_holidays_outside_their_years_are_refused() -> None:
    text = """\
schema = 1
[holidays]
id = "region"
title = "Region"
source = "Invented for a test"
years = [2026]
[[day]]
on = 2027-01-01
name = "New Year"
[[day]]
on = 2026-01-01
nam = "New Year"
"""
    with pytest.raises(BadOrdinance) as refused:
        read_holidays(text)

    assert [(fault.line, fault.key) for fault in refused.value.faults] == [
        (8, "day[1].on"),
        (10, "day[2].name"),
        (12, "day[2].nam"),
    ]


@pytest.mark.parametrize("years", ["[]", "2026", '["2026"]', "[true]", "[12]"])
def test_years_of_holidays_are_a_list_of_whole_numbers(years: str) -> None:
    head = f'schema = 1\n[holidays]\nid = "region"\ntitle = "Region"\nsource = "Invented"\nyears = {years}\n'

    with pytest.raises(BadOrdinance) as refused:
        read_holidays(head)
    assert [(fault.line, fault.key) for fault in refused.value.faults] == [(6, "holidays.years")]


def test_removal_without_its_figure_is_refused() -> None:
    removal = RULE.replace("[[rule]]", "[[removal]]")
    for line in ('duty = "ship-container"\n', 'kind = "deadline"\n', 'trigger = "container_full"\n'):
        removal = removal.replace(line, "")

    assert faults_of(HEAD + removal.replace("due = { days = 90 }\n", "")) == [(10, "removal[1].at_least_percent")]


def test_numbers_are_read_exactly() -> None:
    federal = read_ordinance(resources.find("ordinances/us-federal-dental.toml"))

    assert (federal.cleaners[0].ph_low_tenths, federal.cleaners[0].ph_high_tenths) == (60, 80)
    assert federal.removals[0].at_least_percent == Decimal(95)


@pytest.mark.parametrize("besides", ['asks = "Telephone."', "due = { days = 9 }", 'together = "yes"'])
def test_what_is_set_aside_asks_nothing_else(besides: str) -> None:
    text = (
        f'{HEAD}[[override]]\nordinance = "us-federal-dental"\nprovision = "US-441-03"\nreason = "Told so."\n'
        f'citation = "Letter"\nconfirmed = true\nset_aside = true\n{besides}\n'
    )

    assert faults_of(text) == [(text.splitlines().index("set_aside = true") + 1, "override[1].set_aside")]
