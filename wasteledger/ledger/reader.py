"""Reading a site's journal and standing over one open transaction."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from typing import Any

from sqlalchemy import ColumnElement, Connection, CursorResult, Select, Table, bindparam, func, select

from wasteledger.errors import JournalDamaged, Unknown, WasteLedgerError
from wasteledger.ledger import tables
from wasteledger.ledger.rows import TABLES, Values, entry_of, key_columns, standing_of
from wasteledger.model.entries import Correction
from wasteledger.model.facts import Entry, Fact, Subject, effective_facts, facts_about, subjects_of
from wasteledger.model.standing import (
    AnyStanding,
    ContainerStanding,
    MentionStanding,
    PickupStanding,
    RegisterStanding,
    SeparatorStanding,
    TrapStanding,
    standing_class,
)

# SQLite takes at most 32,766 values in one statement; older builds 999.
_BATCH = 500


class EntryUnknown(Unknown):
    """There is no entry of that number."""

    code = "entry-unknown"

    def __init__(self, seq: int, last: int) -> None:
        super().__init__(f"There is no entry {seq}; the last one is {last}.", hint="See wasteledger history.")


@dataclass(frozen=True, slots=True)
class Filter:
    """Which entries are wanted; every part that is given must hold.

    *since* and *until* bound the time it happened (until is exclusive); *body_says* stands somewhere in the body's
    canonical text; *newest_first* and *by_recorded* say in which order; *offset* and *limit* cut a page.
    """

    since: datetime | None = None
    until: datetime | None = None
    kinds: tuple[str, ...] = ()
    subjects: tuple[Subject, ...] = ()
    recorded_by: str | None = None
    body_says: str = ""
    newest_first: bool = False
    by_recorded: bool = False
    offset: int = 0
    limit: int | None = None


@dataclass(frozen=True, slots=True)
class ChainEnd:
    """How many entries a site's chain has, and the digest of the last."""

    entries: int
    digest: str


def table_of(row: type[tables.Row]) -> Table:
    """The SQLAlchemy table of a row class."""
    found: Table = row.__table__  # type: ignore[attr-defined]
    return found


JOURNAL = table_of(tables.EntryRow)
_MENTION = table_of(tables.MentionRow)
_GOVERNING = table_of(tables.GoverningRow)
_CHAIN_END = table_of(tables.ChainEndRow)
_TALLY = table_of(tables.TallyRow)
_TRAP, _CONTAINER = table_of(tables.TrapRow), table_of(tables.ContainerRow)
_PICKUP, _SEPARATOR = table_of(tables.PickupRow), table_of(tables.SeparatorRow)
_REGISTER, _MILESTONE = table_of(tables.RegisterRow), table_of(tables.MilestoneRow)


def at_key(table: Table, names: Sequence[str]) -> list[ColumnElement[bool]]:
    """The condition on a site's row of a key; its values are bound as ``at_site`` and ``at_`` with each name."""
    return [table.c[name] == bindparam(f"at_{name}") for name in ("site", *names)]


def bound(site: str, key: Values) -> Values:
    """The values that `at_key` asks for."""
    return {"at_site": site} | {f"at_{name}": value for name, value in key.items()}


# Asked at every entry, and so made once: making a statement anew takes longer than running it.
_KEYED = select(JOURNAL).where(*at_key(JOURNAL, ("key",)))
_TALLIED = select(_TALLY).where(*at_key(_TALLY, ("container",)))


@cache
def _standing_at(row_class: type[tables.Row], names: tuple[str, ...]) -> Select[Any]:
    table = table_of(row_class)
    return select(table).where(*at_key(table, names))


BEGINNING = datetime(1, 1, 1, tzinfo=UTC)
END = datetime(9999, 1, 1, tzinfo=UTC)
"""Nothing that a journal holds happened before the one, or from the other on."""


