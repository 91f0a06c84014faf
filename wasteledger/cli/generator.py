"""Hazardous waste by the month, and the generator category."""

from __future__ import annotations

import typer


def add_to(app: typer.Typer) -> None:
    """Put the commands into *app*."""
