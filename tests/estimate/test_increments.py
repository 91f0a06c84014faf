"""What each weighing says of what went in since the one before it: taken from plain facts, without a database."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from tests.makers import (
    MONDAY_MORNING,
    a_booking,
    a_closing,
    a_deposit,
    a_level,
    a_look,
    a_reading,
    a_receipt,
    a_release,
    a_replacement,
    a_swap,
    a_unit_replacement,
    a_weighing,
    an_opening,
)
from tests.model.histories import an_entry, entries_of, facts_of
from wasteledger.estimate.agreement import ReceivedLimits
from wasteledger.estimate.increments import READ_FOR_MASS, Increment, mass_increments
from wasteledger.model.entries import Receipt, ReceivedContainer, Remark
from wasteledger.model.facts import effective_facts
from wasteledger.model.traps import Insert
from wasteledger.model.values import Body

TARE, BODY = 150_000, 5_000
# One reading of the bench scale, step and tolerance 100 mg: d²/12 + t²/3 (JCGM 100:2008, 4.3.7).
READING = 100**2 / 12 + 100**2 / 3
# One part in a hundred of what stood on the facility's scale, never less than two grams; every weight equally likely.
LIMITS = ReceivedLimits(share_permille=10, least_mg=2000)


def increments(*bodies: Body) -> tuple[Increment, ...]:
    """Those of *bodies*, an hour apart."""
    return mass_increments(facts_of(*bodies), LIMITS)


def weighed(net_mg: int, container: str = "C-1") -> Body:
    """A weighing that finds *net_mg* in a pail."""
    return a_weighing(container, TARE + net_mg)


def received(*nets: tuple[str, int, int | None], **changes: Any) -> Receipt:
    """A paper with the net mass of some containers, and what each is stated to be good to (95 %)."""
    containers = tuple(ReceivedContainer(container=c, net_mg=net, uncertainty_mg=u) for c, net, u in nets)
    return a_receipt("P-1", (), **changes).model_copy(update={"containers": containers})


def sent(*containers: str) -> list[Body]:
    """Containers closed, booked and released."""
    closings: list[Body] = [a_closing(one) for one in containers]
    return [*closings, a_booking("P-1", containers), a_release("P-1", containers)]


# -- a container in place ----------------------------------------------------------------------------------------------


def test_the_first_weighing_is_against_the_empty_container() -> None:
    (one,) = increments(an_opening(), a_swap(), a_swap("2-HV"), weighed(17_000))

    assert (one.weighed, one.ref, one.containers, one.seq) == ("container", "C-1", ("C-1",), 4)
    assert (one.began_at, one.ended_at) == tuple(MONDAY_MORNING + timedelta(hours=hour) for hour in (1, 4))
    assert one.net_mg == 17_000 - 2 * BODY
    assert one.variance_mg2 == pytest.approx(2 * READING)
    assert [(tally.source, tally.grade, tally.count) for tally in one.tallies] == [("high_volume", "clogged", 2)]
    assert one.sources == {"high_volume"}
    assert one.inserts_unknown == 0


def test_the_empty_mass_cancels_between_two_weighings() -> None:
    """Both take the same tare off, so its error is in neither difference: two readings are left, not four."""
    heavy = an_opening(tare=a_reading(TARE).model_copy(update={"tolerance_mg": 50_000}))

    first, second = increments(heavy, a_swap(), weighed(8_000), a_swap(), weighed(15_500))

    assert first.variance_mg2 > 50_000**2 / 3
    assert (second.net_mg, second.began_at) == (7_500 - BODY, first.ended_at)
    assert second.variance_mg2 == pytest.approx(2 * READING)


def test_what_was_weighed_singly_is_taken_off_with_its_own_uncertainty() -> None:
    found = increments(
        an_opening(),
        a_swap(),
        a_swap("2-HV", gross=a_reading(9_000), tare=a_reading(BODY)),
        a_deposit(count=None, mass=a_reading(1_200)),
        weighed(20_000),
    )

    single, pail = found
    assert (single.weighed, single.seq) == ("trap", 3)
    assert pail.net_mg == 20_000 - BODY - 9_000 - 1_200
    assert pail.variance_mg2 == pytest.approx(4 * READING)
    assert sum(tally.count for tally in pail.tallies) == 1


def test_an_emptied_trap_leaves_no_body() -> None:
    (one,) = increments(an_opening(), a_swap(insert=Insert.EMPTIED, insert_mg=None), weighed(3_000))

    assert (one.net_mg, one.inserts_unknown) == (3_000, 0)


def test_a_weighing_of_what_was_known_is_no_increment_yet_the_next_starts_there() -> None:
    (one,) = increments(an_opening(), weighed(40), a_swap(), weighed(8_040))

    assert one.net_mg == 3_000
    assert one.began_at == MONDAY_MORNING + timedelta(hours=2)


def test_less_than_nothing_is_found_too() -> None:
    (one,) = increments(an_opening(), a_swap(), weighed(4_800))

    assert one.net_mg == -200


def test_a_body_of_unknown_mass_is_counted() -> None:
    (one,) = increments(an_opening(), a_swap(insert_mg=None), a_swap(), weighed(9_000))

    assert one.inserts_unknown == 1


def test_containers_are_kept_apart() -> None:
    found = increments(
        an_opening("C-1"),
        an_opening("C-2"),
        a_swap(container="C-1"),
        a_swap(container="C-2", insert_mg=4_000),
        weighed(8_000, "C-1"),
        weighed(10_000, "C-2"),
    )

    assert [(one.ref, one.net_mg) for one in found] == [("C-1", 3_000), ("C-2", 6_000)]


def test_an_entry_counts_where_a_correction_put_it_and_when() -> None:
    """Swap 4 went into the other pail, and swap 5 after the weighing."""
    entries = entries_of(
        an_opening("C-1"),
        an_opening("C-2"),
        a_swap(container="C-1"),
        a_swap("2-HV", container="C-1"),
        a_swap("1-HV", container="C-1"),
        weighed(8_000, "C-1"),
        weighed(9_000, "C-2"),
    )
    moved = a_replacement(entries[3], a_swap("2-HV", container="C-2"))
    later = a_replacement(entries[4], happened_at=MONDAY_MORNING + timedelta(hours=6, minutes=30))

    found = mass_increments(effective_facts([*entries, an_entry(8, moved), an_entry(9, later)]), LIMITS)

    assert [(one.ref, one.net_mg, one.tallies[0].count) for one in found] == [("C-1", 3_000, 1), ("C-2", 4_000, 1)]


def test_what_cannot_have_been_stops_nothing_else() -> None:
    """A swap into a closed pail stands only in a damaged journal; the other pail still teaches."""
    found = increments(
        an_opening("C-1"),
        an_opening("C-2"),
        a_closing("C-1"),
        a_swap(container="C-1"),
        a_swap(container="C-2"),
        a_swap(container="C-9"),
        weighed(8_000, "C-2"),
    )

    assert [one.ref for one in found] == ["C-2"]


def test_only_the_kinds_that_are_named_are_needed() -> None:
    whole: list[Body] = [
        an_opening(),
        a_look(),
        a_swap(),
        a_level(),
        weighed(8_000),
        a_deposit(),
        a_swap("2-HV", gross=a_reading(9_000), tare=a_reading(BODY)),
        a_unit_replacement(mass=a_reading(700_000)),
        *sent("C-1"),
        received(("C-1", 50_000, None)),
    ]
    for bodies, found in (
        (whole, {"container", "trap", "unit", "receipt"}),
        (
            [*whole, Remark(text="Their scale was broken.", about=len(whole), pickup="P-1")],
            {"container", "trap", "unit"},
        ),
    ):
        facts = facts_of(*bodies)
        needed = mass_increments([fact for fact in facts if fact.body.KIND in READ_FOR_MASS], LIMITS)

        assert needed == mass_increments(facts, LIMITS)
        assert {one.weighed for one in needed} == found


# -- a pickup at the receiving facility --------------------------------------------------------------------------------


def test_each_container_of_a_receipt_is_an_increment() -> None:
    found = increments(
        an_opening("C-1"),
        an_opening("C-2"),
        a_swap(container="C-1"),
        a_swap(container="C-2"),
        *sent("C-1", "C-2"),
        received(("C-1", 8_200, 980), ("C-2", 600_000, None)),
    )

    first, second = found
    assert (first.weighed, first.ref, first.net_mg) == ("receipt", "C-1", 3_200)
    # 980 mg is stated as expanded (95 %): 1.96 standard uncertainties of 500 mg.
    assert first.variance_mg2 == pytest.approx(500**2, rel=1e-4)
    # 1 % of 600 g in 150 g of pail is 7.5 g either way.
    assert second.variance_mg2 == pytest.approx(7_500**2 / 3)


def test_a_receipt_of_a_weighed_container_speaks_of_what_went_in_since() -> None:
    *_, last = increments(
        an_opening(), a_swap(), weighed(8_000), a_swap(), *sent("C-1"), received(("C-1", 15_600, 980))
    )

    assert last.net_mg == 15_600 - 8_000 - BODY
    # The paper's, the weighing's and the empty pail's.
    assert last.variance_mg2 == pytest.approx((980 / 1.959964) ** 2 + 2 * READING)
    assert sum(tally.count for tally in last.tallies) == 1


def test_what_was_weighed_before_it_left_says_nothing_new_when_it_arrives() -> None:
    found = increments(an_opening(), a_swap(), weighed(8_000), *sent("C-1"), received(("C-1", 8_100, None)))

    assert [one.weighed for one in found] == ["container"]


def test_a_sum_speaks_of_all_containers_together() -> None:
    (one,) = increments(
        an_opening("C-1"),
        an_opening("C-2"),
        a_swap(container="C-1"),
        a_swap("1-SE", container="C-2"),
        *sent("C-1", "C-2"),
        received(total_mg=18_000),
    )

    assert (one.ref, one.containers, one.net_mg) == ("P-1", ("C-1", "C-2"), 8_000)
    assert one.sources == {"high_volume", "saliva_ejector"}
    # 318 g of pails and contents: 1 % of them is more than two grams.
    assert one.variance_mg2 == pytest.approx(3_180**2 / 3)


def test_a_sum_less_what_is_stated_carries_the_uncertainty_of_both() -> None:
    _, rest = increments(
        an_opening("C-1"),
        an_opening("C-2"),
        a_swap(container="C-1"),
        a_swap("1-SE", container="C-2"),
        *sent("C-1", "C-2"),
        received(("C-1", 10_000, 980), total_mg=18_000),
    )

    assert (rest.containers, rest.net_mg) == (("C-2",), 3_000)
    assert rest.variance_mg2 == pytest.approx(3_180**2 / 3 + (980 / 1.959964) ** 2)


def test_two_papers_of_one_shipment_are_one_weighing() -> None:
    net = ("C-1", 8_200, None)
    found = increments(
        an_opening(),
        a_swap(),
        *sent("C-1"),
        received(net),
        received(net, proves="recycled", received_on=date(2026, 4, 1)),
    )

    assert [one.seq for one in found] == [6]


def test_the_paper_that_has_a_weight_counts_whichever_it_is() -> None:
    (one,) = increments(
        an_opening(), a_swap(), *sent("C-1"), received(), received(("C-1", 8_200, None), proves="recycled")
    )

    assert one.seq == 7


def test_a_sum_is_not_split_once_a_part_came_on_another_paper() -> None:
    found = increments(
        an_opening("C-1"),
        an_opening("C-2"),
        a_swap(container="C-1"),
        a_swap(container="C-2"),
        *sent("C-1", "C-2"),
        received(("C-1", 8_200, None)),
        received(total_mg=18_000, proves="recycled"),
    )

    assert [one.ref for one in found] == ["C-1"]


def explained(about: int, pickup: str = "P-1") -> Remark:
    """Why what came back differs from what left, about one entry."""
    return Remark(text="They weighed it with its pallet.", about=about, pickup=pickup)


TWO_SENT: tuple[Body, ...] = (
    an_opening("C-1"),
    an_opening("C-2"),
    a_swap(container="C-1"),
    a_swap(container="C-2"),
    *sent("C-1", "C-2"),
)


@pytest.mark.parametrize(
    "paper",
    [received(("C-1", 8_200, None), ("C-2", 9_000, None)), received(("C-1", 8_200, None), total_mg=18_000)],
    ids=["each", "a sum"],
)
def test_a_receipt_that_was_explained_says_nothing(paper: Receipt) -> None:
    assert len(increments(*TWO_SENT, paper)) == 2

    assert increments(*TWO_SENT, paper, explained(len(TWO_SENT) + 1)) == ()


@pytest.mark.parametrize(
    "remark",
    [
        Remark(text="Called the facility.", pickup="P-1"),
        Remark(text="Filed with the papers.", about=len(TWO_SENT) + 1),
        explained(len(TWO_SENT)),
        explained(len(TWO_SENT) + 1, pickup="P-2"),
    ],
    ids=["of the pickup", "of the entry", "of the release", "of another pickup"],
)
def test_other_remarks_leave_a_receipt_as_it_is(remark: Remark) -> None:
    paper = received(("C-1", 8_200, None), ("C-2", 9_000, None))

    assert increments(*TWO_SENT, paper, remark) == increments(*TWO_SENT, paper)


def test_another_paper_of_an_explained_shipment_speaks_for_itself() -> None:
    """The facility's copy was wrong and was explained; the recycler weighed again."""
    count = len(TWO_SENT)
    (one,) = increments(
        *TWO_SENT,
        received(("C-1", 80_000, None)),
        received(("C-1", 8_200, None), proves="recycled"),
        explained(count + 1),
    )

    assert (one.ref, one.net_mg, one.seq) == ("C-1", 3_200, count + 2)


