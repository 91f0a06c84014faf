"""One rule explained: what it asks, where it says so, what the journal shows of it, and what is missing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from wasteledger.errors import Unknown
from wasteledger.ledger.reader import Reader
from wasteledger.office.due import SOON_DAYS, calendar_of, known_holidays, laid_over
from wasteledger.office.evidence import evidence_of_rule, keeps_any, looked_for_of_rule
from wasteledger.office.ordinances import ordinance_files
from wasteledger.office.plain import plain
from wasteledger.office.provision_words import AUTHORITY_DECIDES, ShownProvision, shown
from wasteledger.office.rules import registered_ordinances
from wasteledger.office.sight import Evidence, Sight, may_be_asked, not_asked, rests_on, sight_of
from wasteledger.office.undated_evidence import evidence_of_figures, looked_for_of_figures
from wasteledger.ordinance import Kind, Obligation, Ordinance, Provision, Rule, Undated, in_force, obligations, undated
from wasteledger.ordinance.citations import citation_keys, find_cited, keys_of


class NoSuchRule(Unknown):
    """No provision has that name, and none is cited so."""

    code = "no-such-rule"

    def __init__(self, wanted: str, near: Sequence[str]) -> None:
        there = f"In force here: {', '.join(near)}. " if near else ""
        super().__init__(
            f"No ordinance, in force or on file, has a rule “{wanted}” or cites it.",
            hint=f"{there}See wasteledger ordinance list, and ordinance show.",
        )


@dataclass(frozen=True, slots=True)
class Explained:
    """One provision, and what the journal shows of it.

    Attributes:
        how: How it was found, where not by its name: another number of it, a wider or narrower clause.
        in_force: Whether it is in force here; what is not rests on no entry.
        clocks: Its dated clocks that run, soonest first; each says whether another rule comes sooner.
        undated: Its clocks without a day, and why.
        shows: What else the journal shows, with the entries.
        missing: What the journal or the register lacks; a day that has passed is among it.
        looked_for: What was looked for and may be missing; nothing else was.
        is_asked: Whether it asks anything of this practice; if not, `shows` says why, and nothing is missing.
    """

    ordinance: str
    ordinance_title: str
    level: str
    duty: str
    provision: ShownProvision
    how: str
    in_force: bool
    clocks: tuple[Obligation, ...] = ()
    undated: tuple[Undated, ...] = ()
    shows: tuple[Evidence, ...] = ()
    missing: tuple[Evidence, ...] = ()
    looked_for: tuple[str, ...] = ()
    is_asked: bool = True

    def as_json(self, today: date) -> dict[str, Any]:
        """The provision as JSON says it; every clock with its state today."""
        clocks = [
            plain(one) | {"state": one.state_on(today, soon_days=SOON_DAYS).value, "is_forecast": one.is_forecast}
            for one in self.clocks
        ]
        return {**plain(self), "clocks": clocks}


@dataclass(frozen=True, slots=True)
class Explanation:
    """What a name or a citation leads to; several where several ordinances use it.

    Attributes:
        remarks: What does not fit together among the ordinances in force.
    """

    wanted: str
    today: date
    found: tuple[Explained, ...]
    remarks: tuple[str, ...] = field(default=())

    def as_json(self) -> dict[str, Any]:
        """The explanation as JSON says it."""
        return {
            "wanted": self.wanted,
            "today": self.today.isoformat(),
            "found": [one.as_json(self.today) for one in self.found],
            "remarks": plain(self.remarks),
            "decides": AUTHORITY_DECIDES,
        }


def explain(reader: Reader | None, today: date, wanted: str) -> Explanation:
    """What a rule asks, where it says so, what the journal shows of it, and what is missing.

    *wanted* is the name of a provision, ``ordinance:rule`` where several share it, or a citation in any spelling,
    dead and later numbers included. What is in force here goes before what only lies on file; without a ledger there
    are only the files.

    Raises:
        NoSuchRule: Nothing is called or cited so.
        BadOrdinance: An ordinance that the register has in force cannot be read.
    """
    fitting, findings = laid_over(registered_ordinances(reader)) if reader is not None else ((), [])
    rules = in_force(fitting)
    found = look_up(wanted, rules, _on_file(rules))
    here = {ordinance.id for ordinance in rules}
    is_held = reader is not None and any(one.ordinance.id in here for one in found)
    sight = sight_of(reader, today, rules) if reader is not None and is_held else None
    return Explanation(
        wanted=wanted,
        today=today,
        found=tuple(_explained(one, sight if one.ordinance.id in here else None) for one in found),
        remarks=tuple(one.says for one in findings),
    )


@dataclass(frozen=True, slots=True)
class Match:
    """A provision that was looked for, the ordinance it stands in, and how it was found."""

    ordinance: Ordinance
    provision: Provision
    how: str = ""


def look_up(wanted: str, *layers: Sequence[Ordinance]) -> tuple[Match, ...]:
    """The provisions that are called or cited *wanted*, of the first of the *layers* that has any.

    A name goes before a citation, and a citation before the clause around the one that was asked for.

    Raises:
        NoSuchRule: There is none.
    """
    ways: tuple[Callable[[str, Sequence[Ordinance]], list[Match]], ...] = (_by_name, _by_citation, _around)
    for way in ways:
        for layer in layers:
            found = way(wanted.strip(), layer)
            if found:
                return tuple(found)
    raise NoSuchRule(wanted, [one.id for ordinance in layers[0] for one in ordinance.rules])


def _on_file(rules: Sequence[Ordinance]) -> tuple[Ordinance, ...]:
    known = {ordinance.id for ordinance in rules}
    files = (file.ordinance for file in ordinance_files() if file.ordinance is not None)
    return tuple(ordinance for ordinance in files if ordinance.id not in known)


def _by_name(wanted: str, ordinances: Sequence[Ordinance]) -> list[Match]:
    within, _, name = wanted.rpartition(":")
    return [
        Match(ordinance, provision)
        for ordinance in ordinances
        if within in ("", ordinance.id)
        for provision in ordinance.provisions
        if provision.id.casefold() == name.casefold()
    ]


def _by_citation(wanted: str, ordinances: Sequence[Ordinance]) -> list[Match]:
    found = find_cited(ordinances, wanted)
    return [Match(said.ordinance, said.provision, _how(wanted, said.provision)) for said in found]


def _how(wanted: str, provision: Provision) -> str:
    # A number may be asked for without its code.
    ends = (*citation_keys(wanted), "".join(wanted.casefold().split()))
    if any(key.endswith(ends) for key in citation_keys(provision.citation)):
        return ""
    others = (key for text in provision.also_cited_as for key in citation_keys(text))
    if any(key.endswith(ends) for key in others):
        return f"This clause, {provision.citation}, is also cited as “{wanted}”."
    return f"“{wanted}” is wider: this clause stands inside it."


def _around(wanted: str, ordinances: Sequence[Ordinance]) -> list[Match]:
    keys = citation_keys(wanted)
    how = f"“{wanted}” is narrower: this is the clause around it, as far as it is on file."
    return [Match(one.ordinance, one.provision, how) for one in _all_of(ordinances) if _is_inside(keys, one.provision)]


def _all_of(ordinances: Sequence[Ordinance]) -> Iterable[Match]:
    return (Match(ordinance, provision) for ordinance in ordinances for provision in ordinance.provisions)


def _is_inside(keys: Iterable[str], provision: Provision) -> bool:
    return any(key.startswith(f"{around}(") for key in keys for around in keys_of(provision))


def _explained(match: Match, sight: Sight | None) -> Explained:
    ordinance, provision = match.ordinance, match.provision
    bare = Explained(
        ordinance=ordinance.id,
        ordinance_title=ordinance.title,
        level=ordinance.level.value,
        duty=provision.duty if isinstance(provision, Rule) else "",
        provision=shown(provision),
        how=match.how,
        in_force=sight is not None,
    )
    if sight is None:
        return bare
    return _held_against_the_journal(bare, sight, ordinance, provision)


def _held_against_the_journal(bare: Explained, sight: Sight, ordinance: Ordinance, provision: Provision) -> Explained:
    why_not = tuple(not_asked(sight, ordinance, provision))
    if not isinstance(provision, Rule):
        if why_not:
            return replace(bare, shows=why_not, is_asked=False)
        shows, missing = evidence_of_figures(sight, ordinance, provision)
        shows = [*rests_on(sight, ordinance, provision), *shows]
        looked_for = looked_for_of_figures(ordinance, provision)
        return replace(bare, shows=tuple(shows), missing=tuple(missing), looked_for=looked_for)
    clocks: tuple[Obligation, ...] = ()
    if provision.kind is Kind.DEADLINE:
        dated = obligations(
            sight.rules, sight.started, calendar_of(sight.reader), known_holidays(), sight.circumstances
        )
        clocks = tuple(one for one in dated if (one.ordinance, one.rule) == (ordinance.id, provision.id))
    # A deed is judged by what the practice was then: it may be asked for, though the rule asks nothing now.
    asked_then = bool(clocks) or (provision.kind is Kind.RETENTION and keeps_any(sight, ordinance, provision))
    is_asked = not why_not or asked_then
    # No day is counted for a lower category than the highest that is left open, so nothing is said of its clocks.
    is_counted = is_asked and (asked_then or not may_be_asked(sight, ordinance, provision))
    shows, missing = evidence_of_rule(sight, ordinance, provision, clocks, is_asked=is_counted)
    # What a dated clock rests on stands beside its day.
    resting = () if asked_then or why_not else tuple(rests_on(sight, ordinance, provision))
    shows = [*why_not, *resting, *shows]
    if not is_asked:
        return replace(bare, shows=tuple(shows), is_asked=False)
    without = undated(sight.rules, sight.started, sight.circumstances)
    mine = tuple(one for one in without if (one.ordinance, one.rule) == (ordinance.id, provision.id))
    gaps = [Evidence(one.why, (one.trigger_seq,) if one.trigger_seq else ()) for one in mine if one.is_gap]
    return replace(
        bare,
        clocks=clocks,
        undated=mine,
        shows=tuple(shows),
        missing=(*gaps, *missing),
        looked_for=looked_for_of_rule(provision),
    )
