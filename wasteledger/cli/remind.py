"""A digest of what is due, by e-mail."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from threading import current_thread, main_thread
from types import FrameType
from typing import TYPE_CHECKING, Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.common import Place, writes
from wasteledger.cli.refusing import refuse
from wasteledger.errors import NotUnderstood

if TYPE_CHECKING:
    from wasteledger.exchange.reminding import Reminded


class ToNobody(NotUnderstood):
    """No address was given."""

    code = "to-nobody"

    def __init__(self) -> None:
        super().__init__(
            "To whom?", hint="Give an address with --to, as often as there are people; --show only shows the text."
        )


class ToldNow(NotUnderstood):
    """A reminder goes out now, and the day is its key."""

    code = "told-now"

    def __init__(self) -> None:
        super().__init__("A reminder goes out now, and once a day to each address.", hint="Leave --at and --key away.")


class Terminated(SystemExit):
    """The machine, or whoever runs the program, ends it."""


def add_to(app: typer.Typer) -> None:
    """Put the commands into *app*."""
    app.command("remind", rich_help_panel="Manager")(remind)


@writes
def remind(
    place: Place,
    to: Annotated[list[str] | None, typer.Option("--to", metavar="ADDRESS", help="To whom; may be repeated.")] = None,
    show: Annotated[bool, typer.Option("--show", help="Show the text; send and write nothing.")] = False,
    again: Annotated[bool, typer.Option("--again", help="Also to those who were told today.")] = False,
) -> None:
    """Tell people by e-mail what is overdue or due soon.

    Nobody is told twice on a day, and nobody where nothing presses. The mail server is named by WASTELEDGER_SMTP_HOST
    and _FROM; _PORT, _USER, _PASSWORD, _TLS (starttls, implicit, none) and _CA where wanted. Exit status 3 where it
    refused, 4 where it could not be reached: run it again.
    """
    from wasteledger.exchange.reminding import remind as tell
    from wasteledger.office.reminders import digest_of
    from wasteledger.settings import read_mail_settings

    if show:
        digest = digest_of(place.work)
        if place.json:
            output.show_json(digest.as_json())
        else:
            output.say(f"Subject: {digest.subject}\n\n{digest.text}".rstrip())
        return
    if not to:
        raise ToNobody
    if place.said.at is not None or place.said.key is not None:
        raise ToldNow
    with _stopped_in_order():
        reminded = tell(place.work, to, read_mail_settings(os.environ), place.said, again=again)
    if place.json:
        output.show_json(reminded.as_json())
    else:
        _say(reminded)
    if reminded.failure is not None:
        refuse(reminded.failure, place.work.zone, place.work.zone.key)


@contextmanager
def _stopped_in_order() -> Iterator[None]:
    """Let what ends the program from outside be an exception: a mail that was to go out is then made void."""

    def stop(number: int, _: FrameType | None) -> None:
        # Once: a second one must not keep the first from being written down.
        for other in before:
            signal.signal(other, signal.SIG_IGN)
        raise Terminated(128 + number)

    wanted = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {one: kept for one in wanted if (kept := signal.getsignal(one)) == signal.SIG_DFL}
    if current_thread() is not main_thread():
        before = {}
    for one in before:
        signal.signal(one, stop)
    try:
        yield
    finally:
        for one, kept in before.items():
            signal.signal(one, kept)


def _say(reminded: Reminded) -> None:
    if not reminded.digest.presses:
        output.say("Nothing presses; nobody was told.")
    for one in reminded.told:
        match one.outcome.value:
            case "sent":
                output.say(f"Entry {one.seq}: Sent to {one.to}: {reminded.digest.subject}")
            case "sent_before":
                output.say(f"  {one.to} was told today, entry {one.seq}.")
            case _:
                void = f" Entry {one.seq} was made void." if one.seq else ""
                output.say(f"! {one.to} was not told: {one.why}{void}")
