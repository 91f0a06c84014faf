"""Laws of the ledger: nothing is lost, nothing refused leaves a trace, and what stands is what the entries give."""

from __future__ import annotations

import itertools
import random
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.makers import KIM, MONDAY_MORNING, SITE, Clinic, Watch, a_replacement, make_clinic
from tests.properties.strategies import Amends, Attempt, a_full_life, attempts, histories
from wasteledger.errors import WasteLedgerError
from wasteledger.exchange.journal import export_lines, import_chain, read_export
from wasteledger.ledger.append import Desk, Recorder
from wasteledger.ledger.engine import writing
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.reader import Reader
from wasteledger.ledger.recompute import recompute
from wasteledger.model.entries import Correction, Deposit, Swap, UnitReplaced
from wasteledger.model.facts import effective_facts, facts_about, subjects_of
from wasteledger.model.values import Body

# Each example is a ledger of its own on the disk.
LAW = settings(max_examples=30, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
END_OF_WEEK = MONDAY_MORNING + timedelta(days=7)


@cache
def registered() -> bytes:
    """The file of a practice with its register written, made once."""
    with tempfile.TemporaryDirectory() as folder:
        make_clinic(Path(folder)).ledger.close()
        return (Path(folder) / "wasteledger.db").read_bytes()


@cache
def empty() -> bytes:
    """The file of a ledger without any site, made once."""
    with tempfile.TemporaryDirectory() as folder:
        Ledger.open(str(Path(folder) / "empty.db"), create=True).close()
        return (Path(folder) / "empty.db").read_bytes()


@dataclass(slots=True)
class Week(Clinic):
    """A practice at the end of its week, when everything that is tried has happened."""

    def live(self, history: Iterable[Attempt | Amends], *, watched: bool = False) -> list[Attempt | Amends]:
        """Try to record all of *history*; what was taken.

        Every attempt has a desk of its own, so that each reads what the one before wrote; the transaction is shared,
        so that nothing but the checks keeps a refused entry from leaving a trace. *watched* looks for such traces.
        """
        taken = []
        with writing(self.ledger.engine) as connection:
            reader = Reader(connection, self.site)
            for one in history:
                before = state_of(reader) if watched else None
                if attempt(Desk(connection, self.site, KIM, END_OF_WEEK), one):
                    taken.append(one)
                elif watched:
                    assert state_of(reader) == before
        return taken

    def state(self) -> list[Any]:
        """Everything that can be read of the practice but its entries."""
        with self.ledger.reading(self.site) as reader:
            return state_of(reader)


@contextmanager
def a_week(history: Iterable[Attempt | Amends] = ()) -> Iterator[Week]:
    """A practice in which *history* was tried."""
    with tempfile.TemporaryDirectory() as folder:
        path, watch = Path(folder) / "wasteledger.db", Watch(END_OF_WEEK)
        path.write_bytes(registered())
        with Ledger.open(str(path), clock=watch) as ledger:
            week = Week(ledger, watch)
            week.live(history)
            yield week


def attempt(desk: Desk, one: Attempt | Amends) -> bool:
    """Whether it is taken; what is refused says so in words."""
    try:
        if isinstance(one, Attempt):
            desk.append(one.body, happened_at=one.happened_at)
        else:
            desk.append(correction(desk, one))
    except WasteLedgerError:
        return False
    return True


def correction(desk: Desk, amends: Amends) -> Correction:
    """The correction that is meant, of an entry that is there."""
    end = desk.chain_end()
    assert end is not None
    target = desk.get_entry(end.entries - amends.which % end.entries)
    if amends.action != "replace":
        return Correction(corrects=target.seq, action=amends.action, reason="Entered by mistake.")
    when = None if amends.minutes is None else MONDAY_MORNING + timedelta(minutes=amends.minutes)
    return a_replacement(target, amends.by, when)


def state_of(reader: Reader) -> list[Any]:
    return [
        reader.chain_end(),
        reader.traps(retired=True),
        reader.containers(),
        reader.pickups(),
        reader.separators(retired=True),
        reader.lines("room", retired=True),
        reader.lines("cleaner"),
    ]


def pieces_of(body: Body) -> int:
    match body:
        case Swap() | UnitReplaced():
            return 1
        case Deposit(count=count):
            return count or 1
    return 0


@LAW
@given(histories())
def test_pieces_in_are_pieces_standing_and_pieces_gone(history: list[Attempt | Amends]) -> None:
    """Container by container, counted from the journal alone, by another way than the fold."""
    with a_week(history) as week:
        entries = week.entries()
        put_in: dict[str, int] = {}
        for fact in effective_facts(entries):
            container = getattr(fact.body, "container", None)
            if container is not None:
                put_in[container] = put_in.get(container, 0) + pieces_of(fact.body)
        with week.ledger.reading(SITE) as reader:
            containers = {one.container: one for one in reader.containers()}
            pickups = reader.pickups()

    standing = {ref: one.pieces for ref, one in containers.items() if one.status in ("open", "closed")}
    gone = {ref: one.pieces for ref, one in containers.items() if one.status in ("released", "received")}
    left = {ref for one in pickups if one.status != "booked" for ref in one.containers}
    assert standing | gone == put_in
    assert sum(put_in.values()) == sum(standing.values()) + sum(gone.values())
    assert set(gone) == left


@LAW
@given(histories())
def test_mass_weighed_in_is_what_stands(history: list[Attempt | Amends]) -> None:
    """A container holds what it weighed last, what was weighed singly since, and one tally for each other piece."""
    with a_week(history) as week:
        facts = effective_facts(week.entries())
        with week.ledger.reading(SITE) as reader:
            containers = reader.containers()

    for container in containers:
        base_mg = added_mg = unweighed = 0
        for fact in facts:
            body: Any = fact.body
            if getattr(body, "container", None) != container.container:
                continue
            if body.KIND == "weighing":
                base_mg, added_mg, unweighed = body.gross.mass_mg - container.tare_mg, 0, 0
            elif body.KIND == "swap" and body.gross is not None:
                added_mg += body.gross.mass_mg - (0 if body.insert == "whole" else body.tare.mass_mg)
            elif body.KIND == "deposit" and body.mass is not None:
                added_mg += body.mass.mass_mg
            else:
                unweighed += pieces_of(body)
        assert (container.holding.base_mg, container.holding.added_mg) == (base_mg, added_mg)
        assert sum(tally.count for tally in container.holding.tallies) == unweighed


@LAW
@given(histories())
def test_what_stands_is_what_all_entries_give(history: list[Attempt | Amends]) -> None:
    """The standing was advanced entry by entry; folding the whole chain anew gives the same, and verify says so."""
    with a_week(history) as week:
        recomputed = recompute(week.entries())
        stored = {subject: week.standing(*subject) for subject in recomputed.standing}
        verification = week.verify()

    assert recomputed.impossible == ()
    assert stored == recomputed.standing
    assert verification.findings == ()


@LAW
@given(histories())
def test_facts_about_one_thing_are_the_same_from_its_own_entries_and_from_all(history: list[Attempt | Amends]) -> None:
    with a_week(history) as week:
        entries = week.entries()
        subjects = sorted({subject for entry in entries for subject in subjects_of(entry.body)})
        with week.ledger.reading(SITE) as reader:
            found = {subject: reader.facts_about(subject) for subject in subjects}

    assert found == {subject: facts_about(subject, entries) for subject in subjects}


@LAW
@given(histories())
def test_nothing_refused_leaves_a_trace(history: list[Attempt | Amends]) -> None:
    with a_week() as week:
        taken = week.live(history, watched=True)
        entries = len(week.entries())
        holds = week.verify().holds

    with a_week(taken) as again:
        assert len(again.entries()) == entries
    assert holds


@LAW
@given(histories(), st.randoms(use_true_random=False))
def test_the_order_of_recording_does_not_matter(history: list[Attempt | Amends], shuffled: random.Random) -> None:
    """What was taken is recorded again in any order that is taken; then the same stands, but for entry numbers."""
    # Two facts of one instant stand in the order of their recording, so each is given an instant of its own.
    apart = {one.minutes: one for one in reversed(history) if isinstance(one, Attempt)}
    in_time: list[Attempt | Amends] = [apart[minutes] for minutes in sorted(apart)]
    with a_week() as first:
        kept = first.live(in_time)
        one_way = numberless(first)
    shuffled.shuffle(kept)
    with a_week() as second:
        waiting, progress = kept, True
        while waiting and progress:
            taken = second.live(waiting)
            waiting, progress = [one for one in waiting if one not in taken], bool(taken)
        other_way = numberless(second)
        verification = second.verify()

    assert waiting == []
    assert other_way == one_way
    assert verification.holds


def numberless(week: Week) -> list[Any]:
    """What stands, without the numbers of the entries that it came from."""

    def without(value: Any) -> Any:
        if hasattr(value, "__dataclass_fields__"):
            names = [name for name in value.__dataclass_fields__ if not name.endswith("seq")]
            return [(name, without(getattr(value, name))) for name in names]
        return value

    return [[without(one) for one in part] for part in week.state()[1:]]


@LAW
@given(histories())
def test_a_chain_that_goes_out_comes_in_the_same(history: list[Attempt | Amends]) -> None:
    with a_week(history) as week, tempfile.TemporaryDirectory() as folder:
        lines = list(export_lines(week.entries()))
        (Path(folder) / "there.db").write_bytes(empty())
        with Ledger.open(str(Path(folder) / "there.db")) as elsewhere:
            import_chain(elsewhere, lines)
            there = Week(elsewhere)
            assert there.entries() == week.entries()
            assert there.state() == week.state()
            assert there.verify().holds
    assert list(export_lines(read_export(lines).entries)) == lines


@LAW
@given(st.lists(attempts(), min_size=1, max_size=12))
def test_a_replayed_queue_writes_each_once(queue: list[Attempt]) -> None:
    """A tablet sends what it kept, then all of it again, then again in part; nothing is doubled."""
    sends = list(enumerate(queue))
    with a_week() as week:
        with writing(week.ledger.engine) as connection:
            for number, one in itertools.chain(sends, sends, sends[::2]):
                desk = Desk(connection, SITE, Recorder("kim", "web"), END_OF_WEEK)
                with suppress(WasteLedgerError):
                    desk.append(one.body, happened_at=one.happened_at, key=f"tablet-{number}")
        keys = [entry.key for entry in week.entries() if entry.door == "web"]
        holds = week.verify().holds

    assert len(keys) == len(set(keys)) <= len(queue)
    assert holds


def test_a_full_life_is_taken_whole() -> None:
    """Else the histories would disturb nothing."""
    with a_week() as week:
        assert week.live(a_full_life()) == a_full_life()
        container = week.container()

    assert (container.status, container.pieces) == ("received", 2)
