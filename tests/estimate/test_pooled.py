"""Several containers as one: masses add, tallies of a kind share their error, scales' limits are fully correlated."""

from __future__ import annotations

from wasteledger.estimate.containers import standing_mass
from wasteledger.estimate.pooled import as_one
from wasteledger.model.containers import Holding, Tally
from wasteledger.office.starting_values import shipped_prior

WEIGHED = Holding(base_mg=1_000_000, base_twelfths_mg2=12 * 100**2, base_seq=3)


def test_ten_that_share_their_standard_add_their_uncertainties() -> None:
    """JCGM 100:2008, 5.2.2, example: ten resistors of 1000 Ω, each u = 100 mΩ by the same standard, make 1 Ω in series,
    not the 0.32 Ω of independent ones (here in mg instead of mΩ; from memory).
    """
    found = standing_mass(as_one([WEIGHED] * 10), shipped_prior())

    assert (found.value_mg, found.standard_uncertainty_mg, found.basis) == (10_000_000, 1_000, "weighed")


def test_one_alone_stays_as_it_is_and_none_is_empty() -> None:
    assert as_one([WEIGHED]) == WEIGHED
    assert as_one([WEIGHED, Holding()]).base_mg == WEIGHED.base_mg
    assert standing_mass(as_one([WEIGHED, Holding()]), shipped_prior()).standard_uncertainty_mg == 100
    assert standing_mass(as_one([]), shipped_prior()).basis == "empty"


def test_what_was_weighed_singly_as_nothing_is_still_weighed() -> None:
    nothing = Holding(added_mg=0, added_twelfths_mg2=12)

    assert standing_mass(as_one([nothing, nothing]), shipped_prior()).basis == "weighed"


def test_traps_of_a_kind_count_as_if_they_lay_in_one_container() -> None:
    """Two containers with ten swaps each are twenty swaps: the same as one container with all of them."""
    ten = Holding(tallies=(Tally("high_volume", "clogged", 10, 10_000, 70_000, 50_000),))
    twenty = Holding(tallies=(Tally("high_volume", "clogged", 20, 20_000, 140_000, 100_000),))

    assert as_one([ten, ten]) == twenty
