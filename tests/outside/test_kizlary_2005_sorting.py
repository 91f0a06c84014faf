"""What was amalgam in the waste of 23 practices: shares of shares, and a mass for each practice and day.

Source: E. Kizlary, N. Iosifidis, E. Voudrias, D. Panagiotakopoulos, dental solid waste in Xanthi, Waste Management
(2005; year from memory), abstract, read 2026-11-25: 260 kg from 23 practices in 22 working days, 94.7 % of it of the
infectious class, of which 0.33 % was amalgam.
The amalgam itself is not printed: 0.81253 kg, and 1.6058 g a practice and day, by multiplication.
"""

from __future__ import annotations

import math

import pytest

from wasteledger.estimate.cascade import caught_by_stage, escaping_mg
from wasteledger.estimate.regression import Belief, learn
from wasteledger.units import Mass

SORTED_OUT = (1 - 0.947, 1 - 0.0033)  # what each sorting takes away


def test_kizlary_2005_amalgam() -> None:
    amalgam_mg = escaping_mg(Mass.parse("260 kg").mg, *SORTED_OUT)

    assert amalgam_mg == pytest.approx(812_530, abs=5)
    assert sum(caught_by_stage(260e6, *SORTED_OUT)) + amalgam_mg == pytest.approx(260e6)


def test_kizlary_2005_per_practice_and_day() -> None:
    """One weighing after 23 · 22 practice-days teaches the mass of one, where nothing was believed before."""
    nothing = Belief((0.0,), ((1e20,),), scale=1.0, degrees_of_freedom=math.inf)
    amalgam_g = escaping_mg(260e3, *SORTED_OUT)

    learned = learn([(23 * 22,)], (amalgam_g,), (1.0,), nothing)

    assert learned.means[0] == pytest.approx(1.6058, abs=1e-4)
