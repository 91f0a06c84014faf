"""Puts the questions in force to a period of the journal."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date, timedelta
from types import MappingProxyType

from dateutil.relativedelta import relativedelta

from wasteledger.errors import NotUnderstood
from wasteledger.office.answers import conduct, containers, papers, reports, separator_care, separators, traps, waste
from wasteledger.office.answers.inquiry import Inquiry
from wasteledger.office.answers.points import Answer, Answers, Point, Sort, elsewhere
from wasteledger.office.answers.questions import Question, questions_in_force
from wasteledger.office.workplace import Workplace, site_details, zone_of

Answerer = Callable[[Inquiry], Iterator[Point]]

ANSWERERS: Mapping[str, Answerer] = MappingProxyType(
    {
        answerer.__name__: answerer
        for answerer in (
            separators.separator_in_place,
            separators.certificate,
            separators.installed_rightly,
            separators.peak_flow,
            separator_care.inspected_by_the_manual,
            separator_care.weekly_log,
            separator_care.too_full,
            separator_care.full_units_exchanged,
            separators.manual_here,
            traps.traps_everywhere,
            traps.cared_for,
            traps.kept_from_sinks,
            papers.staff_know,
            papers.training_records,
            traps.line_cleaner,
            waste.bulk_mercury,
            waste.all_recycled,
            waste.other_bins,
            containers.containers_here,
            containers.containers_sound,
            papers.recycler_instructions,
            waste.yearly_transfer,
            papers.papers_of_shipments,
            waste.last_recycler,
            waste.amount,
            papers.contractors,
            separator_care.repairs,
            reports.report_on_file,
            papers.maintenance_plan,
            separators.shared_separator,
            papers.other_chemicals,
            papers.maintenance_book,
            conduct.explained,
            conduct.prohibited,
        )
    }
)
"""What a list of questions may ask for, by the name that it says."""


def answers(place: Workplace, *, since: date | None = None, until: date | None = None) -> Answers:
    """Every question in force, answered for the days from *since* to *until*, both included.

    What stands and what is on file is taken as at the end of *until*; corrections made since count.

    Args:
        place: Which site.
        since: First day; where None, a year before the last.
        until: Last day; where None, today.

    Raises:
        NotUnderstood: The period would end before it begins, or has not come yet.
        BadQuestions: The list of questions has faults.
        BadOrdinance: An ordinance that the register has in force cannot be read.
    """
    today = place.today()
    last = until or today
    if last > today:
        raise NotUnderstood(f"{last.isoformat()} has not come yet.", hint=f"Ask up to today, {today.isoformat()}.")
    first: date = since or last - relativedelta(years=1) + timedelta(days=1)
    if first > last:
        raise NotUnderstood(
            f"The period would begin on {first.isoformat()}, after its end on {last.isoformat()}.",
            hint="Give --from a day that is not after --to.",
        )
    questions = questions_in_force(ANSWERERS.keys())
    with place.reading() as reader:
        asked = Inquiry(reader, zone_of(reader), first, last, place.ledger.clock())
        end = reader.chain_end()
        return Answers(
            site=reader.site,
            name=site_details(reader).name,
            since=first,
            until=last,
            begins_on=asked.begins_on,
            rests_on=end.entries if end else 0,
            digest=end.digest if end else "",
            answers=tuple(_answer(asked, one) for one in questions),
        )


def _answer(asked: Inquiry, question: Question) -> Answer:
    """What can be said to a question; of another place's, whose it is, and that it is not asked here if so listed."""
    at_home = question.is_at_home(asked.in_force)
    if not at_home and not question.is_asked_elsewhere:
        words = f"Not asked here: no ordinance of {question.place} is in force."
        return Answer(question, (elsewhere(words),))
    asked.question = question
    points = tuple(ANSWERERS[question.answer](asked))
    if at_home:
        return Answer(question, points)
    # Nobody asks it here, so that nothing is missing: what is not recorded is said, and no more.
    said = tuple(elsewhere(one.says, one.seqs) if one.sort is Sort.MISSING else one for one in points)
    return Answer(question, said, f"A question of {question.place}; no ordinance of that place is in force here.")
