"""What an inspector asks: the history, sorted, filtered and paged; and whether the ledger still agrees with itself."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from difflib import get_close_matches
from typing import Any, Literal

from wasteledger.errors import NotUnderstood, Unknown
from wasteledger.ledger.reader import Filter, Reader
from wasteledger.ledger.verify import Paper, Progress, Verification, verify
from wasteledger.model.entries import KINDS, Correction
from wasteledger.model.facts import Entry, Subject
from wasteledger.model.values import read_utc
from wasteledger.office.describing import describe
from wasteledger.office.plain import plain
from wasteledger.office.workplace import Workplace, zone_of

# What the doors and documents speak of comes through here; they do not meet the ledger themselves.
__all__ = [
    "LATE_AFTER",
    "Filter",
    "HistoryPage",
    "HistoryRow",
    "Reader",
    "Verification",
    "describe",
    "effective_at",
    "history",
    "rows_of",
    "verify_site",
]

LATE_AFTER = timedelta(hours=24)
"""An entry written so long after it happened is marked as late: this program's own convention."""

LARGEST_PAGE = 1000


class NeverHeardOf(Unknown):
    """No entry speaks of a trap, container, pickup or separator of that name."""

    code = "never-heard-of"

    def __init__(self, what: str, ref: str) -> None:
        super().__init__(f"There is no {what} “{ref}” in this ledger.", hint=f"Check the name of the {what}.")


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One entry as a list shows it.

    Attributes:
        entry: The entry as it stands in the journal, corrected or not.
        local_happened: When it happened, as the site's wall clock showed it.
        local_recorded: When it was written down, likewise.
        late: Written down more than `LATE_AFTER` later.
        words: What it says, in one line.
        corrected_by: The newest correction of it, if there is one.
        corrected_action: What that one does: void, replace or reinstate.
        corrects: The entry that this one corrects.
        reason: The reason of the correction, on both rows of a pair.
    """

    entry: Entry
    local_happened: datetime
    local_recorded: datetime
    late: bool
    words: str
    corrected_by: int | None = None
    corrected_action: str | None = None
    corrects: int | None = None
    reason: str = ""

    @property
    def counts(self) -> bool:
        """Whether it still counts as it was written (a correction always does)."""
        return self.corrected_action in (None, "reinstate")

    def as_json(self) -> dict[str, Any]:
        """The row as JSON says it; the body with its own names and units."""
        entry = self.entry
        return {
            "seq": entry.seq,
            "kind": entry.kind,
            "happened_at": plain(entry.happened_at),
            "recorded_at": plain(entry.recorded_at),
            "local_happened": self.local_happened.isoformat(),
            "local_recorded": self.local_recorded.isoformat(),
            "recorded_by": entry.recorded_by,
            "door": entry.door,
            "late": self.late,
            "counts": self.counts,
            "words": self.words,
            "corrected_by": self.corrected_by,
            "corrected_action": self.corrected_action,
            "corrects": self.corrects,
            "reason": self.reason,
            "body": entry.body.model_dump(mode="json", exclude_none=True),
            "digest": entry.digest,
        }


@dataclass(frozen=True, slots=True)
class HistoryPage:
    """One page of the history.

    Attributes:
        rows: The entries of this page.
        total: How many entries match, all pages together.
        page: Which page this is, from 1.
        pages: How many there are, at least 1.
    """

    rows: tuple[HistoryRow, ...]
    total: int
    page: int
    pages: int

    def as_json(self) -> dict[str, Any]:
        """The page as JSON says it."""
        return {
            "total": self.total,
            "page": self.page,
            "pages": self.pages,
            "rows": [row.as_json() for row in self.rows],
        }


def history(
    place: Workplace,
    *,
    since: date | datetime | None = None,
    until: date | datetime | None = None,
    trap: str | None = None,
    container: str | None = None,
    pickup: str | None = None,
    separator: str | None = None,
    kind: tuple[str, ...] = (),
    by: str | None = None,
    order: Literal["happened", "recorded"] = "happened",
    newest_first: bool = False,
    page: int = 1,
    page_size: int = 50,
) -> HistoryPage:
    """A page of the entries that match; every condition that is given must hold.

    Args:
        place: Which site.
        since: From when it happened; a date means the beginning of that local day.
        until: To when; a date means the whole of that local day, a time is exclusive.
        trap: Entries that speak of this trap, and corrections of such.
        container: Likewise of this container.
        pickup: Likewise of this pickup.
        separator: Likewise of this separator.
        kind: Only entries of these kinds, such as ``swap`` or ``other_waste`` (``other-waste`` is the same).
        by: Only what this person recorded.
        order: By the time it happened, or by the order in which it was written.
        newest_first: The newest first.
        page: Which page, from 1; one behind the last has no rows.
        page_size: Rows a page, 1 to 1000.

    Raises:
        NotUnderstood: An unknown kind or order, or no such page can be.
        Unknown: Nothing in the ledger speaks of that trap, container, pickup or separator.
    """
    _check(order, page, page_size)
    kinds = tuple(_kind_of(name) for name in kind)
    with place.reading() as reader:
        zone = zone_of(reader)
        named = (("trap", trap), ("container", container), ("pickup", pickup), ("separator", separator))
        wanted = Filter(
            since=_from(since, zone),
            until=_to(until, zone),
            kinds=kinds,
            subjects=tuple(_known(reader, Subject(what, ref)) for what, ref in named if ref is not None),
            recorded_by=by,
            newest_first=newest_first,
            by_recorded=order == "recorded",
            offset=(page - 1) * page_size,
            limit=page_size,
        )
        total = reader.count(wanted)
        rows = rows_of(reader, tuple(reader.entries(wanted)), zone)
    return HistoryPage(rows, total, page, max(1, -(-total // page_size)))


def rows_of(reader: Reader, entries: tuple[Entry, ...], zone: tzinfo) -> tuple[HistoryRow, ...]:
    """Entries as a list shows them, each with what corrected it."""
    corrected = reader.corrections_of([entry.seq for entry in entries])
    return tuple(_row(reader, entry, corrected.get(entry.seq), zone) for entry in entries)


def effective_at(entry: Entry) -> datetime:
    """When what an entry says happened: of a correction that replaces, the time that it puts in."""
    if isinstance(entry.body, Correction) and entry.body.replacement is not None:
        return read_utc(entry.body.replacement.happened_at)
    return entry.happened_at


def verify_site(place: Workplace, paper: str | None = None, progress: Progress | None = None) -> Verification:
    """Read the site's whole chain and compare it with itself, with the standing, and with a *paper*'s foot.

    Raises:
        NotUnderstood: *paper* is not of the form ``SEQ:DIGEST``.
        JournalDamaged: The file cannot be read to its end.
    """
    foot = Paper.parse(paper) if paper is not None else None
    return verify(place.ledger.engine, place.site, paper=foot, progress=progress)


def _row(reader: Reader, entry: Entry, correction: tuple[int, str] | None, zone: tzinfo) -> HistoryRow:
    corrects, reason = None, ""
    if isinstance(entry.body, Correction):
        corrects, reason = entry.body.corrects, entry.body.reason
    if correction is not None:
        governing = reader.get_entry(correction[0]).body
        reason = governing.reason if isinstance(governing, Correction) else reason
    return HistoryRow(
        entry=entry,
        local_happened=entry.happened_at.astimezone(zone),
        local_recorded=entry.recorded_at.astimezone(zone),
        late=entry.recorded_at - entry.happened_at > LATE_AFTER,
        words=describe(entry, zone),
        corrected_by=correction[0] if correction else None,
        corrected_action=correction[1] if correction else None,
        corrects=corrects,
        reason=reason,
    )


def _kind_of(name: str) -> str:
    """The kind of entry that was meant: dashes and spaces do for underscores, and capitals for small letters."""
    kind = name.strip().casefold().replace("-", "_").replace(" ", "_")
    if kind in KINDS:
        return kind
    near = get_close_matches(kind, KINDS, n=1)
    meant = f"Did you mean {near[0]}? " if near else ""
    raise NotUnderstood(f"There is no kind of entry “{name}”.", hint=f"{meant}There are: {', '.join(sorted(KINDS))}.")


def _check(order: str, page: int, page_size: int) -> None:
    if order not in ("happened", "recorded"):
        raise NotUnderstood(f"“{order}” is no order.", hint="Write happened or recorded.")
    if not 1 <= page <= 1_000_000_000:
        raise NotUnderstood(f"There is no page {page}.", hint="Pages are counted from 1.")
    if not 1 <= page_size <= LARGEST_PAGE:
        raise NotUnderstood(f"A page cannot have {page_size} rows.", hint=f"Ask for 1 to {LARGEST_PAGE}.")


def _known(reader: Reader, subject: Subject) -> Subject:
    if reader.find_standing(subject) is None and not reader.count(Filter(subjects=(subject,))):
        raise NeverHeardOf(subject.what, subject.ref)
    return subject


def _from(when: date | datetime | None, zone: tzinfo) -> datetime | None:
    if when is None or isinstance(when, datetime):
        return _instant(when, zone)
    return _instant(datetime.combine(when, time.min), zone)


def _to(when: date | datetime | None, zone: tzinfo) -> datetime | None:
    if when is None or isinstance(when, datetime):
        return _instant(when, zone)
    # The last day that a calendar has is followed by none, so there is nothing to leave out.
    return None if when == date.max else _instant(datetime.combine(when + timedelta(days=1), time.min), zone)


def _instant(when: datetime | None, zone: tzinfo) -> datetime | None:
    if when is None:
        return None
    return (when if when.tzinfo is not None else when.replace(tzinfo=zone)).astimezone(UTC)
