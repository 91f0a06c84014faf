"""Worksheets for the office's own filings."""

from __future__ import annotations

import typer


def add_to(app: typer.Typer) -> None:
    """Put the commands into *app*."""
