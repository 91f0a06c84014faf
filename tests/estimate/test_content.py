"""Amalgam, mercury and silver of a container: split by source, with their uncertainty."""

from __future__ import annotations

import dataclasses
import math
import statistics
from collections.abc import Sequence
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.estimate.makers import SHIPPED, swaps
from tests.estimate.makers import pieces as counted
from wasteledger.estimate.containers import UnknownKind, standing_mass
from wasteledger.estimate.content import Content, content, effective_degrees_of_freedom, read_streams
from wasteledger.estimate.prior import BadPrior, Defaults, Prior, Share, read_defaults
from wasteledger.estimate.put_in import Piece, PutIn
from wasteledger.estimate.splitting import split_masses
from wasteledger.model.containers import Holding, Tally
from wasteledger.resources import find

DEFAULTS = read_defaults(find("estimate/defaults.toml").read_bytes())
STREAMS = read_streams(find("estimate/streams.toml").read_bytes())
ALL_AMALGAM = dataclasses.replace(
    DEFAULTS, kinds=tuple(dataclasses.replace(kind, amalgam=Share(1.0, 0.0)) for kind in DEFAULTS.kinds)
)


def reckoned(
    contents: PutIn, prior: Prior = SHIPPED, defaults: Defaults = DEFAULTS, seed: int = 1, **sources: str
) -> Content:
    return content(contents, prior, defaults, STREAMS, Random(seed), mass_sources=sources)


def by_source(found: Content) -> dict[str, int]:
    return {one.source: one.debris.value_mg for one in found.by_source}


# -- the split -------------------------------------------------------------------------------------------------------


def test_what_was_counted_is_split_by_exposure() -> None:
    found = reckoned(PutIn(since=(swaps(10), swaps(4, kind="saliva_ejector", grade="debris"))))

    assert by_source(found) == {"high_volume": 30_000, "saliva_ejector": 2_000}
    assert [float(one.exposure) for one in found.by_source] == [2.0, 10.0]
    amalgam, mercury, silver = found.parts
    assert amalgam.value_mg == round(30_000 * 0.35 + 2_000 * 0.10)
    assert mercury.value_mg == round((30_000 * 0.35 + 2_000 * 0.10) * 0.485)
    assert silver.value_mg == round((30_000 * 0.35 + 2_000 * 0.10) * 0.30)
    assert found.is_whole


def test_what_was_weighed_is_split_by_what_had_gone_in() -> None:
    """Ten traps of 3 g and six of 1 g, weighed at 72 g: 60 g and 12 g; their known bodies are no debris."""
    earlier = (swaps(10, inserts_mg=40_000), swaps(6, kind="saliva_ejector"))

    found = reckoned(PutIn(base_mg=112_000, base_twelfths_mg2=1_200, earlier=earlier, since=(swaps(2),)))

    assert by_source(found) == {"saliva_ejector": 12_000, "high_volume": 66_000}
    assert found.split_by_kind_mg == 72_000
    assert {float(one.exposure) for one in found.by_source} == {6.0, 12.0}


def test_a_weighing_tells_more_of_one_kind_than_an_estimate() -> None:
    """Of one kind alone the split is certain: only the scale and the shares of amalgam are left."""
    weighed = reckoned(PutIn(base_mg=150_000, base_twelfths_mg2=12 * 100**2, earlier=(swaps(50),)))
    estimated = reckoned(PutIn(since=(swaps(50),)))

    causes = {line.cause: line.standard_uncertainty_mg for line in weighed.parts[0].budget}
    assert weighed.parts[0].value_mg == estimated.parts[0].value_mg == 52_500
    assert causes["shared"] == causes["scatter"] == 0
    assert causes["scale"] == 35
    assert weighed.parts[0].standard_uncertainty_mg == pytest.approx(30_000, rel=0.001)
    assert estimated.parts[0].standard_uncertainty_mg > 2 * weighed.parts[0].standard_uncertainty_mg


