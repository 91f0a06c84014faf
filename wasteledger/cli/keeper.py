"""What leaves the ledger and comes into one: export, import, backup, restore."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.common import JsonOption, LedgerOption, Place, YesOption, read_environment, reads
from wasteledger.errors import NotUnderstood

if TYPE_CHECKING:
    from wasteledger.exchange.backup import Copied

FileArgument = Annotated[Path, typer.Argument(metavar="FILE", help="The file.", show_default=False)]


class TwoForms(NotUnderstood):
    """CSV and JSON cannot share standard output."""

    code = "two-forms"

    def __init__(self) -> None:
        super().__init__("CSV and JSON at once cannot be written here.", hint="Write the CSV into a file with --out.")


def add_to(app: typer.Typer) -> None:
    """Put the commands that everybody shares into *app*."""
    panel = "All"
    app.command("export", rich_help_panel=panel)(export)
    app.command("import", rich_help_panel=panel)(bring_in)
    app.command("backup", rich_help_panel=panel)(backup)
    app.command("restore", rich_help_panel=panel)(restore)


@reads
def export(
    place: Place,
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Into this file; else here.")] = None,
    as_csv: Annotated[bool, typer.Option("--csv", help="A table for analysis; it cannot be imported.")] = False,
) -> None:
    """Write the whole journal out, an entry a line.

    JSON Lines: each line is the hashed form of an entry with its digest, so that anybody can recompute the chain.
    """
    from wasteledger.exchange.journal import export_lines
    from wasteledger.exchange.tables import csv_lines

    if as_csv and place.json and out is None:
        raise TwoForms
    with place.work.reading() as reader:
        entries = reader.entries()
        lines: Iterable[bytes] = (
            (line.encode("utf-8") for line in csv_lines(entries, place.work.zone)) if as_csv else export_lines(entries)
        )
        if out is None:
            for line in lines:
                typer.echo(line, nl=False)
            return
        written = output.write_lines(out, lines)
        end = reader.chain_end()
    if place.json:
        output.show_json({"file": str(out), "lines": written, "chain_end": end})
        return
    output.say(f"{out}: {output.count(written, 'line')}.")
    if end is not None:
        output.say(f"Last entry: {end.entries}:{end.digest}")


def bring_in(file: FileArgument, as_json: JsonOption = False, ledger: LedgerOption = None) -> None:
    """Import an export; every digest is recomputed.

    The chain comes in whole, into a ledger that does not have its site, or not at all.
    """
    from wasteledger import clock
    from wasteledger.exchange.bring_in import import_file

    location = ledger or read_environment().ledger
    site, entries = import_file(location, file, clock=clock.now)
    if as_json:
        output.show_json({"site": site, "entries": entries, "ledger": location})
        return
    output.say(f"Site {site}: {output.count(entries, 'entry', 'entries')} imported into {location}, digests unchanged.")


def backup(file: FileArgument, as_json: JsonOption = False, ledger: LedgerOption = None) -> None:
    """Copy the ledger to FILE, and verify the copy.

    It may be done while others write. FILE must not be there yet.
    """
    from wasteledger.exchange.backup import back_up

    _say_copied(back_up(_ledger_file(ledger), file), as_json)


def restore(
    file: FileArgument,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Take the place of the ledger that is there; it is kept beside it.")
    ] = False,
    yes: YesOption = False,
    as_json: JsonOption = False,
    ledger: LedgerOption = None,
) -> None:
    """Put the backup FILE in the ledger's place.

    What would be lost is said before anything is touched. What was there is kept beside it.
    """
    from wasteledger.exchange import backup as backups

    target = _ledger_file(ledger)
    if overwrite and target.exists():
        named = backups.in_words(backups.would_lose(file, target))
        output.ask_first(f"{target} is replaced by {file}. It would lose {named}. Is that right?", yes)
    _say_copied(backups.restore(file, target, overwrite=overwrite), as_json)


def _ledger_file(ledger: str | None) -> Path:
    return Path((ledger or read_environment().ledger).removeprefix("sqlite:///"))


def _say_copied(copied: Copied, as_json: bool) -> None:
    if as_json:
        output.show_json({"file": str(copied.path), "entries": dict(copied.entries)})
        return
    for site, entries in copied.entries:
        output.say(f"Site {site}: {output.count(entries, 'entry', 'entries')} in {copied.path}, verified.")
