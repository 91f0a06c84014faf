"""Masses as a shipping paper wants them: whole kilograms or pounds, and when to ask whether a package is regulated.

A uniform manifest states quantities in whole units, a part of a unit rounded to the nearest, with K for kilograms and
P for pounds; it knows no grams (instructions to EPA Form 8700-22, items 11 and 12, in the appendix to 40 CFR part
262). The ledger keeps its milligrams; these figures are for the paper alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from wasteledger.errors import NotUnderstood
from wasteledger.units import Mass

POUND_MG = Mass.UNITS["lb"]
"""One avoirdupois pound, exactly (NIST Special Publication 811, 2008 edition, appendix B.8)."""

SHARE_OF_MERCURY = 0.5
"""The share of mercury in amalgam that is reckoned with where nothing better is known: about half by mass."""


class NoShare(NotUnderstood):
    """A share that is no part of a whole."""

    code = "no-share"

    def __init__(self, share: float) -> None:
        super().__init__(f"{share} is no share of a mass.", hint="A share lies between 0 and 1.")


@dataclass(frozen=True, slots=True)
class WholeUnits:
    """One mass in whole kilograms, and the same in whole pounds; a paper carries one of them."""

    kilograms: int
    pounds: int

    @property
    def words(self) -> str:
        """How it may be written, such as ``1 K or 3 P``; a unit in which nothing is left is not offered."""
        offered = [f"{number} {unit}" for number, unit in ((self.kilograms, "K"), (self.pounds, "P")) if number]
        return " or ".join(offered) or "less than half a pound, which no whole unit shows: ask who receives it"


def whole_units(mass_mg: int) -> WholeUnits:
    """A mass in whole units, each rounded to the nearest from the exact mass; halves go up.

    The instructions say “nearest” and leave the half open; up is this program's own reading.

    >>> whole_units(1_460_000)
    WholeUnits(kilograms=1, pounds=3)

    Raises:
        BadQuantity: Less than nothing.
    """
    mass = Mass(mass_mg)
    return WholeUnits(_nearest(mass.in_unit("kg")), _nearest(mass.in_unit("lb")))


def asks_shipper(amalgam_mg: int, mercury_share: float = SHARE_OF_MERCURY) -> bool:
    """Whether one package holds a pound of mercury or more, so that its shipper is to be asked.

    At that mass mercury can be a hazardous substance in transport (49 CFR 171.8 and appendix A to 172.101, the mass
    from memory; letter 04-0245 of 24 November 2004 says that amalgam can be one because of its mercury). It is a
    prompt and decides nothing: the shipper classes the package (49 CFR 173.22).

    Args:
        amalgam_mg: Amalgam in the one package, in mg.
        mercury_share: The part of it that is mercury, 0 to 1.

    Raises:
        BadQuantity: A mass less than nothing.
        NoShare: A share below 0 or above 1.
    """
    if not 0 <= mercury_share <= 1:
        raise NoShare(mercury_share)
    # The shortest decimal that reads back as this float is what was meant: 0.1 is a tenth here.
    return Mass(amalgam_mg).mg * Fraction(repr(float(mercury_share))) >= POUND_MG


def _nearest(exact: Fraction) -> int:
    return int(exact + Fraction(1, 2))
