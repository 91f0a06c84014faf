"""How often the second opinion raises a finding within a year: with every swap recorded, and with a tenth of them not.

Debris here follows from the procedures: a practice removes and places restorations week by week, each stage holds its
true share of what reaches it, each kind of trap its true share of amalgam; all drawn from the published widths, and
none of them told to the second opinion. Its containers are received four times in the year.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from random import Random

from demo.trials.practice import FIRST_ON, Change, SimulatedPractice, holding_of, is_working, received
from demo.trials.standing import KINDS
from wasteledger.estimate.balance import Balance, balance
from wasteledger.estimate.capture import CaptureFigures, entering_suction, stage_of
from wasteledger.estimate.containers import exposures_of
from wasteledger.estimate.increments import Increment
from wasteledger.estimate.learning import foretold, teach
from wasteledger.estimate.prior import Defaults, Prior, Share
from wasteledger.estimate.procedures import Procedures, Restorations
from wasteledger.estimate.rhythm import TrapHistory
from wasteledger.estimate.shares import Beta
from wasteledger.estimate.trap_masses import TrapMasses
from wasteledger.estimate.weighed import WeighingCheck

YEAR_DAYS, WEIGHINGS = 364, 4
REMOVED_A_WEEK, PLACED_A_WEEK = 8.91, 6.64
"""For each dentist; Adegbembo et al. 2005, J Can Dent Assoc 71:565."""

_SURFACES = {"one": 0.35, "two": 0.35, "three": 0.2, "four_or_more": 0.1}


@dataclass(frozen=True, slots=True)
class Year:
    """One simulated year and what the second opinion says of it."""

    hidden: str
    balance: Balance

    @property
    def names_it(self) -> bool:
        """Whether a finding names the trap whose swaps were left out."""
        return any(gap.trap == self.hidden for gap in self.balance.rhythm.long_gaps)


def year(
    defaults: Defaults,
    figures: CaptureFigures,
    random: Random,
    *,
    unrecorded_share: float = 0.0,
    hides_a_month: bool = False,
) -> Year:
    """Play one year of one practice and ask for the second opinion at its end.

    Swaps are left out of the record at random, or (*hides_a_month*) those of one chairside trap for four weeks.
    """
    prior = defaults.prior
    amalgam = {one.kind: one.amalgam for one in defaults.kinds}
    practice, procedures = _practice(random, prior, figures, amalgam)
    last_on = FIRST_ON + timedelta(days=YEAR_DAYS - 1)
    changes: list[Change] = []
    for change in practice.changes(random, unrecorded_share=unrecorded_share):
        if change.on > last_on:
            break
        changes.append(change)
    hidden = ""
    if hides_a_month:
        hidden = random.choice([trap.trap for trap in practice.traps if trap.interval_days == 7])
        begin = FIRST_ON + timedelta(days=random.randrange(28, YEAR_DAYS - 56))
        changes = [
            replace(one, is_recorded=not (one.trap.trap == hidden and 0 <= (one.on - begin).days < 28))
            for one in changes
        ]
    ends = [FIRST_ON + timedelta(days=YEAR_DAYS * quarter // WEIGHINGS) for quarter in range(WEIGHINGS + 1)]
    parts = [[one for one in changes if begin <= one.on < end] for begin, end in pairwise(ends)]
    weighed = [received(some, place + 1, random) for place, some in enumerate(parts) if some]
    counted = exposures_of(holding_of(changes), prior)
    exposures = {kind: float(x) for kind, x in zip(prior.kinds, counted, strict=True) if x}
    found = balance(
        FIRST_ON,
        last_on,
        is_working,
        _histories(practice, changes, last_on),
        figures=figures,
        amalgam=amalgam,
        procedures=procedures,
        masses=TrapMasses.by_count(exposures, teach(prior, weighed).prior),
        weighings=[_check(prior, weighed, place) for place in range(len(weighed))],
    )
    return Year(hidden, found)


def _practice(
    random: Random, prior: Prior, figures: CaptureFigures, amalgam: Mapping[str, Share]
) -> tuple[SimulatedPractice, list[Procedures]]:
    drawn = SimulatedPractice.drawn(random, prior, dict.fromkeys(KINDS, 1.0))
    dentists = max(trap.dentists for trap in drawn.traps)
    # Amalgam work has fallen since the survey, and differs from one practice to the next.
    work = dentists * math.exp(random.gauss(math.log(0.6), 0.5))
    weeks = [
        (_restorations(random, REMOVED_A_WEEK * work), _restorations(random, PLACED_A_WEEK * work))
        for _ in range(YEAR_DAYS // 7)
    ]
    procedures = [
        Procedures(FIRST_ON + timedelta(weeks=at), FIRST_ON + timedelta(weeks=at, days=6), *week)
        for at, week in enumerate(weeks)
    ]
    every = [_sum(week[place] for week in weeks) for place in (0, 1)]
    expected = entering_suction(every[0], every[1], figures)
    entering_mg = max(0.2 * expected.mean_mg, random.gauss(expected.mean_mg, expected.sd_mg))
    return replace(drawn, means_mg=_means(random, drawn, entering_mg, figures, amalgam)), procedures


def _means(
    random: Random,
    practice: SimulatedPractice,
    entering_mg: float,
    figures: CaptureFigures,
    amalgam: Mapping[str, Share],
) -> dict[str, float]:
    """True debris of one full swap of each kind, so that a year's swaps hold what each stage truly caught."""
    mean_grade = 2 / 3 * practice.grades["clogged"] + 1 / 3 * practice.grades["debris"]
    swaps = {
        kind: sum(YEAR_DAYS / trap.interval_days * trap.dentists for trap in practice.traps if trap.kind == kind)
        for kind in practice.means_mg
    }
    caught: dict[str, float] = {}
    reaching = entering_mg
    for stage in dict.fromkeys(stage_of(kind) for kind in practice.means_mg):
        share = figures.stages[stage]
        held = reaching * random.betavariate(*share.shapes)
        kinds = [kind for kind in practice.means_mg if stage_of(kind) is stage]
        weights = {kind: practice.means_mg[kind] * amalgam[kind].mean * swaps[kind] for kind in kinds}
        for kind in kinds:
            caught[kind] = held * weights[kind] / sum(weights.values())
        reaching -= held
    return {
        kind: caught[kind] / _drawn_share(random, amalgam[kind]) / swaps[kind] / mean_grade
        for kind in practice.means_mg
    }


