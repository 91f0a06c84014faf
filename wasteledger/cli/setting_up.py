"""Setting up: a practice from its plan, the demo, people, and a look into the register."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated, Any

import typer

from wasteledger.cli import output
from wasteledger.cli.choices import Part, PersonRole
from wasteledger.cli.common import ByOption, JsonOption, LedgerOption, Place, read_environment, reads, writes
from wasteledger.errors import NotUnderstood

people = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="People who record or read: list, add, retire.")
register = typer.Typer(
    no_args_is_help=True, rich_markup_mode=None, help="The register: rooms, traps, parties, types, rules in force."
)

_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

PersonArgument = Annotated[str, typer.Argument(metavar="PERSON", help="Short name.", show_default=False)]


class NobodyNamed(NotUnderstood):
    """The first entries want a person."""

    code = "nobody-named"

    def __init__(self) -> None:
        super().__init__("Nobody was named.", hint="Say who sets it up with --by, by the short name in the plan.")


def add_to(app: typer.Typer) -> None:
    """Put the commands for setting up into *app*."""
    panel = "Setting up"
    app.command("setup", rich_help_panel=panel)(setup)
    app.command("demo", rich_help_panel=panel)(demo)
    app.add_typer(people, name="people", rich_help_panel=panel)
    app.add_typer(register, name="register", rich_help_panel=panel)


def setup(
    plan: Annotated[Path, typer.Argument(metavar="PLAN.toml", help="The practice's plan.", show_default=False)],
    ledger: LedgerOption = None,
    by: ByOption = None,
    since: Annotated[
        str | None, typer.Option("--since", metavar="DATE", help="First day on which the plan holds. Today.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Set a practice up from PLAN.toml.

    The ledger is made if it is not there. With an earlier --since, days kept on paper can be typed in.
    """
    from wasteledger import clock
    from wasteledger.cli.typed import day_of
    from wasteledger.office.setup import read_plan_file, set_up

    settings = read_environment()
    person = by or settings.by
    if person is None:
        raise NobodyNamed
    done = set_up(
        ledger or settings.ledger,
        read_plan_file(plan),
        by=person,
        since=day_of(since, clock.now().astimezone().date()) if since else None,
        clock=clock.now,
    )
    if as_json:
        output.show_json(done)
        return
    output.say(f"Site {done.site} is set up in {done.ledger}: {output.count(done.entries, 'line')} in its register.")
    output.say("Next: open a container for the traps, then walk the evening round.")
    output.say(
        "  wasteledger container open C-1 --type TYPE --tare 182.4g   (types: wasteledger register show container_type)"
    )
    output.say("  wasteledger round")


def demo(
    folder: Annotated[
        Path, typer.Option("--folder", metavar="FOLDER", help="Where its ledger and papers are left.")
    ] = Path("wasteledger-demo"),
    years: Annotated[float, typer.Option("--years", help="How many years are played.")] = 3.0,
    fresh: Annotated[bool, typer.Option("--fresh", help="Play it anew, even if it was played before.")] = False,
) -> None:
    """Run three years of an invented practice.

    Its ledger and papers are left in FOLDER.
    """
    import subprocess
    import sys

    from wasteledger.resources import demo_folder

    play = [sys.executable, str(demo_folder() / "play.py"), "--folder", str(folder), "--years", str(years)]
    done = subprocess.run([*play, *(["--fresh"] if fresh else [])], check=False)
    raise typer.Exit(done.returncode)


@people.command("list")
@reads
def list_people(
    place: Place,
    everybody: Annotated[bool, typer.Option("--all", help="Also those who left.")] = False,
) -> None:
    """List the people of the register."""
    from wasteledger.office.people import list_people as find_people

    found = find_people(place.work, retired=everybody)
    if place.json:
        output.show_json({"people": found})
        return
    rows = []
    for one in found:
        details = one.details.model_dump(mode="json")
        left = f"left {output.day(place.work.local(one.retired_at).date())}" if one.retired_at else ""
        rows.append((one.ref, str(details["name"]), ", ".join(details["roles"]), left))
    output.columns(rows, indent="")


