"""The amalgam separator: inspections, repairs, exchange of its retaining unit."""

from __future__ import annotations

from wasteledger.ledger.append import Appended, Desk
from wasteledger.model.entries import Repair, SeparatorInspection, UnitReplaced
from wasteledger.model.standing import SeparatorStanding
from wasteledger.model.standing.refusals import NotThereYet
from wasteledger.office.bodies import make, reading_of
from wasteledger.office.learning import current_prior
from wasteledger.office.lessons import lesson_of
from wasteledger.office.words import short_day
from wasteledger.office.workplace import (
    EVERYBODY,
    OFFICE,
    Recorded,
    Said,
    Workplace,
    answer,
    said_before,
    write,
    zone_of,
)
from wasteledger.units import Mass

SEALED = "Exchange the retaining unit, never open or empty it by hand; keep it capped and upright in its own container."
BYPASS = "An overfull separator bypasses to the sewer. Check every interval against the operating manual."

_NOTHING_SAID = Said()
_DAYS_A_YEAR = 365


def inspect_separator(
    place: Workplace,
    separator: str,
    result: str,
    said: Said = _NOTHING_SAID,
    *,
    level: int | None = None,
    bypass_seen: bool = False,
    leak_seen: bool = False,
    follow_up: str | None = None,
    done_by: str | None = None,
    on_paper: bool = False,
) -> Recorded:
    """Record an inspection; *result* is ``in order``, ``attention`` or ``malfunction``, *level* in thousandths.

    Raises:
        WasteLedgerError: There is no such separator at that time, or an unknown result.
    """
    body = make(
        SeparatorInspection,
        separator=separator,
        result=result,
        level_permille=level,
        bypass_seen=bypass_seen,
        leak_seen=leak_seen,
        follow_up=follow_up,
        done_by=done_by,
        on_paper=on_paper,
    )
    with place.writing(EVERYBODY) as desk:
        appended = write(desk, body, said)
        warnings = _clock_words(desk, appended) if body.result == "malfunction" else ()
    return answer(appended, f"Separator {separator}: {body.result}.", warnings=warnings, cautions=(BYPASS,))


def repair_separator(
    place: Workplace,
    separator: str,
    action: str,
    said: Said = _NOTHING_SAID,
    *,
    done_by: str,
    description: str,
    make_name: str,
    model: str,
    serial: str | None = None,
) -> Recorded:
    """Record a repair (*action* ``repaired``) or a replacement of the whole device (``replaced``).

    Raises:
        WasteLedgerError: There is no such separator at that time.
    """
    body = make(
        Repair,
        separator=separator,
        action=action,
        done_by=done_by,
        description=description,
        make=make_name,
        model=model,
        serial=serial,
    )
    with place.writing(OFFICE) as desk:
        appended = write(desk, body, said)
    return answer(appended, f"Separator {separator} {body.action} by {done_by}.", cautions=(BYPASS,))


def replace_unit(
    place: Workplace,
    separator: str,
    into: str,
    said: Said = _NOTHING_SAID,
    *,
    old_serial: str | None = None,
    new_serial: str | None = None,
    mass: Mass | None = None,
    scale: str | None = None,
    done_by: str | None = None,
) -> Recorded:
    """Record that the retaining unit was exchanged and the old one put, closed, into container *into*.

    Raises:
        WasteLedgerError: No such separator, or the container does not take retaining units.
    """
    with place.writing(EVERYBODY) as desk:
        standing = _separator(desk, separator)
        details, before = standing.details, said_before(desk, said, UnitReplaced)
        since, when = standing.last_unit_at, said.at or desk.now
        interval = _DAYS_A_YEAR
        if details.replace_unit_every_months:
            interval = max(1, round(details.replace_unit_every_months * _DAYS_A_YEAR / 12))
        body = make(
            UnitReplaced,
            separator=separator,
            container=into,
            stream=details.unit_stream,
            old_serial=old_serial,
            new_serial=new_serial,
            days_in_service=(when - since).days if since is not None and since <= when else None,
            interval_days=interval,
            dentists_permille=details.dentists_permille,
            unit_mg=details.unit_mg,
            mass=reading_of(desk, mass, scale, before=before.mass if before else None) if mass else None,
            done_by=done_by,
        )
        believed = current_prior(desk)
        appended = write(desk, body, said)
        lesson = lesson_of(desk, appended, believed)
    says = f"Retaining unit of {separator} exchanged; the old one is in {into}."
    return answer(appended, says, warnings=lesson.warnings, cautions=(SEALED,), learned=lesson.says)


def _clock_words(desk: Desk, appended: Appended) -> tuple[str, ...]:
    """From which day the clock for the repair runs, and by which entry; a second look never starts it anew."""
    entry = appended.entry
    found = desk.find_separator(entry.body.separator) if isinstance(entry.body, SeparatorInspection) else None
    if found is None or found.malfunction_at is None:
        # Written down after the repair, or made void since.
        return ("No clock for its repair runs: it was repaired or replaced since, or the entry is void.",)
    since = short_day(found.malfunction_at.astimezone(zone_of(desk)).date())
    see = "see wasteledger due for the day and the rule."
    if found.malfunction_seq == entry.seq:
        return (f"The clock for its repair runs from {since}, when it was found (entry {entry.seq}); {see}",)
    return (f"The clock for its repair runs from {since} already, by entry {found.malfunction_seq}; {see}",)


def _separator(desk: Desk, ref: str) -> SeparatorStanding:
    found = desk.find_separator(ref)
    if found is None:
        raise NotThereYet("separator", ref)
    return found
