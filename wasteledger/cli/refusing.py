"""Turns what the program refuses into two lines on standard error and an exit status."""

from __future__ import annotations

import os
from datetime import tzinfo
from typing import Any, NoReturn

import typer
from typer.core import TyperGroup

from wasteledger.errors import ExitStatus, WasteLedgerError

TRACEBACK = "WASTELEDGER_TRACEBACK"
# As a shell gives it for a program that was interrupted; and, from sysexits.h, for a fault of the program itself.
INTERRUPTED, OWN_FAULT = 130, 70


class CannotUseFile(WasteLedgerError):
    """A file that the person named cannot be read or written."""

    code = "cannot-use-file"

    def __init__(self, error: OSError) -> None:
        named = f" “{error.filename}”" if error.filename else ""
        super().__init__(
            f"The file{named} cannot be used: {error.strerror or error}.",
            hint="Check its name, its folder, and whether you may write there.",
        )


class NotAnswered(WasteLedgerError):
    """A question before something that cannot be taken back was not answered with yes."""

    code = "not-answered"

    def __init__(self) -> None:
        super().__init__("Not confirmed. Nothing was changed.", hint="Answer y, or give --yes.")


class RefusingGroup(TyperGroup):
    """The program's own group of commands: a refusal becomes a sentence, a hint, and a status, never a traceback."""

    def invoke(self, ctx: typer.Context) -> Any:  # type: ignore[override]  # the context is Typer's own class below
        """Run the command that was asked for."""
        try:
            return super().invoke(ctx)
        except (typer.Exit, SystemExit, BrokenPipeError):
            raise
        except WasteLedgerError as error:
            refuse(error)
        except typer.Abort:
            typer.echo("Left before the end.", err=True)
            raise typer.Exit(ExitStatus.REFUSED) from None
        except KeyboardInterrupt:
            typer.echo("Stopped. What was said to be noted is noted.", err=True)
            raise typer.Exit(INTERRUPTED) from None
        except OSError as error:
            refuse(CannotUseFile(error))
        except Exception as error:
            if type(error).__module__.startswith(("typer", "click")):
                raise
            if os.environ.get(TRACEBACK):
                raise
            typer.echo(f"Something is wrong in the program itself: {type(error).__name__}: {error}", err=True)
            typer.echo(f"Set {TRACEBACK}=1 and try again to see where, and tell whoever keeps it.", err=True)
            raise typer.Exit(OWN_FAULT) from error


def refuse(error: WasteLedgerError, zone: tzinfo | None = None, zone_name: str = "") -> NoReturn:
    """Say what was refused, in the site's time where its *zone* is known, and leave with the status that belongs."""
    if os.environ.get(TRACEBACK):
        raise error
    typer.echo(error.in_zone(zone, zone_name) if zone is not None else str(error), err=True)
    if error.hint:
        typer.echo(error.hint, err=True)
    raise typer.Exit(error.exit_status) from error
