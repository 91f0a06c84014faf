"""Published arithmetic of what traps and separators hold back, redone by the capture chain and the units.

Sources, read 2026-11-25 (abstracts and summaries):

- J. A. Vandeven, S. L. McGinnis, An assessment of mercury in the form of amalgam in dental wastewater in the United
  States, Water Air Soil Pollut 164 (2005) 349-366: 35.2 tons used (31.9 metric), 29.7 discharged inside offices
  (26.9), 6.5 to sewers after traps and filters (5.9), 0.4 to surface water (0.4). That the first stage holds 0.68, and
  both together 0.78, is the figure in common use, from memory.
- Federal Register 82 FR 27154, 14 June 2017 (40 CFR 441): 5.1 tons of mercury and 5.3 tons of other metals a year.
  79 FR 63257, 22 October 2014 (proposed rule): at least 8.8 tons of metals, about half of it mercury.
- A. O. Adegbembo, P. A. Watson, Estimated quantity of mercury in amalgam waste water residue released by dentists into
  the sewerage system in Ontario, Canada, J Can Dent Assoc 70 (2004) 759: 1,880.32 kg of amalgam removed (940.16 kg Hg),
  1,128.19 kg past the traps (564.10), 12.41 kg if all had separators (6.21; 2.46 mg a dentist and day), 861.78 kg as it
  was (430.89; 170.72 mg). The share past the traps, 60 %, is from A. O. Adegbembo, P. A. Watson, S. J. Lugowski,
  J Can Dent Assoc 68 (2002) 553; the number of dentists, 6,915, from A. O. Adegbembo and others, J Can Dent Assoc 71
  (2005) 565. The separators' 98.9 % follows from 12.41 of 1,128.19.

Tolerances are half a unit of the last digit printed, or as said beside the check.
"""

from __future__ import annotations

import pytest

from wasteledger.estimate.cascade import caught_by_stage, escaping_mg, mercury_in_mg
from wasteledger.units import Mass

KG = 1_000_000.0  # mg
TONNE = 1000 * KG
POUNDS_IN_SHORT_TON = 2000
DENTISTS = 6915
DAYS = 365  # the source divides by calendar days


def short_tons_mg(tons: str) -> int:
    whole, tenth = tons.split(".")
    return Mass.parse(f"{(int(whole) * 10 + int(tenth)) * POUNDS_IN_SHORT_TON // 10} lb").mg


def test_vandeven_2005_what_two_stages_let_through() -> None:
    first, both = 0.68, 0.78
    second = (both - first) / (1 - first)
    entering_mg = short_tons_mg("29.7")

    to_sewer_mg = escaping_mg(entering_mg, first, second)

    assert to_sewer_mg == pytest.approx(short_tons_mg("6.5"), abs=short_tons_mg("0.1") / 2)
    assert caught_by_stage(100.0, first, second) == pytest.approx((68.0, 10.0))
    # What the two printed totals allow the capture to be, given how they are rounded.
    assert 1 - 6.55 / 29.65 <= both <= 1 - 6.45 / 29.75


@pytest.mark.parametrize(("tons", "tonnes"), [("35.2", 31.9), ("29.7", 26.9), ("6.5", 5.9), ("0.4", 0.4)])
def test_vandeven_2005_short_tons_in_tonnes(tons: str, tonnes: float) -> None:
    assert short_tons_mg(tons) / TONNE == pytest.approx(tonnes, abs=0.05)


def test_federal_register_2017_share_of_mercury() -> None:
    metals, mercury = 5.1 + 5.3, 5.1
    share = mercury / metals

    assert 5.05 / (5.05 + 5.35) <= share <= 5.15 / (5.15 + 5.25)
    assert mercury_in_mg(metals, share) == pytest.approx(mercury)
    # The share that the shipped starting values use lies within its own deviation of it.
    assert share == pytest.approx(0.485, abs=0.032)


def test_federal_register_2014_half_of_the_metals_is_mercury() -> None:
    assert mercury_in_mg(8.8, 0.5) == pytest.approx(4.4, abs=0.05)


class TestAdegbembo2004:
    removed_mg = 1880.32 * KG
    past_traps_mg = escaping_mg(removed_mg, 1 - 0.60)
    separator = 0.989

    def test_mercury_in_what_is_removed(self) -> None:
        assert mercury_in_mg(self.removed_mg, 0.5) / KG == pytest.approx(940.16, abs=0.005)

    def test_past_the_traps(self) -> None:
        assert self.past_traps_mg / KG == pytest.approx(1128.19, abs=0.005)
        # 564.095 is printed as 564.10, so one unit of the last digit is allowed.
        assert mercury_in_mg(self.past_traps_mg, 0.5) / KG == pytest.approx(564.10, abs=0.01)

    def test_with_separators_everywhere(self) -> None:
        left_mg = escaping_mg(self.removed_mg, 1 - 0.60, self.separator)

        assert left_mg / KG == pytest.approx(12.41, abs=0.005)
        assert mercury_in_mg(left_mg, 0.5) / KG == pytest.approx(6.21, abs=0.01)
        assert mercury_in_mg(left_mg, 0.5) / (DENTISTS * DAYS) == pytest.approx(2.46, abs=0.005)

    def test_as_it_was_with_some_separators(self) -> None:
        """Separators on 23.9 % of the amalgam give the printed total; about 22 % of the dentists said they had one."""
        share = (1 - 861.78 / 1128.19) / self.separator
        assert share == pytest.approx(0.2388, abs=0.0005)

        left_mg = escaping_mg(self.past_traps_mg, share * self.separator)

        assert left_mg / KG == pytest.approx(861.78, abs=0.005)
        assert mercury_in_mg(left_mg, 0.5) / KG == pytest.approx(430.89, abs=0.005)
        assert mercury_in_mg(left_mg, 0.5) / (DENTISTS * DAYS) == pytest.approx(170.72, abs=0.005)
