"""Prints what each of the three users sees of the demo's ledger, and the true masses beside the estimates.

The words are the command line's own: each command is run here, in this process, on the evening on which the demo ends,
and stands above what it answered.
"""

from __future__ import annotations

import os
import shlex
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, time
from functools import partial
from pathlib import Path
from unittest.mock import patch
from zoneinfo import ZoneInfo

from demo.parts import END_ON, Truth
from wasteledger.cli import app
from wasteledger.errors import WasteLedgerError
from wasteledger.estimate.rounding import statement
from wasteledger.ledger.ledger import Ledger
from wasteledger.office.masses import mass_of
from wasteledger.office.round_plan import RoundTrap, round_plan
from wasteledger.office.workplace import Workplace
from wasteledger.settings import VARIABLES
from wasteledger.units import Mass

SITE = "linden"
LAST_EVENING = datetime.combine(END_ON, time(17, 30), ZoneInfo("America/Chicago")).astimezone(UTC)
WIDTH = 96


class CommandFailed(WasteLedgerError):
    """A command of the demo was refused."""

    code = "demo-command-failed"

    def __init__(self, words: Sequence[str], status: int) -> None:
        super().__init__(
            f"“wasteledger {shlex.join(words)}” ended with status {status}.", hint="Play it anew with --fresh."
        )


@dataclass(frozen=True, slots=True)
class Compared:
    """The truth of one container beside what was stated of it."""

    when: str
    container: str
    truth_mg: int
    stated: str
    lower_mg: int
    upper_mg: int
    unknown_pieces: int

    @property
    def inside(self) -> bool:
        """Whether the truth lies within the stated interval."""
        return self.lower_mg <= self.truth_mg <= self.upper_mg


def show(ledger: Path, truth: Truth, papers: Path) -> None:
    """Print it all, and draw the papers into the folder *papers*; nothing in the ledger changes."""
    with _on_the_last_evening(ledger):
        _heading("The assistant, on the last evening: what is still open of tonight's round")
        _round()
        _heading("The office manager: what stands here, and what is due")
        run("status")
        run("due", "--until", "2027-02-28")
        run("pickup", "list")
        with _place() as place, place.reading() as reader:
            last = max(reader.pickups("released", "received", "closed"), key=lambda one: one.released_seq).pickup
        _heading("The office manager's papers")
        _draw(papers, last)
        _heading("The inspector: the history of one pickup, what was corrected, the record's blanks, the chain")
        run("history", "--pickup", last)
        run("history", "--kind", "correction")
        run("history", "--trap", "2-HV", "--kind", "swap", "--newest", "--page-size", "8")
        run("coverage", "--from", "2026-10-01", "--to", "2026-11-19")
        run("verify")
    _compare(ledger, truth)


def _draw(papers: Path, pickup: str) -> None:
    papers.mkdir(exist_ok=True)
    for name, words in (
        (f"manifest-{pickup}", ("manifest", pickup)),
        (f"reminder-{pickup}", ("reminder", pickup)),
        ("labels", ("labels",)),
        ("trap-labels", ("trap-labels",)),
        ("deposit-log", ("deposit-log", "--from", "2026-09-01", "--to", "2026-11-20")),
        ("log-sheet", ("log-sheet", "--date", "2026-11-24")),
    ):
        run("print", *words, "--out", str(papers / f"{name}.pdf"))


def run(*words: str) -> None:
    """Run one command as typed, with the command above its answer.

    Raises:
        CommandFailed: It was refused; what it said stands above.
    """
    print(f"\n$ wasteledger {shlex.join(words)}", flush=True)
    try:
        status = app(list(words), prog_name="wasteledger", standalone_mode=False)
    except SystemExit as left:
        status = left.code if isinstance(left.code, int) else 1
    status = status if isinstance(status, int) else 0
    if status > 1:
        raise CommandFailed(words, status)
    if status == 1:
        print("(exit status 1: something wants attention)")


