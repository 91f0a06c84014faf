"""The only place that asks what time it is; everything else is handed the time."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

Clock = Callable[[], datetime]


def now() -> datetime:
    """The present instant in UTC."""
    return datetime.now(UTC)
