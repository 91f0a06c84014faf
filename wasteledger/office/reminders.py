"""What presses, as one text for people, and the entries that keep it from reaching anybody twice on a day.

An entry is written before a reminder goes out (the recipient is claimed), so that two programs at once cannot both send
one. Where no server took it, the entry is made void with the reason, and whoever runs next may send.
"""

from __future__ import annotations

import hashlib
import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from wasteledger.ledger.reader import ChainEnd, Reader
from wasteledger.model.entries import Correction
from wasteledger.model.filings import ReminderSent
from wasteledger.model.findings import Weight
from wasteledger.office.bodies import make
from wasteledger.office.coverage import day_bounds
from wasteledger.office.due import DueList, due_from
from wasteledger.office.kept import dayless_in
from wasteledger.office.notices import DEFERS, Notice, notices_of
from wasteledger.office.words import spelt
from wasteledger.office.workplace import (
    OFFICE,
    Said,
    Workplace,
    check_recorder,
    check_role,
    site_details,
    write,
    zone_of,
)
from wasteledger.ordinance import DueState

_NOTHING_SAID = Said()
_WIDTH = 78


@dataclass(frozen=True, slots=True)
class Digest:
    """What presses at a site on a day, in words.

    Attributes:
        site: Short name of the site; *name* is the practice's.
        today: The site's local date.
        pressing: How many duties are overdue or due soon.
        urgent: How many things are urgently wrong with an ordinance in force, so that its days cannot be relied on.
        subject: One line.
        text: Lines for people.
        rests_on: The end of the chain that it was read from; None for an empty one.
        founded: Digest of the chain's first entry: the same for as long as the site keeps its chain.
    """

    site: str
    name: str
    today: date
    pressing: int
    urgent: int
    subject: str
    text: str
    rests_on: ChainEnd | None
    founded: str

    @property
    def presses(self) -> bool:
        """Whether there is anything to tell people; gaps and later days alone wake nobody."""
        return bool(self.pressing or self.urgent)

    @property
    def digest(self) -> str:
        """SHA-256 over subject, line feed and text in UTF-8, in hexadecimal."""
        return hashlib.sha256(f"{self.subject}\n{self.text}".encode()).hexdigest()

    def as_json(self) -> dict[str, Any]:
        """The digest as JSON says it."""
        return {
            "site": self.site,
            "name": self.name,
            "today": self.today.isoformat(),
            "pressing": self.pressing,
            "urgent": self.urgent,
            "subject": self.subject,
            "text": self.text,
            "digest": self.digest,
        }


@dataclass(frozen=True, slots=True)
class Claim:
    """A recipient's entry of the day; *is_fresh* where it was written just now, so that the reminder is to be sent."""

    seq: int
    is_fresh: bool


def digest_of(place: Workplace) -> Digest:
    """What presses at the site today, read in one transaction.

    Raises:
        BadOrdinance: An ordinance that the register has in force cannot be read.
    """
    today = place.today()
    with place.reading() as reader:
        found = due_from(reader, today)
        # On one line, whatever an imported register says: the name goes into the head of a mail.
        name = " ".join(site_details(reader).name.split())
        end, founded = reader.chain_end(), reader.get_entry(1).digest
    overdue, soon = (len(found.in_state(state)) for state in (DueState.OVERDUE, DueState.DUE_SOON))
    urgent = sum(finding.weight is Weight.URGENT for finding in found.findings)
    counts = ((overdue, "overdue"), (soon, "due soon"), (urgent, "wrong with an ordinance"))
    words = ", ".join(f"{number} {what}" for number, what in counts if number) or "nothing presses"
    return Digest(
        site=place.site,
        name=name,
        today=today,
        pressing=overdue + soon,
        urgent=urgent,
        subject=f"{name}, {spelt(today)}: {words}",
        text="\n".join(_text(found, place.site, name, end)) + "\n",
        rests_on=end,
        founded=founded,
    )


