"""An inspector's published questions, answered from the journal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.common import Place, reads
from wasteledger.cli.typed import find_day
from wasteledger.errors import ExitStatus

if TYPE_CHECKING:
    from wasteledger.office.answers import Answers

_WIDTH = 80
_MOST_ENTRIES = 4
_MARKS = {"shown": "  ", "missing": "! ", "here": "> ", "outside": "- ", "elsewhere": "- "}


def add_to(app: typer.Typer) -> None:
    """Put the commands into *app*."""
    app.command("answers", rich_help_panel="Inspector")(answers)


@reads
def answers(
    place: Place,
    since: Annotated[str | None, typer.Option("--from", metavar="DATE", help="First day; a year ago.")] = None,
    until: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last day; today.")] = None,
) -> None:
    """Answer what inspectors ask, with entry numbers.

    The questions are published ones. An answer says what the journal shows: “!” marks what is missing, “>” what only a
    visitor can see. The exit status is 1 where something is missing.
    """
    from wasteledger.office.answers import answers as look_up

    today = place.work.today()
    found = look_up(place.work, since=find_day(since, today), until=find_day(until, today))
    if place.json:
        output.show_json(found.as_json())
    else:
        say_answers(found)
    if found.wants_attention:
        raise typer.Exit(ExitStatus.FOUND)


def say_answers(found: Answers) -> None:
    """Every question with its state, each point below it with the entries that show it; at most 80 columns."""
    from wasteledger.office.answers import State

    output.say(f"{found.name}, {output.day(found.since)} to {output.day(found.until)}")
    if found.begins_within:
        output.say(f"The journal begins on {output.day(found.begins_on)}; of the days before it shows nothing.")
    for one in found.answers:
        output.say()
        _wrapped(f"{one.question.asks} [{one.state.words}]", f"{one.question.number:>2}  ", "    ")
        if one.note:
            _wrapped(one.note, "    ", "    ")
        for point in one.points:
            says = " ".join(part for part in (point.says, _entries(point.seqs)) if part)
            _wrapped(f"{says}{f' ({point.do})' if point.do else ''}", f"  {_MARKS[point.sort.value]}", "    ")
    output.say()
    states = [(state.words, len(found.in_state(state))) for state in State]
    _wrapped(f"{len(found.answers)} questions: {', '.join(f'{number} {words}' for words, number in states)}.", "", "")
    output.say(f"{output.count(found.missing, 'thing')} missing. It rests on entry {found.rests_on}.")
    output.say("This says what the journal shows. The local authority decides.")


def _entries(seqs: Sequence[int]) -> str:
    if not seqs:
        return ""
    if len(seqs) > _MOST_ENTRIES:
        return f"[{len(seqs)} entries, {seqs[0]} to {seqs[-1]}]"
    return f"[{'entry' if len(seqs) == 1 else 'entries'} {', '.join(map(str, seqs))}]"


def _wrapped(text: str, first: str, after: str) -> None:
    for line in textwrap.wrap(text, _WIDTH, initial_indent=first, subsequent_indent=after):
        output.say(line)