def test_a_receipt_put_right_wants_an_explanation_of_its_own() -> None:
    """The remark is about the figure that was first written; what stands instead is another entry."""
    count = len(TWO_SENT)
    entries = entries_of(*TWO_SENT, received(("C-1", 80_000, None)), explained(count + 1))
    put_right = an_entry(count + 3, a_replacement(entries[count], received(("C-1", 8_200, None))))
    again = an_entry(count + 4, explained(count + 3))

    (one,) = mass_increments(effective_facts([*entries, put_right]), LIMITS)
    assert (one.net_mg, one.seq) == (3_200, count + 3)
    assert mass_increments(effective_facts([*entries, put_right, again]), LIMITS) == ()


def test_an_explanation_that_was_typed_in_before_its_receipt_in_time_counts_too() -> None:
    facts = facts_of(*TWO_SENT, received(("C-1", 8_200, None)), explained(len(TWO_SENT) + 1))
    early = replace(facts[-1], happened_at=MONDAY_MORNING)

    assert mass_increments([early, *facts[:-1]], LIMITS) == ()


# -- single things -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("insert", Insert)
def test_a_trap_by_itself_is_gross_less_tare(insert: Insert) -> None:
    """Put away whole or tapped out, with a body stated or not: both were on the scale."""
    (one,) = increments(
        an_opening(), a_swap(insert=insert, insert_mg=None, gross=a_reading(8_700), tare=a_reading(5_100))
    )

    assert (one.weighed, one.ref, one.net_mg, one.inserts_unknown) == ("trap", "1-HV", 3_600, 0)
    assert one.variance_mg2 == pytest.approx(2 * READING)
    assert one.began_at == one.ended_at
    (tally,) = one.tallies
    assert (tally.source, tally.grade, tally.dentist_days_permille, tally.inserts_mg) == (
        "high_volume",
        "clogged",
        7000,
        0,
    )