@people.command("add")
@writes
def add_person(
    place: Place,
    person: PersonArgument,
    name: Annotated[str, typer.Option("--name", metavar="NAME", help="Full name.")],
    roles: Annotated[list[PersonRole], typer.Option("--role", help="What they do; may be repeated.")],
) -> None:
    """Put PERSON into the register, or change their name and roles."""
    from wasteledger.office.people import add_person as add

    recorded = add(place.work, person, name, tuple(role.value for role in roles), place.said)
    output.answer(recorded, place.json)


@people.command("retire")
@writes
def retire_person(place: Place, person: PersonArgument) -> None:
    """Take PERSON out of service; their entries stay."""
    from wasteledger.office.people import retire_person as retire

    output.answer(retire(place.work, person, place.said), place.json)


@register.command("show")
@reads
def show(
    place: Place,
    part: Annotated[Part, typer.Argument(metavar="PART", help=f"One of: {', '.join(Part)}.", show_default=False)],
    everything: Annotated[bool, typer.Option("--all", help="Also what is out of service.")] = False,
) -> None:
    """Show the lines of one PART of the register."""
    with place.work.reading() as reader:
        found = _lines(reader, part, everything)
    if place.json:
        output.show_json({"lines": [{"what": part.value, "ref": ref, "line": line} for ref, line in found]})
        return
    if not found:
        output.say(f"No {part.value.replace('_', ' ')} is registered.")
    for ref, one in found:
        details = one.details.model_dump(mode="json", exclude={"subject", "text"}, exclude_defaults=True)
        out = f" (out of service since {output.day(place.work.local(one.retired_at).date())})" if one.retired_at else ""
        output.say(f"{ref}{out}")
        for name, value in details.items():
            output.say(f"  {name}: {_weekdays(value) if name == 'working_days' else _words(value)}")


@register.command("update")
@writes
def update(
    place: Place,
    plan: Annotated[Path, typer.Argument(metavar="PLAN.toml", help="The changed plan.", show_default=False)],
) -> None:
    """Write what PLAN.toml has new or changed; nothing is retired."""
    from wasteledger.office.setup import read_plan_file, update_register

    changed = update_register(place.work, read_plan_file(plan), place.said)
    if place.json:
        output.show_json({"changed": changed})
        return
    output.say(f"Written: {', '.join(changed)}." if changed else "The register says all that already.")


@register.command("retire")
@writes
def retire_line(
    place: Place,
    part: Annotated[Part, typer.Argument(metavar="PART", help="Such as trap or room.", show_default=False)],
    ref: Annotated[str, typer.Argument(metavar="NAME", help="Its short name.", show_default=False)],
) -> None:
    """Take a line of the register out of service; its entries stay."""
    from wasteledger.office.people import retire_line as retire

    output.answer(retire(place.work, part.value, ref, place.said), place.json)


def _lines(reader: Any, part: Part, everything: bool) -> list[tuple[str, Any]]:
    # Traps and separators have a standing of their own, which holds their line of the register too.
    if part is Part.TRAP:
        return [(one.trap, one) for one in reader.traps(retired=everything)]
    if part is Part.SEPARATOR:
        return [(one.separator, one) for one in reader.separators(retired=everything)]
    return [(one.ref, one) for one in reader.lines(part.value, retired=everything)]


def _words(value: object) -> str:
    if isinstance(value, list):
        return "; ".join(_pair(*one) if isinstance(one, list) and len(one) == 2 else _words(one) for one in value)
    if isinstance(value, dict):
        return ", ".join(f"{name} {_words(one)}" for name, one in value.items())
    return str(value)


def _pair(first: object, second: object) -> str:
    """Two that belong together: the first and the last day of a span, or a name and what it says."""
    if not _is_day(first) or not _is_day(second):
        return f"{_words(first)}: {_words(second)}"
    return f"{first} to {second}" if first != second else str(first)


def _is_day(value: object) -> bool:
    try:
        date.fromisoformat(str(value))
    except ValueError:
        return False
    return True


def _weekdays(value: object) -> str:
    """The days of the week by name; Monday is 0."""
    return ", ".join(_WEEKDAYS[int(one)] for one in value) if isinstance(value, list) else _words(value)
