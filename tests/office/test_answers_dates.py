"""What was there only from a day of the period on, and what ended only after its last day."""

from __future__ import annotations

from datetime import date

from tests.office.asking import asked, lacks, point_with, put_in_force, says, unrecorded
from tests.office.makers import Crew
from tests.office.separator_days import entered, exchanged, inspected, repaired
from wasteledger.office.answers import Sort, State

# -- a separator that was put in during the period ---------------------------------------------------------------------


def test_no_inspection_is_asked_of_a_separator_that_was_not_there_yet(crew: Crew) -> None:
    """Put in on Tuesday 10 February: 10 to 20 is ten days, 20 February to 2 March ten more, and one whole week lies
    between, Monday 16 to Sunday 22; before, from 1 January, there were forty days and five weeks without it.
    """
    entered(crew.mo, installed_on=date(2026, 2, 10), inspect_every_days=10)
    inspected(crew.kim, date(2026, 2, 20))

    answer = asked(crew.iris, 5)

    assert answer.state is State.ANSWERED
    assert "never more than 10 days without one." in says(answer)
    assert "Counted from 10 Feb 2026, when it began here." in says(answer)
    weekly = asked(crew.iris, 6)
    assert "SEP: an inspection in 1 of 2 working weeks." in says(weekly)
    assert unrecorded(weekly) == "SEP: none in the week of 23 Feb 2026."
    assert "10 Feb 2026 to 15 Feb 2026, none in it" in says(weekly)


def test_an_inspection_of_before_the_day_that_was_entered_shows_that_it_was_there(crew: Crew) -> None:
    entered(crew.mo, installed_on=date(2026, 2, 10), inspect_every_days=10)
    inspected(crew.kim, date(2026, 1, 20))
    inspected(crew.kim, date(2026, 2, 20))

    late = point_with(asked(crew.iris, 5), "longer than that without one: 20 Jan 2026 to 20 Feb 2026.")

    assert late.sort is Sort.MISSING


def test_the_inspections_of_a_device_of_before_do_not_begin_the_count(crew: Crew) -> None:
    entered(crew.mo, installed_on=date(2026, 2, 10), inspect_every_days=10)
    inspected(crew.kim, date(2026, 1, 3))
    inspected(crew.kim, date(2026, 2, 20))

    assert asked(crew.iris, 5, since=date(2026, 2, 1)).state is State.ANSWERED
    assert asked(crew.iris, 5, since=date(2026, 2, 15)).state is State.ANSWERED


def test_a_separator_of_after_the_period_is_asked_for_nothing_in_it(crew: Crew) -> None:
    entered(crew.mo, date(2026, 1, 15), installed_on=date(2026, 3, 1), inspect_every_days=10)

    for number in (5, 6):
        answer = asked(crew.iris, number, until=date(2026, 2, 20))
        assert says(answer) == "SEP: not in use before 1 Mar 2026, after the period."


def test_the_shortest_interval_of_a_rule_in_force_is_measured_too(crew: Crew) -> None:
    """One district asks for one every 7 days, another every 14: from 26 January to 2 February are 7, to 20 February
    are 18 more.
    """
    entered(crew.mo, inspect_every_days=30)
    seqs = [inspected(crew.kim, date(2026, 1, day)).seq for day in (5, 12, 19, 26)]
    seqs += [inspected(crew.kim, date(2026, 2, day)).seq for day in (2, 20, 25)]
    assert asked(crew.iris, 5).state is State.ANSWERED
    put_in_force(crew.mo, "slow-brook", _EVERY.format(id="slow-brook", days=14))
    put_in_force(crew.mo, "brisk-brook", _EVERY.format(id="brisk-brook", days=7))

    answer = asked(crew.iris, 5)

    assert "IN-7 of Code of brisk-brook asks for one every 7 days." in says(answer, Sort.SHOWN)
    late = point_with(answer, "longer than the 7 days of IN-7 (Code 7)")
    assert late.sort is Sort.MISSING
    assert late.says == "SEP: once longer than the 7 days of IN-7 (Code 7) without one: 2 Feb 2026 to 20 Feb 2026."
    assert late.seqs == (seqs[4], seqs[5])
    assert "IN-14" not in says(answer)


# -- what ended after the period ---------------------------------------------------------------------------------------


def test_a_malfunction_that_was_mended_after_the_period_is_not_said_to_be_open(crew: Crew) -> None:
    found = inspected(crew.kim, date(2026, 2, 3), result="malfunction")
    done = repaired(crew.mo, date(2026, 2, 10))
    end = date(2026, 2, 5)

    for number in (27, 33):
        answer = asked(crew.iris, number, until=end)
        point = point_with(answer, "malfunction found")
        assert point.says == (
            "SEP: malfunction found on 3 Feb 2026, and no repair recorded up to 5 Feb 2026; repaired on 10 Feb 2026 "
            f"(entry {done.seq})."
        )
        assert (point.sort, point.seqs) == (Sort.SHOWN, (found.seq,))
        assert "No follow-up" not in lacks(answer)
    assert "malfunction" not in says(asked(crew.iris, 27))


def test_what_drew_attention_and_was_mended_after_the_period_says_so(crew: Crew) -> None:
    inspected(crew.kim, date(2026, 2, 3), leak_seen=True)
    done = repaired(crew.mo, date(2026, 2, 10))

    answer = asked(crew.iris, 33, until=date(2026, 2, 5))

    words = f"Inspection of 3 Feb 2026: no follow-up up to 5 Feb 2026; repaired on 10 Feb 2026 (entry {done.seq})."
    assert words in says(answer, Sort.SHOWN)
    assert "No follow-up" not in lacks(answer)


def test_a_full_unit_that_was_exchanged_after_the_period_says_so(crew: Crew) -> None:
    inspected(crew.kim, date(2026, 2, 3), level=1000)
    new = exchanged(crew.mo, date(2026, 2, 10))

    for number in (7, 8):
        answer = asked(crew.iris, number, until=date(2026, 2, 5))
        words = f"and no exchange up to 5 Feb 2026; exchanged on 10 Feb 2026 (entry {new.seq})."
        assert point_with(answer, words).sort is Sort.SHOWN


_EVERY = """
schema = 1
[ordinance]
id = "{id}"
title = "Code of {id}"
authority = "Brook District"
level = "local"
version = "1"
dated_on = 2025-01-01
source = "Invented for a test"
[[rule]]
id = "IN-{days}"
title = "Look at the separator"
citation = "Code {days}"
duty = "inspect-separator"
kind = "deadline"
trigger = ["separator_inspected", "separator_installed"]
recurs = true
due = {{ days = {days} }}
asks = "As it says."
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
"""