def test_pieces_weighed_singly_are_taken_off_first() -> None:
    pieces = (Piece("high_volume", 9_000, 100, 5_000), Piece("stream:contact", 6_000, 100))

    found = reckoned(PutIn(base_mg=35_000, earlier=(swaps(3, kind="saliva_ejector"),), earlier_pieces=pieces))

    assert by_source(found) == {"saliva_ejector": 20_000, "high_volume": 4_000, "stream:contact": 6_000}
    assert found.split_by_kind_mg == 20_000


def test_pieces_that_dried_since_weigh_what_they_weigh_together() -> None:
    pieces = (Piece("stream:contact", 8_000, 100), Piece("stream:non_contact", 2_000, 100))

    found = reckoned(PutIn(base_mg=9_000, earlier_pieces=pieces))

    assert by_source(found) == {"stream:contact": 7_200, "stream:non_contact": 1_800}
    assert found.not_split_mg == 0


def test_a_stream_with_a_mass_source_has_that_kind_s_share() -> None:
    found = reckoned(
        PutIn(since=(counted("old_fillings", 4),), since_pieces=(Piece("stream:old_fillings", 900, 0),)),
        old_fillings="removed_restoration",
    )

    assert by_source(found) == {"removed_restoration": 4 * 660 + 900}
    assert found.parts[0].value_mg == 4 * 660 + 900


@pytest.mark.parametrize(
    ("contents", "not_split_mg", "why"),
    [
        (PutIn(since_pieces=(Piece("stream:teeth", 700, 4),)), 700, "teeth: no figure says how much of it is amalgam"),
        (PutIn(since_pieces=(Piece("pump", 70_000, 4, None),)), 70_000, "pump: the mass of the body"),
        (PutIn(base_mg=5_000), 5_000, "nothing was recorded as put in before"),
        (PutIn(base_mg=5_000, earlier=(swaps(2, inserts_unknown=1),)), 5_000, "unknown mass in it: high volume"),
        (PutIn(base_mg=5_000, earlier=(counted("capsules", 9), swaps(1))), 5_000, "unknown mass in it: capsules"),
    ],
)
def test_what_cannot_be_split_is_said(contents: PutIn, not_split_mg: int, why: str) -> None:
    found = reckoned(contents)

    assert (found.not_split_mg, found.is_whole) == (not_split_mg, False)
    assert len(found.not_split) == 1
    assert why in found.not_split[0]
    assert [part.value_mg for part in found.parts] == [0, 0, 0]


def test_pieces_of_unknown_mass_are_counted_beside_it() -> None:
    found = reckoned(PutIn(since=(counted("capsules", 9), swaps(1))))

    assert found.unknown == (("stream:capsules", 9),)
    assert by_source(found) == {"high_volume": 3000}


def test_a_kind_without_a_share_of_amalgam_is_refused() -> None:
    fewer = dataclasses.replace(DEFAULTS, kinds=tuple(one for one in DEFAULTS.kinds if one.kind != "pump"))

    with pytest.raises(UnknownKind, match="share of amalgam in the kind “pump”"):
        reckoned(PutIn(since=(swaps(1, kind="pump"),)), defaults=fewer)


KINDS = ("high_volume", "saliva_ejector", "line_filter", "pump")
TALLIES = st.lists(
    st.builds(
        lambda kind, count, body: swaps(count, kind=kind, inserts_mg=body * count),
        st.sampled_from(KINDS),
        st.integers(1, 40),
        st.integers(0, 9_000),
    ),
    max_size=4,
    unique_by=lambda tally: tally.source,
).map(tuple)
PIECES = st.lists(
    st.builds(
        Piece,
        st.sampled_from([*KINDS, "stream:contact", "stream:teeth"]),
        st.integers(9_000, 60_000),
        st.just(40_000),
        st.integers(0, 9_000) | st.none(),
    ),
    max_size=3,
).map(tuple)


