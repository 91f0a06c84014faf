"""The mass standing in a container: its parts, its uncertainty by cause, its interval."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from tests.estimate.makers import GRADES, a_holding, a_prior, pieces, swaps
from wasteledger.estimate.containers import UnknownKind, exposures_of, standing_mass
from wasteledger.estimate.prior import Prior
from wasteledger.model.containers import Holding, Tally


def test_nothing_went_in_is_empty() -> None:
    empty = standing_mass(Holding(), a_prior())

    assert (empty.basis, empty.value_mg, empty.lower_mg, empty.upper_mg, empty.expanded_mg) == ("empty", 0, 0, 0, 0)


def test_a_weighing_alone_is_weighed_and_normal() -> None:
    # A display of 0.1 g and a tolerance of 0.3 g, for container and tare alike: u² = 2 (0.1² / 12 + 0.3² / 3) g².
    twelfths_mg2 = 2 * (100**2 + 4 * 300**2)
    weighed = standing_mass(a_holding(base_mg=812_000, base_twelfths_mg2=twelfths_mg2, base_seq=7), a_prior())

    u_mg = math.sqrt(2 * (100**2 / 12 + 300**2 / 3))
    assert weighed.basis == "weighed"
    assert (weighed.value_mg, weighed.weighed_mg, weighed.estimated_mg) == (812_000, 812_000, 0)
    assert weighed.standard_uncertainty_mg == round(u_mg)
    assert weighed.expanded_mg == math.ceil(1.959964 * u_mg)
    assert (weighed.lower_mg, weighed.upper_mg) == (812_000 - weighed.expanded_mg, 812_000 + weighed.expanded_mg)
    assert [(line.part, line.standard_uncertainty_mg) for line in weighed.budget] == [
        ("scale", round(u_mg)),
        ("shared", 0),
        ("scatter", 0),
    ]


def test_pieces_weighed_singly_in_a_container_never_weighed_are_weighed() -> None:
    once = standing_mass(Holding().with_weighed(29_100, 20_000), a_prior())

    assert (once.basis, once.value_mg) == ("weighed", 29_100)
    assert once.scale_mg == round(math.sqrt(20_000 / 12))


def test_a_weighing_of_nothing_is_weighed_all_the_same() -> None:
    assert standing_mass(a_holding(base_seq=12), a_prior()).basis == "weighed"


def test_all_parts_add_up() -> None:
    holding = a_holding(
        swaps(2, inserts_mg=11_000),
        swaps(1, kind="line_filter", grade="debris"),
        base_mg=120_000,
        base_twelfths_mg2=1200,
        base_seq=3,
    ).with_weighed(4_000, 1200)

    mixed = standing_mass(holding, a_prior())

    assert (mixed.weighed_mg, mixed.inserts_mg, mixed.estimated_mg) == (124_000, 11_000, 2 * 3_000 + 7_500)
    assert mixed.value_mg == 124_000 + 11_000 + 13_500
    assert mixed.basis == "estimate"
    assert mixed.lower_mg < mixed.value_mg < mixed.upper_mg


def test_one_known_trap_body_makes_an_estimate_of_a_weighing() -> None:
    assert standing_mass(a_holding(swaps(1), base_mg=900, base_seq=3), a_prior()).basis == "estimate"


def test_budget_by_cause() -> None:
    """Four filters and nine traps; the shared parts of the two kinds are correlated one half."""
    holding = a_holding(swaps(9), swaps(4, kind="line_filter"), base_mg=1000, base_twelfths_mg2=12 * 50**2, base_seq=1)

    found = standing_mass(holding, a_prior(shared_cv=0.2))

    traps, filters = 9 * 600.0, 4 * 3000.0
    shared = math.sqrt(traps**2 + filters**2 + 2 * 0.5 * traps * filters)
    scatter = math.sqrt(9 * 3000.0**2 + 4 * 15000.0**2)
    assert [(line.part, line.standard_uncertainty_mg) for line in found.budget] == [
        ("scale", 50),
        ("shared", round(shared)),
        ("scatter", round(scatter)),
    ]
    assert found.standard_uncertainty_mg == round(math.hypot(50, shared, scatter))


def test_the_condition_seen_gives_the_grade() -> None:
    seen = a_holding(*(swaps(1, grade=grade, days=70) for grade in ("clean", "debris", "clogged", "damaged")))

    assert exposures_of(seen, a_prior()) == (Fraction(26, 10), Fraction(0))


def test_days_in_service_stand_in_where_nobody_looked() -> None:
    unseen = a_holding(swaps(2, grade="not_looked", days=10), swaps(1, kind="line_filter", grade="not_looked", days=45))

    assert exposures_of(unseen, a_prior()) == (Fraction(20, 7), Fraction(3, 2))


def test_dentists_served_multiply() -> None:
    pump = Tally("line_filter", "clogged", count=1, dentists_permille=6500, dentist_days_permille=6500 * 30)

    assert standing_mass(a_holding(pump), a_prior()).estimated_mg == 97_500


def test_bodies_of_unknown_mass_are_counted_and_not_taken_as_nothing() -> None:
    found = standing_mass(a_holding(swaps(3, inserts_unknown=2, inserts_mg=5_500)), a_prior())

    assert found.unknown == (("high_volume", 2),)
    assert (found.unknown_pieces, found.value_mg) == (2, 9_000 + 5_500)


def test_pieces_of_a_stream_without_a_mass_are_counted() -> None:
    found = standing_mass(a_holding(pieces("teeth", 3), pieces("capsules", 4)), a_prior())

    assert found.unknown == (("stream:capsules", 4), ("stream:teeth", 3))
    assert (found.value_mg, found.basis) == (0, "estimate")


def test_pieces_of_a_stream_with_a_named_mass_source_are_estimated() -> None:
    found = standing_mass(a_holding(pieces("teeth", 3)), a_prior(), mass_sources={"teeth": "high_volume"})

    assert (found.unknown, found.estimated_mg) == ((), 9_000)


def test_a_mass_source_that_the_prior_has_not_leaves_the_pieces_unknown() -> None:
    found = standing_mass(a_holding(pieces("teeth", 3)), a_prior(), mass_sources={"teeth": "no_such_kind"})

    assert found.unknown == (("stream:teeth", 3),)


@pytest.mark.parametrize("tally", [swaps(1, kind="pump"), swaps(1, grade="sparkling")])
def test_a_kind_or_condition_without_a_mass_is_refused_by_name(tally: Tally) -> None:
    with pytest.raises(UnknownKind, match=r"pump|sparkling") as refusal:
        standing_mass(a_holding(tally), a_prior())
    assert "defaults.toml" in refusal.value.hint


def test_days_cannot_stand_in_for_a_kind_without_nominal_days() -> None:
    counted = Prior(("scrap",), (660.0,), ((0.0,),), (300.0,), (0,), GRADES)

    with pytest.raises(UnknownKind, match="days in service of “scrap”"):
        standing_mass(a_holding(swaps(1, kind="scrap", grade="not_looked")), counted)


def test_what_no_learned_mean_is_part_of_has_no_limit_of_freedom() -> None:
    """The limits of a scale are rectangular, so their freedom is without limit (JCGM 100:2008, G.4.2 and G.4.3)."""
    learned = a_prior(degrees_of_freedom=4.7)
    weighed = a_holding(base_mg=812_000, base_twelfths_mg2=1200, base_seq=7)

    assert standing_mass(weighed, learned).degrees_of_freedom is None
    assert standing_mass(Holding(), learned).degrees_of_freedom is None
    assert standing_mass(a_holding(swaps(1), base_mg=812_000, base_seq=7), learned).degrees_of_freedom == 4


def test_fewer_degrees_of_freedom_widen_the_interval_only() -> None:
    holding = a_holding(swaps(20))
    sure, less_sure = standing_mass(holding, a_prior()), standing_mass(holding, a_prior(degrees_of_freedom=4.7))

    assert (sure.degrees_of_freedom, less_sure.degrees_of_freedom) == (None, 4)
    assert less_sure.standard_uncertainty_mg == sure.standard_uncertainty_mg
    assert less_sure.lower_mg < sure.lower_mg
    assert less_sure.upper_mg > sure.upper_mg


def test_a_wide_estimate_stays_above_nothing() -> None:
    wide = standing_mass(a_holding(swaps(1)), a_prior(shared_cv=3.0))

    assert wide.standard_uncertainty_mg > wide.value_mg
    assert 0 < wide.lower_mg < wide.value_mg < wide.upper_mg


def test_a_weighing_near_nothing_has_no_negative_end() -> None:
    found = standing_mass(a_holding(base_mg=100, base_twelfths_mg2=4 * 1000**2, base_seq=1), a_prior())

    assert found.lower_mg == 0
    assert found.upper_mg == 100 + found.expanded_mg


def test_exact_means_leave_an_exact_value() -> None:
    certain = Prior(("high_volume",), (3000.0,), ((0.0,),), (0.0,), (7,), GRADES)

    found = standing_mass(a_holding(swaps(2)), certain)

    assert (found.lower_mg, found.value_mg, found.upper_mg, found.expanded_mg) == (6000, 6000, 6000, 0)
    assert found.standard_uncertainty_mg == 0


def test_learned_means_need_not_be_whole_numbers() -> None:
    learned = Prior(("high_volume",), (2416.6667,), ((612.3724**2,),), (3000.0,), (7,), GRADES, 11.0)

    found = standing_mass(a_holding(swaps(3)), learned)

    assert (found.value_mg, found.degrees_of_freedom) == (7250, 11)
