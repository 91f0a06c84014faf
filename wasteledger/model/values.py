"""The kinds of text, number and reading that entry bodies are made of.

Everything in a body is a string, a whole number, a truth value, a date, or a list of such: no floats, so that the
canonical form (RFC 8785) of a body never depends on how a number was printed.
"""

from __future__ import annotations

import unicodedata
from datetime import UTC, date, datetime
from functools import partial
from typing import Annotated, ClassVar

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from wasteledger.units import LARGEST


def utc_text(instant: datetime) -> str:
    """An instant as the journal writes it: UTC, microseconds, ``Z``; it sorts as it reads.

    >>> utc_text(datetime(2026, 3, 1, 17, 0, tzinfo=UTC))
    '2026-03-01T17:00:00.000000Z'
    """
    # Not strftime, which writes the year 33 as “33” on some systems.
    return instant.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def read_utc(text: str) -> datetime:
    """The instant that `utc_text` wrote.

    Raises:
        ValueError: Not exactly that form.
    """
    instant = datetime.fromisoformat(text)
    if instant.tzinfo is None or utc_text(instant) != text:
        raise ValueError(f"not a journal time: {text}")
    return instant


def _clean(text: str, shortest: int, longest: int, *, lines: bool = False) -> str:
    composed = unicodedata.normalize("NFC", text).strip()
    for sign in composed:
        category = unicodedata.category(sign)
        if sign == "\n" or category in ("Zl", "Zp"):
            if not lines:
                raise ValueError("must stand on one line")
        # Cc: controls; Cs: halves of a surrogate pair, which no UTF-8 file can hold.
        elif category in ("Cc", "Cs"):
            raise ValueError("holds a control character")
    # Measured last: some signs become two in NFC, and what is kept must be readable by this same rule.
    if len(composed) < shortest:
        raise ValueError(f"wants at least {shortest} letters" if shortest > 1 else "is empty")
    if len(composed) > longest:
        raise ValueError(f"is longer than {longest} letters")
    return composed


Ref = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9](?:[A-Za-z0-9._-]{0,38}[A-Za-z0-9])?$")]
"""The short name of a trap, room, container …: letters, digits, dot, dash, underscore; 1 to 40 signs, ASCII."""

Line = Annotated[str, AfterValidator(partial(_clean, shortest=0, longest=200))]
"""One line of free text in Unicode NFC; never patient data."""

Name = Annotated[str, AfterValidator(partial(_clean, shortest=1, longest=200))]
"""A line that is not empty."""

Text = Annotated[str, AfterValidator(partial(_clean, shortest=0, longest=2000, lines=True))]
"""Free text of some lines in Unicode NFC; never patient data."""

Words = Annotated[str, AfterValidator(partial(_clean, shortest=1, longest=2000, lines=True))]
"""Free text that is not empty."""

Reason = Annotated[str, AfterValidator(partial(_clean, shortest=3, longest=2000, lines=True))]
"""Why something was corrected: free text of three letters or more."""

Whole = Annotated[int, Field(ge=0, le=LARGEST)]
Milligrams = Annotated[int, Field(ge=0, le=10**10)]
"""A mass up to ten tonnes: sums of many stay within 64 bits."""

MassLimit = Annotated[int, Field(ge=1, le=10**10)]
"""The largest mass that a container may hold, up to ten tonnes."""

Tolerance = Annotated[int, Field(ge=0, le=10**7)]
"""A scale's step or tolerance, up to ten kilograms: sums of squares stay within 64 bits."""

Count = Annotated[int, Field(ge=1, le=1_000_000)]
Permille = Annotated[int, Field(ge=0, le=2000)]
Day = date


class Value(BaseModel):
    """A frozen, strict value: no unknown keys, no silent conversion."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class Reading(Value):
    """One reading of a scale.

    The standard uncertainty of a reading follows from two stated limits, both taken as rectangular (JCGM 100:2008,
    4.3.7 and F.2.2.1): the step of the display (half a step either way) and the scale's tolerance (either way).
    """

    mass_mg: Milligrams
    readability_mg: Tolerance
    tolerance_mg: Tolerance
    scale: Ref | None = None
    typed: Line | None = None

    @property
    def twelfths_mg2(self) -> int:
        """Twelve times the variance in mg², a whole number: d² + 4 t²."""
        return self.readability_mg**2 + 4 * self.tolerance_mg**2


class Party(Value):
    """Name and address of a carrier, facility or practice as they stood when the entry was made."""

    ref: Ref
    name: Name
    address: tuple[Line, ...] = ()
    phone: Line = ""
    permit: Line = ""


class Body(Value):
    """What an entry says; each kind of entry has its own class, and a class whose form changes gets a new version."""

    KIND: ClassVar[str]
    VERSION: ClassVar[int] = 1
    DERIVED: ClassVar[frozenset[str]] = frozenset()
    """What the office adds from the standing: left out when a repeated key is compared with its first use."""

    note: Text | None = None

    def said(self) -> dict[str, object]:
        """What the person said, without what was derived."""
        return self.model_dump(mode="json", exclude=set(self.DERIVED))
