"""Hazardous waste that no trap catches: typed in for a calendar month, so that the month's count holds all streams.

Fixer, solvents and the like are none of this ledger's streams; but a generator category counts every hazardous waste
of the month together (40 CFR 262.13). What is typed in is taken as it is said; nothing is known of its uncertainty.
"""

from __future__ import annotations

import re
import unicodedata
from calendar import monthrange
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Literal, Self

from wasteledger.errors import NotUnderstood, WasteLedgerError
from wasteledger.ledger.append import Desk
from wasteledger.ledger.reader import Reader
from wasteledger.model.facts import Fact
from wasteledger.model.filings import OtherWaste
from wasteledger.office.bodies import make
from wasteledger.office.days import checked_day
from wasteledger.office.describing import describe
from wasteledger.office.workplace import OFFICE, Recorded, Said, Workplace, answer, write, zone_of
from wasteledger.units import Mass

Basis = Literal["weighed", "estimate", "paper"]

_NOTHING_SAID = Said()
_MONTH = re.compile(r"([0-9]{4})-([0-9]{2})")


class NoMonth(NotUnderstood):
    """A text that names no calendar month."""

    code = "no-month"

    def __init__(self, text: str) -> None:
        super().__init__(f"“{text}” is not a month.", hint="Write year and month, such as 2026-10.")


class MonthToCome(WasteLedgerError):
    """Waste of a month that has not begun."""

    code = "month-to-come"

    def __init__(self, month: Month, limit_on: date) -> None:
        super().__init__(
            f"{month.words} begins only after {limit_on.isoformat()}, when this is said to be written.",
            hint="Give a month that is over, or the one that runs.",
        )


class WasteCountedTwice(WasteLedgerError):
    """Another entry holds that waste of that month."""

    code = "waste-counted-twice"

    def __init__(self, seq: int, other: OtherWaste) -> None:
        super().__init__(
            f"Entry {seq} holds “{other.name}” of {other.month} already: {Mass(other.made_mg)}.",
            hint=f"Correct entry {seq} (wasteledger correct {seq}), or give the other waste a name of its own.",
        )
        self.seq = seq


@dataclass(frozen=True, slots=True, order=True)
class Month:
    """A calendar month.

    >>> Month.read("2026-10").words
    'October 2026'
    """

    year: int
    number: int

    @classmethod
    def read(cls, text: str) -> Self:
        """The month of ``2026-10``.

        Raises:
            NoMonth: It names none.
            BeyondReckoning: Its year cannot be reckoned with.
        """
        found = _MONTH.fullmatch(text.strip())
        if found is None or not 1 <= int(found.group(2)) <= 12:
            raise NoMonth(text)
        year, number = int(found.group(1)), int(found.group(2))
        if not year:
            raise NoMonth(text)
        checked_day(date(year, number, 1))
        return cls(year, number)

    @classmethod
    def of(cls, day: date) -> Self:
        """The month in which a day lies."""
        return cls(day.year, day.month)

    @property
    def first_on(self) -> date:
        """Its first day."""
        return date(self.year, self.number, 1)

    @property
    def last_on(self) -> date:
        """Its last day."""
        return date(self.year, self.number, monthrange(self.year, self.number)[1])

    @property
    def words(self) -> str:
        """The month as people read it."""
        return f"{self.first_on:%B} {self.year}"

    def plus(self, months: int) -> Month:
        """The month so many months later, or earlier."""
        years, number = divmod(self.year * 12 + self.number - 1 + months, 12)
        return Month(years, number + 1)

    def months_to(self, later: Month) -> int:
        """How many months later another one begins; less than 0 where it is earlier."""
        return (later.year - self.year) * 12 + later.number - self.number

    def bounds(self, zone: tzinfo) -> tuple[datetime, datetime]:
        """The instants at which it begins and ends in *zone*, in UTC."""
        first, after = (datetime.combine(one.first_on, time.min, zone) for one in (self, self.plus(1)))
        return first.astimezone(UTC), after.astimezone(UTC)

    def __str__(self) -> str:
        return f"{self.year:04}-{self.number:02}"


