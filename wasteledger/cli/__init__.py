"""The command line: one module for each user, plain help, refusals in two lines.

Nothing heavy is loaded before a command runs: modules here import Typer, the standard library and the errors at their
top, and the rest inside the functions that need it.
"""

from __future__ import annotations

import typer

from wasteledger import __version__
from wasteledger.cli import (
    answers,
    assistant,
    balance,
    duties,
    filings,
    generator,
    inspector,
    keeper,
    learned,
    manager,
    ordinances,
    output,
    remind,
    setting_up,
    walk,
    worksheets,
)
from wasteledger.cli.refusing import RefusingGroup

__all__ = ["app", "main"]

app = typer.Typer(
    name="wasteledger",
    cls=RefusingGroup,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 100},
    epilog=(
        "Exit status: 0 done, 1 a check found something, 2 not understood, 3 refused, 4 ledger not reachable, "
        "5 journal damaged. No patient data, anywhere."
    ),
)


def _show_version(asked: bool) -> None:
    if asked:
        output.say(f"wasteledger {__version__}")
        raise typer.Exit


@app.callback()
def whole(
    version: bool = typer.Option(False, "--version", callback=_show_version, is_eager=True, help="Say the version."),
) -> None:
    """Keep the record of a dental practice's amalgam and trap waste."""


setting_up.add_to(app)
walk.add_to(app)
assistant.add_to(app)
manager.add_to(app)
duties.add_to(app)
filings.add_to(app)
generator.add_to(app)
worksheets.add_to(app)
remind.add_to(app)
balance.add_to(app)
learned.add_to(app)
ordinances.add_to(app)
inspector.add_to(app)
answers.add_to(app)
keeper.add_to(app)


def main() -> None:
    """Run the command line, as ``wasteledger`` and ``python -m wasteledger`` do."""
    output.be_printable()
    app(prog_name="wasteledger")