def find_sent(reader: Reader, to: str, on: date) -> int | None:
    """The entry that shows a reminder of the day *on* to the address *to*, or None; one made void shows none."""
    zone = zone_of(reader)
    # Written around midnight, it stands on the day beside the one that it speaks of.
    since, until = day_bounds(on - timedelta(days=1), zone)[0], day_bounds(on + timedelta(days=1), zone)[1]
    told = (
        fact.place
        for fact in reader.facts_between(since, until, (ReminderSent.KIND,))
        if isinstance(fact.body, ReminderSent) and fact.body.on == on and fact.body.to.casefold() == to.casefold()
    )
    return next(told, None)


def claim(place: Workplace, to: str, digest: Digest, said: Said = _NOTHING_SAID, *, again: bool = False) -> Claim:
    """Write that *digest* goes to the address *to*, unless it went there today already.

    Args:
        place: Where, and by whom.
        to: The address; letters are the same small or capital.
        digest: What goes there.
        said: A note, perhaps.
        again: Write it although the address was told today.

    Raises:
        NotTheirTask: Only the office tells people.
    """
    with place.writing(OFFICE) as desk:
        earlier = None if again else find_sent(desk, to, digest.today)
        if earlier is not None:
            return Claim(earlier, is_fresh=False)
        body = make(ReminderSent, to=to, on=digest.today, pressing=digest.pressing, digest=digest.digest)
        return Claim(write(desk, body, Said(note=said.note)).entry.seq, is_fresh=True)


def give_up(place: Workplace, seq: int, why: str) -> None:
    """Make the claim of entry *seq* void, because no server took the reminder; *why* is kept as the reason.

    Raises:
        NotCorrectable: It is void already.
    """
    with place.writing(OFFICE) as desk:
        write(
            desk,
            make(Correction, corrects=seq, action="void", reason=" ".join(why.split()), replacement=None),
            _NOTHING_SAID,
        )


def check_may_remind(place: Workplace) -> None:
    """Let a person pass who may tell others what is due, before any server is asked.

    Raises:
        NobodyNamed: No person was named.
        UnknownPerson: That person is not in the register.
        NotTheirTask: That person is not of the office.
    """
    check_recorder(place)
    with place.reading() as reader:
        check_role(reader, place.by or "", OFFICE)


def _text(found: DueList, site: str, name: str, end: ChainEnd | None) -> Iterator[str]:
    notices = notices_of(found)
    yield f"{name}, {spelt(found.today)}"
    yield from _part("Overdue", (one for one in notices if one.state == DueState.OVERDUE))
    yield from _part("Due soon", (one for one in notices if one.state == DueState.DUE_SOON))
    yield from _listed("No day can be told", ((gap.title, gap.lines()) for gap in dayless_in(found) if gap.is_gap))
    faults = (one for one in found.findings if one.weight is not Weight.NOTE)
    yield from _listed("Look at", ((f"{one.place}: {one.says} {one.do}".rstrip(), ()) for one in faults))
    later = sum(one.state == DueState.LATER for one in notices)
    yield ""
    if later:
        yield _wrapped(f"Later: {later} more {'day' if later == 1 else 'days'}; wasteledger due lists them.")
    yield _wrapped(DEFERS)
    if end is not None:
        yield f"It rests on entry {end.entries} of the journal of {site}. To check it:"
        yield f"wasteledger verify --paper {end.entries}:{end.digest}"


def _part(heading: str, notices: Iterable[Notice]) -> Iterator[str]:
    estimate = " (forecast, an estimate)"
    return _listed(
        heading,
        ((f"{spelt(one.due_on)}{estimate if one.is_forecast else ''}: {one.title}", one.lines) for one in notices),
    )


def _listed(heading: str, blocks: Iterable[tuple[str, Iterable[str]]]) -> Iterator[str]:
    """Nothing where there is no block; each is a title, and lines indented below it."""
    for number, (title, lines) in enumerate(blocks):
        if number == 0:
            yield ""
            yield f"{heading}:"
        yield _wrapped(title, "- ", "  ")
        yield from (_wrapped(line, "    ", "      ") for line in lines)


def _wrapped(line: str, first: str = "", rest: str = "") -> str:
    # Addresses, digests and file names stay whole, so that they can be copied.
    return textwrap.fill(
        line, _WIDTH, initial_indent=first, subsequent_indent=rest, break_long_words=False, break_on_hyphens=False
    )
