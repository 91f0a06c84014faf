"""The options that every command has, and the opened ledger that they lead to.

A command is a function whose first parameter is the `Place` it works at; `reads` and `writes` put the common options
behind its own, open the ledger, and turn refusals into words in the site's time.
"""

from __future__ import annotations

import functools
import inspect
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import tzinfo
from typing import TYPE_CHECKING, Annotated, Any, Concatenate, ParamSpec, get_type_hints

import typer

from wasteledger.cli.refusing import refuse
from wasteledger.errors import WasteLedgerError

if TYPE_CHECKING:
    from wasteledger.office.workplace import Said, Workplace
    from wasteledger.settings import Settings

LedgerOption = Annotated[
    str | None,
    typer.Option("--ledger", metavar="FILE", help="The ledger (WASTELEDGER_LEDGER; else wasteledger.db here)."),
]
SiteOption = Annotated[
    str | None, typer.Option("--site", metavar="SITE", help="Which site, if there are several (WASTELEDGER_SITE).")
]
ByOption = Annotated[
    str | None, typer.Option("--by", metavar="PERSON", help="Who records, by short name (WASTELEDGER_BY).")
]
AtOption = Annotated[
    str | None,
    typer.Option("--at", metavar="TIME", help="When it happened: 17:05, “yesterday 17:05”, “2026-03-01 17:05”. Now."),
]
NoteOption = Annotated[str | None, typer.Option("--note", metavar="TEXT", help="A note. Never patient data.")]
KeyOption = Annotated[
    str | None, typer.Option("--key", metavar="UUID", help="Recorder's key: given twice, it is written once.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Answer in JSON.")]
YesOption = Annotated[bool, typer.Option("--yes", help="Answer the question with yes.")]
OnPaperOption = Annotated[bool, typer.Option("--on-paper", help="It was first written on paper.")]
ScaleOption = Annotated[str | None, typer.Option("--scale", metavar="SCALE", help="Which scale, if there are several.")]

Command = ParamSpec("Command")


@dataclass(frozen=True, slots=True)
class Place:
    """Where a command works: the opened ledger's site, what was said besides, and how it answers."""

    work: Workplace
    said: Said
    json: bool
    settings: Settings
    ledger: str


def read_environment() -> Settings:
    """The office's settings, from the environment."""
    from wasteledger.settings import read_settings

    return read_settings(os.environ)


def reads(function: Callable[Concatenate[Place, Command], None]) -> Callable[..., None]:
    """A command that reads: ``--json``, ``--ledger``, ``--site``."""
    return _with_options(function, {"as_json": JsonOption, "ledger": LedgerOption, "site": SiteOption})


def writes(function: Callable[Concatenate[Place, Command], None]) -> Callable[..., None]:
    """A command that writes: who, when, note and key besides."""
    return _with_options(
        function,
        {
            "by": ByOption,
            "at": AtOption,
            "note": NoteOption,
            "key": KeyOption,
            "as_json": JsonOption,
            "ledger": LedgerOption,
            "site": SiteOption,
        },
    )


def asks(function: Callable[Concatenate[Place, Command], None]) -> Callable[..., None]:
    """A command that writes as the person answers its questions; it has no answer in JSON."""
    options = {"by": ByOption, "at": AtOption, "note": NoteOption, "ledger": LedgerOption, "site": SiteOption}
    return _with_options(function, options)


def _with_options(function: Callable[..., None], options: dict[str, Any]) -> Callable[..., None]:
    hints = get_type_hints(function, include_extras=True)
    own = list(inspect.signature(function).parameters.values())[1:]
    parameters = [one.replace(annotation=hints[one.name]) for one in own]
    keyword = inspect.Parameter.KEYWORD_ONLY
    for name, option in options.items():
        default = False if name == "as_json" else None
        parameters.append(inspect.Parameter(name, keyword, default=default, annotation=option))

    @functools.wraps(function)
    def command(**given: Any) -> None:
        common = {name: given.pop(name) for name in options}
        with open_place(**common) as place:
            function(place, **given)

    # Typer reads the options off these two; the wrapped function's own would hide the common ones.
    shown: Any = command
    del shown.__wrapped__
    shown.__signature__ = inspect.Signature([one.replace(kind=keyword) for one in parameters])
    shown.__annotations__ = {one.name: one.annotation for one in parameters}
    return command


@contextmanager
def open_place(
    *,
    ledger: str | None = None,
    site: str | None = None,
    by: str | None = None,
    at: str | None = None,
    note: str | None = None,
    key: str | None = None,
    as_json: bool = False,
) -> Iterator[Place]:
    """The opened place of a command; refusals inside the block are said in the site's time."""
    from wasteledger.cli.typed import instant_of
    from wasteledger.office.workplace import Said, Workplace

    settings = read_environment()
    location = ledger or settings.ledger
    with Workplace.open(location, site or settings.site, by or settings.by) as work:
        try:
            said = Said(at=instant_of(work, at), key=key, note=note)
            yield Place(work, said, as_json, settings, location)
        except WasteLedgerError as error:
            refuse(error, *_zone_of(work))


def _zone_of(work: Workplace) -> tuple[tzinfo | None, str]:
    try:
        return work.zone, work.zone.key
    except WasteLedgerError:
        # A ledger too damaged to tell its time zone is refused in UTC.
        return None, ""
