"""The register after the setting-up: people, and any other line."""

from __future__ import annotations

from wasteledger.errors import Unknown, WasteLedgerError
from wasteledger.ledger.reader import Reader
from wasteledger.model.facts import Subject
from wasteledger.model.register import ContainerTypeDetails, PersonDetails, Register, Role, StreamDetails
from wasteledger.model.standing import RegisterStanding, SeparatorStanding, TrapStanding
from wasteledger.model.streams import Sharing, SharingMatrix
from wasteledger.model.values import Value
from wasteledger.office.bodies import make
from wasteledger.office.workplace import OFFICE, Recorded, Said, Workplace, answer, said_before, write

_NOTHING_SAID = Said()


class MayNotShare(WasteLedgerError):
    """Streams of one container type that may not lie together."""

    code = "may-not-share"


def list_people(place: Workplace, *, retired: bool = True) -> list[RegisterStanding]:
    """The people of the register, by short name."""
    with place.reading() as reader:
        return reader.lines("person", retired=retired)


def add_person(place: Workplace, ref: str, name: str, roles: tuple[str, ...], said: Said = _NOTHING_SAID) -> Recorded:
    """Put somebody into the register, or change their name and roles.

    Raises:
        Unknown: A role that there is not.
    """
    known = {role.value: role for role in Role}
    strange = [role for role in roles if role not in known]
    if strange:
        raise Unknown(f"There is no role “{strange[0]}”.", hint=f"Roles are {', '.join(known)}.")
    details = make(PersonDetails, name=name, roles=tuple(known[role] for role in roles))
    return register_line(place, ref, details, said)


def retire_person(place: Workplace, ref: str, said: Said = _NOTHING_SAID) -> Recorded:
    """Take somebody out of service; their entries stay.

    Raises:
        Unknown: Nobody of that name.
        Retired: Already out of service.
    """
    return retire_line(place, "person", ref, said)


def register_line(place: Workplace, ref: str, details: Value, said: Said = _NOTHING_SAID) -> Recorded:
    """Write a line of the register, new or changed.

    Raises:
        MayNotShare: A container type for streams that may not lie together.
        WasteLedgerError: It cannot be at that time.
    """
    with place.writing(OFFICE) as desk:
        if isinstance(details, ContainerTypeDetails):
            _check_sharing(desk, details)
        body = make(Register, ref=ref, details=details)
        appended = write(desk, body, said)
    what = body.details.subject.replace("_", " ")
    return answer(appended, f"{what.capitalize()} {ref} is in the register.")


def retire_line(place: Workplace, what: str, ref: str, said: Said = _NOTHING_SAID) -> Recorded:
    """Take a line of the register out of service.

    Raises:
        Unknown: There is no such line.
        Retired: Already out of service.
    """
    with place.writing(OFFICE) as desk:
        standing = desk.find_standing(Subject(what, ref))
        if not isinstance(standing, RegisterStanding | TrapStanding | SeparatorStanding):
            raise Unknown(f"There is no {what.replace('_', ' ')} “{ref}”.", hint="Check the name.")
        before = said_before(desk, said, Register)
        details = before.details if before is not None and before.details.subject == what else standing.details
        appended = write(desk, make(Register, ref=ref, details=details, retired=True), said)
    return answer(appended, f"{what.replace('_', ' ').capitalize()} {ref} is out of service.")


def _check_sharing(reader: Reader, details: ContainerTypeDetails) -> None:
    streams = {one.ref: one.details for one in reader.lines("stream") if isinstance(one.details, StreamDetails)}
    strange = [stream for stream in details.streams if stream not in streams]
    if strange:
        raise Unknown(f"There is no stream “{strange[0]}”.", hint=f"Streams here: {', '.join(streams)}.")
    matrix = SharingMatrix(
        {ref: stream.name for ref, stream in streams.items()},
        {
            frozenset((ref, other)): Sharing(sharing)
            for ref, stream in streams.items()
            for other, sharing in stream.shares
        },
    )
    for one, other, sharing in matrix.conflicts(details.streams, written_rule=details.written_rule):
        accepted = "Give them containers of their own."
        if sharing is Sharing.ASK:
            accepted = "Give them containers of their own, or name the carrier's or authority's written rule."
        raise MayNotShare(f"“{one}” and “{other}” may not share a container ({sharing}).", hint=accepted)
