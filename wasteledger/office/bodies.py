"""Building entry bodies from what was typed, with our own words for what does not fit."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from wasteledger.errors import NotUnderstood, Unknown
from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import understood
from wasteledger.model.register import ScaleDetails
from wasteledger.model.values import Body, Reading
from wasteledger.units import Mass

Made = TypeVar("Made", bound=BaseModel)


def make(kind: type[Made], /, **values: Any) -> Made:
    """A body or a value of *kind*.

    Raises:
        BodyNotUnderstood: Something lacks, is surplus, or is out of bounds.
    """
    try:
        return kind(**values)
    except ValidationError as error:
        name = kind.KIND if issubclass(kind, Body) else kind.__name__
        raise understood(name, error) from error


def reading_of(
    reader: Reader, mass: Mass, scale: str | None, typed: str | None = None, *, before: Reading | None = None
) -> Reading:
    """A reading of the named scale, or of the only one registered; *before* is what the same key said earlier.

    Raises:
        Unknown: No such scale.
        NotUnderstood: No scale is registered, or several are and none was named: a mass without stated limits says
            nothing about how far it can be trusted.
    """
    if before is not None and before.mass_mg == mass.mg and scale in (None, before.scale):
        return before
    scales = reader.lines("scale")
    if scale is None:
        if len(scales) != 1:
            names = ", ".join(line.ref for line in scales) or "none is registered"
            raise NotUnderstood("Which scale was it?", hint=f"Name it with --scale ({names}).")
        line = scales[0]
    else:
        found = next((one for one in scales if one.ref == scale), None)
        if found is None:
            raise Unknown(f"There is no scale “{scale}”.", hint=f"Registered: {', '.join(one.ref for one in scales)}.")
        line = found
    details = line.details
    if not isinstance(details, ScaleDetails):
        raise Unknown(f"“{line.ref}” is not a scale.")
    return make(
        Reading,
        mass_mg=mass.mg,
        readability_mg=details.readability_mg,
        tolerance_mg=details.tolerance_mg,
        scale=line.ref,
        typed=typed,
    )
