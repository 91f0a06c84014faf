"""What increments teach: the prior's means, their covariance and the scatter, checked by arithmetic of another kind."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.estimate.makers import GRADES, SHIPPED, a_prior, pieces, swaps
from tests.makers import MONDAY_MORNING
from wasteledger.estimate.containers import UnknownKind, exposures_of
from wasteledger.estimate.increments import Increment
from wasteledger.estimate.kind_means import held_at_zero, mean_of
from wasteledger.estimate.learning import (
    NOTHING_ESTIMATED,
    PRIOR_DEGREES_OF_FREEDOM,
    UNKNOWN_BODY,
    scatter_at,
    sort_out,
    teach,
)
from wasteledger.estimate.prior import Prior
from wasteledger.model.containers import Tally

Array = NDArray[np.float64]
HIGH, FILTER = 0, 1


def weighed(net_mg: int, *tallies: Tally, variance_mg2: float = 10_000.0, seq: int = 9, unknown: int = 0) -> Increment:
    """A pail that was weighed with these tallies in it."""
    return Increment(
        weighed="container",
        ref="C-1",
        containers=("C-1",),
        seq=seq,
        began_at=MONDAY_MORNING,
        ended_at=MONDAY_MORNING,
        net_mg=net_mg,
        variance_mg2=variance_mg2,
        tallies=tallies,
        inserts_unknown=unknown,
    )


THREE = (
    weighed(30_000, swaps(12), seq=5),
    weighed(9_000, swaps(2), swaps(1, kind="line_filter", days=30), seq=7),
    weighed(25_000, swaps(2, kind="line_filter", days=30), variance_mg2=4_000_000.0, seq=9),
)


def by_normal_equations(prior: Prior, increments: tuple[Increment, ...]) -> tuple[Array, Array, float, Array]:
    """The same lesson by inverses, normal equations and small steps: means, their covariance, scale, scatter per swap.

    Precisions add up (C. M. Bishop, Pattern Recognition and Machine Learning, 2006, 3.3); the scale is that of a
    guess worth so many weighings and of the squared residuals, each with what the means' uncertainty adds to it (10.3).
    Weights and scale are taken at the answer itself.
    """
    x = np.array([[float(cell) for cell in exposures_of(one.holding, prior)] for one in increments])
    y = np.array([float(one.net_mg) for one in increments])
    believed = np.array(prior.means_mg)
    precision = np.linalg.inv(np.array(prior.covariance_mg2))
    means, scale = believed, 1.0
    for _ in range(2000):
        scatter = np.array(prior.scatter_sd_mg) * np.maximum(means, 0.2 * believed) / believed
        v = np.array([one.variance_mg2 for one in increments]) + x @ scatter**2 + 1.0
        covariance = np.linalg.inv(precision + x.T @ (x / (scale * v)[:, None]))
        found = covariance @ (precision @ believed + x.T @ (y / (scale * v)))
        spread = float((((y - x @ found) ** 2 + np.einsum("ij,jk,ik->i", x, covariance, x)) / v).sum())
        means = 0.8 * means + 0.2 * found
        scale = 0.8 * scale + 0.2 * (PRIOR_DEGREES_OF_FREEDOM + spread) / (PRIOR_DEGREES_OF_FREEDOM + len(y))
    scatter = np.array(prior.scatter_sd_mg) * np.maximum(means, 0.2 * believed) / believed
    return means, covariance, scale, scatter


@pytest.mark.parametrize("count", [1, 2, 3])
@pytest.mark.parametrize("prior", [a_prior(), a_prior(shared_cv=1.0)], ids=["narrow", "wide"])
def test_the_lesson_is_that_of_the_normal_equations(prior: Prior, count: int) -> None:
    means, covariance, scale, scatter = by_normal_equations(prior, THREE[:count])

    taught = teach(prior, THREE[:count])

    assert taught.prior.means_mg == pytest.approx(means, rel=1e-7)
    assert taught.scale == pytest.approx(scale, rel=1e-7)
    np.testing.assert_allclose(taught.prior.covariance_mg2, covariance, rtol=1e-7)
    assert taught.prior.scatter_sd_mg == pytest.approx(math.sqrt(scale) * scatter, rel=1e-7)
    assert taught.prior.degrees_of_freedom == PRIOR_DEGREES_OF_FREEDOM + count
    assert taught.used == THREE[:count]
    assert taught.held_at_zero == ()


def test_residuals_are_in_deviations_of_the_increment_itself() -> None:
    prior = a_prior()
    taught = teach(prior, THREE)

    found = []
    for one in THREE:
        x = [float(cell) for cell in exposures_of(one.holding, prior)]
        scatter = math.fsum(cell * sd**2 for cell, sd in zip(x, taught.prior.scatter_sd_mg, strict=True))
        fitted = math.fsum(cell * mean for cell, mean in zip(x, taught.prior.means_mg, strict=True))
        found.append((one.net_mg - fitted) / math.sqrt(taught.scale * (one.variance_mg2 + 1) + scatter))

    assert taught.residuals == pytest.approx(found, abs=1e-6)
    assert [residual > 0 for residual in taught.residuals] == [residual > 0 for residual in found]


def test_without_an_increment_the_prior_stands() -> None:
    prior = a_prior()

    taught = teach(prior, [])

    assert taught.prior is prior
    assert (taught.scale, taught.used, taught.left_out) == (1.0, (), ())


@pytest.mark.parametrize("net_mg", [300, 12_000, 30_000, 90_000])
def test_heavy_single_traps_settle_instead_of_swinging(net_mg: int) -> None:
    """Traps far from what is published: weights and means pulled each other up and down with each pass."""
    singles = tuple(weighed(net_mg, swaps(1), seq=seq) for seq in range(8))
    prior = a_prior(shared_cv=1.0)

    means, _, scale, _ = by_normal_equations(prior, singles)
    taught = teach(prior, singles)

    assert taught.prior.means_mg == pytest.approx(means, rel=1e-5)
    assert taught.scale == pytest.approx(scale, rel=1e-5)


def test_weighings_of_one_kind_say_nothing_of_how_well_an_unrelated_one_is_known() -> None:
    prior = a_prior(shared_cv=1.0, between_kinds=0.0)
    calm = [weighed(30_000, swaps(10), seq=seq) for seq in range(12)]
    wild = [*calm[1:], weighed(900_000, swaps(10), seq=99)]

    for lesson in (teach(prior, calm), teach(prior, wild)):
        assert lesson.prior.means_mg[FILTER] == pytest.approx(prior.means_mg[FILTER])
        assert lesson.prior.covariance_mg2[FILTER][FILTER] == pytest.approx(prior.covariance_mg2[FILTER][FILTER])
    assert teach(prior, calm).scale < 1 < teach(prior, wild).scale


def test_a_kind_twice_as_heavy_scatters_twice_as_much() -> None:
    prior = a_prior(shared_cv=1.0)
    heavy = [weighed(6_000 * 40, swaps(40), seq=seq) for seq in range(30)]

    taught = teach(prior, heavy)

    assert taught.prior.means_mg[HIGH] == pytest.approx(6_000, rel=0.01)
    # Thirty weighings that agree to the gram also say that swaps scatter less than published.
    assert taught.scale < 0.5
    assert taught.prior.scatter_sd_mg[HIGH] == pytest.approx(math.sqrt(taught.scale) * 6_000, rel=0.01)


def test_the_scatter_of_a_kind_never_falls_below_a_fifth() -> None:
    prior = a_prior()

    assert scatter_at(prior, (0.0, 30_000.0)) == (600.0, 30_000.0)
    assert scatter_at(prior, (-50.0, 15_000.0)) == (600.0, 15_000.0)


def test_what_was_weighed_becomes_better_known_and_its_neighbour_follows() -> None:
    prior = a_prior(shared_cv=1.0)

    taught = teach(prior, [weighed(60_000, swaps(40))]).prior

    before, after = (one.covariance_mg2 for one in (prior, taught))
    assert taught.means_mg[HIGH] == pytest.approx(1_500, rel=0.05)
    assert after[HIGH][HIGH] < before[HIGH][HIGH] / 10
    # Half of what one kind is off goes for the other too, and a practice that is known in one is better known in both.
    assert taught.means_mg[FILTER] == pytest.approx(15_000 - 0.5 * 5 * (3_000 - taught.means_mg[HIGH]), rel=1e-6)
    assert after[FILTER][FILTER] < before[FILTER][FILTER]


def test_a_trap_by_itself_teaches_much_less_than_a_pail() -> None:
    prior = a_prior(shared_cv=1.0)

    single, pail = (teach(prior, [weighed(1_000 * n, swaps(n))]).prior for n in (1, 40))

    assert 1_000 < pail.means_mg[HIGH] < single.means_mg[HIGH] < 3_000


def test_weighings_that_disagree_widen_the_scatter() -> None:
    calm = [weighed(30_000, swaps(10), seq=seq) for seq in range(8)]
    wild = [weighed(30_000 + (-1) ** seq * 29_000, swaps(10), seq=seq) for seq in range(8)]

    quiet, loud = teach(a_prior(), calm), teach(a_prior(), wild)

    assert quiet.scale < 1 < loud.scale
    assert loud.prior.scatter_sd_mg[HIGH] > 1.5 * quiet.prior.scatter_sd_mg[HIGH]


# -- what teaches, and what does not -----------------------------------------------------------------------------------


def test_what_cannot_teach_is_left_out_with_its_reason() -> None:
    unknown = weighed(30_000, swaps(3, inserts_unknown=1), unknown=1, seq=3)
    strange = weighed(3_000, swaps(1), pieces("gold", 2), seq=4)
    clean = weighed(40, swaps(2, grade="clean"), seq=5)
    prior = replace(a_prior(), grades_permille=GRADES | {"clean": 0})

    taught = teach(prior, [unknown, THREE[0], strange, clean])

    assert taught.used == (THREE[0],)
    assert [(one.seq, why) for one, why in taught.left_out] == [
        (3, UNKNOWN_BODY),
        (4, "nothing gives pieces of the stream “gold” a mass"),
        (5, NOTHING_ESTIMATED),
    ]
    assert taught.prior == teach(prior, [THREE[0]]).prior


def test_where_nothing_can_teach_the_prior_stands_and_the_reasons_are_kept() -> None:
    taught = teach(a_prior(), [weighed(30_000, swaps(3), unknown=1)])

    assert (taught.prior, taught.scale) == (a_prior(), 1.0)
    assert len(taught.left_out) == 1


def test_sorting_out_gives_the_exposures() -> None:
    found = sort_out(a_prior(), THREE)

    assert found.rows == ((12.0, 0.0), (2.0, 1.0), (0.0, 2.0))
    assert (found.used, found.left_out) == (THREE, ())


def test_pieces_teach_the_kind_that_their_stream_names() -> None:
    counted = weighed(5_000, pieces("scrap", 4))

    taught = teach(SHIPPED, [counted], mass_sources={"scrap": "removed_restoration"})

    place = SHIPPED.kinds.index("removed_restoration")
    assert taught.prior.means_mg[place] > SHIPPED.means_mg[place]
    assert teach(SHIPPED, [counted]).used == ()


def test_a_kind_without_a_row_is_refused() -> None:
    with pytest.raises(UnknownKind):
        teach(a_prior(), [weighed(1_000, swaps(1, kind="cuspidor"))])


@pytest.mark.parametrize("seed", range(5))
def test_not_a_digit_hangs_on_the_order(seed: int) -> None:
    many = [*THREE, *(weighed(1_000 * seq, swaps(seq), seq=seq) for seq in range(1, 30))]
    shuffled = many[:]
    random.Random(seed).shuffle(shuffled)

    one, other = teach(a_prior(), many), teach(a_prior(), shuffled)

    assert (one.prior, one.scale) == (other.prior, other.scale)
    assert dict(zip(one.used, one.residuals, strict=True)) == dict(zip(other.used, other.residuals, strict=True))
    assert other.used == tuple(shuffled)


# -- means at zero -----------------------------------------------------------------------------------------------------


def test_a_mean_that_is_pulled_below_nothing_is_held_there_and_named() -> None:
    light = [weighed(-8_000, swaps(20), seq=seq) for seq in range(6)]

    taught = teach(a_prior(shared_cv=1.0, between_kinds=0.0), light)

    assert taught.held_at_zero == held_at_zero(taught.prior) == ("high_volume",)
    assert taught.prior.means_mg == (0.0, 15_000.0)
    # Not taken for certain: an interval is left, up to the side on which masses lie, and swaps still scatter.
    mean = mean_of(taught.prior, "high_volume")
    assert (mean.value_mg, mean.lower_mg) == (0, 0)
    assert mean.upper_mg > 0
    assert taught.prior.scatter_sd_mg[HIGH] >= 600.0 * math.sqrt(taught.scale) * 0.999


def test_a_held_kind_comes_back_when_later_weighings_say_so() -> None:
    light = [weighed(-8_000, swaps(20), seq=seq) for seq in range(3)]
    usual = [weighed(60_000, swaps(20), seq=seq) for seq in range(3, 30)]

    assert teach(a_prior(), light).prior.means_mg[HIGH] < 3_000
    assert teach(a_prior(shared_cv=1.0), [*light, *usual]).held_at_zero == ()


# -- a prior without room ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("shared_cv", "between_kinds"), [(0.0, 0.5), (1.0, 1.0), (0.0, 0.0)])
def test_a_prior_that_leaves_no_room_can_still_be_taught(shared_cv: float, between_kinds: float) -> None:
    prior = a_prior(shared_cv=shared_cv, between_kinds=between_kinds)

    taught = teach(prior, THREE).prior

    if not shared_cv:
        assert taught.means_mg == pytest.approx(prior.means_mg, rel=1e-6)
    else:
        # Wholly tied together, both kinds are off by one factor.
        ratios = [after / before for after, before in zip(taught.means_mg, prior.means_mg, strict=True)]
        assert ratios[0] == pytest.approx(ratios[1], rel=1e-3)


def test_the_mean_of_a_kind_is_stated_with_the_shared_error_alone() -> None:
    mean = mean_of(a_prior(shared_cv=0.3), "high_volume")

    assert (mean.value_mg, mean.standard_uncertainty_mg, mean.basis) == (3_000, 900, "estimate")
    # Log-normal of mean 3 g and CV 0.3: median 3 / √1.09, log deviation √ln 1.09, 1.96 of them either way.
    middle, reach = 3_000 / math.sqrt(1.09), 1.959964 * math.sqrt(math.log(1.09))
    assert mean.lower_mg == math.floor(middle * math.exp(-reach))
    assert mean.upper_mg == math.ceil(middle * math.exp(reach))
    with pytest.raises(UnknownKind):
        mean_of(a_prior(), "cuspidor")
