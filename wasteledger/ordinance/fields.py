"""Reading a TOML table key by key, and keeping every fault with its line instead of stopping at the first.

Each reading gives a value of the right type even after a fault, so that the rest of the file is still checked. The
values are only used when no fault was kept.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from difflib import get_close_matches
from enum import StrEnum
from typing import TypeVar

from wasteledger.ordinance.faults import BadOrdinance, Fault
from wasteledger.ordinance.positions import KeyPath, key_lines, line_of

Word = TypeVar("Word", bound=StrEnum)

SLUG = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
PROVISION_ID = re.compile(r"[A-Za-z0-9]+(?:[.-][A-Za-z0-9]+)*")
READ_ON = re.compile(r"[0-9]{4}-(?:0[1-9]|1[0-2])(?:-(?:0[1-9]|[12][0-9]|3[01]))?")
MONTH_DAY = re.compile(r"(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01])")

_COMMON_YEAR = 2001  # 29 February is no day of it
_PLACEHOLDER_DAY = date(1, 1, 1)

# Days outside are a slip of the keyboard, or stand for "never"; nothing reckons with them.
_FIRST_YEAR, _LAST_YEAR = 1900, 2200

# Controls, halves of a pair, what turns the direction of writing (UAX 9, 2.1 to 2.4): text must read as it is drawn.
_UNSEEN = frozenset({"Cc", "Cs", "Zl", "Zp"})
_TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")

_QUOTED = 200

LONGEST_TEXT = 200_000
"""So many signs a file may have: what an entry of the register can hold."""

# From the beginning of a word on and never back: a long one is passed over once.
_DEEPEST = re.compile(r"(?<![A-Za-z0-9_-])(?:[A-Za-z0-9_-]++[ \t]*+\.[ \t]*+){100}")


@dataclass(slots=True)
class FileChecks:
    """The faults of one file, and where its keys stand."""

    file: str
    lines: Mapping[KeyPath, int]
    faults: list[Fault] = field(default_factory=list)

    def add(self, path: KeyPath, problem: str, accepted: str) -> None:
        """Keep a fault at the line of *path*."""
        self.faults.append(Fault(self.file, line_of(self.lines, path), shown(path), problem, accepted))

    def raise_if_any(self) -> None:
        """Raise what was kept.

        Raises:
            BadOrdinance: At least one fault was kept.
        """
        if self.faults:
            raise BadOrdinance(tuple(sorted(self.faults, key=lambda fault: fault.line)))


class Table:
    """One table of the file. Keys that nobody asked for are faults, which `close` keeps."""

    def __init__(self, keys: Mapping[str, object], path: KeyPath, checks: FileChecks) -> None:
        self.keys, self.path, self.checks = keys, path, checks
        self.known: list[str] = []

    def has(self, key: str) -> bool:
        """Whether the key is there; it counts as known from now on."""
        if key not in self.known:
            self.known.append(key)
        return key in self.keys

    def fault(self, key: str, problem: str, accepted: str) -> None:
        """Keep a fault at *key*; an empty key means the table itself."""
        self.checks.add((*self.path, key) if key else self.path, problem, accepted)

    def text(self, key: str, *, default: str | None = None, form: re.Pattern[str] | None = None, like: str = "") -> str:
        """A text that is not blank; *form* must match the whole of it, and *like* says what would."""
        if not self._present(key, default is None, like or "a text in quotes"):
            return default or ""
        value = self.keys[key]
        if not isinstance(value, str) or not value.strip():
            self.fault(key, f"{_told(value)} is no text.", f"Write {like or 'a text in quotes'}.")
            return ""
        if form is not None and not form.fullmatch(value):
            self.fault(key, f"“{value}” does not fit.", f"Write {like}.")
        return self._plain(key, value)

    def _plain(self, key: str, value: str) -> str:
        """The words of a text on one line; signs that would draw it otherwise than it reads are faults."""
        odd = next((sign for sign in value if sign not in "\n\t" and _is_unseen(sign)), None)
        if odd is not None:
            problem = f"It holds a sign that nobody sees (U+{ord(odd):04X})."
            self.fault(key, problem, "Leave it out: text must read as it is drawn.")
        return " ".join(value.split())

    def texts(self, key: str, *, required: bool = False) -> tuple[str, ...]:
        """A list of texts, none of them blank."""
        if not self._present(key, required, "a list of texts"):
            return ()
        value = self.keys[key]
        if not isinstance(value, list) or not value or not all(isinstance(one, str) and one.strip() for one in value):
            self.fault(key, f"{_told(value)} is no list of texts.", 'Write such as ["one", "two"].')
            return ()
        return tuple(self._plain(key, one) for one in value)

    def flag(self, key: str, *, default: bool | None = None) -> bool:
        """A truth value."""
        if not self._present(key, default is None, "true or false"):
            return bool(default)
        value = self.keys[key]
        if not isinstance(value, bool):
            self.fault(key, f"{_told(value)} is neither true nor false.", "Write true or false, without quotes.")
            return False
        return value

    def day(self, key: str, *, required: bool = False) -> date | None:
        """A calendar day."""
        if not self._present(key, required, "a day such as 2027-06-14"):
            return _PLACEHOLDER_DAY if required else None
        return self._as_day(key, self.keys[key])

    def set_day(self, key: str) -> date:
        """A calendar day that must be there."""
        return self.day(key, required=True) or _PLACEHOLDER_DAY

    def whole(self, key: str, *, low: int, high: int) -> int:
        """A whole number from *low* to *high*, which must be there."""
        if not self._present(key, True, f"a whole number from {low} to {high}"):
            return low
        value = self.keys[key]
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            self.fault(key, f"{_told(value)} does not fit.", f"Write a whole number from {low} to {high}.")
            return low
        return value

    def whole_or_none(self, key: str, *, low: int, high: int) -> int | None:
        """A whole number from *low* to *high*, where the key is there."""
        return self.whole(key, low=low, high=high) if self.has(key) else None

    def month_day(self, key: str) -> tuple[int, int]:
        """A month and a day that every year has, which must be there."""
        like = "a month and a day that every year has, such as “03-31”"
        said = self.text(key, form=MONTH_DAY, like=like)
        try:
            found = date(_COMMON_YEAR, int(said[:2]), int(said[3:]))
        except ValueError:
            if MONTH_DAY.fullmatch(said):
                self.fault(key, f"“{said}” is not in every year.", f"Write {like}.")
            return 1, 1
        return found.month, found.day

    def wholes(self, key: str, *, low: int, high: int) -> tuple[int, ...]:
        """A list of whole numbers, which must be there."""
        if not self._present(key, True, f"a list of whole numbers from {low} to {high}"):
            return ()
        value = self.keys[key]
        if (
            not isinstance(value, list)
            or not value
            or not all(type(one) is int and low <= one <= high for one in value)
        ):
            self.fault(key, f"{_told(value)} does not fit.", f"Write a list of whole numbers from {low} to {high}.")
            return ()
        return tuple(value)

    def decimal(self, key: str, *, low: Decimal, high: Decimal, places: int) -> Decimal | None:
        """A number from *low* to *high* with at most so many decimal *places*, read exactly."""
        if not self.has(key):
            return None
        value = self.keys[key]
        accepted = f"Write a number from {low} to {high} with at most {places} decimal place{'s'[: places != 1]}."
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            self.fault(key, f"{_told(value)} is no number.", accepted)
            return None
        exact = Decimal(value)
        if not exact.is_finite() or not low <= exact <= high or exact != round(exact, places):
            self.fault(key, f"{value} does not fit.", accepted)
            return None
        return exact

    def word(self, key: str, words: type[Word], *, default: Word | None = None) -> Word:
        """One of a fixed set of words."""
        if not self._present(key, default is None, _one_of(words)):
            return default or next(iter(words))
        return self._as_word(key, self.keys[key], words)

    def word_or_none(self, key: str, words: type[Word]) -> Word | None:
        """One of a fixed set of words, where the key is there."""
        return self._as_word(key, self.keys[key], words) if self.has(key) else None

    def some_words(self, key: str, words: type[Word], *, required: bool = False) -> tuple[Word, ...]:
        """One word, or a list of words, of a fixed set."""
        if not self._present(key, required, f"{_one_of(words)}, or a list of such"):
            return ()
        value = self.keys[key]
        several = value if isinstance(value, list) else [value]
        if not several:
            self.fault(key, "The list is empty.", f"Write {_one_of(words)}.")
        return tuple(self._as_word(key, one, words) for one in several)

    def table(self, key: str, *, required: bool = False) -> Table | None:
        """A table under *key*."""
        if not self._present(key, required, "a table"):
            return None
        value = self.keys[key]
        if not isinstance(value, dict):
            self.fault(key, f"{_told(value)} is no table.", f"Write a table headed [{shown((*self.path, key))}].")
            return None
        return Table(value, (*self.path, key), self.checks)

    def tables(self, key: str) -> list[Table]:
        """The tables of an array; an empty list when there is none."""
        if not self.has(key):
            return []
        value = self.keys[key]
        if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
            self.fault(key, f"{_told(value)} is no list of tables.", f"Head each with [[{shown((*self.path, key))}]].")
            return []
        return [Table(one, (*self.path, key, place), self.checks) for place, one in enumerate(value)]

    def close(self) -> None:
        """Keep a fault for every key that nothing asked for."""
        for key in self.keys:
            if key not in self.known:
                near = get_close_matches(key, self.known, n=1)
                meant = f" Perhaps “{near[0]}” is meant." if near else ""
                said = f"The key “{_drawn(key)}” is not known.{meant}"
                self.fault(_drawn(key), said, f"Known here are {', '.join(self.known)}.")

    def _present(self, key: str, required: bool, accepted: str) -> bool:
        if self.has(key):
            return True
        if required:
            self.fault(key, "It is missing.", f"Write {accepted}.")
        return False

    def _as_day(self, key: str, value: object) -> date:
        if not isinstance(value, date) or isinstance(value, datetime):
            self.fault(key, f"{_told(value)} is no day.", "Write a day such as 2027-06-14, without quotes.")
            return _PLACEHOLDER_DAY
        if not _FIRST_YEAR <= value.year <= _LAST_YEAR:
            accepted = f"Write a year from {_FIRST_YEAR} to {_LAST_YEAR}; a day that is not set is left out."
            self.fault(key, f"{value} is out of reach.", accepted)
        return value

    def _as_word(self, key: str, value: object, words: type[Word]) -> Word:
        for word in words:
            if value == word.value:
                return word
        near = get_close_matches(value, [word.value for word in words], n=1) if isinstance(value, str) else []
        meant = f" Perhaps “{near[0]}” is meant." if near else ""
        self.fault(key, f"{_told(value)} is not known.{meant}", f"Write {_one_of(words)}.")
        return next(iter(words))


def _drawn(text: str) -> str:
    """A text that somebody else wrote, as a message may quote it: unseen signs spelt, and not too much of it."""
    spelt = "".join(f"\\u{ord(sign):04x}" if _is_unseen(sign) else sign for sign in text)
    return spelt if len(spelt) <= _QUOTED else f"{spelt[:_QUOTED]}…"


def _is_unseen(sign: str) -> bool:
    return sign in _TURNING or unicodedata.category(sign) in _UNSEEN


def open_text(text: str, file: str) -> Table:
    """The top table of a TOML text, ready to be read.

    Raises:
        BadOrdinance: The text is no TOML; the fault has the line that the reader stopped at.
    """
    if len(text) > LONGEST_TEXT:
        problem = f"This is {len(text):,} signs long."
        accepted = f"Write at most {LONGEST_TEXT:,}: part it into several files."
        raise BadOrdinance((Fault(file, 0, "", problem, accepted),))
    try:
        if _DEEPEST.search(text):
            raise RecursionError
        keys = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        said = re.sub(r"\s*\(at .*\)$", "", str(error)).rstrip(".")
        found = re.search(r"\(at line (\d+)", str(error))
        line = int(found.group(1)) if found else text.count("\n") + 1
        problem = f"This is not TOML: {said}."
        raise BadOrdinance((Fault(file, line, "", problem, "Write it as TOML 1.0."),)) from error
    except ValueError as error:
        # Python refuses numbers of some thousand digits before anybody can look at them.
        problem = "A number here has more digits than can be read."
        raise BadOrdinance((Fault(file, 0, "", problem, "Write it shorter."),)) from error
    except RecursionError as error:
        problem = "This is nested too deeply to be read."
        raise BadOrdinance((Fault(file, 0, "", problem, "Write it flat."),)) from error
    return Table(keys, (), FileChecks(file, key_lines(text)))


def shown(path: KeyPath) -> str:
    """A path as a person writes it; tables of an array are counted from 1.

    >>> shown(("rule", 1, "due", "days"))
    'rule[2].due.days'
    """
    return "".join(f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in path).removeprefix(".")


def _one_of(words: type[StrEnum]) -> str:
    values: Sequence[str] = [word.value for word in words]
    return f"one of {', '.join(values)}" if len(values) > 1 else values[0]


def _told(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f"“{_drawn(value)}”"
    if isinstance(value, dict):
        return "A table"
    if isinstance(value, list):
        return "This list"
    return str(value)
