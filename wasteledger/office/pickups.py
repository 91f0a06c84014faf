"""Pickups: booking, release, and the papers that come back."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import date, datetime

from wasteledger.errors import NotUnderstood, Unknown
from wasteledger.estimate.rounding import statement
from wasteledger.ledger.append import Desk
from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import (
    ContainerClosed,
    PickupBooked,
    PickupReleased,
    Receipt,
    ReceivedContainer,
    ReleasedContainer,
)
from wasteledger.model.register import CarrierDetails, FacilityDetails
from wasteledger.model.standing import ContainerStanding, PickupStanding
from wasteledger.model.standing.refusals import NotThereYet, Retired
from wasteledger.model.values import Party
from wasteledger.office.bodies import make
from wasteledger.office.bookings import booking_warnings
from wasteledger.office.days import checked_day
from wasteledger.office.learning import current_prior
from wasteledger.office.lessons import lesson_of
from wasteledger.office.masses import mass_of
from wasteledger.office.received import warnings_of
from wasteledger.office.workplace import OFFICE, Recorded, Said, Workplace, answer, said_before, write
from wasteledger.units import Mass

ASK = "Ask the recycler before mixing streams or disinfecting teeth. Local codes and licensed handlers decide."
TWO_PAPERS = "Two papers close a shipment: what left, and the proof of final recycling."

ROUNDED_PERMILLE = 5
ROUNDED_MG = 1_000
"""How far a paper's total may lie from its parts for being rounded by itself: so much of the total, and so much for
each container (own convention, no source)."""

_NOTHING_SAID = Said()


def book_pickup(
    place: Workplace,
    pickup: str,
    carrier: str,
    facility: str,
    on: date,
    containers: tuple[str, ...],
    said: Said = _NOTHING_SAID,
    *,
    reference: str | None = None,
) -> Recorded:
    """Record that a carrier was asked to come on a day, for some containers.

    Raises:
        BeyondReckoning: The year of *on* cannot be reckoned with.
        Unknown: No such carrier, facility or container.
        Retired: The carrier or the facility was taken out of service.
        WasteLedgerError: A container is gone, or booked for another pickup.
    """
    checked_day(on)
    with place.writing(OFFICE) as desk:
        parties = _carrier(desk, carrier), _facility(desk, facility)
        booked_on = place.local(said.at or desk.now).date()
        if on < booked_on:
            raise NotUnderstood(
                f"A pickup for {on} cannot have been booked on {booked_on}.", hint="Check the day, or say --at."
            )
        if said_before(desk, said, PickupBooked) is None:
            _in_service(desk, "carrier", carrier)
            _in_service(desk, "facility", facility)
        body = make(
            PickupBooked,
            pickup=pickup,
            carrier=parties[0],
            facility=parties[1],
            planned_on=on,
            containers=tuple(dict.fromkeys(containers)),
            reference=reference,
        )
        appended = write(desk, body, said)
    warnings = () if appended.repeated else booking_warnings(place, body, booked_on)
    says = f"Pickup {pickup} booked with {body.carrier.name} for {on.day} {on:%B %Y}: {', '.join(body.containers)}."
    return answer(appended, says, warnings=warnings, cautions=(ASK,))


def release_pickup(
    place: Workplace, pickup: str, said: Said = _NOTHING_SAID, *, taken_by: str, document: str | None = None
) -> Recorded:
    """Record that the carrier took the containers; what the ledger states of each is kept in the entry.

    Containers that are still open are closed in the same transaction.

    Raises:
        NotThereYet: No such pickup.
        WasteLedgerError: It was released before, or cannot have been then.
    """
    key = said.key or str(uuid.uuid4())
    with place.writing(OFFICE) as desk:
        booked = get_pickup(desk, pickup)
        for ref in booked.containers:
            standing = desk.find_container(ref)
            if standing is not None and standing.status == "open":
                closing = make(ContainerClosed, container=ref, why="pickup")
                desk.append(closing, happened_at=said.at, key=str(uuid.uuid5(uuid.NAMESPACE_URL, f"{key}/close/{ref}")))
        body = make(
            PickupReleased,
            pickup=pickup,
            carrier=_carrier(desk, booked.carrier),
            facility=_facility(desk, booked.facility),
            containers=tuple(released_container(place, desk, ref) for ref in booked.containers),
            taken_by=taken_by,
            document=document,
        )
        appended = write(desk, body, replace(said, key=key))
        released = appended.entry.body
    unweighed = ", ".join(
        one.container
        for one in (released.containers if isinstance(released, PickupReleased) else ())
        if one.basis == "estimate"
    )
    warnings = (f"Not weighed since the last additions: {unweighed}.",) if unweighed else ()
    says = f"Pickup {pickup} released to {taken_by}. Print its manifest: wasteledger print manifest {pickup}."
    return answer(appended, says, warnings=warnings, cautions=(TWO_PAPERS,))


def receive_pickup(
    place: Workplace,
    pickup: str,
    said: Said = _NOTHING_SAID,
    *,
    received_on: date,
    proves: str = "both",
    document: str | None = None,
    final_facility: str | None = None,
    net: tuple[tuple[str, Mass], ...] = (),
    within: Mass | None = None,
    total: Mass | None = None,
    discrepancy: str | None = None,
) -> Recorded:
    """Record a paper that came back: *proves* is ``received``, ``recycled`` or ``both``.

    Args:
        place: Where, and by whom.
        pickup: Which pickup.
        said: When, with which key, with which note.
        received_on: The day that the paper states.
        proves: What it proves.
        document: Its number.
        final_facility: Name and address of the final recycling site.
        net: Net mass of each container as the facility states it.
        within: What the paper states those masses are good to, either way (95 %).
        total: Net mass of all together, where the paper has only that.
        discrepancy: What the facility found different.

    Raises:
        NotReleased: The pickup was never released.
        SecondReceipt: That paper was recorded before.
        NotUnderstood: The paper's day lies before the release or in the future, or *within* has nothing to go with.
    """
    if within is not None and not net:
        raise NotUnderstood(
            f"There is no net mass of a container that {within} could go with.", hint="Give --net CONTAINER=MASS too."
        )
    with place.writing(OFFICE) as desk:
        standing = desk.find_pickup(pickup)
        check_received_on(place, desk, pickup, received_on)
        body = make(
            Receipt,
            pickup=pickup,
            proves=proves,
            received_on=received_on,
            document=document,
            final_facility=final_facility,
            containers=tuple(
                make(ReceivedContainer, container=ref, net_mg=mass.mg, uncertainty_mg=within.mg if within else None)
                for ref, mass in net
            ),
            total_mg=total.mg if total else None,
            discrepancy=discrepancy,
        )
        warnings = _sum_warnings(standing, body) + warnings_of(desk, standing, body)
        believed = current_prior(desk)
        appended = write(desk, body, said)
        lesson, after = lesson_of(desk, appended, believed), desk.find_pickup(pickup)
    closed = after is not None and after.status == "closed"
    says = f"Paper for pickup {pickup} noted; {'it is closed' if closed else 'the proof of recycling is still open'}."
    cautions = () if closed else (TWO_PAPERS,)
    return answer(appended, says, warnings=warnings + lesson.warnings, cautions=cautions, learned=lesson.says)


def check_received_on(place: Workplace, desk: Desk, pickup: str, received_on: date) -> None:
    """Refuse a day that no paper of that pickup can state; of a pickup that was not released the fold speaks.

    Raises:
        NotUnderstood: The day lies before the release or in the future.
    """
    standing = desk.find_pickup(pickup)
    if standing is not None and standing.released_at is not None:
        left_on = place.local(standing.released_at).date()
        if received_on < left_on:
            raise NotUnderstood(
                f"Pickup {pickup} left on {left_on}; it cannot have been received on {received_on}.",
                hint="Check the day on the paper.",
            )
    if received_on > place.local(desk.now).date():
        raise NotUnderstood(f"{received_on} has not come yet.", hint="Check the day on the paper.")


def get_pickup(reader: Reader, ref: str) -> PickupStanding:
    """The pickup *ref*.

    Raises:
        NotThereYet: There is none.
    """
    found = reader.find_pickup(ref)
    if found is None:
        raise NotThereYet("pickup", ref)
    return found


def released_container(place: Workplace, reader: Reader, ref: str) -> ReleasedContainer:
    """What the ledger states of a container now, as a release records it and a draft prints it.

    Raises:
        NotThereYet: There is none.
    """
    standing = reader.find_container(ref)
    if standing is None:
        raise NotThereYet("container", ref)
    estimate = mass_of(reader, standing)
    # Of a container that nothing was recorded for, nothing was weighed either.
    weighed = estimate.basis == "weighed"
    closed_at = standing.closed_at or reader_now(reader, standing)
    return make(
        ReleasedContainer,
        container=ref,
        container_type=standing.container_type,
        streams=standing.streams,
        first_waste_on=place.local(standing.first_waste_at).date() if standing.first_waste_at else None,
        closed_on=place.local(closed_at).date(),
        basis="weighed" if weighed else "estimate",
        gross_mg=standing.holding.base_mg + standing.tare_mg if weighed and standing.holding.stood_on_scale else None,
        tare_mg=standing.tare_mg,
        net_mg=estimate.value_mg,
        uncertainty_mg=estimate.expanded_mg,
        lower_mg=estimate.lower_mg,
        upper_mg=estimate.upper_mg,
        estimated_mg=estimate.estimated_mg,
        swaps=standing.swaps,
        deposits=standing.deposits,
        unweighed=estimate.unknown_pieces,
        statement="empty: nothing was recorded, estimate" if estimate.basis == "empty" else statement(estimate),
    )


def reader_now(reader: Reader, standing: ContainerStanding) -> datetime:
    """When an open container would be closed if it left now: at a desk the present, else its newest fact."""
    return reader.now if isinstance(reader, Desk) else standing.last_at


def _sum_warnings(standing: PickupStanding | None, paper: Receipt) -> tuple[str, ...]:
    """A word where a paper states every container and a total, and the two do not add up."""
    stated = {one.container: one.net_mg for one in paper.containers}
    if standing is None or paper.total_mg is None or set(standing.containers) - stated.keys():
        return ()
    sum_mg = sum(stated.values())
    if abs(sum_mg - paper.total_mg) <= ROUNDED_MG * len(stated) + ROUNDED_PERMILLE * paper.total_mg // 1000:
        return ()
    says = f"The paper's containers come to {Mass(sum_mg)} together; its total says {Mass(paper.total_mg)}."
    return (f"{says} Typed wrong? Then correct the entry. Else ask the facility.",)


def _carrier(reader: Reader, ref: str) -> Party:
    line = reader.find_line("carrier", ref)
    if line is None or not isinstance(line.details, CarrierDetails):
        names = ", ".join(one.ref for one in reader.lines("carrier"))
        raise Unknown(f"There is no carrier “{ref}”.", hint=f"Registered: {names or 'none'}.")
    return _party(ref, line.details)


def _facility(reader: Reader, ref: str) -> Party:
    line = reader.find_line("facility", ref)
    if line is None or not isinstance(line.details, FacilityDetails):
        names = ", ".join(one.ref for one in reader.lines("facility"))
        raise Unknown(f"There is no receiving facility “{ref}”.", hint=f"Registered: {names or 'none'}.")
    return _party(ref, line.details)


def _in_service(reader: Reader, what: str, ref: str) -> None:
    line = reader.find_line(what, ref)
    if line is not None and line.retired_at is not None:
        raise Retired(what, ref, line.retired_at)


def _party(ref: str, details: CarrierDetails | FacilityDetails) -> Party:
    return make(Party, ref=ref, name=details.name, address=details.address, phone=details.phone, permit=details.permit)
