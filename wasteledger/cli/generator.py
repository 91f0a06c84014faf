"""Hazardous waste by the month, and the generator category."""

from __future__ import annotations

import textwrap
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.common import Place, reads, writes
from wasteledger.errors import ExitStatus

if TYPE_CHECKING:
    from wasteledger.office.generator import GeneratorCount, MonthCount, OnSite

_WIDTH = 80


class Basis(StrEnum):
    """How a mass that is typed in is known."""

    WEIGHED = "weighed"
    ESTIMATE = "estimate"
    PAPER = "paper"


def add_to(app: typer.Typer) -> None:
    """Put the commands of the monthly count into *app*."""
    app.command("other-waste", rich_help_panel="Manager")(other_waste)
    app.command("generator", rich_help_panel="Manager")(generator)


@writes
def other_waste(
    place: Place,
    month: Annotated[str, typer.Option("--month", metavar="MONTH", help="Such as 2026-10.", show_default=False)],
    what: Annotated[
        str, typer.Option("--what", metavar="NAME", help="Which waste, such as “Spent fixer”.", show_default=False)
    ],
    mass: Annotated[
        str, typer.Option("--mass", metavar="MASS", help="Made in the month; 0g for none.", show_default=False)
    ],
    on_hand: Annotated[
        str | None, typer.Option("--on-hand", metavar="MASS", help="How much of it lies on site.")
    ] = None,
    acute: Annotated[bool, typer.Option("--acute", help="It is acute hazardous waste.")] = False,
    basis: Annotated[
        Basis, typer.Option("--basis", metavar="HOW", help=f"How it is known: {', '.join(Basis)}.")
    ] = Basis.ESTIMATE,
) -> None:
    """Record hazardous waste that is no amalgam.

    So that “generator” counts all of a month's hazardous waste together. Each waste once a month; correct the
    entry where it was wrong.
    """
    from wasteledger.office.other_waste import Month, record_other_waste
    from wasteledger.units import Mass

    recorded = record_other_waste(
        place.work,
        Month.read(month),
        what,
        Mass.parse(mass),
        place.said,
        on_hand=None if on_hand is None else Mass.parse(on_hand),
        acute=acute,
        basis=basis.value,
    )
    output.answer(recorded, place.json)


@reads
def generator(
    place: Place,
    since: Annotated[str | None, typer.Option("--from", metavar="MONTH", help="First month; a year ago.")] = None,
    until: Annotated[str | None, typer.Option("--to", metavar="MONTH", help="Last month; this one.")] = None,
) -> None:
    """Count waste by month: generator category.

    Amalgam waste that went into containers and other waste that was typed in, by each ordinance that has categories;
    and what lies on site against its limits. The exit status is 1 where something is not settled, or nothing on other
    waste was typed in for a month that is over.
    """
    from wasteledger.office.generator import count_months
    from wasteledger.office.other_waste import Month

    found = count_months(
        place.work,
        since=None if since is None else Month.read(since),
        until=None if until is None else Month.read(until),
    )
    if place.json:
        output.show_json(found.as_json())
    else:
        say_count(found)
    if found.wants_attention:
        raise typer.Exit(ExitStatus.FOUND)


def say_count(found: GeneratorCount) -> None:
    """The months, what lies on site, the findings, the rules, the category of now; at most 80 columns wide."""
    from wasteledger.office.generator import ALLOWANCE_WORDS

    output.say("Hazardous waste by the month:")
    for month in found.months:
        _say_month(month)
    if any(month.is_amalgam_only for month in found.months):
        _wrapped(
            "Amalgam only: no other waste was typed in for that month, not even that there was none (other-waste).", ""
        )
    _say_on_site(found.on_site)
    if found.on_site.others or any(month.others for month in found.months):
        output.say("What was typed in is taken as it stands: intervals are of the amalgam alone.")
    if found.allows_for_unknown:
        _wrapped(
            "Pieces of unknown mass are in no figure. Where a category is judged, the upper end takes for each "
            f"{ALLOWANCE_WORDS}: own judgement, no source.",
            "",
        )
    for one in found.findings:
        mark = "  " if one.weight.value == "note" else "! "
        _wrapped(f"{one.place}: {one.says}{' ' + one.do if one.do else ''}", mark)
    for rule in found.rules:
        output.say(f"{rule.ordinance_title}:")
        for line in rule.says:
            _wrapped(line, "  ")
    for now in found.now.values():
        _wrapped(f"{now.ordinance_title}: {now.says}", "")
    output.say("This says what each named rule counts. The local authority decides.")


def _say_month(month: MonthCount) -> None:
    from wasteledger.office.generator import amount_words

    so_far = ", so far" if month.is_so_far else ""
    only = "; amalgam only" if month.is_amalgam_only else ""
    _wrapped(f"{month.month.words}{so_far}: amalgam waste {amount_words(month.amalgam)}{only}", "")
    for one in month.others:
        acute = ", acute" if one.acute else ""
        _wrapped(f"{one.name}: {_typed(one.made_mg, one.basis)}{acute} (entry {one.seq})", "  ")
    if month.others:
        _wrapped(f"together {amount_words(month.together)}", "  ")
    for said in month.categories:
        _wrapped(f"{said.ordinance_title}: {said.says}", "  ")


def _say_on_site(site: OnSite) -> None:
    from wasteledger.office.generator import amount_words

    _wrapped(f"On site now: amalgam waste {amount_words(site.amalgam)}", "")
    for one in site.others:
        acute = ", acute" if one.acute else ""
        _wrapped(f"{one.name}: {_typed(one.mass_mg, 'told for ' + one.month)}{acute} (entry {one.seq})", "  ")
    if site.others:
        _wrapped(f"together {amount_words(site.together)}", "  ")


def _typed(mass_mg: int, how: str) -> str:
    from wasteledger.units import Mass

    return f"{Mass(mass_mg)}, {how}"


def _wrapped(text: str, mark: str) -> None:
    for line in textwrap.wrap(text, _WIDTH, initial_indent=mark, subsequent_indent="  " if mark else "    "):
        output.say(line)
