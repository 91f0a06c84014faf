"""The wording and the fields of each document, read from `templates/documents/*.toml`.

The shipped file of a document is its whole vocabulary. An office's own file of the same name, in its own template
folder, holds only what it says otherwise: tables are laid over each other key by key, lists are taken whole. A key that
the shipped file does not have, a value of another kind, or a place for a value that the document does not fill is a
fault, named by file and key; all faults of a file are shown at once. Only in the tables that the shipped file lists
under ``further`` may an office add entries of its own (label sheets of other dimensions).
"""

from __future__ import annotations

import string
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from wasteledger import resources
from wasteledger.errors import WasteLedgerError

# A folder that has no `documents/` of its own: asked with it, `resources.find` gives the shipped copy.
_NO_OVERLAY = Path(__file__).resolve().parent
_ALIGNMENTS = ("left", "right", "center")


class BadWording(WasteLedgerError):
    """A file of wording has faults; each names the file and the key."""

    code = "bad-wording"

    def __init__(self, faults: Iterable[str]) -> None:
        self.faults = tuple(faults)
        super().__init__(
            "; ".join(self.faults) + ".",
            hint="Write only keys that the shipped file has, each with a value of the same kind.",
        )


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a printed table.

    Attributes:
        field: Which field of a row it shows.
        heading: The words above it.
        share: Its share of the table's width, against the sum of all shares.
        align: left, right or center.
    """

    field: str
    heading: str
    share: float
    align: str = "left"


class Wording:
    """What one document says, key by key: ``wording.text("parties.carrier")``."""

    def __init__(self, values: Mapping[str, Any], sources: Mapping[str, Path]) -> None:
        self._values, self._sources = values, sources

    def text(self, key: str, **filled: object) -> str:
        """The words at *key*, with its ``{places}`` filled.

        Raises:
            BadWording: There is no such key, it is no text, or it has a place that nothing fills.
        """
        found = self._at(key)
        if not isinstance(found, str):
            raise BadWording([f"{self.source(key)}: {key} should be a text"])
        if not filled:
            return found
        try:
            return found.format_map({name: str(value) for name, value in filled.items()})
        except (KeyError, ValueError, IndexError, AttributeError) as error:
            raise BadWording([f"{self.source(key)}: {key} has a place that nothing fills: {error}"]) from error

    def lines(self, key: str) -> tuple[str, ...]:
        """The list of texts at *key*."""
        found = self._at(key)
        if not isinstance(found, list) or not all(isinstance(line, str) for line in found):
            raise BadWording([f"{self.source(key)}: {key} should be a list of texts"])
        return tuple(found)

    def number(self, key: str) -> float:
        """The number at *key*."""
        found = self._at(key)
        if isinstance(found, bool) or not isinstance(found, int | float):
            raise BadWording([f"{self.source(key)}: {key} should be a number"])
        return float(found)

    def names(self, key: str) -> tuple[str, ...]:
        """The names of the tables or values directly under *key*, in the order of the file."""
        found = self._at(key)
        if not isinstance(found, dict):
            raise BadWording([f"{self.source(key)}: {key} should be a table"])
        return tuple(found)

    def columns(self, key: str, row: type) -> tuple[Column, ...]:
        """The columns at *key* for rows of the dataclass *row*.

        Raises:
            BadWording: A column without heading or share, of an unknown field, or twice the same field.
        """
        known = {field.name for field in fields(row)}
        found, faults, columns = self._at(key), list[str](), list[Column]()
        if not isinstance(found, list) or not found:
            raise BadWording([f"{self.source(key)}: {key} should be a list of columns"])
        for number, entry in enumerate(found, start=1):
            where = f"{self.source(key)}: {key}, column {number}"
            if not isinstance(entry, dict):
                faults.append(f"{where} should be a table")
                continue
            faults += [f"{where}: {name} is not known here" for name in entry if name not in Column.__slots__]
            name, heading, share = entry.get("field"), entry.get("heading"), entry.get("share")
            align = entry.get("align", "left")
            if name not in known:
                faults.append(f"{where}: there is no field “{name}”; there are {', '.join(sorted(known))}")
            elif any(column.field == name for column in columns):
                faults.append(f"{where}: the field “{name}” stands there already")
            elif not isinstance(heading, str) or align not in _ALIGNMENTS:
                faults.append(f"{where}: heading should be a text, and align one of {', '.join(_ALIGNMENTS)}")
            elif isinstance(share, bool) or not isinstance(share, int | float) or share <= 0:
                faults.append(f"{where}: share should be a number above 0")
            else:
                columns.append(Column(name, heading, float(share), align))
        if faults:
            raise BadWording(faults)
        return tuple(columns)

    def source(self, key: str) -> Path:
        """The file that *key* was read from: the office's own, or the shipped one."""
        near = [place for place in self._sources if place == key or key.startswith(f"{place}.")]
        return self._sources[max(near, key=len, default="")]

    def _at(self, key: str) -> Any:
        found: Any = self._values
        for part in key.split("."):
            if not isinstance(found, dict) or part not in found:
                raise BadWording([f"{self.source(key)}: {key} is missing"])
            found = found[part]
        return found


