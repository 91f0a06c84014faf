"""The fields that a correction changes: found by their names, read as typed, and told as they were and as they are."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from decimal import Decimal
from difflib import get_close_matches
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from wasteledger.errors import NotUnderstood
from wasteledger.ledger.chain import body_text
from wasteledger.model.entries import read_body
from wasteledger.model.values import Body
from wasteledger.office.days import checked_day
from wasteledger.units import Mass, Volume

_UNITS = ("_mg", "_ml", "_permille")
"""Ends of names that say the unit; what is typed may leave them out and then says the unit itself."""

_ALSO_MEANT = {"mass": ("made_mg",)}
"""Names that the commands use for what an entry calls otherwise."""

_LONGEST = 60  # signs of a value, in the answer


class FieldUnknown(NotUnderstood):
    """The entry has no such field, or it cannot be said that way."""

    code = "field-unknown"


def changed_body(body: Body, changes: Mapping[str, str]) -> Body:
    """*body* with the fields that *changes* name; masses, volumes and levels with their units.

    Raises:
        FieldUnknown: No such field, or it cannot be said that way.
        BadQuantity: A mass or a volume that cannot be read.
        BodyNotUnderstood: Such an entry cannot be.
    """
    fields = json.loads(body_text(body))
    known = type(body).model_fields
    named = [(_field_of(body, name, known), name, typed) for name, typed in changes.items()]
    for field in {field for field, _, _ in named}:
        names = [name for other, name, _ in named if other == field]
        if len(names) > 1:
            raise FieldUnknown(f"{' and '.join(names)} are one field.", hint="Say what is right once.")
    for (holder, inner), name, typed in named:
        needs_unit = name not in (holder, f"{holder}.{inner}")
        if inner:
            nested = fields.get(holder)
            if not isinstance(nested, dict):
                raise FieldUnknown(f"“{holder}” has no parts here.", hint="Look at the entry with --json.")
            nested[inner] = _value(inner, typed, nested.get(inner), needs_unit)
        elif isinstance(fields.get(holder), dict) and "mass_mg" in fields[holder]:
            # A reading of a scale: the mass changes, the scale that was used stays.
            fields[holder] = fields[holder] | {"mass_mg": Mass.parse(typed).mg, "typed": typed}
        elif typed == "":
            fields.pop(holder, None)
        else:
            old = "" if _takes_text(known[holder].annotation) else fields.get(holder)
            fields[holder] = _value(holder, typed, old, needs_unit)
    changed = read_body(body.KIND, body.VERSION, json.dumps(fields))
    for (holder, _), _, _ in named:
        day = getattr(changed, holder, None)
        if isinstance(day, date) and not isinstance(day, datetime):
            checked_day(day)
    return changed


def differences(before: Body, after: Body) -> Iterator[str]:
    """Each field that differs, with what it was and what it is; a mass, a volume, a level in words besides.

    >>> from wasteledger.model.entries import Level
    >>> list(differences(Level(container="C-1", level_permille=600), Level(container="C-1", level_permille=65)))
    ['level_permille was 600 (60 %), is 65 (6.5 %).']
    """
    was, now = _flat(json.loads(body_text(before))), _flat(json.loads(body_text(after)))
    for name in dict.fromkeys((*was, *now)):
        if was.get(name) != now.get(name):
            yield f"{name} was {_told(name, was.get(name))}, is {_told(name, now.get(name))}."


def _field_of(body: Body, name: str, known: Iterable[str]) -> tuple[str, str]:
    """The field that was meant, and the part of it: the plain name does for one that ends in its unit."""
    holder, _, inner = name.partition(".")
    found = _found(holder, known)
    if found is None:
        raise _no_field(body.KIND, name, known)
    part = getattr(body, found, None)
    # A misspelt part stays as it was typed: reading the whole body refuses it in its own words.
    return found, (_found(inner, getattr(type(part), "model_fields", ())) or inner) if inner else ""


def _found(typed: str, known: Iterable[str]) -> str | None:
    plain = typed.strip().casefold().replace("-", "_")
    meant = (typed, plain, *(f"{plain}{unit}" for unit in _UNITS), *_ALSO_MEANT.get(plain, ()))
    return next((name for name in meant if name in known), None)


def _no_field(kind: str, name: str, known: Iterable[str]) -> FieldUnknown:
    """No such field, and which may have been meant."""
    # “Unit” begins with a vowel that is none to the ear.
    article = "An" if kind[0] in "aeio" else "A"
    plain = [field.removesuffix(unit) for field in known for unit in _UNITS]
    meant_too = [one for one in _ALSO_MEANT if _found(one, known)]
    near = get_close_matches(name.casefold(), [*known, *plain, *meant_too], n=1)
    meant = f"Did you mean {_found(near[0], known)}? " if near else ""
    return FieldUnknown(
        f"{article} {kind.replace('_', ' ')} entry has no “{name}”.", hint=f"{meant}It has {', '.join(sorted(known))}."
    )


def _value(name: str, typed: str, old: object, needs_unit: bool) -> object:
    """What was typed as the field wants it: quantities with units, the rest as JSON or plain text."""
    if name.endswith("_mg") and (needs_unit or not typed.isdecimal()):
        return Mass.parse(typed).mg
    if name.endswith("_ml") and (needs_unit or not typed.isdecimal()):
        return Volume.parse(typed).ml
    if name.endswith("_permille") and (needs_unit or not typed.isdecimal()):
        return _permille(name, typed)
    if isinstance(old, str):
        return typed
    if isinstance(old, list):
        if not typed.startswith("["):
            return [part.strip() for part in typed.split(",")]
        try:
            return json.loads(typed)
        except ValueError as error:
            raise FieldUnknown(f"“{typed}” is no list.", hint="Write one, two, three, or a JSON list.") from error
    try:
        return json.loads(typed)
    except ValueError:
        return typed


def _permille(name: str, typed: str) -> int:
    """Thousandths from percent with at most one decimal."""
    number = typed.strip().removesuffix("%").strip().replace(",", ".")
    whole, _, tenth = number.partition(".")
    digits = f"{whole}{tenth}"
    is_number = digits.isascii() and digits.isdigit() and whole != "" and len(whole) <= 4 and len(tenth) <= 1
    if not typed.strip().endswith("%") or not is_number:
        raise FieldUnknown(
            f"“{typed}” is no share of a hundred.",
            hint=f"Write percent with at most one decimal, such as 65%, or {name} in whole thousandths, such as 650.",
        )
    return int(whole) * 10 + int(tenth or 0)


def _takes_text(annotation: object) -> bool:
    """Whether a field holds text: “12” said for a note is a note, and no number."""
    if isinstance(annotation, type):
        return issubclass(annotation, str)
    origin, parts = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return _takes_text(parts[0])
    return origin in (Union, UnionType) and any(_takes_text(part) for part in parts)


def _flat(fields: Mapping[str, Any], before: str = "") -> dict[str, object]:
    found: dict[str, object] = {}
    for name, value in fields.items():
        if isinstance(value, dict):
            found |= _flat(value, f"{before}{name}.")
        else:
            found[f"{before}{name}"] = value
    return found


def _told(name: str, value: object) -> str:
    if value is None:
        return "not entered"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        words = _in_words(name, value)
        return f"{value} ({words})" if words else str(value)
    said = ", ".join(map(str, value)) if isinstance(value, list) else str(value)
    said = " ".join(said.split())
    return f"“{said if len(said) <= _LONGEST else said[: _LONGEST - 1] + '…'}”"


def _in_words(name: str, value: int) -> str:
    if name.endswith("_mg"):
        return str(Mass(value))
    if name.endswith("_ml"):
        return str(Volume(value))
    # Dentists are counted in thousandths too, and are no share of anything.
    if name.endswith("_permille") and not name.endswith("dentists_permille"):
        return f"{Decimal(value) / 10:f} %"
    return ""
