"""Mass in whole milligrams and volume in whole millilitres; units are read and written only at the edge.

Conversion factors are exact by definition: the avoirdupois pound is 0.453 592 37 kg, the ounce a sixteenth of it
(NIST Special Publication 811, 2008 edition, appendix B.8); the US gallon is 231 cubic inches of 16.387 064 mL.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation
from fractions import Fraction
from typing import ClassVar, Self

from wasteledger.errors import NotUnderstood

# Whole numbers above this are not safe in every JSON reader (RFC 8785 section 3.2.2.3), so nothing may exceed it.
LARGEST = 2**53 - 1

_NUMBER_AND_UNIT = re.compile(r"\s*([+-]?[0-9]*(?:[.,][0-9]+)?|[+-]?[0-9]+[.,]?)\s*([a-zA-Zµ]*)\s*\Z")
# One to three digits, a comma, three digits: 1.5 to one reader and 1500 to another.
_DECIMALS_OR_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}\Z")
_LONGEST = 40  # signs; LARGEST has 16 digits


class BadQuantity(NotUnderstood):
    """A mass or a volume that cannot be read exactly."""

    code = "bad-quantity"


def _read(text: str, units: dict[str, Fraction], noun: str, examples: str) -> tuple[Fraction, str]:
    found = _NUMBER_AND_UNIT.match(text)
    if not found or not any(sign.isdigit() for sign in found.group(1)):
        raise BadQuantity(f"“{text}” is not a {noun}.", hint=f"Write a number and a unit, such as {examples}.")
    if len(found.group(1)) > _LONGEST:
        raise BadQuantity(f"That number has more than {_LONGEST} digits.", hint=f"Write a {noun} such as {examples}.")
    if _DECIMALS_OR_THOUSANDS.match(found.group(1)):
        point, bare = found.group(1).replace(",", "."), found.group(1).replace(",", "")
        raise BadQuantity(f"“{text}” can be read two ways.", hint=f"Write {point} or {bare}, without the comma.")
    number, unit = found.group(1).replace(",", "."), found.group(2)
    if not unit:
        raise BadQuantity(f"“{text}” has no unit.", hint=f"Write a number and a unit, such as {examples}.")
    if unit.lower() not in units:
        raise BadQuantity(f"“{unit}” is not a unit of {noun} that is read here.", hint=f"Use {', '.join(units)}.")
    try:
        value = Fraction(Decimal(number))
    except (InvalidOperation, ValueError) as error:
        raise BadQuantity(f"“{text}” is not a {noun}.", hint=f"Write it such as {examples}.") from error
    return value * units[unit.lower()], unit.lower()


@dataclass(frozen=True, slots=True, order=True)
class Mass:
    """A mass of *mg* whole milligrams, zero or more.

    >>> Mass.parse("34.2 g")
    Mass(mg=34200)
    >>> str(Mass(34_200))
    '34.2 g'
    """

    mg: int

    UNITS: ClassVar[dict[str, Fraction]] = {
        "mg": Fraction(1),
        "g": Fraction(1000),
        "kg": Fraction(1_000_000),
        "oz": Fraction("28349.523125"),
        "lb": Fraction("453592.37"),
    }
    # A scale that shows ounces never shows whole milligrams, so these are carried to the nearest one.
    AVOIRDUPOIS: ClassVar[frozenset[str]] = frozenset({"oz", "lb"})

    def __post_init__(self) -> None:
        if not 0 <= self.mg <= LARGEST:
            raise BadQuantity(_not_kept("mass", self.mg, "mg"), hint=f"Masses go from 0 to {LARGEST} mg.")

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a mass such as ``34.2g``, ``1.5 kg`` or ``1.25 lb`` exactly.

        Grams and kilograms with a fraction of a milligram are refused, not rounded. Ounces and pounds are converted
        by the exact factor and carried to the nearest milligram, half to even (at most 0.5 mg away).

        Raises:
            BadQuantity: No number, no unit, an unknown unit, less than zero, or a fraction of a milligram.
        """
        exact, unit = _read(text, cls.UNITS, "mass", "34.2g, 1.5kg or 2lb")
        if unit in cls.AVOIRDUPOIS:
            exact = Fraction(round(exact))
        if exact.denominator != 1:
            raise BadQuantity(f"“{text}” has a fraction of a milligram.", hint="Write no more than 0.001 g.")
        if exact < 0:
            raise BadQuantity(f"“{text}” is less than nothing.", hint="Masses are zero or more.")
        return cls(int(exact))

    def in_unit(self, unit: str) -> Fraction:
        """This mass as an exact fraction in *unit* (mg, g, kg, oz or lb)."""
        return Fraction(self.mg) / self.UNITS[unit]

    def __str__(self) -> str:
        """In grams below one kilogram, else in kilograms, with every digit that is not a trailing nought."""
        unit = "g" if self.mg < 1_000_000 else "kg"
        return f"{_plain(Decimal(self.mg) / Decimal(int(self.UNITS[unit])))} {unit}"

    def rounded(self, unit: str, places: int) -> str:
        """This mass in *unit* with *places* decimals, half to even, for a reader who wants ounces or pounds."""
        exact = self.in_unit(unit)
        step = Decimal(1).scaleb(-places)
        shown = (Decimal(exact.numerator) / Decimal(exact.denominator)).quantize(step, ROUND_HALF_EVEN)
        return f"{shown} {unit}"


@dataclass(frozen=True, slots=True, order=True)
class Volume:
    """A volume of *ml* whole millilitres, zero or more.

    >>> Volume.parse("1.5 L")
    Volume(ml=1500)
    """

    ml: int

    UNITS: ClassVar[dict[str, Fraction]] = {
        "ml": Fraction(1),
        "l": Fraction(1000),
        "floz": Fraction("29.5735295625"),
        "gal": Fraction("3785.411784"),
    }
    CUSTOMARY: ClassVar[frozenset[str]] = frozenset({"floz", "gal"})

    def __post_init__(self) -> None:
        if not 0 <= self.ml <= LARGEST:
            raise BadQuantity(_not_kept("volume", self.ml, "mL"), hint=f"Volumes go from 0 to {LARGEST} mL.")

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a volume such as ``250mL``, ``1.5 L`` or ``0.5 gal`` (US liquid).

        Litres with a fraction of a millilitre are refused; gallons and fluid ounces go to the nearest millilitre.

        Raises:
            BadQuantity: No number, no unit, an unknown unit, less than zero, or a fraction of a millilitre.
        """
        exact, unit = _read(text, cls.UNITS, "volume", "250mL, 1.5L or 0.5gal")
        if unit in cls.CUSTOMARY:
            exact = Fraction(round(exact))
        if exact.denominator != 1:
            raise BadQuantity(f"“{text}” has a fraction of a millilitre.", hint="Write whole millilitres.")
        if exact < 0:
            raise BadQuantity(f"“{text}” is less than nothing.", hint="Volumes are zero or more.")
        return cls(int(exact))

    def __str__(self) -> str:
        if self.ml < 1000:
            return f"{self.ml} mL"
        return f"{_plain(Decimal(self.ml) / 1000)} L"


def _not_kept(noun: str, amount: int, unit: str) -> str:
    # Python refuses to write out numbers of thousands of digits.
    told = f"{amount} {unit}" if abs(amount) < 10**_LONGEST else "such a size"
    return f"A {noun} of {told} cannot be kept."


def _plain(value: Decimal) -> str:
    shown = format(value, "f")
    return shown.rstrip("0").rstrip(".") if "." in shown else shown
