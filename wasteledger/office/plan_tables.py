"""Reading the tables of a plan, with every fault kept at its line: the part that knows no line of the register."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from enum import StrEnum

from pydantic import ValidationError

from wasteledger.errors import WasteLedgerError
from wasteledger.model.register import Register
from wasteledger.model.values import Value
from wasteledger.ordinance.fields import Table, shown
from wasteledger.units import Mass, Volume

_PERCENT = re.compile(r"[0-9]{1,3}(?:\.[0-9])?")


class RunBy(StrEnum):
    """Who runs a separator."""

    PRACTICE = "practice"
    SHARED = "shared"
    LANDLORD = "landlord"


class PlanTables:
    """Lines of the register that are being gathered from the tables of one file."""

    def __init__(self) -> None:
        self.lines: list[Register] = []
        self.refs: dict[str, set[str]] = {}

    def _each(self, table: Table, key: str, read: Callable[[Table, str, int], Value | None]) -> None:
        for place, one in enumerate(table.tables(key)):
            ref = one.text("ref")
            details = read(one, ref, place)
            one.close()
            if details is not None:
                self._add(one, ref, details)

    def _add(self, table: Table, ref: str, details: Value) -> None:
        if not ref:
            return  # that it is missing is a fault already
        what = str(getattr(details, "subject", ""))
        if ref in self.refs.setdefault(what, set()):
            table.fault("ref", f"There is a second {what} “{ref}”.", "Give each a name of its own.")
        self.refs[what].add(ref)
        try:
            self.lines.append(Register(ref=ref, details=details))  # type: ignore[arg-type]
        except ValidationError as error:
            for one in error.errors():
                table.fault("ref", f"“{ref}”: {one['msg']}.", "Write letters, digits, dots and dashes, such as 1-HV.")

    def _made(self, table: Table, kind: Callable[..., Value], **values: object) -> Value | None:
        try:
            return kind(**values)
        except ValidationError as error:
            for one in error.errors():
                key = str(one["loc"][0]) if one["loc"] else ""
                if any(fault.key == shown((*table.path, key)) for fault in table.checks.faults):
                    continue
                table.fault(
                    key if key in table.keys else "", f"{key}: {one['msg'].removeprefix('Value error, ')}.", "Mend it."
                )
            return None

    def _mass(self, table: Table, key: str, *, required: bool = False) -> int | None:
        if not required and not table.has(key):
            return None
        return self._quantity(table, key, lambda typed: Mass.parse(typed).mg, "34.2 g")

    def _volume(self, table: Table, key: str) -> int | None:
        return self._quantity(table, key, lambda typed: Volume.parse(typed).ml, "40 mL") if table.has(key) else None

    def _quantity(self, table: Table, key: str, parse: Callable[[str], int], like: str) -> int | None:
        typed = table.text(key, like=f"such as “{like}”")
        if not typed:
            return None
        try:
            return parse(typed)
        except WasteLedgerError as error:
            table.fault(key, str(error), error.hint)
            return None

    def _permille(self, table: Table, key: str, default: int, *, most: int = 150) -> int:
        if not table.has(key):
            return default
        like = f"such as “{default // 10} %”"
        typed = table.text(key, like=like).removesuffix("%").strip()
        if not typed.isdecimal() or not 1 <= int(typed) <= most:
            table.fault(key, f"“{typed}” is not between 1 % and {most} %.", f"Write {like}.")
            return default
        return int(typed) * 10

    def _flag(self, table: Table, key: str) -> bool | None:
        return table.flag(key) if table.has(key) else None

    def _word(self, table: Table, key: str, words: type[StrEnum]) -> str | None:
        word = table.word_or_none(key, words)
        return None if word is None else word.value

    def _words(self, table: Table, key: str, words: type[StrEnum]) -> tuple[str, ...] | None:
        return tuple(dict.fromkeys(word.value for word in table.some_words(key, words))) if table.has(key) else None

    def _share(self, table: Table, key: str) -> int | None:
        if not table.has(key):
            return None
        typed = table.text(key, like="such as “99%”").removesuffix("%").strip()
        share = Decimal(typed) * 10 if _PERCENT.fullmatch(typed) else Decimal(-1)
        if not 0 <= share <= 1000:
            table.fault(key, f"“{typed}” is no share up to 100 % with at most one decimal.", "Write such as “99.3%”.")
            return None
        return int(share)

    def _whole(self, table: Table, key: str, default: int | None, low: int = 1, high: int = 100_000) -> int | None:
        return table.whole(key, low=low, high=high) if table.has(key) else default

    def _line(self, table: Table, key: str) -> str:
        # A blank line in a plan is one that has nothing to say yet.
        return "" if table.has(key) and table.keys[key] == "" else table.text(key, default="")

    def _lines(self, table: Table, key: str) -> tuple[str, ...]:
        return () if table.has(key) and table.keys[key] == [] else table.texts(key)

    def _dentists(self, table: Table) -> int:
        number = table.decimal("dentists", low=Decimal(0), high=Decimal(200), places=3)
        return 1000 if number is None else int(number * 1000)
