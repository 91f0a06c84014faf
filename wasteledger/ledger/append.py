"""Writing: a desk at which entries are checked, chained and laid down, all in one transaction or not at all."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cache

from sqlalchemy import Connection, Delete, Insert, bindparam, delete, insert, update

from wasteledger.errors import NotUnderstood, Unknown, WasteLedgerError
from wasteledger.ledger import tables
from wasteledger.ledger.chain import GENESIS, digest_of, entry_bytes
from wasteledger.ledger.reader import JOURNAL, Reader, at_key, bound, table_of
from wasteledger.ledger.rows import TABLES, Values, entry_values, key_columns, standing_values
from wasteledger.model.entries import ContainerOpened, Correction, PickupBooked
from wasteledger.model.facts import Entry, Fact, Subject, effective_facts, replaced_body, subjects_of
from wasteledger.model.register import Register, SiteDetails
from wasteledger.model.standing import AnyStanding, fold, standing_class
from wasteledger.model.standing.refusals import AlreadyThere, NotThereYet
from wasteledger.model.values import Body, read_utc, utc_text

_MENTION, _GOVERNING = table_of(tables.MentionRow), table_of(tables.GoverningRow)
_CHAIN_END, _TALLY = table_of(tables.ChainEndRow), table_of(tables.TallyRow)

# Made once: making a statement anew for each entry takes longer than running it.
_WRITE, _WRITE_MENTION, _WRITE_TALLY = insert(JOURNAL), insert(_MENTION), insert(_TALLY)
_EMPTY = delete(_TALLY).where(*at_key(_TALLY, ("container",)))
_MOVE_END = (
    update(_CHAIN_END)
    .where(*at_key(_CHAIN_END, ()))
    .values(entries=bindparam("to_entries"), digest=bindparam("to_digest"))
)


class InTheFuture(WasteLedgerError):
    """It has not happened yet."""

    code = "in-the-future"

    def __init__(self, happened_at: datetime, now: datetime) -> None:
        super().__init__(
            "{then} has not come yet; it is {now}.",
            hint="Give the time at which it happened; what is planned is not recorded here.",
            then=happened_at,
            now=now,
        )


class KeyReused(WasteLedgerError):
    """The same idempotency key with something else to say."""

    code = "key-reused"

    def __init__(self, key: str, seq: int) -> None:
        super().__init__(
            f"The key {key} was used before, for entry {seq}, which says something else.",
            hint=f"Use a new key for a new entry; to change entry {seq}, correct it.",
        )
        self.seq = seq


class NoSuchSite(Unknown):
    """The ledger has no chain for that site."""

    code = "no-such-site"


class SecondFirstEntry(WasteLedgerError):
    """A site's chain was begun before."""

    code = "second-first-entry"


@dataclass(frozen=True, slots=True)
class Recorder:
    """Who writes, and through which door (``cli``, ``web``, ``import``)."""

    person: str
    door: str


@dataclass(frozen=True, slots=True)
class Appended:
    """An entry, and whether it had been written before with the same key."""

    entry: Entry
    repeated: bool


class NotCorrectable(WasteLedgerError):
    """That entry cannot be corrected that way."""

    code = "not-correctable"