def _drawn_share(random: Random, share: Share) -> float:
    # A kind without any amalgam at all would have no debris that follows from amalgam.
    return max(0.01, random.betavariate(*Beta(share.mean, share.sd).shapes))


def _restorations(random: Random, mean: float) -> Restorations:
    """A week's count, more uneven than Poisson's."""
    left = random.gammavariate(2.0, mean / 2.0)
    count = 0
    while (left := left - random.expovariate(1.0)) > 0:
        count += 1
    sizes = random.choices(list(_SURFACES), list(_SURFACES.values()), k=count)
    return Restorations(**Counter(sizes))


def _sum(each: Iterable[Restorations]) -> Restorations:
    totals: Counter[str] = Counter()
    for one in each:
        totals.update({name: getattr(one, name) for name in _SURFACES})
    return Restorations(**totals)


def _histories(practice: SimulatedPractice, changes: list[Change], last_on: date) -> list[TrapHistory]:
    return [
        TrapHistory(
            trap.trap,
            trap.kind,
            trap.room,
            tuple(one.on for one in changes if one.trap == trap and one.is_recorded),
            FIRST_ON,
            last_on,
            trap.interval_days,
        )
        for trap in practice.traps
    ]


def _check(prior: Prior, weighed: list[Increment], place: int) -> WeighingCheck:
    """One received weight against what the other one taught."""
    one = weighed[place]
    mean_mg, sd_mg, freedom = foretold(one, weighed, prior)
    return WeighingCheck(
        one.ref,
        one.began_at.date(),
        one.ended_at.date(),
        float(one.net_mg),
        math.sqrt(one.variance_mg2),
        mean_mg,
        sd_mg,
        freedom,
        one.seq,
    )
