"""What was done for a rule: a report filed, a certification sent, a test made, a receipt asked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from wasteledger.errors import NotUnderstood, Unknown, WasteLedgerError
from wasteledger.ledger.append import Desk
from wasteledger.ledger.reader import Reader
from wasteledger.model.filings import DutyDone
from wasteledger.model.standing.refusals import NotThereYet
from wasteledger.office.bodies import make
from wasteledger.office.circumstances import circumstances_of
from wasteledger.office.due import calendar_of, known_holidays, laid_over, ordinances_in_force
from wasteledger.office.provision_words import AUTHORITY_DECIDES, spelt
from wasteledger.office.triggers import triggers_of
from wasteledger.office.workplace import (
    EVERYBODY,
    OFFICE,
    Recorded,
    Said,
    Workplace,
    answer,
    check_role,
    said_before,
    write,
    zone_of,
)
from wasteledger.ordinance import Duty, Event, Kind, Obligation, Ordinance, Provision, Rule, in_force, obligations
from wasteledger.ordinance.clocks import SITE
from wasteledger.ordinance.obligations import Basis
from wasteledger.ordinance.periodic import EARLY_DAYS
from wasteledger.ordinance.rules import EachYear
from wasteledger.ordinance.words import FILINGS

OWN_COMMANDS: dict[str, str] = {
    Duty.INSPECT_SEPARATOR: "wasteledger separator inspect",
    Duty.REPAIR_SEPARATOR: "wasteledger separator repair",
    Duty.REPLACE_RETAINING_UNIT: "wasteledger separator replace",
    Duty.RETIRE_LEGACY_SEPARATOR: "wasteledger separator repair --action replaced",
    Duty.SHIP_CONTAINER: "wasteledger pickup release",
    Duty.SHIP_STOCK: "wasteledger pickup release",
    Duty.MOVE_SATELLITE_EXCESS: "wasteledger milestone satellite_limit_ended",
    Duty.CLEAN_LINES: "wasteledger line-cleaning",
}
"""Duties whose doing is an entry of its own kind, and the command that writes it."""

_ABOUT: dict[Event, str] = {
    Event.SEPARATOR_INSTALLED: "separator",
    Event.SEPARATOR_INSPECTED: "separator",
    Event.SEPARATOR_TESTED: "separator",
    Event.MALFUNCTION_FOUND: "separator",
    Event.RETAINING_UNIT_REPLACED: "separator",
    Event.RETAINING_UNIT_FULL: "separator",
    Event.CONTAINER_FIRST_WASTE: "container",
    Event.CONTAINER_FULL: "container",
    Event.PICKUP_RELEASED: "pickup",
    Event.PICKUP_RECEIVED: "pickup",
}

_NOTHING_SAID = Said()


class NotDoneHere(WasteLedgerError):
    """What the rule asks is recorded in another way, or is nothing that is ever done."""

    code = "not-done-here"


class WhichOne(NotUnderstood):
    """The rule speaks of a separator, container or pickup, and several are there, or none."""

    code = "which-one"


@dataclass(frozen=True, slots=True)
class About:
    """Which separator, container or pickup something was done for; at most one of them."""

    separator: str | None = None
    container: str | None = None
    pickup: str | None = None

    @property
    def given(self) -> tuple[tuple[str, str], ...]:
        """What was named, with its name."""
        named = (("separator", self.separator), ("container", self.container), ("pickup", self.pickup))
        return tuple((what, ref) for what, ref in named if ref is not None)


_NOTHING_NAMED = About()


def record_duty_done(
    place: Workplace,
    rule: str,
    said: Said = _NOTHING_SAID,
    *,
    about: About = _NOTHING_NAMED,
    due_on: date | None = None,
    document: str | None = None,
    done_by: str | None = None,
) -> Recorded:
    """Record that what *rule* asks was done; ``ordinance:rule`` tells equal names apart.

    Where only one separator, container or pickup has its clock running, it need not be named. Where *due_on* is not
    given, the entry names the day that is open for it, if one is.

    Raises:
        Unknown: No ordinance in force has that rule, or several have.
        NotDoneHere: It sets no day, keeps records, or has a command of its own.
        WhichOne: The separator, container or pickup is not clear, or does not belong to the rule.
        NotTheirTask: A filing, by somebody who does not do the office's papers.
    """
    with place.writing(EVERYBODY) as desk:
        ordinance, found = _the_rule(_in_force(desk), rule)
        if found.duty in FILINGS:
            check_role(desk, place.by or "", OFFICE)
        today = desk.now.astimezone(zone_of(desk)).date()
        on = (said.at or desk.now).astimezone(zone_of(desk)).date()
        before = said_before(desk, said, DutyDone)
        running = _running(desk, on, ordinance, found)
        named = _named(desk, found, about, running, before)
        subject = " ".join(named) if named else SITE
        answered = due_on or (before.due_on if before else _open_day(running, subject, on))
        body = make(
            DutyDone,
            duty=found.duty,
            ordinance=ordinance.id,
            rule=found.id,
            due_on=answered,
            document=document,
            done_by=done_by,
            **({named[0]: named[1]} if named else {}),
        )
        appended = write(desk, body, said)
        after = _running(desk, on, ordinance, found)
    says = f"{found.title} ({found.id} of {ordinance.title}) recorded as done"
    says += f" for {subject}" if named else ""
    says += f", due {spelt(answered)}." if answered else "."
    warnings = _warnings(found, _of(running, subject), _of(after, subject), due_on, answered, on)
    cautions = (*_next(_of(running, subject), _of(after, subject), answered, today), AUTHORITY_DECIDES)
    return answer(appended, says, warnings=() if appended.repeated else warnings, cautions=cautions)


def check_duty_done(reader: Reader, done: DutyDone) -> None:
    """Refuse what recording it would have refused: a rule that is not in force, or another duty than the rule's.

    Raises:
        Unknown: No ordinance in force has that rule.
        NotDoneHere: The rule asks for something else, or for what has a command of its own.
    """
    if done.ordinance is None or done.rule is None:
        raise NotDoneHere("It does not say for which rule it was done.", hint="Name both: ordinance=… and rule=….")
    _, rule = _the_rule(_in_force(reader), f"{done.ordinance}:{done.rule}")
    if rule.duty != done.duty:
        raise NotDoneHere(
            f"{rule.id} ({rule.title}) asks for “{rule.duty}”, not for “{done.duty}”.",
            hint="Correct the rule and the duty together, or make the entry void and record the other one.",
        )


def _in_force(reader: Reader) -> tuple[Ordinance, ...]:
    return in_force(laid_over(ordinances_in_force(reader))[0])


def _the_rule(rules: Sequence[Ordinance], wanted: str) -> tuple[Ordinance, Rule]:
    within, _, name = wanted.rpartition(":")
    found = [
        (ordinance, provision)
        for ordinance in rules
        if within in ("", ordinance.id)
        for provision in ordinance.provisions
        if provision.id.casefold() == name.casefold()
    ]
    if not found:
        known = [f"{one.id}:{rule.id}" if within else rule.id for one in rules for rule in one.rules if _is_done(rule)]
        raise Unknown(
            f"No ordinance in force has a rule “{wanted}”.",
            hint=f"What can be recorded as done: {', '.join(known) or 'nothing'}. See wasteledger ordinance list.",
        )
    if len(found) > 1:
        choices = " or ".join(f"{ordinance.id}:{provision.id}" for ordinance, provision in found)
        raise Unknown(f"Several ordinances have a rule “{name}”.", hint=f"Write {choices}.")
    ordinance, provision = found[0]
    return ordinance, _doable(provision)


def _is_done(rule: Rule) -> bool:
    return rule.kind is Kind.DEADLINE and rule.duty not in OWN_COMMANDS


def _doable(provision: Provision) -> Rule:
    """The rule, where doing it is recorded here.

    Raises:
        NotDoneHere: It is not.
    """
    if not isinstance(provision, Rule):
        raise NotDoneHere(
            f"{provision.id} ({provision.title}) sets no day by which something is done.",
            hint="What the practice states about itself: wasteledger statement. A paper on file: wasteledger paper.",
        )
    if provision.kind is Kind.RETENTION:
        raise NotDoneHere(
            f"{provision.id} ({provision.title}) says how long records are kept; there is nothing to be done by a day.",
            hint="How long each record is kept: wasteledger due --retention.",
        )
    if provision.duty in OWN_COMMANDS:
        raise NotDoneHere(
            f"What {provision.id} ({provision.title}) asks is recorded as what it is, not as a rule done.",
            hint=f"Write it with {OWN_COMMANDS[provision.duty]}; its clock follows from that entry.",
        )
    return provision


def _running(reader: Reader, on: date, ordinance: Ordinance, rule: Rule) -> tuple[Obligation, ...]:
    rules, triggers = _in_force(reader), triggers_of(reader, zone_of(reader))
    known = circumstances_of(reader, on, rules, triggers)
    found = obligations(rules, triggers, calendar_of(reader), known_holidays(), known)
    return tuple(one for one in found if (one.ordinance, one.rule) == (ordinance.id, rule.id))


def _named(
    desk: Desk, rule: Rule, about: About, running: Sequence[Obligation], before: DutyDone | None
) -> tuple[str, str] | None:
    events = (*rule.triggers, *((rule.or_when,) if rule.or_when else ()))
    kinds = list(dict.fromkeys(_ABOUT[event] for event in events if event in _ABOUT))
    given = about.given
    if len(given) > 1 or any(what not in kinds for what, _ in given):
        meant = f"It speaks of a {' or '.join(kinds)}" if kinds else "It speaks of the whole practice"
        raise WhichOne(f"{rule.id} does not speak of {' and '.join(' '.join(one) for one in given)}.", hint=f"{meant}.")
    if given:
        what, ref = given[0]
        if _find(desk, what, ref) is None:
            raise NotThereYet(what, ref)
        return what, ref
    if not kinds:
        return None
    if before is not None:
        earlier = ((what, getattr(before, what)) for what in kinds)
        return next(((what, ref) for what, ref in earlier if ref is not None), None)
    there = sorted({one.subject for one in running if one.subject != SITE})
    if not there and kinds == ["separator"]:
        there = [f"separator {one.separator}" for one in desk.separators()]
    if len(there) == 1:
        what, _, ref = there[0].partition(" ")
        return what, ref
    options = " or ".join(f"--{what}" for what in kinds)
    listed = f": its clock runs for {', '.join(there)}" if there else ", though its clock runs for none now"
    raise WhichOne(f"For which {' or '.join(kinds)} was {rule.id} done?", hint=f"Name it with {options}{listed}.")


def _find(reader: Reader, what: str, ref: str) -> object | None:
    match what:
        case "separator":
            return reader.find_separator(ref)
        case "container":
            return reader.find_container(ref)
        case _:
            return reader.find_pickup(ref)


def _of(running: Sequence[Obligation], subject: str) -> tuple[Obligation, ...]:
    return tuple(one for one in running if one.subject == subject)


def _open_day(running: Sequence[Obligation], subject: str, on: date) -> date | None:
    """The first due day that something done on that day answers; None where it is done before the day is open."""
    return next((one.due_on for one in _of(running, subject) if _opens_on(one) <= on), None)


def _opens_on(obligation: Obligation) -> date:
    if obligation.opens_on is not None:
        return obligation.opens_on
    if obligation.basis is Basis.CALENDAR and obligation.due_on.toordinal() > EARLY_DAYS:
        return max(obligation.trigger_on, obligation.due_on - timedelta(days=EARLY_DAYS))
    return obligation.trigger_on


def _warnings(
    rule: Rule,
    before: Sequence[Obligation],
    after: Sequence[Obligation],
    typed: date | None,
    answered: date | None,
    on: date,
) -> tuple[str, ...]:
    said = []
    days = {one.due_on for one in before}
    early = next((one for one in before if one.due_on == typed and _opens_on(one) > on), None)
    if rule.is_set_aside:
        said.append(f"{rule.id} is set aside here: {rule.override}")
    if not before:
        said.append("No clock of this rule ran here; it is written down all the same.")
    elif typed is not None and typed not in days:
        said.append(f"The journal counts {' and '.join(map(spelt, sorted(days)))} for it, not {spelt(typed)}.")
    elif answered is None:
        first = before[0]
        said.append(
            f"It was done before {spelt(_opens_on(first))}, from when it is taken to answer {spelt(first.due_on)}. "
            "If it is meant for that day, make this entry void and write it again with --due."
        )
    elif early is not None:
        said.append(
            f"It was done before {spelt(_opens_on(early))}, from when it is taken to answer {spelt(early.due_on)}. "
            "It counts for that day because the entry names it; the authority may see it otherwise."
        )
    if answered is not None and before and _is_of_a_year_not_over(rule, answered, on):
        said.append(f"The year before {spelt(answered)} is not over: a report of its amounts cannot hold all of them.")
    if answered in days and _days_and_starts(before) == _days_and_starts(after):
        said.append(f"Its clock runs on as before: what was done on {spelt(on)} does not end it.")
    return tuple(said)


def _is_of_a_year_not_over(rule: Rule, answered: date, on: date) -> bool:
    """Whether amounts were reported in the year that they are of: what is due in a year is that of the year before."""
    return rule.duty == Duty.REPORT_AMOUNTS and isinstance(rule.due, EachYear) and on.year < answered.year


def _next(
    before: Sequence[Obligation], after: Sequence[Obligation], answered: date | None, today: date
) -> Iterator[str]:
    known = _days_and_starts(before)
    for one in after:
        if (one.due_on, one.trigger_seq) in known:
            continue
        if one.due_on >= today:
            yield f"Next: {spelt(one.due_on)} ({one.counted})."
            continue
        older = f"This answers an older day, {spelt(answered)}. " if answered and answered < one.due_on else ""
        yield f"{older}Open now: {spelt(one.due_on)}, which has passed{' as well' if older else ''}."


def _days_and_starts(found: Sequence[Obligation]) -> set[tuple[date, int]]:
    return {(one.due_on, one.trigger_seq) for one in found}
