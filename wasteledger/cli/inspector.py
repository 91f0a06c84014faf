"""What the inspector asks, and corrections: history, coverage, verify, correct."""

from __future__ import annotations

from typing import Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.choices import Order
from wasteledger.cli.common import (
    ByOption,
    JsonOption,
    KeyOption,
    LedgerOption,
    NoteOption,
    Place,
    SiteOption,
    open_place,
    reads,
)
from wasteledger.cli.typed import find_day, instant_of, pairs_of
from wasteledger.errors import ExitStatus, NotUnderstood

_PROGRESS_EVERY = 20_000


class OneThing(NotUnderstood):
    """A correction makes void, replaces, or reinstates: one of the three."""

    code = "one-thing"

    def __init__(self) -> None:
        super().__init__(
            "Say what the correction does.",
            hint="One of: --void; --set FIELD=VALUE and --at TIME for what is right; --reinstate.",
        )


def add_to(app: typer.Typer) -> None:
    """Put the inspector's commands, and ``correct``, into *app*."""
    panel = "Inspector"
    app.command("history", rich_help_panel=panel)(history)
    app.command("coverage", rich_help_panel=panel)(coverage)
    app.command("verify", rich_help_panel=panel)(verify)
    app.command("correct", rich_help_panel="All")(correct)


@reads
def history(
    place: Place,
    since: Annotated[str | None, typer.Option("--from", metavar="DATE", help="First day it happened on.")] = None,
    until: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last day it happened on.")] = None,
    trap: Annotated[str | None, typer.Option("--trap", metavar="TRAP", help="Only this trap.")] = None,
    container: Annotated[str | None, typer.Option("--container", metavar="CONTAINER", help="Only this one.")] = None,
    pickup: Annotated[str | None, typer.Option("--pickup", metavar="PICKUP", help="Only this one.")] = None,
    separator: Annotated[str | None, typer.Option("--separator", metavar="SEPARATOR", help="Only this one.")] = None,
    kind: Annotated[
        list[str] | None, typer.Option("--kind", metavar="KIND", help="Only this kind, such as swap; may be repeated.")
    ] = None,
    person: Annotated[
        str | None, typer.Option("--person", metavar="PERSON", help="Only what this person recorded.")
    ] = None,
    sort: Annotated[Order, typer.Option("--sort", help="By when it happened, or was written.")] = Order.HAPPENED,
    newest: Annotated[bool, typer.Option("--newest", help="Newest first.")] = False,
    page: Annotated[int, typer.Option("--page", help="Which page.")] = 1,
    page_size: Annotated[int, typer.Option("--page-size", help="Entries a page, at most 1000.")] = 50,
) -> None:
    """Show the journal, sorted, filtered, by pages.

    Corrected entries are shown with what corrected them.
    """
    from wasteledger.office.enquiries import history as look_up

    today = place.work.today()
    found = look_up(
        place.work,
        since=find_day(since, today),
        until=find_day(until, today),
        trap=trap,
        container=container,
        pickup=pickup,
        separator=separator,
        kind=tuple(kind or ()),
        by=person,
        order=sort.value,
        newest_first=newest,
        page=page,
        page_size=page_size,
    )
    if place.json:
        output.show_json(found.as_json())
        return
    for row in found.rows:
        late = f" (written {output.moment(row.local_recorded)})" if row.late else ""
        dead = "" if row.counts else "✗ "
        output.say(
            f"{row.entry.seq:>6}  {output.moment(row.local_happened)}  {row.entry.recorded_by}  {dead}{row.words}{late}"
        )
        if row.corrected_by is not None:
            output.say(f"        {_done(row.corrected_action)} by entry {row.corrected_by}: {row.reason}")
    output.say(f"{output.count(found.total, 'entry', 'entries')}; page {found.page} of {found.pages}.")


