"""Prints what each of the three users sees of the demo's ledger, and the true masses beside the estimates.

The words are the command line's own: each command is run here, in this process, on the evening on which the demo ends,
and stands above what it answered.
"""

from __future__ import annotations

import os
import shlex
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime, time
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch
from zoneinfo import ZoneInfo

from demo.beside import CAUTIONS, compared, print_compared, print_learned
from demo.hidden import period_with, period_without
from demo.parts import END_ON, Hidden, Truth
from wasteledger.cli import app
from wasteledger.errors import WasteLedgerError
from wasteledger.ledger.copies import copy_ledger
from wasteledger.office.balance import balance
from wasteledger.office.round_plan import RoundTrap, round_plan
from wasteledger.office.workplace import Workplace
from wasteledger.settings import VARIABLES
from wasteledger.units import Mass

SITE = "linden"
LAST_EVENING = datetime.combine(END_ON, time(17, 30), ZoneInfo("America/New_York")).astimezone(UTC)
WIDTH = 96


class CommandFailed(WasteLedgerError):
    """A command of the demo was refused."""

    code = "demo-command-failed"

    def __init__(self, words: Sequence[str], status: int) -> None:
        super().__init__(
            f"“wasteledger {shlex.join(words)}” ended with status {status}.", hint="Play it anew with --fresh."
        )


def show(ledger: Path, truth: Truth, papers: Path) -> None:
    """Print it all, and draw the papers into the folder *papers*; nothing in the ledger changes."""
    with _on_the_last_evening(ledger):
        _heading("The assistant, on the last evening: what is still open of tonight's round")
        _round()
        _heading("The office manager: what stands here, and what is due")
        run("status")
        run("due", "--until", "2027-02-28")
        run("pickup", "plan")
        run("pickup", "list")
        _heading("The office manager: which rules ask, and what the journal shows (federal, state, sewer district)")
        run("ordinance", "explain", "US-441-05")
        run("ordinance", "explain", "MA-02")
        run("generator", "--from", "2026-09")
        run("worksheet", "amounts", "--year", "2025")
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
        _second_opinion(truth)
        _heading("The inspector's published questions, answered from the journal; a gap is shown as a gap")
        run("answers")
    _weighed_in_a_copy(ledger, truth)
    _heading("Truth beside estimate (INVENTED: only a simulation knows the truth; the program never saw it)")
    rows = compared(ledger, truth)
    print_compared(rows)
    print_learned(rows, SITE)
    print(CAUTIONS)


def _second_opinion(truth: Truth) -> None:
    """A period in which swaps were not written down, and one in which all were, beside what is true of them."""
    _heading("The second opinion: swaps, weighings and restorations held against each other")
    hidden = next((one for one in truth.hidden if one.site == SITE and one.swapped_on), None)
    if hidden is not None:
        since, until = period_with(hidden, date.fromisoformat(truth.began_on[SITE]))
        _balance(since, until)
        print(f"\nTruth: {_made(hidden)}.\n{_named(hidden, since, until)}")
        _balance(*period_without(hidden))
        print("\nTruth: every swap of these days was written down.")
    else:
        run("balance")
        print("\nTruth: every swap was written down; so short a play hides nothing.")


def _balance(since: date, until: date) -> None:
    run("balance", "--from", since.isoformat(), "--to", until.isoformat())


def _made(hidden: Hidden) -> str:
    days = [date.fromisoformat(day) for day in hidden.swapped_on]
    on = ", ".join(f"{day.day}" for day in days)
    return (
        f"{len(days)} swaps of trap {hidden.trap} were made on {on} {days[0]:%B %Y} and never written down;\n"
        f"{Mass(hidden.mass_mg).rounded('g', 0)} went into the container with them"
    )


def is_named(hidden: Hidden, since: date, until: date) -> bool:
    """Whether the second opinion on a period names the trap, and days that hold all the hidden swaps."""
    with _place() as place:
        gaps = balance(place, since=since, until=until).balance.rhythm.long_gaps
    days = [date.fromisoformat(day) for day in hidden.swapped_on]
    return any(gap.trap == hidden.trap and gap.from_on <= days[0] and days[-1] <= gap.to_on for gap in gaps)


def _named(hidden: Hidden, since: date, until: date) -> str:
    if is_named(hidden, since, until):
        return "Found: the second opinion sees the ledger alone, and names that trap and a span that holds these days."
    return "NOT FOUND by the second opinion, which sees the ledger alone."


def _weighed_in_a_copy(ledger: Path, truth: Truth) -> None:
    """What a weighing tonight would teach: in a copy, so that the ledger stays as it was played."""
    with _on_the_last_evening(ledger), _place() as place, place.reading() as reader:
        standing = [one for one in reader.containers("open") if one.container in truth.containers[SITE]]
    if not standing:
        return  # somebody has sent them all away since
    fullest = max(standing, key=lambda one: sum(tally.count for tally in one.holding.tallies if tally.inserts_mg))
    true = truth.containers[SITE][fullest.container]
    shown = f"{(true.tare_mg + true.contents_mg) / 1000:.1f}g"
    _heading(f"A weighing, and what it teaches: {fullest.container} put on the scale tonight (in a copy of the ledger)")
    with TemporaryDirectory() as folder:
        copy = Path(folder) / ledger.name
        copy_ledger(ledger, copy)
        with _on_the_last_evening(copy):
            run("container", "show", fullest.container, "--budget")
            run("weigh", fullest.container, shown)
            run("container", "show", fullest.container, "--budget")
            run("learned")


def _draw(papers: Path, pickup: str) -> None:
    papers.mkdir(exist_ok=True)
    for name, words in (
        (f"manifest-{pickup}", ("manifest", pickup)),
        (f"reminder-{pickup}", ("reminder", pickup)),
        ("labels", ("labels",)),
        ("trap-labels", ("trap-labels",)),
        ("deposit-log", ("deposit-log", "--from", "2026-09-01", "--to", "2026-11-20")),
        ("log-sheet", ("log-sheet", "--date", "2026-11-24")),
        ("pictures", ("pictures",)),
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
