"""What a practice is, as far as an ordinance asks before it speaks: specialty, drain, distance, generator category.

What is not known is taken so that the rule applies: nobody falls out of a rule because a line of the register is blank.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from wasteledger.ordinance.merge import in_force
from wasteledger.ordinance.rules import Ordinance, Provision, Rule, Scope
from wasteledger.ordinance.words import Specialty, Wastewater


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What is known of a practice.

    Attributes:
        specialties: All that is practised, and nothing else; None when not stated.
        wastewater: Where the evacuation lines drain to; None when not stated.
        is_mobile: A mobile unit.
        only_emergencies: Amalgam is never placed, and removed in unplanned emergencies only.
        haul_miles: How far the waste travels to its facility; None when not stated.
        categories: Generator category by the ordinance that sets it; without one it is not known.
        since: The first day of that category, by ordinance; without one it always was so.
        months: The highest category in the half year up to a month, by ordinance and the month's first day, as far as
            it was counted: what leaves in a quiet month was made in the months before.
        unsettled: Ordinances whose category an interval leaves open; the highest that it may be is named.
        may_be: Of those ordinances all the categories that it may be, the highest first: no duty of any is dropped.
    """

    specialties: frozenset[Specialty] | None = None
    wastewater: Wastewater | None = None
    is_mobile: bool = False
    only_emergencies: bool = False
    haul_miles: int | None = None
    categories: Mapping[str, str] = field(default_factory=dict)
    since: Mapping[str, date] = field(default_factory=dict)
    months: Mapping[str, Mapping[date, str]] = field(default_factory=dict)
    unsettled: frozenset[str] = frozenset()
    may_be: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class OutOfScope:
    """An ordinance that leaves this practice out, wholly or but for some duties, by its own words on whom it covers.

    Attributes:
        ordinance: Which.
        scope: The provision that says so.
        why: What of the practice it turns on, in words.
        leaves: Duties that stay all the same.
    """

    ordinance: Ordinance
    scope: Scope
    why: str
    leaves: tuple[str, ...] = ()


def out_of_scope(ordinances: Sequence[Ordinance], circumstances: Circumstances) -> tuple[OutOfScope, ...]:
    """The ordinances that leave such a practice out.

    Raises:
        BadOrdinance: The ordinances do not fit together.
    """
    found = (left_out(ordinance, circumstances) for ordinance in in_force(ordinances))
    return tuple(one for one in found if one is not None)


def left_out(ordinance: Ordinance, circumstances: Circumstances) -> OutOfScope | None:
    """Whether, and why, *ordinance* (overrides laid over it) leaves such a practice out."""
    scope = ordinance.scope
    if scope is None or scope.is_set_aside:
        return None
    practised = circumstances.specialties
    if practised and practised <= frozenset(scope.exempt_specialties):
        names = ", ".join(sorted(one.value.replace("_", " ") for one in practised))
        return OutOfScope(ordinance, scope, f"only {names} is practised here")
    if circumstances.is_mobile and scope.covers_mobile_units is False:
        return OutOfScope(ordinance, scope, "this is a mobile unit")
    if circumstances.wastewater in (Wastewater.SEPTIC, Wastewater.COLLECTED) and scope.covers_septic is False:
        drain = "a septic system" if circumstances.wastewater is Wastewater.SEPTIC else "a tank that is collected"
        return OutOfScope(ordinance, scope, f"the evacuation lines drain to {drain}")
    if circumstances.only_emergencies and scope.emergency_leaves:
        why = "amalgam is never placed here, and removed in emergencies only"
        return OutOfScope(ordinance, scope, why, tuple(scope.emergency_leaves))
    return None


def speaking_to(ordinances: Sequence[Ordinance], circumstances: Circumstances) -> tuple[Ordinance, ...]:
    """The ordinances as they speak to such a practice: overrides laid over, and what is asked of others left out.

    One that leaves the practice out keeps its words on whom it covers, and the duties that stay.

    Raises:
        BadOrdinance: The ordinances do not fit together.
    """

    def heard(ordinance: Ordinance) -> Ordinance:
        out = left_out(ordinance, circumstances)

        def kept(provision: Provision) -> Provision | None:
            if isinstance(provision, Scope):
                return provision
            if out is not None and not (isinstance(provision, Rule) and provision.duty in out.leaves):
                return None
            return provision if condition_of(provision, ordinance, circumstances) is not None else None

        # The overrides are laid already, and may name what has just been left out.
        return replace(ordinance.changed(kept), overrides=())

    return tuple(heard(ordinance) for ordinance in in_force(ordinances))


def condition_of(provision: Provision, ordinance: Ordinance, circumstances: Circumstances) -> str | None:
    """On what the provision's applying here rests, in words; empty when on nothing; None when it does not apply."""
    said: list[str] = []
    if provision.only_for:
        category = circumstances.categories.get(ordinance.id)
        is_open = ordinance.id in circumstances.unsettled
        possible = circumstances.may_be.get(ordinance.id, ()) or (category,)
        if category is not None and set(possible).isdisjoint(provision.only_for):
            return None
        asked = f"asked of {' and '.join(provision.only_for)} only"
        if category is None:
            said.append(f"{asked}; the category here is not known")
        elif is_open and category not in provision.only_for:
            lower = "".join(f", may be {name}" for name in possible if name != category)
            said.append(f"{asked}; the practice may be {category} now{lower}; the estimate leaves it open")
        elif is_open:
            said.append(f"{asked}; the practice may be {category} now, the estimate leaves it open")
        else:
            since = circumstances.since.get(ordinance.id)
            said.append(f"{asked}, as here {f'since {since}' if since else 'now'}")
    if isinstance(provision, Rule):
        by_way = _by_way(provision, circumstances)
        if by_way is None:
            return None
        said += [by_way] if by_way else []
    return "; ".join(said)


def condition_then(rule: Provision, ordinance: Ordinance, circumstances: Circumstances, on: date) -> str | None:
    """The same for a deed of the day *on*, judged by the category of its month; a month not counted leaves it in."""
    category = circumstances.months.get(ordinance.id, {}).get(on.replace(day=1))
    asked = f"asked of {' and '.join(rule.only_for)} only"
    if category is None:
        return f"{asked}; the category of {on:%B %Y} is not known"
    return f"{asked}, as here in the half year to {on:%B %Y}" if category in rule.only_for else None


def _by_way(rule: Rule, circumstances: Circumstances) -> str | None:
    miles = circumstances.haul_miles
    if rule.haul_over_miles is not None:
        if miles is None or miles <= rule.haul_over_miles:
            return None
        return f"the waste travels {miles} miles, over {rule.haul_over_miles}"
    if rule.haul_up_to_miles is not None:
        if miles is not None and miles > rule.haul_up_to_miles:
            return None
        if miles is None:
            return f"taken as no more than {rule.haul_up_to_miles} miles: the way to the facility is not entered"
    return ""
