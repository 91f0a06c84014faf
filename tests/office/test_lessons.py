"""What people are told when something was weighed: what the estimate had said, how far off it was, what it taught."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.makers import a_calibration
from tests.office.makers import Crew, container, entry, open_pail, released
from wasteledger.estimate.learning import PRIOR_DEGREES_OF_FREEDOM
from wasteledger.model.traps import Condition
from wasteledger.office.budget import budget_of
from wasteledger.office.containers import open_container, weigh_container
from wasteledger.office.corrections import correct_entry
from wasteledger.office.courses import estimate_before_leaving
from wasteledger.office.kind_words import held_words, mean_words, one_of
from wasteledger.office.learned import MassesLearned, masses_learned
from wasteledger.office.learning import current_prior
from wasteledger.office.lessons import far_off, standing_before
from wasteledger.office.masses import mass_of, statement
from wasteledger.office.pickups import receive_pickup
from wasteledger.office.separator import replace_unit
from wasteledger.office.starting_values import shipped_prior
from wasteledger.office.swaps import record_deposit, record_swap
from wasteledger.office.workplace import Recorded, Said, Workplace
from wasteledger.units import Mass

TARE_MG, BODY_MG = 500_000, 5_100
SHIPPED = shipped_prior()


def swap(place: Workplace, count: int = 1, into: str = "C-1", said: Said = Said()) -> None:  # noqa: B008  (frozen)
    """Some clogged high-volume traps put in whole, each 5.1 g without its debris."""
    for _ in range(count):
        record_swap(place, "1-HV", said, condition=Condition.CLOGGED, into=into)


def weigh(place: Workplace, swaps: int, debris_mg: int, ref: str = "C-1", said: Said = Said()) -> Recorded:  # noqa: B008
    """A pail with so many swaps in it on the scale."""
    return weigh_container(place, ref, Mass(TARE_MG + swaps * BODY_MG + debris_mg), said)


def stated(place: Workplace, ref: str = "C-1") -> str:
    """What the ledger says of a container now."""
    with place.reading() as reader:
        return statement(mass_of(reader, container(place, ref)))


def learned(place: Workplace) -> MassesLearned:
    """What was learned so far."""
    with place.reading() as reader:
        return masses_learned(reader)


# -- how far off -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("weighed_mg", "estimated_mg", "expanded_mg", "words"),
    [
        (131_400, 119_873, 80_000, "12 g more (10 %)"),
        (100_000, 119_873, 80_000, "20 g less (17 %)"),
        (120_100, 119_873, 80_000, "the same"),
        (119_873, 119_873, 80_000, "the same"),
        (2_300, 2_268, 6_600, "the same"),
        (5_000, 0, 2_000, "5 g more"),
        (1_500_000, 400_000, 100_000, "1.1 kg more (275 %)"),
    ],
)
def test_a_difference_has_two_digits_and_is_no_finer_than_the_estimate(
    weighed_mg: int, estimated_mg: int, expanded_mg: int, words: str
) -> None:
    assert far_off(weighed_mg, estimated_mg, expanded_mg) == words


# -- a container -------------------------------------------------------------------------------------------------------


def test_a_weighing_says_what_the_estimate_had_said_and_what_it_taught(place: Workplace) -> None:
    open_pail(place)
    swap(place, 10)
    before = stated(place)
    assert before.endswith(", estimate")

    told = weigh(place, 10, 15_000)

    had_said, taught, others = told.learned
    assert had_said == f"The estimate had said {before}; the scale shows 15 g less (19 %)."
    with place.reading() as reader:
        after = current_prior(reader)
    was = mean_words(SHIPPED, "high_volume").removesuffix(", estimate").replace(" (95 %)", "")
    assert taught == (
        f"Learned of a high-volume trap, one full swap: {mean_words(after, 'high_volume')}; before, {was}."
    )
    assert others == "6 other kinds moved with it: wasteledger learned."
    assert told.warnings == ()


def test_a_weighing_outside_the_interval_asks(place: Workplace) -> None:
    open_pail(place)
    swap(place)

    told = weigh(place, 1, 90_000)

    (warning,) = told.warnings
    assert warning.startswith("The scale says 95.1 g; the estimate before lay between 5.2 g and 20.2 g. ")
    assert warning.endswith("Was every swap recorded, and is it the right container?")


def test_a_second_weighing_of_the_same_says_nothing_of_an_estimate(place: Workplace) -> None:
    open_pail(place)
    swap(place, 10)
    weigh(place, 10, 15_000)

    assert weigh(place, 10, 14_900).learned == ()


def test_a_weighing_typed_in_late_is_compared_with_what_stood_then(place: Workplace) -> None:
    """Five traps put in after it were not on the scale, so they are in neither figure, and nothing is asked."""
    open_pail(place)
    swap(place, 10)
    then, before = place.ledger.clock(), stated(place)
    place.ledger.clock.wait(hours=2)  # type: ignore[attr-defined]
    swap(place, 5)

    told = weigh(place, 10, 30_000, said=Said(at=then + timedelta(minutes=30)))

    assert told.learned[0].startswith(f"The estimate had said {before}; the scale shows the same.")
    assert told.warnings == ()
    with place.reading() as reader:
        stood = standing_before(reader, "C-1", told.entry)
    assert stood is not None
    assert stood.swaps == 10
    assert container(place).swaps == 15


def test_bodies_of_unknown_mass_are_named_with_how_to_mend_them(place: Workplace) -> None:
    open_container(place, "T-1", "tub", tare=Mass(300_000))
    record_swap(place, "JAR", into="T-1")
    place.ledger.clock.wait(hours=1)  # type: ignore[attr-defined]
    record_swap(place, "JAR", into="T-1")

    told = weigh_container(place, "T-1", Mass(2_900_000))

    # More than the estimate is no wonder, since two bodies are in none of its figures.
    (warning,) = told.warnings
    assert warning.startswith("Nothing can be learned from this weighing: 2 bodies of unknown mass went in.")
    assert "insert_mass of a trap" in warning
    assert "wasteledger register update PLAN.toml" in warning
    assert len(told.learned) == 1
    assert "and 2 pieces of unknown mass; the scale shows" in told.learned[0]

    # What the hint says does it: with both bodies known, the same weighing teaches.
    first, second = (one for one in range(1, told.seq) if entry(place, one).kind == "swap")
    correct_entry(place, first, "Weighed a clean one.", action="replace", changes={"insert_mg": "310g"})
    put_right = correct_entry(place, second, "The same.", action="replace", changes={"insert_mg": "310g"})
    assert put_right.learned[0].startswith("Learned of a ")
    assert learned(place).weighings == 1
    assert learned(place).left_out == ()


def test_less_than_an_unknown_body_could_explain_is_asked_about(place: Workplace) -> None:
    open_container(place, "T-1", "tub", tare=Mass(300_000))
    record_swap(place, "JAR", into="T-1", condition=Condition.CLOGGED)

    told = weigh_container(place, "T-1", Mass(300_100))

    assert any(one.startswith("The scale says 0.1 g") for one in told.warnings)


def test_a_weighing_put_right_is_still_compared_with_what_was_known_before_it(place: Workplace) -> None:
    """What the wrong figure taught in between must not vouch for the right one."""
    open_pail(place)
    swap(place, 10)
    before = stated(place)
    seq = weigh(place, 10, 300_000).seq

    correct_entry(place, seq, "Another pail.", action="replace", changes={"gross": f"{TARE_MG + 66_000} mg"})

    with place.reading() as reader:
        found = estimate_before_leaving(reader, "C-1")
    assert found is not None
    assert statement(found) == before


# -- single things -----------------------------------------------------------------------------------------------------


def test_a_trap_weighed_by_itself_says_what_was_expected_of_it(place: Workplace) -> None:
    open_pail(place)

    told = record_swap(place, "1-HV", condition=Condition.CLOGGED, gross=Mass(6_600), tare=Mass(5_100))

    had_said, taught, _ = told.learned
    assert had_said.startswith("Of the debris in this trap the estimate had said about 3.0 g, between ")
    assert had_said.endswith(", estimate; the scale shows 1.5 g less (50 %).")
    assert taught.startswith("Learned of a high-volume trap, one full swap: about 1.9 g")
    assert told.warnings == ()


def test_a_trap_that_is_only_counted_says_nothing_of_it(place: Workplace) -> None:
    open_pail(place)

    assert record_swap(place, "1-HV").learned == ()


def test_a_unit_and_pieces_are_spoken_of_as_what_they_are(place: Workplace) -> None:
    open_container(place, "B-1", "unit-box")
    unit = replace_unit(place, "SEP", "B-1", mass=Mass.parse("900 g"))
    assert unit.learned[0].startswith("Of what this unit held the estimate had said about ")
    assert unit.learned[1].startswith("Learned of a separator unit, one unit: about ")

    open_pail(place)
    deposit = record_deposit(place, "C-1", "contact", count=2, mass=Mass(1_300))
    # Nothing says which kind's mass these pieces have, so nothing is said, and nobody is sent to mend it.
    assert (deposit.learned, deposit.warnings) == ((), ())


def test_one_of_a_kind_is_called_what_it_is() -> None:
    assert [one_of(SHIPPED, kind) for kind in ("pump", "separator_unit", "removed_restoration")] == [
        "one full swap",
        "one unit",
        "one piece",
    ]


# -- a receipt ---------------------------------------------------------------------------------------------------------


def test_a_receipt_says_what_the_estimate_had_said_as_it_left(crew: Crew) -> None:
    open_pail(crew.kim)
    swap(crew.kim, 10)
    left = stated(crew.kim)
    released(crew.mo)

    told = receive_pickup(crew.mo, "P-1", received_on=crew.mo.today(), net=(("C-1", Mass(10 * BODY_MG + 15_000)),))

    assert told.learned[0] == f"C-1: the estimate had said {left}; the facility states 15 g less (19 %)."
    assert told.learned[1].startswith("Learned of a high-volume trap, one full swap: about 1.")
    assert told.warnings == ()


def test_a_receipt_beyond_all_agreement_is_a_warning_and_teaches_all_the_same(crew: Crew) -> None:
    open_pail(crew.kim)
    swap(crew.kim, 10)
    released(crew.mo)

    told = receive_pickup(crew.mo, "P-1", received_on=crew.mo.today(), net=(("C-1", Mass(2_000_000)),))

    assert any("more than both uncertainties allow" in warning for warning in told.warnings)
    assert all("the estimate had said" not in one for one in told.learned)
    assert told.learned[0].startswith("Learned of a high-volume trap")


# -- corrections -------------------------------------------------------------------------------------------------------


def test_a_correction_says_what_is_believed_without_the_entry(place: Workplace) -> None:
    open_pail(place)
    swap(place, 10)
    seq = weigh(place, 10, 15_000).seq

    told = correct_entry(place, seq, "Another pail.")

    assert len(told.learned) == 4
    assert told.learned[-1] == "4 other kinds moved with it: wasteledger learned."
    was = mean_words(SHIPPED, "high_volume")
    assert any(f"a high-volume trap, one full swap: {was}; before, about 1." in one for one in told.learned)


# -- means at zero -----------------------------------------------------------------------------------------------------


@pytest.fixture
def held(place: Workplace) -> Workplace:
    """A practice whose pails came out lighter than the bodies in them, three times over."""
    for number in (1, 2, 3):
        open_pail(place, f"C-{number}")
        swap(place, 10, f"C-{number}")
        told = weigh(place, 10, -9_000, f"C-{number}")
    assert held_words("high_volume") in told.warnings
    return place


def test_a_kind_held_at_zero_is_said_where_it_happens_and_in_the_budget(held: Workplace) -> None:
    with held.reading() as reader:
        found = budget_of(reader, container(held, "C-1"))
        other = open_pail(held, "C-9")
        assert other.warnings == ()
        empty = budget_of(reader, container(held, "C-1"))
    assert found.held_at_zero == empty.held_at_zero == ("high_volume",)
    assert found.warnings == (held_words("high_volume"),)
    assert found.as_json()["warnings"] == [held_words("high_volume")]
    assert "below nothing; it is held at 0 g" in held_words("high_volume")


def test_a_budget_does_not_speak_of_kinds_that_are_not_in_it(held: Workplace) -> None:
    open_pail(held, "C-9")
    record_swap(held, "1-SE", into="C-9")
    with held.reading() as reader:
        assert budget_of(reader, container(held, "C-9")).warnings == ()


def test_a_kind_held_at_zero_stands_among_what_was_learned(held: Workplace) -> None:
    found = learned(held)

    (zero,) = [one for one in found.kinds if one.is_held_at_zero]
    assert (zero.kind, zero.weighings, zero.now.value_mg) == ("high_volume", 3, 0)
    assert zero.statement.startswith("about 0.00 g, between 0.00 g and ")
    assert found.warnings == (held_words("high_volume"),)


# -- all that was learned ----------------------------------------------------------------------------------------------


def test_before_any_weighing_every_kind_is_as_published(place: Workplace) -> None:
    found = learned(place)

    assert found.calibration_seq is None
    assert found.headline == "No weighing has taught anything yet: the published starting values count."
    assert found.scatter == "Scale factor 1, degrees of freedom without limit: as published."
    assert [one.kind for one in found.kinds] == list(SHIPPED.kinds)
    assert not any(one.is_moved or one.weighings for one in found.kinds)
    high = found.kinds[1]
    assert high.began == f"published {mean_words(SHIPPED, 'high_volume').removesuffix(', estimate')}; no weighing of it"
    assert found.as_json()["degrees_of_freedom"] is None


def test_each_kind_says_from_how_many_weighings_it_is_known(place: Workplace) -> None:
    open_pail(place)
    swap(place, 10)
    record_swap(place, "1-SE", into="C-1")
    weigh(place, 10, 20_000)
    open_pail(place, "C-2")
    swap(place, 10, "C-2")
    weigh(place, 10, 20_000, "C-2")

    found = learned(place)

    counts = {one.kind: one.weighings for one in found.kinds}
    assert (counts["high_volume"], counts["saliva_ejector"], counts["pump"]) == (2, 1, 0)
    assert found.weighings == 2
    assert found.calibration_seq is not None
    assert found.headline == (
        f"Learned from 2 weighings, written down in entry {found.calibration_seq} "
        f"(from the entries up to {found.calibration_seq - 1})."
    )
    began = {one.kind: one.began.rpartition("; ")[2] for one in found.kinds}
    assert began["high_volume"] == "2 weighings of it"
    assert began["saliva_ejector"] == "1 weighing of it"
    assert began["pump"] == "no weighing of it, moved with the others"
    assert found.scatter.startswith(f"Scale factor {found.scale:.2f}: the scatter of one swap")
    assert found.degrees_of_freedom == PRIOR_DEGREES_OF_FREEDOM + 2
    with place.reading() as reader:
        prior = current_prior(reader)
    assert found.kinds[1].statement == mean_words(prior, "high_volume")
    assert float(found.as_json()["scale"]) == pytest.approx(found.scale, abs=1e-4)


def test_weighings_that_are_left_out_are_grouped_by_the_reason(place: Workplace) -> None:
    for number in (1, 2):
        open_container(place, f"T-{number}", "tub", tare=Mass(300_000))
        record_swap(place, "JAR", into=f"T-{number}")
        place.ledger.clock.wait(hours=1)  # type: ignore[attr-defined]
        weigh_container(place, f"T-{number}", Mass(900_000))
    open_pail(place)
    record_deposit(place, "C-1", "contact", count=2, mass=Mass(1_300))

    found = learned(place)

    assert [(why, len(some)) for why, _, some in found.reasons] == [
        ("a body of unknown mass went in", 2),
        ("nothing gives pieces of the stream “contact” a mass", 1),
    ]
    assert [one.what for one in found.left_out] == ["container T-1", "container T-2", "pieces in C-1"]
    assert found.reasons[0][1].startswith("State the mass of the clean body")
    # Pieces that were weighed by themselves are known, so nothing has to be mended.
    assert found.reasons[1][1] == ""
    assert [one["seq"] for one in found.as_json()["left_out"]] == [one.seq for one in found.left_out]


def test_counted_pieces_of_unknown_mass_in_a_container_ask_for_a_mass_source(place: Workplace) -> None:
    open_pail(place)
    record_deposit(place, "C-1", "contact", count=2)
    weigh_container(place, "C-1", Mass(TARE_MG + 1_300))

    ((why, mend, (one,)),) = learned(place).reasons

    assert (why, one.what) == ("nothing gives pieces of the stream “contact” a mass", "container C-1")
    assert mend.startswith("Name a mass_source")


def test_a_weighing_corrected_away_teaches_nothing_any_more(place: Workplace) -> None:
    open_pail(place)
    swap(place, 10)
    correct_entry(place, weigh(place, 10, 15_000).seq, "Another pail.")

    found = learned(place)

    assert found.headline.startswith("No weighing has taught anything yet")
    assert found.scatter.startswith("Scale factor 1, degrees of freedom without limit")
    assert not any(one.is_moved for one in found.kinds)


def test_a_calibration_of_other_figures_is_said_as_it_is(place: Workplace) -> None:
    """What the newest calibration says counts, whoever wrote it."""
    with place.writing() as desk:
        seq = desk.append(a_calibration()).entry.seq

    found = learned(place)

    assert found.calibration_seq == seq
    assert found.kinds[1].now.value_mg == 812
