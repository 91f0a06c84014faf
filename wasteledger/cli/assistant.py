"""What the assistant records at the chair: looks, swaps, deposits, line cleaning."""

from __future__ import annotations

from typing import Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.choices import Seen
from wasteledger.cli.common import OnPaperOption, Place, ScaleOption, writes
from wasteledger.cli.typed import mass_of, volume_of

TrapArgument = Annotated[str, typer.Argument(metavar="TRAP", help="Short name of the trap.", show_default=False)]
AmalgamOption = Annotated[
    bool | None,
    typer.Option("--amalgam-seen/--no-amalgam-seen", help="Whether silver-coloured particles were seen."),
]


def add_to(app: typer.Typer) -> None:
    """Put the assistant's commands into *app*."""
    panel = "Assistant"
    app.command("look", rich_help_panel=panel)(look)
    app.command("swap", rich_help_panel=panel)(swap)
    app.command("deposit", rich_help_panel=panel)(deposit)
    app.command("line-cleaning", rich_help_panel=panel)(line_cleaning)


@writes
def look(
    place: Place,
    trap: TrapArgument,
    condition: Annotated[
        Seen,
        typer.Option(
            "--condition",
            "-c",
            help="clean: all holes open. debris: most holes visible. clogged: holes not visible. "
            "damaged: torn, missing, overflowing. not_looked: say why with --reason.",
        ),
    ],
    reason: Annotated[
        str | None, typer.Option("--reason", metavar="TEXT", help="Why it was not looked at; goes with not_looked.")
    ] = None,
    left_to_dry: Annotated[bool, typer.Option("--left-to-dry", help="Left to dry, to swap before suction.")] = False,
    amalgam_seen: AmalgamOption = None,
    on_paper: OnPaperOption = False,
) -> None:
    """Record that TRAP was looked at."""
    from wasteledger.model.traps import Condition
    from wasteledger.office.swaps import record_look

    recorded = record_look(
        place.work,
        trap,
        Condition(condition.value),
        place.said,
        amalgam_seen=amalgam_seen,
        reason=reason,
        left_to_dry=left_to_dry,
        on_paper=on_paper,
    )
    output.answer(recorded, place.json)


@writes
def swap(
    place: Place,
    trap: TrapArgument,
    condition: Annotated[
        Seen, typer.Option("--condition", "-c", help="What was seen; left out, the last look at it counts.")
    ] = Seen.NOT_LOOKED,
    into: Annotated[
        str | None,
        typer.Option("--into", metavar="CONTAINER", help="Where the old insert went; left out, the one used last."),
    ] = None,
    gross: Annotated[str | None, typer.Option("--gross", metavar="MASS", help="Old trap weighed: 34.2g.")] = None,
    tare: Annotated[str | None, typer.Option("--tare", metavar="MASS", help="Clean trap weighed: 5.1g.")] = None,
    scale: ScaleOption = None,
    amalgam_seen: AmalgamOption = None,
    on_paper: OnPaperOption = False,
) -> None:
    """Record that TRAP was changed.

    Its old insert goes into a container; traps are never rinsed at a sink.
    """
    from wasteledger.model.traps import Condition
    from wasteledger.office.swaps import record_swap

    recorded = record_swap(
        place.work,
        trap,
        place.said,
        condition=Condition(condition.value),
        into=into,
        gross=mass_of(gross),
        tare=mass_of(tare),
        scale=scale,
        amalgam_seen=amalgam_seen,
        on_paper=on_paper,
    )
    output.answer(recorded, place.json)


@writes
def deposit(
    place: Place,
    container: Annotated[str, typer.Argument(metavar="CONTAINER", help="Where it went.", show_default=False)],
    stream: Annotated[str, typer.Option("--stream", metavar="STREAM", help="What it is; see: register show stream.")],
    count: Annotated[int | None, typer.Option("--count", min=1, metavar="PIECES", help="How many pieces.")] = None,
    mass: Annotated[str | None, typer.Option("--mass", metavar="MASS", help="What it weighs, such as 12.5g.")] = None,
    scale: ScaleOption = None,
    volume: Annotated[str | None, typer.Option("--volume", metavar="VOLUME", help="Room it takes: 30mL.")] = None,
    room: Annotated[str | None, typer.Option("--room", metavar="ROOM", help="Where it came from.")] = None,
    on_paper: OnPaperOption = False,
) -> None:
    """Record what else went into CONTAINER.

    Scrap, capsules, teeth, sludge, filters; by --count, --mass, or both.
    """
    from wasteledger.office.swaps import record_deposit

    recorded = record_deposit(
        place.work,
        container,
        stream,
        place.said,
        count=count,
        mass=mass_of(mass),
        scale=scale,
        volume=volume_of(volume),
        room=room,
        on_paper=on_paper,
    )
    output.answer(recorded, place.json)


@writes
def line_cleaning(
    place: Place,
    rooms: Annotated[list[str], typer.Argument(metavar="ROOM...", help="Rooms cleaned.", show_default=False)],
    cleaner: Annotated[
        str | None, typer.Option("--cleaner", metavar="CLEANER", help="Which cleaner, if several are registered.")
    ] = None,
    volume: Annotated[
        str | None, typer.Option("--volume", metavar="VOLUME", help="How much in all, such as 1.9L or 0.5gal.")
    ] = None,
    suction_minutes: Annotated[
        int | None, typer.Option("--suction-minutes", min=0, help="How long suction was left on to dry the line.")
    ] = None,
    on_paper: OnPaperOption = False,
) -> None:
    """Record that line cleaner was drawn through ROOM."""
    from wasteledger.office.swaps import record_line_cleaning

    recorded = record_line_cleaning(
        place.work,
        tuple(rooms),
        place.said,
        cleaner=cleaner,
        volume=volume_of(volume),
        suction_minutes=suction_minutes,
        on_paper=on_paper,
    )
    output.answer(recorded, place.json)
