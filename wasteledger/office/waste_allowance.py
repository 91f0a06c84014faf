"""What a judgement reckons with for waste whose mass nothing tells, so that it is not taken as nothing.

Pieces of unknown mass are in no estimate. Where an amount is held against a limit, its upper end takes a generous mass
for each of them. The masses below are this program's own judgement, without a source: they are meant to be too high,
and are no estimate of anything. They only ever raise the upper end.
"""

from __future__ import annotations

from collections.abc import Iterable

from wasteledger.estimate.containers import STREAM
from wasteledger.units import Mass

SMALL_PIECE_MG, BODY_MG, UNIT_MG = 20_000, 150_000, 1_000_000
"""For a small piece such as a used capsule; a trap's body, or a piece of which nothing more is known; a vessel."""

ALLOWANCE_WORDS = (
    f"{Mass(SMALL_PIECE_MG)} for a small piece such as a used capsule, {Mass(UNIT_MG)} for a retaining unit, a pump's "
    f"trap or a vessel of sludge or mercury, {Mass(BODY_MG)} for any other"
)
"""The masses in words."""

_SMALL = frozenset(f"{STREAM}{name}" for name in ("contact", "non_contact", "teeth", "capsules"))
_VESSELS = frozenset(
    {"separator_unit", "pump", *(f"{STREAM}{name}" for name in ("retaining_units", "sludge", "mercury"))}
)


def allowance_mg(unknown: Iterable[tuple[str, int]]) -> int:
    """What the upper end takes, in mg, for pieces and bodies of unknown mass: of each source so many.

    >>> allowance_mg([("stream:capsules", 3), ("high_volume", 1)])
    210000
    """
    return sum(count * _each_mg(source) for source, count in unknown)


def allowed_words(allowed_mg: int, pieces: int) -> str:
    """How much was allowed for how many: ``60 g for 3 pieces of unknown mass``."""
    return f"{Mass(allowed_mg)} for {'1 piece' if pieces == 1 else f'{pieces} pieces'} of unknown mass"


def _each_mg(source: str) -> int:
    if source in _SMALL:
        return SMALL_PIECE_MG
    return UNIT_MG if source in _VESSELS else BODY_MG
