"""Surveys of dentists' amalgam work, redone by the masses of restorations and the capture chain.

Sources, read 2026-11-25 (abstracts):

- A. O. Adegbembo and others, Removal, replacement and placement of amalgam restorations by Ontario dentists in 2002,
  J Can Dent Assoc 71 (2005) 565: 8.91 removed and 6.64 placed a dentist in seven days, 45.7 working weeks, 6,915
  dentists; 2,855,178 removed and 2,112,800 placed in the year, of these 949,135 in unrestored teeth and 1,163,665 as
  replacement (the parts by subtraction of the printed total).
- A. O. Adegbembo, P. A. Watson, Estimated quantity of mercury in amalgam waste water residue, Ontario, J Can Dent Assoc
  70 (2004) 759: 1,880.32 kg of amalgam removed in that year.
- J. L. Drummond, M. D. Cailas, K. Croke, Mercury generation potential from dental waste amalgam, J Dent 31 (2003) 493:
  medians of 421 mg (never in a mouth) and 64 mg (in the chairside trap) a chair and day; 6,455 dentists in Illinois;
  947 and 144 kg of mercury a year, with half of the amalgam taken as mercury.
- Replacement of low copper amalgams by a group of general dental practitioners (Adelaide survey of 1975): 6.7 surfaces
  replaced a dentist-day, 1,541 a year, of 230 days.

Tolerances are half a unit of the last digit printed, or as said beside the check.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import reduce
from operator import add

import pytest

from wasteledger.estimate.capture import CAPTURE, Stage, entering_suction, expected_catch, read_capture
from wasteledger.estimate.cascade import mercury_in_mg
from wasteledger.estimate.procedures import Procedures, RestorationMass, Restorations, mass_of
from wasteledger.resources import find

KG = 1_000_000.0  # mg
SHIPPED = read_capture(find(CAPTURE).read_bytes())
DENTISTS, WEEKS = 6915, 45.7
REMOVED, PLACED = 2_855_178, 2_112_800
REMOVED_MG = 1880.32 * KG


@pytest.mark.parametrize(("a_week", "printed"), [(8.91, REMOVED), (6.64, PLACED)])
def test_adegbembo_2005_counts_of_a_province(a_week: float, printed: int) -> None:
    """The source weights each dentist by own weeks, so its totals lie up to 1.5 % from the plain product."""
    each = RestorationMass(1.0, 0.0, 0.0)

    assert mass_of([a_week * WEEKS * DENTISTS], [each]).mean_mg == pytest.approx(printed, rel=0.015)


def test_adegbembo_2005_placed_as_replacement_and_anew() -> None:
    both = Restorations(unknown=1_163_665) + Restorations(unknown=949_135)

    assert both.count == PLACED


def test_adegbembo_2004_mean_of_all_removals() -> None:
    """0.65856 g; it must lie between the means of two and three surfaces, and the shipped figure must be near it."""
    mean_mg = REMOVED_MG / REMOVED

    assert mean_mg == pytest.approx(658.56, abs=0.005)
    assert SHIPPED.by_surfaces[1].mean_mg < mean_mg < SHIPPED.by_surfaces[2].mean_mg
    assert SHIPPED.unknown.mean_mg == pytest.approx(mean_mg, rel=0.005)


def test_adegbembo_2004_mass_removed_in_a_province() -> None:
    """All removals of 2002 without their surfaces, through the shipped figures, against the printed kilograms."""
    found = mass_of([REMOVED], [SHIPPED.unknown])

    assert found.mean_mg / KG == pytest.approx(1880.32, rel=0.005)
    assert abs(found.mean_mg - REMOVED_MG) < found.shared_sd_mg


def test_adegbembo_2005_a_practice_year_week_by_week() -> None:
    """46 weeks of 9 removals add to what one entry of the year would say."""
    weeks = [
        Procedures(
            date(2026, 1, 5) + timedelta(weeks=n), date(2026, 1, 11) + timedelta(weeks=n), Restorations(unknown=9)
        )
        for n in range(46)
    ]

    year = reduce(add, (week.removed for week in weeks))

    assert year == Restorations(unknown=414)
    found = entering_suction(year, Restorations(), SHIPPED)
    assert found.mean_mg == pytest.approx(0.95 * 414 * 660)
    # 268 g is what 1,880.32 kg are over 6,915 dentists (272 g), by 8.91 a week and not 9.
    assert found.mean_mg / 0.95 == pytest.approx(REMOVED_MG / DENTISTS, rel=0.015)


@pytest.mark.parametrize(("a_day_mg", "printed_kg", "chair_days"), [(421, 947, 696.95), (64, 144, 697.13)])
def test_drummond_2003_mercury_of_a_state(a_day_mg: float, printed_kg: float, chair_days: float) -> None:
    """Both printed totals ask for the same chair-days a dentist and year, and 697 give both."""
    one_day_mg = mercury_in_mg(a_day_mg, 0.50) * 6455

    assert printed_kg * KG / one_day_mg == pytest.approx(chair_days, abs=0.005)
    assert one_day_mg * 697 / KG == pytest.approx(printed_kg, abs=0.5)


def test_drummond_2003_a_day_in_the_chairside_trap_is_what_the_chain_expects() -> None:
    """Of one to two removals and one placing a chair-day, the trap should hold its 64 mg within the shares' widths."""
    a_day = entering_suction(Restorations(unknown=1), Restorations(unknown=1), SHIPPED)
    found = expected_catch(a_day, (Stage.CHAIRSIDE,), SHIPPED)

    deviation_mg = found.covariance_mg2[0][0] ** 0.5
    assert abs(found.means_mg[0] - 64) < 3 * deviation_mg


def test_adelaide_1975_surfaces_in_a_year() -> None:
    each = RestorationMass(1.0, 0.0, 0.0)

    assert mass_of([6.7 * 230], [each]).mean_mg == pytest.approx(1541, abs=0.5)
