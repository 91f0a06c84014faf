"""What the second opinion says of a period, and how JSON says it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from wasteledger.estimate.balance import Balance, StageLine
from wasteledger.estimate.rounding import round_to, round_uncertainty
from wasteledger.model.findings import Finding, Weight
from wasteledger.office.plain import plain

# The command line does not meet the estimate itself.
__all__ = ["SecondOpinion", "StageLine", "in_grams"]


@dataclass(frozen=True, slots=True)
class SecondOpinion:
    """What the second opinion says of a period.

    Attributes:
        balance: The figures: stages, rhythm, weighings.
        removed: Restorations removed that the period's entries tell of.
        placed: Restorations placed, likewise.
        findings: Everything that does not agree, most pressing first.
        remarks: What could not be compared, and why.
    """

    balance: Balance
    removed: int
    placed: int
    findings: tuple[Finding, ...]
    remarks: tuple[str, ...]

    @property
    def wants_attention(self) -> bool:
        """Whether a finding stands that nobody has remarked on."""
        return any(one.weight is not Weight.NOTE for one in self.findings)

    def as_json(self) -> dict[str, Any]:
        """The opinion as JSON says it: masses in whole mg, other real numbers as decimal text."""
        found = self.balance
        return {
            "first_on": plain(found.first_on),
            "last_on": plain(found.last_on),
            "removed": self.removed,
            "placed": self.placed,
            "procedures_share": _real(found.procedures_share, 3),
            "entering_mg": _whole(found.entering_mg),
            "entering_u_mg": _whole(found.entering_u_mg),
            "escaped_mg": _whole(found.escaped_mg),
            "stages": [
                {
                    "stage": one.stage.value,
                    "expected_mg": _whole(one.expected_mg),
                    "expected_u_mg": _whole(one.expected_u_mg),
                    "caught_mg": _whole(one.caught_mg),
                    "caught_u_mg": _whole(one.caught_u_mg),
                    "z": _real(one.z, 2),
                    "reconciled_mg": _whole(one.reconciled_mg),
                    "reconciled_u_mg": _whole(one.reconciled_u_mg),
                    "collecting_share": _real(one.collecting_share, 3),
                }
                for one in found.stages
            ],
            "chi_square": _real(found.chi_square, 2),
            "degrees_of_freedom": found.degrees_of_freedom,
            "p": _real(found.p, 5),
            "suspect": found.suspect,
            "rhythm": _rhythm_json(found),
            "weighings": _weighings_json(found),
            "findings": plain(self.findings),
            "remarks": list(self.remarks),
            "wants_attention": self.wants_attention,
        }


def in_grams(mass_mg: float | None, uncertainty_mg: float | None) -> str:
    """A mass and its standard uncertainty in g, rounded as JCGM 100:2008, 7.2.6 asks; a dash where there is none.

    >>> in_grams(255_731.0, 77_312.0), in_grams(1_234.5, 97.0), in_grams(None, None)
    ('256 ± 78', '1.234 ± 0.097', '–')
    """
    if mass_mg is None or uncertainty_mg is None:
        return "–"
    kept_mg, step_mg = round_uncertainty(math.ceil(uncertainty_mg))
    places = max(0, 4 - len(str(step_mg)))
    value_mg = round_to(round(mass_mg), step_mg)
    return " ± ".join(f"{Decimal(part).scaleb(-3):.{places}f}" for part in (value_mg, kept_mg))


def _rhythm_json(found: Balance) -> dict[str, Any]:
    rhythm = found.rhythm
    return {
        "gaps": rhythm.gaps,
        "usual_days": {trap: _real(days, 1) for trap, days in sorted(rhythm.usual_days.items())},
        "long_gaps": [
            {
                "trap": one.trap,
                "kind": one.kind,
                "room": one.room,
                "from_on": plain(one.from_on),
                "to_on": plain(one.to_on),
                "is_open": one.is_open,
                "working_days": one.working_days,
                "usual_days": _real(one.usual_days, 1),
                "missing": one.missing,
                "chance": _real(one.chance, 6),
                "falls": plain(one.falls),
            }
            for one in rhythm.long_gaps
        ],
        "many": None
        if rhythm.many is None
        else {
            "long": rhythm.many.long,
            "gaps": rhythm.many.gaps,
            "expected": _real(rhythm.many.expected, 1),
            "missing": rhythm.many.missing,
            "chance": _real(rhythm.many.chance, 6),
            "traps": [{"trap": trap, "long": long} for trap, long in rhythm.many.traps],
        },
    }


def _weighings_json(found: Balance) -> dict[str, Any]:
    weighings = found.weighings
    return {
        "chi_square": _real(weighings.chi_square, 2),
        "degrees_of_freedom": weighings.degrees_of_freedom,
        "p": _real(weighings.p, 5),
        "lines": [
            {
                "container": line.check.container,
                "from_on": plain(line.check.from_on),
                "on": plain(line.check.on),
                "weighed_mg": _whole(line.check.weighed_mg),
                "weighed_u_mg": _whole(line.check.weighed_sd_mg),
                "predicted_mg": _whole(line.check.predicted_mg),
                "predicted_u_mg": _whole(line.check.predicted_sd_mg),
                "z": _real(line.z, 2),
                "is_odd": line.is_odd,
                "seq": line.check.seq,
            }
            for line in weighings.lines
        ],
        "swapped": [[one.check.container, other.check.container] for one, other in weighings.swapped],
    }


def _whole(mass_mg: float | None) -> int | None:
    return None if mass_mg is None else round(mass_mg)


def _real(number: float | None, places: int) -> str | None:
    return None if number is None else f"{number:.{places}f}"
