"""What a facility states against what left: compared, found, kept until it is explained."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from tests.makers import Watch
from tests.office.makers import Crew, as_person, booked, entry, open_pail, refused, released
from wasteledger.errors import NotUnderstood
from wasteledger.estimate.agreement import Stated, z_score
from wasteledger.model.entries import Calibration, Remark
from wasteledger.model.findings import Finding
from wasteledger.model.traps import Condition
from wasteledger.office.containers import weigh_container
from wasteledger.office.corrections import correct_entry
from wasteledger.office.masses import shipped_prior
from wasteledger.office.pickups import receive_pickup
from wasteledger.office.received import (
    Comparison,
    NothingToExplain,
    all_comparisons,
    comparisons_of,
    explain_pickup,
    received_findings,
)
from wasteledger.office.status import show_container, status
from wasteledger.office.swaps import record_deposit, record_swap
from wasteledger.office.workplace import NotTheirTask, Said, Workplace
from wasteledger.units import Mass


@pytest.fixture
def mo(place: Workplace) -> Workplace:
    """The manager, with pail C-1 in use."""
    manager = as_person(place, "mo")
    open_pail(manager)
    return manager


def compared(place: Workplace, pickup: str = "P-1") -> tuple[Comparison, ...]:
    with place.reading() as reader:
        return comparisons_of(reader, pickup)


def findings(place: Workplace) -> tuple[Finding, ...]:
    with place.reading() as reader:
        return received_findings(reader)


def weighed_and_received(mo: Workplace, net: str, **more: str) -> int:
    """C-1 left with 1000 g weighed; the facility states *net*."""
    weigh_container(mo, "C-1", Mass(1_500_000))
    released(mo)
    within = Mass.parse(more["within"]) if "within" in more else None
    return receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass.parse(net)),), within=within).seq


def estimated(mo: Workplace, swaps: int = 10) -> None:
    """C-1 leaves with so many clogged traps, not weighed: 3 g of debris and a body of 5.1 g each."""
    for _ in range(swaps):
        record_swap(mo, "1-HV", condition=Condition.CLOGGED, into="C-1")
    released(mo)


# -- what is compared ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("net", "beyond"), [("1000 g", False), ("1020 g", False), ("980g", False), ("1060 g", True), ("940 g", True)]
)
def test_a_weighing_is_held_to_both_uncertainties(mo: Workplace, net: str, beyond: bool) -> None:
    """Some 1.5 kg stand on the facility's scale: limits of one part in a hundred, 15 g, so u = 8.7 g."""
    weighed_and_received(mo, net)

    (found,) = compared(mo)

    assert (found.left_mg, found.received_mg) == (1_000_000, Mass.parse(net).mg)
    gross_mg = found.received_mg + 500_000
    assert found.received_uncertainty_mg == round(gross_mg / 100 / 3**0.5)
    assert not found.is_stated
    assert found.is_beyond is beyond
    assert bool(findings(mo)) is beyond


def test_the_paper_s_own_uncertainty_goes_before_the_office_s(mo: Workplace) -> None:
    weighed_and_received(mo, "1020 g", within="2 g")

    (found,) = compared(mo)

    assert found.is_stated
    assert found.received_uncertainty_mg == pytest.approx(2000 / 1.96, abs=1)
    assert found.is_beyond
    assert found.z > 10


def test_an_uncertainty_without_a_mass_is_not_understood(mo: Workplace) -> None:
    released(mo)

    with refused(mo, NotUnderstood, "could go with"):
        receive_pickup(mo, "P-1", received_on=mo.today(), within=Mass(2000), total=Mass(9000))


def test_an_estimate_is_held_to_what_it_stated_either_way(mo: Workplace) -> None:
    """81 g, of which 30 g estimated: 30 g more is what such an estimate allows, as much less can not be."""
    estimated(mo)
    receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(111_000)),), proves="received")
    (more,) = compared(mo)
    receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(41_000)),), proves="recycled")
    _, less = compared(mo)

    assert not more.is_weighed
    assert not more.is_beyond
    assert less.is_beyond
    assert abs(less.z) > abs(more.z)


