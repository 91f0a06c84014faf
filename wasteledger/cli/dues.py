"""What is due by which rule: in words, as JSON, as a calendar."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.common import Place, reads
from wasteledger.cli.typed import find_day
from wasteledger.errors import ExitStatus

if TYPE_CHECKING:
    from wasteledger.office.due import DueList

STATES = {
    "overdue": "! OVERDUE",
    "due_soon": "! due soon",
    "later": "  later",
    "keep": "  keep",
    "term_over": "  term over",
}


@reads
def due(
    place: Place,
    until: Annotated[
        str | None,
        typer.Option("--until", metavar="DATE", help="Nothing later than this day; what is overdue is always listed."),
    ] = None,
    retention: Annotated[bool, typer.Option("--retention", help="Also how long each record is kept.")] = False,
    ics: Annotated[
        Path | None,
        typer.Option(
            "--ics", metavar="FILE", help="Write the days as a calendar (RFC 5545); written again, it updates."
        ),
    ] = None,
) -> None:
    """Say what is due, and which rule asks for it.

    Each with its clause and the entry that its clock rests on. The exit status is 1 where something presses.
    """
    from wasteledger.office.due import due as look_up

    last = find_day(until, place.work.today())
    whole = look_up(place.work, retention=retention)
    found = whole.up_to(last)
    if ics is not None:
        from wasteledger.exchange.calendar import write_calendar

        written = write_calendar(place.work, whole, ics, until=last)
        struck = f", {written.cancelled} cancelled" if written.cancelled else ""
        output.tell(f"{written.path}: {output.count(written.events, 'day that is due', 'days that are due')}{struck}.")
    if place.json:
        output.show_json(found.as_json())
    else:
        _say_due(found)
    if found.wants_attention:
        raise typer.Exit(ExitStatus.FOUND)


def _say_due(found: DueList) -> None:
    from wasteledger.office.kept import dayless_in, kept_in
    from wasteledger.office.notices import lines_of

    for asked in found.obligations:
        if asked.kind.value != "retention":
            state = STATES[found.state_of(asked)]
            _say_block(
                f"{state} {output.day(asked.due_on)}: {asked.title}, {asked.subject}", lines_of(asked, output.day)
            )
    for kept in kept_in(found):
        _say_block(f"{STATES[kept.state]} {kept.title(output.day)}", kept.lines(output.day))
    if not found.obligations:
        output.say("No dated duty.")
    for gap in dayless_in(found):
        _say_block(f"{'!' if gap.is_gap else ' '} no day: {gap.title}", gap.lines(output.day))
    output.findings(found.findings)
    output.say("This says what each named rule asks. The local authority decides.")


def _say_block(title: str, lines: Iterable[str]) -> None:
    output.say(title)
    for line in lines:
        output.say(f"    {line}")
