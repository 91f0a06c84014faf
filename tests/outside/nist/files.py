"""Reads the reference data sets that lie beside this file: comment lines, a line of names, then numbers."""

from __future__ import annotations

from pathlib import Path


def columns(dataset: str) -> dict[str, list[float]]:
    """The numbers of a dataset by the name of their column, exactly as printed."""
    text = (Path(__file__).parent / f"{dataset}.csv").read_text("utf-8")
    names, *rows = (line.split(",") for line in text.splitlines() if not line.startswith("#"))
    return {name: [float(row[place]) for row in rows] for place, name in enumerate(names)}
