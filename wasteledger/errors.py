"""The base of everything the program refuses, with the codes and exit statuses that programs read.

A refusal is a sentence to the person (what is wrong, and where), then a hint (what would be accepted).
"""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo
from enum import IntEnum


class ExitStatus(IntEnum):
    """What a command's exit status means."""

    DONE = 0
    FOUND = 1  # a check found something that wants attention
    NOT_UNDERSTOOD = 2
    REFUSED = 3  # nothing was written
    STORE_NOT_REACHABLE = 4
    JOURNAL_DAMAGED = 5


class WasteLedgerError(Exception):
    """Something the program refuses; ``str()`` is the sentence for the person, ``hint`` what would be accepted.

    A refusal that speaks of instants names them in its sentence as ``{name}`` and hands them in; they are written in
    UTC until somebody who knows the site's zone asks for `in_zone`.
    """

    code: str = "refused"
    exit_status: ExitStatus = ExitStatus.REFUSED
    http_status: int = 409

    def __init__(self, message: str, *, hint: str = "", **instants: datetime) -> None:
        super().__init__(message)
        self.hint, self.instants = hint, instants

    def in_zone(self, zone: tzinfo, name: str = "") -> str:
        """The sentence with its instants in local time, followed by *name* if one is given."""
        text = str(self.args[0])
        for placeholder, instant in self.instants.items():
            local = instant.astimezone(zone)
            shown = f"{local.day} {local:%B %Y %H:%M}{' ' + name if name else ''}"
            text = text.replace("{" + placeholder + "}", shown)
        return text

    def __str__(self) -> str:
        return self.in_zone(UTC, "UTC")


class NotUnderstood(WasteLedgerError):
    """What was typed cannot be read: a mass without a unit, a date that is none, an unknown word."""

    code = "not-understood"
    exit_status = ExitStatus.NOT_UNDERSTOOD
    http_status = 422


class Unknown(WasteLedgerError):
    """A trap, container, person, pickup or entry of that name is not in this ledger."""

    code = "unknown"
    http_status = 404


class StoreNotReachable(WasteLedgerError):
    """The ledger's file or server cannot be opened."""

    code = "store-not-reachable"
    exit_status = ExitStatus.STORE_NOT_REACHABLE
    http_status = 503


class JournalDamaged(WasteLedgerError):
    """The journal does not agree with itself: somebody or something changed what must not change."""

    code = "journal-damaged"
    exit_status = ExitStatus.JOURNAL_DAMAGED
    http_status = 500