class Reader:
    """What may be asked of one site's ledger inside one transaction."""

    def __init__(self, connection: Connection, site: str) -> None:
        self._connection, self.site = connection, site

    # -- the chain -------------------------------------------------------------------------------------------------

    def chain_end(self) -> ChainEnd | None:
        """The end of the chain; None where the site has no entry."""
        row = self._one(select(_CHAIN_END).where(_CHAIN_END.c.site == self.site))
        return ChainEnd(row["entries"], row["digest"]) if row else None

    def find_entry(self, seq: int) -> Entry | None:
        """Entry *seq*, or None."""
        row = self._one(select(JOURNAL).where(JOURNAL.c.site == self.site, JOURNAL.c.seq == seq))
        return _kept(row) if row else None

    def get_entry(self, seq: int) -> Entry:
        """Entry *seq*.

        Raises:
            EntryUnknown: There is none.
        """
        found = self.find_entry(seq)
        if found is None:
            end = self.chain_end()
            raise EntryUnknown(seq, end.entries if end else 0)
        return found

    def find_key(self, key: str) -> Entry | None:
        """The entry that was written with the idempotency key *key*, or None."""
        row = self._one(_KEYED, bound(self.site, {"key": key}))
        return _kept(row) if row else None

    def entries(self, wanted: Filter | None = None) -> Iterator[Entry]:
        """Entries that match, in the order asked for (time it happened, else as recorded)."""
        wanted = wanted or Filter(by_recorded=True)
        query = self._matching(select(JOURNAL), wanted)
        columns = (JOURNAL.c.seq,) if wanted.by_recorded else (JOURNAL.c.happened_at, JOURNAL.c.seq)
        query = query.order_by(*(column.desc() if wanted.newest_first else column for column in columns))
        if wanted.limit is not None:
            query = query.limit(wanted.limit)
        if wanted.offset:
            query = query.offset(wanted.offset)
        for row in self._rows(query):
            yield _kept(row)

    def count(self, wanted: Filter) -> int:
        """How many entries match, all pages together."""
        query = self._matching(select(func.count()).select_from(JOURNAL), wanted)
        return int(self._connection.execute(query).scalar_one())

    def _matching(self, query: Select[Any], wanted: Filter) -> Select[Any]:
        query = query.where(JOURNAL.c.site == self.site)
        if wanted.since is not None:
            query = query.where(JOURNAL.c.happened_at >= wanted.since)
        if wanted.until is not None:
            query = query.where(JOURNAL.c.happened_at < wanted.until)
        if wanted.kinds:
            query = query.where(JOURNAL.c.kind.in_(wanted.kinds))
        if wanted.recorded_by is not None:
            query = query.where(JOURNAL.c.recorded_by == wanted.recorded_by)
        if wanted.body_says:
            query = query.where(JOURNAL.c.body.contains(wanted.body_says, autoescape=True))
        for subject in wanted.subjects:
            mentioned = select(_MENTION.c.seq).where(
                _MENTION.c.site == self.site, _MENTION.c.what == subject.what, _MENTION.c.ref == subject.ref
            )
            query = query.where(JOURNAL.c.seq.in_(mentioned))
        return query

    def corrections_of(self, seqs: Sequence[int]) -> dict[int, tuple[int, str]]:
        """For those of *seqs* that were corrected: the governing correction's seq and action."""
        found: dict[int, tuple[int, str]] = {}
        for start in range(0, len(seqs), _BATCH):
            query = select(_GOVERNING).where(
                _GOVERNING.c.site == self.site, _GOVERNING.c.corrects.in_(seqs[start : start + _BATCH])
            )
            for row in self._connection.execute(query).mappings():
                found[row["corrects"]] = (row["seq"], row["action"])
        return found

    # -- facts -----------------------------------------------------------------------------------------------------

    def entries_about(self, subject: Subject) -> list[Entry]:
        """Every entry that speaks of *subject*, every correction of one, and what such a correction corrects.

        The last is needed where a correction moved an entry here that spoke of something else.
        """
        found = {entry.seq: entry for entry in self.entries(Filter(subjects=(subject,), by_recorded=True))}
        corrected = {entry.body.corrects for entry in found.values() if isinstance(entry.body, Correction)}
        found |= {entry.seq: entry for entry in self._numbered(sorted(corrected - found.keys()))}
        return [found[seq] for seq in sorted(found)]

    def _numbered(self, seqs: Sequence[int]) -> Iterator[Entry]:
        for start in range(0, len(seqs), _BATCH):
            query = select(JOURNAL).where(JOURNAL.c.site == self.site, JOURNAL.c.seq.in_(seqs[start : start + _BATCH]))
            yield from (_kept(row) for row in self._rows(query))

    def facts_about(self, subject: Subject) -> tuple[Fact, ...]:
        """The effective facts about *subject*, oldest first."""
        return facts_about(subject, self.entries_about(subject))

    def facts_between(
        self,
        since: datetime = BEGINNING,
        until: datetime = END,
        kinds: tuple[str, ...] = (),
        about: Subject | None = None,
    ) -> tuple[Fact, ...]:
        """The effective facts of some *kinds* that happened in [*since*, *until*), oldest first; all, or *about* one.

        Without bounds they are those of all time.

        A replacement may have moved an entry's time, kind or subject, so corrected entries are looked up one by one.
        """
        subjects = () if about is None else (about,)
        asked = Filter(since=since, until=until, kinds=kinds, subjects=subjects)
        wanted = {entry.seq: entry for entry in self.entries(asked)}
        corrected = select(_GOVERNING).where(_GOVERNING.c.site == self.site)
        pairs = [(row["corrects"], row["seq"]) for row in self._connection.execute(corrected).mappings()]
        wanted |= {entry.seq: entry for entry in self._numbered(sorted({seq for pair in pairs for seq in pair}))}
        return tuple(
            fact
            for fact in effective_facts(wanted.values())
            if since <= fact.happened_at < until
            and (not kinds or fact.body.KIND in kinds)
            and (about is None or about in subjects_of(fact.body))
        )

    # -- the standing ----------------------------------------------------------------------------------------------

    def find_standing(self, subject: Subject) -> AnyStanding | None:
        """What stands of *subject*, or None."""
        cls = standing_class(subject)
        key = key_columns(subject, TABLES[cls])
        row = self._one(_standing_at(TABLES[cls], tuple(key)), bound(self.site, key))
        if row is None:
            return None
        return standing_of(cls, row, self._tallies(subject.ref) if cls is ContainerStanding else ())

    def find_trap(self, ref: str) -> TrapStanding | None:
        """The trap *ref*, or None."""
        found = self.find_standing(Subject("trap", ref))
        return found if isinstance(found, TrapStanding) else None

    def find_container(self, ref: str) -> ContainerStanding | None:
        """The container *ref*, or None."""
        found = self.find_standing(Subject("container", ref))
        return found if isinstance(found, ContainerStanding) else None

    def find_pickup(self, ref: str) -> PickupStanding | None:
        """The pickup *ref*, or None."""
        found = self.find_standing(Subject("pickup", ref))
        return found if isinstance(found, PickupStanding) else None

    def find_separator(self, ref: str) -> SeparatorStanding | None:
        """The separator *ref*, or None."""
        found = self.find_standing(Subject("separator", ref))
        return found if isinstance(found, SeparatorStanding) else None

    def find_line(self, what: str, ref: str) -> RegisterStanding | None:
        """The line *ref* of the register, of kind *what* (not trap or separator, which stand elsewhere), or None."""
        query = select(_REGISTER).where(_REGISTER.c.site == self.site, _REGISTER.c.what == what, _REGISTER.c.ref == ref)
        row = self._one(query)
        found = standing_of(RegisterStanding, row) if row else None
        return found if isinstance(found, RegisterStanding) else None

    def lines(self, what: str, *, retired: bool = False) -> list[RegisterStanding]:
        """The register's lines of kind *what*, by ref; those out of service only if *retired*."""
        query = select(_REGISTER).where(_REGISTER.c.site == self.site, _REGISTER.c.what == what)
        if not retired:
            query = query.where(_REGISTER.c.retired_at.is_(None))
        rows = self._rows(query.order_by(_REGISTER.c.ref))
        return [line for row in rows if isinstance(line := standing_of(RegisterStanding, row), RegisterStanding)]

    def traps(self, *, retired: bool = False) -> list[TrapStanding]:
        """Traps in walking order."""
        query = select(_TRAP).where(_TRAP.c.site == self.site).order_by(_TRAP.c.walk, _TRAP.c.trap)
        if not retired:
            query = query.where(_TRAP.c.retired_at.is_(None))
        rows = self._rows(query)
        return [trap for row in rows if isinstance(trap := standing_of(TrapStanding, row), TrapStanding)]

    def containers(self, *statuses: str) -> list[ContainerStanding]:
        """Containers in the given statuses (all where none is given), by the time they were opened."""
        query = select(_CONTAINER).where(_CONTAINER.c.site == self.site)
        if statuses:
            query = query.where(_CONTAINER.c.status.in_(statuses))
        rows = self._rows(query.order_by(_CONTAINER.c.opened_at, _CONTAINER.c.container))
        found = [standing_of(ContainerStanding, row, self._tallies(row["container"])) for row in rows]
        return [one for one in found if isinstance(one, ContainerStanding)]

    def pickups(self, *statuses: str) -> list[PickupStanding]:
        """Pickups in the given statuses (all where none is given), by the day they were planned for."""
        query = select(_PICKUP).where(_PICKUP.c.site == self.site)
        if statuses:
            query = query.where(_PICKUP.c.status.in_(statuses))
        rows = self._rows(query.order_by(_PICKUP.c.planned_on, _PICKUP.c.pickup))
        return [one for row in rows if isinstance(one := standing_of(PickupStanding, row), PickupStanding)]

    def separators(self, *, retired: bool = False) -> list[SeparatorStanding]:
        """Separators by ref."""
        query = select(_SEPARATOR).where(_SEPARATOR.c.site == self.site).order_by(_SEPARATOR.c.separator)
        if not retired:
            query = query.where(_SEPARATOR.c.retired_at.is_(None))
        rows = self._rows(query)
        return [one for row in rows if isinstance(one := standing_of(SeparatorStanding, row), SeparatorStanding)]

    def milestones(self) -> list[MentionStanding]:
        """Milestones, the newest of each."""
        rows = self._rows(select(_MILESTONE).where(_MILESTONE.c.site == self.site))
        return [one for row in rows if isinstance(one := standing_of(MentionStanding, row), MentionStanding)]

    def _tallies(self, container: str) -> list[Values]:
        return list(_values(self._connection.execute(_TALLIED, bound(self.site, {"container": container}))))

    def _rows(self, query: Select[Any]) -> Iterator[Values]:
        return _values(self._connection.execute(query))

    def _one(self, query: Select[Any], asked: Values | None = None) -> Values | None:
        result = self._connection.execute(query, asked)
        names, row = result.keys(), result.first()
        return dict(zip(names, row, strict=True)) if row is not None else None


def _values(rows: CursorResult[Any]) -> Iterator[Values]:
    """Each row by its columns' names; much faster than to ask each row for its mapping."""
    names = tuple(rows.keys())
    return (dict(zip(names, row, strict=True)) for row in rows)


def _kept(row: Values) -> Entry:
    """The entry of a row that was once written here: what cannot be read any more was changed since."""
    try:
        return entry_of(row)
    except WasteLedgerError as error:
        raise JournalDamaged(
            f"Entry {row['seq']} of site {row['site']} cannot be read any more.",
            hint="The journal was changed past the program. Run wasteledger verify, and keep the file as it is.",
        ) from error


def sites_in(connection: Connection) -> list[str]:
    """The sites that this ledger has a chain for, by name."""
    return [row[0] for row in connection.execute(select(_CHAIN_END.c.site).order_by(_CHAIN_END.c.site))]
