"""Asking a ledger: which entries, in which order, what counted between two times, and what stands."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.makers import (
    KIM,
    MONDAY_MORNING,
    SET_UP_AT,
    TRAPS,
    Clinic,
    a_booking,
    a_closing,
    a_correction,
    a_deposit,
    a_look,
    a_person,
    a_receipt,
    a_release,
    a_replacement,
    a_swap,
    a_trap,
    a_weighing,
    an_inspection,
    an_opening,
)
from wasteledger.ledger.append import Recorder
from wasteledger.ledger.reader import ChainEnd, EntryUnknown, Filter
from wasteledger.model.entries import Milestone
from wasteledger.model.facts import Subject
from wasteledger.model.register import Role


@pytest.fixture
def week(clinic: Clinic) -> Clinic:
    """A week: opened on Monday; a look and a swap each evening, Wednesday's written down on Friday."""
    clinic.append(an_opening(), at=MONDAY_MORNING)
    for day in (0, 1, 3, 4, 2):
        clinic.watch.now = max(clinic.watch.now, MONDAY_MORNING + timedelta(days=day, hours=12))
        evening = MONDAY_MORNING + timedelta(days=day, hours=10)
        with clinic.ledger.writing("elm", Recorder("mo", "web") if day == 2 else KIM) as desk:
            desk.append(a_look(), happened_at=evening)
            desk.append(a_swap(), happened_at=evening)
    return clinic


def seqs(clinic: Clinic, **wanted: object) -> list[int]:
    with clinic.ledger.reading("elm") as reader:
        return [one.seq for one in reader.entries(Filter(**wanted))]  # type: ignore[arg-type]


def test_history_goes_by_the_time_it_happened_or_was_recorded(week: Clinic) -> None:
    since = MONDAY_MORNING

    by_time = seqs(week, since=since)

    assert by_time == [22, 23, 24, 25, 26, 31, 32, 27, 28, 29, 30]
    assert seqs(week, since=since, by_recorded=True) == sorted(by_time)
    assert seqs(week, since=since, newest_first=True) == by_time[::-1]
    assert seqs(week, since=since, newest_first=True, by_recorded=True) == sorted(by_time)[::-1]


def test_history_between_two_times_leaves_the_end_out(week: Clinic) -> None:
    tuesday = MONDAY_MORNING + timedelta(days=1, hours=10)

    assert seqs(week, since=tuesday, until=tuesday + timedelta(days=1)) == [25, 26]
    assert seqs(week, since=tuesday, until=tuesday) == []
    assert seqs(week, until=SET_UP_AT) == []


def test_history_of_some_kinds_people_and_things(week: Clinic) -> None:
    assert seqs(week, kinds=("swap",)) == [24, 26, 32, 28, 30]
    assert seqs(week, kinds=("swap", "container_opened"), recorded_by="mo") == [32]
    assert seqs(week, subjects=(Subject("trap", "2-HV"),)) == [11]
    assert seqs(week, subjects=(Subject("trap", "1-HV"), Subject("container", "C-1"))) == [24, 26, 32, 28, 30]
    assert seqs(week, kinds=("receipt",)) == []


def test_entries_by_what_their_bodies_say(week: Clinic) -> None:
    """Letter by letter: what means something to a search in a database is no more than itself here."""
    written = week.record(a_deposit(note="100 % full_up")).seq

    assert seqs(week, body_says='"container":"C-1"', kinds=("swap",)) == [24, 26, 32, 28, 30]
    assert seqs(week, body_says="100 % full_up") == [written]
    assert seqs(week, body_says="100 _ full") == seqs(week, body_says="1%full") == []
    assert seqs(week, body_says='"container":"C-1"', kinds=("look",)) == []


def test_history_in_pages_adds_up(week: Clinic) -> None:
    whole = seqs(week)

    pages = [seqs(week, limit=4, offset=start) for start in range(0, len(whole), 4)]

    assert [seq for page in pages for seq in page] == whole
    assert seqs(week, offset=len(whole) - 2) == whole[-2:]
    with week.ledger.reading("elm") as reader:
        assert reader.count(Filter(limit=4)) == len(whole)
        assert reader.count(Filter(kinds=("look",), limit=1)) == 5


def test_the_end_of_the_chain(week: Clinic) -> None:
    last = week.entries()[-1]

    with week.ledger.reading("elm") as reader, week.ledger.reading("oak") as other:
        assert reader.chain_end() == ChainEnd(last.seq, last.digest)
        assert reader.get_entry(last.seq) == last
        assert reader.find_entry(last.seq + 1) is None
        assert reader.find_key(last.key) == last
        assert reader.find_key("never used") is None
        assert (other.chain_end(), list(other.entries())) == (None, [])
        with pytest.raises(EntryUnknown, match=f"the last one is {last.seq}"):
            reader.get_entry(last.seq + 1)
        with pytest.raises(EntryUnknown, match="the last one is 0"):
            other.get_entry(1)


def test_facts_between_two_times_follow_corrections_in_and_out(week: Clinic) -> None:
    tuesday = MONDAY_MORNING + timedelta(days=1)
    monday_swap, tuesday_swap, tuesday_look = (week.entries()[seq - 1] for seq in (24, 26, 25))
    moved_in = week.record(a_replacement(monday_swap, happened_at=tuesday + timedelta(hours=1)))
    week.record(a_replacement(tuesday_swap, happened_at=MONDAY_MORNING + timedelta(hours=11)))
    turned = week.record(a_replacement(tuesday_look, a_deposit()))

    with week.ledger.reading("elm") as reader:
        swaps = reader.facts_between(tuesday, tuesday + timedelta(days=1), ("swap",))
        deposits = reader.facts_between(tuesday, tuesday + timedelta(days=1), ("deposit",))
        looks = reader.facts_between(tuesday, tuesday + timedelta(days=1), ("look",))
        all_of_them = reader.facts_between(tuesday, tuesday + timedelta(days=1))

    assert [(fact.place, fact.seq) for fact in swaps] == [(24, moved_in.seq)]
    assert [(fact.place, fact.seq) for fact in deposits] == [(25, turned.seq)]
    assert looks == ()
    assert all_of_them == (*swaps, *deposits)


