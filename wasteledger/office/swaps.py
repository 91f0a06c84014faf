"""What the assistant records: looks, swaps, deposits, line cleaning."""

from __future__ import annotations

from datetime import date, timedelta

from wasteledger.errors import NotUnderstood, Unknown, WasteLedgerError
from wasteledger.ledger.append import Desk
from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import Deposit, LineCleaning, Look, Milestone, Remark, Swap
from wasteledger.model.register import CleanerDetails, StreamDetails
from wasteledger.model.standing import ContainerStanding, TrapStanding
from wasteledger.model.standing.refusals import NotThereYet
from wasteledger.model.traps import Condition, Insert
from wasteledger.office.bodies import make, reading_of
from wasteledger.office.learning import current_prior
from wasteledger.office.lessons import lesson_of
from wasteledger.office.masses import fullness_of, mass_of
from wasteledger.office.rules import cleaner_warnings
from wasteledger.office.unlikely import unlikely_deposit, unlikely_swap
from wasteledger.office.workplace import EVERYBODY, OFFICE, Recorded, Said, Workplace, answer, said_before, write
from wasteledger.units import Mass, Volume

RINSE = "Never rinse a trap, screen or filter at a sink; local codes and licensed handlers decide."
SHARPS = "Gloves, mask, eye cover: traps can hold burs and sharp bits."
LID = "Keep the lid on; open only to add. Keep it dry, add no water or fixer, pour nothing out."
NO_OXIDISER = "No bleach, chlorine, iodine, peroxide or acid in suction or chair water lines."
TEETH = "Do not heat amalgam or teeth with amalgam; never autoclave. Not in red bag, sharps box or rubbish."

LOOK_COUNTS = timedelta(days=4)
"""How long a look counts as what was seen at a swap: over a long weekend (own convention, no source)."""


class NoContainer(WasteLedgerError):
    """It must be said where it goes."""

    code = "no-container"


def record_look(
    place: Workplace,
    trap: str,
    condition: Condition,
    said: Said = Said(),  # noqa: B008  (frozen)
    *,
    amalgam_seen: bool | None = None,
    reason: str | None = None,
    left_to_dry: bool = False,
    on_paper: bool = False,
) -> Recorded:
    """Record that a trap was looked at, or could not be, with the reason.

    Raises:
        WasteLedgerError: The trap is not in service at that time, or the look makes no sense.
    """
    body = make(
        Look,
        trap=trap,
        condition=condition,
        amalgam_seen=amalgam_seen,
        reason=reason,
        left_to_dry=left_to_dry,
        on_paper=on_paper,
    )
    with place.writing(EVERYBODY) as desk:
        appended = write(desk, body, said)
    warnings: tuple[str, ...] = ()
    if condition in (Condition.CLOGGED, Condition.DAMAGED):
        warnings = (f"Trap {trap} wants replacing: swap it, or leave it to dry and swap it before suction starts.",)
    if condition is Condition.DAMAGED:
        warnings += ("Tell the manager, and look at the filter downstream.",)
    says = f"Trap {trap}: {condition.words}{', left to dry' if left_to_dry else ''}{f' ({reason})' if reason else ''}."
    return answer(appended, says, warnings=warnings, cautions=(RINSE, SHARPS))