def test_a_unit_by_itself_is_less_its_empty_mass() -> None:
    (one,) = increments(an_opening(), a_unit_replacement(mass=a_reading(712_000)))

    assert (one.weighed, one.ref, one.containers, one.net_mg) == ("unit", "SEP", ("C-1",), 312_000)
    assert one.variance_mg2 == pytest.approx(READING)
    assert one.sources == {"separator_unit"}


def test_a_unit_of_unknown_empty_mass_is_found_so_that_it_can_be_mended() -> None:
    (one,) = increments(an_opening(), a_unit_replacement(mass=a_reading(712_000), unit_mg=None))

    assert one.inserts_unknown == 1


def test_pieces_by_themselves_are_a_count_and_a_mass() -> None:
    (one,) = increments(an_opening(), a_deposit(count=4, mass=a_reading(2_640)))

    assert (one.weighed, one.ref, one.net_mg) == ("pieces", "C-1", 2_640)
    assert one.tallies[0].dentists_permille == 4_000


@pytest.mark.parametrize(
    "body", [a_deposit(count=None, mass=a_reading(900)), a_deposit(), a_swap(), a_unit_replacement()]
)
def test_without_both_a_count_and_a_mass_there_is_no_increment(body: Body) -> None:
    assert increments(an_opening(), body) == ()


def test_increments_come_by_the_time_at_which_they_were_weighed() -> None:
    facts = facts_of(
        an_opening(), a_swap(), weighed(8_000), a_swap("2-HV", gross=a_reading(9_000), tare=a_reading(BODY))
    )
    early = replace(facts[3], happened_at=MONDAY_MORNING + timedelta(hours=1, minutes=30))

    found = mass_increments(sorted([*facts[:3], early], key=lambda fact: fact.order), LIMITS)

    assert [one.weighed for one in found] == ["trap", "container"]
    assert found[1].net_mg == 8_000 - BODY - 9_000
    # The trap went in whole, so only its gross reading is in the pail.
    assert found[1].variance_mg2 == pytest.approx(3 * READING)
