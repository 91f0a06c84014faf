"""Where somebody works: a ledger, a site, a person, and what every use case is told and answers."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import TypeVar
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from wasteledger.clock import Clock, now
from wasteledger.errors import NotUnderstood, Unknown, WasteLedgerError
from wasteledger.ledger.append import Appended, Desk, Recorder
from wasteledger.ledger.ledger import Ledger, UnknownPerson
from wasteledger.ledger.reader import Reader
from wasteledger.model.facts import Entry
from wasteledger.model.register import PersonDetails, Role, SiteDetails
from wasteledger.model.values import Body
from wasteledger.office.bodies import make
from wasteledger.office.learning import learn_after
from wasteledger.office.volumes import learn_volumes_after

Spoken = TypeVar("Spoken", bound=Body)

EVERYBODY = frozenset({Role.ASSISTANT, Role.MANAGER, Role.KEEPER})
"""Who may record what happens at the chair; an inspector edits nothing."""

OFFICE = frozenset({Role.MANAGER, Role.KEEPER})
"""Who may book pickups and change the register."""


class NobodyNamed(NotUnderstood):
    """An entry wants a person."""

    code = "nobody-named"


class NotTheirTask(WasteLedgerError):
    """That person's role does not record this."""

    code = "not-their-task"
    http_status = 403


@dataclass(frozen=True, slots=True)
class Said:
    """What every recording may be told besides: when it happened (an instant), the idempotency key, a note."""

    at: datetime | None = None
    key: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Recorded:
    """What a recording answers: the entry, one plain sentence, warnings, and the cautions that belong there.

    Where something was weighed, *learned* says what the estimate had said of it and what it taught.
    """

    entry: Entry
    repeated: bool
    says: str
    warnings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    learned: tuple[str, ...] = ()

    @property
    def seq(self) -> int:
        """The entry's number."""
        return self.entry.seq


@dataclass(frozen=True, slots=True)
class Workplace:
    """A site of an opened ledger, and who works there through which door."""

    ledger: Ledger
    site: str
    by: str | None = None
    door: str = "cli"
    _zones: dict[str, ZoneInfo] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    @contextmanager
    def open(
        cls, location: str, site: str | None = None, by: str | None = None, door: str = "cli", clock: Clock = now
    ) -> Iterator[Workplace]:
        """Open the ledger at *location* for the length of a block.

        Raises:
            StoreNotReachable: It cannot be opened.
            NoSuchSite: No such site, or several and none named.
        """
        with Ledger.open(location, clock=clock) as ledger:
            yield cls(ledger, ledger.the_site(site), by, door)

    @property
    def zone(self) -> ZoneInfo:
        """The site's time zone."""
        if self.site not in self._zones:
            with self.reading() as reader:
                self._zones[self.site] = zone_of(reader)
        return self._zones[self.site]

    def local(self, instant: datetime) -> datetime:
        """An instant as the site's wall clock shows it (with its zone)."""
        return instant.astimezone(self.zone)

    def instant(self, when: datetime) -> datetime:
        """The instant of a wall-clock time at the site; one that has a zone is only turned to UTC."""
        try:
            return (when if when.tzinfo else when.replace(tzinfo=self.zone)).astimezone(UTC)
        except OverflowError as error:
            raise NotUnderstood(f"{when} is no time that can be kept.", hint="Check the year.") from error

    def today(self) -> date:
        """The site's local date."""
        return self.local(self.ledger.clock()).date()

    @contextmanager
    def reading(self) -> Iterator[Reader]:
        """One consistent view of the site."""
        with self.ledger.reading(self.site) as reader:
            yield reader

    @contextmanager
    def writing(self, who: frozenset[Role] = EVERYBODY) -> Iterator[Desk]:
        """A desk for one transaction, for a person who has one of the roles in *who*.

        Raises:
            NobodyNamed: No person was named.
            UnknownPerson: That person is not in the register.
            NotTheirTask: That person has none of these roles.
        """
        if not self.by:
            raise NobodyNamed("Nobody was named.", hint="Say who records with --by, or set WASTELEDGER_BY.")
        with self.ledger.writing(self.site, Recorder(self.by, self.door)) as desk:
            check_role(desk, self.by, who)
            yield desk


