"""Days and counts as people read them."""

from __future__ import annotations

from datetime import date


def short_day(on: date) -> str:
    """A day with its month in three letters.

    >>> short_day(date(2026, 3, 1))
    '1 Mar 2026'
    """
    return f"{on.day} {on:%b %Y}"


def spelt(on: date) -> str:
    """A day with its month spelt.

    >>> spelt(date(2026, 3, 1))
    '1 March 2026'
    """
    return f"{on.day} {on:%B %Y}"


def count(number: int, noun: str, many: str = "") -> str:
    """How many of what.

    >>> count(1, "day"), count(2, "entry", "entries")
    ('1 day', '2 entries')
    """
    return f"{number} {noun}" if number == 1 else f"{number} {many or f'{noun}s'}"
