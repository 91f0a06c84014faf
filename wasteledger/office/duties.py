"""What was done for a rule: a report filed, a certification sent, a test made, a receipt asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from wasteledger.errors import NotUnderstood, Unknown, WasteLedgerError
from wasteledger.ledger.append import Desk
from wasteledger.ledger.reader import Reader
from wasteledger.model.filings import DutyDone
from wasteledger.model.standing.refusals import NotThereYet
from wasteledger.office.bodies import make
from wasteledger.office.circumstances import circumstances_of
from wasteledger.office.due import calendar_of, known_holidays, laid_over, ordinances_in_force
from wasteledger.office.duty_days import (
    NotItsDay,
    Shown,
    check_due_day,
    check_turn,
    done_before,
    of_subject,
    open_day,
    warnings_of,
    what_is_next,
)
from wasteledger.office.provision_words import AUTHORITY_DECIDES
from wasteledger.office.triggers import triggers_of
from wasteledger.office.words import short_day
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
from wasteledger.ordinance import (
    Duty,
    Event,
    Kind,
    Obligation,
    Ordinance,
    Provision,
    Rule,
    Trigger,
    in_force,
    obligations,
)
from wasteledger.ordinance.clocks import SITE
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

__all__ = ["OWN_COMMANDS", "About", "NotDoneHere", "NotItsDay", "WhichOne", "check_duty_done", "record_duty_done"]

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
        NotItsDay: *due_on* is none of the rule's days.
        NotTheirTask: A filing, by somebody who does not do the office's papers.
    """
    with place.writing(EVERYBODY) as desk:
        ordinance, found = _the_rule(_in_force(desk), rule)
        if found.duty in FILINGS:
            check_role(desk, place.by or "", OFFICE)
        today = desk.now.astimezone(zone_of(desk)).date()
        on = (said.at or desk.now).astimezone(zone_of(desk)).date()
        before = said_before(desk, said, DutyDone)
        triggers = triggers_of(desk, zone_of(desk))
        running = _running(desk, on, ordinance, found, triggers)
        named = _named(desk, found, about, running, before)
        subject = " ".join(named) if named else SITE
        last = done_before(_in_force(desk), triggers, ordinance, found, subject)
        shown = Shown(ordinance, found, on, of_subject(running, subject), last)
        if due_on is not None and (before is None or before.due_on != due_on):
            check_due_day(shown, due_on)
        answered = due_on or (before.due_on if before else open_day(shown))
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
        then = triggers_of(desk, zone_of(desk))
        after = of_subject(_running(desk, on, ordinance, found, then), subject)
    says = f"{found.title} ({found.id} of {ordinance.title}) recorded as done"
    says += f" for {subject}" if named else ""
    says += f", due {short_day(answered)}." if answered else "."
    has_begun = Event.FIRST_DISCHARGE not in found.triggers or any(
        one.event is Event.FIRST_DISCHARGE for one in triggers
    )
    warnings = warnings_of(shown, after, due_on, answered, appended.entry.seq, has_begun=has_begun)
    cautions = (*what_is_next(shown, after, answered, today), AUTHORITY_DECIDES)
    return answer(appended, says, warnings=() if appended.repeated else warnings, cautions=cautions)


def check_duty_done(reader: Reader, done: DutyDone, before: DutyDone | None = None) -> None:
    """Refuse what recording it would have refused: a rule that is not in force, or another duty than the rule's.

    *before* is what a correction changes: what it leaves as it was is not asked again, and whether a separator, a
    container or a pickup is named stays as it was, so that what was done for one never counts for all.

    Raises:
        Unknown: No ordinance in force has that rule.
        NotDoneHere: The rule asks for something else, or for what has a command of its own.
        NotItsDay: It names a day that never comes round for the rule.
    """
    if before is not None:
        for what in ("separator", "container", "pickup"):
            if (getattr(done, what) is None) != (getattr(before, what) is None):
                raise NotDoneHere(
                    f"Whether a {what} is named cannot be corrected.",
                    hint="Make the entry void (--void), and record what was done anew: wasteledger done.",
                )
        if _asked_of(done) == _asked_of(before):
            return
    if done.ordinance is None or done.rule is None:
        raise NotDoneHere("It does not say for which rule it was done.", hint="Name both: ordinance=… and rule=….")
    _, rule = _the_rule(_in_force(reader), f"{done.ordinance}:{done.rule}")
    if rule.duty != done.duty:
        raise NotDoneHere(
            f"{rule.id} ({rule.title}) asks for “{rule.duty}”, not for “{done.duty}”.",
            hint="Correct the rule and the duty together, or make the entry void and record the other one.",
        )
    if done.due_on is not None:
        check_turn(rule, done.due_on)


def _asked_of(done: DutyDone) -> tuple[object, ...]:
    return done.duty, done.ordinance, done.rule, done.due_on


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


def _running(
    reader: Reader, on: date, ordinance: Ordinance, rule: Rule, triggers: Sequence[Trigger]
) -> tuple[Obligation, ...]:
    rules = _in_force(reader)
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
