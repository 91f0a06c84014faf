"""Printing: each document as a PDF file that says which entry it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import Annotated, Any

import typer

from wasteledger.cli import output
from wasteledger.cli.choices import Size
from wasteledger.cli.common import Place, reads
from wasteledger.cli.typed import day_of, find_day

app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="Papers: manifest, labels, logs, letters, as PDF.")

OutOption = Annotated[
    Path | None, typer.Option("--out", metavar="FILE", help="Where the PDF goes; left out, a name of its own, here.")
]
SizeOption = Annotated[Size | None, typer.Option("--size", help="The sheet; left out, WASTELEDGER_PAPER, else letter.")]
SheetOption = Annotated[
    str, typer.Option("--sheet", metavar="SHEET", help="A label sheet of the wording, such as 2x3; left out, its own.")
]
FirstPlaceOption = Annotated[
    int, typer.Option("--first-place", min=1, help="First free place on a sheet that was begun.")
]
PickupArgument = Annotated[str, typer.Argument(metavar="PICKUP", help="Short name of the pickup.", show_default=False)]


@app.command("manifest")
@reads
def manifest(
    place: Place,
    pickup: PickupArgument,
    reprint: Annotated[bool, typer.Option("--reprint", help="Mark it as printed again.")] = False,
    out: OutOption = None,
    size: SizeOption = None,
) -> None:
    """Print the transfer manifest of PICKUP.

    Before the release a draft; after it the figures that the release recorded, the same each time. It is the office's
    own transfer record, no official form.
    """
    from wasteledger.documents.fill import manifest_paper

    _print(place, "manifest", manifest_paper(place.work, pickup, reprint=reprint), out, size, f"manifest-{pickup}")


@app.command("labels")
@reads
def labels(
    place: Place,
    containers: Annotated[
        list[str] | None,
        typer.Argument(metavar="[CONTAINER...]", help="Which; left out, all on site.", show_default=False),
    ] = None,
    sheet: SheetOption = "",
    first_place: FirstPlaceOption = 1,
    out: OutOption = None,
    size: SizeOption = None,
) -> None:
    """Print container labels."""
    from wasteledger.documents.fill import labels_paper

    paper = labels_paper(place.work, tuple(containers or ()) or None, sheet=sheet, first_place=first_place)
    _print(place, "labels", paper, out, size, "labels")


@app.command("trap-labels")
@reads
def trap_labels(
    place: Place,
    sheet: SheetOption = "",
    first_place: FirstPlaceOption = 1,
    out: OutOption = None,
    size: SizeOption = None,
) -> None:
    """Print a label for each trap, with its code."""
    from wasteledger.documents.fill import trap_labels_paper

    _print(
        place,
        "trap-labels",
        trap_labels_paper(place.work, sheet=sheet, first_place=first_place),
        out,
        size,
        "trap-labels",
    )


@app.command("deposit-log")
@reads
def deposit_log(
    place: Place,
    since: Annotated[str, typer.Option("--from", metavar="DATE", help="First day.")],
    until: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last day; today.")] = None,
    out: OutOption = None,
    size: SizeOption = None,
) -> None:
    """Print what went into which container, and the coverage."""
    from wasteledger.documents.fill import deposit_log_paper

    today = place.work.today()
    first, last = day_of(since, today), find_day(until, today) or today
    paper = deposit_log_paper(place.work, first, last)
    _print(place, "deposit-log", paper, out, size, f"deposit-log-{first}-{last}")


@app.command("log-sheet")
@reads
def log_sheet(
    place: Place,
    dates: Annotated[
        list[str] | None,
        typer.Option("--date", metavar="DATE", help="A sheet for this day; may be repeated. Left out, one without."),
    ] = None,
    out: OutOption = None,
    size: SizeOption = None,
) -> None:
    """Print the evening round on paper, for a day without power."""
    from wasteledger.documents.fill import log_sheet_paper

    today = place.work.today()
    paper = log_sheet_paper(place.work, tuple(day_of(one, today) for one in dates or ()))
    _print(place, "log-sheet", paper, out, size, "log-sheet")


@app.command("reminder")
@reads
def reminder(place: Place, pickup: PickupArgument, out: OutOption = None, size: SizeOption = None) -> None:
    """Print the letter that asks for the receipt of PICKUP."""
    from wasteledger.documents.fill import reminder_paper

    _print(place, "reminder", reminder_paper(place.work, pickup), out, size, f"reminder-{pickup}")


@app.command("pictures")
@reads
def pictures(
    place: Place,
    since: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First day; a year before the last.")
    ] = None,
    until: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last day; today.")] = None,
    containers: Annotated[
        list[str] | None,
        typer.Option("--container", metavar="CONTAINER", help="Draw this one; may be repeated. Left out, all on site."),
    ] = None,
    svg: Annotated[
        Path | None, typer.Option("--svg", metavar="FOLDER", help="Write each picture there too, as SVG for a page.")
    ] = None,
    out: OutOption = None,
    size: SizeOption = None,
) -> None:
    """Print pictures: fullness over time, catch by room and trap, stated against received."""
    from wasteledger.documents.fill_pictures import pictures_paper
    from wasteledger.documents.pictures import svg_files

    today = place.work.today()
    last = find_day(until, today) or today
    first = find_day(since, today) or last - timedelta(days=364)
    paper = pictures_paper(place.work, first, last, containers)
    files = []
    if svg is not None:
        svg.mkdir(parents=True, exist_ok=True)
        for file in svg_files(paper):
            files.append(svg / f"{file.name}.svg")
            output.write_file(files[-1], file.text.encode())
    _print(place, "pictures", paper, out, size, f"pictures-{first}-{last}", files)


@app.command("binder")
@reads
def binder(
    place: Place,
    since: Annotated[str, typer.Option("--from", metavar="DATE", help="First day.")],
    until: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last day; today.")] = None,
    out: OutOption = None,
    size: SizeOption = None,
) -> None:
    """Print the inspection binder: the whole record of a period."""
    from wasteledger.documents.fill_binder import binder_paper

    today = place.work.today()
    first, last = day_of(since, today), find_day(until, today) or today
    _print(place, "binder", binder_paper(place.work, first, last), out, size, f"binder-{first}-{last}")


def _print(
    place: Place, kind: str, paper: Any, out: Path | None, size: Size | None, name: str, also: Sequence[Path] = ()
) -> None:
    from wasteledger.documents import PAPERS
    from wasteledger.settings import Paper

    printed = PAPERS[kind].draw(paper, Paper(size.value) if size else place.settings.paper)
    path = out or Path(f"{name}.pdf")
    output.write_file(path, printed.pdf)
    if place.json:
        seq = paper.anchor.seq if hasattr(paper, "anchor") else None
        said = {"file": str(path), "pages": printed.pages, "findings": printed.findings, "seq": seq}
        output.show_json(said | ({"also": [str(one) for one in also]} if also else {}))
        return
    output.say(f"{path}: {output.count(printed.pages, 'page')}.")
    for one in also:
        output.say(f"{one}")
    for finding in printed.findings:
        output.say(f"! {finding}")
    if hasattr(paper, "anchor"):
        output.say(f"It rests on entry {paper.anchor.seq}:{paper.anchor.digest[:16]}.")
