"""What several papers have: a mass with its basis, the entry a paper rests on, a party."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from wasteledger.errors import WasteLedgerError


class BadPaper(WasteLedgerError):
    """A paper holds something that cannot be printed as it stands."""

    code = "bad-paper"


class Basis(StrEnum):
    """Where a mass comes from; the two are never mixed up on a page."""

    WEIGHED = "weighed"
    ESTIMATE = "estimate"
    NONE = "none"  # counted only: nothing says what it weighs


@dataclass(frozen=True, slots=True)
class MassFigure:
    """A mass with its basis and the sentence that is printed for it.

    Attributes:
        basis: Weighed, estimate, or none.
        statement: Value and uncertainty, rounded and worded already: ``812.0 g ± 0.4 g``, ``between 20 g and 310 g``.
        value_mg: The value alone in mg, where a single one can be given.
    """

    basis: Basis
    statement: str = ""
    value_mg: int | None = None


@dataclass(frozen=True, slots=True)
class Anchor:
    """The entry that a paper rests on: the end of the site's journal when the paper was made.

    Attributes:
        site: Whose chain.
        seq: Position of the entry.
        digest: Its SHA-256, 64 hexadecimal digits.

    Raises:
        BadPaper: The digest is not 64 hexadecimal digits, or the position is below 1.
    """

    site: str
    seq: int
    digest: str

    def __post_init__(self) -> None:
        if self.seq < 1 or not re.fullmatch(r"[0-9a-f]{64}", self.digest):
            raise BadPaper(
                f"Entry {self.seq} with digest “{self.digest}” cannot stand at the foot of a paper.",
                hint="An entry has a number of 1 or more and a digest of 64 hexadecimal digits.",
            )


@dataclass(frozen=True, slots=True)
class Party:
    """A practice, carrier or receiving facility as it stood when the entry was made.

    Attributes:
        contact: Whom to speak to; where nobody is named, *owner* says who owns it.
        ids: Numbers that it goes by, each with its own word: ``("Permit", "TR-4410")``.
    """

    name: str
    address: tuple[str, ...] = ()
    phone: str = ""
    contact: str = ""
    ids: tuple[tuple[str, str], ...] = ()
    owner: str = ""
