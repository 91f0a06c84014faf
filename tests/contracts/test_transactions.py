"""All or nothing, however many write at once, and whenever the power goes."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime

import pytest

from tests.contracts.journals import Journal
from tests.contracts.writers import a_process_context, append_some, append_until_killed
from tests.makers import KIM, MONDAY_MORNING, a_closing, a_deposit, a_look, a_person, a_swap, an_opening
from wasteledger.errors import WasteLedgerError
from wasteledger.ledger.append import Desk, InTheFuture, KeyReused, Recorder
from wasteledger.ledger.ledger import UnknownPerson
from wasteledger.model.facts import Entry
from wasteledger.model.register import Role
from wasteledger.model.standing.refusals import ContainerSealed
from wasteledger.model.values import Body

# -- all or nothing ----------------------------------------------------------------------------------------------------


def whole_state(journal: Journal) -> list[object]:
    """Everything that is kept: the chain and all that stands."""
    with journal.ledger.reading(journal.site) as reader:
        return [
            list(reader.entries()),
            reader.chain_end(),
            reader.traps(retired=True),
            reader.containers(),
            reader.pickups(),
            reader.separators(retired=True),
            reader.lines("person", retired=True),
            reader.milestones(),
        ]


def test_several_entries_in_one_transaction_follow_each_other(journal: Journal) -> None:
    with journal.ledger.writing(journal.site, KIM) as desk:
        written = [desk.append(body).entry for body in (an_opening(), a_look(), a_swap(), a_deposit())]

    assert written == journal.entries()[-4:]
    assert {one.recorded_at for one in written} == {MONDAY_MORNING}
    assert (journal.container().swaps, journal.container().deposits) == (1, 1)
    assert journal.verify().holds


@pytest.mark.parametrize(
    ("last", "at", "refusal"),
    [
        (a_swap(), None, ContainerSealed),
        (a_look(), MONDAY_MORNING.replace(year=2030), InTheFuture),
    ],
    ids=["impossible", "future"],
)
def test_when_the_last_is_refused_none_is_written(
    journal: Journal, last: Body, at: datetime | None, refusal: type[WasteLedgerError]
) -> None:
    journal.record(an_opening())
    before = whole_state(journal)

    def round_of_the_evening(desk: Desk) -> None:
        for body in (a_look(), a_swap(), a_deposit(), a_closing()):
            desk.append(body)
        desk.append(last, happened_at=at)

    with pytest.raises(refusal), journal.ledger.writing(journal.site, KIM) as desk:
        round_of_the_evening(desk)

    assert whole_state(journal) == before
    assert journal.verify().holds


def test_when_a_later_key_was_used_otherwise_none_is_written(journal: Journal) -> None:
    journal.record(a_look(), key="k")
    before = whole_state(journal)

    def replayed(desk: Desk) -> None:
        desk.append(an_opening())
        desk.append(a_look("2-HV"), key="k")

    with pytest.raises(KeyReused), journal.ledger.writing(journal.site, KIM) as desk:
        replayed(desk)

    assert whole_state(journal) == before


def test_when_the_caller_fails_none_is_written(journal: Journal) -> None:
    before = whole_state(journal)

    def half_done(desk: Desk) -> None:
        desk.append(an_opening())
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt), journal.ledger.writing(journal.site, KIM) as desk:
        half_done(desk)

    assert whole_state(journal) == before


def test_when_the_recorder_is_unknown_none_is_written(journal: Journal) -> None:
    before = whole_state(journal)

    with (
        pytest.raises(UnknownPerson),
        journal.ledger.writing(journal.site, Recorder("stranger", "web")) as desk,
    ):
        desk.append(an_opening())

    assert whole_state(journal) == before


def test_the_first_person_may_register_herself(journal: Journal) -> None:
    with journal.ledger.writing(journal.site, Recorder("noor", "cli")) as desk:
        desk.append(a_person("noor", Role.MANAGER))

    assert journal.entries()[-1].recorded_by == "noor"


def test_a_refused_entry_may_be_followed_by_another_in_the_same_transaction(journal: Journal) -> None:
    with journal.ledger.writing(journal.site, KIM) as desk:
        desk.append(an_opening())
        desk.append(a_closing())
        with pytest.raises(ContainerSealed):
            desk.append(a_swap())
        desk.append(an_opening("C-2"))
        desk.append(a_swap(container="C-2"))

    assert journal.container("C-2").swaps == 1
    assert getattr(journal.standing("trap", "1-HV"), "swaps", None) == 1
    assert journal.verify().holds


# -- at once -----------------------------------------------------------------------------------------------------------


def kept_exactly(journal: Journal, names: list[str], count: int, before: int) -> None:
    """Each writer's every entry is there once, in its order, without a gap."""
    entries = journal.entries()
    assert [one.seq for one in entries] == list(range(1, before + len(names) * count + 1))
    keys = [one.key for one in entries[before:]]
    for name in names:
        assert [key for key in keys if key.startswith(f"{name}-")] == [f"{name}-{number}" for number in range(count)]
    assert journal.container().deposits == len(names) * count
    assert journal.verify().holds


