"""Short histories without a database: bodies become entries and facts, an hour apart from `MONDAY_MORNING` on."""

from __future__ import annotations

from datetime import datetime, timedelta

from tests.makers import MONDAY_MORNING, SITE
from wasteledger.model.facts import Entry, Fact, Subject
from wasteledger.model.standing import AnyStanding, fold
from wasteledger.model.values import Body


def an_entry(seq: int, body: Body, happened_at: datetime | None = None) -> Entry:
    """Entry *seq*, which happened *seq* hours after Monday morning unless *happened_at* says when."""
    at = happened_at or MONDAY_MORNING + timedelta(hours=seq)
    recorded_at = MONDAY_MORNING + timedelta(days=30, hours=seq)
    return Entry(SITE, seq, at, recorded_at, "kim", "cli", body, f"key-{seq}", "0" * 64, "f" * 64)


def entries_of(*bodies: Body) -> list[Entry]:
    """A chain of *bodies*, numbered from 1."""
    return [an_entry(seq, body) for seq, body in enumerate(bodies, start=1)]


def facts_of(*bodies: Body) -> list[Fact]:
    """The facts of a chain in which nothing was corrected."""
    return [
        Fact(one.seq, one.seq, one.happened_at, one.recorded_at, one.recorded_by, one.body)
        for one in entries_of(*bodies)
    ]


def standing_after(what: str, ref: str, *bodies: Body) -> AnyStanding:
    """What stands of a subject after *bodies*, all of which must speak of it."""
    state = fold(Subject(what, ref), facts_of(*bodies))
    assert state is not None
    return state
