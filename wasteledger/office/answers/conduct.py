"""Answers about how things are done: what was found wrong or left blank and why, and what is forbidden."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from wasteledger.model.entries import Repair, SeparatorInspection
from wasteledger.model.filings import Statement, StatementTopic
from wasteledger.office.answers.inquiry import Inquiry, Noted, cited
from wasteledger.office.answers.points import Point, missing, shown, some
from wasteledger.office.answers.separator_care import mended_by, open_malfunctions
from wasteledger.office.coverage import Coverage, coverage
from wasteledger.office.words import count, short_day
from wasteledger.ordinance import in_force, practices
from wasteledger.ordinance.rules import CleanerLimit, ContainerNeeds, Provision

_MOST_BLANKS = 4


def explained(asked: Inquiry) -> Iterator[Point]:
    """Question 33: what does not hold, what was found wrong, what was left blank, and the word beside each."""
    newest = {noted.body.topic: noted for noted in asked.until_end(Statement)}
    denied = [noted for noted in newest.values() if not noted.body.holds]
    for noted in denied:
        why = " ".join((noted.body.why or "").split()).rstrip(".")
        yield shown(f"Stated that it does not hold: {noted.body.topic.replace('_', ' ')}. Why: {why}.", (noted.seq,))
    yield from _found_wrong(asked)
    yield from open_malfunctions(asked)
    yield from _looks(asked)


def prohibited(asked: Inquiry) -> Iterator[Point]:
    """Question 34: the statement, and every act that the rules in force forbid."""
    yield asked.stated(StatementTopic.NO_PROHIBITED_ACT, "nothing was done that the rules forbid")
    forbidden = list(_forbidden(asked))
    for provision, words in forbidden:
        yield shown(f"Forbidden: {words} ({cited(provision)}).")
    if not forbidden:
        yield missing("No rule in force here names what is never to be done.")


def _forbidden(asked: Inquiry) -> Iterator[tuple[Provision, str]]:
    for said in practices(asked.ordinances, on=asked.until):
        if said.provision.forbids:
            yield said.provision, said.provision.title
    for ordinance in in_force(asked.ordinances):
        for provision in (*ordinance.cleaners, *ordinance.containers):
            if provision.is_set_aside or not provision.stands_on(asked.until):
                continue
            match provision:
                case CleanerLimit():
                    banned = ["oxidisers"] if provision.bans_oxidisers else []
                    banned += provision.banned_chemistry
                case ContainerNeeds():
                    banned = [f"{what} added" for what in provision.never_add]
            if banned:
                yield provision, f"{provision.title}, no {', no '.join(banned)}"


def _looks(asked: Inquiry) -> Iterator[Point]:
    # The round of the last day is walked in its evening, so that day counts only when it is over.
    last = min(asked.until, asked.day(asked.now) - timedelta(days=1))
    if last >= asked.since:
        yield from _blanks(coverage(asked.reader, asked.zone, asked.since, last))
    else:
        yield shown("No round of the period is over yet.")


def _found_wrong(asked: Inquiry) -> Iterator[Point]:
    odd = [
        noted
        for noted in asked.within(SeparatorInspection)
        if noted.body.result != "in order" or noted.body.bypass_seen or noted.body.leak_seen
    ]
    repairs = {noted.seq: mended_by(asked, noted) for noted in odd}
    answered = [noted for noted in odd if noted.body.follow_up or _in_time(asked, repairs[noted.seq])]
    late = [noted for noted in odd if noted not in answered and repairs[noted.seq] is not None]
    if odd:
        words = (
            f"{count(len(odd), 'inspection')} found something; {len(answered)} with a follow-up or a repair after it."
        )
        yield shown(words, (noted.seq for noted in odd))
    for noted in late:
        # A malfunction that was mended after the period is told where the open ones are.
        if noted.body.result != "malfunction" and (repair := repairs[noted.seq]) is not None:
            days = f"Inspection of {short_day(noted.on)}: no follow-up up to {short_day(asked.until)}"
            yield shown(f"{days}; repaired on {short_day(repair.on)} (entry {repair.seq}).", (noted.seq,))
    silent = [noted for noted in odd if noted not in answered and noted not in late]
    if silent:
        days = some([short_day(noted.on) for noted in silent])
        words = f"No follow-up is noted of the inspection of {days}."
        yield missing(words, (noted.seq for noted in silent), do="wasteledger correct SEQ --set follow_up=…")


def _in_time(asked: Inquiry, repair: Noted[Repair] | None) -> bool:
    return repair is not None and repair.on <= asked.until


def _blanks(found: Coverage) -> Iterator[Point]:
    said = sum(len(blank.traps) for blank in found.blanks if blank.is_explained)
    silent = sum(len(blank.traps) for blank in found.unexplained)
    yield shown(
        f"Looks: {found.looks_made} of {found.looks_due} made; of the blanks {said} with a reason, {silent} without."
    )
    if silent:
        first = found.unexplained[:_MOST_BLANKS]
        named = [f"{short_day(blank.on)} {blank.room} ({count(len(blank.traps), 'look')})" for blank in first]
        rest = silent - sum(len(blank.traps) for blank in first)
        which = ", ".join(named) + (f" and {rest} more" if rest else "")
        # The unit is the look here, as in the line above: several traps of a room are several looks.
        yield missing(f"Blank without a reason: {which}.", do="wasteledger coverage lists them")
