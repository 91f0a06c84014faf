"""Several ordinances at once: each keeps its own rules, and a nearer one may lay its word over a wider one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import TypeVar

from wasteledger.errors import Unknown
from wasteledger.ordinance.dues import fits
from wasteledger.ordinance.faults import BadOrdinance, Fault
from wasteledger.ordinance.rules import AppliedOverride, Ordinance, Override, Provision, Rule, SharingRule
from wasteledger.ordinance.words import Level

_Laid = TypeVar("_Laid", bound=Provision)

_WIDEST_TO_NEAREST = ", then ".join(level for level in Level if level is not Level.OFFICE)


def in_force(ordinances: Sequence[Ordinance]) -> tuple[Ordinance, ...]:
    """The ordinances with every override laid over its provision; applied twice it gives the same.

    An override wins over what it names, whether stricter or not, because the local authority decides; the provision
    keeps its own wording beside it, and says by whom and why it was changed. Law gives way to nearer law only, a local
    file to another local one too (a letter changes a printed code); an office's conventions give way to everybody. Of
    several overrides the nearest authority's wins, the office's last.

    Raises:
        BadOrdinance: Two files have one id; an override names something that is not in force or that its level
            cannot change, does not fit what it names, or has a rival of the same level.
    """
    faults = [
        Fault(ordinance.file, 0, "ordinance.id", f"“{ordinance.id}” is in force twice.", "Name each ordinance once.")
        for ordinance in ordinances
        if Counter(other.id for other in ordinances)[ordinance.id] > 1
    ]
    wins: dict[tuple[str, str], _Claim] = {}
    for by in sorted(ordinances, key=_authority):
        for override in by.overrides:
            if fault := _misfit(by, override, ordinances):
                faults.append(fault)
                continue
            named = (override.ordinance, override.provision)
            if (rival := wins.get(named)) and rival.by.level is by.level:
                problem = f"{override.provision} is also changed by {rival.by.title}, of the same level."
                faults.append(_fault(by, override, problem, "Leave one of the two."))
            wins[named] = _Claim(by, override)
    if faults:
        raise BadOrdinance(tuple(faults))
    return tuple(_laid_over(ordinance, wins) for ordinance in ordinances)


def get_provision(ordinances: Sequence[Ordinance], provision: str) -> tuple[Ordinance, Provision]:
    """The provision of that id and the ordinance it stands in; ``ordinance:provision`` tells equal ids apart.

    Raises:
        Unknown: No ordinance in force has it, or several have.
    """
    within, _, wanted = provision.rpartition(":")
    found = [
        (ordinance, candidate)
        for ordinance in in_force(ordinances)
        if not within or ordinance.id == within
        for candidate in ordinance.provisions
        if candidate.id == wanted
    ]
    if len(found) == 1:
        return found[0]
    if found:
        places = " or ".join(f"{ordinance.id}:{wanted}" for ordinance, _ in found)
        raise Unknown(f"Several ordinances have a provision “{wanted}”.", hint=f"Write {places}.")
    known = ", ".join(candidate.id for ordinance in ordinances for candidate in ordinance.provisions)
    raise Unknown(f"No ordinance in force has a provision “{provision}”.", hint=f"There are {known or 'none'}.")


@dataclass(frozen=True, slots=True)
class _Claim:
    by: Ordinance
    override: Override


def _misfit(by: Ordinance, override: Override, ordinances: Sequence[Ordinance]) -> Fault | None:
    target = next((ordinance for ordinance in ordinances if ordinance.id == override.ordinance), None)
    if target is None:
        known = [ordinance.id for ordinance in ordinances if ordinance is not by]
        accepted = f"{_meant(override.ordinance, known)}In force: {', '.join(known) or 'no other'}."
        return _fault(by, override, f"The ordinance “{override.ordinance}” is not in force.", accepted)
    if not _may_change(by, target):
        problem = f"A file of level {by.level} cannot change one of level {target.level}."
        return _fault(by, override, problem, f"Law gives way to nearer law only: {_WIDEST_TO_NEAREST}.")
    provision = next((candidate for candidate in target.provisions if candidate.id == override.provision), None)
    if provision is None:
        known = [candidate.id for candidate in target.provisions]
        accepted = f"{_meant(override.provision, known)}It has {', '.join(known)}."
        return _fault(by, override, f"{target.id} has no provision “{override.provision}”.", accepted)
    if override.due is not None and not _due_fits(provision, override):
        return _fault(by, override, f"This due day does not fit {provision.id}.", f"It is “{provision.title}”.")
    if override.together is not None and not isinstance(provision, SharingRule):
        problem = f"{provision.id} does not say which streams may lie together."
        return _fault(by, override, problem, f"It is “{provision.title}”.")
    return None


def _meant(written: str, known: Sequence[str]) -> str:
    near = get_close_matches(written, known, n=1)
    return f"Perhaps “{near[0]}” is meant. " if near else ""


def _authority(ordinance: Ordinance) -> int:
    return -1 if ordinance.level is Level.OFFICE else ordinance.level.nearness


def _may_change(by: Ordinance, target: Ordinance) -> bool:
    if target.level is Level.OFFICE:
        return by is not target
    if by.level is target.level is Level.LOCAL and by is not target:
        # A letter of the authority may change its printed code; two files that change each other would have no order.
        return not any(override.ordinance == by.id for override in target.overrides)
    return _authority(by) > _authority(target)


def _due_fits(provision: Provision, override: Override) -> bool:
    return isinstance(provision, Rule) and override.due is not None and fits(provision.kind, override.due)


def _fault(by: Ordinance, override: Override, problem: str, accepted: str) -> Fault:
    return Fault(by.file, override.line, f"override of {override.ordinance}:{override.provision}", problem, accepted)


def _laid_over(ordinance: Ordinance, wins: dict[tuple[str, str], _Claim]) -> Ordinance:
    return ordinance.changed(lambda provision: _with_claim(provision, wins.get((ordinance.id, provision.id))))


def _with_claim(provision: _Laid, claim: _Claim | None) -> _Laid:
    if claim is None:
        return provision
    override, original = claim.override, provision.override.original if provision.override else provision
    applied = AppliedOverride(
        by_id=claim.by.id,
        by_title=claim.by.title,
        reason=override.reason,
        citation=override.citation,
        confirmed=override.confirmed,
        confirmed_note=override.confirmed_note,
        sets_aside=override.sets_aside,
        original=original,
        together=override.together,
    )
    laid = replace(provision, override=applied, asks=override.asks or original.asks)
    if override.due is not None and isinstance(laid, Rule) and isinstance(original, Rule):
        return replace(laid, due=override.due)
    if override.together is not None and isinstance(laid, SharingRule):
        return replace(laid, together=override.together)
    return laid
