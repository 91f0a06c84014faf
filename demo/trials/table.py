"""Simulates many practices whose truth is known, and prints what came of it beside what is asked for.

The same seed prints the same table. About five minutes on two processors.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import lru_cache, partial
from multiprocessing import get_context
from pathlib import Path
from random import Random
from time import perf_counter
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from demo.trials.filling import forecast
from demo.trials.opinion import year
from demo.trials.singles import is_covered as is_covered_by_singles
from demo.trials.standing import APART, ODDS, SCENARIOS, TOGETHER
from demo.trials.standing_table import METHODS, ORACLE, OURS, PICKUPS, WIDER, Column, Outcome, columns, outcomes
from wasteledger.estimate.capture import CAPTURE, CaptureFigures, read_capture
from wasteledger.estimate.prior import DEFAULTS, Defaults, read_defaults
from wasteledger.resources import find

Answer = TypeVar("Answer")

SEED = 3
PRACTICES = 400
STANDING_TIMES = 3
"""So many times as many for the standing mass, whose shares lie close to what is asked and differ by chance."""

NAMES = {
    TOGETHER: "all kinds off by 2.5 alike",
    APART: "each off by its own factor",
    ODDS: "each off by 2.5, up or down",
    WIDER: "own factor, scatter 1.5 x",
}
BY_HAND = METHODS[2:4]


@dataclass(frozen=True, slots=True)
class Goal:
    """A figure that was asked for, and what came."""

    name: str
    low: float
    high: float
    came: float
    digits: int = 3

    @property
    def is_met(self) -> bool:
        """Whether it lies within, by the digits in which the tables state it."""
        return self.low <= round(self.came, self.digits) <= self.high


@dataclass(frozen=True, slots=True)
class Simulated:
    """Everything that one run found."""

    practices: int
    standing: dict[str, dict[int, Column]]
    filling: dict[tuple[str, int], float]
    findings: dict[str, float]
    singles: float

    def goals(self) -> Iterator[Goal]:
        """What is asked of it."""
        for scenario, most in ((TOGETHER, 1.15), (APART, 1.20)):
            name = NAMES[scenario]
            yield Goal(
                f"95 % interval of the mass after 3 pickups, {name}", 0.92, 0.98, self.standing[scenario][3].covered
            )
            yield Goal(f"80 % interval of the fill date after 3 pickups, {name}", 0.72, 0.88, self.filling[scenario, 3])
            middle, ninetieth = self.standing[scenario][3].times_limit(OURS)
            yield Goal(f"median error over the limit's after 3 pickups, {name}", 0.0, most, middle, 2)
            yield Goal(f"90th percentile over the limit's after 3 pickups, {name}", 0.0, 1.3, ninetieth, 2)
            for pickups in PICKUPS[1:]:
                column = self.standing[scenario][pickups]
                for method in BY_HAND:
                    worst = max(
                        column.middle(OURS) / column.middle(method), column.ninetieth(OURS) / column.ninetieth(method)
                    )
                    yield Goal(f"errors over those of {method}, after {pickups}, {name}", 0.0, 1.0, worst)
        yield Goal("years with a finding, every swap recorded", 0.0, 0.02, self.findings["none"])
        yield Goal("years with a finding, a tenth of the swaps not recorded", 0.5, 1.0, self.findings["tenth"])
        yield Goal("years in which the hidden month's trap is named", 0.5, 1.0, self.findings["month"])


def simulate(
    practices: int, seed: int = SEED, workers: int | None = None, standing_times: int = STANDING_TIMES
) -> Simulated:
    """Simulate so many practices for each line of the tables, on so many processors (all, unless said)."""
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:

        def every(job: Callable[[int], Answer], times: int = 1) -> list[Answer]:
            return list(pool.map(job, range(times * practices), chunksize=10))

        standing = {
            scenario: columns(every(partial(_standing, scenario, seed), standing_times))
            for scenario in (*SCENARIOS, WIDER)
        }
        filling = {
            (scenario, pickups): _share(every(partial(_filling, scenario, pickups, seed)))
            for scenario in SCENARIOS
            for pickups in (0, 1, 3)
        }
        findings = {what: _share(every(partial(_opinion, what, seed))) for what in ("none", "tenth", "month")}
        singles = _share(every(partial(_singles, seed)))
    return Simulated(practices, standing, filling, findings, singles)


def _standing(scenario: str, seed: int, number: int) -> list[Outcome]:
    return outcomes(_defaults().prior, scenario, number, seed)


def _filling(scenario: str, pickups: int, seed: int, number: int) -> bool:
    random = Random(f"filling {seed} {scenario} {pickups} {number}")
    return forecast(_defaults().prior, SCENARIOS[scenario], number, random, pickups).is_within


def _opinion(what: str, seed: int, number: int) -> bool:
    random = Random(f"opinion {seed} {what} {number}")
    share = 0.1 if what == "tenth" else 0.0
    played = year(_defaults(), _figures(), random, unrecorded_share=share, hides_a_month=what == "month")
    return played.names_it if what == "month" else bool(played.balance.findings)


def _singles(seed: int, number: int) -> bool:
    return is_covered_by_singles(_defaults().prior, number, Random(f"singles {seed} {number}"))


@lru_cache(maxsize=1)
def _defaults() -> Defaults:
    return read_defaults(find(DEFAULTS).read_bytes())


@lru_cache(maxsize=1)
def _figures() -> CaptureFigures:
    return read_capture(find(CAPTURE).read_bytes())


def _share(found: Sequence[bool]) -> float:
    return sum(found) / len(found)


def lines(found: Simulated) -> Iterator[str]:
    """The tables in words."""
    of = found.standing[TOGETHER][PICKUPS[0]].of
    yield f"Simulated practices: {of} a line for the standing mass, {found.practices} for all else."
    yield "The published masses are wrong by a factor of up to 2.5, either way."
    yield ""
    yield "How often the 95 % interval of the standing mass holds the truth"
    yield f"{'':28}" + "".join(f"{_after(pickups):>16}" for pickups in PICKUPS)
    for scenario, by_pickups in found.standing.items():
        yield f"{NAMES[scenario]:28}" + "".join(f"{by_pickups[pickups].covered:>16.1%}" for pickups in PICKUPS)
    yield f"(of one kind's mean, after ten traps weighed singly, off by 2.5: {found.singles:.1%})"
    yield ""
    yield "How often the day on which a container is full lies within the forecast's 80 % interval"
    yield f"{'':28}" + "".join(f"{_after(pickups):>16}" for pickups in (0, 1, 3))
    for scenario in SCENARIOS:
        yield f"{NAMES[scenario]:28}" + "".join(f"{found.filling[scenario, n]:>16.1%}" for n in (0, 1, 3))
    for scenario in SCENARIOS:
        by_pickups = found.standing[scenario]
        yield ""
        yield f"Relative error of the standing mass, {NAMES[scenario]}: median / 90th percentile"
        yield "(in brackets: over those of the true means, all columns together)"
        yield f"{'':24}" + "".join(f"{_after(pickups):>29}" for pickups in PICKUPS[1:])
        for method in METHODS:
            yield f"{method:24}" + "".join(_errors(by_pickups[pickups], method) for pickups in PICKUPS[1:])
    yield ""
    yield "How often a year of the second opinion has a finding"
    yield f"every swap recorded                                       {found.findings['none']:6.1%}"
    yield f"a tenth of the swaps not recorded                         {found.findings['tenth']:6.1%}"
    yield f"one trap's swaps of four weeks not recorded: it is named  {found.findings['month']:6.1%}"
    yield ""
    missed = [goal for goal in found.goals() if not goal.is_met]
    count = sum(1 for _ in found.goals())
    yield f"{count - len(missed)} of {count} goals are met." + (" Missed:" if missed else "")
    for goal in missed:
        yield f"  {goal.name}: {goal.came:.3f}, asked for {goal.low:.2f} to {goal.high:.2f}"


def _after(pickups: int) -> str:
    return "before any" if not pickups else f"after {pickups} pickup{'s' if pickups > 1 else ''}"


def _errors(column: Column, method: str) -> str:
    if method == ORACLE:
        return f"{column.middle(method):.3f} / {column.ninetieth(method):.3f}".rjust(29)
    middle, ninetieth = column.times_limit(method)
    text = f"{column.middle(method):.3f} / {column.ninetieth(method):.3f} ({middle:.2f} / {ninetieth:.2f})"
    return text.rjust(29)


def main(arguments: list[str] | None = None) -> int:
    """Simulate, print the tables, and answer 1 if a goal was missed."""
    parser = argparse.ArgumentParser(prog="coverage", description="Simulated practices: intervals, errors, findings.")
    parser.add_argument("--practices", type=int, default=PRACTICES, help=f"simulated for each line ({PRACTICES})")
    parser.add_argument("--seed", type=int, default=SEED, help="another seed, other practices")
    parser.add_argument("--workers", type=int, default=None, help="processors (all)")
    asked = parser.parse_args(arguments)
    began = perf_counter()
    found = simulate(max(20, asked.practices), asked.seed, asked.workers)
    print("\n".join(lines(found)))
    print(f"{perf_counter() - began:.0f} s.", file=sys.stderr)
    return 0 if all(goal.is_met for goal in found.goals()) else 1


if __name__ == "__main__":
    sys.exit(main())
