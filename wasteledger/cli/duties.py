"""What was done for a rule: done."""

from __future__ import annotations

import typer


def add_to(app: typer.Typer) -> None:
    """Put the commands into *app*."""
