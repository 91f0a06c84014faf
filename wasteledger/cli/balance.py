"""The second opinion: restorations typed or taken from a table, and how they agree with what the traps say."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.common import Place, reads, writes
from wasteledger.cli.typed import day_of, find_day
from wasteledger.errors import ExitStatus, NotUnderstood

if TYPE_CHECKING:
    from wasteledger.model.procedures import BySurfaces
    from wasteledger.office.second_opinion import SecondOpinion, StageLine

_SURFACES = {
    "1": "one",
    "2": "two",
    "3": "three",
    "4": "four_or_more",
    "4+": "four_or_more",
    "unknown": "unknown",
}

_WIDTH = 80
# Nobody counts further, and the journal takes no more.
_DIGITS = 5


class BadCounts(NotUnderstood):
    """Counts by surfaces that cannot be read."""

    code = "bad-counts"

    def __init__(self, text: str) -> None:
        super().__init__(
            f"“{text}” does not say how many of how many surfaces.",
            hint="Write 1:3,2:5 for three with one surface and five with two; 4:1 for four or more; 7 if not noted.",
        )


class OneSource(NotUnderstood):
    """Counts are typed, or in a table."""

    code = "one-source"


def add_to(app: typer.Typer) -> None:
    """Put the commands of the second opinion into *app*."""
    app.command("balance", rich_help_panel="Manager")(balance)
    app.command("procedures", rich_help_panel="Manager")(procedures)


@reads
def balance(
    place: Place,
    since: Annotated[str | None, typer.Option("--from", metavar="DATE", help="First day; a year ago.")] = None,
    until: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last day; today.")] = None,
) -> None:
    """Compare restorations, swaps and weighings.

    What the restorations should have left in each stage, against what the traps say; the rhythm of the swaps; and
    what was weighed against what was counted. The exit status is 1 where something does not agree. A remark
    on a trap (remark TEXT --trap TRAP) answers a gap in its swaps: it is then a note.
    """
    from wasteledger.office.balance import balance as look_up

    today = place.work.today()
    found = look_up(place.work, since=find_day(since, today), until=find_day(until, today))
    if place.json:
        output.show_json(found.as_json())
    else:
        say_opinion(found)
    if found.wants_attention:
        raise typer.Exit(ExitStatus.FOUND)


@writes
def procedures(
    place: Place,
    table: Annotated[
        Path | None,
        typer.Argument(metavar="CSVFILE", help="A table of them, instead of the options.", show_default=False),
    ] = None,
    since: Annotated[str | None, typer.Option("--from", metavar="DATE", help="First day. Today.")] = None,
    until: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last day. The first day.")] = None,
    removed: Annotated[
        str | None, typer.Option("--removed", metavar="COUNTS", help="By surfaces, such as 1:3,2:5; or 7 in all.")
    ] = None,
    placed: Annotated[str | None, typer.Option("--placed", metavar="COUNTS", help="Likewise.")] = None,
    room: Annotated[str | None, typer.Option("--room", metavar="ROOM", help="Only of this room.")] = None,
) -> None:
    """Record amalgam restorations removed, placed.

    Counts alone, for a day or some days; 0 says that nothing was done. “balance” compares them with the traps.
    CSVFILE has the columns from, to, room, removed_1 to removed_4, removed_unknown, placed_1 … and note.
    """
    if table is not None:
        if any(given is not None for given in (since, until, removed, placed, room)):
            raise OneSource(
                "The counts are in a table, or they are typed; not both.", hint="Leave out the options, or CSVFILE."
            )
        _take(place, table)
        return
    if removed is None and placed is None:
        raise OneSource(
            "Nothing was counted.", hint="Give --removed, --placed, or CSVFILE; --removed 0 says that nothing was done."
        )
    from wasteledger.office.procedures import record_procedures

    today = place.work.today()
    first_on = day_of(since, today) if since is not None else find_day(until, today) or today
    recorded = record_procedures(
        place.work,
        first_on,
        find_day(until, today) or first_on,
        place.said,
        room=room,
        removed=_counts_of(removed),
        placed=_counts_of(placed),
    )
    output.answer(recorded, place.json)


def _take(place: Place, table: Path) -> None:
    from wasteledger.exchange.procedures import take_table

    taken = take_table(place.work, table, place.said)
    if place.json:
        output.show_json(taken.as_json())
        return
    fresh = [one.seq for one in taken.rows if not one.repeated]
    entries = f"Entry {fresh[0]}" if len(fresh) == 1 else f"Entries {fresh[0]} to {fresh[-1]}" if fresh else "No entry"
    output.say(f"{entries}: {taken.says}")
    for warning in taken.warnings:
        output.say(f"! {warning}")


def _counts_of(text: str | None) -> BySurfaces:
    """Counts by surfaces from ``1:3,2:5``; a count alone is of surfaces that nobody noted.

    Raises:
        BadCounts: It cannot be read, or names some surfaces twice.
    """
    from wasteledger.model.procedures import BySurfaces

    found: dict[str, int] = {}
    for part in (text or "").split(",") if text is not None else ():
        surfaces, sign, number = part.strip().rpartition(":")
        name = _SURFACES.get(surfaces.strip().lower() if sign else "unknown")
        if name is None or name in found or not number.strip().isdecimal() or len(number.strip()) > _DIGITS:
            raise BadCounts(text or "")
        found[name] = int(number)
    return BySurfaces(**found)


def say_opinion(found: SecondOpinion) -> None:
    """The second opinion as a table of at most 80 columns, then what it finds, in plain words."""
    from wasteledger.office.second_opinion import in_grams

    balance = found.balance
    output.say(f"{output.day(balance.first_on)} to {output.day(balance.last_on)}")
    if found.removed or found.placed or balance.procedures_share:
        share = f"{balance.procedures_share:.0%}".replace("%", " %")
        _wrapped(
            f"Restorations entered: {found.removed} removed, {found.placed} placed, for {share} of the working days.",
            "",
        )
    if balance.entering_mg is not None:
        entering = in_grams(balance.entering_mg, balance.entering_u_mg)
        past = "" if balance.escaped_mg is None else f"; {balance.escaped_mg / 1000:.0f} g of it past all stages"
        _wrapped(f"Amalgam that they sent into the suction: {entering} g, estimate{past}.", "")
    if balance.stages:
        head = ("stage, amalgam g", "expected", "in the traps", "z", "best of both", "")
        output.columns([head, *(_stage_cells(one, balance.suspect) for one in balance.stages)], indent="")
        _wrapped(
            "Estimates, with one standard uncertainty. z, in standard deviations, is reckoned on the logarithms, so it "
            "does not follow from the columns alone.",
            "",
        )
        if sum(one.expected_mg or 0.0 for one in balance.stages) > (balance.entering_mg or 0.0):
            _wrapped(
                "Expected is for the days whose catch was taken out in the period, which may reach before it: so it "
                "can add up to more than was sent in.",
                "",
            )
    if balance.chi_square is not None and balance.p is not None:
        _wrapped(f"All stages together: so far apart in {_percent(balance.p)} of cases, if nothing is wrong.", "")
    judged = output.count(balance.rhythm.gaps, "gap")
    compared = output.count(len(balance.weighings.lines), "weighing")
    output.say(f"{judged} between swaps judged; {compared} compared with the counts.")
    if not found.findings:
        is_compared = balance.rhythm.gaps or balance.weighings.lines or any(one.z is not None for one in balance.stages)
        output.say("Nothing disagrees." if is_compared else "Nothing was compared.")
    for one in found.findings:
        _wrapped(
            f"{one.place}: {one.says}{' ' + one.do if one.do else ''}", "  " if one.weight.value == "note" else "! "
        )
    for remark in found.remarks:
        _wrapped(remark, "  ")
    if found.findings:
        output.say("A finding asks a question; it proves nothing.")


def _stage_cells(line: StageLine, suspect: str | None) -> tuple[str, ...]:
    from wasteledger.office.second_opinion import in_grams

    named = suspect is not None and suspect.rpartition(":")[2] == line.stage.value
    return (
        line.stage.words,
        in_grams(line.expected_mg, line.expected_u_mg),
        in_grams(line.caught_mg, line.caught_u_mg),
        "–" if line.z is None else f"{line.z:+.1f}".replace("-", "−"),
        in_grams(line.reconciled_mg, line.reconciled_u_mg),
        "see below" if named else "",
    )


def _percent(chance: float) -> str:
    return "less than 0.1 %" if chance < 0.001 else f"{100 * chance:.1f} %"


def _wrapped(text: str, mark: str) -> None:
    for line in textwrap.wrap(text, _WIDTH, initial_indent=mark, subsequent_indent="  " if mark else ""):
        output.say(line)
