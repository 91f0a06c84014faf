"""What the ordinances in force say of a line or waterline cleaner.

The federal sentence (40 CFR 441.30(b)(2)) names oxidising and acidic cleaners together with a pH band, and can be read
as asking for both at once. The stricter reading is taken: the pH outside the band is a finding by itself, and so is an
oxidiser inside it. Oxidisers are what frees mercury from amalgam, whatever the pH: of 47 products between pH 1.76 and
12.35 only six released more than water did (Batchu et al., J Am Dent Assoc 2006; 137: 1419).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from wasteledger.ordinance.merge import in_force
from wasteledger.ordinance.rules import AppliedOverride, CleanerLimit, Ordinance


class CleanerFault(StrEnum):
    """What about a cleaner a rule speaks against."""

    PH_OUTSIDE = "ph_outside"
    PH_NOT_KNOWN = "ph_not_known"
    OXIDISER = "oxidiser"
    BANNED_CHEMISTRY = "banned_chemistry"


@dataclass(frozen=True, slots=True, kw_only=True)
class CleanerFinding:
    """One thing that one named rule speaks against, in words, with where the rule says so."""

    fault: CleanerFault
    words: str
    rule: str
    ordinance: str
    ordinance_title: str
    citation: str
    confirmed: bool
    standing_of_source: str
    override: AppliedOverride | None


def cleaner_findings(
    ordinances: Sequence[Ordinance],
    *,
    ph_low_tenths: int | None,
    ph_high_tenths: int | None = None,
    oxidiser: bool,
    chemistry: Sequence[str] = (),
) -> tuple[CleanerFinding, ...]:
    """What each rule in force speaks against in a cleaner; empty when none does.

    Args:
        ordinances: All that are in force.
        ph_low_tenths: Lower end of the product's pH as its safety sheet states it, in tenths; None when not known.
        ph_high_tenths: Upper end in tenths; None when the sheet states one figure only.
        oxidiser: Whether it oxidises.
        chemistry: What is in it, in words; a banned word is found inside longer ones too ("hydroperoxides").

    Raises:
        BadOrdinance: The ordinances do not fit together.
    """
    stated = [ph for ph in (ph_low_tenths, ph_high_tenths) if ph is not None]
    found: list[CleanerFinding] = []
    for ordinance in in_force(ordinances):
        for limit in ordinance.cleaners:
            if limit.is_set_aside:
                continue
            if ph := _ph_finding(limit, stated):
                found.append(_finding(ordinance, limit, *ph))
            if limit.bans_oxidisers and oxidiser:
                found.append(_finding(ordinance, limit, CleanerFault.OXIDISER, "The cleaner is an oxidiser."))
            for banned in limit.banned_chemistry:
                if any(banned in words.casefold() for words in chemistry):
                    words = f"The cleaner contains {banned}."
                    found.append(_finding(ordinance, limit, CleanerFault.BANNED_CHEMISTRY, words))
    return tuple(found)


def _ph_finding(limit: CleanerLimit, stated: list[int]) -> tuple[CleanerFault, str] | None:
    low, high = limit.ph_low_tenths, limit.ph_high_tenths
    if low is None and high is None:
        return None
    band = f"from {_ph(low)}" if high is None else f"up to {_ph(high)}" if low is None else f"{_ph(low)} to {_ph(high)}"
    if not stated:
        return CleanerFault.PH_NOT_KNOWN, f"The cleaner's pH is not entered; the band is {band}."
    if (low is not None and min(stated) < low) or (high is not None and max(stated) > high):
        shown = _ph(min(stated)) + (f" to {_ph(max(stated))}" if max(stated) > min(stated) else "")
        return CleanerFault.PH_OUTSIDE, f"The cleaner's pH {shown} lies outside the band {band}."
    return None


def _ph(tenths: int | None) -> str:
    return "" if tenths is None else f"{tenths // 10}.{tenths % 10}"


def _finding(ordinance: Ordinance, limit: CleanerLimit, fault: CleanerFault, words: str) -> CleanerFinding:
    return CleanerFinding(
        fault=fault,
        words=words,
        rule=limit.id,
        ordinance=ordinance.id,
        ordinance_title=ordinance.title,
        citation=limit.citation,
        confirmed=limit.confirmed,
        standing_of_source=limit.standing_of_source,
        override=limit.override,
    )
