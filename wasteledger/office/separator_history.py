"""What the journal tells of a separator's device: since when it is in place, and when its unit was new."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, tzinfo

from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model.entries import Correction, Repair
from wasteledger.model.facts import Entry, Fact, Subject, effective_facts
from wasteledger.model.register import Register, SeparatorDetails
from wasteledger.model.standing import SeparatorStanding
from wasteledger.model.values import Body


@dataclass(frozen=True, slots=True)
class Installed:
    """Since when a device is in place: the day it was installed, or replaced whole since.

    Attributes:
        on: The local day.
        seq: The entry that says so; 0 where only the day of its registration is known.
        is_entered: Whether somebody entered that day; if not, it is the day on which it was registered.
        registered_seq: The newest line of the register about it; 0 where none is left.
        is_registered_since: Whether the register was looked at again since the device was last replaced whole.
    """

    on: date
    seq: int
    is_entered: bool
    registered_seq: int
    is_registered_since: bool


def installed(reader: Reader, separator: SeparatorStanding, zone: tzinfo) -> Installed:
    """Since when the device is in place, and which entry shows it."""
    said = separator.details.installed_on
    on, seq, is_entered = said or separator.in_service_at.astimezone(zone).date(), 0, said is not None
    line: Fact | None = None
    is_since = True
    for fact in facts_of(reader, separator.separator, Register, Repair):
        match fact.body:
            case Register(details=SeparatorDetails(installed_on=day)):
                line, is_since = fact, True
                if not seq and said is not None and day == said:
                    seq = fact.seq
            case Repair(action="replaced"):
                is_since = False
                if local_day(fact, zone) > on:
                    on, seq, is_entered = local_day(fact, zone), fact.seq, True
    return Installed(on, seq, is_entered, line.seq if line is not None else 0, is_since)


def devices_before(reader: Reader, separator: SeparatorStanding, zone: tzinfo) -> tuple[tuple[date, int], ...]:
    """Local day and entry of each installation that a later whole replacement ended, oldest first.

    A notice or a proof that was owed for such a device is still owed, or was given: its removal settles neither.
    """
    gone: list[tuple[date, int]] = []
    in_place: tuple[date, int] | None = None
    is_entered = False
    for fact in facts_of(reader, separator.separator, Register, Repair):
        match fact.body:
            case Register(details=SeparatorDetails(installed_on=day)):
                # A day that was entered later is a better word on the device that stood there all along.
                if in_place is None or (day is not None and not gone and not is_entered):
                    in_place, is_entered = (day or local_day(fact, zone), fact.seq), day is not None
            case Repair(action="replaced"):
                gone += [in_place] if in_place is not None else []
                in_place, is_entered = (local_day(fact, zone), fact.seq), True
    return tuple(gone)


def new_since(separator: SeparatorStanding, zone: tzinfo) -> date | None:
    """The local day on which the unit in use was new, as far as this ledger saw it."""
    if separator.last_unit_at is not None:
        return separator.last_unit_at.astimezone(zone).date()
    on = separator.details.installed_on
    return on if on is not None and on >= separator.in_service_at.astimezone(zone).date() else None


def facts_of(reader: Reader, separator: str, *wanted: type[Body]) -> tuple[Fact, ...]:
    """The effective facts of some kinds about a separator, without reading its other entries."""
    names = (*(kind.KIND for kind in wanted), Correction.KIND)
    about = Subject("separator", separator)
    written: list[Entry] = list(reader.entries(Filter(subjects=(about,), kinds=names, by_recorded=True)))
    return tuple(fact for fact in effective_facts(written) if isinstance(fact.body, wanted))


def local_day(fact: Fact, zone: tzinfo) -> date:
    """The day on which it happened, as the site's calendar has it."""
    return fact.happened_at.astimezone(zone).date()
