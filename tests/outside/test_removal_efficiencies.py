"""Published removal efficiencies, redone from the concentrations and masses that they rest on.

Sources, read 2026-11-25 (abstracts):
- M. E. Stone, M. E. Cohen, D. L. Berry, J. C. Ragain, Sci Total Environ 396 (2008) 28: 1,087.38 mg Hg a chair and day
  without a filter; 79.13, 23.55, 17.68 and 4.25 mg behind filters of 50, 15, 1 and 0.5 µm; 92.7, 97.8, 98.4, 99.6 %.
- A. O. Adegbembo, P. A. Watson, S. J. Lugowski, J Can Dent Assoc 68 (2002) 553: 31.2973 mg/L before an ISO-conforming
  separator, 0.1800 mg/L behind it; 99.4 %.
- D. Arenholt-Bindslev, A. H. Larsen, Water Air Soil Pollut 86 (1996) 93: clinics without a separator 270 mg Hg a
  dentist and day, with one 35 mg, means. The share is not printed in the abstract: 87.04 % by division.
"""

from __future__ import annotations

import pytest

from wasteledger.estimate.cascade import escaping_mg, share_removed

STONE = [(79.13, 92.7), (23.55, 97.8), (17.68, 98.4), (4.25, 99.6)]


@pytest.mark.parametrize(("behind_mg", "printed"), STONE)
def test_stone_2008_filters(behind_mg: float, printed: float) -> None:
    share = share_removed(1087.38, behind_mg)

    assert round(100 * share, 1) == printed
    assert escaping_mg(1087.38, share) == pytest.approx(behind_mg)


def test_adegbembo_2002_separator() -> None:
    assert 100 * share_removed(31.2973, 0.1800) == pytest.approx(99.4249, abs=5e-5)
    assert round(100 * share_removed(31.2973, 0.1800), 1) == 99.4


def test_arenholt_bindslev_1996_clinics() -> None:
    assert 100 * share_removed(270, 35) == pytest.approx(87.04, abs=0.005)
