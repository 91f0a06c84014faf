"""The shipped plans and streams are read without a fault, and say what they claim."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from tests.bootstrap import ROOT
from wasteledger.model.register import OrdinanceDetails, RoundDetails, SiteDetails, StreamDetails, TrapDetails
from wasteledger.model.traps import TrapKind
from wasteledger.office.plan import Plan, read_plan
from wasteledger.office.setup import read_plan_file
from wasteledger.ordinance import read_ordinance
from wasteledger.resources import find

STARTER = ROOT / "templates" / "practice" / "starter.toml"
DEMO = ROOT / "demo" / "plan.toml"
SATELLITE = ROOT / "demo" / "satellite.toml"


def details_of(plan: Plan, kind: type) -> list[object]:
    return [line.details for line in plan.lines if isinstance(line.details, kind)]


@pytest.mark.parametrize("path", [STARTER, DEMO, SATELLITE], ids=lambda path: path.stem)
def test_a_shipped_plan_is_read_without_a_fault(path: Path) -> None:
    plan = read_plan_file(path)

    assert isinstance(plan.lines[0].details, SiteDetails)
    assert len(details_of(plan, RoundDetails)) == 1
    assert len(details_of(plan, StreamDetails)) == 9


def test_the_demo_practice_has_six_rooms_with_two_traps_each_and_two_traps_in_the_plant_room() -> None:
    plan = read_plan_file(DEMO)
    kinds = [one.trap_kind for one in details_of(plan, TrapDetails) if isinstance(one, TrapDetails)]

    assert {kind: kinds.count(kind) for kind in kinds} == {
        TrapKind.SALIVA_EJECTOR: 6,
        TrapKind.HIGH_VOLUME: 6,
        TrapKind.LINE_FILTER: 1,
        TrapKind.PUMP: 1,
    }


def test_the_demo_practice_answers_to_federal_state_and_district_rules_one_of_them_invented_and_marked_so() -> None:
    plan = read_plan_file(DEMO)
    ordinances = [one for one in details_of(plan, OrdinanceDetails) if isinstance(one, OrdinanceDetails)]

    assert {read_ordinance(one.text).level.value for one in ordinances} == {"federal", "state", "local", "office"}
    assert sum("(invented)" in one.name for one in ordinances) == 1


def test_the_evening_round_holds_its_steps_and_half_a_gallon_a_room() -> None:
    [evening] = details_of(read_plan_file(STARTER), RoundDetails)
    assert isinstance(evening, RoundDetails)

    # Half a US gallon: 231 cubic inches of 16.387064 mL, halved (NIST Special Publication 811, 2008, appendix B.8).
    assert evening.cleaner_per_room_ml == round(231 * 16.387064 / 2)
    assert len(evening.steps) == 8
    assert "saliva ejector first" in evening.steps[1].does
    assert all(step.does for step in evening.steps)


def test_every_pair_of_streams_is_answered_twice_and_alike() -> None:
    streams = tomllib.loads(find("practice/streams.toml").read_text("utf-8"))["streams"]
    answers = {(one["ref"], other): word for one in streams for other, word in one["shares"].items()}
    refs = {one["ref"] for one in streams}

    assert set(answers) == {(one, other) for one in refs for other in refs if one != other}
    assert all(answers[other, one] == word for (one, other), word in answers.items())
    assert set(answers.values()) == {"yes", "own_lid", "ask", "no"}


def test_elemental_mercury_and_retaining_units_share_with_nothing() -> None:
    streams = tomllib.loads(find("practice/streams.toml").read_text("utf-8"))["streams"]
    alone = {one["ref"] for one in streams if set(one["shares"].values()) == {"no"}}

    assert alone == {"mercury", "retaining_units"}


@pytest.mark.parametrize("path", [DEMO, SATELLITE], ids=lambda path: path.stem)
def test_telephone_numbers_and_addresses_of_the_demo_are_no_ones(path: Path) -> None:
    text = path.read_text("utf-8")

    assert re.findall(r"\d{3}-\d{4}", text)
    assert all(number.startswith("555-01") for number in re.findall(r"\b\d{3}-\d{4}\b", text))
    assert all(host == "example.org" for host in re.findall(r"@([\w.]+)", text))


def test_the_starter_with_every_line_taken_in_is_read() -> None:
    """Each commented key is one that a plan may have, with a value that is understood."""
    lines = find("practice/starter.toml").read_text("utf-8").splitlines()
    ends = next(number for number, line in enumerate(lines) if line.startswith("#[[streams]]"))
    filled = "\n".join(re.sub(r"^#(?=[a-z_]+ = )", "", line) for line in lines[:ends])

    plan = read_plan(filled, "starter", beside=STARTER.parent)

    [site] = [one for one in details_of(plan, SiteDetails) if isinstance(one, SiteDetails)]
    assert (site.specialties, site.wastewater) == (("endodontics",), "public_sewer")
