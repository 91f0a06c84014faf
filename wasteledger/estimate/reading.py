"""Reads a parsed table key by key and gathers what is wrong, each fault with the full path of its key."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import ClassVar

from wasteledger.errors import NotUnderstood
from wasteledger.units import LARGEST


class BadFile(NotUnderstood):
    """Figures that cannot be read or do not fit together; ``faults`` has one sentence a fault, with its key."""

    code = "bad-file"
    NOUN: ClassVar[str] = "figures"

    def __init__(self, faults: tuple[str, ...], *, name: str = "") -> None:
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        listed = "\n".join(f"  {fault}" for fault in faults)
        super().__init__(
            f"{name or self.NOUN}: {count}.\n{listed}", hint="Mend the keys named here and read the file again."
        )
        self.faults, self.name = faults, name or self.NOUN


def opened(source: str | bytes | Mapping[str, object], name: str, refusal: type[BadFile]) -> Section:
    """The top table of a file: TOML as text or as UTF-8 bytes, or a table that was parsed already.

    Raises:
        BadFile: No TOML text, as the class *refusal*.
    """
    if not isinstance(source, Mapping):
        try:
            source = tomllib.loads(source if isinstance(source, str) else source.decode("utf-8"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            raise refusal((f"It is no TOML text: {error}.",), name=name) from error
    top = Section(source)
    if (form := top.whole("format", 1, LARGEST)) != 1:
        top.fault("format", f"{form} is not read here; 1 is")
    return top


class Section:
    """One table of a file. A key that cannot be used gives a harmless value and a fault; the whole file is read."""

    def __init__(self, table: Mapping[str, object], path: str = "", gathered: list[str] | None = None) -> None:
        self._table, self._path = table, path
        self._gathered: list[str] = [] if gathered is None else gathered
        self._read: set[str] = set()
        self._sections: list[Section] = []

    def names(self) -> tuple[str, ...]:
        """The keys that stand in this table, in the file's order."""
        return tuple(self._table)

    def fault(self, key: str, problem: str) -> None:
        """Note that *key* of this table is wrong; *problem* follows its path in the sentence."""
        self._gathered.append(f"{self._path}{key}: {problem}.")

    def faults(self) -> tuple[str, ...]:
        """All faults, of the tables within as well, with the keys that nothing asked for."""
        self._unknown()
        return tuple(self._gathered)

    def section(self, key: str) -> Section:
        """The table under *key*; an empty one where it is missing."""
        found = self._take(key)
        if not isinstance(found, Mapping):
            if key in self._table:
                self.fault(key, "must be a table")
            found = {}
        within = Section(found, f"{self._path}{key}.", self._gathered)
        self._sections.append(within)
        return within

    def text(self, key: str) -> str:
        """The text under *key*, not empty."""
        found = self._take(key)
        if isinstance(found, str) and found.strip():
            return found.strip()
        self.fault(key, "must be a text that is not empty" if key in self._table else "is missing")
        return ""

    def whole(self, key: str, least: int, most: int) -> int:
        """The whole number under *key*, from *least* to *most*."""
        found = self._take(key)
        # True is a whole number to Python and a mistake to everybody else.
        if isinstance(found, int) and not isinstance(found, bool) and least <= found <= most:
            return found
        self.fault(key, self._wrong(key, f"a whole number from {least} to {most}"))
        return least

    def number(self, key: str, least: float, most: float) -> float:
        """The number under *key*, from *least* to *most*."""
        found = self._take(key)
        if isinstance(found, int | float) and not isinstance(found, bool) and least <= found <= most:
            return float(found)
        self.fault(key, self._wrong(key, f"a number from {least:g} to {most:g}"))
        return least

    def _take(self, key: str) -> object:
        self._read.add(key)
        return self._table.get(key)

    def _wrong(self, key: str, wanted: str) -> str:
        return f"must be {wanted}, not {self._table[key]!r}" if key in self._table else f"is missing; {wanted}"

    def _unknown(self) -> None:
        for key in self._table:
            if key not in self._read:
                self.fault(key, "is not known here")
        for within in self._sections:
            within._unknown()