def test_pieces_of_unknown_mass_explain_more_but_not_less(mo: Workplace) -> None:
    record_deposit(mo, "C-1", "contact", count=3)
    weighed = record_deposit(mo, "C-1", "contact", mass=Mass(50_000))
    released(mo)
    receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(90_000)),), proves="received")
    receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(20_000)),), proves="recycled")

    more, less = compared(mo)

    assert weighed.seq < more.release_seq
    assert more.unknown_pieces == 3
    assert (more.is_beyond, less.is_beyond) == (False, True)


def test_all_together_is_compared_where_not_every_container_is_stated(mo: Workplace) -> None:
    open_pail(mo, "C-2")
    for ref in ("C-1", "C-2"):
        weigh_container(mo, ref, Mass(700_000))
    released(mo, "C-1", "C-2")
    receive_pickup(mo, "P-1", received_on=mo.today(), total=Mass(300_000))

    (found,) = compared(mo)

    assert found.container is None
    assert (found.left_mg, found.is_beyond) == (400_000, True)
    assert found.says.startswith("All together: the facility states 300 g; what left was 400 g, weighed.")


def test_all_together_of_estimates_has_no_milligram_digits(mo: Workplace) -> None:
    """It read "between 1.304135 kg and 1.417589 kg (95 %), estimate"."""
    open_pail(mo, "C-2")
    for _ in range(9):
        record_swap(mo, "1-HV", condition=Condition.CLOGGED, into="C-1")
        record_swap(mo, "1-HV", condition=Condition.CLOGGED, into="C-2")
    released(mo, "C-1", "C-2")
    receive_pickup(mo, "P-1", received_on=mo.today(), total=Mass(300_000))

    (found,) = compared(mo)

    assert re.fullmatch(r"between \d+ g and \d+ g \(95 %\), estimate", found.left)


def test_containers_mixed_up_are_named(mo: Workplace) -> None:
    open_pail(mo, "C-2")
    weigh_container(mo, "C-1", Mass(700_000))
    weigh_container(mo, "C-2", Mass(1_500_000))
    released(mo, "C-1", "C-2")
    got = receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(1_000_000)), ("C-2", Mass(200_000))))

    (finding,) = findings(mo)

    assert "C-1 and C-2 would agree if their weights were exchanged" in finding.says
    assert any("exchanged" in warning for warning in got.warnings)


def learned(place: Workplace, degrees_of_freedom: str) -> None:
    """The journal has a calibration that says just what the shipped values say, with fewer degrees of freedom."""
    prior = shipped_prior()
    with place.writing() as desk:
        desk.append(
            Calibration(
                quantity="mass",
                data_to=1,
                kinds=prior.kinds,
                means=tuple(str(mean) for mean in prior.means_mg),
                covariance=tuple(tuple(str(cell) for cell in row) for row in prior.covariance_mg2),
                scale="1",
                degrees_of_freedom=degrees_of_freedom,
                scatter=tuple(str(sd) for sd in prior.scatter_sd_mg),
                nominal_days=prior.nominal_days,
                grades=tuple(sorted(prior.grades_permille.items())),
            )
        )


def test_a_learned_estimate_is_held_to_its_degrees_of_freedom(mo: Workplace) -> None:
    """Those of the newest calibration before the release; one that comes later made none of its figures."""
    learned(mo, "9")
    learned(mo, "3.5")
    estimated(mo)
    learned(mo, "40")
    receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(52_000)),))

    (found,) = compared(mo)
    sent = Stated(found.left_mg, found.lower_mg, found.upper_mg, found.left_mg - 51_000, False, 3.5)
    uncertainty_mg = (52_000 + 500_000) / 100 / 3**0.5

    assert float(found.z) == pytest.approx(z_score(sent, 52_000, uncertainty_mg), abs=0.006)
    assert abs(float(found.z) - z_score(replace(sent, degrees_of_freedom=40), 52_000, uncertainty_mg)) > 0.02


def test_nothing_is_compared_before_a_paper_comes(mo: Workplace) -> None:
    assert compared(mo) == ()
    booked(mo)
    assert compared(mo) == ()
    with mo.reading() as reader:
        assert all_comparisons(reader) == ()


