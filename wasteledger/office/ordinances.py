"""The ordinance files themselves: which there are, which are in force here, what one says, what is wrong in one.

Everything here works without a ledger too: a practice reads the rules before it is set up.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from wasteledger.errors import Unknown
from wasteledger.ledger.reader import Reader
from wasteledger.model.register import OrdinanceDetails
from wasteledger.office.due import laid_over
from wasteledger.office.plain import plain
from wasteledger.office.provision_words import (
    AUTHORITY_DECIDES,
    ShownProvision,
    says_header,
    says_override,
    shown,
)
from wasteledger.office.rules import registered_ordinances
from wasteledger.ordinance import BadOrdinance, Holidays, Level, Ordinance, in_force, read_holidays, read_ordinance
from wasteledger.resources import find_all
from wasteledger.settings import read_settings

HOLIDAYS = "holidays-"
"""How the name of a file of holidays begins."""


class NoSuchOrdinance(Unknown):
    """No ordinance of that name is in force here, and no file has it."""

    code = "no-such-ordinance"

    def __init__(self, wanted: str, known: list[str]) -> None:
        super().__init__(f"There is no ordinance “{wanted}”.", hint=f"There are: {', '.join(known)}.")


@dataclass(frozen=True, slots=True)
class OrdinanceFile:
    """A file that can be put in force.

    Attributes:
        path: Where it lies.
        is_own: It is the office's own, laid over the shipped ones.
        ordinance: What it says; None where it has faults.
        faults: How many faults it has.
    """

    path: Path
    is_own: bool
    ordinance: Ordinance | None
    faults: int = 0


@dataclass(frozen=True, slots=True)
class ListedOrdinance:
    """One ordinance as a list shows it; where it is in force here, as the register has its text.

    Attributes:
        origin: ``shipped``, ``own`` (the office's folder), or ``register`` (a text whose file is not here).
        file: Name of its file; empty where there is none.
        provisions: How many provisions it has, *rules* of them with a day, *unconfirmed* of them not read.
        overrides: How many provisions of other ordinances it changes.
        in_force: Whether the register has it in force.
        file_differs: The file says something else than the text that is in force.
        faults: How many faults its file has; the text in force counts all the same.
    """

    id: str
    title: str
    level: str
    version: str
    dated_on: date | None
    origin: str
    file: str
    provisions: int = 0
    rules: int = 0
    unconfirmed: int = 0
    overrides: int = 0
    in_force: bool = False
    file_differs: bool = False
    faults: int = 0


@dataclass(frozen=True, slots=True)
class OrdinanceList:
    """Every ordinance that there is, from the widest to the nearest, and the holidays that their days may leave out.

    Attributes:
        site: Whose register was asked; None where there is no ledger.
    """

    site: str | None
    ordinances: tuple[ListedOrdinance, ...]
    holidays: tuple[Holidays, ...]

    def as_json(self) -> dict[str, Any]:
        """The list as JSON says it."""
        days = [{"id": one.id, "title": one.title, "years": sorted(one.years)} for one in self.holidays]
        return {
            "site": self.site,
            "ordinances": plain(self.ordinances),
            "holidays": days,
            "decides": AUTHORITY_DECIDES,
        }


@dataclass(frozen=True, slots=True)
class ShownOrdinance:
    """One ordinance, every provision in words.

    Attributes:
        header: Whose it is, which version, where it was read.
        in_force: Whether the register has it in force; then its text is the register's, with the changes of others.
        on: The day for which it is shown; None for all days.
        provisions: What stands on that day.
        not_on: Ids of what does not stand on that day.
        overrides: What it changes in other ordinances, a sentence each.
        file_differs: The file says something else than the text in force.
        remarks: What does not fit together among the ordinances in force.
    """

    id: str
    title: str
    header: tuple[str, ...]
    in_force: bool
    on: date | None
    provisions: tuple[ShownProvision, ...]
    not_on: tuple[str, ...]
    overrides: tuple[str, ...]
    file_differs: bool = False
    remarks: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The ordinance as JSON says it."""
        return {**plain(self), "decides": AUTHORITY_DECIDES}


def list_ordinances(reader: Reader | None) -> OrdinanceList:
    """Every ordinance: shipped, the office's own, and whatever the register of an open ledger has in force."""
    files = {_id_of(file): file for file in ordinance_files()}
    registered = dict(_registered(reader)) if reader is not None else {}
    lines = [_listed(ref, files.get(ref), registered.get(ref)) for ref in dict.fromkeys((*files, *registered))]
    order = {level.value: level.nearness for level in Level}
    return OrdinanceList(
        site=reader.site if reader is not None else None,
        ordinances=tuple(sorted(lines, key=lambda line: (order.get(line.level, len(order)), line.id))),
        holidays=tuple(known for _, known in _holidays()),
    )


def show_ordinance(wanted: str, reader: Reader | None, *, on: date | None = None) -> ShownOrdinance:
    """One ordinance by its id or the name of its file; where it is in force, the text of the register.

    Raises:
        NoSuchOrdinance: None is called so.
        BadOrdinance: Its file has faults, or the register's text cannot be read.
    """
    files = ordinance_files()
    names = {wanted, wanted.removesuffix(".toml")}
    file = next((one for one in files if one.path.stem in names or _id_of(one) in names), None)
    if reader is not None:
        rules, findings = laid_over(registered_ordinances(reader))
        name = _id_of(file) if file is not None else wanted
        here = next((one for one in in_force(rules) if one.id == name), None)
        if here is not None:
            differs = file is not None and (file.ordinance is None or file.ordinance.digest != here.digest)
            return _shown(here, on, is_here=True, differs=differs, remarks=tuple(one.says for one in findings))
    if file is None:
        registered = [ref for ref, _ in _registered(reader)] if reader is not None else []
        raise NoSuchOrdinance(wanted, sorted({*map(_id_of, files), *registered}))
    return _shown(file.ordinance or read_ordinance(file.path), on, is_here=False)


def ordinance_files() -> tuple[OrdinanceFile, ...]:
    """The files that a plan can name: the shipped ones, and the office's own instead of those of the same name."""
    own = read_settings(os.environ).templates
    found = []
    for path in find_all("ordinances", "*.toml"):
        if path.name.startswith(HOLIDAYS):
            continue
        is_own = own is not None and path.is_relative_to(own)
        try:
            found.append(OrdinanceFile(path, is_own, read_ordinance(path)))
        except BadOrdinance as bad:
            found.append(OrdinanceFile(path, is_own, None, len(bad.faults)))
    return tuple(found)


def stream_names() -> frozenset[str]:
    """The waste streams that are shipped, by the names that ordinances use."""
    (path,) = find_all("practice", "streams.toml")
    return frozenset(one["ref"] for one in tomllib.loads(path.read_text("utf-8"))["streams"])


def _id_of(file: OrdinanceFile) -> str:
    return file.ordinance.id if file.ordinance is not None else file.path.stem


def _registered(reader: Reader) -> Iterator[tuple[str, OrdinanceDetails]]:
    for line in reader.lines("ordinance"):
        if isinstance(line.details, OrdinanceDetails):
            yield line.ref, line.details


def _holidays() -> Iterator[tuple[Path, Holidays]]:
    for path in find_all("ordinances", f"{HOLIDAYS}*.toml"):
        try:
            yield path, read_holidays(path)
        except BadOrdinance:
            # A file of the office's own with faults; `ordinance check` names them.
            continue


def _listed(ref: str, file: OrdinanceFile | None, said: OrdinanceDetails | None) -> ListedOrdinance:
    ordinance, faults = (file.ordinance, file.faults) if file is not None else (None, 0)
    differs = said is not None and file is not None and (ordinance is None or ordinance.digest != said.digest)
    if said is not None:
        try:
            ordinance = read_ordinance(said.text, name=ref)
        except BadOrdinance as bad:
            ordinance, faults = None, faults or len(bad.faults)
    provisions = ordinance.provisions if ordinance is not None else ()
    title = ordinance.title if ordinance is not None else said.name if said is not None else "(has faults)"
    return ListedOrdinance(
        id=ref,
        title=title,
        level=ordinance.level.value if ordinance is not None else "",
        version=ordinance.version if ordinance is not None else "",
        dated_on=ordinance.dated_on if ordinance is not None else None,
        origin="register" if file is None else "own" if file.is_own else "shipped",
        file=file.path.name if file is not None else "",
        provisions=len(provisions),
        rules=len(ordinance.rules) if ordinance is not None else 0,
        unconfirmed=sum(not one.confirmed for one in provisions),
        overrides=len(ordinance.overrides) if ordinance is not None else 0,
        in_force=said is not None,
        file_differs=differs,
        faults=faults,
    )


def _shown(
    ordinance: Ordinance, on: date | None, *, is_here: bool, differs: bool = False, remarks: tuple[str, ...] = ()
) -> ShownOrdinance:
    stands = [one for one in ordinance.provisions if on is None or one.stands_on(on)]
    return ShownOrdinance(
        id=ordinance.id,
        title=ordinance.title,
        header=says_header(ordinance),
        in_force=is_here,
        on=on,
        provisions=tuple(map(shown, stands)),
        not_on=tuple(one.id for one in ordinance.provisions if one not in stands),
        overrides=tuple(map(says_override, ordinance.overrides)),
        file_differs=differs,
        remarks=remarks,
    )