def test_facts_about_one_container_follow_corrections_from_one_to_another(week: Clinic) -> None:
    week.record(an_opening("C-2"))
    other = week.record(a_swap(container="C-2"))
    away, here = week.entries()[26 - 1], other
    week.record(a_replacement(away, a_swap(container="C-2"), happened_at=week.watch.now))
    week.record(a_replacement(here, a_swap(container="C-1"), happened_at=week.watch.now))

    with week.ledger.reading("elm") as reader:
        until = week.watch.now + timedelta(days=1)
        first, second = (
            reader.facts_between(MONDAY_MORNING, until, ("swap",), Subject("container", ref)) for ref in ("C-1", "C-2")
        )
        since = reader.facts_between(MONDAY_MORNING + timedelta(days=1), until, ("swap",), Subject("container", "C-1"))

    assert [fact.place for fact in first] == [24, 32, 28, 30, other.seq]
    assert [fact.place for fact in second] == [26]
    assert since == first[1:]


def test_a_void_entry_is_no_fact_between_any_times(week: Clinic) -> None:
    week.record(a_correction(24))

    with week.ledger.reading("elm") as reader:
        swaps = reader.facts_between(SET_UP_AT, week.watch.now, ("swap",))

    assert [fact.place for fact in swaps] == [26, 32, 28, 30]


def test_traps_come_in_walking_order(clinic: Clinic) -> None:
    clinic.record(a_trap("2-HV", walk=1))
    clinic.record(a_trap("1-HV", walk=2))
    clinic.record(a_trap("PUMP", walk=9, retired=True))

    with clinic.ledger.reading("elm") as reader:
        in_service = [one.trap for one in reader.traps()]
        every = [one.trap for one in reader.traps(retired=True)]

    assert in_service == ["1-SE", "2-SE", "2-HV", "1-HV"]
    assert every == [*in_service, "PUMP"]
    assert set(every) == set(TRAPS)


def test_the_register_by_kind(clinic: Clinic) -> None:
    clinic.record(a_person("mo", Role.MANAGER, retired=True))

    with clinic.ledger.reading("elm") as reader:
        assert [one.ref for one in reader.lines("person")] == ["iris", "kim"]
        assert [one.ref for one in reader.lines("person", retired=True)] == ["iris", "kim", "mo"]
        assert reader.lines("trap") == []
        line = reader.find_line("carrier", "swiftcart")
        assert line is not None
        assert getattr(line.details, "name", "") == "Invented Carrier"
        assert reader.find_line("carrier", "nobody") is None


def test_containers_and_pickups_by_status(clinic: Clinic) -> None:
    for ref in ("C-1", "C-2", "C-3"):
        clinic.record(an_opening(ref))
    for body in (a_swap(), a_weighing(), a_closing(), a_booking(), a_release(), a_closing("C-2")):
        clinic.record(body)
    clinic.record(a_booking("P-2", ("C-2",)))

    with clinic.ledger.reading("elm") as reader:
        assert [one.container for one in reader.containers()] == ["C-1", "C-2", "C-3"]
        assert [one.container for one in reader.containers("open", "closed")] == ["C-2", "C-3"]
        assert [one.pickup for one in reader.pickups("booked")] == ["P-2"]
        assert [one.pickup for one in reader.pickups()] == ["P-1", "P-2"]
        assert reader.find_container("C-9") is None
        assert reader.find_pickup("P-9") is None

    clinic.record(a_receipt())
    with clinic.ledger.reading("elm") as reader:
        pickup = reader.find_pickup("P-1")
        assert pickup is not None
        assert pickup.status == "received"


def test_separators_and_milestones(clinic: Clinic) -> None:
    clinic.record(an_inspection("malfunction"))
    clinic.record(Milestone(what="one_time_report_filed"))

    with clinic.ledger.reading("elm") as reader:
        found = reader.find_separator("SEP")
        assert found is not None
        assert [found] == reader.separators()
        assert found.malfunction_seq == 22
        assert [(one.ref, one.times) for one in reader.milestones()] == [("one_time_report_filed", 1)]
        assert reader.find_separator("other") is None
        assert reader.find_trap("SEP") is None


def test_every_standing_is_read_as_it_was_written(clinic: Clinic) -> None:
    """Through the tables and back, with every column in use."""
    clinic.record(an_opening(mass_limit_mg=9_000_000, items_limit=40))
    for body in (a_swap(), a_deposit(volume_ml=None), a_weighing(), a_swap("1-SE"), a_look(left_to_dry=True)):
        clinic.record(body)

    with clinic.ledger.writing("elm", KIM) as desk:
        subjects = [Subject("container", "C-1"), Subject("trap", "1-HV"), Subject("trap", "1-SE")]
        desk.append(a_deposit())
        desk.append(a_look())
        written = [desk.find_standing(subject) for subject in subjects]

    with clinic.ledger.reading("elm") as reader:
        assert [reader.find_standing(subject) for subject in subjects] == written


def test_a_thousand_corrections_are_looked_up_in_parts(clinic: Clinic) -> None:
    with clinic.ledger.reading("elm") as reader:
        assert reader.corrections_of(list(range(1, 2000))) == {}
        assert reader.corrections_of([]) == {}