def read_wording(document: str, *, own: Path | None = None) -> Wording:
    """The wording of *document* (``manifest``), an office's own laid over the shipped one.

    *own* is the office's template folder; left out, it is the one that the environment names.

    Raises:
        BadWording: A file cannot be read as TOML, or its own keys do not fit the shipped ones.
    """
    name = f"documents/{document}.toml"
    shipped = resources.find(name, own=_NO_OVERLAY)
    values = _read(shipped)
    sources = {"": shipped}
    laid_over = resources.find(name, own=own)
    if laid_over != shipped:
        faults: list[str] = []
        values = _lay_over(
            values, _read(laid_over), _Layer(laid_over, tuple(values.get("further", ())), sources, faults)
        )
        if faults:
            raise BadWording(faults)
    return Wording(values, sources)


def own_fonts(*, own: Path | None = None) -> tuple[Path, ...]:
    """TrueType files that the office laid into `documents/fonts/` of its own template folder."""
    try:
        return tuple(resources.find_all("documents/fonts", "*.ttf", own=own))
    except resources.ShippedFileMissing:
        return ()


def _read(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise BadWording([f"{path} cannot be read: {error}"]) from error


@dataclass(frozen=True, slots=True)
class _Layer:
    """An office's own file while it is laid over the shipped one; *further* are the tables it may add entries to."""

    file: Path
    further: tuple[str, ...]
    sources: dict[str, Path]
    faults: list[str]


def _lay_over(below: Mapping[str, Any], above: Mapping[str, Any], layer: _Layer, at: str = "") -> dict[str, Any]:
    result = dict(below)
    for name, value in above.items():
        key = f"{at}.{name}" if at else name
        where = f"{layer.file}: {key}"
        if name not in below and at not in layer.further:
            layer.faults.append(f"{where} is not known here")
            continue
        known = below.get(name, value)
        if _kind(known) != _kind(value):
            layer.faults.append(f"{where} should be a {_kind(known)}, not a {_kind(value)}")
        elif isinstance(value, dict) and name in below:
            result[name] = _lay_over(known, value, layer, key)
        elif isinstance(value, str) and (unfilled := _places(value, where, layer.faults) - _places(known)):
            layer.faults.append(f"{where} has a place that nothing fills: {', '.join(sorted(unfilled))}")
        else:
            result[name] = value
            layer.sources[key] = layer.file
    return result


def _kind(value: object) -> str:
    for kind, word in ((bool, "yes or no"), (int, "number"), (float, "number"), (str, "text"), (list, "list")):
        if isinstance(value, kind):
            return word
    return "table"


def _places(text: str, where: str = "", faults: list[str] | None = None) -> set[str]:
    try:
        return {place for _, place, _, _ in string.Formatter().parse(text) if place is not None}
    except ValueError as error:
        if faults is None:
            return set()
        faults.append(f"{where}: {error}")
        return set()
