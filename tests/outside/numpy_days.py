"""Days, years and weekdays by numpy's ``datetime64``, a reckoning that is not ours."""

from __future__ import annotations

from datetime import date

import numpy as np

_NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def days_later(on: date, days: int) -> date:
    """So many calendar days later."""
    return date.fromisoformat(str(np.datetime64(on) + np.timedelta64(days, "D")))


def years_later(on: date, years: int) -> date:
    """The same day of a later year; for days that every year has."""
    month = np.datetime64(on.isoformat()[:7]) + 12 * years
    return date.fromisoformat(str(month.astype("datetime64[D]") + (on.day - 1)))


def weekday(on: date) -> str:
    """The weekday, as numpy's week masks have it."""
    (place,) = [k for k, mask in enumerate(np.eye(7, dtype=bool)) if np.is_busday(np.datetime64(on), weekmask=mask)]
    return _NAMES[place]