@contextmanager
def _on_the_last_evening(ledger: Path) -> Iterator[None]:
    """Let commands find the demo's ledger, and live on its last evening instead of in the present."""
    lived = {"WASTELEDGER_LEDGER": str(ledger), "WASTELEDGER_SITE": SITE, "WASTELEDGER_BY": "odile"}
    others = {name: value for name, value in os.environ.items() if name not in VARIABLES}
    opened = partial(Workplace.open, clock=lambda: LAST_EVENING)
    with patch.dict(os.environ, others | lived, clear=True), patch.object(Workplace, "open", opened):
        yield


@contextmanager
def _place(site: str = SITE) -> Iterator[Workplace]:
    with Workplace.open(os.environ["WASTELEDGER_LEDGER"], site) as place:
        yield place


def _heading(words: str) -> None:
    print(f"\n{'=' * WIDTH}\n{words}\n{'=' * WIDTH}")


def _round() -> None:
    with _place() as place:
        plan = round_plan(place)
    for number, step in enumerate(plan.steps, 1):
        print(f"{number:>2}. {step.does}")
        if step.caution:
            print(f"    ! {step.caution}")
    print("\nTo change before the suction starts tomorrow: " + (", ".join(plan.to_change_before_suction) or "none"))
    for room in plan.rooms:
        said = [f"{trap.trap} {_seen(trap)}" for trap in room.traps]
        print(f"  {room.name:<22} {'; '.join(said)}")
    print(f"Still open tonight: {', '.join(plan.open_tonight) or 'nothing'}")


def _seen(trap: RoundTrap) -> str:
    if trap.is_open:
        return "still open"
    return trap.not_looked or (trap.last_condition.words if trap.last_condition else "done")


def compared(ledger: Path, truth: Truth) -> list[Compared]:
    """Every estimate that the demo can hold against the truth: before each weighing, and what stands now."""
    found = [
        Compared(
            one.on,
            one.container,
            one.truth_mg,
            one.stated,
            one.lower_mg,
            one.upper_mg,
            one.unknown_pieces,
        )
        for one in truth.outcomes
    ]
    with Ledger.open(str(ledger)) as opened:
        for site, containers in truth.containers.items():
            with opened.reading(site) as reader:
                for standing in reader.containers("open", "closed"):
                    estimate = mass_of(reader, standing)
                    # Somebody may have opened another since, of which no simulation knows the truth.
                    if estimate.basis == "estimate" and standing.container in containers:
                        found.append(
                            Compared(
                                "standing now",
                                standing.container,
                                containers[standing.container].contents_mg,
                                statement(estimate),
                                estimate.lower_mg,
                                estimate.upper_mg,
                                estimate.unknown_pieces,
                            )
                        )
    return found


def _compare(ledger: Path, truth: Truth) -> None:
    _heading("Truth beside estimate (INVENTED: only a simulation knows the truth; the program never saw it)")
    rows = compared(ledger, truth)
    known = [row for row in rows if not row.unknown_pieces]
    print(f"{'when':<13}{'container':<14}{'truth':>10}   {'estimate, before it was weighed':<66}truth inside")
    for row in rows:
        inside = "pieces of unknown mass" if row.unknown_pieces else "yes" if row.inside else "NO"
        print(f"{row.when:<13}{row.container:<14}{_grams(row.truth_mg):>10}   {row.stated:<66}{inside}")
    print(_summary(known))
    print(
        "What was only counted (capsules) has no published mass here, and so no estimate.\n"
        "This is no test of the 95 % that the intervals state: containers of one practice share their error, and no\n"
        "weighed trap is in print, so the invented debris was chosen near the program's own starting values. Only the\n"
        "amalgam in it follows published surveys. Weighings at pickup are what shows how far your own practice is off."
    )


def _summary(known: Sequence[Compared]) -> str:
    inside = sum(row.inside for row in known)
    return f"\nThe truth lay inside the stated interval {inside} of {len(known)} times."


def _grams(mass_mg: int) -> str:
    return Mass(mass_mg).rounded("g", 0)
