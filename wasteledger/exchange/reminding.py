"""Telling people what presses: whom the journal shows as told today is left alone, and no mail waits in a transaction.

The server is asked first; then each recipient is claimed by an entry, and the mail handed in. Where the server does not
take it, the entry is made void with the reason, so that the next run sends. A mail that it took but did not say so (it
hung up in that instant) may come twice rather than not at all; both then bear the same name, by which mail programs
know them for one. A program that is killed between the entry and the mail leaves the entry: the journal then says more
than happened, until somebody corrects it.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from wasteledger.errors import WasteLedgerError
from wasteledger.exchange.mail import Letter, MailServerNotReachable, Post, checked_address, message_of, open_post
from wasteledger.office.reminders import Claim, Digest, check_may_remind, claim, digest_of, find_sent, give_up
from wasteledger.office.workplace import Said, Workplace
from wasteledger.settings import MailSettings

_NOTHING_SAID = Said()


class Outcome(StrEnum):
    """What became of a reminder to one address."""

    SENT = "sent"
    SENT_BEFORE = "sent_before"  # the journal shows one of today
    REFUSED = "refused"
    NOT_REACHED = "not_reached"


class StillClaimed(WasteLedgerError):
    """An entry says that a reminder went out, none did, and the entry could not be made void."""

    code = "still-claimed"


@dataclass(frozen=True, slots=True)
class Told:
    """One address: what became of its reminder, by which entry, and why it did not go out."""

    to: str
    outcome: Outcome
    seq: int | None = None
    why: WasteLedgerError | None = None


@dataclass(frozen=True, slots=True)
class Reminded:
    """What was to be told, and to whom it went; nobody where nothing presses."""

    digest: Digest
    told: tuple[Told, ...] = ()

    @property
    def failure(self) -> WasteLedgerError | None:
        """Why somebody was not told; that the server is out of reach comes first."""
        why = [one.why for one in self.told if one.why is not None]
        return max(why, key=lambda error: error.exit_status, default=None)

    def as_json(self) -> dict[str, Any]:
        """The answer as JSON says it."""
        told = [
            {"to": one.to, "outcome": one.outcome.value, "seq": one.seq, "why": str(one.why) if one.why else None}
            for one in self.told
        ]
        return {"digest": self.digest.as_json(), "told": told}


def remind(
    place: Workplace, to: Sequence[str], mail: MailSettings, said: Said = _NOTHING_SAID, *, again: bool = False
) -> Reminded:
    """Send what presses today to each address, once a day.

    Args:
        place: Where, and in whose name it is written down.
        to: Addresses.
        mail: Through which server.
        said: A note for the entries.
        again: Send to those as well who were told today.

    Raises:
        BadAddress: One is none.
        MailServerNotReachable: The server could not be reached at all; nothing was written.
        MailRefused: It let nobody in, or could not be trusted; nothing was written.
        NotTheirTask: Only the office tells people.
    """
    addresses = tuple({address.casefold(): address for address in map(checked_address, to)}.values())
    check_may_remind(place)
    digest = digest_of(place)
    letters = _Letters(place, digest, again)
    if not digest.presses:
        return Reminded(digest)
    for address in addresses:
        # A sender that is no address is found before anything is written.
        message_of(letters.to(address), mail.sender)
    with place.reading() as reader:
        before = {} if again else {one: find_sent(reader, one, digest.today) for one in addresses}
    if all(before.get(one) for one in addresses):
        return Reminded(digest, tuple(Told(one, Outcome.SENT_BEFORE, before[one]) for one in addresses))
    told: list[Told] = []
    with open_post(mail) as post:
        for address in addresses:
            gone = next((one.why for one in told if one.outcome is Outcome.NOT_REACHED), None)
            told.append(
                _tell(place, post, letters, address, said, again=again)
                if gone is None
                else Told(address, Outcome.NOT_REACHED, why=gone)
            )
    return Reminded(digest, tuple(told))


@dataclass(frozen=True, slots=True)
class _Letters:
    """The same digest, put into a letter for each address."""

    place: Workplace
    digest: Digest
    again: bool

    def to(self, address: str, seq: int = 0) -> Letter:
        # Named by day and address alone, so that a second copy is known as such; one sent again on purpose is another.
        said = (self.digest.founded, self.digest.today, address.casefold(), *((seq,) if self.again else ()))
        name = uuid.uuid5(uuid.NAMESPACE_URL, f"wasteledger:reminder:{':'.join(map(str, said))}")
        at = self.place.local(self.place.ledger.clock())
        return Letter(address, self.digest.subject, self.digest.text, at, str(name))


def _tell(place: Workplace, post: Post, letters: _Letters, address: str, said: Said, *, again: bool) -> Told:
    claimed = claim(place, address, letters.digest, said, again=again)
    if not claimed.is_fresh:
        return Told(address, Outcome.SENT_BEFORE, claimed.seq)
    try:
        with _given_up_unless_taken(place, claimed, address):
            post.send(letters.to(address, claimed.seq))
    except MailServerNotReachable as error:
        return Told(address, Outcome.NOT_REACHED, claimed.seq, error)
    except StillClaimed:
        raise
    except WasteLedgerError as error:
        return Told(address, Outcome.REFUSED, claimed.seq, error)
    return Told(address, Outcome.SENT, claimed.seq)


@contextmanager
def _given_up_unless_taken(place: Workplace, claimed: Claim, address: str) -> Iterator[None]:
    """Make the claim void where the block is left by any error, an interruption from the keyboard among them."""
    try:
        yield
    except BaseException as error:
        ours = isinstance(error, WasteLedgerError)
        why = f"Not sent: {error}" if ours else f"Not sent: stopped by {type(error).__name__}."
        try:
            give_up(place, claimed.seq, why)
        except WasteLedgerError as also:
            raise StillClaimed(
                f"The reminder to {address} did not go out, but entry {claimed.seq} says that it did. {why}",
                hint=f"Make it void: wasteledger correct {claimed.seq} --reason “not sent”. It could not be: {also}",
            ) from error
        raise
