"""The demo's suction line: the same seed draws the same, nothing is lost, and published means come back."""

from __future__ import annotations

import math
from datetime import date, timedelta
from random import Random
from statistics import fmean, stdev

import pytest

from demo.simulate import (
    MASS_CV,
    PLACED_MEAN,
    PLACED_SD,
    REMOVED_MEAN,
    REMOVED_SD,
    SURFACE_MEANS_MG,
    Clinic,
    DayWork,
    Lump,
    SuctionLine,
    beta_of,
    count_of,
    dentist_week,
    poisson,
    restoration,
)
from wasteledger.estimate.cascade import caught_by_stage, escaping_mg

MAIN = Clinic(restorative=(1, 2, 3, 4), hygiene=(5, 6), week=(1, 2, 3, 4), dentists=2)
TUESDAY = date(2023, 11, 21)


def a_line_at_work(seed: int, weeks: int, clinic: Clinic = MAIN) -> tuple[SuctionLine, list[Lump]]:
    line, lumps = SuctionLine(clinic, Random(seed)), []
    for week in range(weeks):
        days = [TUESDAY + timedelta(days=7 * week + n) for n in range(len(clinic.week))]
        for work in line.week(days).values():
            line.work(work)
        lumps += [line.take(place) for place in line.places]
    return line, lumps


def test_one_seed_draws_one_practice_and_another_seed_another() -> None:
    assert a_line_at_work(7, 6)[1] == a_line_at_work(7, 6)[1]
    assert a_line_at_work(7, 6)[1] != a_line_at_work(8, 6)[1]


@pytest.mark.parametrize("clinic", [MAIN, Clinic(restorative=(1, 2), hygiene=(), week=(2, 3), plant=False)])
@pytest.mark.parametrize("seed", range(5))
def test_amalgam_that_enters_is_held_taken_out_or_escaped_to_the_microgram(seed: int, clinic: Clinic) -> None:
    line, lumps = a_line_at_work(seed, 12, clinic)

    assert line.entered_ug > 0
    assert line.entered_ug == line.held_ug + line.taken_ug + line.escaped_ug
    assert line.taken_ug == 1000 * sum(lump.amalgam_mg for lump in lumps)


def test_what_is_taken_out_is_gone_but_for_a_fraction_of_a_milligram() -> None:
    line, _ = a_line_at_work(3, 4)
    line.work(DayWork(entering_ug={1: 5_000_000}))

    first, second = line.take("1-HV"), line.take("1-HV")

    assert first.amalgam_mg > 0
    assert (second.amalgam_mg, second.other_mg, second.water_mg) == (0, 0, 0)


def test_stages_hold_on_average_what_the_capture_chain_says() -> None:
    # Second method: the closed chain of the estimates, with each stage's own share, against the drawn days.
    line = SuctionLine(MAIN, Random(11))
    for _ in range(4000):
        line.work(DayWork(entering_ug={1: 10_000_000}))

    shares = [line._share[name] for name in ("chair", "LINE", "JAR", "SEP")]
    chair, *later = caught_by_stage(line.entered_ug, *shares)
    held = [line._amalgam_ug["1-HV"] + line._amalgam_ug["1-SE"], *(line._amalgam_ug[name] for name in line.stages)]

    assert held == pytest.approx([chair, *later], rel=0.03)
    assert line.escaped_ug == pytest.approx(escaping_mg(line.entered_ug, *shares), rel=0.15)


@pytest.mark.parametrize(
    ("mean", "sd"),
    [
        # Restorations removed, and placed, by a dentist in seven days (Adegbembo et al. 2005, J Can Dent Assoc 71:565).
        (8.91, 17.32),
        (6.64, 18.88),
    ],
)
def test_counts_come_back_with_the_published_mean_and_scatter(mean: float, sd: float) -> None:
    random, n = Random(20), 40_000

    drawn = [count_of(random, mean, sd) for _ in range(n)]

    assert fmean(drawn) == pytest.approx(mean, abs=4 * sd / math.sqrt(n))
    assert stdev(drawn) == pytest.approx(sd, rel=0.05)


