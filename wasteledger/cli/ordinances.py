"""The ordinances themselves: list, show, check, explain."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.common import JsonOption, LedgerOption, SiteOption, open_place, read_environment
from wasteledger.errors import ExitStatus, StoreNotReachable, Unknown

if TYPE_CHECKING:
    from wasteledger.office.explaining import Explained, Explanation
    from wasteledger.office.ordinance_check import Check
    from wasteledger.office.ordinances import ListedOrdinance, OrdinanceList, ShownOrdinance
    from wasteledger.office.provision_words import ShownProvision
    from wasteledger.office.sight import Evidence
    from wasteledger.office.workplace import Workplace

app = typer.Typer(
    no_args_is_help=True, rich_markup_mode=None, help="The rules themselves: list, show, check a file, explain one."
)

_SHOWN_SEQS = 6


def add_to(whole: typer.Typer) -> None:
    """Put the commands into *whole*."""
    whole.add_typer(app, name="ordinance", rich_help_panel="Manager")


@app.command("list")
def list_all(as_json: JsonOption = False, ledger: LedgerOption = None, site: SiteOption = None) -> None:
    """List every ordinance file, and which are in force here.

    Works without a ledger too.
    """
    from wasteledger.office.ordinances import list_ordinances

    with _perhaps(ledger, site) as work:
        if work is None:
            found = list_ordinances(None)
        else:
            with work.reading() as reader:
                found = list_ordinances(reader)
    if as_json:
        output.show_json(found.as_json())
        return
    _say_list(found)


@app.command("show")
def show(
    ordinance: Annotated[str, typer.Argument(metavar="ID", help="As ordinance list names it.", show_default=False)],
    on: Annotated[str | None, typer.Option("--on", metavar="DATE", help="Only what stands on that day.")] = None,
    as_json: JsonOption = False,
    ledger: LedgerOption = None,
    site: SiteOption = None,
) -> None:
    """Show an ordinance, every provision in words.

    Each with its clause, where that was read, whether it was confirmed, and what a nearer rule changed. What is in
    force here is shown as the register has it. Works without a ledger too.
    """
    from wasteledger import clock
    from wasteledger.cli.typed import find_day
    from wasteledger.office.ordinances import show_ordinance

    with _perhaps(ledger, site) as work:
        if work is None:
            found = show_ordinance(ordinance, None, on=find_day(on, clock.now().astimezone().date()))
        else:
            day = find_day(on, work.today())
            with work.reading() as reader:
                found = show_ordinance(ordinance, reader, on=day)
    if as_json:
        output.show_json(found.as_json())
        return
    _say_ordinance(found)


@app.command("check")
def check(
    files: Annotated[list[Path], typer.Argument(metavar="FILE", help="Ordinance files.", show_default=False)],
    here: Annotated[bool, typer.Option("--here", help="Together with what is in force in the ledger.")] = False,
    as_json: JsonOption = False,
    ledger: LedgerOption = None,
    site: SiteOption = None,
) -> None:
    """Check ordinance files before they are put in force.

    Every fault with its line and key, in each file and between them. The exit status is 2 where there is one.
    """
    from wasteledger import clock
    from wasteledger.office.ordinance_check import check_files

    if here:
        with open_place(ledger=ledger, site=site) as place:
            today = place.work.today()
            with place.work.reading() as reader:
                found = check_files(files, today, reader)
    else:
        found = check_files(files, clock.now().astimezone().date())
    if as_json:
        output.show_json(found.as_json())
    else:
        _say_check(found)
    if not found.holds:
        raise typer.Exit(ExitStatus.NOT_UNDERSTOOD)


@app.command("explain")
def explain(
    rule: Annotated[
        str, typer.Argument(metavar="RULE", help="A name such as US-441-03, or a citation.", show_default=False)
    ],
    as_json: JsonOption = False,
    ledger: LedgerOption = None,
    site: SiteOption = None,
) -> None:
    """Explain a rule: what it asks, what the journal shows.

    Where it says so, whether that was confirmed, which clocks run and on which entries they rest, what was done last,
    and what is missing. A dead section number finds its rule. Works without a ledger too, on the files alone.
    """
    from wasteledger import clock
    from wasteledger.office.explaining import explain as look_up

    with _perhaps(ledger, site) as work:
        if work is None:
            found = look_up(None, clock.now().astimezone().date(), rule)
        else:
            today = work.today()
            with work.reading() as reader:
                found = look_up(reader, today, rule)
    if as_json:
        output.show_json(found.as_json())
        return
    _say_explanation(found)


@contextmanager
def _perhaps(ledger: str | None, site: str | None) -> Iterator[Workplace | None]:
    """The ledger's site where there is one; a ledger or site that was named must be there."""
    from wasteledger.office.workplace import Workplace

    settings = read_environment()
    try:
        opened = Workplace.open(ledger or settings.ledger, site or settings.site)
        work = opened.__enter__()
    except (StoreNotReachable, Unknown):
        if ledger or site:
            raise
        yield None
        return
    try:
        yield work
    finally:
        opened.__exit__(None, None, None)


