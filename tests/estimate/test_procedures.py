from __future__ import annotations

import math
from datetime import date

import pytest

from wasteledger.errors import ExitStatus
from wasteledger.estimate.procedures import BadCount, Procedures, RestorationMass, Restorations, mass_of

ONE = RestorationMass(1000.0, 100.0, 300.0)


def test_counts_below_nothing_are_refused() -> None:
    with pytest.raises(BadCount, match="-2 restorations") as refused:
        Restorations(one=3, two=-2)

    assert refused.value.exit_status is ExitStatus.NOT_UNDERSTOOD


def test_a_period_that_ends_before_it_begins_is_refused() -> None:
    with pytest.raises(BadCount, match="before it begins"):
        Procedures(date(2026, 3, 2), date(2026, 3, 1))


def test_counts_add_by_surfaces() -> None:
    both = Restorations(1, 2, 3, 4, 5) + Restorations(10, 20, 30, 40, 50)

    assert (both.by_surfaces, both.unknown, both.count) == ((11, 22, 33, 44), 55, 165)


def test_the_error_of_a_mean_grows_with_the_number_and_scatter_with_its_root() -> None:
    found = mass_of([25], [ONE])

    assert (found.mean_mg, found.shared_sd_mg, found.scatter_sd_mg) == (25_000, 2500, 1500)
    assert found.sd_mg == pytest.approx(math.hypot(2500, 1500))


@pytest.mark.parametrize(("between_means", "shared_mg"), [(0.0, math.hypot(1000, 1000)), (1.0, 2000.0)])
def test_errors_of_two_means_add_as_they_are_linked(between_means: float, shared_mg: float) -> None:
    assert mass_of([10, 10], [ONE, ONE], between_means=between_means).shared_sd_mg == pytest.approx(shared_mg)


def test_nothing_weighs_nothing() -> None:
    found = mass_of([0], [ONE])

    assert (found.mean_mg, found.sd_mg) == (0, 0)
