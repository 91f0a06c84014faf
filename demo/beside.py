"""What the program stated of each container beside what truly was in it, and how far its weighings brought it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from pathlib import Path
from statistics import median

from demo.parts import Outcome, Truth
from wasteledger.estimate.rounding import statement
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.reader import Reader
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.masses import mass_of, shipped_prior
from wasteledger.units import Mass

NOW = "standing now"

CAUTIONS = """
What was only counted (capsules) has no published mass here, and so no estimate.
This is no test of the 95 % that the intervals state: containers of one practice share their error, and no weighed
trap is in print, so the invented debris was chosen near the program's own starting values; a practice far from them
gains more by its first weighing than this one. All amalgam in it comes from the restorations that the manager enters,
and these follow published surveys; the rest of the debris does not, and is drawn by itself."""


def outcome_of(reader: Reader, site: str, standing: ContainerStanding, on: str, truth_mg: int) -> Outcome | None:
    """What is stated of a container beside the truth; None where all of it was weighed."""
    stated = mass_of(reader, standing)
    if stated.basis != "estimate":
        return None
    published = mass_of(reader, standing, shipped_prior())
    return Outcome(
        site=site,
        container=standing.container,
        on=on,
        truth_mg=truth_mg,
        value_mg=stated.value_mg,
        lower_mg=stated.lower_mg,
        upper_mg=stated.upper_mg,
        stated=statement(stated),
        unknown_pieces=stated.unknown_pieces,
        published_mg=published.value_mg,
        published_lower_mg=published.lower_mg,
        published_upper_mg=published.upper_mg,
    )


def compared(ledger: Path, truth: Truth) -> list[Outcome]:
    """Every estimate that the demo can hold against the truth: before each weighing, and what stands now."""
    found = list(truth.outcomes)
    with Ledger.open(str(ledger)) as opened:
        for site, containers in truth.containers.items():
            with opened.reading(site) as reader:
                for standing in reader.containers("open", "closed"):
                    # Somebody may have opened another since, of which no simulation knows the truth.
                    if standing.container in containers:
                        truth_mg = containers[standing.container].contents_mg
                        if outcome := outcome_of(reader, site, standing, NOW, truth_mg):
                            found.append(outcome)
    return found


def print_compared(rows: Sequence[Outcome]) -> None:
    """Each estimate beside the truth, and how far the published values alone would have been off."""
    print(
        f"{'when':<13}{'container':<14}{'truth':>8}   {'estimate, before it was weighed':<64}{'off':>6}   "
        f"{'truth inside':<12}   off, by published values alone"
    )
    for row in rows:
        told = f"{row.on:<13}{row.container:<14}{_grams(row.truth_mg):>8}   {row.stated:<64}"
        if row.unknown_pieces:
            print(told.rstrip())
        else:
            inside = "yes" if row.inside else "NO"
            print(f"{told}{_off(row.value_mg, row):>6}   {inside:<12}{_off(row.published_mg, row):>9}")
    known = [row for row in rows if not row.unknown_pieces]
    print(f"\nThe truth lay inside the stated interval {sum(row.inside for row in known)} of {len(known)} times.")


def print_learned(rows: Iterable[Outcome], site: str) -> None:
    """By how much the estimates of each pickup were off, and how wide they were: learned, and published alone."""
    print(
        f"\nAs the weighings came in, one pickup after the other: site {site}, containers of traps, filters and units\n"
        f"{'':<26}   {'off, median':<24}   half the interval, median\n"
        f"{'pickup':<14}{'containers':>12}   {'learned':<12}{'published':<12}   {'learned':<12}published"
    )
    ours = [row for row in rows if row.site == site and not row.unknown_pieces]
    for on, group in groupby(ours, lambda row: row.on):
        some = list(group)
        off = median(abs(one.value_mg / one.truth_mg - 1) for one in some)
        published_off = median(abs(one.published_mg / one.truth_mg - 1) for one in some)
        half = median(_half(one.lower_mg, one.upper_mg, one.value_mg) for one in some)
        published = median(_half(one.published_lower_mg, one.published_upper_mg, one.published_mg) for one in some)
        figures = [f"{100 * share:.0f} %" for share in (off, published_off, half, published)]
        print(f"{on:<14}{len(some):>12}   {figures[0]:<12}{figures[1]:<12}   {figures[2]:<12}{figures[3]}")


def _half(lower_mg: int, upper_mg: int, value_mg: int) -> float:
    return (upper_mg - lower_mg) / (2 * value_mg)


def _off(stated_mg: int, row: Outcome) -> str:
    percent = round(100 * (stated_mg / row.truth_mg - 1))
    return f"{percent:+} %".replace("-", "−") if percent else "0 %"


def _grams(mass_mg: int) -> str:
    return Mass(mass_mg).rounded("g", 0)
