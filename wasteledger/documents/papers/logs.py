"""Papers that tell what was looked at and put away: the deposit log, and the sheet for a day without power."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from wasteledger.documents.papers.common import Anchor, MassFigure, Party


@dataclass(frozen=True, slots=True)
class Blank:
    """Looks that were due in one room on one day and not made; *reason* is empty where none was given."""

    on: date
    room: str
    looks: int
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Coverage:
    """How many of the looks that were due were made; every blank is listed."""

    looks_made: int
    looks_due: int
    blanks: tuple[Blank, ...] = ()


@dataclass(frozen=True, slots=True)
class DepositRow:
    """One deposit.

    Attributes:
        entry: Its number in the journal.
        happened_at: When it happened; *recorded_at* is given where it was written down later than the office's limit.
        place: Room and trap, or the source in words.
        corrected_by: Number of the entry that voided or replaced this one; its row is struck through.
        corrects: Number of the entry that this one replaces.
        reason: Why, in the words of the correction.
    """

    entry: int
    happened_at: datetime
    person: str
    place: str
    what: str
    stream: str
    container: str
    count: int | None = None
    mass: MassFigure | None = None
    recorded_at: datetime | None = None
    corrected_by: int | None = None
    corrects: int | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class ContainerSum:
    """What one container took in a period.

    Attributes:
        deposits: Number of deposits that stand (corrected ones left out).
        count: Pieces in them.
        mass: Mass of them, weighed or estimated.
        state: Where the container is now, in words.
    """

    container: str
    stream: str
    deposits: int
    count: int
    mass: MassFigure
    state: str = ""
    opened_on: date | None = None


@dataclass(frozen=True, slots=True)
class DepositLogPaper:
    """What went into which container in a period, and how complete the record is."""

    practice: Party
    anchor: Anchor
    prepared_at: datetime
    from_on: date
    to_on: date
    coverage: Coverage
    rows: tuple[DepositRow, ...]
    containers: tuple[ContainerSum, ...] = ()


@dataclass(frozen=True, slots=True)
class Stop:
    """One trap on the evening round."""

    room: str
    trap: str
    kind: str


@dataclass(frozen=True, slots=True)
class LogSheetPaper:
    """The evening round on paper, in walking order.

    Attributes:
        dates: One sheet for each; empty prints one sheet with a line for the date.
        containers: Containers open now, to name the one an old trap goes into: id and stream.
    """

    practice: str
    anchor: Anchor
    prepared_at: datetime
    stops: tuple[Stop, ...]
    dates: tuple[date, ...] = ()
    containers: tuple[tuple[str, str], ...] = ()