def test_a_dentists_week_draws_from_those_counts() -> None:
    assert (REMOVED_MEAN, REMOVED_SD, PLACED_MEAN, PLACED_SD) == (8.91, 17.32, 6.64, 18.88)
    random = Random(5)
    weeks = [dentist_week(random) for _ in range(6000)]

    assert fmean(len(week.removed) for week in weeks) == pytest.approx(8.91, abs=4 * 17.32 / math.sqrt(6000))
    assert fmean(len(week.placed) for week in weeks) == pytest.approx(6.64, abs=4 * 18.88 / math.sqrt(6000))


def test_masses_come_back_with_the_published_means_by_surfaces() -> None:
    # 0.31, 0.49, 0.81, 1.38 g (Adegbembo, Watson, Rokni 2004, J Can Dent Assoc 70:30, abstract).
    random = Random(6)
    drawn = [restoration(random) for _ in range(40_000)]

    for surfaces, published_mg in zip((1, 2, 3, 4), (310, 490, 810, 1380), strict=True):
        masses = [one.mass_mg for one in drawn if one.surfaces == surfaces]
        assert fmean(masses) == pytest.approx(published_mg, rel=4 * MASS_CV / math.sqrt(len(masses)))
    assert SURFACE_MEANS_MG == (310, 490, 810, 1380)


def test_the_mean_removal_weighs_what_a_whole_province_removed() -> None:
    # 1,880.32 kg (Adegbembo, Watson 2004, J Can Dent Assoc 70:759) over 2,855,178 removals (Adegbembo et al. 2005).
    random = Random(9)
    drawn = [restoration(random).mass_mg for _ in range(40_000)]

    assert fmean(drawn) == pytest.approx(1880.32e6 / 2_855_178, rel=0.02)


def test_a_share_keeps_its_mean_and_its_scatter() -> None:
    # Carved off and drawn in: 11 %, SD 4 (Drummond, Cailas, Croke 2003, J Dent 31:493).
    random = Random(4)
    drawn = [beta_of(random, 0.11, 0.04) for _ in range(20_000)]

    assert fmean(drawn) == pytest.approx(0.11, abs=0.0015)
    assert stdev(drawn) == pytest.approx(0.04, rel=0.05)


def test_a_poisson_count_scatters_as_much_as_its_rate() -> None:
    random = Random(2)
    drawn = [poisson(random, 3.2) for _ in range(20_000)]

    assert fmean(drawn) == pytest.approx(3.2, abs=0.06)
    assert stdev(drawn) ** 2 == pytest.approx(3.2, rel=0.06)
    assert poisson(random, 0.0) == 0


def test_the_restorations_of_a_day_are_those_that_its_amalgam_comes_from() -> None:
    # Second method: counts by surfaces times the published means (Adegbembo, Watson, Rokni 2004), and the shares that
    # enter the suction: 95 % of what is removed, 11 % of a mixed portion of which 46 % stays in the tooth (Drummond,
    # Cailas, Croke 2003).
    line = SuctionLine(MAIN, Random(8))
    entered = expected = capsules = 0.0
    for week in range(300):
        for work in line.week([TUESDAY + timedelta(days=7 * week + n) for n in range(4)]).values():
            entered += sum(work.entering_ug.values()) / 1000
            expected += sum(0.95 * SURFACE_MEANS_MG[one - 1] for one in work.removed)
            expected += sum(0.11 * SURFACE_MEANS_MG[one - 1] / 0.46 for one in work.placed)
            capsules += work.capsules - sum(1 if one < 3 else 2 for one in work.placed)

    assert entered == pytest.approx(expected, rel=0.03)
    assert capsules == 0


def test_work_on_a_day_that_is_closed_is_not_done() -> None:
    line = SuctionLine(MAIN, Random(1))

    work = line.week([TUESDAY])

    assert list(work) == [TUESDAY]
