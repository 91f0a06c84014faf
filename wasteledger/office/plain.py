"""From results to what JSON can say: same names, same units, days and instants in ISO 8601."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from typing import Any

from pydantic import BaseModel


def plain(value: object) -> Any:
    """*value* as dictionaries, lists, texts, whole numbers and truth values.

    Dataclasses and models become objects with the same names; instants are written in UTC with ``Z``; exact decimals
    become text, so that no digit is lost.

    Raises:
        TypeError: Something in it has no plain form.
    """
    match value:
        case None | bool() | int() | str() if not isinstance(value, Enum):
            return value
        case Enum():
            return value.value
        case datetime():
            return value.astimezone(UTC).isoformat().replace("+00:00", "Z") if value.tzinfo else value.isoformat()
        case date():
            return value.isoformat()
        case Decimal() | Fraction():
            return str(value)
        case BaseModel():
            return value.model_dump(mode="json")
        case Mapping():
            return {str(name): plain(part) for name, part in value.items()}
        case tuple() | list():
            return [plain(part) for part in value]
        case set() | frozenset():
            return [plain(part) for part in sorted(value)]
    if is_dataclass(value) and not isinstance(value, type):
        return {one.name: plain(getattr(value, one.name)) for one in fields(value) if not one.name.startswith("_")}
    raise TypeError(f"{type(value).__name__} has no plain form")
