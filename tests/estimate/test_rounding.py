"""Digits and words: what is weighed says so, what is estimated says so."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.estimate.makers import SHIPPED, a_holding, a_prior, pieces, swaps
from wasteledger.estimate.containers import BudgetLine, Estimate, standing_mass
from wasteledger.estimate.rounding import between, figure, mark, round_to, round_uncertainty, statement
from wasteledger.model.containers import Holding


def weighed(value_mg: int, expanded_mg: int) -> Estimate:
    return Estimate(
        value_mg=value_mg,
        standard_uncertainty_mg=expanded_mg // 2,
        lower_mg=max(0, value_mg - expanded_mg),
        upper_mg=value_mg + expanded_mg,
        expanded_mg=expanded_mg,
        weighed_mg=value_mg,
        estimated_mg=0,
        inserts_mg=0,
        basis="weighed",
    )


def estimated(value_mg: int, lower_mg: int, upper_mg: int, weighed_mg: int = 0, **more: object) -> Estimate:
    fields: dict[str, object] = {"unknown": (), "budget": (BudgetLine("scale", 204),)} | more
    return Estimate(
        value_mg=value_mg,
        standard_uncertainty_mg=(upper_mg - lower_mg) // 4,
        lower_mg=lower_mg,
        upper_mg=upper_mg,
        expanded_mg=(upper_mg - lower_mg + 1) // 2,
        weighed_mg=weighed_mg,
        estimated_mg=value_mg - weighed_mg,
        inserts_mg=0,
        basis="estimate",
        **fields,  # type: ignore[arg-type]
    )


@pytest.mark.parametrize(
    ("uncertainty", "rounded", "step"),
    [
        (0, 0, 1),
        (7, 7, 1),
        (99, 99, 1),
        (100, 100, 10),
        (392, 400, 10),
        (391, 390, 10),  # a tenth of the last digit is cut, not carried
        (990, 990, 10),
        (992, 1000, 100),  # carried to a third digit, so the step is the next
        (230_000, 230_000, 10_000),
        (230_001, 230_000, 10_000),
        (231_001, 240_000, 10_000),
    ],
)
def test_two_digits_of_uncertainty(uncertainty: int, rounded: int, step: int) -> None:
    assert round_uncertainty(uncertainty) == (rounded, step)


@given(st.integers(10, 2**53))
def test_rounding_keeps_two_digits_and_never_cuts_more_than_a_tenth_of_a_step(uncertainty: int) -> None:
    rounded, step = round_uncertainty(uncertainty)

    assert rounded % step == 0
    assert 10 <= rounded // step <= 99
    assert -step / 10 <= rounded - uncertainty < step


def test_an_uncertainty_below_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="0 or more"):
        round_uncertainty(-1)


@pytest.mark.parametrize(("value", "step", "rounded"), [(25, 10, 20), (35, 10, 40), (36, 10, 40), (34, 10, 30)])
def test_values_go_to_the_nearest_step_half_to_even(value: int, step: int, rounded: int) -> None:
    assert round_to(value, step) == rounded


@pytest.mark.parametrize(
    ("value_mg", "expanded_mg", "words"),
    [
        (812_004, 392, "812.00 g ± 0.40 g (95 %), weighed"),
        (812_004, 4_000, "812.0 g ± 4.0 g (95 %), weighed"),
        (812_004, 7, "812.004 g ± 0.007 g (95 %), weighed"),
        (999_999, 392, "1.00000 kg ± 0.00040 kg (95 %), weighed"),
        (4_812_345, 12_000, "4.812 kg ± 0.012 kg (95 %), weighed"),
        (0, 392, "0.00 g ± 0.40 g (95 %), weighed"),
        (812_004, 0, "812.004 g (limits of the scale not stated), weighed"),
    ],
)
def test_a_weighing_in_words(value_mg: int, expanded_mg: int, words: str) -> None:
    assert statement(weighed(value_mg, expanded_mg)) == words


@pytest.mark.parametrize(
    ("estimate", "words"),
    [
        (estimated(230_000, 87_000, 533_000), "about 230 g, between 80 g and 540 g (95 %), estimate"),
        (
            estimated(230_000, 87_000, 533_000, weighed_mg=120_000),
            "about 230 g, between 80 g and 540 g (95 %), estimate, of which 120.00 g weighed",
        ),
        (
            estimated(230_000, 87_000, 533_000, weighed_mg=120_000, unknown=(("pump", 1), ("stream:teeth", 2))),
            (
                "about 230 g, between 80 g and 540 g (95 %), estimate, of which 120.00 g weighed, "
                "and 3 pieces of unknown mass"
            ),
        ),
        (
            estimated(230_000, 87_000, 533_000, weighed_mg=1_512_345, budget=()),
            "about 230 g, between 80 g and 540 g (95 %), estimate, of which 1.512345 kg weighed",
        ),
        (estimated(3_000, 222, 13_512), "about 3.0 g, between 0.2 g and 13.6 g (95 %), estimate"),
        (estimated(1_234_567, 800_000, 2_000_000), "about 1.23 kg, between 0.80 kg and 2.00 kg (95 %), estimate"),
        (estimated(60_000, 8_732, 240_000), "about 60 g, between 8 g and 240 g (95 %), estimate"),
        (estimated(1_500_000, 8_732, 4_000_000), "about 1.5 kg, between 0.008 kg and 4.0 kg (95 %), estimate"),
        (estimated(5_500, 5_500, 5_500), "about 5.5 g, estimate"),
        (estimated(0, 0, 0, unknown=(("stream:teeth", 1),)), "1 piece of unknown mass, estimate"),
        (estimated(0, 0, 0), "nothing of known mass, estimate"),
    ],
)
def test_an_estimate_in_words(estimate: Estimate, words: str) -> None:
    assert statement(estimate) == words


def test_an_empty_container_in_words() -> None:
    empty = standing_mass(Holding(), a_prior())

    assert (statement(empty), figure(empty), mark(empty)) == ("empty", "empty", "")


@pytest.mark.parametrize(
    ("estimate", "words"),
    [
        (weighed(812_004, 392), "= 812.00 g"),
        (weighed(812_004, 0), "= 812.004 g"),
        (estimated(230_000, 87_000, 533_000), "~ 230 g"),
        (estimated(230_000, 87_000, 533_000, unknown=(("pump", 3),)), "~ 230 g + 3 pieces"),
    ],
)
def test_a_figure_carries_its_mark(estimate: Estimate, words: str) -> None:
    assert figure(estimate) == words


@given(st.integers(0, 400), st.integers(0, 50), st.integers(0, 5_000_000), st.integers(0, 10**7), st.integers(0, 3))
def test_the_words_never_call_an_estimate_a_weighing(
    traps: int, filters: int, base_mg: int, twelfths_mg2: int, unknown: int
) -> None:
    tallies = [
        *([swaps(traps, inserts_unknown=unknown)] if traps else []),
        *([swaps(filters, kind="line_filter")] if filters else []),
        *([pieces("teeth", unknown)] if unknown else []),
    ]
    found = standing_mass(a_holding(*tallies, base_mg=base_mg, base_twelfths_mg2=twelfths_mg2, base_seq=5), SHIPPED)
    said = statement(found)

    assert len(said) <= 200
    if tallies:
        assert ", estimate" in said
        assert mark(found) == "~"
        assert "weighed" not in re.sub(r", of which [\d.]+ k?g weighed", "", said)
    else:
        assert said.endswith(", weighed")
        assert mark(found) == "="
        assert "estimate" not in said
        assert "about" not in said


@given(st.integers(1, 400), st.integers(0, 5_000_000))
def test_the_interval_in_words_holds_the_interval(traps: int, base_mg: int) -> None:
    found = standing_mass(a_holding(swaps(traps), base_mg=base_mg, base_seq=5), SHIPPED)
    said = re.search(r"between ([\d.]+) (k?g) and ([\d.]+) (k?g)", statement(found))
    assert said is not None
    scale = {"g": 1000, "kg": 1_000_000}

    assert float(said[1]) * scale[said[2]] <= found.lower_mg + 1e-6
    assert float(said[3]) * scale[said[4]] >= found.upper_mg - 1e-6


def test_an_interval_of_an_estimate_has_no_milligram_digits() -> None:
    """Half of so wide an interval is 57 g in two digits, so its ends go outward to whole grams."""
    assert between(1_360_000, 1_304_135, 1_417_589) == "between 1.304 kg and 1.418 kg (95 %)"
    assert between(30_000, 4, 80_000) == "between 0.004 g and 80 g (95 %)"
    assert between(5, 5, 5) == "between 0.005 g and 0.005 g (95 %)"
