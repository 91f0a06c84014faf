"""Small ordinance files of an invented town, and how a text is put in force at a practice."""

from __future__ import annotations

import hashlib
from pathlib import Path

from tests.makers import a_line
from wasteledger.model.register import OrdinanceDetails
from wasteledger.office.workplace import Workplace
from wasteledger.resources import find

HEAD = """
schema = 1
[ordinance]
id = "{ref}"
title = "{title}"
authority = "Invented authority"
level = "{level}"
version = "1"
dated_on = 2025-01-01
source = "Invented for a test"
"""

SAID = """
source = "Invented for a test"
read_on = "2026-11"
confirmed = {confirmed}
"""


def text_of(*tables: str, ref: str = "marsh-town", title: str = "Marsh Town code", level: str = "local") -> str:
    return HEAD.format(ref=ref, title=title, level=level) + "".join(tables)


def a_rule(
    name: str,
    more: str,
    *,
    citation: str = "Marsh Town 1",
    duty: str = "own-paint",
    confirmed: str = "true",
) -> str:
    said = SAID.format(confirmed=confirmed)
    return (
        f'[[rule]]\nid = "{name}"\ntitle = "Rule {name}"\nasks = "It asks."\nkind = "deadline"\nduty = "{duty}"\n'
        f'citation = "{citation}"{said}{more}\n'
    )


def find_file(stem: str) -> Path:
    """A shipped ordinance."""
    return find(f"ordinances/{stem}.toml")


def put_in_force(place: Workplace, name: str, text: str) -> None:
    """Register the text of an ordinance."""
    digest = hashlib.sha256(text.encode()).hexdigest()
    with place.writing() as desk:
        desk.append(a_line(name, OrdinanceDetails(name=name, version="1", digest=digest, text=text)))