@given(st.integers(0, 900_000), TALLIES, PIECES, TALLIES, PIECES)
def test_no_mass_is_lost_in_the_split(
    base_mg: int,
    earlier: tuple[Tally, ...],
    earlier_pieces: tuple[Piece, ...],
    since: tuple[Tally, ...],
    since_pieces: tuple[Piece, ...],
) -> None:
    """Debris by source, what is not split and the known bodies make up what the container is stated to hold."""
    contents = PutIn(base_mg, 40_000, earlier, earlier_pieces, since, since_pieces)
    split = split_masses(contents, SHIPPED, STREAMS.keys())
    stated_mg = standing_mass(
        Holding(base_mg=base_mg, added_mg=sum(one.mass_mg for one in since_pieces), tallies=since), SHIPPED
    ).value_mg
    bodies_mg = sum(one.inserts_mg for one in since) + sum(one.body_mg or 0 for one in since_pieces)
    inside_mg = sum(one.inserts_mg for one in earlier) + sum(one.body_mg or 0 for one in earlier_pieces)

    total_mg = math.fsum(split.masses_mg()) + split.not_split_mg + bodies_mg + min(inside_mg, base_mg)

    assert total_mg == pytest.approx(stated_mg, abs=2)
    assert all(mass >= 0 for mass in split.masses_mg())


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 900_000), TALLIES, TALLIES, PIECES)
def test_the_draws_are_about_the_masses(
    base_mg: int, earlier: tuple[Tally, ...], since: tuple[Tally, ...], pieces: tuple[Piece, ...]
) -> None:
    """With little shared error the mean of the draws is the mass of each source, and no draw is below nothing."""
    sharp = Prior.sharing(
        SHIPPED.kinds,
        SHIPPED.means_mg,
        tuple(sd / 20 for sd in SHIPPED.scatter_sd_mg),
        SHIPPED.nominal_days,
        SHIPPED.grades_permille,
        shared_cv=0.05,
        between_kinds=0.5,
    )
    split = split_masses(PutIn(base_mg, 40_000, earlier, (), since, pieces), sharp, STREAMS.keys())

    for mass, drawn in zip(split.masses_mg(), split.drawn(500, Random(2)), strict=True):
        assert min(drawn) >= 0
        assert math.fsum(drawn) / 500 == pytest.approx(mass, rel=0.02, abs=500)


# -- the uncertainty -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("freedom", [4.0, 30.0, math.inf])
@pytest.mark.parametrize("since", [(swaps(50),), (swaps(50), swaps(50, kind="saliva_ejector"), swaps(2, kind="pump"))])
def test_of_pure_amalgam_the_content_is_the_mass_itself(since: tuple[Tally, ...], freedom: float) -> None:
    """One way goes through moments and one log-normal, the other through draws: they must tell one story."""
    prior = dataclasses.replace(SHIPPED, degrees_of_freedom=freedom)
    mass = standing_mass(Holding(tallies=since), prior)
    amalgam = reckoned(PutIn(since=since), prior, ALL_AMALGAM).parts[0]

    assert amalgam.value_mg == mass.value_mg
    assert amalgam.standard_uncertainty_mg == amalgam.first_order_mg == mass.standard_uncertainty_mg
    assert amalgam.degrees_of_freedom == mass.degrees_of_freedom
    # A sum of log-normals is no log-normal: with few degrees of freedom its far ends differ by more.
    loose = 0.12 if math.isinf(freedom) or len(since) == 1 else 0.75
    assert amalgam.lower_mg == pytest.approx(mass.lower_mg, rel=loose)
    assert amalgam.upper_mg == pytest.approx(mass.upper_mg, rel=loose)


def test_the_squares_of_a_budget_add_up() -> None:
    contents = PutIn(
        base_mg=300_000,
        base_twelfths_mg2=12 * 500**2,
        earlier=(swaps(30), swaps(3, kind="line_filter")),
        since=(swaps(9), swaps(9, kind="saliva_ejector")),
        since_pieces=(Piece("stream:contact", 4_000, 12 * 100**2),),
    )
    for part in reckoned(contents).parts:
        squares = sum(line.standard_uncertainty_mg**2 for line in part.budget)
        assert math.sqrt(squares) == pytest.approx(part.standard_uncertainty_mg, abs=2)
        products = next(line.standard_uncertainty_mg for line in part.budget if line.cause == "products")
        first = math.sqrt(part.standard_uncertainty_mg**2 - products**2)
        assert part.first_order_mg == pytest.approx(first, abs=2)
        assert part.lower_mg < part.value_mg < part.upper_mg


