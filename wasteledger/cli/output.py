"""Says results: words by default, JSON with ``--json`` (same names, same units; nothing else on standard output)."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from wasteledger.errors import WasteLedgerError

if TYPE_CHECKING:
    from wasteledger.model.findings import Finding
    from wasteledger.office.coverage import Coverage
    from wasteledger.office.status import ContainerState
    from wasteledger.office.workplace import Recorded, Workplace


def be_printable() -> None:
    """Let a console that cannot show a sign print a question mark instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def say(line: str = "") -> None:
    """One line on standard output."""
    typer.echo(line)


def tell(line: str) -> None:
    """One line on standard error, which leaves standard output to what was asked for."""
    typer.echo(line, err=True)


def show_json(value: object) -> None:
    """*value* as JSON on standard output, in ASCII, so that any console and any reader takes it."""
    from wasteledger.office.plain import plain

    typer.echo(json.dumps(plain(value), indent=2))


def answer(recorded: Recorded, as_json: bool) -> None:
    """What a recording answers: the entry's number and what it changed, what was learned, warnings, cautions."""
    if as_json:
        show_json(
            {
                "seq": recorded.seq,
                "repeated": recorded.repeated,
                "says": recorded.says,
                "warnings": recorded.warnings,
                "cautions": recorded.cautions,
                "learned": recorded.learned,
                "entry": entry_values(recorded.entry),
            }
        )
        return
    say(f"Entry {recorded.seq}: {recorded.says}")
    for lesson in recorded.learned:
        say(f"  {lesson}")
    for warning in recorded.warnings:
        say(f"! {warning}")
    for caution in recorded.cautions:
        say(f"  {caution}")


def entry_values(entry: Any) -> dict[str, Any]:
    """An entry of the journal, with its kind, as JSON has it."""
    from wasteledger.office.plain import plain

    return {"kind": entry.kind, "version": type(entry.body).VERSION, **plain(entry)}


def findings(found: Iterable[Finding]) -> None:
    """What a check found, each with its place; what only is to be known has no mark."""
    for one in found:
        say(f"{' ' if one.weight.value == 'note' else '!'} {one.place}: {one.says}{' ' + one.do if one.do else ''}")


def coverage(found: Coverage) -> None:
    """Looks made and looks due, and every blank with its reason, if somebody gave one."""
    say(f"{day(found.since)} to {day(found.until)}: {found.looks_made} of {found.looks_due} looks made.")
    for blank in found.blanks:
        why = f": {blank.reason}" if blank.reason else ""
        say(f"  {day(blank.on)}, {blank.room}: {', '.join(blank.traps)} left blank{why}")


def container(state: ContainerState, place: Workplace) -> None:
    """One container as a card: what it is for, what it holds, how full and how old it is, what to do."""
    standing = state.standing
    mark = "! " if state.wants_attention else ""
    then = ", as stated when it left" if state.is_stated_when_left else ""
    say(f"{mark}{standing.container} ({standing.status}; {', '.join(standing.streams)}): {state.statement}{then}")
    parts = [f"at {standing.place}"] if standing.place else []
    if state.fullness.governing is not None:
        least = "at least " if state.fullness.is_least else ""
        filled = state.fullness.governing.permille / 10
        parts.append(f"{least}{filled:.0f} % full by {state.fullness.governing.measure}{_level_words(state)}")
    if standing.first_waste_at is not None:
        parts.append(
            f"first waste {day(place.local(standing.first_waste_at).date())}, {count(state.age_days or 0, 'day')}"
        )
    parts.append(state.advice)
    say(f"  {'; '.join(parts)}")
    if state.outlook is not None:
        say(f"  {state.outlook.says}")
        if state.outlook.is_told:
            say(f"{'!' if state.outlook.warns else ' '} {state.outlook.chance_says}")
        say(f"  {state.outlook.reason}")


def _level_words(state: ContainerState) -> str:
    """Between which limits an estimated level lies; those of a mass stand with the mass."""
    level = state.fullness.governing
    if level is None or level.measure != "level" or not level.is_estimate:
        return ""
    return f", estimate, between {level.lower_permille / 10:.0f} % and {level.upper_permille / 10:.0f} % (95 %)"


def columns(rows: Sequence[Sequence[str]], indent: str = "  ") -> None:
    """Rows of words under each other, each column as wide as its widest word, the last one free."""
    if not rows:
        return
    widths = [max(len(row[index]) for row in rows) for index in range(len(rows[0]))]
    for row in rows:
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=True)]
        say((indent + "  ".join(cells)).rstrip())


def day(on: date | None) -> str:
    """A day with its month spelt, as papers have it; a dash where there is none."""
    return f"{on.day} {on:%b %Y}" if on else "–"


def moment(at: datetime | None) -> str:
    """A local time with the month spelt; a dash where there is none."""
    return f"{day(at)} {at:%H:%M}" if at else "–"


def count(number: int, noun: str, plural: str = "") -> str:
    """``1 trap``, ``2 traps``, ``2 entries``."""
    return f"{number} {noun if number == 1 else plural or noun + 's'}"


def ask_first(question: str, yes: bool) -> None:
    """Ask before something that cannot be taken back; *yes* answers.

    Raises:
        NotAnswered: The answer was not yes, or nobody was there to answer.
    """
    from wasteledger.cli.refusing import NotAnswered

    if yes:
        return
    try:
        if typer.confirm(question, err=True):
            return
    except typer.Abort as error:
        raise NotAnswered from error
    raise NotAnswered


class NotAFileToWrite(WasteLedgerError):
    """What is there must not be written over."""

    code = "not-a-file-to-write"


def _check_writable(path: Path) -> None:
    # A ledger, this one or another, is never written over by a paper or an export; its log files neither.
    if not path.exists():
        return
    if not path.is_file():
        raise NotAFileToWrite(f"{path} is no ordinary file.", hint="Name a file with --out.")
    with path.open("rb") as file:
        ledger = file.read(16).startswith(b"SQLite format 3")
    if ledger or path.name.endswith(("-wal", "-shm")):
        raise NotAFileToWrite(f"{path} belongs to a ledger; nothing was written.", hint="Name another file with --out.")


def write_file(path: Path, content: bytes) -> None:
    """Write a file whole: a reader never sees half of it.

    Raises:
        NotAFileToWrite: It is a ledger, or no ordinary file.
    """
    _check_writable(path)
    beside = path.with_name(path.name + ".part")
    beside.write_bytes(content)
    beside.replace(path)


def write_lines(path: Path, lines: Iterable[bytes]) -> int:
    """Write a file whole, line by line; gives the number of lines.

    Raises:
        NotAFileToWrite: It is a ledger, or no ordinary file.
    """
    _check_writable(path)
    beside, written = path.with_name(path.name + ".part"), 0
    with beside.open("wb") as file:
        for line in lines:
            file.write(line)
            written += 1
    beside.replace(path)
    return written
