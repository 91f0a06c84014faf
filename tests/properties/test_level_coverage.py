"""Intervals of estimated levels hold the truth, over simulated practices whose volumes are stated or judged wrongly."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from datetime import timedelta

import pytest

from tests.estimate.test_level import PAIL
from tests.makers import MONDAY_MORNING, a_level, a_swap, an_opening
from wasteledger.estimate.level import standing_level
from wasteledger.estimate.volume_increments import volume_increments
from wasteledger.estimate.volume_learning import starting_factors, teach_volume
from wasteledger.estimate.volumes import VolumesIn, volume_of
from wasteledger.model.facts import Fact
from wasteledger.model.values import Body

FILL_ML, CONTAINERS, PRACTICES = 5000, 5, 15


@dataclass(frozen=True)
class Told:
    """One level asked for: in which container of the practice, whether it held, how far off it was, how wide."""

    container: int
    holds: bool
    error: float
    width: int


def a_practice(chance: random.Random, factor: float, insert_ml: int | None) -> list[Told]:
    """Five pails filled one after the other; levels are read now and then, and asked for in between.

    Every kind's factor is *factor* give or take a tenth, every pail is packed a tenth tighter or looser, and a level is
    read to thirty thousandths.
    """
    factors = {kind: factor * chance.lognormvariate(0, 0.1) for kind in ("high_volume", "saliva_ejector")}
    facts: list[Fact] = []

    def happened(body: Body) -> None:
        seq = len(facts) + 1
        at = MONDAY_MORNING + timedelta(hours=seq)
        facts.append(Fact(seq, seq, at, at, "kim", body))

    told = []
    for container in range(CONTAINERS):
        name, packing = f"C-{container}", chance.lognormvariate(0, 0.1)
        happened(an_opening(name, fill_ml=FILL_ML))
        true_ml, since, read = 0.0, VolumesIn(), None
        while true_ml < 0.9 * FILL_ML:
            body = a_swap("1-HV" if chance.random() < 0.6 else "1-SE", name, insert_ml=insert_ml)
            happened(body)
            volume = volume_of(body)
            since = since.plus(volume)
            true_ml += volume.ml * factors[body.trap_kind] * packing
            true_permille = 1000 * true_ml / FILL_ML
            dice = chance.random()
            if dice < 0.04:
                read, since = max(0, round(chance.gauss(true_permille, 30))), VolumesIn()
                happened(a_level(name, read))
            elif dice < 0.07:
                known = teach_volume(starting_factors(), volume_increments(facts)).factors
                found = standing_level(replace(PAIL, fill_ml=FILL_ML, level_permille=read), since, known)
                assert found is not None
                holds = found.lower_permille <= true_permille <= found.upper_permille
                width = found.upper_permille - found.lower_permille
                told.append(Told(container, holds, abs(found.permille - true_permille), width))
    return told


@pytest.mark.parametrize(
    ("factor", "insert_ml"),
    [(0.8, 40), (1.3, 40), (0.4, None), (2.5, None)],
    ids=["stated-too-large", "stated-too-small", "assumed-too-large", "assumed-too-small"],
)
def test_intervals_of_levels_hold_what_they_promise(factor: float, insert_ml: int | None) -> None:
    told = [one for seed in range(PRACTICES) for one in a_practice(random.Random(seed), factor, insert_ml)]

    def mean(of: str, first: int, last: int) -> float:
        some = [float(getattr(one, of)) for one in told if first <= one.container <= last]
        assert len(some) >= 15
        return sum(some) / len(some)

    # From the second container on levels have taught what went in, whatever was stated or judged of it.
    assert 0.92 <= mean("holds", 1, CONTAINERS - 1) <= 0.995
    assert mean("error", 1, CONTAINERS - 1) < 50
    assert mean("error", 1, CONTAINERS - 1) < mean("error", 0, 0)
    assert mean("width", 1, CONTAINERS - 1) < mean("width", 0, 0)