def _say_list(found: OrdinanceList) -> None:
    output.say("In force here:" if found.site else "No ledger here, so nothing is in force yet.")
    here = [one for one in found.ordinances if one.in_force]
    for one in here:
        _say_listed(one)
    if found.site and not here:
        output.say("  nothing")
    output.say("On file:")
    for one in found.ordinances:
        if not one.in_force:
            _say_listed(one)
    if found.holidays:
        output.say("Holidays that days may leave out:")
        for known in found.holidays:
            years = f"{min(known.years)} to {max(known.years)}" if known.years else "no year"
            output.say(f"  {known.id}: {known.title}, {years}")
    _say_who_decides()


def _say_listed(one: ListedOrdinance) -> None:
    own = {"own": ", the office's own file", "register": ", no file of it here"}.get(one.origin, "")
    output.say(f"  {one.id}: {one.title}")
    if one.faults:
        faults = output.count(one.faults, "fault")
        output.say(f"!   {one.file or 'its text'} has {faults}; see wasteledger ordinance check.")
    if one.dated_on is None:
        return
    unread = f", {one.unconfirmed} not confirmed" if one.unconfirmed else ", all confirmed"
    rules = f"{output.count(one.provisions, 'provision')}, {one.rules} of them with a day or a term"
    changes = f"; changes {output.count(one.overrides, 'provision')} elsewhere" if one.overrides else ""
    output.say(f"    {one.level}{own}; {one.version}; dated {output.day(one.dated_on)}")
    output.say(f"    {rules}{unread if one.provisions else ''}{changes}")
    if one.file_differs:
        output.say("!   The file says something else now; the text in the register counts.")


def _say_ordinance(found: ShownOrdinance) -> None:
    state = "in force here, as the register has it" if found.in_force else "not in force here"
    output.say(f"{found.id}: {found.title} ({state})")
    for line in found.header:
        output.say(f"  {line}")
    if found.file_differs:
        output.say("! Its file says something else now; the text in the register counts.")
    for remark in found.remarks:
        output.say(f"! {remark}")
    for provision in found.provisions:
        output.say("")
        _say_provision(provision)
    if found.overrides:
        output.say("")
        output.say("Changes in other ordinances:")
        for changed in found.overrides:
            output.say(f"  {changed}")
    if found.not_on:
        output.say("")
        output.say(f"Does not stand on {output.day(found.on)}: {', '.join(found.not_on)}.")
    output.say("")
    _say_who_decides()


def _say_provision(one: ShownProvision, ordinance: str = "") -> None:
    parts = (one.sort, "" if one.force == "rule" else one.force, ordinance)
    output.say(f"{one.id} ({'; '.join(filter(None, parts))}): {one.title}")
    output.say(f"  {one.asks}")
    for line in one.says:
        output.say(f"  {line}")
    if one.override:
        output.say(f"! {one.override}")
        if one.asks_without:
            output.say(f"    without that it asks: {one.asks_without}")
    also = f"; also cited as {'; '.join(one.also_cited_as)}" if one.also_cited_as else ""
    output.say(f"  says so: {one.citation}{also}")
    output.say(f"  read in: {one.source} ({one.read_on})")
    output.say(f"  confirmed: {one.standing_of_source}" if one.confirmed else f"! {one.standing_of_source}")
    if one.note:
        output.say(f"  note: {one.note}")


