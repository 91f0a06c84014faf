"""The manager's containers: open, close, move, weigh, read the level, show, list."""

from __future__ import annotations

from typing import Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.choices import Why
from wasteledger.cli.common import Place, ScaleOption, YesOption, reads, writes
from wasteledger.cli.typed import mass_of, permille_of

ContainerArgument = Annotated[
    str, typer.Argument(metavar="CONTAINER", help="Short name of the container.", show_default=False)
]

app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="Containers: open, close, move, show, list.")


def add_to(whole: typer.Typer) -> None:
    """Put ``weigh``, ``level`` and ``container …`` into *whole*."""
    panel = "Manager"
    whole.add_typer(app, name="container", rich_help_panel=panel)
    whole.command("weigh", rich_help_panel=panel)(weigh)
    whole.command("level", rich_help_panel=panel)(level)


@app.command("open")
@writes
def open_one(
    place: Place,
    container: ContainerArgument,
    container_type: Annotated[str, typer.Option("--type", metavar="TYPE", help="See: register show container_type.")],
    tare: Annotated[
        str | None, typer.Option("--tare", metavar="MASS", help="Empty with its lid; left out, the type's own.")
    ] = None,
    scale: ScaleOption = None,
    stands: Annotated[str, typer.Option("--place", metavar="TEXT", help="Where it stands.")] = "",
) -> None:
    """Take a new CONTAINER into use."""
    from wasteledger.office.containers import open_container

    recorded = open_container(
        place.work, container, container_type, place.said, tare=mass_of(tare), scale=scale, at_place=stands
    )
    output.answer(recorded, place.json)


@app.command("close")
@writes
def close(
    place: Place,
    container: ContainerArgument,
    why: Annotated[Why, typer.Option("--why", help="Why it is closed.")] = Why.FULL,
) -> None:
    """Close CONTAINER for good; nothing more goes in."""
    from wasteledger.office.containers import close_container

    output.answer(close_container(place.work, container, place.said, why=why.value), place.json)


@app.command("move")
@writes
def move(
    place: Place,
    container: ContainerArgument,
    to: Annotated[str, typer.Argument(metavar="PLACE", help="Where it stands now.", show_default=False)],
) -> None:
    """Record that CONTAINER stands elsewhere now."""
    from wasteledger.office.containers import move_container

    output.answer(move_container(place.work, container, to, place.said), place.json)


# A pail takes hundreds of traps; the screen shows what was done last.
_NEWEST = 12


@app.command("show")
@reads
def show(
    place: Place,
    container: ContainerArgument,
    budget: Annotated[
        bool, typer.Option("--budget", help="What its mass rests on, and its amalgam, mercury and silver.")
    ] = False,
) -> None:
    """Show what CONTAINER holds, how full it is, and its newest entries (with --json, all of them)."""
    from wasteledger.cli.budget import say_budget
    from wasteledger.cli.received import say_answered
    from wasteledger.office.budget import budget_of
    from wasteledger.office.status import show_container

    found = show_container(place.work, container)
    if budget:
        with place.work.reading() as reader:
            reckoned = budget_of(reader, found.state.standing)
        if place.json:
            output.show_json(found.as_json() | {"budget": reckoned.as_json()})
        else:
            output.container(found.state, place.work)
            output.findings(found.findings)
            say_answered(found)
            say_budget(reckoned)
        return
    if place.json:
        output.show_json(found.as_json())
        return
    output.container(found.state, place.work)
    output.findings(found.findings)
    say_answered(found)
    earlier = len(found.history) - _NEWEST
    if earlier > 0:
        output.say(f"  … {earlier} earlier entries: wasteledger history --container {container}")
    for row in found.history[max(0, earlier) :]:
        dead = "" if row.counts else "✗ "
        output.say(f"  {row.entry.seq:>6}  {output.moment(row.local_happened)}  {dead}{row.words}")


@app.command("list")
@reads
def list_all(
    place: Place,
    gone: Annotated[bool, typer.Option("--all", help="Also those that left the site.")] = False,
) -> None:
    """List the containers with what each holds."""
    from wasteledger.office.status import container_state

    today = place.work.today()
    with place.work.reading() as reader:
        standings = reader.containers(*(() if gone else ("open", "closed")))
        found = [container_state(reader, one, place.work.zone, today) for one in standings]
    if place.json:
        output.show_json({"containers": [one.as_json() for one in found]})
        return
    if not found:
        output.say("No container stands here. Open one: wasteledger container open C-1 --type TYPE")
    for one in found:
        output.container(one, place.work)


@writes
def weigh(
    place: Place,
    container: ContainerArgument,
    gross: Annotated[str, typer.Argument(metavar="MASS", help="As it stands, lid and all: 812g.", show_default=False)],
    scale: ScaleOption = None,
) -> None:
    """Record what CONTAINER weighs, lid and all."""
    from wasteledger.office.containers import weigh_container
    from wasteledger.units import Mass

    output.answer(weigh_container(place.work, container, Mass.parse(gross), place.said, scale=scale), place.json)


@writes
def level(
    place: Place,
    container: ContainerArgument,
    filled: Annotated[str, typer.Argument(metavar="LEVEL", help="Percent of the fill line: 60%.", show_default=False)],
    yes: YesOption = False,
) -> None:
    """Record how far CONTAINER is filled.

    Above 120 % it asks first.
    """
    from wasteledger.office.containers import record_level
    from wasteledger.office.volumes import UNLIKELY_LEVEL_PERMILLE

    permille = permille_of(filled)
    if permille > UNLIKELY_LEVEL_PERMILLE:
        read = f"{permille / 10:g} %"
        question = f"{read} is far above the fill line. Did you mean {permille / 100:g} %? Write {read} all the same?"
        output.ask_first(question, yes)
    output.answer(record_level(place.work, container, permille, place.said), place.json)
