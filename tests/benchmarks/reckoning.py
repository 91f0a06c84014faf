"""What do learning, forecast and second opinion cost beside the estimate of one container?

Run on demand, from the top of the checkout:

    python tests/benchmarks/reckoning.py [--turns 30]

One simulated practice (demo/trials) is reckoned with in turns, and the medians are printed as multiples of the time
that the standing mass of one container takes in the same run.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from demo.trials.filling import forecast
from demo.trials.opinion import year
from demo.trials.practice import holding_of
from demo.trials.standing import SCENARIOS, TOGETHER, moments
from wasteledger.estimate.capture import CAPTURE, read_capture
from wasteledger.estimate.containers import standing_mass
from wasteledger.estimate.learning import teach
from wasteledger.estimate.prior import DEFAULTS, read_defaults
from wasteledger.resources import find


def main() -> None:
    """Measure in turns and print the ratios."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--turns", type=int, default=30)
    turns = parser.parse_args().turns
    defaults = read_defaults(find(DEFAULTS).read_bytes())
    figures = read_capture(find(CAPTURE).read_bytes())
    prior = defaults.prior
    moment = next(moments(prior, SCENARIOS[TOGETHER], 1, Random(1), (6,)))
    holding, learned = holding_of(moment.now), teach(prior, moment.weighed).prior
    jobs: dict[str, Callable[[], object]] = {
        "standing mass of one container": lambda: standing_mass(holding, learned),
        "learning from six pickups": lambda: teach(prior, moment.weighed),
        "simulating three pickups, and one forecast": lambda: forecast(prior, SCENARIOS[TOGETHER], 1, Random(2), 3),
        "simulating a year, and its second opinion": lambda: year(defaults, figures, Random(3)),
    }
    taken: dict[str, list[float]] = {name: [] for name in jobs}
    for _ in range(turns):
        for name, job in jobs.items():
            began = time.perf_counter()
            job()
            taken[name].append(time.perf_counter() - began)
    first = statistics.median(next(iter(taken.values())))
    print(f"One practice, {turns} turns; medians over that of the first line.")
    for name, times in taken.items():
        print(f"{statistics.median(times) / first:8.1f}  {name}")


if __name__ == "__main__":
    main()
