"""The manager's amalgam separators: inspect, repair, replace the retaining unit."""

from __future__ import annotations

from typing import Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.choices import InspectionResult, RepairAction
from wasteledger.cli.common import OnPaperOption, Place, ScaleOption, reads, writes
from wasteledger.cli.typed import find_permille, mass_of
from wasteledger.errors import NotUnderstood

app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="Amalgam separators: inspect, repair, replace.")

SeparatorArgument = Annotated[
    str | None, typer.Argument(metavar="[SEPARATOR]", help="Which one, if there are several.", show_default=False)
]
DoneByOption = Annotated[str | None, typer.Option("--done-by", metavar="NAME", help="Who did it, if somebody else.")]


class WhichSeparator(NotUnderstood):
    """Several separators are in service, or none, and none was named."""

    code = "which-separator"

    def __init__(self, there: list[str]) -> None:
        super().__init__(
            "Which separator was it?", hint=f"Name one: {', '.join(there)}." if there else "Register one first."
        )


@app.command("inspect")
@writes
def inspect_one(
    place: Place,
    result: Annotated[InspectionResult, typer.Option("--result", help="A malfunction starts its repair clock.")],
    separator: SeparatorArgument = None,
    level: Annotated[str | None, typer.Option("--level", metavar="LEVEL", help="Percent full, such as 40%.")] = None,
    bypass_seen: Annotated[bool, typer.Option("--bypass-seen", help="Water runs past it.")] = False,
    leak_seen: Annotated[bool, typer.Option("--leak-seen", help="It leaks.")] = False,
    follow_up: Annotated[str | None, typer.Option("--follow-up", metavar="TEXT", help="What will be done.")] = None,
    done_by: DoneByOption = None,
    on_paper: OnPaperOption = False,
) -> None:
    """Record an inspection of the separator."""
    from wasteledger.office.separator import inspect_separator

    recorded = inspect_separator(
        place.work,
        _the_separator(place, separator),
        result.value.replace("-", " "),
        place.said,
        level=find_permille(level),
        bypass_seen=bypass_seen,
        leak_seen=leak_seen,
        follow_up=follow_up,
        done_by=done_by,
        on_paper=on_paper,
    )
    output.answer(recorded, place.json)


@app.command("repair")
@writes
def repair(
    place: Place,
    description: Annotated[str, typer.Option("--description", metavar="TEXT", help="What was done.")],
    done_by: Annotated[str, typer.Option("--done-by", metavar="NAME", help="Who did it.")],
    make: Annotated[str, typer.Option("--make", metavar="NAME", help="Maker of the separator.")],
    model: Annotated[str, typer.Option("--model", metavar="NAME", help="Its model.")],
    separator: SeparatorArgument = None,
    action: Annotated[
        RepairAction, typer.Option("--action", help="Repaired, or replaced whole.")
    ] = RepairAction.REPAIRED,
    serial: Annotated[str | None, typer.Option("--serial", metavar="NUMBER", help="Its serial number.")] = None,
) -> None:
    """Record that the separator was repaired, or replaced whole."""
    from wasteledger.office.separator import repair_separator

    recorded = repair_separator(
        place.work,
        _the_separator(place, separator),
        action.value,
        place.said,
        done_by=done_by,
        description=description,
        make_name=make,
        model=model,
        serial=serial,
    )
    output.answer(recorded, place.json)


@app.command("replace")
@writes
def replace_one(
    place: Place,
    into: Annotated[str, typer.Option("--into", metavar="CONTAINER", help="Where the old unit went, unopened.")],
    separator: SeparatorArgument = None,
    old_serial: Annotated[str | None, typer.Option("--old-serial", metavar="NUMBER", help="Of the old unit.")] = None,
    new_serial: Annotated[str | None, typer.Option("--new-serial", metavar="NUMBER", help="Of the new unit.")] = None,
    mass: Annotated[str | None, typer.Option("--mass", metavar="MASS", help="What the old unit weighs.")] = None,
    scale: ScaleOption = None,
    done_by: DoneByOption = None,
) -> None:
    """Record that the retaining unit was exchanged."""
    from wasteledger.office.separator import replace_unit

    recorded = replace_unit(
        place.work,
        _the_separator(place, separator),
        into,
        place.said,
        old_serial=old_serial,
        new_serial=new_serial,
        mass=mass_of(mass),
        scale=scale,
        done_by=done_by,
    )
    output.answer(recorded, place.json)


@app.command("list")
@reads
def list_all(place: Place) -> None:
    """List the separators with their last inspection and exchange."""
    from wasteledger.office.unit_outlook import unit_outlook

    with place.work.reading() as reader:
        found = reader.separators()
        outlooks = {one.separator: unit_outlook(reader, one, place.work.today()) for one in found}
    if place.json:
        output.show_json({"separators": found, "unit_outlooks": [one for one in outlooks.values() if one is not None]})
        return
    if not found:
        output.say("No separator is registered.")
    local = place.work.local
    for one in found:
        output.say(f"{one.separator}: {one.details.name}")
        looked = output.moment(local(one.last_inspection_at)) if one.last_inspection_at else "never"
        output.say(f"  last inspected {looked}{f', {one.last_result}' if one.last_result else ''}")
        if one.level_permille is not None:
            output.say(f"  level {one.level_permille / 10:g} %")
        outlook = outlooks[one.separator]
        if outlook is not None:
            output.say(f"  {outlook.says} (estimate)")
        changed = output.moment(local(one.last_unit_at)) if one.last_unit_at else "never recorded"
        output.say(f"  retaining unit exchanged {changed}")
        if one.malfunction_at is not None:
            output.say(f"! malfunction open since {output.moment(local(one.malfunction_at))}")


def _the_separator(place: Place, named: str | None) -> str:
    if named is not None:
        return named
    with place.work.reading() as reader:
        there = [one.separator for one in reader.separators()]
    if len(there) != 1:
        raise WhichSeparator(there)
    return there[0]
