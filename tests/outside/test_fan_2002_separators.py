"""Ten separators in the laboratory: their mean and scatter, and the scatter within each, by one column a unit.

Source: P. L. Fan, H. Batchu, H. N. Chou, D. Rakowski, W. Gasparac, C. L. Miaw, J. Sandrik, Laboratory evaluation of
amalgam separators (meeting abstract), read 2026-11-25: efficiencies by ISO 11143 of ten units, in percent, with figures
in brackets that are taken as standard deviations. Mean, deviation between units and pooled deviation within units are
not printed there; they were worked out from those figures by their textbook formulas in another program.
"""

from __future__ import annotations

import math

import pytest

from demo.trials.standing_table import Column
from wasteledger.estimate.capture import CAPTURE, Stage, read_capture
from wasteledger.estimate.regression import learn
from wasteledger.resources import find

EFFICIENCIES = (99.89, 99.10, 98.88, 97.66, 97.51, 98.28, 99.95, 98.94, 99.90, 99.66)  # %
DEVIATIONS = (0.06, 0.09, 0.64, 0.35, 0.74, 0.10, 0.04, 0.06, 0.03, 0.24)  # %

BETWEEN = learn([(1.0,)] * 10, EFFICIENCIES, [1.0] * 10)


def test_fan_2002_mean_and_scatter_between_units() -> None:
    assert BETWEEN.means[0] == pytest.approx(98.977, abs=5e-5)
    assert math.sqrt(BETWEEN.scale) == pytest.approx(0.91269, abs=5e-5)
    assert BETWEEN.degrees_of_freedom == 9


def test_fan_2002_median_of_the_units() -> None:
    """The median by which the simulated tables state errors (demo/trials)."""
    assert Column(errors={"unit": list(EFFICIENCIES)}).middle("unit") == pytest.approx(99.02, abs=5e-5)


def test_fan_2002_pooled_scatter_within_units() -> None:
    """Two runs of each unit, laid so that their deviation is the one given; the pooled one is that of what is left."""
    rows = [[1.0 if unit == place else 0.0 for place in range(10)] for unit in range(10) for _ in range(2)]
    runs = [
        efficiency + side * deviation / math.sqrt(2)
        for efficiency, deviation in zip(EFFICIENCIES, DEVIATIONS, strict=True)
        for side in (-1, 1)
    ]

    within = learn(rows, runs, [1.0] * 20)

    assert math.sqrt(within.scale) == pytest.approx(0.34134, abs=5e-5)
    assert within.means == pytest.approx(EFFICIENCIES)


def test_a_separator_is_not_trusted_more_at_work_than_in_the_laboratory() -> None:
    """The shipped share is that of clinics: it and its upper deviation stay below the laboratory's mean."""
    shipped = read_capture(find(CAPTURE).read_bytes()).stages[Stage.SEPARATOR]

    assert 100 * shipped.mean < min(EFFICIENCIES)
    assert 100 * (shipped.mean + shipped.sd) < BETWEEN.means[0]
