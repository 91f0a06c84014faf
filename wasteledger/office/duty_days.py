"""Which of a rule's days something done answers: the open one, one that it names, or one that was answered before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from wasteledger.errors import NotUnderstood
from wasteledger.office.words import short_day
from wasteledger.ordinance import Duty, Event, Obligation, Ordinance, Rule, Trigger
from wasteledger.ordinance.doings import SITE, done_for, twins_of
from wasteledger.ordinance.obligations import Basis
from wasteledger.ordinance.periodic import EARLY_DAYS, first_due_from, told
from wasteledger.ordinance.rules import EachYear, EveryYears


class NotItsDay(NotUnderstood):
    """The day is none of those by which the rule asks for it."""

    code = "not-its-day"


@dataclass(frozen=True, slots=True)
class Shown:
    """What the journal showed of a rule for one subject, before what is recorded now.

    Attributes:
        on: The day on which it was done.
        running: The clocks that ran, soonest first.
        last: What was recorded last as done for it; None where nothing was.
    """

    ordinance: Ordinance
    rule: Rule
    on: date
    running: tuple[Obligation, ...]
    last: Trigger | None

    @property
    def days(self) -> set[date]:
        """The due days that are open."""
        return {one.due_on for one in self.running}


def of_subject(running: Sequence[Obligation], subject: str) -> tuple[Obligation, ...]:
    """Of *running* the clocks of one subject."""
    return tuple(one for one in running if one.subject == subject)


def done_before(
    rules: Sequence[Ordinance], triggers: Sequence[Trigger], ordinance: Ordinance, rule: Rule, subject: str
) -> Trigger | None:
    """What was recorded last as done for the rule and the subject."""
    doings = [one for one in triggers if one.event is Event.DUTY_DONE and one.subject in (subject, SITE)]
    found = done_for(doings, ordinance, rule, twins_of(rules))
    return found[-1] if found else None


def open_day(shown: Shown) -> date | None:
    """The first due day that something done on that day answers; None where it is done before the day is open."""
    return next((one.due_on for one in shown.running if opens_on(shown.rule, one) <= shown.on), None)


def check_turn(rule: Rule, due_on: date) -> None:
    """Refuse a day that never comes round for a rule whose days the calendar sets.

    Raises:
        NotItsDay: It is none of them.
    """
    if not isinstance(rule.due, EachYear | EveryYears):
        return
    turn = first_due_from(rule.due, due_on)
    if turn is None or turn.due_on != due_on:
        then = f" The next after that is {short_day(turn.due_on)}." if turn is not None else ""
        raise NotItsDay(
            f"{short_day(due_on)} is none of the days of {rule.id}.", hint=f"It is asked {told(rule.due)}.{then}"
        )


def check_due_day(shown: Shown, due_on: date) -> None:
    """Refuse a due day that is none of the rule's.

    Where no clock runs and nothing was done yet, it is filed ahead, and there is no day to hold it against.

    Raises:
        NotItsDay: It is none of them.
    """
    rule, first = shown.rule, min(shown.days, default=None)
    if due_on in shown.days:
        return
    if isinstance(rule.due, EachYear | EveryYears):
        turn = first_due_from(rule.due, due_on)
        if turn is not None and turn.due_on == due_on:
            return
    elif first is None and (shown.last is None or shown.last.answers_on == due_on):
        return
    if first is not None:
        hint = f"Open is {short_day(first)}: write --due {first.isoformat()}, or leave --due out."
    elif shown.last is not None:
        hint = f"None is open: it is {_already(shown.last)}. Leave --due out."
    else:
        # Only a day of the calendar comes here.
        check_turn(rule, due_on)
        return
    raise NotItsDay(f"{short_day(due_on)} is none of the days of {rule.id}.", hint=hint)


def warnings_of(
    shown: Shown,
    after: Sequence[Obligation],
    typed: date | None,
    answered: date | None,
    seq: int,
    *,
    has_begun: bool,
) -> tuple[str, ...]:
    """What to be told of what was just recorded as entry *seq*; *has_begun*: the practice has its first discharge."""
    rule, before, on, days = shown.rule, shown.running, shown.on, shown.days
    said = []
    early = next((one for one in before if one.due_on == typed and opens_on(rule, one) > on), None)
    if rule.is_set_aside:
        said.append(f"{rule.id} is set aside here: {rule.override}")
    if not before:
        said.append(_no_clock(shown, has_begun=has_begun))
    elif typed is not None and typed not in days:
        said.append(f"The journal counts {' and '.join(map(short_day, sorted(days)))} for it, not {short_day(typed)}.")
    elif answered is None:
        said.extend(_before_it_opens(shown, before[0], seq))
    elif early is not None:
        said.append(
            f"It was done before {short_day(opens_on(rule, early))}, from when it is taken to answer "
            f"{short_day(early.due_on)}. It counts for that day because the entry names it; the authority may see it "
            "otherwise."
        )
    if answered is not None and before and _is_of_a_year_not_over(rule, answered, on):
        said.append(
            f"The year before {short_day(answered)} is not over: a report of its amounts cannot hold all of them."
        )
    if answered in days and _days_and_starts(before) == _days_and_starts(after):
        said.append(f"Its clock runs on as before: what was done on {short_day(on)} does not end it.")
    return tuple(said)


def what_is_next(shown: Shown, after: Sequence[Obligation], answered: date | None, today: date) -> Iterator[str]:
    """The day that is open now, where it is another one."""
    known = _days_and_starts(shown.running)
    for one in after:
        if (one.due_on, one.trigger_seq) in known:
            continue
        if one.due_on >= today:
            yield f"Next: {short_day(one.due_on)} ({one.counted})."
            continue
        older = f"This answers an older day, {short_day(answered)}. " if answered and answered < one.due_on else ""
        yield f"{older}Open now: {short_day(one.due_on)}, which has passed{' as well' if older else ''}."


def opens_on(rule: Rule, obligation: Obligation) -> date:
    """From which day on something done is taken to answer that due day."""
    if obligation.opens_on is not None:
        return obligation.opens_on
    if obligation.basis is Basis.CALENDAR and obligation.due_on.toordinal() > EARLY_DAYS:
        return max(obligation.trigger_on, obligation.due_on - timedelta(days=EARLY_DAYS))
    if obligation.event is Event.FIRST_DISCHARGE and not rule.recurs:
        # A report is commonly filed before the first wastewater, and is the report of that wastewater.
        return date.min
    return obligation.trigger_on


def _no_clock(shown: Shown, *, has_begun: bool) -> str:
    if shown.last is not None:
        return f"It is {_already(shown.last)}; this is written down as well."
    if not has_begun and not shown.rule.recurs and not shown.rule.is_set_aside:
        return "No first discharge is recorded yet; this is written down, and counts for it once it is."
    return "No clock of this rule ran here; it is written down all the same."


def _before_it_opens(shown: Shown, first: Obligation, seq: int) -> Iterator[str]:
    last = shown.last
    yield (
        f"It was done before {short_day(opens_on(shown.rule, first))}, from when it is taken to answer "
        f"{short_day(first.due_on)}."
    )
    if last is not None and last.answers_on is not None:
        yield f"What was recorded last is entry {last.seq}, for {short_day(last.answers_on)}."
    comes_round = isinstance(shown.rule.due, EachYear | EveryYears) and Event.DUTY_DONE in shown.rule.triggers
    if comes_round or not shown.rule.recurs:
        named = f"wasteledger correct {seq} --set due_on={first.due_on.isoformat()} --reason TEXT"
        yield f"If it is meant for {short_day(first.due_on)}: {named}"


def _already(last: Trigger) -> str:
    answered = f"for {short_day(last.answers_on)}" if last.answers_on is not None else f"on {short_day(last.on)}"
    return f"recorded already in entry {last.seq}, {answered}"


def _is_of_a_year_not_over(rule: Rule, answered: date, on: date) -> bool:
    """Whether amounts were reported in the year that they are of: what is due in a year is that of the year before."""
    return rule.duty == Duty.REPORT_AMOUNTS and isinstance(rule.due, EachYear) and on.year < answered.year


def _days_and_starts(found: Sequence[Obligation]) -> set[tuple[date, int]]:
    return {(one.due_on, one.trigger_seq) for one in found}
