"""What the manager asks and notes: status, milestones, remarks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from wasteledger.cli import containers, dues, output, pickups, printing, received, separators
from wasteledger.cli.choices import Event
from wasteledger.cli.common import Place, reads, writes
from wasteledger.errors import ExitStatus

if TYPE_CHECKING:
    from wasteledger.office.status import Status


def add_to(app: typer.Typer) -> None:
    """Put the manager's commands into *app*."""
    panel = "Manager"
    app.command("status", rich_help_panel=panel)(status)
    app.command("due", rich_help_panel=panel)(dues.due)
    containers.add_to(app)
    received.add_to(pickups.app)
    app.add_typer(pickups.app, name="pickup", rich_help_panel=panel)
    app.add_typer(separators.app, name="separator", rich_help_panel=panel)
    app.add_typer(printing.app, name="print", rich_help_panel=panel)
    app.command("milestone", rich_help_panel=panel)(milestone)
    app.command("remark", rich_help_panel=panel)(remark)


@reads
def status(place: Place) -> None:
    """Say what stands here now.

    The exit status is 1 where something wants attention.
    """
    from wasteledger.office.status import status as look_up

    found = look_up(place.work)
    if place.json:
        output.show_json(found.as_json())
    else:
        _say_status(place, found)
    if found.wants_attention:
        raise typer.Exit(ExitStatus.FOUND)


@writes
def milestone(
    place: Place,
    what: Annotated[Event, typer.Argument(metavar="WHAT", help=f"One of: {', '.join(Event)}.", show_default=False)],
) -> None:
    """Record what starts or ends a rule's clock."""
    from wasteledger.office.swaps import record_milestone

    output.answer(record_milestone(place.work, what.value, place.said), place.json)


@writes
def remark(
    place: Place,
    text: Annotated[str, typer.Argument(metavar="TEXT", help="Never patient data.", show_default=False)],
    about: Annotated[int | None, typer.Option("--about", metavar="SEQ", help="The entry it is about.")] = None,
    pickup: Annotated[str | None, typer.Option("--pickup", metavar="PICKUP", help="Such as a call made.")] = None,
    container: Annotated[str | None, typer.Option("--container", metavar="CONTAINER", help="About this one.")] = None,
    trap: Annotated[str | None, typer.Option("--trap", metavar="TRAP", help="About this one.")] = None,
) -> None:
    """Write TEXT about an entry, pickup, container, trap."""
    from wasteledger.office.swaps import record_remark

    recorded = record_remark(place.work, text, place.said, about=about, pickup=pickup, container=container, trap=trap)
    output.answer(recorded, place.json)


def _say_status(place: Place, found: Status) -> None:
    from wasteledger.office.notices import changed_by, unread

    output.say(f"{found.name}, {output.day(found.today)}")
    output.say("")
    output.say("Containers:" if found.containers else "Containers: none stands here.")
    for container in found.containers:
        output.container(container, place.work)
    if found.traps_to_swap:
        output.say("Traps to swap:")
        for trap in found.traps_to_swap:
            output.say(f"! {trap.trap} in {trap.room}: {trap.why}, since {output.day(trap.since)}")
    output.say("Looks:")
    output.coverage(found.coverage)
    if found.pickups:
        output.say("Pickups not closed:")
        for one in found.pickups:
            days = f", {output.count(one.days_open, 'day')} since it left" if one.days_open is not None else ""
            output.say(f"  {one.pickup.pickup} ({one.pickup.status}): waits for {one.awaits}{days}")
    pressing = found.due.pressing
    output.say("Due:" if pressing else "Due: nothing within two weeks.")
    for asked in pressing:
        state = dues.STATES[found.due.state_of(asked)]
        whose = f"{asked.ordinance_title}{unread(asked.confirmed)}"
        output.say(f"{state} {output.day(asked.due_on)}: {asked.title}, {asked.subject} ({whose})")
        if asked.override is not None:
            output.say(f"    {changed_by(asked.override)}")
    for gap in found.due.undated:
        if gap.is_gap:
            whose = f"{gap.ordinance_title}{unread(gap.confirmed)}"
            output.say(f"! {gap.title}, {gap.subject}: {gap.why} ({whose})")
            if gap.override is not None:
                output.say(f"    {changed_by(gap.override)}")
    output.findings(found.findings)