class Desk(Reader):
    """A reader that may also append; made by `Ledger.writing`, good for one transaction."""

    def __init__(self, connection: Connection, site: str, recorder: Recorder, now: datetime) -> None:
        super().__init__(connection, site)
        self.recorder, self.now = recorder, read_utc(utc_text(now))
        self.written: list[Entry] = []
        self._states: dict[Subject, AnyStanding | None] = {}
        end = self.chain_end()
        self._last_seq, self._last_digest = (end.entries, end.digest) if end else (0, GENESIS)

    def append(self, body: Body, *, happened_at: datetime | None = None, key: str | None = None) -> Appended:
        """Check *body* against what stood at its time, and write it at the end of the chain.

        Args:
            body: What happened.
            happened_at: When, an instant with a zone; now where None.
            key: The recorder's idempotency key; a fresh one where None.

        Raises:
            NotUnderstood: The time has no zone, or lies beyond the calendar.
            KeyReused: The key was used for something else.
            InTheFuture: It has not happened yet.
            WasteLedgerError: It cannot be, in the words of the fold.
        """
        happened_at = None if happened_at is None else _in_utc(happened_at)
        # A key that is drawn here was never used before.
        earlier = self.find_key(key) if key else None
        key = key or str(uuid.uuid4())
        if earlier is not None:
            same_time = happened_at is None or earlier.happened_at == happened_at
            if (
                not same_time
                or earlier.recorded_by != self.recorder.person
                or earlier.kind != body.KIND
                or earlier.body.said() != body.said()
            ):
                raise KeyReused(key, earlier.seq)
            return Appended(earlier, repeated=True)
        entry, row = self._chained(body, self._checked_time(happened_at), key)
        self._check_site(body)
        if isinstance(body, Correction):
            after = self._after_correction(entry, body)
        else:
            fact = Fact(entry.seq, entry.seq, entry.happened_at, entry.recorded_at, entry.recorded_by, body)
            after = {subject: self._after(subject, fact) for subject in sorted(subjects_of(body))}
        self._write(entry, row, after)
        return Appended(entry, repeated=False)

    def _checked_time(self, happened_at: datetime | None) -> datetime:
        if happened_at is None:
            return self.now
        if happened_at > self.now:
            raise InTheFuture(happened_at, self.now)
        return happened_at

    def _check_site(self, body: Body) -> None:
        first = isinstance(body, Register) and isinstance(body.details, SiteDetails)
        if self._last_seq == 0 and not first:
            raise NoSuchSite(
                f"This ledger has no site “{self.site}”.", hint="Set it up first: wasteledger setup PLAN.toml."
            )
        if first and isinstance(body, Register) and body.ref != self.site:
            raise SecondFirstEntry(
                f"The chain of site “{self.site}” cannot begin another site, “{body.ref}”.",
                hint="Every site has a chain of its own; name it with --site.",
            )

    def _chained(self, body: Body, when: datetime, key: str) -> tuple[Entry, Values]:
        """The next entry of the chain, and its row."""
        bare = Entry(
            site=self.site,
            seq=self._last_seq + 1,
            happened_at=when,
            recorded_at=self.now,
            recorded_by=self.recorder.person,
            door=self.recorder.door,
            body=body,
            key=key,
            previous=self._last_digest,
            digest="",
        )
        row = entry_values(bare)
        digest = digest_of(entry_bytes(row))
        return replace(bare, digest=digest), row | {"digest": digest}

    # -- what stands afterwards ------------------------------------------------------------------------------------

    def _after(self, subject: Subject, fact: Fact) -> AnyStanding | None:
        state = self.find_standing(subject)
        if state is None:
            return standing_class(subject).start(subject, fact)
        if fact.happened_at >= state.last_at:
            return state.after(fact)
        began_at = getattr(state, "began_at", None)
        if began_at is not None and fact.happened_at < began_at and not isinstance(fact.body, Register):
            begins = {"container": ContainerOpened, "pickup": PickupBooked}.get(subject.what)
            if begins is not None and isinstance(fact.body, begins):
                raise AlreadyThere(subject.what, subject.ref, began_at)
            raise NotThereYet(subject.what.replace("_", " "), subject.ref, began_at)
        # Backdated: it takes its place in time, and everything after it must still be possible.
        facts = sorted([*self.facts_about(subject), fact], key=lambda one: one.order)
        return fold(subject, facts, new_place=fact.place)

    def _after_correction(self, entry: Entry, body: Correction) -> dict[Subject, AnyStanding | None]:
        target = self.get_entry(body.corrects)
        governing = self.corrections_of([target.seq]).get(target.seq)
        self._check_correctable(target, body, governing)
        touched = set(subjects_of(target.body)) | self._subjects_of_replacement(body)
        if governing is not None:
            earlier = self.get_entry(governing[0]).body
            if isinstance(earlier, Correction):
                touched |= self._subjects_of_replacement(earlier)
        # A void entry is no fact any more, so whatever fails then is a later one.
        new_place = -1 if body.action == "void" else target.seq
        after: dict[Subject, AnyStanding | None] = {}
        for subject in sorted(touched):
            about = {one.seq: one for one in [*self.entries_about(subject), target, entry]}
            facts = [fact for fact in effective_facts(about.values()) if subject in subjects_of(fact.body)]
            after[subject] = fold(subject, facts, new_place=new_place)
        return after

    def _subjects_of_replacement(self, body: Correction) -> set[Subject]:
        if body.replacement is None:
            return set()
        replacement = replaced_body(body.replacement)
        if isinstance(replacement, Correction):
            raise NotCorrectable("A correction cannot stand in the place of an entry.", hint="Correct the entry again.")
        return set(subjects_of(replacement))

    def _check_correctable(self, target: Entry, body: Correction, governing: tuple[int, str] | None) -> None:
        if isinstance(target.body, Correction):
            raise NotCorrectable(
                f"Entry {target.seq} is itself a correction, of entry {target.body.corrects}.",
                hint=f"Correct entry {target.body.corrects} again; the newest correction counts.",
            )
        action = governing[1] if governing else "reinstate"
        if body.action == "reinstate" and action == "reinstate":
            raise NotCorrectable(f"Entry {target.seq} counts as it is.", hint="There is nothing to reinstate.")
        if body.action == "void" and action == "void" and governing:
            raise NotCorrectable(
                f"Entry {target.seq} was made void before, by entry {governing[0]}.", hint="There is nothing to do."
            )
        if target.seq == 1 and body.action == "void":
            raise NotCorrectable("The first entry of a chain cannot be made void.", hint="Replace it instead.")
        if body.replacement is not None:
            self._checked_time(read_utc(body.replacement.happened_at))
            replacement = replaced_body(body.replacement)
            self._check_site(replacement)
            if target.seq == 1 and not (
                isinstance(replacement, Register) and isinstance(replacement.details, SiteDetails)
            ):
                raise NotCorrectable(
                    "The first entry of a chain must stay the site's own.", hint="Replace its details."
                )

    # -- laying it down --------------------------------------------------------------------------------------------

    def _write(self, entry: Entry, written: Values, after: dict[Subject, AnyStanding | None]) -> None:
        run = self._connection.execute
        run(_WRITE, written)
        if after:
            run(_WRITE_MENTION, [{"site": self.site, "what": s.what, "ref": s.ref, "seq": entry.seq} for s in after])
        if isinstance(entry.body, Correction):
            row = {"site": self.site, "corrects": entry.body.corrects, "seq": entry.seq, "action": entry.body.action}
            run(delete(_GOVERNING).where(_GOVERNING.c.site == self.site, _GOVERNING.c.corrects == row["corrects"]))
            run(insert(_GOVERNING), row)
        for subject, state in after.items():
            self._write_standing(subject, state)
        if self._last_seq:
            run(_MOVE_END, {"at_site": self.site, "to_entries": entry.seq, "to_digest": entry.digest})
        else:
            run(insert(_CHAIN_END), {"site": self.site, "entries": entry.seq, "digest": entry.digest})
        self._last_seq, self._last_digest = entry.seq, entry.digest
        self.written.append(entry)

    def _write_standing(self, subject: Subject, state: AnyStanding | None) -> None:
        run = self._connection.execute
        row_class = TABLES[standing_class(subject)]
        key = key_columns(subject, row_class)
        take_away, put_back = _in_place_of(row_class, tuple(key))
        run(take_away, bound(self.site, key))
        if row_class is tables.ContainerRow:
            run(_EMPTY, bound(self.site, {"container": subject.ref}))
        if state is not None:
            values, tallies = standing_values(self.site, state)
            run(put_back, values)
            if tallies:
                run(_WRITE_TALLY, tallies)
        self._states[subject] = state

    def find_standing(self, subject: Subject) -> AnyStanding | None:
        """What stands of *subject*; kept for the length of the transaction."""
        if subject not in self._states:
            self._states[subject] = super().find_standing(subject)
        return self._states[subject]


@cache
def _in_place_of(row_class: type[tables.Row], names: tuple[str, ...]) -> tuple[Delete, Insert]:
    table = table_of(row_class)
    return delete(table).where(*at_key(table, names)), insert(table)


def _in_utc(instant: datetime) -> datetime:
    if instant.tzinfo is None:
        raise NotUnderstood(f"{instant} has no time zone.", hint="Say in which zone it was.")
    try:
        return instant.astimezone(UTC)
    except OverflowError as error:
        raise NotUnderstood(
            f"{instant} lies beyond the calendar.", hint="Give the day on which it happened."
        ) from error
