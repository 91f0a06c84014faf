"""The budget of a container from the journal: its parts, its causes, and what it has of amalgam and metals."""

from __future__ import annotations

import pytest

from tests.office.makers import as_person, container, open_pail, released
from wasteledger.model.traps import Condition
from wasteledger.office.budget import Budget, budget_of
from wasteledger.office.containers import weigh_container
from wasteledger.office.corrections import correct_entry
from wasteledger.office.kind_words import source_words
from wasteledger.office.plain import plain
from wasteledger.office.swaps import record_deposit, record_swap
from wasteledger.office.workplace import Workplace
from wasteledger.units import Mass


@pytest.fixture
def mo(place: Workplace) -> Workplace:
    """The manager, with pail C-1 in use."""
    manager = as_person(place, "mo")
    open_pail(manager)
    return manager


def budget(place: Workplace, ref: str = "C-1") -> Budget:
    with place.reading() as reader:
        return budget_of(reader, container(place, ref))


def swap(mo: Workplace, trap: str = "1-HV", times: int = 1) -> int:
    return [record_swap(mo, trap, condition=Condition.CLOGGED, into="C-1").seq for _ in range(times)][-1]


def test_an_estimate_has_its_parts_its_causes_and_its_content(mo: Workplace) -> None:
    swap(mo, times=4)
    swap(mo, "1-SE")
    record_deposit(mo, "C-1", "contact", count=1, mass=Mass(2_000))

    found = budget(mo)

    assert [name for name, _ in found.parts] == ["weighed", "estimated", "trap bodies"]
    assert dict(found.parts)["trap bodies"] == "24.3 g, of known mass, taken as exact"
    assert [cause.name for cause in found.causes] == ["scale", "shared error", "scatter"]
    assert sum(cause.percent for cause in found.causes) in (99, 100, 101)
    assert found.causes[0].share == "under 1 %"
    assert [substance for substance, _ in found.contents] == ["amalgam", "mercury", "silver"]
    assert all(words.endswith("estimate") for _, words in found.contents)
    assert [row[:2] for row in found.sources] == [
        ("saliva-ejector trap", "1.0"),
        ("high-volume trap", "4.0"),
        ("stream contact", "–"),
    ]
    assert found.freedom == "without limit"
    assert found.notes == ()


def test_what_was_weighed_is_split_by_the_container_s_own_entries(mo: Workplace) -> None:
    """Four high-volume and four saliva-ejector traps, 36 g of bodies: 40 g of debris is 30 g and 10 g."""
    swap(mo, times=4)
    swap(mo, "1-SE", times=4)
    weigh_container(mo, "C-1", Mass(500_000 + 36_000 + 40_000))
    swap(mo)

    found = budget(mo)
    debris = {one.source: one.debris.value_mg for one in found.content.by_source}

    since_mg = found.estimate.estimated_mg
    total_mg = sum(debris.values()) - since_mg
    assert total_mg == pytest.approx(40_000, abs=2)
    assert found.content.split_by_kind_mg == 40_000
    assert 8_000 < debris["saliva_ejector"] < 12_000
    assert "40 g of what was weighed is split by the kinds that had gone in by then" in found.notes[0]


def test_the_degrees_of_freedom_are_those_of_what_was_estimated(mo: Workplace) -> None:
    swap(mo, times=6)
    assert budget(mo).freedom == "without limit"
    weigh_container(mo, "C-1", Mass(556_000))
    assert budget(mo).freedom == "without limit"

    swap(mo)
    mixed = budget(mo)
    assert mixed.estimate.degrees_of_freedom is not None
    assert mixed.freedom == f"{mixed.estimate.degrees_of_freedom} (of the estimated part)"

    open_pail(mo, "C-2")
    record_swap(mo, "1-HV", condition=Condition.CLOGGED, into="C-2")
    assert budget(mo, "C-2").freedom == str(mixed.estimate.degrees_of_freedom)


def test_learning_narrows_the_content_and_carries_its_degrees_of_freedom(mo: Workplace) -> None:
    """A weighing teaches: from then on both the mass and its content have degrees of freedom with a limit."""
    swap(mo, times=10)
    before = budget(mo)
    weigh_container(mo, "C-1", Mass(500_000 + 51_000 + 33_000))
    swap(mo, times=10)

    after = budget(mo)

    assert before.estimate.degrees_of_freedom is None
    assert after.estimate.degrees_of_freedom is not None
    for part in after.content.parts:
        assert part.degrees_of_freedom is None or part.degrees_of_freedom >= after.estimate.degrees_of_freedom
    causes = {line.cause: line.standard_uncertainty_mg for line in after.content.parts[0].budget}
    earlier = {line.cause: line.standard_uncertainty_mg for line in before.content.parts[0].budget}
    assert causes["shared"] < earlier["shared"]


def test_a_swap_made_void_is_in_no_content(mo: Workplace) -> None:
    swap(mo)
    once = budget(mo).content
    correct_entry(mo, swap(mo), "Entered twice.")

    assert budget(mo).content == once


def test_a_container_that_left_can_still_be_reckoned(mo: Workplace) -> None:
    swap(mo, times=3)
    before = budget(mo).content
    released(mo)

    assert budget(mo).content == before


def test_an_empty_container_says_nothing_of_content(mo: Workplace) -> None:
    found = budget(mo)

    assert (found.statement, found.parts, found.causes, found.contents, found.notes) == ("empty", (), (), (), ())


def test_it_has_a_plain_form_with_whole_milligrams(mo: Workplace) -> None:
    swap(mo, times=2)
    record_deposit(mo, "C-1", "contact", count=2)

    said = plain(budget(mo).as_json())

    assert said["unknown"] == [["stream:contact", 2]]
    assert said["content"]["basis"] == "estimate"
    assert {one["name"] for one in said["causes"]} == {"shared error", "scatter"}
    assert said["content"]["by_source"][0]["exposure"] == "2"
    assert [one["substance"] for one in said["content"]["parts"]] == ["amalgam", "mercury", "silver"]


@pytest.mark.parametrize(
    ("source", "words"),
    [("pump", "central-pump trap"), ("stream:contact", "stream contact"), ("separator_unit", "separator unit")],
)
def test_sources_have_the_trade_s_words(source: str, words: str) -> None:
    assert source_words(source) == words
