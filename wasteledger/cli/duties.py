"""What was done for a rule: done."""

from __future__ import annotations

from typing import Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.common import Place, writes
from wasteledger.cli.typed import find_day


def add_to(app: typer.Typer) -> None:
    """Put the command into *app*."""
    app.command("done", rich_help_panel="Manager")(done)


@writes
def done(
    place: Place,
    rule: Annotated[str, typer.Argument(metavar="RULE", help="Such as MA-01, or ordinance:RULE.", show_default=False)],
    separator: Annotated[str | None, typer.Option("--separator", metavar="SEPARATOR", help="For this one.")] = None,
    container: Annotated[str | None, typer.Option("--container", metavar="CONTAINER", help="For this one.")] = None,
    pickup: Annotated[str | None, typer.Option("--pickup", metavar="PICKUP", help="For this one.")] = None,
    due: Annotated[
        str | None, typer.Option("--due", metavar="DATE", help="The due day it answers; else the one that is open.")
    ] = None,
    document: Annotated[
        str | None, typer.Option("--document", metavar="TEXT", help="Number or name of the paper.")
    ] = None,
    done_by: Annotated[
        str | None, typer.Option("--done-by", metavar="NAME", help="Who did it, if somebody else.")
    ] = None,
) -> None:
    """Record that what RULE asks was done.

    A report filed, a certification sent, a test made. What has a command of its own (inspect, repair, exchange, ship)
    is recorded there.
    """
    from wasteledger.office.duties import About, record_duty_done

    recorded = record_duty_done(
        place.work,
        rule,
        place.said,
        about=About(separator, container, pickup),
        due_on=find_day(due, place.work.today()),
        document=document,
        done_by=done_by,
    )
    output.answer(recorded, place.json)
