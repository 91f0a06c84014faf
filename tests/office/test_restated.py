"""A container that left with one figure and is reckoned with another, as entries were changed since."""

from __future__ import annotations

import pytest

from tests.makers import Watch
from tests.office.makers import as_person, entry, hours_ago, open_pail, refused, released
from wasteledger.estimate.rounding import statement
from wasteledger.model.entries import Remark
from wasteledger.model.traps import Condition
from wasteledger.office.containers import weigh_container
from wasteledger.office.corrections import correct_entry
from wasteledger.office.pickups import receive_pickup
from wasteledger.office.received import NothingToExplain, explain_pickup, findings_on
from wasteledger.office.restated import Changed, Restated, restated_of
from wasteledger.office.status import show_container, status
from wasteledger.office.swaps import record_swap
from wasteledger.office.workplace import Said, Workplace
from wasteledger.units import Mass


@pytest.fixture
def mo(place: Workplace) -> Workplace:
    """The manager, with pail C-1 in use."""
    manager = as_person(place, "mo")
    open_pail(manager)
    return manager


def restated(place: Workplace, pickup: str = "P-1") -> tuple[Restated, ...]:
    with place.reading() as reader:
        return restated_of(reader, pickup)


def weighed_and_gone(mo: Workplace) -> int:
    """C-1 leaves with ten clogged traps, weighed at 800 g net; the weighing's entry."""
    for _ in range(10):
        record_swap(mo, "1-HV", condition=Condition.CLOGGED, into="C-1")
    weighing = weigh_container(mo, "C-1", Mass(1_300_000)).seq
    released(mo)
    return weighing


def test_what_left_as_stated_has_nothing_to_say(mo: Workplace) -> None:
    assert not show_container(mo, "C-1").state.is_stated_when_left
    weighed_and_gone(mo)

    shown = show_container(mo, "C-1")

    assert shown.state.is_stated_when_left
    assert shown.state.statement.startswith("800.00 g ± ")
    assert (shown.restated, shown.findings, restated(mo)) == (None, (), ())
    assert shown.as_json()["restated"] is None


def test_a_weighing_corrected_since_is_named_with_both_figures(mo: Workplace) -> None:
    weighing = weighed_and_gone(mo)
    correction = correct_entry(mo, weighing, "Read as 1300.", action="replace", changes={"gross": "1230 g"}).seq

    (found,) = restated(mo)
    assert found.changed == (Changed(weighing, correction, "replace"),)
    assert (found.left_mg, found.reckoned_mg) == (800_000, 730_000)
    assert f"entry {weighing} was corrected since (entry {correction})" in found.says
    assert "The signed manifest of pickup P-1 shows the figure of then, 800.00 g ± " in found.says
    assert "; reckoned now: 730.00 g ± " in found.says

    shown = show_container(mo, "C-1")
    (finding,) = shown.findings
    assert shown.restated == found
    assert (finding.code, finding.place, finding.says) == ("restated-since-release", "pickup P-1", found.says)
    assert correction in finding.seqs
    assert finding in status(mo).findings
    assert status(mo).wants_attention
    told = shown.as_json()
    assert told["statement"].startswith("800.00 g")
    assert told["stated_when_left"] is True
    assert told["reckoned_now"] == statement(shown.state.estimate) == found.reckoned
    assert (told["restated"]["says"], told["restated"]["is_open"]) == (found.says, True)


def test_a_weighing_made_void_leaves_an_estimate_and_reinstated_all_is_as_it_was(mo: Workplace) -> None:
    weighing = weighed_and_gone(mo)
    void = correct_entry(mo, weighing, "That was another pail.").seq

    (found,) = restated(mo)
    assert f"entry {weighing} was made void since (entry {void})" in found.says
    assert found.reckoned.endswith("estimate")

    correct_entry(mo, weighing, "It was this one after all.", action="reinstate")
    assert restated(mo) == ()
    assert show_container(mo, "C-1").findings == ()


def test_a_swap_typed_in_since_is_named_and_made_void_is_nothing(mo: Workplace, watch: Watch) -> None:
    for _ in range(3):
        record_swap(mo, "1-HV", condition=Condition.CLOGGED, into="C-1")
    watch.wait(hours=2)
    released(mo)

    late = record_swap(mo, "1-SE", Said(hours_ago(mo, 1)), condition=Condition.CLOGGED, into="C-1").seq

    (found,) = restated(mo)
    assert found.changed == (Changed(late, late, "late"),)
    assert f"entry {late} was written only since" in found.says
    correct_entry(mo, late, "It went elsewhere.")
    assert restated(mo) == ()
    correct_entry(mo, late, "No, it did not.", action="reinstate")
    assert [one.how for one in restated(mo)[0].changed] == ["late"]


def test_what_was_corrected_before_it_left_is_in_what_was_stated(mo: Workplace) -> None:
    weighing = weigh_container(mo, "C-1", Mass(1_300_000)).seq
    correct_entry(mo, weighing, "Misread.", action="replace", changes={"gross": "1230 g"})
    released(mo)
    assert restated(mo) == ()

    correct_entry(mo, weighing, "Rightly read after all.", action="reinstate")
    assert [one.how for one in restated(mo)[0].changed] == ["reinstate"]


def test_what_weighings_taught_since_is_no_change_of_the_record(mo: Workplace) -> None:
    for _ in range(10):
        record_swap(mo, "1-HV", condition=Condition.CLOGGED, into="C-1")
    released(mo)
    open_pail(mo, "C-2")
    for _ in range(10):
        record_swap(mo, "1-HV", condition=Condition.CLOGGED, into="C-2")
    weigh_container(mo, "C-2", Mass(500_000 + 51_000 + 60_000))

    shown = show_container(mo, "C-1")

    assert statement(shown.state.estimate) != shown.state.statement
    assert (shown.restated, shown.findings) == (None, ())


def test_received_is_compared_with_what_was_stated_and_both_are_said(mo: Workplace) -> None:
    weighing = weighed_and_gone(mo)
    correct_entry(mo, weighing, "Misread.", action="replace", changes={"gross": "1230 g"})
    receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(730_000)),))

    with mo.reading() as reader:
        received, changed = findings_on(reader, "P-1")

    assert "the facility states 730 g; what left was 800.00 g" in received.says
    assert "reckoned now: 730.00 g" in changed.says
    assert "What is reckoned now differs from what was stated, too" in explain_pickup(mo, "P-1", "As they say.").says
    with mo.reading() as reader:
        assert findings_on(reader, "P-1") == (changed,)
    assert explain_pickup(mo, "P-1", "Agreed by phone.").says.endswith("explained.")


def test_an_explanation_answers_it_until_it_is_changed_again(mo: Workplace) -> None:
    weighing = weighed_and_gone(mo)
    correction = correct_entry(mo, weighing, "Misread.", action="replace", changes={"gross": "1230 g"}).seq

    said = explain_pickup(mo, "P-1", "They put 730 g on their copy.")

    body = entry(mo, said.seq).body
    assert isinstance(body, Remark)
    assert (body.about, body.pickup) == (correction, "P-1")
    (found,) = restated(mo)
    assert (found.is_open, found.explained_seq, found.explained) == (False, said.seq, "They put 730 g on their copy.")
    assert "restated-since-release" not in [one.code for one in status(mo).findings]
    assert show_container(mo, "C-1").restated == found
    with refused(mo, NothingToExplain, "or it was explained"):
        explain_pickup(mo, "P-1", "Once more.")

    correct_entry(mo, weighing, "Misread again.", action="replace", changes={"gross": "1203 g"})
    assert restated(mo)[0].is_open