def record_swap(
    place: Workplace,
    trap: str,
    said: Said = Said(),  # noqa: B008  (frozen)
    *,
    condition: Condition = Condition.NOT_LOOKED,
    into: str | None = None,
    gross: Mass | None = None,
    tare: Mass | None = None,
    scale: str | None = None,
    amalgam_seen: bool | None = None,
    on_paper: bool = False,
) -> Recorded:
    """Record that a trap was changed, and what it held put into a container.

    Args:
        place: Where, and by whom.
        trap: The trap's short name.
        said: When, with which key, with which note.
        condition: What was seen; left out, the last look since the trap was changed counts, if it is not too old.
        into: The container; left out, the one used last for that stream, or the only open one that takes it.
        gross: Mass of the old trap with what it holds, if it was weighed by itself; then *tare* too.
        tare: Mass of the clean trap.
        scale: Which scale; left out, the only one.
        amalgam_seen: Whether silver-coloured particles were seen.
        on_paper: It was first written on paper.

    Raises:
        NoContainer: No open container takes that stream, or several do and none was used before.
        WasteLedgerError: The trap, the container or the time cannot be.
    """
    with place.writing(EVERYBODY) as desk:
        standing = _trap(desk, trap)
        details = standing.details
        before = said_before(desk, said, Swap)
        container = into or (before.container if before else _container_or_refuse(desk, details.stream))
        when = said.at or desk.now
        if condition is Condition.NOT_LOOKED:
            condition = before.condition if before else _seen_since_swap(place, standing, when)
        body = make(
            Swap,
            trap=trap,
            trap_kind=standing.trap_kind,
            container=container,
            stream=before.stream if before else details.stream,
            condition=condition,
            days_in_service=_days_in_service(place, standing, when),
            interval_days=details.interval_days,
            dentists_permille=details.dentists_permille,
            insert=Insert.EMPTIED if details.reusable else Insert.WHOLE,
            insert_mg=details.insert_mg,
            insert_ml=details.insert_ml,
            gross=reading_of(desk, gross, scale, before=before.gross if before else None) if gross else None,
            tare=reading_of(desk, tare, scale, before=before.tare if before else None) if tare else None,
            amalgam_seen=amalgam_seen,
            on_paper=on_paper,
        )
        believed = current_prior(desk)
        appended = write(desk, body, said)
        lesson = lesson_of(desk, appended, believed)
        # The same message sent twice is one swap; it must not be asked whether it was typed twice.
        asked = () if appended.repeated else unlikely_swap(standing, body, when, appended.entry.seq, lesson.warnings)
        warnings = asked + fill_warnings(desk, container) + lesson.warnings
        holds = _holds(desk, container)
    says = f"Trap {trap} swapped; its old insert is in container {container}, which holds {holds}."
    return answer(appended, says, warnings=warnings, cautions=(RINSE, LID), learned=lesson.says)


def record_deposit(
    place: Workplace,
    container: str,
    stream: str,
    said: Said = Said(),  # noqa: B008  (frozen)
    *,
    count: int | None = None,
    mass: Mass | None = None,
    scale: str | None = None,
    volume: Volume | None = None,
    room: str | None = None,
    on_paper: bool = False,
) -> Recorded:
    """Record that something other than a trap went into a container, by count, by mass, or both.

    Raises:
        Unknown: No such stream.
        WasteLedgerError: The container does not take it, or the time cannot be.
    """
    with place.writing(EVERYBODY) as desk:
        line = desk.find_line("stream", stream)
        if line is None:
            names = ", ".join(one.ref for one in desk.lines("stream"))
            raise Unknown(f"There is no stream “{stream}”.", hint=f"Streams here: {names}.")
        before = said_before(desk, said, Deposit)
        body = make(
            Deposit,
            container=container,
            stream=stream,
            count=count,
            mass=reading_of(desk, mass, scale, before=before.mass if before else None) if mass else None,
            volume_ml=volume.ml if volume else None,
            room=room,
            on_paper=on_paper,
        )
        believed = current_prior(desk)
        appended = write(desk, body, said)
        lesson = lesson_of(desk, appended, believed)
        asked = () if appended.repeated else unlikely_deposit(desk.find_container(container), body, appended.entry.seq)
        warnings = asked + fill_warnings(desk, container) + lesson.warnings
        holds = _holds(desk, container)
        name = line.details.name if isinstance(line.details, StreamDetails) else stream
    what = " and ".join(
        [f"{count} piece{'s' if count != 1 else ''}"] * (count is not None) + [f"{mass} weighed"] * (mass is not None)
    )
    says = f"{name}: {what} put into container {container}, which holds {holds}."
    return answer(appended, says, warnings=warnings, cautions=(TEETH, LID), learned=lesson.says)


def record_line_cleaning(
    place: Workplace,
    rooms: tuple[str, ...],
    said: Said = Said(),  # noqa: B008  (frozen)
    *,
    cleaner: str | None = None,
    volume: Volume | None = None,
    suction_minutes: int | None = None,
    on_paper: bool = False,
) -> Recorded:
    """Record that line cleaner was drawn through the evacuation lines of some rooms.

    A cleaner that a rule in force speaks against is recorded all the same, since it happened; the rule is named.

    Raises:
        Unknown: No such cleaner or room.
    """
    with place.writing(EVERYBODY) as desk:
        before = said_before(desk, said, LineCleaning)
        used = cleaner or (before.cleaner if before else _only_cleaner(desk))
        line = desk.find_line("cleaner", used)
        if line is None or not isinstance(line.details, CleanerDetails):
            names = ", ".join(one.ref for one in desk.lines("cleaner"))
            raise Unknown(f"There is no cleaner “{used}”.", hint=f"Registered: {names or 'none'}.")
        warnings = cleaner_warnings(desk, line.details)
        body = make(
            LineCleaning,
            rooms=rooms,
            cleaner=used,
            volume_ml=volume.ml if volume else None,
            suction_left_minutes=suction_minutes,
            on_paper=on_paper,
        )
        appended = write(desk, body, said)
        name = line.details.name
    says = f"{name} drawn through {', '.join(rooms)}."
    return answer(appended, says, warnings=warnings, cautions=(NO_OXIDISER,))