def test_first_order_derivatives_are_those_of_the_split() -> None:
    """The shared part of a split weighing, by moving each mean a little and splitting again."""
    contents = PutIn(base_mg=90_000, earlier=(swaps(20), swaps(10, kind="saliva_ejector")), since=(swaps(5),))
    split = split_masses(contents, SHIPPED, STREAMS.keys())
    shares = [0.10, 0.35]
    slopes = []
    for place, mean in enumerate(split.means_mg):
        moved = list(split.means_mg)
        moved[place] = mean * 1.000_001
        answer = dataclasses.replace(split, means_mg=tuple(moved))
        slopes.append((_sum(shares, answer.masses_mg()) - _sum(shares, split.masses_mg())) / (mean * 0.000_001))
    variance = math.fsum(
        one * other * split.covariance_mg2[i][j] for i, one in enumerate(slopes) for j, other in enumerate(slopes)
    )

    shared = split.covariances_mg2()["shared"]

    assert split.sources == ("saliva_ejector", "high_volume")
    assert _quadratic(shares, shared) == pytest.approx(variance, rel=1e-4)


def test_the_same_seed_gives_the_same_and_another_nearly() -> None:
    contents = PutIn(since=(swaps(40), swaps(40, kind="saliva_ejector")))
    one, same, *others = (reckoned(contents, seed=seed).parts[1] for seed in (1, 1, *range(2, 12)))

    assert one == same
    for end in ("lower_mg", "upper_mg"):
        ends = [getattr(part, end) for part in (one, *others)]
        assert statistics.stdev(ends) < 0.06 * statistics.fmean(ends)


def test_words_say_estimate_also_of_what_was_weighed() -> None:
    found = reckoned(
        PutIn(base_mg=98_600, base_twelfths_mg2=1_200, earlier_pieces=(Piece("stream:non_contact", 98_000, 4),))
    )

    assert found.parts[0].value_mg == 98_600
    assert all(part.statement.endswith("(95 %), estimate") for part in found.parts)


def test_an_empty_container_has_no_content() -> None:
    found = reckoned(PutIn())

    assert found.by_source == ()
    assert [part.value_mg for part in found.parts] == [0, 0, 0]
    assert found.is_whole


def test_certain_components_have_no_limit_to_their_degrees_of_freedom() -> None:
    assert math.isinf(effective_degrees_of_freedom((4.0, math.inf), (1.0, math.inf)))
    assert math.isinf(effective_degrees_of_freedom())
    assert effective_degrees_of_freedom((4.0, 6.0)) == 6.0


# -- the file of streams ---------------------------------------------------------------------------------------------


def test_the_shipped_streams_say_what_they_rest_on() -> None:
    assert STREAMS["non_contact"] == Share(1.0, 0.0, "what is put in is amalgam that was mixed and not used")
    assert "no source" in STREAMS["contact"].basis


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("format = 1\n[stream.x]\namalgam_mean = 1.2\namalgam_sd = 0\nbasis = 'x'", "stream.x.amalgam_mean"),
        ("format = 1\n[stream.x]\namalgam_mean = 0.2\nbasis = 'x'", "stream.x.amalgam_sd: is missing"),
        ("format = 3\n[stream]", "format: 3 is not read here"),
        ("format = 1\n[stream]\n[streams]", "streams: is not known here"),
        ("[", "no TOML"),
    ],
)
def test_faults_in_the_file_are_named(text: str, fault: str) -> None:
    with pytest.raises(BadPrior) as refusal:
        read_streams(text)

    assert any(fault in one for one in refusal.value.faults)


def _sum(shares: Sequence[float], masses: Sequence[float]) -> float:
    return math.fsum(share * mass for share, mass in zip(shares, masses, strict=True))


def _quadratic(shares: Sequence[float], matrix: Sequence[Sequence[float]]) -> float:
    return math.fsum(one * other * matrix[i][j] for i, one in enumerate(shares) for j, other in enumerate(shares))
