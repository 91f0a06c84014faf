"""Density of a mixture."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wasteledger.estimate.density import BadMixture, mixture_density

mixtures = st.lists(st.tuples(st.floats(0.01, 1e6), st.floats(0.1, 2e4)), min_size=1, max_size=6)


@given(mixtures, st.floats(0.01, 100))
def test_it_lies_between_its_parts_and_does_not_depend_on_the_amount(
    parts: list[tuple[float, float]], times: float
) -> None:
    density = mixture_density(parts)

    assert min(part[1] for part in parts) * (1 - 1e-9) <= density <= max(part[1] for part in parts) * (1 + 1e-9)
    assert mixture_density([(mass * times, one) for mass, one in parts]) == pytest.approx(density)


def test_equal_volumes_give_the_plain_mean() -> None:
    assert mixture_density([(1000, 1000), (3000, 3000)]) == 2000


def test_a_part_of_no_mass_changes_nothing() -> None:
    assert mixture_density([(5, 1000), (0, 9000)]) == 1000


@pytest.mark.parametrize(
    "parts",
    [[], [(0, 1000)], [(-1, 1000), (3, 1000)], [(1, 0)], [(1, -5)], [(math.nan, 1000)], [(1, math.inf)]],
)
def test_what_cannot_be_mixed(parts: list[tuple[float, float]]) -> None:
    with pytest.raises(BadMixture) as refusal:
        mixture_density(parts)
    assert refusal.value.hint
