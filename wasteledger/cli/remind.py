"""A digest of what is due, by e-mail."""

from __future__ import annotations

import typer


def add_to(app: typer.Typer) -> None:
    """Put the commands into *app*."""
