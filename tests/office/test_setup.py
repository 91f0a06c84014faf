"""Setting a practice up: its plan becomes the first entries of its chain, all at once or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.makers import Watch
from tests.office.makers import PLAN, ROOMS, SET_UP_AT, refused
from wasteledger.errors import StoreNotReachable
from wasteledger.ledger.append import NoSuchSite
from wasteledger.ledger.ledger import Ledger, UnknownPerson
from wasteledger.ledger.verify import verify
from wasteledger.model.register import Register, SiteDetails
from wasteledger.office.plan import Plan
from wasteledger.office.setup import BadPlan, SiteIsSetUp, read_plan, read_plan_file, set_up
from wasteledger.office.workplace import NotTheirTask, Workplace
from wasteledger.resources import find

OAK = PLAN.replace('ref = "elm"', 'ref = "oak"')


def test_a_plan_becomes_the_first_entries_in_its_own_order(tmp_path: Path) -> None:
    location, plan = str(tmp_path / "new.db"), read_plan(PLAN)
    made = set_up(location, plan, by="mo", clock=Watch(SET_UP_AT))
    assert (made.site, made.entries, made.ledger) == ("elm", len(plan.lines), location)
    with Ledger.open(location) as ledger, ledger.reading("elm") as reader:
        written = list(reader.entries())
        assert tuple(entry.body for entry in written) == plan.lines
        assert {entry.recorded_by for entry in written} == {"mo"}
        assert {entry.happened_at for entry in written} == {SET_UP_AT}
        first = written[0].body
        assert isinstance(first, Register)
        assert isinstance(first.details, SiteDetails)
        assert [one.trap for one in reader.traps()] == ["1-SE", "1-HV", "2-HV", "JAR"]
        rooms = [line.ref for line in reader.lines("room")]
        assert rooms == sorted((*ROOMS, "plant"))
        assert verify(ledger.engine, "elm").holds


def test_a_site_is_set_up_once(place: Workplace) -> None:
    with refused(place, SiteIsSetUp, "“elm” is set up already"):
        set_up(str(place.ledger.engine.url.database), read_plan(PLAN), by="mo")


def test_two_sites_may_share_a_ledger_each_with_a_chain_of_its_own(place: Workplace) -> None:
    location = str(place.ledger.engine.url.database)
    made = set_up(location, read_plan(OAK), by="mo", clock=place.ledger.clock)
    assert made.site == "oak"
    assert place.ledger.sites() == ["elm", "oak"]
    assert verify(place.ledger.engine, "oak").entries == made.entries
    with pytest.raises(NoSuchSite, match="several sites"), Workplace.open(location):
        pass
    with Workplace.open(location, "oak", "kim") as oak:
        assert oak.site == "oak"


@pytest.mark.parametrize(("by", "refusal"), [("eve", UnknownPerson), ("iris", NotTheirTask)])
def test_whoever_sets_up_must_be_in_the_plan_and_may_write(
    place: Workplace, by: str, refusal: type[UnknownPerson | NotTheirTask]
) -> None:
    with refused(place, refusal, f"(?i){by}"):
        set_up(str(place.ledger.engine.url.database), read_plan(OAK), by=by)
    assert place.ledger.sites() == ["elm"]


def test_a_setting_up_that_fails_half_way_leaves_no_site(place: Workplace) -> None:
    plan = read_plan(OAK)
    broken = Plan(plan.site, (*plan.lines, read_plan(PLAN).lines[0]))
    with refused(place, SiteIsSetUp.__mro__[1], "cannot begin another site"):
        set_up(str(place.ledger.engine.url.database), broken, by="mo")
    assert place.ledger.sites() == ["elm"]


def test_a_place_that_is_not_there_is_not_made_by_opening_it(tmp_path: Path) -> None:
    with pytest.raises(StoreNotReachable), Workplace.open(str(tmp_path / "none.db")):
        pass
    assert not (tmp_path / "none.db").exists()


def test_the_shipped_starter_sets_a_practice_up(tmp_path: Path) -> None:
    plan = read_plan_file(find("practice/starter.toml"))
    made = set_up(str(tmp_path / "new.db"), plan, by="max")
    assert (made.site, made.entries) == ("main", len(plan.lines))


def test_files_beside_a_plan_go_before_the_shipped_ones(tmp_path: Path) -> None:
    (tmp_path / "practice").mkdir()
    (tmp_path / "practice" / "round.toml").write_text('[round]\nname = "Our own"\n[[round.steps]]\ndoes = "Look"\n')
    (tmp_path / "plan.toml").write_text(PLAN, "utf-8")
    plan = read_plan_file(tmp_path / "plan.toml")
    assert [line.details.name for line in plan.lines if line.details.subject == "round"] == ["Our own"]


def test_a_plan_that_is_not_there_or_no_text_is_a_bad_plan(tmp_path: Path) -> None:
    with pytest.raises(BadPlan, match="cannot be read"):
        read_plan_file(tmp_path / "plan.toml")
    (tmp_path / "plan.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadPlan, match="cannot be read"):
        read_plan_file(tmp_path / "plan.toml")
