"""Trying ordinance files before they are put in force: every fault with its line, and what to think of besides."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from wasteledger.ledger.reader import Reader
from wasteledger.model.findings import Finding, Weight
from wasteledger.office.ordinance_doubts import doubts
from wasteledger.office.ordinances import HOLIDAYS, ordinance_files, stream_names
from wasteledger.office.plain import plain
from wasteledger.office.provision_words import AUTHORITY_DECIDES
from wasteledger.office.rules import registered_ordinances
from wasteledger.office.words import short_day
from wasteledger.ordinance import (
    BadOrdinance,
    Fault,
    Ordinance,
    Provision,
    Rule,
    in_force,
    read_holidays,
    read_ordinance,
)
from wasteledger.ordinance.citations import rule_keys_of
from wasteledger.ordinance.fields import shown
from wasteledger.ordinance.positions import KeyPath, key_lines, line_of
from wasteledger.ordinance.rules import After
from wasteledger.resources import find_all


@dataclass(frozen=True, slots=True)
class CheckedFile:
    """One file that was read without a fault.

    Attributes:
        sort: ``ordinance`` or ``holidays``.
        provisions: How many provisions, *rules* of them with a day; of holidays, how many days.
        unconfirmed: Ids of the provisions that were not read.
    """

    file: str
    sort: str
    id: str
    title: str
    provisions: int
    rules: int = 0
    unconfirmed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Check:
    """What a check of files found.

    Attributes:
        files: Those that can be read, in the order given.
        faults: Everything wrong in or between the files, by file and line.
        held_against: Other ordinances that they were tried together with.
        findings: What is no fault, but to be known.
    """

    files: tuple[CheckedFile, ...]
    faults: tuple[Fault, ...]
    held_against: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def holds(self) -> bool:
        """Whether the files could be put in force as they are."""
        return not self.faults

    def as_json(self) -> dict[str, Any]:
        """The check as JSON says it."""
        return {
            "holds": self.holds,
            "files": plain(self.files),
            "faults": plain(self.faults),
            "held_against": plain(self.held_against),
            "findings": plain(self.findings),
            "decides": AUTHORITY_DECIDES,
        }


@dataclass(frozen=True, slots=True)
class _Read:
    """An ordinance that was read without a fault, and where its provisions stand in its file."""

    ordinance: Ordinance
    lines: Mapping[KeyPath, int]
    places: Mapping[str, KeyPath]

    def fault(self, provision: str, key: KeyPath, problem: str, accepted: str) -> Fault:
        """A fault at a key of one of its provisions."""
        path = (*self.places.get(provision, ()), *key)
        return Fault(self.ordinance.file, line_of(self.lines, path), shown(path), problem, accepted)


def check_files(paths: Sequence[Path], today: date, reader: Reader | None = None) -> Check:
    """Read every file, and try the ordinances among them together.

    They are tried with the ordinances that they change, and, where a *reader* is given, with all that its register has
    in force; a file of the same id takes the place of that one. Nothing can have been read, or dated, after *today*.
    """
    texts: list[_Read] = []
    files: list[CheckedFile] = []
    faults: list[Fault] = []
    calendars = _known_calendars()
    for path in paths:
        try:
            if path.name.startswith(HOLIDAYS):
                holidays = read_holidays(path)
                calendars.add(holidays.id)
                files.append(CheckedFile(path.name, "holidays", holidays.id, holidays.title, len(holidays.days)))
                continue
            texts.append(_placed(path, read_ordinance(path)))
        except BadOrdinance as bad:
            faults.extend(bad.faults)
            continue
        files.append(_checked(texts[-1].ordinance))
    read = [one.ordinance for one in texts]
    on_file = ordinance_files()
    shipped = tuple(file.ordinance for file in on_file if file.ordinance is not None)
    ours = [file.ordinance for file in on_file if file.ordinance is not None and not file.is_own]
    others = _held_against(read, registered_ordinances(reader) if reader is not None else (), shipped)
    faults.extend(_unknown_holidays(texts, calendars))
    known = {ordinance.id for ordinance in (*read, *others, *shipped)}
    faults.extend(_unknown_targets(read, known))
    try:
        in_force((*(_changing(one, known) for one in read), *others))
    except BadOrdinance as bad:
        faults.extend(bad.faults)
    return Check(
        files=tuple(files),
        faults=tuple(dict.fromkeys(faults)),
        held_against=tuple(one.id for one in others),
        findings=(
            *_unconfirmed(read),
            *_later_than(read, today),
            *_unknown_streams(read),
            *doubts(read, ours),
            *_same_clauses(read, (*others, *shipped)),
        ),
    )


def _placed(path: Path, ordinance: Ordinance) -> _Read:
    text = path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    tables = tomllib.loads(text)
    places: dict[str, KeyPath] = {}
    for kind, found in tables.items():
        for number, table in enumerate(found) if isinstance(found, list) else ():
            if "id" in table:
                places[table["id"]] = (kind, number)
    return _Read(ordinance, key_lines(text), places)


def _checked(ordinance: Ordinance) -> CheckedFile:
    return CheckedFile(
        file=ordinance.file,
        sort="ordinance",
        id=ordinance.id,
        title=ordinance.title,
        provisions=len(ordinance.provisions),
        rules=len(ordinance.rules),
        unconfirmed=tuple(one.id for one in ordinance.provisions if not one.confirmed),
    )


def _held_against(
    read: Sequence[Ordinance], registered: Iterable[Ordinance], shipped: Iterable[Ordinance]
) -> tuple[Ordinance, ...]:
    mine = {ordinance.id for ordinance in read}
    found = {ordinance.id: ordinance for ordinance in registered if ordinance.id not in mine}
    changed = {override.ordinance for ordinance in read for override in ordinance.overrides}
    for ordinance in shipped:
        if ordinance.id in changed - mine - found.keys():
            # Its own changes of third ordinances are not what is tried here.
            found[ordinance.id] = replace(ordinance, overrides=())
    return tuple(found.values())


def _unconfirmed(read: Iterable[Ordinance]) -> Iterator[Finding]:
    for ordinance in read:
        names = [one.id for one in ordinance.provisions if not one.confirmed]
        heard = [f"{one.ordinance}:{one.provision}" for one in ordinance.overrides if not one.confirmed]
        if names:
            says = f"Not confirmed, {len(names)} of {len(ordinance.provisions)} provisions: {', '.join(names)}."
            yield Finding("not-confirmed", ordinance.file, says, "Read them at their source.", Weight.NOTE)
        if heard:
            says = f"Changes of other ordinances that are not confirmed: {', '.join(heard)}."
            yield Finding("not-confirmed", ordinance.file, says, "Ask for the word in writing.", Weight.NOTE)


def _unknown_holidays(read: Iterable[_Read], known: set[str]) -> Iterator[Fault]:
    accepted = f"There are: {', '.join(sorted(known)) or 'none'}. Write one of them, or leave holidays out."
    for one in read:
        for rule in one.ordinance.rules:
            if isinstance(rule.due, After) and rule.due.interval.holidays not in ("", *known):
                problem = f"{rule.id} names the holidays “{rule.due.interval.holidays}”, and no file has them."
                yield one.fault(rule.id, ("due", "holidays"), problem, accepted)
        for over in one.ordinance.overrides:
            if isinstance(over.due, After) and over.due.interval.holidays not in ("", *known):
                problem = f"It names the holidays “{over.due.interval.holidays}”, and no file has them."
                key = f"override of {over.ordinance}:{over.provision}"
                yield Fault(one.ordinance.file, over.line, key, problem, accepted)


def _unknown_targets(read: Iterable[Ordinance], known: set[str]) -> Iterator[Fault]:
    """Changes of ordinances that are neither checked, nor in force, nor on file."""
    for ordinance in read:
        for over in ordinance.overrides:
            if over.ordinance in known:
                continue
            near = get_close_matches(over.ordinance, known, n=1)
            meant = f"Perhaps “{near[0]}” is meant. " if near else ""
            problem = f"There is no ordinance “{over.ordinance}”, neither among these files nor among those on file."
            key = f"override of {over.ordinance}:{over.provision}"
            accepted = f"{meant}There are: {', '.join(sorted(known - {ordinance.id}))}."
            yield Fault(ordinance.file, over.line, key, problem, accepted)


def _changing(ordinance: Ordinance, known: set[str]) -> Ordinance:
    """The ordinance with those changes alone whose ordinance is there: the others are faults already."""
    return replace(ordinance, overrides=tuple(one for one in ordinance.overrides if one.ordinance in known))


def _later_than(read: Iterable[Ordinance], today: date) -> Iterator[Finding]:
    for ordinance in read:
        if ordinance.dated_on > today:
            says = f"It is dated {short_day(ordinance.dated_on)}, after today ({short_day(today)})."
            yield Finding("dated-later", ordinance.file, says, "Write the day of the text that was read.")
        # A month is read on some day of it: the months are compared, and the days only where one is written.
        late = [one for one in ordinance.provisions if one.read_on > today.isoformat()[: len(one.read_on)]]
        if late:
            named = ", ".join(f"{one.id} ({one.read_on})" for one in late)
            says = f"Read after today ({short_day(today)}), by read_on: {named}."
            yield Finding("read-later", ordinance.file, says, "Write when the clause was read.")


def _unknown_streams(read: Iterable[Ordinance]) -> Iterator[Finding]:
    known = stream_names()
    for ordinance in read:
        for provision in ordinance.provisions:
            for stream in getattr(provision, "streams", ()):
                if stream in known:
                    continue
                near = get_close_matches(stream, known, n=1)
                meant = f"Perhaps “{near[0]}” is meant." if near else f"Shipped are: {', '.join(sorted(known))}."
                says = f"{provision.id} speaks of the stream “{stream}”, which is not a shipped one."
                yield Finding("unknown-stream", ordinance.file, says, meant)


def _same_clauses(read: Sequence[Ordinance], others: Iterable[Ordinance]) -> Iterator[Finding]:
    mine = {ordinance.id for ordinance in read}
    beside = {other.id: other for other in others if other.id not in mine}
    keyed = [(one, [(said, rule_keys_of(said)) for said in one.provisions]) for one in (*read, *beside.values())]
    for place, (ordinance, provisions) in enumerate(keyed[: len(read)]):
        for provision, keys in provisions:
            for other, candidates in keyed[place + 1 :]:
                for same in (said for said, also in candidates if keys & also and _alike(provision, said)):
                    says = f"{provision.id} cites the same clause as {same.id} of {other.title} ({same.citation})."
                    do = "Where both are in force, they count as one rule."
                    yield Finding("same-clause", ordinance.file, says, do, Weight.NOTE)


def _alike(one: Provision, other: Provision) -> bool:
    # A clause that sets several duties is cited by several provisions, which stay what they are.
    if isinstance(one, Rule) and isinstance(other, Rule):
        return (one.duty, one.kind) == (other.duty, other.kind)
    return type(one) is type(other)


def _known_calendars() -> set[str]:
    found = set()
    for path in find_all("ordinances", f"{HOLIDAYS}*.toml"):
        try:
            found.add(read_holidays(path).id)
        except BadOrdinance:
            # Its faults are its own; here it only means that nobody can count with it.
            continue
    return found