def check_recorder(place: Workplace) -> None:
    """Let a person pass who may record what happens at the chair.

    Raises:
        NobodyNamed: No person was named.
        UnknownPerson: That person is not in the register, or out of service.
        NotTheirTask: That person only reads.
    """
    if not place.by:
        raise NobodyNamed("Nobody was named.", hint="Say who records with --by, or set WASTELEDGER_BY.")
    with place.reading() as reader:
        person = reader.find_line("person", place.by)
        if person is None or person.retired_at is not None:
            raise UnknownPerson(
                f"“{place.by}” is not somebody who records here.",
                hint="Give the short name of a person in the register with --by.",
            )
        check_role(reader, place.by, EVERYBODY)


def check_role(reader: Reader, by: str, who: frozenset[Role]) -> None:
    """Let a person pass who has one of the roles in *who*, or whom the register does not know.

    Raises:
        NotTheirTask: That person has none of these roles.
    """
    person = reader.find_line("person", by)
    if person is None or not isinstance(person.details, PersonDetails) or who.intersection(person.details.roles):
        return
    raise NotTheirTask(
        f"{person.details.name} is registered as {', '.join(person.details.roles)} and cannot record this.",
        hint=f"It takes one of: {', '.join(sorted(who))}.",
    )


def zone_of(reader: Reader) -> ZoneInfo:
    """The time zone of a site.

    Raises:
        Unknown: The site has no chain, or its zone is not known on this machine.
    """
    return zone_named(site_details(reader).time_zone)


def zone_named(name: str) -> ZoneInfo:
    """The time zone *name* of the IANA database.

    Raises:
        Unknown: There is none of that name.
    """
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise Unknown(f"There is no time zone “{name}”.", hint="Write one such as America/Chicago.") from error


def site_details(reader: Reader) -> SiteDetails:
    """The site's own line of the register.

    Raises:
        Unknown: There is none.
    """
    line = reader.find_line("site", reader.site)
    if line is None or not isinstance(line.details, SiteDetails):
        raise Unknown(f"This ledger has no site “{reader.site}”.", hint="Set it up first: wasteledger setup PLAN.toml.")
    return line.details


def said_before(desk: Desk, said: Said, kind: type[Spoken]) -> Spoken | None:
    """What was written with the same key before, if it was of that *kind*.

    What the office fills in for a person (the container, the scale, the condition) is taken from there again, so that
    a message sent twice says the same twice, whatever has happened since.
    """
    earlier = desk.find_key(said.key) if said.key else None
    return earlier.body if earlier is not None and isinstance(earlier.body, kind) else None


def write(desk: Desk, body: Body, said: Said) -> Appended:
    """Append *body* with what was said besides; the note goes into the body.

    Where it weighed something, or read a level, what was learned from it is appended as well, in the same transaction.

    Raises:
        BodyNotUnderstood: The note is too long, or holds a control character.
        WasteLedgerError: It cannot be, in the words of the fold.
    """
    if said.note is not None:
        body = make(type(body), **body.model_dump() | {"note": said.note})
    appended = desk.append(body, happened_at=said.at, key=said.key)
    learn_after(desk, appended)
    learn_volumes_after(desk, appended)
    return appended


def answer(
    appended: Appended,
    says: str,
    *,
    warnings: tuple[str, ...] = (),
    cautions: tuple[str, ...] = (),
    learned: tuple[str, ...] = (),
) -> Recorded:
    """What a recording answers; a repeated one says that it had been written before."""
    if appended.repeated:
        says = f"This was written before, as entry {appended.entry.seq}; nothing was added."
    return Recorded(appended.entry, appended.repeated, says, warnings, cautions, learned)
