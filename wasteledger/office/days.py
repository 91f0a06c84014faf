"""The days that can be reckoned with: a year typed wrong is refused where it comes in, not found at some sum later."""

from __future__ import annotations

from datetime import date

from wasteledger.errors import NotUnderstood

FIRST_DAY = date(1900, 1, 1)
LAST_DAY = date(2200, 12, 31)
"""Far beyond what a practice looks back or ahead, and far from where a calendar ends (own convention, no source)."""


class BeyondReckoning(NotUnderstood):
    """A day that no practice looks back or ahead to."""

    code = "beyond-reckoning"


def checked_day(day: date) -> date:
    """The *day* itself, if it can be reckoned with.

    Raises:
        BeyondReckoning: It lies before 1900 or after 2200.
    """
    if FIRST_DAY <= day <= LAST_DAY:
        return day
    raise BeyondReckoning(
        f"{day.isoformat()} is too far away to reckon with.",
        hint=f"Check the year: days from {FIRST_DAY} to {LAST_DAY} can be given.",
    )
