"""What a forecast rests on, in plain words: how fast it fills, how well that is known, and from what."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal

from wasteledger.forecast.rates import Rate

SHOWN_DAYS = 5
"""Working days over which the rate of filling is told."""

_UNITS = {"mass": (("kg", 1_000_000), ("g", 1_000)), "level": (("L", 1_000), ("mL", 1)), "pieces": (("pieces", 1),)}


def reason_of(
    measure: str, per_day: tuple[float, float, float] | None, rates: Sequence[Rate], *, is_learned: bool, is_full: bool
) -> str:
    """Two or three short sentences.

    Args:
        measure: mass, level or pieces.
        per_day: The 10, 50 and 90 % points of what goes in on a working day, in mg, mL or pieces; None for nothing.
        rates: How often each kind comes.
        is_learned: Whether weighings or readings of this site taught what one swap brings.
        is_full: Whether the limit is more likely reached already than not.
    """
    if is_full:
        return f"It has probably reached its limit of {_noun(measure)} already."
    if per_day is None:
        return "Nothing goes in, as far as the journal shows."
    low, middle, high = (amount(measure, SHOWN_DAYS * one) for one in per_day)
    # "between 4 and 27 pieces": a unit that both ends have is said once.
    low = low.removesuffix(f" {high.split()[-1]}")
    said = f"About {middle} go in during {SHOWN_DAYS} working days (between {low} and {high}, 80 %)."
    return " ".join((said, _swap_words(rates), *_size_words(measure, is_learned)))


def amount(measure: str, value: float) -> str:
    """*value* (mg, mL or pieces) with two significant digits, in the unit that suits it.

    >>> amount("mass", 12_345), amount("level", 0.4), amount("mass", 1_710_000)
    ('12 g', '0.40 mL', '1.7 kg')
    """
    units = _UNITS[measure]
    unit, size = next((one for one in units if value >= one[1]), units[-1])
    shown = Decimal(value) / size
    if not shown:
        return f"0 {unit}"
    places = 1 - math.floor(math.log10(shown))
    rounded = round(shown, places)
    return f"{rounded:.{max(0, places)}f} {unit}"


def _swap_words(rates: Sequence[Rate]) -> str:
    seen = sum(rate.swaps_seen for rate in rates)
    if not seen:
        return "No swap was seen yet, nor a deposit, so the traps' own intervals stand in."
    days = max(rate.days_seen for rate in rates)
    said = f"From {seen} {'swap or deposit' if seen == 1 else 'swaps or deposits'} in {days} working days"
    if all(rate.swaps_seen for rate in rates):
        return f"{said}."
    return f"{said}; for kinds not seen yet, from the traps' own intervals."


def _size_words(measure: str, is_learned: bool) -> tuple[str, ...]:
    match measure, is_learned:
        case "pieces", _:
            return ()
        case "mass", True:
            return ("The mass of a swap was learned from weighings here.",)
        case "mass", False:
            return ("The mass of a swap is a published starting value; no weighing here has taught it yet.",)
        case _, True:
            return ("The volume of a swap was learned from levels read here.",)
        case _:
            return ("The volume of a swap is a starting value; no level read here has taught it yet.",)


def _noun(measure: str) -> str:
    return {"mass": "mass", "level": "its fill line", "pieces": "pieces"}[measure]
