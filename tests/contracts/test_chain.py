"""Order, keys and time: what every journal promises of each entry."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta, timezone

import pytest

from tests.contracts.journals import Journal
from tests.makers import (
    KIM,
    MONDAY_MORNING,
    SET_UP_AT,
    a_closing,
    a_correction,
    a_deposit,
    a_look,
    a_person,
    a_replacement,
    a_room,
    a_site,
    a_swap,
    a_trap,
    a_weighing,
    an_opening,
)
from wasteledger.errors import NotUnderstood
from wasteledger.ledger.append import (
    InTheFuture,
    KeyReused,
    NoSuchSite,
    NotCorrectable,
    Recorder,
    SecondFirstEntry,
)
from wasteledger.ledger.ledger import Ledger, UnknownPerson
from wasteledger.ledger.reader import EntryUnknown
from wasteledger.model.register import Role
from wasteledger.model.standing.refusals import AlreadyThere, ContainerSealed, NotThereYet, WrongStream
from wasteledger.model.traps import Condition


def test_numbers_run_from_one_without_gaps(journal: Journal) -> None:
    journal.record(an_opening())
    for _ in range(5):
        journal.record(a_swap())

    entries = journal.entries()

    assert [one.seq for one in entries] == list(range(1, len(entries) + 1))
    assert [one.previous for one in entries[1:]] == [one.digest for one in entries[:-1]]
    assert journal.verify().holds


def test_an_entry_says_who_wrote_it_when_and_through_which_door(journal: Journal) -> None:
    journal.watch.wait(hours=3)
    entry = journal.append(a_look(), at=MONDAY_MORNING + timedelta(hours=1)).entry

    assert (entry.recorded_by, entry.door, entry.site) == ("kim", "cli", "elm")
    assert entry.happened_at == MONDAY_MORNING + timedelta(hours=1)
    assert entry.recorded_at == MONDAY_MORNING + timedelta(hours=3)
    assert uuid.UUID(entry.key).version == 4


def test_what_was_written_is_what_is_read(journal: Journal) -> None:
    written = journal.record(a_look(note="Zoë’s room — 歯科 🦷"))

    assert journal.entries()[-1] == written
    assert written.happened_at.tzinfo is not None
    with Ledger.open(journal.location) as again, again.reading(journal.site) as reader:
        assert reader.get_entry(written.seq) == written


def test_a_refused_entry_leaves_no_gap(journal: Journal) -> None:
    before = journal.record(an_opening()).seq
    with pytest.raises(WrongStream):
        journal.record(a_swap(stream="teeth"))

    assert journal.record(a_swap()).seq == before + 1
    assert journal.verify().holds


# -- keys --------------------------------------------------------------------------------------------------------------


def test_a_repeated_key_gives_the_first_entry(journal: Journal) -> None:
    first = journal.record(a_look(), key="from-the-tablet")
    journal.watch.wait(minutes=5)

    again = journal.append(a_look(), key="from-the-tablet")

    assert again.entry == first
    assert again.repeated
    assert journal.entries()[-1] == first


def test_a_repeat_may_name_the_same_time(journal: Journal) -> None:
    chicago = timezone(timedelta(hours=-6))
    first = journal.append(a_look(), at=MONDAY_MORNING, key="k")

    again = journal.append(a_look(), at=MONDAY_MORNING.astimezone(chicago), key="k")

    assert again.entry == first.entry


def test_a_repeat_is_known_after_what_was_derived_has_changed(journal: Journal) -> None:
    journal.record(an_opening())
    first = journal.record(a_swap(days_in_service=7), key="k")

    again = journal.append(a_swap(days_in_service=0, insert_mg=None), key="k")

    assert again.entry == first


def test_a_repeat_is_known_though_it_could_no_longer_be_written(journal: Journal) -> None:
    journal.record(an_opening())
    first = journal.record(a_swap(), key="k")
    journal.record(a_closing())

    assert journal.append(a_swap(), key="k").entry == first
    with pytest.raises(ContainerSealed):
        journal.append(a_swap(), key="other")


@pytest.mark.parametrize("case", ["other body", "other kind", "other time", "other note"])
def test_a_key_used_for_something_else_is_refused(journal: Journal, case: str) -> None:
    first = journal.append(a_look(), at=MONDAY_MORNING, key="k").entry
    body, at = {
        "other body": (a_look("2-HV"), MONDAY_MORNING),
        "other kind": (a_room("r9"), MONDAY_MORNING),
        "other time": (a_look(), MONDAY_MORNING - timedelta(minutes=1)),
        "other note": (a_look(note="torn"), MONDAY_MORNING),
    }[case]

    with pytest.raises(KeyReused) as refused:
        journal.append(body, at=at, key="k")

    assert refused.value.seq == first.seq
    assert journal.entries()[-1] == first


def test_a_repeated_correction_gives_the_first_one(journal: Journal) -> None:
    journal.record(an_opening())
    swap = journal.record(a_swap())
    first = journal.record(a_replacement(swap, a_swap("2-HV", days_in_service=7)), key="k")

    again = journal.append(a_replacement(swap, a_swap("2-HV", days_in_service=0)), key="k")

    assert again.entry == first


# -- time --------------------------------------------------------------------------------------------------------------


def test_what_has_not_happened_yet_is_refused(journal: Journal) -> None:
    with pytest.raises(InTheFuture) as refused:
        journal.append(a_look(), at=MONDAY_MORNING + timedelta(microseconds=1))

    assert refused.value.instants["now"] == MONDAY_MORNING
    assert journal.append(a_look(), at=MONDAY_MORNING).entry.happened_at == MONDAY_MORNING


def test_a_replacement_that_has_not_happened_yet_is_refused(journal: Journal) -> None:
    look = journal.record(a_look())

    with pytest.raises(InTheFuture):
        journal.append(a_replacement(look, happened_at=journal.watch.now + timedelta(hours=1)))


def test_a_time_without_a_zone_is_not_understood(journal: Journal) -> None:
    with pytest.raises(NotUnderstood, match="no time zone"):
        journal.append(a_look(), at=datetime(2026, 3, 1, 8, 0))  # noqa: DTZ001


def test_a_time_before_the_thing_existed_is_refused_with_what_would_do(journal: Journal) -> None:
    opened_at = journal.record(an_opening()).happened_at
    too_early = opened_at - timedelta(minutes=1)

    with pytest.raises(NotThereYet) as container:
        journal.append(a_deposit(), at=too_early)
    with pytest.raises(NotThereYet) as trap:
        journal.append(a_look(), at=SET_UP_AT - timedelta(days=1))
    with pytest.raises(NotThereYet) as moved:
        journal.append(a_replacement(journal.append(a_swap()).entry, happened_at=too_early))

    assert container.value.instants == moved.value.instants == {"since": opened_at}
    assert trap.value.instants == {"since": SET_UP_AT}
    assert "only since" in str(container.value)


def test_the_end_of_time_is_refused_in_our_own_words(journal: Journal) -> None:
    with pytest.raises(NotThereYet):
        journal.append(a_look(), at=datetime(1, 1, 1, tzinfo=UTC))
    for odd in (
        datetime.min.replace(tzinfo=timezone(timedelta(hours=14))),
        datetime.max.replace(tzinfo=timezone(timedelta(hours=-12))),
    ):
        with pytest.raises(NotUnderstood):
            journal.append(a_look(), at=odd)


def test_a_clock_set_back_stops_nothing_but_the_future(journal: Journal) -> None:
    journal.record(a_look())
    journal.watch.wait(days=-2)

    entry = journal.record(a_look())

    assert entry.recorded_at < journal.entries()[-2].recorded_at
    assert journal.verify().holds


def test_a_backdated_entry_stands_in_its_place_in_time(journal: Journal) -> None:
    journal.append(an_opening(), at=MONDAY_MORNING - timedelta(days=9))
    journal.append(a_swap(), at=MONDAY_MORNING - timedelta(days=2))
    journal.append(a_weighing(gross_mg=170_000), at=MONDAY_MORNING - timedelta(days=1))

    late = journal.append(a_swap("2-HV"), at=MONDAY_MORNING - timedelta(days=5)).entry

    container = journal.container()
    assert (container.swaps, container.holding.base_mg, container.holding.tallies) == (2, 20_000, ())
    assert container.first_waste_at == late.happened_at
    assert late.recorded_at == MONDAY_MORNING
    assert journal.verify().holds


def test_a_backdated_look_does_not_hide_a_newer_one(journal: Journal) -> None:
    journal.append(a_look(condition=Condition.CLOGGED), at=MONDAY_MORNING - timedelta(hours=1))
    journal.append(a_look(condition=Condition.CLEAN), at=MONDAY_MORNING - timedelta(days=1))

    trap = journal.standing("trap", "1-HV")

    assert getattr(trap, "last_condition", None) is Condition.CLOGGED
    assert getattr(trap, "looks", 0) == 2
    assert journal.verify().holds


def test_a_thing_may_be_registered_earlier_than_first_said(journal: Journal) -> None:
    earlier = SET_UP_AT - timedelta(days=365)

    journal.append(a_trap(), at=earlier)
    journal.append(a_look(), at=earlier + timedelta(days=1))

    assert getattr(journal.standing("trap", "1-HV"), "in_service_at", None) == earlier
    assert journal.verify().holds


# -- beginnings --------------------------------------------------------------------------------------------------------


def test_a_chain_begins_with_its_site(journal: Journal) -> None:
    with (
        pytest.raises(NoSuchSite, match="no site “oak”") as refused,
        journal.ledger.writing("oak", Recorder("kim", "cli")) as desk,
    ):
        desk.append(a_look())

    assert "setup" in refused.value.hint
    assert journal.ledger.sites() == ["elm"]


def test_a_chain_cannot_begin_another_site(journal: Journal) -> None:
    with pytest.raises(SecondFirstEntry, match="oak"):
        journal.record(a_site("oak"))


def test_the_sites_own_details_may_change(journal: Journal) -> None:
    journal.record(a_site(name="Élan Dental, Oak Street"))

    line = journal.standing("site", "elm")

    assert getattr(getattr(line, "details", None), "name", "") == "Élan Dental, Oak Street"


def test_two_sites_have_chains_of_their_own(journal: Journal) -> None:
    with journal.ledger.writing("oak", KIM) as desk:
        desk.append(a_site("oak"))
        desk.append(a_person())

    with journal.ledger.reading("oak") as reader:
        oak = list(reader.entries())

    assert journal.ledger.sites() == ["elm", "oak"]
    assert [one.seq for one in oak] == [1, 2]
    assert journal.verify().holds
    with pytest.raises(NoSuchSite, match="several sites"):
        journal.ledger.the_site()


def test_who_records_must_be_in_the_register(journal: Journal) -> None:
    before = journal.entries()

    for stranger in ("nobody", "1-HV"):
        with (
            pytest.raises(UnknownPerson, match=stranger),
            journal.ledger.writing(journal.site, Recorder(stranger, "cli")) as desk,
        ):
            desk.append(a_look())

    assert journal.entries() == before


def test_who_has_left_records_no_more(journal: Journal) -> None:
    journal.record(a_person("mo", Role.MANAGER, retired=True))

    with (
        pytest.raises(UnknownPerson, match="mo"),
        journal.ledger.writing(journal.site, Recorder("mo", "cli")) as desk,
    ):
        desk.append(a_look())


@pytest.mark.parametrize("earlier", [True, False])
def test_a_container_is_opened_once(journal: Journal, earlier: bool) -> None:
    opened_at = journal.record(an_opening()).happened_at

    with pytest.raises(AlreadyThere, match="C-1") as refused:
        journal.append(an_opening(), at=opened_at + timedelta(minutes=-1 if earlier else 0))

    assert refused.value.instants == {"since": opened_at}


# -- corrections that cannot be ----------------------------------------------------------------------------------------


def test_what_cannot_be_corrected(journal: Journal) -> None:
    look = journal.record(a_look())
    journal.record(a_correction(look))
    void = journal.entries()[-1]

    for body, says in (
        (a_correction(void), "itself a correction"),
        (a_correction(look), "made void before"),
        (a_correction(2, "reinstate"), "counts as it is"),
        (a_correction(1), "cannot be made void"),
        (a_replacement(journal.entries()[0], a_look()), "must stay the site's own"),
        (a_replacement(look, a_correction(2)), "cannot stand in the place"),
    ):
        with pytest.raises(NotCorrectable, match=says):
            journal.append(body)
    with pytest.raises(EntryUnknown, match="no entry 999"):
        journal.append(a_correction(999))

    assert journal.entries()[-1] == void
