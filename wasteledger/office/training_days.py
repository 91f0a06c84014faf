"""Which day of a rule on training a training answers, and which is open next; or that it answers none, and why."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, tzinfo

from wasteledger.ledger.reader import Reader
from wasteledger.office.circumstances import circumstances_of
from wasteledger.office.due import calendar_of, known_holidays, laid_over, ordinances_in_force
from wasteledger.office.duty_days import Shown, open_day, opens_on, what_is_next
from wasteledger.office.triggers import triggers_of
from wasteledger.office.words import short_day
from wasteledger.ordinance import Duty, Kind, Obligation, Ordinance, in_force, obligations
from wasteledger.ordinance.rules import EachYear, EveryYears


def trainings_asked(reader: Reader, zone: tzinfo, on: date) -> tuple[Shown, ...]:
    """Each rule in force that asks for training, with its clocks as the journal has them now.

    Args:
        reader: The site.
        zone: Its time zone.
        on: The day on which the training was held.

    Raises:
        BadOrdinance: An ordinance in force cannot be read.
    """
    rules = in_force(laid_over(ordinances_in_force(reader))[0])
    asking = [
        (ordinance, rule)
        for ordinance in rules
        for rule in ordinance.rules
        if rule.duty == Duty.TRAIN_STAFF and rule.kind is Kind.DEADLINE and not rule.is_set_aside
    ]
    if not asking:
        return ()
    running = _running(reader, zone, on, rules)
    return tuple(
        Shown(
            ordinance,
            rule,
            on,
            tuple(one for one in running if (one.ordinance, one.rule) == (ordinance.id, rule.id)),
            None,
        )
        for ordinance, rule in asking
    )


def answered_by_training(before: Sequence[Shown], after: Sequence[Shown], today: date) -> tuple[list[str], list[str]]:
    """What to be told of a training that was just recorded: the rules that it does not answer, and those it does."""
    missed: list[str] = []
    answers: list[str] = []
    for was, now in zip(before, after, strict=True):
        name = f"{was.rule.id} of {was.ordinance.title}"
        if was.running and _clocks(was) == _clocks(now):
            missed.append(" ".join(_not_counted(was, name)))
            continue
        said = list(what_is_next(was, now.running, open_day(was), today))
        answered = min(was.days - now.days, default=None)
        if answered is not None:
            said.insert(0, f"It answers {name}, due {short_day(answered)}.")
        elif said:
            said.insert(0, f"{name}:")
        if said:
            answers.append(" ".join(said))
    return missed, answers


def _not_counted(shown: Shown, name: str) -> Iterator[str]:
    first = shown.running[0]
    opens = opens_on(shown.rule, first)
    if opens > shown.on:
        yield (
            f"It is too early for {name}, due {short_day(first.due_on)}, which is taken to be answered from "
            f"{short_day(opens)} on."
        )
    else:
        yield f"It does not count for {name}, due {short_day(first.due_on)}."
    command = f"wasteledger done {shown.ordinance.id}:{shown.rule.id} --due {first.due_on.isoformat()}"
    yield f"If it is meant for that day: {command}"


def _running(reader: Reader, zone: tzinfo, on: date, rules: Sequence[Ordinance]) -> tuple[Obligation, ...]:
    triggers = triggers_of(reader, zone)
    known = circumstances_of(reader, on, rules, triggers)
    return obligations(rules, triggers, calendar_of(reader), known_holidays(), known)


def _clocks(shown: Shown) -> set[tuple[date, int]]:
    """The clocks that run; of a rule whose days the calendar sets the days alone, which a training may leave open."""
    has_turns = isinstance(shown.rule.due, EachYear | EveryYears)
    return {(one.due_on, 0 if has_turns else one.trigger_seq) for one in shown.running}
