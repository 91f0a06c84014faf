"""The ordinances themselves: list, show, check, explain."""

from __future__ import annotations

import typer


def add_to(app: typer.Typer) -> None:
    """Put the commands into *app*."""