def record_milestone(
    place: Workplace,
    what: str,
    said: Said = Said(),  # noqa: B008  (frozen)
) -> Recorded:
    """Record what starts or ends a clock of an ordinance.

    Raises:
        BodyNotUnderstood: An unknown word.
    """
    with place.writing(OFFICE) as desk:
        appended = write(desk, make(Milestone, what=what), said)
    return answer(appended, f"Noted: {what.replace('_', ' ')}.")


def record_remark(
    place: Workplace,
    text: str,
    said: Said = Said(),  # noqa: B008  (frozen)
    *,
    about: int | None = None,
    pickup: str | None = None,
    container: str | None = None,
    trap: str | None = None,
) -> Recorded:
    """Write words about an entry, a pickup, a container or a trap.

    Raises:
        WasteLedgerError: What it is about does not exist.
    """
    body = make(Remark, text=text, about=about, pickup=pickup, container=container, trap=trap)
    with place.writing(EVERYBODY) as desk:
        if about is not None:
            desk.get_entry(about)
        appended = write(desk, body, said)
    return answer(appended, "Remark written.")


def container_for(reader: Reader, stream: str) -> str | None:
    """The open container that took *stream* last, or the only open one that would; None where that cannot be told."""
    taking = [one for one in reader.containers("open") if stream in one.streams]
    used = [one for one in taking if one.swaps or one.deposits]
    if len(taking) == 1:
        return taking[0].container
    return max(used, key=lambda one: one.last_at).container if used else None


def fill_warnings(reader: Reader, container: str) -> tuple[str, ...]:
    """What the fullness of a container asks for, if anything."""
    standing = reader.find_container(container)
    if standing is None or standing.status != "open":
        return ()
    full = fullness_of(reader, standing, mass_of(reader, standing))
    if full.permille is None or full.governing is None or full.permille < standing.plan_at_permille:
        return ()
    by = f"{full.permille / 10:.0f} % by {full.governing.measure} ({full.governing.basis})"
    if full.permille >= standing.close_at_permille:
        return (f"Container {container} is full: {by}. Close it and open the next one.",)
    return (f"Container {container} is at {by}. Plan a pickup.",)


def _holds(reader: Reader, container: str) -> str:
    from wasteledger.estimate.rounding import statement

    standing = reader.find_container(container)
    return statement(mass_of(reader, standing)) if isinstance(standing, ContainerStanding) else "nothing known"


def _trap(desk: Desk, ref: str) -> TrapStanding:
    found = desk.find_trap(ref)
    if found is None:
        raise NotThereYet("trap", ref)
    return found


def _container_or_refuse(desk: Desk, stream: str) -> str:
    found = container_for(desk, stream)
    if found is None:
        taking = [one.container for one in desk.containers("open") if stream in one.streams]
        raise NoContainer(
            f"No open container takes “{stream}”." if not taking else f"Several containers take “{stream}”.",
            hint=f"Say which one with --into ({', '.join(taking)})." if taking else "Open one first.",
        )
    return found


def _seen_since_swap(place: Workplace, trap: TrapStanding, when: object) -> Condition:
    """The last look counts as what was seen at the swap, unless the trap was swapped since or the look is old."""
    if trap.last_condition is None or trap.last_look_at is None:
        return Condition.NOT_LOOKED
    if trap.last_swap_at is not None and trap.last_swap_at >= trap.last_look_at:
        return Condition.NOT_LOOKED
    if not isinstance(when, type(trap.last_look_at)) or not timedelta(0) <= when - trap.last_look_at <= LOOK_COUNTS:
        return Condition.NOT_LOOKED
    return trap.last_condition


def _days_in_service(place: Workplace, trap: TrapStanding, when: object) -> int | None:
    since = trap.last_swap_at
    if since is None or not isinstance(when, type(since)) or since > when:
        return None
    first: date = place.local(since).date()
    return (place.local(when).date() - first).days


def _only_cleaner(desk: Desk) -> str:
    used = [
        line.ref
        for line in desk.lines("cleaner")
        if isinstance(line.details, CleanerDetails) and line.details.used_in == "evacuation"
    ]
    if len(used) != 1:
        raise NotUnderstood("Which cleaner was it?", hint=f"Name it with --cleaner ({', '.join(used) or 'none'}).")
    return used[0]