def record_other_waste(
    place: Workplace,
    month: Month,
    name: str,
    made: Mass,
    said: Said = _NOTHING_SAID,
    *,
    on_hand: Mass | None = None,
    acute: bool = False,
    basis: Basis = "estimate",
) -> Recorded:
    """Record how much of another hazardous waste was made in a month; nothing of it is an answer, too.

    The entry happened at the end of the month, or now while the month lasts.

    Args:
        place: Where, and by whom; the office only.
        month: The calendar month.
        name: What the waste is, in the office's own words.
        made: How much of it arose in that month.
        said: When it happened, the key, a note.
        on_hand: How much of it lies on site at that time; None where nobody looked.
        acute: Whether it is acute hazardous waste, which has limits of its own.
        basis: How the mass is known.

    Raises:
        MonthToCome: The month has not begun.
        WasteCountedTwice: Another entry holds the same waste of the same month.
        NotTheirTask: The person does not work in the office.
        BodyNotUnderstood: The name is empty or too long, or a mass is beyond what is kept.
    """
    body = make(
        OtherWaste,
        month=str(month),
        name=name,
        made_mg=made.mg,
        on_hand_mg=None if on_hand is None else on_hand.mg,
        acute=acute,
        basis=basis,
    )
    with place.writing(OFFICE) as desk:
        zone = zone_of(desk)
        earlier = desk.find_key(said.key) if said.key else None
        if earlier is not None and isinstance(earlier.body, OtherWaste) and said.at is None:
            # The month was not over yet when it was first written; the same message is still the same.
            said = replace(said, at=earlier.happened_at)
        appended = write(desk, body, replace(said, at=_happened_at(desk, month, said.at, zone)))
        if not appended.repeated:
            check_waste_counted_once(desk, appended.entry.seq)
    return answer(appended, describe(appended.entry, zone), warnings=_warnings(body))


def other_waste_told(reader: Reader) -> tuple[Fact, ...]:
    """Every effective fact of other waste, oldest first."""
    return reader.facts_between(kinds=(OtherWaste.KIND,))


def waste_counted_twice(facts: Iterable[Fact]) -> tuple[tuple[Fact, Fact], ...]:
    """Pairs of facts of one waste in one month: what recording refuses, but an import or a correction may bring."""
    first: dict[tuple[str, str], Fact] = {}
    found: list[tuple[Fact, Fact]] = []
    for fact in sorted(facts, key=lambda one: one.place):
        held = first.setdefault(_same(waste_of(fact)), fact)
        if held is not fact:
            found.append((held, fact))
    return tuple(found)


def check_waste_counted_once(desk: Desk, seq: int) -> None:
    """Refuse what entry *seq* now says if another entry holds that waste of that month; other kinds pass.

    Raises:
        MonthToCome: The month has not begun.
        WasteCountedTwice: The other entry, named.
    """
    facts = other_waste_told(desk)
    own = next((fact for fact in facts if fact.place == seq), None)
    if own is None:
        return
    month, today = Month.read(waste_of(own).month), desk.now.astimezone(zone_of(desk)).date()
    if month.first_on > today:
        raise MonthToCome(month, today)
    for fact in facts:
        if fact.place != seq and _same(waste_of(fact)) == _same(waste_of(own)):
            raise WasteCountedTwice(fact.seq, waste_of(fact))


def waste_of(fact: Fact) -> OtherWaste:
    """The body of a fact of other waste."""
    if not isinstance(fact.body, OtherWaste):
        raise ValueError(f"entry {fact.seq} tells of no other waste")
    return fact.body


def same_name(name: str) -> str:
    """A name as it is compared: capitals, spaces and the form of its letters make no other waste of it."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def _same(body: OtherWaste) -> tuple[str, str]:
    return body.month, same_name(body.name)


def _happened_at(desk: Desk, month: Month, at: datetime | None, zone: tzinfo) -> datetime | None:
    """The end of the month, or None (now) while it lasts; what was said is only checked."""
    limit_on = (at or desk.now).astimezone(zone).date()
    if month.first_on > limit_on:
        raise MonthToCome(month, limit_on)
    if at is not None or month.last_on >= limit_on:
        return at
    return month.bounds(zone)[1] - timedelta(microseconds=1)


def _warnings(body: OtherWaste) -> tuple[str, ...]:
    if "amalgam" not in same_name(body.name):
        return ()
    return ("Amalgam that went into containers here is counted without being typed in; this comes on top of it.",)
