"""A ledger: the file, its sites, and the two kinds of transaction."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from sqlalchemy import Engine

from wasteledger.clock import Clock, now
from wasteledger.errors import Unknown
from wasteledger.ledger import engine as engines
from wasteledger.ledger.append import Desk, NoSuchSite, Recorder
from wasteledger.ledger.migrate import HEAD, bring_up, revision_of
from wasteledger.ledger.reader import Reader, sites_in
from wasteledger.model.facts import Subject
from wasteledger.model.standing import RegisterStanding


class UnknownPerson(Unknown):
    """Whoever records must stand in the register."""

    code = "unknown-person"


@dataclass(frozen=True, slots=True)
class Ledger:
    """An opened ledger; close it when done, or use it in a ``with``.

    *clock* tells what time it is when an entry is recorded.
    """

    engine: Engine
    clock: Clock = now

    @classmethod
    def open(cls, location: str, *, create: bool = False, clock: Clock = now) -> Ledger:
        """Open the ledger at *location*, bringing its tables up to date; make it if *create*.

        Raises:
            StoreNotReachable: It is not there, cannot be opened, or was made by a newer release.
            JournalDamaged: The file is no database any more.
        """
        engine = engines.open_engine(location, create=create)
        ledger = cls(engine, clock)
        with engines.reading(engine) as connection:
            present = revision_of(connection)
        if present != HEAD:
            with engines.writing(engine) as connection:
                bring_up(connection)
        return ledger

    def __enter__(self) -> Ledger:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self.engine.dispose()

    def sites(self) -> list[str]:
        """The sites that have a chain here."""
        with engines.reading(self.engine) as connection:
            return sites_in(connection)

    def the_site(self, wanted: str | None = None) -> str:
        """*wanted* if it has a chain here; the only site where none is wanted.

        Raises:
            NoSuchSite: There is none, or there are several and none was named.
        """
        there = self.sites()
        if wanted is None and len(there) == 1:
            return there[0]
        if wanted in there:
            return str(wanted)
        if not there:
            raise NoSuchSite("This ledger is empty.", hint="Set a practice up first: wasteledger setup PLAN.toml.")
        asked = f"has no site “{wanted}”" if wanted else "holds several sites"
        raise NoSuchSite(f"This ledger {asked}.", hint=f"Name one with --site: {', '.join(there)}.")

    @contextmanager
    def reading(self, site: str) -> Iterator[Reader]:
        """One consistent view of a site."""
        with engines.reading(self.engine) as connection:
            yield Reader(connection, site)

    @contextmanager
    def writing(self, site: str, recorder: Recorder) -> Iterator[Desk]:
        """A desk for one transaction: everything that is appended in the block is written, or nothing is.

        Raises:
            UnknownPerson: The recorder is not in the register, or no longer in service.
        """
        with engines.writing(self.engine) as connection:
            desk = Desk(connection, site, recorder, self.clock())
            yield desk
            if desk.written:
                _check_person(desk)


def _check_person(desk: Desk) -> None:
    person = desk.find_standing(Subject("person", desk.recorder.person))
    if not isinstance(person, RegisterStanding) or person.retired_at is not None:
        raise UnknownPerson(
            f"“{desk.recorder.person}” is not somebody who records here.",
            hint="Give the short name of a person in the register with --by, or add one: wasteledger people add.",
        )
