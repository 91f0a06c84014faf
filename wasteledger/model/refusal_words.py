"""Plain words for what pydantic finds wrong in a value: nobody in an office reads a pattern or a type's name."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from wasteledger.units import LARGEST, Mass

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

SHORT_NAME = "letters, digits, dot, dash, underscore; a letter or digit first and last, at most 40 signs"

_LONGEST = 40
_PATTERNS = (
    ("[A-Za-z0-9._-]", f"no short name: {SHORT_NAME}"),
    ("(0[1-9]|1[0-2])", "no month: write it such as 2026-11"),
    ("[0-9a-f]{64}", "no digest: 64 digits from 0 to f"),
)
_END = {True: "least", False: "most"}
_SHOULD_BE = (
    ("int", "a whole number"),
    ("string", "text"),
    ("bool", "true or false"),
    ("date_", "a day such as 2026-03-01"),
    ("tuple", "a list"),
    ("list", "a list"),
    ("dict", "a table of names and values"),
    ("model", "a table of names and values"),
)


def words_of(error: ErrorDetails) -> str:
    """What is wrong, in a clause that follows the name of the place."""
    kind, typed = error["type"], error["input"]
    context: dict[str, Any] = error.get("ctx", {})
    name = next((str(step) for step in reversed(error["loc"]) if isinstance(step, str)), "")
    match kind:
        case "missing":
            return "it is missing"
        case "extra_forbidden":
            return "there is no such value here"
        case "string_pattern_mismatch":
            pattern = str(context.get("pattern", ""))
            words = next((words for part, words in _PATTERNS if part in pattern), "not of the form that is wanted here")
            return f"{quoted(typed)} is {words}"
        case "greater_than_equal" | "less_than_equal":
            least = kind == "greater_than_equal"
            end = _figure(name, context["ge" if least else "le"])
            return f"{_figure(name, typed)} is too {'low' if least else 'high'}: {end} is the {_END[least]}"
        case "literal_error" | "enum":
            return f"{quoted(typed)} is none of {str(context.get('expected', '')).replace(chr(39), '')}"
        case "string_too_long":
            return f"it is longer than {context['max_length']} letters"
        case "too_short":
            return f"at least {context['min_length']} must be named"
        case "too_long":
            return f"at most {context['max_length']} can be named"
    said = error["msg"]
    if kind not in ("value_error", "json_invalid"):
        wanted = next((words for part, words in _SHOULD_BE if kind.startswith(part)), "")
        if wanted:
            return f"it should be {wanted}"
    return re.sub(r"^Value error, ", "", said).replace("Input should be", "it should be")


def quoted(typed: object) -> str:
    """What was typed, between quotation marks, cut where it is long."""
    said = str(typed)
    return f"“{said if len(said) <= _LONGEST else said[: _LONGEST - 1] + '…'}”"


def _figure(name: str, value: Any) -> str:
    """A number in the unit that the end of its name says."""
    if not isinstance(value, int):
        return str(value)
    if name.endswith("_permille"):
        return f"{value / 10:g} %"
    if name.endswith("_tenths"):
        return f"{value / 10:g}"
    if name.endswith("_ml"):
        return f"{value} mL"
    if name.endswith("_mg"):
        return str(Mass(value)) if 0 <= value <= LARGEST else f"{value} mg"
    return str(value)
