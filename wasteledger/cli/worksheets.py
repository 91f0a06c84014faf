"""Worksheets for the office's own filings."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.common import Place, reads
from wasteledger.cli.typed import find_day

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wasteledger.office.worksheet_lines import Asking, FilingDay, Line, Worksheet

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Worksheets for your own filings, with their gaps.",
)

_WIDTH = 80
_MANY = 6
"""More entries than this are told by the first, the last and their number."""


def add_to(app_of_all: typer.Typer) -> None:
    """Put the commands into the program."""
    app_of_all.add_typer(app, name="worksheet", rich_help_panel="Manager")


@app.command("one-time-report")
@reads
def one_time_report(place: Place) -> None:
    """What a one-time report of the practice states.

    The questions are those that the ordinances in force list; without any, those of the US federal rule, and the sheet
    says so. Nothing is sent: the authority's own form is filled in by you.
    """
    from wasteledger.office.worksheets import one_time_report as gather

    _show(place, gather(place.work))


@app.command("amounts")
@reads
def amounts(
    place: Place,
    year: Annotated[int, typer.Option("--year", metavar="YEAR", help="Which calendar year.", show_default=False)],
) -> None:
    """How much amalgam waste arose and left in a year.

    What was weighed and what is an estimate are kept apart, with the entries behind each.
    """
    from wasteledger.office.worksheets import yearly_amounts

    _show(place, yearly_amounts(place.work, year))


@app.command("certification")
@reads
def certification(
    place: Place,
    rule: Annotated[str, typer.Argument(metavar="RULE", help="Its name, ordinance:rule, or its clause.")],
    since: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First day it speaks of. By the rule's own day.")
    ] = None,
    until: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last day. By the rule's own day.")] = None,
) -> None:
    """What the filing that RULE asks for may state.

    With the days from which and by which it can be made, and what was filed before.
    """
    from wasteledger.office.worksheets import certification as gather

    today = place.work.today()
    _show(place, gather(place.work, rule, since=find_day(since, today), until=find_day(until, today)))


@app.command("shipment")
@reads
def shipment(
    place: Place,
    pickup: Annotated[str, typer.Argument(metavar="PICKUP", help="Which pickup.", show_default=False)],
) -> None:
    """What the official papers of PICKUP may need.

    Whole units, names, codes. It chooses no shipping name and no class: whoever offers the shipment does.
    """
    from wasteledger.office.worksheets import shipment as gather

    _show(place, gather(place.work, pickup))


def _show(place: Place, sheet: Worksheet) -> None:
    if place.json:
        output.show_json(sheet.as_json())
    else:
        say_worksheet(sheet)


def say_worksheet(sheet: Worksheet) -> None:
    """The worksheet as lines of at most 80 columns; ``!`` marks what is missing, ``?`` what only a person can say."""
    _wrapped(f"{sheet.heading}: {sheet.title}")
    _wrapped(f"{sheet.practice}, {output.day(sheet.prepared_on)}; rests on entry {sheet.seq},")
    output.say(f"digest {sheet.digest}")
    if sheet.since is not None and sheet.until is not None:
        output.say(f"For {output.day(sheet.since)} to {output.day(sheet.until)}")
    if sheet.asked_by:
        _head("Asked by")
        for asking in sheet.asked_by:
            _say_asking(asking)
    if sheet.days:
        _head("By when")
        for day in sheet.days:
            _say_day(day)
    # Where every question has the same askers, they are named once, above.
    askers = {line.asked_by for line in sheet.lines if line.name != "filed"}
    part = None
    for line in sheet.lines:
        if line.part is not part:
            part = line.part
            _head(part.words)
        _say_line(line, names_askers=len(askers) > 1)
    _head("To be known")
    missing = output.count(len(sheet.gaps), "answer has", "answers have")
    _wrapped(f"{missing} something missing, marked with !." if sheet.gaps else "No answer is marked as missing.", "  ")
    for note in sheet.notes:
        _wrapped(note, "  ")


def _say_asking(asking: Asking) -> None:
    where = "" if asking.is_asked_here else ", NOT ASKED HERE"
    _wrapped(f"{asking.provision}, {asking.title} ({asking.citation}), of {asking.ordinance_title}{where}", "  ")
    condition = f"{asking.condition[:1].upper()}{asking.condition[1:]}." if asking.condition else ""
    for said in (asking.asks, condition, asking.standing_of_source, asking.note):
        if said:
            _wrapped(said, "    ")


def _say_day(day: FilingDay) -> None:
    opens = f"from {output.day(day.opens_on)} " if day.opens_on is not None else ""
    state = {"overdue": "! ", "due_soon": "! "}.get(day.state, "  ")
    entry = _evidence((day.trigger_seq,))
    advised = f"last working day {output.day(day.advised_on)}"
    _wrapped(f"{day.rule}, {day.title}: {opens}to {output.day(day.due_on)} ({advised}){entry}", state, "  ")
    _wrapped(f"{day.counted}. {day.standing_of_source}", "    ")
    if day.override:
        _wrapped(day.override, "    ")


def _say_line(line: Line, *, names_askers: bool) -> None:
    mark = {"gap": "!", "yours": "?"}.get(line.answer.state.value, " ")
    asked = f" [{', '.join(line.asked_by)}]" if line.asked_by and names_askers else ""
    _wrapped(f"{line.asks}{asked}", f"{mark} ", "  ")
    evidence = _evidence(line.answer.seqs)
    if len(line.answer.says) == 1:
        _wrapped(f"{line.answer.says[0]}{evidence}", "    ", "      ")
        return
    for says in line.answer.says:
        _wrapped(says, "    ", "      ")
    _wrapped(evidence.strip(), "    ")


def _evidence(seqs: Sequence[int]) -> str:
    known = [seq for seq in seqs if seq]
    if not known:
        return ""
    if len(known) == 1:
        return f" (entry {known[0]})"
    if len(known) > _MANY:
        return f" ({len(known)} entries, {known[0]} to {known[-1]})"
    return f" (entries {', '.join(map(str, known))})"


def _head(words: str) -> None:
    output.say()
    output.say(words)


def _wrapped(text: str, indent: str = "", then: str | None = None) -> None:
    later = indent if then is None else then
    for line in textwrap.wrap(text, _WIDTH, initial_indent=indent, subsequent_indent=later, break_on_hyphens=False):
        output.say(line)
