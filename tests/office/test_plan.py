"""Reading a plan: what it may say, and that every fault is listed with its line, so that it is mended in one pass."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.office.makers import PLAN
from wasteledger.errors import ExitStatus
from wasteledger.ledger.chain import body_text
from wasteledger.model.entries import read_body
from wasteledger.model.register import Register, TrapDetails
from wasteledger.office.plan import BadPlan, Plan, read_plan
from wasteledger.office.setup import read_plan_file
from wasteledger.resources import find

TEN_FAULTS = """\
colour = "blue"
ordinances = ["us-federal-dental", "no-such-rules"]

[site]
ref = "elm"
name = "Elm"
time_zone = "America/Springfield"
working_days = ["mon", "someday"]

[[rooms]]
ref = "r1"
name = "Room 1"

[[rooms]]
ref = "r1"
name = "Room 1 again"

[[traps]]
ref = "1-HV"
room = "attic"
kind = "high_volume"
insert_mass = "5.1"

[[traps]]
ref = "1-SE"
room = "r1"
kind = "salvia_ejector"

[[people]]
ref = "mo"
roles = ["manager"]

[[scales]]
ref = "bench"
name = "Bench"
readability = "100 mg"
tolerance = "200 mg"
tolerence = "200 mg"

[[container_types]]
ref = "mixed"
name = "Mixed"
streams = ["traps", "non_contact"]
"""

# Line of the file, key, and a few words of the sentence.
TEN = [
    (1, "colour", "is not known"),
    (2, "ordinances", "no-such-rules"),
    (7, "site.time_zone", "no time zone “America/Springfield”"),
    (8, "site.working_days", "“someday” is no weekday"),
    (15, "rooms[2].ref", "second room “r1”"),
    (20, "traps[1].room", "no room “attic”"),
    (22, "traps[1].insert_mass", "has no unit"),
    (27, "traps[2].kind", "Perhaps “saliva_ejector” is meant"),
    (29, "people[1].name", "missing"),
    (38, "scales[1].tolerence", "Perhaps “tolerance” is meant"),
    (43, "container_types[1].streams", "“non_contact” and “traps” may not share a container (no)"),
]


def faults(text: str, **named: Any) -> tuple[str, ...]:
    """The faults of a plan."""
    with pytest.raises(BadPlan) as caught:
        read_plan(text, "plan.toml", **named)
    return caught.value.faults


def details(plan: Plan, what: str, ref: str) -> Any:
    """The details of one line of a plan."""
    return next(line.details for line in plan.lines if (line.details.subject, line.ref) == (what, ref))


def test_every_fault_of_a_plan_is_listed_with_its_line() -> None:
    with pytest.raises(BadPlan) as caught:
        read_plan(TEN_FAULTS, "plan.toml")
    found = caught.value.faults
    for line, key, words in TEN:
        matching = [one for one in found if one.startswith(f"plan.toml line {line}, {key}: ")]
        assert len(matching) == 1, (line, key, found)
        assert words in matching[0]
    assert len(found) == len(TEN) >= 10
    lines = [int(number) for one in found for number in re.findall(r"line (\d+),", one)]
    assert lines == sorted(lines)
    assert caught.value.exit_status is ExitStatus.NOT_UNDERSTOOD
    assert str(caught.value).startswith(f"plan.toml: {len(TEN)} faults; nothing was set up.")


def test_the_ten_faults_mended_one_by_one_leave_a_good_plan() -> None:
    text = TEN_FAULTS
    for wrong, right in (
        ('colour = "blue"\n', ""),
        (', "no-such-rules"', ""),
        ("Springfield", "Chicago"),
        (', "someday"', ""),
        ('"r1"\nname = "Room 1 again"', '"r2"\nname = "Room 2"'),
        ('"attic"', '"r1"'),
        ('"5.1"', '"5.1 g"'),
        ("salvia", "saliva"),
        ('"mo"\n', '"mo"\nname = "Mo"\n'),
        ('tolerence = "200 mg"\n', ""),
        ('["traps", "non_contact"]', '["traps", "contact"]'),
    ):
        before = len(faults(text))
        assert text.count(wrong) == 1
        text = text.replace(wrong, right)
        if before > 1:
            assert len(faults(text)) == before - 1
    assert read_plan(text).site == "elm"


# -- the sharing matrix ----------------------------------------------------------------------------------------------


def a_type(streams: str, more: str = "") -> str:
    return f'{PLAN}\n[[container_types]]\nref = "mixed"\nname = "Mixed"\nstreams = [{streams}]\n{more}'


@pytest.mark.parametrize("written", ["", 'written_rule = "Letter of 2 March 2026"'])
def test_streams_that_may_never_lie_together_are_refused_whatever_is_written(written: str) -> None:
    (fault,) = faults(a_type('"traps", "mercury"', written))
    assert "“mercury” and “traps” may not share a container (no)" in fault
    assert "written_rule" not in fault


def test_streams_that_may_lie_together_only_in_writing_want_the_writing() -> None:
    (fault,) = faults(a_type('"contact", "teeth"'))
    assert "“contact” and “teeth” may not share a container (ask)" in fault
    assert "written_rule" in fault
    plan = read_plan(a_type('"contact", "teeth"', 'written_rule = "Letter of 2 March 2026"'))
    assert details(plan, "container_type", "mixed").written_rule == "Letter of 2 March 2026"


def test_each_forbidden_pair_is_named() -> None:
    found = faults(a_type('"traps", "teeth", "sludge"'))
    assert len(found) == 2
    assert any("“sludge” and “teeth”" in one for one in found)
    assert any("“teeth” and “traps”" in one for one in found)


def test_own_streams_take_the_place_of_the_shipped_ones() -> None:
    own = """