def _say_check(found: Check) -> None:
    for one in found.files:
        if one.sort == "holidays":
            output.say(f"{one.file}: {one.id}, {one.title}: {output.count(one.provisions, 'day')}.")
            continue
        rules = f"{output.count(one.provisions, 'provision')}, {one.rules} of them with a day or a term"
        output.say(f"{one.file}: {one.id}, {one.title}: {rules}; {len(one.unconfirmed)} not confirmed.")
    for fault in found.faults:
        output.say(f"! {fault}")
    output.findings(found.findings)
    if found.held_against:
        output.say(f"Tried together with: {', '.join(found.held_against)}.")
    remarks = sum(one.weight.value != "note" for one in found.findings)
    if found.holds:
        output.say(f"No fault; {output.count(remarks, 'remark')} above." if remarks else "No fault.")
    else:
        output.say(f"{output.count(len(found.faults), 'fault')}; as they are, the files cannot be put in force.")
    _say_who_decides()


def _say_explanation(found: Explanation) -> None:
    for remark in found.remarks:
        output.say(f"! {remark}")
    for one in found.found:
        _say_explained(one, found)
        output.say("")
    _say_who_decides()


def _say_explained(one: Explained, whole: Explanation) -> None:
    from wasteledger.office.due import SOON_DAYS

    if one.how:
        output.say(one.how)
    _say_provision(one.provision, one.ordinance_title)
    if not one.in_force:
        output.say(f"! Not in force here. To put it in force, name {one.ordinance} among the plan's ordinances.")
        return
    output.say("The journal shows:")
    for clock in one.clocks:
        state = clock.state_on(whole.today, soon_days=SOON_DAYS).value.replace("_", " ")
        shown = f", entry {clock.trigger_seq}" if clock.trigger_seq else ""
        mark = "!" if state in ("overdue", "due soon") else " "
        output.say(f"{mark} {clock.subject}: {output.day(clock.due_on)} ({state}); {clock.counted}{shown}")
        if clock.advised_on != clock.due_on:
            output.say(f"    last working day before: {output.day(clock.advised_on)}")
        if clock.due_with_holidays_on:
            output.say(f"    if holidays do not count as business days: {output.day(clock.due_with_holidays_on)}")
        if clock.opens_on:
            output.say(f"    can be done from {output.day(clock.opens_on)}")
        if clock.condition:
            output.say(f"    {clock.condition}")
        if not clock.binds:
            is_sooner = any(other.due_on < clock.due_on for other in clock.also)
            output.say(
                f"    another rule {'comes sooner for the same' if is_sooner else 'asks the same by the same day'}"
            )
        for other in clock.also:
            same = ", the same clause" if other.is_same_rule else ""
            unread = "" if other.confirmed else ", NOT CONFIRMED"
            output.say(f"    also {output.day(other.due_on)}: {other.ordinance_title}, {other.citation}{same}{unread}")
    for gap in one.undated:
        if not gap.is_gap:
            output.say(f"  {gap.subject}: {gap.why}")
    for seen in one.shows:
        _say_evidence(seen, " ")
    if not (one.clocks or one.shows or any(not gap.is_gap for gap in one.undated)):
        output.say("  nothing of it")
    if not one.is_asked:
        output.say("Missing: nothing, since it asks nothing here.")
    elif one.missing:
        output.say("Missing:")
    elif one.looked_for:
        output.say(f"Missing: nothing of what was looked for: {'; '.join(one.looked_for)}.")
    else:
        output.say("Missing: nothing was looked for; it names nothing that the journal could lack.")
    for lack in one.missing:
        _say_evidence(lack, "!")


def _say_evidence(one: Evidence, mark: str) -> None:
    shown = [str(seq) for seq in one.seqs[-_SHOWN_SEQS:]]
    more = "the newest of them: " if len(one.seqs) > _SHOWN_SEQS else ""
    noun = "entry" if len(shown) == 1 else "entries"
    where = f" ({more}{noun} {', '.join(shown)})" if shown else ""
    output.say(f"{mark} {one.says.rstrip('.')}{where}.")


def _say_who_decides() -> None:
    from wasteledger.office.provision_words import AUTHORITY_DECIDES

    output.say(AUTHORITY_DECIDES)
