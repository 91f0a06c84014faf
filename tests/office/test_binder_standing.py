"""The binder's standing containers with their budgets, and what came back far from what left."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.makers import Watch
from tests.office.makers import as_person, open_pail, released
from wasteledger.documents.fill_binder import binder_paper
from wasteledger.documents.papers import Basis, BinderPaper
from wasteledger.model.traps import Condition
from wasteledger.office.containers import weigh_container
from wasteledger.office.pickups import receive_pickup
from wasteledger.office.received import explain_pickup
from wasteledger.office.swaps import record_deposit, record_swap
from wasteledger.office.workplace import Workplace
from wasteledger.units import Mass


@pytest.fixture
def mo(place: Workplace) -> Workplace:
    """The manager, with pail C-1 in use."""
    manager = as_person(place, "mo")
    open_pail(manager)
    return manager


def binder(place: Workplace) -> BinderPaper:
    return binder_paper(place, place.today() - timedelta(days=30), place.today())


def test_each_standing_container_has_its_budget_and_its_content(mo: Workplace) -> None:
    for trap in ("1-HV", "1-SE"):
        record_swap(mo, trap, condition=Condition.CLOGGED, into="C-1")
    open_pail(mo, "C-2")
    weigh_container(mo, "C-2", Mass(512_000))
    open_pail(mo, "C-3")

    estimated, weighed, empty = binder(mo).standing

    assert [one.container for one in (estimated, weighed, empty)] == ["C-1", "C-2", "C-3"]
    assert estimated.holds.basis is Basis.ESTIMATE
    assert estimated.made_of.startswith("estimated 4 g (u ")
    assert "trap bodies 9 g, of known mass, taken as exact" in estimated.made_of
    assert estimated.causes.startswith("shared error ")
    assert "scatter" in estimated.causes
    assert estimated.freedom
    assert [name for name, _ in estimated.content] == ["amalgam", "mercury", "silver"]
    assert all(words.endswith("estimate") for _, words in estimated.content)
    assert (weighed.holds.basis, weighed.holds.value_mg) == (Basis.WEIGHED, 12_000)
    assert weighed.content == ()
    assert "12 g is not split" in weighed.notes[0]
    assert (empty.holds.basis, empty.holds.statement, empty.causes, empty.content) == (Basis.NONE, "empty", "", ())


def test_what_has_left_stands_no_more(mo: Workplace) -> None:
    record_deposit(mo, "C-1", "contact", count=1, mass=Mass(2_000))
    released(mo)

    assert binder(mo).standing == ()


def test_a_difference_stands_with_its_shipment_before_and_after_it_is_explained(mo: Workplace, watch: Watch) -> None:
    weigh_container(mo, "C-1", Mass(1_500_000))
    released(mo)
    watch.wait(days=3)
    receive_pickup(mo, "P-1", received_on=date(2026, 3, 4), net=(("C-1", Mass(700_000)),), proves="received")

    open_still = binder(mo)
    assert "the facility states 700 g" in open_still.shipments[0].difference
    assert any("Pickup P-1: Container C-1: the facility states 700 g" in said for said in open_still.findings)

    said = explain_pickup(mo, "P-1", "Weighed without its lid.")
    assert f"Explained in entry {said.seq}: Weighed without its lid." in binder(mo).shipments[0].difference


def test_agreement_is_no_difference(mo: Workplace) -> None:
    weigh_container(mo, "C-1", Mass(1_500_000))
    released(mo)
    receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(1_001_000)),))

    assert binder(mo).shipments[0].difference == ""
