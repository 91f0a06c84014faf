"""Digits and words of a mass: rounded as JCGM 100:2008 7.2.6 asks, with "weighed" and "estimate" kept apart.

An uncertainty is given two significant digits, and the value is rounded to match. The uncertainty is carried up, as
7.2.6 allows, unless what would be cut off is a tenth of the last digit kept or less: so 10.47 becomes 11 and 28.05
becomes 28, as printed there. Values go to the nearest step, half to even; the ends of an interval outward, and an end
that is not nothing is never shown as nothing. All of it is arithmetic with whole numbers; no float comes into it.
"""

from __future__ import annotations

from decimal import Decimal

from wasteledger.estimate.containers import Estimate
from wasteledger.units import Mass

_KILOGRAM_MG = 1_000_000
_SAFE_K_PERMILLE = 1960  # k for 95 % of a normal distribution


def round_uncertainty(uncertainty: int) -> tuple[int, int]:
    """An uncertainty with two significant digits, and the step to which its value must be rounded; same unit.

    Below 10 the step stays 1, since there are no fractions of a unit.

    >>> round_uncertainty(1047), round_uncertainty(2805), round_uncertainty(996)
    ((1100, 100), (2800, 100), (1000, 100))

    Raises:
        ValueError: Less than 0.
    """
    if uncertainty < 0:
        raise ValueError("an uncertainty is 0 or more")
    step = 10 ** max(0, len(str(uncertainty)) - 2)
    kept, cut = divmod(uncertainty, step)
    if 10 * cut > step:
        kept += 1
    # 996 carries to 1000, which with two digits has the next step.
    return kept * step, step * 10 if kept == 100 else step


def round_to(value: int, step: int) -> int:
    """*value* to the nearest multiple of *step*, half to even."""
    whole, rest = divmod(value, step)
    return (whole + (2 * rest > step or (2 * rest == step and whole % 2 == 1))) * step


def statement(estimate: Estimate) -> str:
    """What a container holds, in words, for papers and screens; at most 200 signs.

    A weighing reads "812.00 g ± 0.40 g (95 %), weighed"; an estimate "about 230 g, between 80 g and 540 g (95 %),
    estimate, of which 120.00 g weighed, and 3 pieces of unknown mass"; a container that nothing went into "empty".
    """
    if estimate.basis == "empty":
        return "empty"
    if estimate.basis == "weighed":
        return f"{_value_and_uncertainty(estimate.value_mg, estimate.expanded_mg)}, weighed"
    if not estimate.value_mg and not estimate.upper_mg:
        return f"{_pieces(estimate.unknown_pieces) or 'nothing of known mass'}, estimate"
    said = f"about {_value(estimate)}"
    if estimate.expanded_mg:
        said += f", {between(estimate.value_mg, estimate.lower_mg, estimate.upper_mg)}"
    said += ", estimate"
    if estimate.weighed_mg:
        said += f", of which {_weighed_part(estimate)} weighed"
    if estimate.unknown_pieces:
        said += f", and {_pieces(estimate.unknown_pieces)}"
    return said


def between(value_mg: int, lower_mg: int, upper_mg: int) -> str:
    """The 95 % interval of an estimate in words, its ends carried outward to the digits that its width allows.

    >>> between(1_360_000, 1_304_135, 1_417_589)
    'between 1.304 kg and 1.418 kg (95 %)'
    """
    step = round_uncertainty((upper_mg - lower_mg + 1) // 2)[1]
    unit = _unit(round_to(value_mg, step))
    return f"between {_lower_end(lower_mg, step, unit)} and {_shown(-(-upper_mg // step) * step, step, unit)} (95 %)"


def figure(estimate: Estimate) -> str:
    """The value alone with its mark, for a column or a label: "= 812.00 g", "~ 230 g", "~ 230 g + 3 pieces"."""
    if estimate.basis == "empty":
        return "empty"
    more = f" + {_count(estimate.unknown_pieces)}" if estimate.unknown_pieces else ""
    return f"{mark(estimate)} {_value(estimate)}{more}"


def mark(estimate: Estimate) -> str:
    """The sign that goes before a mass: ``=`` weighed, ``~`` estimate, none for an empty container."""
    return {"weighed": "=", "estimate": "~", "empty": ""}[estimate.basis]


def _value(estimate: Estimate) -> str:
    if not estimate.expanded_mg:
        return str(Mass(estimate.value_mg))
    step, unit = _step_and_unit(estimate)
    return _shown(round_to(estimate.value_mg, step), step, unit)


def _lower_end(lower_mg: int, step: int, unit: str) -> str:
    # An end that is something must not be shown as nothing: one digit of it then, still rounded down.
    if 0 < lower_mg < step:
        step = 10 ** (len(str(lower_mg)) - 1)
    return _shown(lower_mg // step * step, step, unit)


def _value_and_uncertainty(value_mg: int, expanded_mg: int) -> str:
    if not expanded_mg:
        return f"{Mass(value_mg)} (limits of the scale not stated)"
    rounded_mg, step = round_uncertainty(expanded_mg)
    value_mg = round_to(value_mg, step)
    unit = _unit(value_mg)
    return f"{_shown(value_mg, step, unit)} ± {_shown(rounded_mg, step, unit)} (95 %)"


def _weighed_part(estimate: Estimate) -> str:
    # Rounded by the scale's own uncertainty, not by that of the whole, which would make 120 g out of 119.62 g.
    expanded_mg = -(-estimate.scale_mg * _SAFE_K_PERMILLE // 1000)
    if not expanded_mg:
        return str(Mass(estimate.weighed_mg))
    step = round_uncertainty(expanded_mg)[1]
    weighed_mg = round_to(estimate.weighed_mg, step)
    return _shown(weighed_mg, step, _unit(weighed_mg))


def _step_and_unit(estimate: Estimate) -> tuple[int, str]:
    step = round_uncertainty(estimate.expanded_mg)[1]
    return step, _unit(round_to(estimate.value_mg, step))


def _unit(mass_mg: int) -> str:
    return "g" if mass_mg < _KILOGRAM_MG else "kg"


def _shown(mass_mg: int, step_mg: int, unit: str) -> str:
    unit_mg = int(Mass.UNITS[unit])
    # As many decimals as the step has in this unit: 10 mg in grams is two, 10 g is none.
    places = max(0, len(str(unit_mg)) - len(str(step_mg)))
    return f"{Decimal(mass_mg).scaleb(1 - len(str(unit_mg))):.{places}f} {unit}"


def _pieces(count: int) -> str:
    return f"{_count(count)} of unknown mass" if count else ""


def _count(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"