# -- the finding and its end -----------------------------------------------------------------------------------------


def test_a_difference_stays_a_finding_until_an_entry_explains_it(mo: Workplace, watch: Watch) -> None:
    receipt = weighed_and_received(mo, "800 g")
    (finding,) = status(mo).findings[-1:]
    assert finding.code == "received-against-released"
    assert finding.place == "pickup P-1"
    assert "the facility states 800 g; what left was 1.00000 kg" in finding.says
    assert "less than both uncertainties allow (99 %; z = −" in finding.says
    assert 'wasteledger pickup explain P-1 --why "…"' in finding.do
    assert finding.seqs[1] == receipt
    assert status(mo).wants_attention
    assert show_container(mo, "C-1").findings == (finding,)

    watch.wait(days=200)
    assert findings(mo) == (finding,)

    said = explain_pickup(mo, "P-1", "They weighed it without its lid and took our tare off.")
    body = entry(mo, said.seq).body
    assert isinstance(body, Remark)
    assert (body.about, body.pickup) == (receipt, "P-1")
    assert findings(mo) == ()
    (found,) = compared(mo)
    assert (found.is_beyond, found.is_open, found.explained_seq) == (True, False, said.seq)
    assert found.explained.startswith("They weighed it")
    with refused(mo, NothingToExplain, "or it was explained"):
        explain_pickup(mo, "P-1", "Once more.")


def test_an_explanation_made_void_brings_the_finding_back(mo: Workplace) -> None:
    weighed_and_received(mo, "800 g")
    said = explain_pickup(mo, "P-1", "Wrong pickup altogether.")
    assert findings(mo) == ()

    correct_entry(mo, said.seq, "It was about another pickup.")

    assert findings(mo)


def test_a_corrected_receipt_ends_it_too_and_a_new_figure_wants_a_new_word(mo: Workplace) -> None:
    receipt = weighed_and_received(mo, "800 g")
    explain_pickup(mo, "P-1", "As they say.")
    changes = {"containers": '[{"container": "C-1", "net_mg": 700000}]'}

    correct_entry(mo, receipt, "Typed wrong: it reads 700 g.", action="replace", changes=changes)
    assert findings(mo)  # the explanation spoke of 800 g
    correct_entry(
        mo,
        receipt,
        "It reads 1000 g after all.",
        action="replace",
        changes={"containers": '[{"container": "C-1", "net_mg": 1000000}]'},
    )
    assert findings(mo) == ()


def test_the_second_paper_s_difference_is_explained_by_itself(mo: Workplace) -> None:
    weigh_container(mo, "C-1", Mass(1_500_000))
    released(mo)
    for proves in ("received", "recycled"):
        receive_pickup(mo, "P-1", received_on=mo.today(), net=(("C-1", Mass(700_000)),), proves=proves)
    assert len(findings(mo)) == 2

    first = explain_pickup(mo, "P-1", "Part of it was left on the truck.")
    assert "Another paper of it differs too" in first.says
    assert len(findings(mo)) == 1
    explain_pickup(mo, "P-1", "The same part.")
    assert findings(mo) == ()


def test_an_explanation_sent_twice_is_written_once(mo: Workplace) -> None:
    weighed_and_received(mo, "800 g")
    said = Said(key="6b0fbd4c-53c4-4a0a-8e3c-3a9c6b1a7f10")

    first = explain_pickup(mo, "P-1", "No lid.", said)
    again = explain_pickup(mo, "P-1", "No lid.", said)

    assert (again.seq, again.repeated) == (first.seq, True)


def test_explaining_is_the_office_s_task(crew: Crew) -> None:
    open_pail(crew.mo)
    weighed_and_received(crew.mo, "800 g")

    for person in (crew.iris, crew.kim):
        with refused(crew.mo, NotTheirTask, "cannot record this"):
            explain_pickup(person, "P-1", "I do not know.")


def test_agreement_is_no_finding_whatever_the_day(mo: Workplace, watch: Watch) -> None:
    weighed_and_received(mo, "1000 g")
    watch.wait(days=400)

    assert findings(mo) == ()
    assert show_container(mo, "C-1").findings == ()
