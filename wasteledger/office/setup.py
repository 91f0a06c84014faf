"""Setting a practice up: its plan becomes the first entries of its chain, all at once or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from wasteledger.clock import Clock, now
from wasteledger.errors import WasteLedgerError
from wasteledger.ledger.append import Recorder
from wasteledger.ledger.ledger import Ledger, UnknownPerson
from wasteledger.office.plan import BadPlan, Plan, read_plan
from wasteledger.office.workplace import EVERYBODY, check_role

__all__ = ["BadPlan", "Plan", "SetUp", "SiteIsSetUp", "read_plan", "read_plan_file", "set_up"]


class SiteIsSetUp(WasteLedgerError):
    """That site has a chain in this ledger."""

    code = "second-first-entry"


@dataclass(frozen=True, slots=True)
class SetUp:
    """What setting up answers: the site, how many entries were written, where."""

    site: str
    entries: int
    ledger: str


def read_plan_file(path: Path) -> Plan:
    """Read a plan and the files that it names; those that lie beside it go before the shipped ones.

    Raises:
        BadPlan: It cannot be read, or has faults.
    """
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BadPlan(path.name, (f"{path} cannot be read: {error}",)) from error
    return read_plan(text, path.name, beside=path.parent)


def set_up(location: str, plan: Plan, *, by: str, door: str = "cli", clock: Clock = now) -> SetUp:
    """Write the first entries of the plan's site into the ledger at *location*, which is made if it is not there.

    Raises:
        SiteIsSetUp: The site has a chain there.
        UnknownPerson: *by* is not in the plan.
        NotTheirTask: *by* only reads there.
    """
    people = [line.ref for line in plan.lines if line.details.subject == "person"]
    if by not in people:
        # Asked before the file is made, so that a slip of the pen leaves nothing behind.
        raise UnknownPerson(
            f"“{by}” is not among the people of the plan.", hint=f"Name one of them with --by: {', '.join(people)}."
        )
    recorder = Recorder(by, door)
    with Ledger.open(location, create=True, clock=clock) as ledger, ledger.writing(plan.site, recorder) as desk:
        if desk.chain_end() is not None:
            raise SiteIsSetUp(
                f"Site “{plan.site}” is set up already in {location}.",
                hint="Change its register instead, or give the new site another ref.",
            )
        for line in plan.lines:
            desk.append(line)
        check_role(desk, by, EVERYBODY)
        return SetUp(plan.site, len(desk.written), location)
