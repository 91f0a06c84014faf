"""What a booking is asked about as it is made, and bookings whose day has passed without a release."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from wasteledger.errors import WasteLedgerError
from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import PickupBooked
from wasteledger.model.findings import Finding
from wasteledger.model.register import CarrierDetails
from wasteledger.office.due import calendar_of
from wasteledger.office.pickup_plan import End, Window, plan_pickups
from wasteledger.office.words import spelt
from wasteledger.office.workplace import Workplace, site_details


def booking_warnings(place: Workplace, booked: PickupBooked, booked_on: date) -> tuple[str, ...]:
    """What asks for a second look at a booking just written; of a day that has passed the findings speak.

    Args:
        place: Where, with the booking in its journal.
        booked: The booking.
        booked_on: The local day on which the carrier was asked.
    """
    if booked.planned_on < place.today():
        return ()
    with place.reading() as reader:
        found = [*_closed(reader, booked.planned_on), *_before_carrier(reader, booked, booked_on)]
    try:
        windows = plan_pickups(place).windows
    except WasteLedgerError as error:
        # The booking stands whatever is wrong with an ordinance; what could not be looked at is said.
        return (*found, f"Whether the day is early enough could not be looked up: {error}")
    for window in windows:
        if window.container in booked.containers:
            found += _of_container(window, booked.planned_on)
    return tuple(found)


def booking_findings(reader: Reader, today: date) -> tuple[Finding, ...]:
    """Each pickup whose booked day lies before *today* and of which no release is recorded."""
    return tuple(
        Finding(
            code="pickup-not-released",
            place=f"pickup {pickup.pickup}",
            says=f"It was booked for {spelt(pickup.planned_on)}, and no release is recorded.",
            do=f"If the carrier came, record it: wasteledger pickup release {pickup.pickup} --at TIME. Otherwise put "
            f"the day right: wasteledger correct {pickup.booked_seq} --set planned_on=DAY --reason WHY",
            seqs=(pickup.booked_seq,),
        )
        for pickup in reader.pickups("booked")
        if pickup.planned_on < today
    )


def _closed(reader: Reader, on: date) -> Iterable[str]:
    for first, last in site_details(reader).closures:
        if first <= on <= last:
            span = f"closed from {spelt(first)} to {spelt(last)}" if first < last else f"closed on {spelt(first)}"
            yield f"The practice is {span}. Who hands the containers over?"
            return
    if not calendar_of(reader).works_on(on):
        yield f"{spelt(on)} is a {on:%A}, no working day here. Who hands the containers over?"


def _before_carrier(reader: Reader, booked: PickupBooked, booked_on: date) -> Iterable[str]:
    line = reader.find_line("carrier", booked.carrier.ref)
    if line is None or not isinstance(line.details, CarrierDetails):
        return
    days = line.details.lead_days
    if booked.planned_on < booked_on + timedelta(days=days):
        within = "1 day" if days == 1 else f"{days} days"
        yield (
            f"By the register {booked.carrier.name} comes within {within} of being asked, so by "
            f"{spelt(booked_on + timedelta(days=days))}. Did it agree to {spelt(booked.planned_on)}?"
        )


def _of_container(window: Window, on: date) -> Iterable[str]:
    if window.binds == "empty":
        yield f"Container {window.container} is empty: nothing was recorded as put into it."
        return
    if window.last_on is None:
        return
    first = End(window.wanted_on or window.last_on, window.binds, window.citation, window.due_on, window.is_forecast)
    for end in (first, *window.also):
        last_on = end.due_on or end.on
        if on <= last_on or (window.is_late and on <= window.last_on):
            continue
        cited = f" [{end.citation}]" if end.citation else ""
        yield f"Container {window.container} should leave by {spelt(last_on)}: {end.binds}{cited}."
