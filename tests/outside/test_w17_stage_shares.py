"""What a second stage holds of what reaches it, from two cumulative figures, and how 100 g divide between the stages.

Sources, read 2026-11-25: 68 % at the chair (J. Hiltz, The environmental impact of dentistry, J Can Dent Assoc 73
(2007) 59); 78 % with the filter (from memory; J. A. Vandeven, S. L. McGinnis, Water Air Soil Pollut 164 (2005) 349
imply it). A third at the chair, under 10 % of the whole in the filter, 60 % past both (A. O. Adegbembo, P. A. Watson,
S. J. Lugowski, J Can Dent Assoc 68 (2002) 553).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from wasteledger.estimate.capture import CAPTURE, Stage, expected_catch, read_capture
from wasteledger.estimate.procedures import Uncertain
from wasteledger.estimate.shares import Beta
from wasteledger.resources import find

SHIPPED = read_capture(find(CAPTURE).read_bytes())
LINE = (Stage.CHAIRSIDE, Stage.LINE_FILTER)
IN_COMMON_USE = (0.68, 0.78)
WEIGHED_2002 = (1 / 3, 0.40)


def of_what_reaches_it(cumulative: tuple[float, float]) -> float:
    first, both = cumulative
    return (both - first) / (1 - first)


def divided(cumulative: tuple[float, float]) -> tuple[float, ...]:
    exact = {Stage.CHAIRSIDE: Beta(cumulative[0], 0.0), Stage.LINE_FILTER: Beta(of_what_reaches_it(cumulative), 0.0)}
    figures = replace(SHIPPED, stages={**SHIPPED.stages, **exact})
    found = expected_catch(Uncertain(100.0, 0.0), LINE, figures)
    assert all(abs(cell) < 1e-9 for row in found.covariance_mg2 for cell in row)
    return found.means_mg


def test_hiltz_2007_second_stage() -> None:
    assert of_what_reaches_it(IN_COMMON_USE) == pytest.approx(0.3125, rel=1e-12)


def test_hiltz_2007_hundred_grams() -> None:
    assert divided(IN_COMMON_USE) == pytest.approx((68, 10, 22), rel=1e-12)


def test_adegbembo_2002_hundred_grams() -> None:
    assert divided(WEIGHED_2002) == pytest.approx((33.3, 6.7, 60), abs=0.05)


@pytest.mark.parametrize("cumulative", [IN_COMMON_USE, WEIGHED_2002])
def test_shipped_shares_span_both_sources(cumulative: tuple[float, float]) -> None:
    """Within a deviation and a quarter of the shipped mean, and the two on either side of it."""
    chair, line_filter = SHIPPED.stages[Stage.CHAIRSIDE], SHIPPED.stages[Stage.LINE_FILTER]

    assert abs(cumulative[0] - chair.mean) < 1.25 * chair.sd
    assert abs(of_what_reaches_it(cumulative) - line_filter.mean) < 1.25 * line_filter.sd
    assert (cumulative[0] > chair.mean) == (cumulative is IN_COMMON_USE)
