"""Containers: opening, closing, moving, weighing, reading the level."""

from __future__ import annotations

from wasteledger.errors import NotUnderstood, Unknown
from wasteledger.estimate.rounding import statement
from wasteledger.model.entries import ContainerClosed, ContainerMoved, ContainerOpened, Level, Weighing
from wasteledger.model.register import ContainerTypeDetails
from wasteledger.model.standing.refusals import Retired
from wasteledger.model.values import Reading
from wasteledger.office.bodies import make, reading_of
from wasteledger.office.learning import current_prior
from wasteledger.office.lessons import lesson_of
from wasteledger.office.level_lessons import level_lesson
from wasteledger.office.masses import mass_of
from wasteledger.office.swaps import LID, fill_warnings
from wasteledger.office.unlikely import unlikely_opening
from wasteledger.office.volumes import current_factors
from wasteledger.office.workplace import EVERYBODY, Recorded, Said, Workplace, answer, said_before, write
from wasteledger.units import Mass

STORE = "Store away from heat, closed, out of patient traffic. Local codes and licensed handlers decide."
STOP = "Stop at the fill mark and start a new container; overfull separators bypass to the sewer."

_NOTHING_SAID = Said()


def open_container(
    place: Workplace,
    container: str,
    container_type: str,
    said: Said = _NOTHING_SAID,
    *,
    tare: Mass | None = None,
    scale: str | None = None,
    at_place: str = "",
) -> Recorded:
    """Take a new, empty container into use.

    Args:
        place: Where, and by whom.
        container: Its short name, never used before.
        container_type: A type of the register; its streams and limits are copied into the entry.
        said: When, with which key, with which note.
        tare: Mass of the empty container as weighed; left out, the type's.
        scale: Which scale; left out, the only one.
        at_place: Where it stands.

    Raises:
        Unknown: No such type.
        Retired: The type was taken out of service.
        NotUnderstood: No tare is known: without it no weighing says what is in the container.
        AlreadyThere: There was a container of that name.
    """
    with place.writing(EVERYBODY) as desk:
        line = desk.find_line("container_type", container_type)
        if line is None or not isinstance(line.details, ContainerTypeDetails):
            names = ", ".join(one.ref for one in desk.lines("container_type"))
            raise Unknown(f"There is no container type “{container_type}”.", hint=f"Registered: {names or 'none'}.")
        details, before = line.details, said_before(desk, said, ContainerOpened)
        if before is None and line.retired_at is not None:
            raise Retired("container type", container_type, line.retired_at)
        if tare is not None:
            empty = reading_of(desk, tare, scale, before=before.tare if before else None)
        elif before is not None and before.tare.scale is None:
            empty = before.tare
        elif details.tare_mg is not None:
            # As the type states it: no scale of ours stood behind it, so its limits are not ours to state.
            empty = make(Reading, mass_mg=details.tare_mg, readability_mg=0, tolerance_mg=0)
        else:
            raise NotUnderstood(
                "What does it weigh empty?", hint="Weigh it with its lid and say --tare, such as --tare 182.4g."
            )
        terms = before or details
        body = make(
            ContainerOpened,
            container=container,
            container_type=container_type,
            streams=terms.streams,
            place=at_place,
            tare=empty,
            fill_ml=terms.fill_ml,
            mass_limit_mg=terms.mass_limit_mg,
            items_limit=terms.items_limit,
            plan_at_permille=terms.plan_at_permille,
            close_at_permille=terms.close_at_permille,
        )
        appended = write(desk, body, said)
    warnings = () if appended.repeated else unlikely_opening(details, body, appended.entry.seq)
    says = f"Container {container} ({details.name}) opened for {', '.join(details.streams)}."
    return answer(appended, says, warnings=warnings, cautions=(LID, STORE))


def close_container(place: Workplace, container: str, said: Said = _NOTHING_SAID, *, why: str = "full") -> Recorded:
    """Close a container for good; *why* is ``full``, ``pickup`` or ``other``.

    Raises:
        WasteLedgerError: It is not there, or was closed before.
    """
    with place.writing(EVERYBODY) as desk:
        appended = write(desk, make(ContainerClosed, container=container, why=why), said)
    return answer(appended, f"Container {container} closed. Write the closing date on its label.", cautions=(STORE,))


def move_container(place: Workplace, container: str, to: str, said: Said = _NOTHING_SAID) -> Recorded:
    """Say where a container stands now.

    Raises:
        WasteLedgerError: It is not there any more.
    """
    with place.writing(EVERYBODY) as desk:
        appended = write(desk, make(ContainerMoved, container=container, place=to), said)
    return answer(appended, f"Container {container} stands at {to} now.", cautions=(STORE,))


def weigh_container(
    place: Workplace, container: str, gross: Mass, said: Said = _NOTHING_SAID, *, scale: str | None = None
) -> Recorded:
    """Record what the scale shows with the container on it, lid and all.

    Raises:
        BelowTare: Less than the empty container.
        WasteLedgerError: It is not there any more, or no scale is registered.
    """
    with place.writing(EVERYBODY) as desk:
        earlier, believed = said_before(desk, said, Weighing), current_prior(desk)
        reading = reading_of(desk, gross, scale, before=earlier.gross if earlier else None)
        appended = write(desk, make(Weighing, container=container, gross=reading), said)
        after = desk.find_container(container)
        holds = statement(mass_of(desk, after)) if after else ""
        lesson = lesson_of(desk, appended, believed)
        warnings = fill_warnings(desk, container) + lesson.warnings
    says = f"Container {container} holds {holds}."
    return answer(appended, says, warnings=warnings, cautions=(LID,), learned=lesson.says)


def record_level(place: Workplace, container: str, permille: int, said: Said = _NOTHING_SAID) -> Recorded:
    """Record how far a container is filled, in thousandths of its fill line.

    Raises:
        WasteLedgerError: It is not there any more, or the level is out of bounds.
    """
    with place.writing(EVERYBODY) as desk:
        believed = current_factors(desk)
        appended = write(desk, make(Level, container=container, level_permille=permille), said)
        lesson = level_lesson(desk, appended, believed)
        warnings = fill_warnings(desk, container) + lesson.warnings
    says = f"Container {container} is filled to {permille / 10:g} % of its fill line."
    return answer(appended, says, warnings=warnings, cautions=(STOP,), learned=lesson.says)
