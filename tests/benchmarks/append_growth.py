"""Does a swap cost more on a long ledger than on a short one?

Run on demand, from the top of the checkout:

    python tests/benchmarks/append_growth.py [--entries 100000] [--swaps 300]

Two ledgers are made, one with 100 entries and one with many; then swaps are recorded into both in turns, each in a
transaction of its own as the program does it, and the medians are compared. Printed as a ratio: 1.0 means that length
costs nothing.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.makers import KIM, SET_UP_AT, SITE, TRAPS, Clinic, a_closing, a_look, a_swap, an_opening, make_clinic
from wasteledger.ledger.append import Desk
from wasteledger.ledger.engine import writing
from wasteledger.model.values import Body

SHORT = 100
# How many swaps go into one container before the next is opened, as in a practice.
PER_CONTAINER = 200


def bodies(first: int, last: int) -> list[Body]:
    """Looks and swaps of all traps in turn, a new container now and then, to make a ledger *last* entries long."""
    made: list[Body] = []
    refs = sorted(TRAPS)
    number = 0
    while first + len(made) < last:
        container = f"C-{number // PER_CONTAINER}"
        if number % PER_CONTAINER == 0:
            if number:
                made.append(a_closing(f"C-{number // PER_CONTAINER - 1}"))
            made.append(an_opening(container))
        made.extend((a_look(refs[number % len(refs)]), a_swap(refs[number % len(refs)], container)))
        number += 1
    return made[: last - first]


def a_ledger_of(entries: int, folder: Path) -> Clinic:
    """A practice whose chain is *entries* long, with one container open; written in large transactions."""
    clinic = make_clinic(folder)
    at: datetime = SET_UP_AT
    waiting = bodies(len(clinic.entries()), entries - 1)
    for start in range(0, len(waiting), 2000):
        with writing(clinic.ledger.engine) as connection:
            desk = Desk(connection, SITE, KIM, clinic.watch())
            for body in waiting[start : start + 2000]:
                at += timedelta(seconds=30)
                desk.append(body, happened_at=at)
    clinic.append(an_opening("NOW"), at=at)
    return clinic


def a_swap_in(clinic: Clinic, number: int) -> float:
    """Seconds that one swap takes, from opening the transaction to its being on the disk."""
    body = a_swap(sorted(TRAPS)[number % len(TRAPS)], "NOW")
    began = time.perf_counter()
    clinic.append(body)
    return time.perf_counter() - began


def main() -> None:
    """Make both ledgers, record swaps in turns, print the medians and their ratio."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--entries", type=int, default=100_000, help="length of the long ledger")
    asked.add_argument("--swaps", type=int, default=300, help="how many swaps are timed in each")
    options = asked.parse_args()
    with tempfile.TemporaryDirectory() as one, tempfile.TemporaryDirectory() as other:
        short = a_ledger_of(SHORT, Path(one))
        began = time.perf_counter()
        long = a_ledger_of(options.entries, Path(other))
        print(f"made {options.entries} entries in {time.perf_counter() - began:.0f} s")
        for number in range(20):
            a_swap_in(short, number), a_swap_in(long, number)
        times = [(a_swap_in(short, number), a_swap_in(long, number)) for number in range(options.swaps)]
        medians = [statistics.median(column) for column in zip(*times, strict=True)]
        print(
            f"a swap on {SHORT} entries: {medians[0] * 1000:.2f} ms; on {options.entries}: {medians[1] * 1000:.2f} ms"
        )
        print(f"ratio {medians[1] / medians[0]:.2f}")
        short.ledger.close()
        long.ledger.close()


if __name__ == "__main__":
    main()