@reads
def coverage(
    place: Place,
    since: Annotated[str | None, typer.Option("--from", metavar="DATE", help="First day; a week ago.")] = None,
    until: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last day; yesterday.")] = None,
) -> None:
    """Say how many looks were due and made.

    Every blank is listed with its day and room.
    """
    from datetime import timedelta

    from wasteledger.office.status import coverage as cover

    today = place.work.today()
    first = find_day(since, today) or today - timedelta(days=7)
    last = find_day(until, today) or today - timedelta(days=1)
    with place.work.reading() as reader:
        found = cover(reader, place.work.zone, first, last)
    if place.json:
        output.show_json(found.as_json())
        return
    output.coverage(found)


@reads
def verify(
    place: Place,
    paper: Annotated[
        str | None, typer.Option("--paper", metavar="SEQ:DIGEST", help="Does it still agree with this paper's foot?")
    ] = None,
    rebuild: Annotated[
        bool, typer.Option("--rebuild", help="Before that, write the standing anew from an undamaged journal.")
    ] = False,
) -> None:
    """Recompute the whole chain, and compare.

    Names the first entry that differs. Exit status 5 where the journal was changed, 1 where something else differs.
    """
    from wasteledger.office.enquiries import verify_site

    def progress(read: int) -> None:
        if read % _PROGRESS_EVERY == 0:
            output.tell(f"{read} entries read …")

    if rebuild:
        from wasteledger.office.rebuilding import rebuild_site

        read = rebuild_site(place.work)
        output.tell(f"The standing is written anew from {output.count(read, 'entry', 'entries')}.")
    found = verify_site(place.work, paper, progress)
    if place.json:
        output.show_json({"holds": found.holds, "verification": found})
    else:
        output.findings(found.findings)
        if found.first_bad is not None:
            output.say(f"The first entry that differs is {found.first_bad}.")
        if found.holds:
            entries = output.count(found.entries, "entry", "entries")
            output.say(f"Site {found.site}: {entries} read. Every digest agrees, and so does the standing.")
            output.say(f"Last entry: {found.entries}:{found.digest}")
            if paper is not None:
                output.say(f"The ledger agrees with the paper {paper}.")
    if found.first_bad is not None:
        raise typer.Exit(ExitStatus.JOURNAL_DAMAGED)
    if not found.holds:
        raise typer.Exit(ExitStatus.FOUND)


def correct(
    seq: Annotated[int, typer.Argument(metavar="SEQ", help="Number of the entry that is wrong.", show_default=False)],
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why; it stays with the entry.")],
    void: Annotated[bool, typer.Option("--void", help="It never happened.")] = False,
    changes: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="FIELD=VALUE", help="What is right, such as level=65%; may be repeated."),
    ] = None,
    at: Annotated[str | None, typer.Option("--at", metavar="TIME", help="When it really happened.")] = None,
    reinstate: Annotated[bool, typer.Option("--reinstate", help="It was right after all.")] = False,
    by: ByOption = None,
    note: NoteOption = None,
    key: KeyOption = None,
    as_json: JsonOption = False,
    ledger: LedgerOption = None,
    site: SiteOption = None,
) -> None:
    """Correct entry SEQ; the entry itself stays.

    Make it void, say what is right, or reinstate it.
    """
    from wasteledger.office.corrections import correct_entry

    replace = bool(changes) or at is not None
    if [void, replace, reinstate].count(True) != 1:
        raise OneThing
    with open_place(ledger=ledger, site=site, by=by, note=note, key=key, as_json=as_json) as place:
        recorded = correct_entry(
            place.work,
            seq,
            reason,
            place.said,
            action="void" if void else "reinstate" if reinstate else "replace",
            changes=pairs_of(changes or [], "container=C-2"),
            happened_at=instant_of(place.work, at),
        )
        output.answer(recorded, place.json)


def _done(action: str | None) -> str:
    return {"void": "made void", "replace": "replaced", "reinstate": "reinstated"}.get(action or "", "corrected")