def test_eight_threads_leave_no_gap_and_no_double(journal: Journal) -> None:
    before = journal.record(an_opening()).seq
    names = [f"thread{number}" for number in range(8)]

    def write(name: str) -> None:
        for number in range(8):
            journal.append(a_deposit(), key=f"{name}-{number}")

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(write, names))

    kept_exactly(journal, names, 8, before)


def test_eight_threads_with_the_same_keys_write_each_once(journal: Journal) -> None:
    """A tablet that replays what it kept, eight times over."""
    before = journal.record(an_opening()).seq

    def replay(_: int) -> list[Entry]:
        return [journal.append(a_deposit(), key=f"tablet-{number}").entry for number in range(5)]

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(replay, range(8)))

    assert all(answer == answers[0] for answer in answers)
    kept_exactly(journal, ["tablet"], 5, before)


def test_two_processes_leave_no_gap_and_no_double(journal: Journal) -> None:
    before = journal.record(an_opening()).seq
    names, context = ["left", "right"], a_process_context()
    processes = [
        context.Process(target=append_some, args=(journal.location, name, 30))  # type: ignore[attr-defined]
        for name in names
    ]

    for process in processes:
        process.start()
    for process in processes:
        process.join(120)

    assert [process.exitcode for process in processes] == [0, 0]
    kept_exactly(journal, names, 30, before)


# -- the power goes ----------------------------------------------------------------------------------------------------

KILLS = 24


def test_what_was_acknowledged_survives_a_killed_writer(journal: Journal) -> None:
    """A writer is killed at a random moment, again and again; whatever it said was committed is there."""
    before = journal.record(an_opening()).seq
    context, drawn = a_process_context(), random.Random(365)
    acknowledged: dict[int, str] = {}
    killed = 0

    for attempt in range(KILLS):
        ours, theirs = context.Pipe(duplex=False)
        writer = context.Process(  # type: ignore[attr-defined]
            target=append_until_killed, args=(journal.location, f"writer{attempt}", theirs)
        )
        writer.start()
        theirs.close()
        assert ours.poll(120), "the writer never wrote"
        time.sleep(drawn.uniform(0, 0.04))
        assert writer.is_alive()
        writer.kill()
        writer.join()
        killed += writer.exitcode not in (0, None)
        acknowledged |= dict(_received(ours.recv_bytes))
        ours.close()

        there = {one.seq: one.digest for one in journal.entries()}
        assert acknowledged.items() <= there.items()
        assert list(there) == list(range(1, len(there) + 1))
        assert journal.container().deposits == len(there) - before
        assert journal.verify().holds

    assert killed == KILLS
    # A writer may be killed between its commit and its word; that entry is there all the same.
    assert len(acknowledged) <= len(journal.entries()) - before <= len(acknowledged) + KILLS


def _received(receive: Callable[[], bytes]) -> list[tuple[int, str]]:
    """Every whole message that arrived before the other end fell silent."""
    pairs: list[tuple[int, str]] = []
    while True:
        try:
            seq, digest = receive().decode().strip().split(":")
        except (EOFError, OSError):
            return pairs
        pairs.append((int(seq), digest))
