"""What the practice's own weighings have taught, for the manager to read."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from wasteledger.cli import output
from wasteledger.cli.common import Place, reads

if TYPE_CHECKING:
    from wasteledger.office.learned import MassesLearned

# More entries than these are counted, not listed; --json has them all.
_MOST_SEQS = 8


def add_to(app: typer.Typer) -> None:
    """Put ``learned`` into *app*."""
    app.command("learned", rich_help_panel="Manager")(learned)


@reads
def learned(place: Place) -> None:
    """Say what weighings have taught of each kind.

    What was published of the debris in one trap of each kind, what is believed of it now, from how many weighings;
    and which weighings could teach nothing, why, and how to mend it.
    """
    from wasteledger.office.learned import masses_learned

    with place.work.reading() as reader:
        found = masses_learned(reader)
    if place.json:
        output.show_json(found.as_json())
        return
    _say(found)


def _say(found: MassesLearned) -> None:
    output.say(found.headline)
    output.say("Debris in one of each, after a full interval, for each dentist that it serves:")
    for kind in found.kinds:
        output.say(f"  {kind.words}: {kind.statement}")
        output.say(f"    {kind.began}")
    output.say(found.scatter)
    for warning in found.warnings:
        output.say(f"! {warning}")
    for why, mend, some in found.reasons:
        counted = f"{output.count(len(some), 'weighing')} left out, since {why}"
        if not mend:
            output.say(f"{counted}; nothing is wrong with {'it' if len(some) == 1 else 'them'}.")
            continue
        listed = ", ".join(f"{one.seq} ({one.what})" for one in some[:_MOST_SEQS])
        more = f" and {len(some) - _MOST_SEQS} more" if len(some) > _MOST_SEQS else ""
        output.say(f"{counted}: {listed}{more}.")
        output.say(f"  {mend}")
