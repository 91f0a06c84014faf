"""What a receipt states against what left: the explanation of a difference, and the line that a list says of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.common import Place, writes

if TYPE_CHECKING:
    from collections.abc import Iterable

    from wasteledger.office.received import Comparison
    from wasteledger.office.restated import Restated
    from wasteledger.office.status import ContainerShown


def add_to(pickups: typer.Typer) -> None:
    """Put ``explain`` among the commands of *pickups*."""
    pickups.command("explain")(explain)


@writes
def explain(
    place: Place,
    pickup: Annotated[str, typer.Argument(metavar="PICKUP", help="Short name of the pickup.", show_default=False)],
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="What the carrier or the facility said.")],
) -> None:
    """Write down why what came differs from what left.

    The finding is then answered.
    """
    from wasteledger.office.received import explain_pickup

    output.answer(explain_pickup(place.work, pickup, why, place.said), place.json)


def say_compared(found: Iterable[Comparison]) -> None:
    """One line for each weight that came back; those far from what left stand out until they are explained."""
    for one in found:
        output.say(f"{'!' if one.is_open else ' '} {one.says}")
        if one.explained_seq:
            output.say(f"  explained in entry {one.explained_seq}: {one.explained}")


def say_restated(found: Iterable[Restated]) -> None:
    """One line for each container whose figure is another since it left; marked until that is explained."""
    for one in found:
        output.say(f"{'!' if one.is_open else ' '} {one.says}")
        if one.explained_seq:
            output.say(f"  explained in entry {one.explained_seq}: {one.explained}")


def say_answered(found: ContainerShown) -> None:
    """The line of one whose figure is another since it left, where that is explained; else a finding says it."""
    if found.restated is not None and not found.restated.is_open:
        say_restated([found.restated])