[[streams]]
ref = "scrap"
name = "scrap"
origin = "Letter of the carrier"
[streams.shares]
traps = "yes"

[[streams]]
ref = "traps"
name = "traps"
"""
    bare = '[site]\nref = "elm"\nname = "Elm"\ntime_zone = "UTC"\n'
    types = '[[container_types]]\nref = "p"\nname = "P"\nstreams = ["scrap", "traps"]\n'
    assert details(read_plan(bare + own + types), "stream", "scrap").origin == "Letter of the carrier"
    (fault,) = faults(bare + own + types.replace('"traps"', '"sludge"'))
    assert "There is no stream “sludge”" in fault
    contradicting = own + '[streams.shares]\nscrap = "no"\n'
    assert any("given two answers" in one for one in faults(bare + contradicting + types))


def test_a_trap_of_a_plan_without_any_stream_is_a_fault_and_no_crash() -> None:
    bare = '[site]\nref = "elm"\nname = "Elm"\ntime_zone = "UTC"\n[[rooms]]\nref = "r1"\nname = "R"\n'
    text = "streams = []\n" + bare + '[[traps]]\nref = "1"\nroom = "r1"\nkind = "pump"\n'
    assert any("There is no stream “filters”" in one for one in faults(text))


# -- files that a plan names -----------------------------------------------------------------------------------------


def test_the_faults_of_a_named_file_stand_beside_the_plan_s_own(tmp_path: Path) -> None:
    (tmp_path / "practice").mkdir()
    (tmp_path / "practice" / "round.toml").write_text('[round]\n[[round.steps]]\ncaution = "Gloves."\n')
    (tmp_path / "practice" / "streams.toml").write_text('[[streams]]\nref = "traps"\n')
    (tmp_path / "ordinances").mkdir()
    (tmp_path / "ordinances" / "ours.toml").write_text("id = 7\n")
    text = 'colour = "blue"\n' + PLAN.replace('"office-conventions"', '"ours"')
    found = faults(text, beside=tmp_path)
    for file in ("plan.toml line 1, colour", "round.toml line 2", "streams.toml line 1", "ours.toml"):
        assert any(one.startswith(file) for one in found), (file, found)


@pytest.mark.parametrize("file", ["practice/round.toml", "practice/streams.toml", "ordinances/us-federal-dental.toml"])
def test_a_named_file_that_is_no_toml_hides_no_other_fault(tmp_path: Path, file: str) -> None:
    (tmp_path / file).parent.mkdir()
    (tmp_path / file).write_text("this is no TOML\n")
    found = faults('colour = "blue"\n' + PLAN, beside=tmp_path)
    assert any("This is not TOML" in one for one in found)
    assert any("colour" in one for one in found)


def test_an_own_round_is_read_from_the_plan_with_all_its_faults() -> None:
    own = '[round]\nname = "Ours"\ncleaner_per_room = "0.5 gal"\n[[round.steps]]\ndoes = "Look"\n'
    assert details(read_plan(f"{PLAN}\n{own}"), "round", "evening").cleaner_per_room_ml == 1893
    found = faults('colour = "blue"\n' + PLAN + "\n" + own.replace('does = "Look"', 'dose = "Look"'))
    assert any("colour" in one for one in found)
    assert any("dose" in one for one in found)


def test_a_round_that_names_a_file_says_nothing_else() -> None:
    (fault,) = faults(PLAN + '\n[round]\nfile = "round.toml"\ncolour = "blue"\n')
    assert "colour" in fault


# -- what else a plan may say ----------------------------------------------------------------------------------------


def test_no_toml_at_all_is_one_fault_with_its_line() -> None:
    (fault,) = faults('[site]\nref = "elm\n')
    assert "line 2" in fault
    assert "not TOML" in fault


def test_intervals_follow_the_kind_where_the_plan_says_none() -> None:
    plan = read_plan(PLAN)
    jar, chairside = details(plan, "trap", "JAR"), details(plan, "trap", "1-HV")
    assert isinstance(jar, TrapDetails)
    assert (jar.interval_days, jar.dentists_permille, jar.stream) == (91, 2000, "sludge")
    assert (chairside.interval_days, chairside.insert_mg, chairside.insert_ml) == (7, 5_100, 45)


def test_the_site_s_own_line_comes_first() -> None:
    assert read_plan(PLAN).lines[0].details.subject == "site"


@pytest.mark.parametrize("name", ["practice/starter.toml"])
def test_the_shipped_plans_have_no_fault(name: str) -> None:
    plan = read_plan_file(find(name))
    assert {line.details.subject for line in plan.lines} >= {"site", "room", "trap", "person", "stream", "round"}


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ('closures = [["2026-12-26", "2026-12-24"]]', "is no closure"),
        ('closures = ["Christmas"]', "is no closure"),
        ("closures = [[2026-12-24, 9999-12-31]]", "too far away"),
        ("closures = [0206-12-24]", "too far away"),
        ("closures = [[2026-12-24, 2036-12-24]]", "longer than 3653 days"),
        ("working_days = []", "No weekday is left"),
        ('identifiers = ["D-204"]', "no list of pairs"),
        ("chairs = -1", "does not fit"),
        ("chairs = true", "does not fit"),
    ],
)
def test_what_a_site_cannot_say(said: str, words: str) -> None:
    (fault,) = faults(with_site(said))
    assert words in fault


def test_the_days_of_a_site_that_cannot_be_are_named_by_line_and_key() -> None:
    (fault,) = faults(with_site("closures = [[2026-12-24, 9999-12-31]]"))
    line = with_site("closures").split("closures")[0].count("\n") + 1
    assert fault.startswith(f"plan.toml line {line}, site.closures: ")


def test_a_separator_installed_in_a_year_that_nobody_means_is_a_fault_at_its_line() -> None:
    text = PLAN.replace('unit_mass = "740 g"', 'unit_mass = "740 g"\ninstalled_on = 0206-03-01')
    (fault,) = faults(text)
    line = text.split("installed_on")[0].count("\n") + 1
    assert fault.startswith(f"plan.toml line {line}, separators[1].installed_on: 0206-03-01 is out of reach")


def test_a_closure_of_ten_years_is_taken() -> None:
    plan = read_plan(with_site("closures = [[2026-12-24, 2036-12-23]]"))
    assert details(plan, "site", "elm").closures == ((date(2026, 12, 24), date(2036, 12, 23)),)


def test_a_mass_source_without_starting_values_is_a_fault_at_its_line() -> None:
    streams = '[[streams]]\nref = "chips"\nname = "Chips"\nmass_source = "{}"\n'
    text = TEN_FAULTS.split("[[container_types]]")[0] + streams
    (fault,) = [one for one in faults(text.format("chip")) if "mass_source" in one]
    line = text.split("mass_source")[0].count("\n") + 1
    assert fault.startswith(f"plan.toml line {line}, streams[1].mass_source: There are no starting values for “chip”.")
    assert not [one for one in faults(text.format("pump")) if "mass_source" in one]


def with_site(said: str) -> str:
    return PLAN.replace('time_zone = "America/Chicago"', f'time_zone = "America/Chicago"\n{said}')


def test_how_long_an_empty_container_takes_may_be_said_and_is_left_out_of_old_lines() -> None:
    said = PLAN.replace('fill_volume = "5 L"', 'fill_volume = "5 L"\nempty_lead_days = 12', 1)
    assert details(read_plan(said), "container_type", "pail").empty_lead_days == 12
    # A line written before the key was known must keep its bytes, and with them its digest.
    unsaid = details(read_plan(PLAN), "container_type", "pail")
    line = Register(ref="pail", details=unsaid)
    assert "empty_lead_days" not in body_text(line)
    assert read_body("register", 1, body_text(line)) == line
    (fault,) = faults(said.replace("lead_days = 12", "lead_days = 400"))
    assert "empty_lead_days" in fault


def test_the_chance_to_warn_from_is_ten_percent_unless_the_site_says_another() -> None:
    assert details(read_plan(PLAN), "site", "elm").warn_chance_permille == 100
    assert details(read_plan(with_site('warn_chance = "25 %"')), "site", "elm").warn_chance_permille == 250
    (fault,) = faults(with_site('warn_chance = "51%"'))
    assert "between 1 % and 50 %" in fault


@pytest.mark.parametrize(("typed", "day"), [("Mon", 0), ("tuesday", 1), ("Sunday", 6)])
def test_weekdays_are_short_or_whole_words(typed: str, day: int) -> None:
    assert details(read_plan(with_site(f'working_days = ["{typed}"]')), "site", "elm").working_days == (day,)
    (fault,) = faults(with_site('working_days = ["monkey"]'))
    assert "“monkey” is no weekday" in fault


@pytest.mark.parametrize("ref", ["1 HV", "1/HV", "-1", "ü", "x" * 41])
def test_a_short_name_is_what_can_be_typed_and_printed(ref: str) -> None:
    (fault,) = faults(PLAN.replace('ref = "1-SE"', f'ref = "{ref}"'))
    assert "letters, digits, dots and dashes" in fault


@pytest.mark.parametrize("place", ["brook-sewer.toml", "ordinances/brook-sewer.toml"])
@pytest.mark.parametrize("named", ["brook-sewer", "brook-sewer.toml"])
def test_an_office_s_own_ordinance_lies_beside_its_plan(tmp_path: Path, place: str, named: str) -> None:
    own = tmp_path / place
    own.parent.mkdir(exist_ok=True)
    text = find("ordinances/local-starter.toml").read_text("utf-8").replace('id = "local"', 'id = "brook-sewer"')
    own.write_text(text, "utf-8")
    plan = find("practice/starter.toml").read_text("utf-8")
    plan = plan.replace('"office-conventions"]', f'"office-conventions", "{named}"]')

    read = read_plan(plan, "plan.toml", beside=tmp_path)

    assert "brook-sewer" in {line.ref for line in read.lines if line.details.subject == "ordinance"}


def test_an_ordinance_that_is_nowhere_says_where_it_was_looked_for(tmp_path: Path) -> None:
    plan = find("practice/starter.toml").read_text("utf-8").replace('"office-conventions"]', '"brook-sewer"]')

    with pytest.raises(BadPlan, match=r"(?s)brook-sewer.*beside the plan.*ordinance list"):
        read_plan(plan, "plan.toml", beside=tmp_path)
