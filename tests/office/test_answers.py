"""The answers as a whole: which period is spoken of, what closes a gap, and that no answer is a verdict."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta

import pytest

from tests.makers import Watch
from tests.office.asking import CHICAGO, asked, lacks, numbers, on, point_with, put_in_force, says, unrecorded
from tests.office.makers import Crew, chain_end, open_pail, released
from wasteledger.errors import NotUnderstood
from wasteledger.model.filings import PaperKind, StatementTopic
from wasteledger.model.register import SiteDetails
from wasteledger.office.answers import Sort, State, answers
from wasteledger.office.corrections import correct_entry
from wasteledger.office.filings import file_paper, record_statement, record_training
from wasteledger.office.people import register_line
from wasteledger.office.pickups import receive_pickup
from wasteledger.office.separator import inspect_separator
from wasteledger.office.swaps import record_line_cleaning, record_milestone, record_swap
from wasteledger.office.workplace import Said, site_details

TODAY = date(2026, 3, 2)

# Which question asks for which statement.
STATED = {
    StatementTopic.ALL_AMALGAM_CHAIRS_ON_SEPARATOR: 1,
    StatementTopic.INSTALLED_AS_THE_MAKER_SAYS: 3,
    StatementTopic.SIZED_FOR_PEAK_FLOW: 4,
    StatementTopic.TRAPS_KEPT_FROM_SINKS: 12,
    StatementTopic.NO_BULK_MERCURY: 16,
    StatementTopic.CAPSULES_RECYCLED: 17,
    StatementTopic.AMALGAM_KEPT_FROM_OTHER_BINS: 18,
    StatementTopic.NO_PROHIBITED_ACT: 34,
}
# Which question asks for which paper, and the words by which it says that there is none; empty where others answer.
FILED = {
    PaperKind.CERTIFICATE: (2, "no certificate is noted"),
    PaperKind.SEPARATOR_PHOTO: (7, ""),
    PaperKind.OPERATING_MANUAL: (9, "no manual is noted"),
    PaperKind.PROCEDURE: (12, ""),
    PaperKind.SAFETY_SHEET: (15, "no safety sheet is noted"),
    PaperKind.RECYCLER_INSTRUCTIONS: (21, "No instructions of the recycler are noted"),
    PaperKind.INVOICE: (23, "No invoice or contract is noted"),
    PaperKind.CONTRACT: (23, "No invoice or contract is noted"),
    PaperKind.ONE_TIME_REPORT: (28, "Where the copy lies is not noted"),
    PaperKind.MAINTENANCE_PLAN: (29, "No such plan is noted"),
    PaperKind.CERTIFICATION: (32, "No notice to an authority is noted"),
}


def busy(crew: Crew) -> None:
    """A little of everything."""
    open_pail(crew.kim)
    record_swap(crew.kim, "1-HV")
    record_line_cleaning(crew.kim, ("r1", "r2"))
    inspect_separator(crew.kim, "SEP", "attention", level=400, follow_up="Look again on Friday.")
    record_milestone(crew.mo, "one_time_report_filed")
    record_training(crew.mo, ("kim",), ("handling",))
    record_statement(crew.mo, "no_bulk_mercury")
    record_statement(crew.mo, "capsules_recycled", holds=False, why="The tub came late.")
    file_paper(crew.mo, "certificate", "Binder 2", separator="SEP")
    released(crew.mo)


# -- as a whole --------------------------------------------------------------------------------------------------------


def test_every_question_is_answered_on_a_new_ledger_and_nothing_is_written(crew: Crew) -> None:
    before = chain_end(crew.iris)

    found = answers(crew.iris)

    assert numbers(found.answers) == list(range(1, 35))
    assert all(one.points and all(point.says.endswith(".") for point in one.points) for one in found.answers)
    assert numbers(found.in_state(State.OUT_OF_SCOPE)) == [31]
    assert found.wants_attention
    assert found.missing == sum(point.sort is Sort.MISSING for one in found.answers for point in one.points)
    end = chain_end(crew.iris)
    assert end == before
    assert end is not None
    assert (found.rests_on, found.digest) == (end.entries, end.digest)


def test_no_answer_is_a_verdict(crew: Crew) -> None:
    busy(crew)
    found = answers(crew.iris)
    words = " ".join(f"{one.question.asks} {says(one)}" for one in found.answers)

    assert not re.search(r"(?i)\b(?:non-?)?complian|\b(?:il)?legal|\blawful|\bpass(?:ed|es)?\b|\bfail", words)


def test_evidence_is_the_number_of_an_entry_of_before_the_end(crew: Crew) -> None:
    busy(crew)
    found = answers(crew.iris)
    shown_by = {seq for one in found.answers for seq in one.seqs}

    assert len(shown_by) > 20
    with crew.iris.reading() as reader:
        for seq in shown_by:
            assert reader.get_entry(seq).happened_at.astimezone(CHICAGO).date() <= found.until
    assert all(point.seqs == tuple(sorted(set(point.seqs))) for one in found.answers for point in one.points)


def test_the_period_is_the_last_year_unless_it_is_said(crew: Crew) -> None:
    found = answers(crew.iris)

    assert (found.since, found.until) == (date(2025, 3, 3), TODAY)
    assert found.begins_on == date(2026, 1, 1)
    assert found.begins_within
    assert not answers(crew.iris, since=date(2026, 2, 1)).begins_within


def test_a_year_that_ends_on_a_leap_day_begins_the_day_after_its_last_day_of_february(crew: Crew, watch: Watch) -> None:
    watch.wait(days=730)
    assert crew.iris.today() == date(2028, 3, 1)

    assert answers(crew.iris, until=date(2028, 2, 29)).since == date(2027, 3, 1)


@pytest.mark.parametrize(
    ("since", "until"),
    [(None, TODAY + timedelta(days=1)), (TODAY, TODAY - timedelta(days=1))],
    ids=["future", "turned"],
)
def test_a_period_that_cannot_be_is_refused(crew: Crew, since: date | None, until: date) -> None:
    with pytest.raises(NotUnderstood) as caught:
        answers(crew.iris, since=since, until=until)

    assert caught.value.hint


def test_what_came_after_the_period_is_not_seen(crew: Crew, watch: Watch) -> None:
    record_statement(crew.mo, "no_bulk_mercury")
    file_paper(crew.mo, "maintenance_plan", "Binder 1")
    watch.wait(days=1)

    assert asked(crew.iris, 16, until=TODAY - timedelta(days=1)).state is State.GAP
    assert asked(crew.iris, 29, until=TODAY - timedelta(days=1)).state is State.NOT_ASKED
    assert asked(crew.iris, 16, until=TODAY).state is State.PARTLY
    assert asked(crew.iris, 29, until=TODAY).state is State.ANSWERED


# -- statements and papers ---------------------------------------------------------------------------------------------


def test_every_topic_and_every_paper_but_other_has_its_question() -> None:
    assert set(STATED) == set(StatementTopic)
    assert set(FILED) == set(PaperKind) - {PaperKind.OTHER}


@pytest.mark.parametrize(("topic", "number"), STATED.items())
def test_a_statement_closes_its_gap_and_a_denial_says_why(
    crew: Crew, watch: Watch, topic: StatementTopic, number: int
) -> None:
    gap = point_with(asked(crew.iris, number), "No statement is on file that")
    assert (gap.sort, gap.seqs, gap.do) == (Sort.MISSING, (), f"wasteledger statement {topic}")

    stated = record_statement(crew.mo, topic)
    point = point_with(asked(crew.iris, number), "Mo stated on 2 Mar 2026 that")
    assert (point.sort, point.seqs) == (Sort.SHOWN, (stated.seq,))

    watch.wait(days=1)
    denied = record_statement(crew.mo, topic, holds=False, why="Found otherwise.")
    point = point_with(asked(crew.iris, number), "Mo stated on 3 Mar 2026 that it does not hold that")
    assert (point.sort, point.seqs) == (Sort.MISSING, (denied.seq,))
    assert point.says.endswith(": Found otherwise.")


@pytest.mark.parametrize("what", FILED)
def test_a_paper_closes_its_gap(crew: Crew, what: PaperKind) -> None:
    number, gap = FILED[what]
    put_in_force(crew.mo, "de-abwv-50")  # one of the questions is Germany's
    assert gap in unrecorded(asked(crew.iris, number))

    filed = file_paper(crew.mo, what, "Binder 2", about="mild", document="No. 4")
    answer = asked(crew.iris, number)

    assert point_with(answer, "Binder 2").seqs == (filed.seq,)
    assert not gap or gap not in unrecorded(answer)


def test_a_paper_to_be_had_on_request_says_so_and_another_separators_paper_is_none(crew: Crew) -> None:
    with crew.iris.reading() as reader:
        details = reader.separators()[0].details
    register_line(crew.mo, "SEP-2", details)
    file_paper(crew.mo, "certificate", "the maker", separator="SEP-2", on_request=True)

    answer = asked(crew.iris, 2)

    assert "Certificate of SEP-2 to be had on request from the maker" in says(answer)
    assert lacks(answer) == "SEP: no certificate is noted."


def test_older_papers_of_a_kind_are_counted_not_listed(crew: Crew) -> None:
    for number in range(5):
        file_paper(crew.mo, "invoice", f"Folder {number}")

    answer = asked(crew.iris, 23)

    assert says(answer).count("Invoice on file in") == 3
    assert "Folder 4" in says(answer)
    assert len(point_with(answer, "And 2 older papers of that kind.").seqs) == 2


def test_what_was_made_void_is_no_evidence_and_what_was_replaced_is_shown_by_the_correction(crew: Crew) -> None:
    stated = record_statement(crew.mo, "sized_for_peak_flow")
    plan = file_paper(crew.mo, "maintenance_plan", "Binder 1")
    correct_entry(crew.mo, stated.seq, "Said by mistake")
    moved = correct_entry(crew.mo, plan.seq, "It is elsewhere", action="replace", changes={"place": "Binder 9"})

    assert asked(crew.iris, 4).state is State.GAP
    point = point_with(asked(crew.iris, 29), "Binder 9")
    assert point.seqs == (moved.seq,)
    assert "Binder 1" not in says(asked(crew.iris, 29))


# -- people ------------------------------------------------------------------------------------------------------------


def test_trainings_name_who_had_one_and_who_had_none(crew: Crew, watch: Watch) -> None:
    assert lacks(asked(crew.iris, 14)) == "No training is recorded in the period."
    first = record_training(crew.mo, ("kim",), ("handling", "line_cleaners"), on(date(2026, 2, 3)), held_by="Mo")

    records, known = asked(crew.iris, 14), asked(crew.iris, 13)

    assert point_with(records, "3 Feb 2026: Kim in handling, line cleaners, held by Mo.").seqs == (first.seq,)
    assert lacks(records) == "None in the period of: Bao, Mo."  # Iris inspects, and is not to be trained
    assert lacks(known) == "No training is recorded of: Bao, Mo."
    assert point_with(known, "Kim was trained in handling, line cleaners.").seqs == (first.seq,)

    watch.wait(days=400)
    later = asked(crew.iris, 14)
    assert lacks(later) == "No training is recorded in the period; the last was on 3 Feb 2026."
    assert later.missing[0].seqs == (first.seq,)


# -- the report, forbidden acts, explanations --------------------------------------------------------------------------


def test_a_report_of_before_the_owner_changed_is_not_the_present_owners(crew: Crew, watch: Watch) -> None:
    filed = record_milestone(crew.mo, "one_time_report_filed")
    assert point_with(asked(crew.iris, 28), "noted as filed on 2 Mar 2026").seqs == (filed.seq,)
    watch.wait(days=1)
    sold = record_milestone(crew.mo, "ownership_transferred")

    gap = point_with(asked(crew.iris, 28), "no report is noted since the transfer of 3 Mar 2026.")
    assert (gap.sort, gap.seqs) == (Sort.MISSING, (sold.seq,))

    watch.wait(days=1)
    again = record_milestone(crew.mo, "one_time_report_filed", Said(note="Under the new name."))
    answer = asked(crew.iris, 28)
    assert "no report is noted since" not in says(answer)
    assert point_with(answer, "noted as filed on 4 Mar 2026 (Under the new name).").seqs == (again.seq,)
    assert point_with(answer, "Ownership was transferred on 3 Mar 2026.").seqs == (sold.seq,)
    earlier = point_with(asked(crew.iris, 28, until=date(2026, 3, 3)), "no report is noted since the transfer")
    assert earlier.sort is Sort.SHOWN
    assert earlier.says.endswith(f"up to 3 Mar 2026; one is noted on 4 Mar 2026 (entry {again.seq}).")


def test_a_report_on_file_is_not_said_to_be_the_present_owners(crew: Crew) -> None:
    """No entry ties a report to an owner: with everything noted the question is answered in part."""
    with crew.iris.reading() as reader:
        site = site_details(reader)
    register_line(crew.mo, "elm", SiteDetails(**site.model_dump() | {"owner": "Imke (invented)"}))
    said = Said(datetime(2021, 6, 15, 12, tzinfo=CHICAGO), note="Done in 2021; noted when this ledger was begun.")
    record_milestone(crew.mo, "one_time_report_filed", said)
    file_paper(crew.mo, "one_time_report", "Binder 2")

    answer = asked(crew.iris, 28)

    assert not answer.missing
    assert answer.state is State.PARTLY
    assert "(Done in 2021; noted when this ledger was begun)" in says(answer)
    assert "No transfer of ownership is noted; the practice is in this journal since 1 Jan 2026." in says(answer)
    assert "Whose name the report bears" in says(answer, Sort.HERE)


def test_a_note_on_a_transfer_of_ownership_is_shown(crew: Crew) -> None:
    record_milestone(crew.mo, "ownership_transferred", Said(note="Sold to Imke."))

    assert "Ownership was transferred on 2 Mar 2026 (Sold to Imke)." in says(asked(crew.iris, 28))


def test_an_odd_inspection_wants_a_follow_up_or_a_repair(crew: Crew) -> None:
    silent = inspect_separator(crew.kim, "SEP", "in order", leak_seen=True)
    inspect_separator(crew.kim, "SEP", "attention", follow_up="Seal ordered.")

    answer = asked(crew.iris, 33)

    assert "2 inspections found something; 1 with a follow-up or a repair after it." in says(answer)
    assert point_with(answer, "No follow-up is noted").seqs == (silent.seq,)


def test_blanks_are_counted_up_to_yesterday(crew: Crew) -> None:
    """Four traps on five working days, Monday 23 to Friday 27 February 2026: twenty looks."""
    answer = asked(crew.iris, 33, since=date(2026, 2, 23))

    assert "Looks: 0 of 20 made; of the blanks 0 with a reason, 20 without." in says(answer)
    # Counted in looks, as the line above: two traps in r1 and one each in r2 and the plant room make the first four.
    assert unrecorded(answer) == (
        "Blank without a reason: 23 Feb 2026 r1 (2 looks), 23 Feb 2026 r2 (1 look), 23 Feb 2026 plant (1 look), "
        "24 Feb 2026 r1 (2 looks) and 14 more."
    )
    assert says(asked(crew.iris, 33, since=TODAY)) == "No round of the period is over yet."


def test_a_pickup_with_its_papers_leaves_nothing_open(crew: Crew, watch: Watch) -> None:
    open_pail(crew.kim)
    record_swap(crew.kim, "1-HV")
    released(crew.mo)
    watch.wait(days=3)
    receive_pickup(crew.mo, "P-1", received_on=TODAY + timedelta(days=2), final_facility="Stillhouse, Upper Marlow")

    assert "No proof of recycling" not in lacks(asked(crew.iris, 17))
    assert "No receipt of" not in lacks(asked(crew.iris, 23))
    assert "No paper that came back" not in lacks(asked(crew.iris, 24))
