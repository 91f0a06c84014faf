"""Setting a practice up: its plan becomes the first entries of its chain, all at once or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path

from wasteledger.clock import Clock, now
from wasteledger.errors import WasteLedgerError
from wasteledger.ledger.append import Recorder
from wasteledger.ledger.ledger import Ledger, UnknownPerson
from wasteledger.model.facts import Subject
from wasteledger.model.register import SiteDetails
from wasteledger.office.plan import BadPlan, Plan, read_plan
from wasteledger.office.workplace import EVERYBODY, OFFICE, Said, Workplace, check_role, zone_named

__all__ = ["BadPlan", "Plan", "SetUp", "SiteIsSetUp", "read_plan", "read_plan_file", "set_up", "update_register"]

_NOTHING_SAID = Said()


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


def set_up(
    location: str, plan: Plan, *, by: str, door: str = "cli", since: date | None = None, clock: Clock = now
) -> SetUp:
    """Write the first entries of the plan's site into the ledger at *location*, which is made if it is not there.

    *since* is the first day on which the plan holds, so that days kept on paper can be typed in; today where None.

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
    site = plan.lines[0].details
    happened_at = None
    if since is not None and isinstance(site, SiteDetails):
        happened_at = datetime.combine(since, time(), zone_named(site.time_zone)).astimezone(UTC)
    with Ledger.open(location, create=True, clock=clock) as ledger, ledger.writing(plan.site, recorder) as desk:
        if desk.chain_end() is not None:
            raise SiteIsSetUp(
                f"Site “{plan.site}” is set up already in {location}.",
                hint="To change its register: wasteledger register update PLAN.toml. A new site wants another ref.",
            )
        for line in plan.lines:
            desk.append(line, happened_at=happened_at)
        check_role(desk, by, EVERYBODY)
        return SetUp(plan.site, len(desk.written), location)


def update_register(place: Workplace, plan: Plan, said: Said = _NOTHING_SAID) -> tuple[str, ...]:
    """Write those lines of *plan* that are new or say something else than the register; gives what was written.

    What the plan no longer names stays in service: retiring is said line by line.

    Raises:
        SiteIsSetUp: The plan is another site's.
        WasteLedgerError: A line cannot be at that time; nothing is written then.
    """
    if plan.site != place.site:
        raise SiteIsSetUp(
            f"The plan is for site “{plan.site}”, not for “{place.site}”.", hint="Name the site with --site."
        )
    changed: list[str] = []
    with place.writing(OFFICE) as desk:
        for line in plan.lines:
            standing = desk.find_standing(Subject(line.details.subject, line.ref))
            # An ordinance can only be put back by a plan that names it; what else was taken out of service stays out.
            is_out = line.details.subject == "ordinance" and getattr(standing, "retired_at", None) is not None
            if standing is not None and getattr(standing, "details", None) == line.details and not is_out:
                continue
            desk.append(line, happened_at=said.at)
            changed.append(f"{line.details.subject.replace('_', ' ')} {line.ref}")
    return tuple(changed)
