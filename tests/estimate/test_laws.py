"""Laws of the estimate, with drawn holdings and the shipped starting values."""

from __future__ import annotations

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from tests.estimate.makers import SHIPPED, a_holding
from wasteledger.estimate.containers import Estimate, standing_mass
from wasteledger.model.containers import Holding, Tally
from wasteledger.model.traps import Condition, TrapKind

TRAP_KINDS = [kind.value for kind in TrapKind]
GRADES = [condition.value for condition in Condition]


@st.composite
def tallies(draw: st.DrawFn) -> Tally:
    """Some swaps of one kind and condition, or some pieces of a stream."""
    count = draw(st.integers(1, 300))
    if draw(st.integers(0, 5)) == 0:
        return Tally(f"stream:{draw(st.sampled_from(['teeth', 'capsules']))}", "", count, 1000 * count)
    dentists_permille = count * draw(st.integers(1, 9000))
    return Tally(
        source=draw(st.sampled_from([*TRAP_KINDS, "separator_unit"])),
        grade=draw(st.sampled_from(GRADES)),
        count=count,
        dentists_permille=dentists_permille,
        dentist_days_permille=dentists_permille * draw(st.integers(0, 500)),
        inserts_mg=draw(st.integers(0, 50_000)),
        inserts_unknown=draw(st.integers(0, count)),
    )


several = st.lists(tallies(), max_size=8)
masses_mg = st.integers(0, 50_000_000)
twelfths_mg2 = st.integers(0, 12 * 10_000**2)


def estimate(added: Sequence[Tally], base_mg: int = 0, base_twelfths_mg2: int = 0) -> Estimate:
    return standing_mass(a_holding(*added, base_mg=base_mg, base_twelfths_mg2=base_twelfths_mg2, base_seq=1), SHIPPED)


@given(several, masses_mg, twelfths_mg2)
def test_the_interval_holds_the_value_and_nothing_is_negative(added: list[Tally], base: int, twelfths: int) -> None:
    found = estimate(added, base, twelfths)

    assert 0 <= found.lower_mg <= found.value_mg <= found.upper_mg
    assert found.value_mg == found.weighed_mg + found.inserts_mg + found.estimated_mg
    assert min(found.estimated_mg, found.inserts_mg, found.standard_uncertainty_mg, found.expanded_mg) >= 0


@given(several, tallies(), masses_mg, twelfths_mg2)
def test_what_goes_in_lowers_neither_value_nor_uncertainty(
    added: list[Tally], one: Tally, base: int, twelfths: int
) -> None:
    before, after = estimate(added, base, twelfths), estimate([*added, one], base, twelfths)

    assert after.value_mg >= before.value_mg
    assert after.standard_uncertainty_mg >= before.standard_uncertainty_mg
    assert after.unknown_pieces >= before.unknown_pieces


@given(several, st.sampled_from(TRAP_KINDS), masses_mg, twelfths_mg2)
def test_a_full_trap_raises_both_ends_of_the_interval(added: list[Tally], kind: str, base: int, twelfths: int) -> None:
    one = Tally(kind, "clogged", count=1, dentists_permille=1000)
    before, after = estimate(added, base, twelfths), estimate([*added, one], base, twelfths)

    assert after.upper_mg >= before.upper_mg
    assert after.lower_mg >= before.lower_mg


@given(several, masses_mg, st.integers(0, 50_000), twelfths_mg2)
def test_a_piece_weighed_singly_adds_what_it_weighs(added: list[Tally], base: int, mass_mg: int, twelfths: int) -> None:
    holding = a_holding(*added, base_mg=base, base_seq=1)
    before, after = (
        standing_mass(holding, SHIPPED),
        standing_mass(holding.with_weighed(mass_mg, twelfths), SHIPPED),
    )

    assert after.value_mg == before.value_mg + mass_mg
    assert after.basis == before.basis
    assert after.standard_uncertainty_mg >= before.standard_uncertainty_mg


@given(several.flatmap(lambda drawn: st.tuples(st.just(drawn), st.permutations(drawn))), masses_mg)
def test_the_order_in_which_things_went_in_does_not_matter(both: tuple[list[Tally], list[Tally]], base: int) -> None:
    drawn, shuffled = both

    assert estimate(drawn, base) == estimate(shuffled, base)
    # Not pooled, and in any order, as well.
    loose = [Holding(base_mg=base, base_seq=1, tallies=tuple(order)) for order in both]
    assert {standing_mass(one, SHIPPED) for one in loose} == {estimate(drawn, base)}


@given(tallies(), st.data())
def test_a_tally_split_in_two_is_the_same(whole: Tally, data: st.DataObject) -> None:
    names = ("count", "dentists_permille", "dentist_days_permille", "inserts_mg", "inserts_unknown")
    first = {name: data.draw(st.integers(0, getattr(whole, name)), label=name) for name in names}
    rest = {name: getattr(whole, name) - part for name, part in first.items()}

    split = Holding(tallies=tuple(Tally(whole.source, whole.grade, **part) for part in (first, rest)))

    assert standing_mass(split, SHIPPED) == standing_mass(Holding(tallies=(whole,)), SHIPPED)


@given(several, masses_mg, twelfths_mg2)
def test_the_budget_adds_up_to_the_uncertainty(added: list[Tally], base: int, twelfths: int) -> None:
    found = estimate(added, base, twelfths)

    squares = sum(line.standard_uncertainty_mg**2 for line in found.budget)
    # Each line is carried to the nearest milligram.
    assert abs(squares**0.5 - found.standard_uncertainty_mg) <= 3


@given(several, masses_mg)
def test_weighed_means_that_nothing_unweighed_went_in(added: list[Tally], base: int) -> None:
    assert (estimate(added, base).basis == "weighed") == (not added)
