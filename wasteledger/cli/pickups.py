"""The manager's pickups: plan, book, release, receive, list."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.choices import Proof
from wasteledger.cli.common import Place, YesOption, reads, writes
from wasteledger.cli.received import say_compared, say_restated
from wasteledger.cli.typed import day_of, mass_of, masses_of

if TYPE_CHECKING:
    from wasteledger.office.pickup_plan import Window

app = typer.Typer(
    no_args_is_help=True, rich_markup_mode=None, help="Pickups: plan, book, release, receive, explain, list."
)

PickupArgument = Annotated[str, typer.Argument(metavar="PICKUP", help="Short name of the pickup.", show_default=False)]


@app.command("plan")
@reads
def plan(place: Place) -> None:
    """Say between which days each container should leave, what binds it, and by when to book.

    The fewest pickup days that meet all of it, with the lead times of the carrier and of empty containers.
    """
    from wasteledger.office.pickup_plan import plan_pickups

    found = plan_pickups(place.work)
    if place.json:
        output.show_json(found.as_json())
        return
    if not found.windows:
        output.say("No container stands here.")
    for one in found.windows:
        _say_window(one)
    if not found.days:
        output.say("No pickup needs a day yet.")
        return
    carrier = f"carrier {found.carrier}" if found.carrier else "a carrier (none is registered)"
    output.say(f"Fewest pickup days; {carrier} comes within {output.count(found.lead_days, 'day')} of being asked:")
    for day in found.days:
        output.say(f"  {output.day(day.on)}: {', '.join(day.containers)} (the day is set by {day.bound_by})")
        output.say(f"    book it by {output.day(day.book_by)}")
        for empty in day.empties:
            late = f"; it comes by {output.day(empty.comes_by)}" if empty.comes_by > day.on else ""
            asked = f"ask by {output.day(empty.ask_by)} for an empty {empty.container_type}"
            output.say(f"    {asked} in place of {empty.instead_of}{late}")
    output.say("A rule's own day is its last; a forecast is an estimate; the local authority decides.")


def _say_window(one: Window) -> None:
    filled = f", {one.permille / 10:.0f} % full" if one.permille is not None else ""
    output.say(f"{one.container} ({one.status}{filled}): {one.holds}")
    if one.missed:
        output.say(f"! booked as {one.missed} for {output.day(one.missed_on)}, which passed without a release")
    if one.booked:
        output.say(f"  booked for pickup {one.booked}")
        if one.outlook is not None:
            output.say(f"{'!' if one.outlook.warns else ' '} {one.outlook.chance_says}")
        return
    if one.last_on is None:
        output.say(f"  no last day: {one.binds}")
        return
    output.say(f"  {output.day(one.first_on)} to {output.day(one.last_on)}; the last day is set by:")
    output.say(f"  {one.binds}{f' [{one.citation}]' if one.citation else ''}")
    if one.is_late:
        wanted = output.day(one.due_on or one.wanted_on)
        output.say(f"! it should leave by {wanted}; this is the first day on which a carrier can come")
    output.say(f"  the first day is set by: {one.opens_because}")
    for other in one.also:
        cited = f" [{other.citation}]" if other.citation else ""
        output.say(f"  later, by {output.day(other.on)}: {other.binds}{cited}")


@app.command("book")
@writes
def book(
    place: Place,
    pickup: PickupArgument,
    containers: Annotated[
        list[str], typer.Argument(metavar="CONTAINER...", help="What will leave.", show_default=False)
    ],
    carrier: Annotated[str, typer.Option("--carrier", metavar="CARRIER", help="See: register show carrier.")],
    facility: Annotated[str, typer.Option("--facility", metavar="FACILITY", help="Who receives it.")],
    on: Annotated[str, typer.Option("--on", metavar="DATE", help="The day agreed, such as 2026-03-09.")],
    reference: Annotated[str | None, typer.Option("--reference", metavar="TEXT", help="The carrier's number.")] = None,
) -> None:
    """Record that a carrier was asked to fetch CONTAINER (one or more)."""
    from wasteledger.office.pickups import book_pickup

    day = day_of(on, place.work.today())
    recorded = book_pickup(
        place.work, pickup, carrier, facility, day, tuple(containers), place.said, reference=reference
    )
    output.answer(recorded, place.json)


@app.command("release")
@writes
def release(
    place: Place,
    pickup: PickupArgument,
    taken_by: Annotated[str, typer.Option("--taken-by", metavar="NAME", help="Who took the containers.")],
    document: Annotated[str | None, typer.Option("--document", metavar="NUMBER", help="Number of the paper.")] = None,
    yes: YesOption = False,
) -> None:
    """Record that the carrier took the containers. What is still open is closed for good."""
    from wasteledger.office.pickups import get_pickup, release_pickup

    with place.work.reading() as reader:
        booked = get_pickup(reader, pickup)
    output.ask_first(f"Pickup {pickup} leaves with {', '.join(booked.containers)}. Is that right?", yes)
    output.answer(release_pickup(place.work, pickup, place.said, taken_by=taken_by, document=document), place.json)


@app.command("receive")
@writes
def receive(
    place: Place,
    pickup: PickupArgument,
    on: Annotated[str, typer.Option("--on", metavar="DATE", help="The day that the paper states.")],
    proves: Annotated[Proof, typer.Option("--proves", help="What the paper proves.")] = Proof.BOTH,
    document: Annotated[str | None, typer.Option("--document", metavar="NUMBER", help="Number of the paper.")] = None,
    final_facility: Annotated[
        str | None, typer.Option("--final-facility", metavar="TEXT", help="Name and address of the final recycler.")
    ] = None,
    net: Annotated[
        list[str] | None, typer.Option("--net", metavar="CONTAINER=MASS", help="Net mass stated; may be repeated.")
    ] = None,
    within: Annotated[
        str | None, typer.Option("--within", metavar="MASS", help="What the paper states its net masses are good to.")
    ] = None,
    total: Annotated[str | None, typer.Option("--total", metavar="MASS", help="Net mass of all together.")] = None,
    discrepancy: Annotated[
        str | None, typer.Option("--discrepancy", metavar="TEXT", help="What the facility found different.")
    ] = None,
) -> None:
    """Record the signed receipt, the proof of recycling, or both in one paper."""
    from wasteledger.office.pickups import receive_pickup

    recorded = receive_pickup(
        place.work,
        pickup,
        place.said,
        received_on=day_of(on, place.work.today()),
        proves=proves.value,
        document=document,
        final_facility=final_facility,
        net=masses_of(net or []),
        within=mass_of(within),
        total=mass_of(total),
        discrepancy=discrepancy,
    )
    output.answer(recorded, place.json)


@app.command("list")
@reads
def list_all(
    place: Place,
    open_only: Annotated[bool, typer.Option("--open", help="Only those whose papers have not all come back.")] = False,
) -> None:
    """List the pickups and which papers have come back."""
    from wasteledger.office.received import comparisons_of
    from wasteledger.office.restated import restated_of

    wanted = ("booked", "released", "received") if open_only else ()
    with place.work.reading() as reader:
        found = reader.pickups(*wanted)
        compared = {one.pickup: comparisons_of(reader, one.pickup) for one in found}
        restated = {one.pickup: restated_of(reader, one.pickup) for one in found}
    if place.json:
        received = [one for weights in compared.values() for one in weights]
        changed = [one.as_json() for several in restated.values() for one in several]
        output.show_json({"pickups": found, "received": received, "restated": changed})
        return
    if not found:
        output.say("No open pickup." if open_only else "No pickup so far.")
    today = place.work.today()
    for one in found:
        output.say(f"{one.pickup}: {one.status}, {one.carrier} to {one.facility}, {', '.join(one.containers)}")
        if one.released_at is None:
            output.say(f"  planned for {output.day(one.planned_on)}")
            continue
        left_on = place.work.local(one.released_at).date()
        output.say(f"  left {output.day(left_on)}, {output.count((today - left_on).days, 'day')} ago")
        output.say(f"  receipt {output.day(one.received_on)}, proof of recycling {output.day(one.recycled_on)}")
        say_compared(weight for weight in compared[one.pickup] if weight.is_beyond)
        say_restated(restated[one.pickup])
