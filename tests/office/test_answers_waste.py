"""Answers about traps, cleaners, containers and what left."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from tests.makers import Watch
from tests.office.asking import asked, lacks, on, point_with, put_in_force, says
from tests.office.makers import Crew, open_pail
from wasteledger.model.register import CleanerDetails, ContainerTypeDetails, TrapDetails
from wasteledger.office.answers import Sort, State
from wasteledger.office.containers import close_container, move_container, open_container, weigh_container
from wasteledger.office.people import register_line, retire_line
from wasteledger.office.pickups import book_pickup, receive_pickup, release_pickup
from wasteledger.office.swaps import record_deposit, record_line_cleaning, record_swap
from wasteledger.office.workplace import Recorded, Workplace
from wasteledger.units import Mass

TODAY = date(2026, 3, 2)


def left(place: Workplace, pickup: str, day: date, *containers: str, document: str | None = None) -> Recorded:
    """A pickup booked in the morning and released at ten."""
    book_pickup(place, pickup, "ferryman", "stillhouse", day, containers, on(day, 8))
    return release_pickup(place, pickup, on(day, 10), taken_by="Dana Driver", document=document)


# -- traps -------------------------------------------------------------------------------------------------------------


def test_rooms_without_a_trap_and_rooms_with_fewer_than_chairs(crew: Crew) -> None:
    answer = asked(crew.iris, 10)

    assert "2 high-volume traps, 1 saliva-ejector trap at 6 chairs in 6 rooms." in says(answer)
    assert "In the vacuum line and at the pump: 1 central-pump trap." in says(answer)
    assert lacks(answer) == "No trap is registered in r3, r4, r5, r6."


def test_a_pump_without_a_trap_is_a_gap(crew: Crew) -> None:
    retire_line(crew.mo, "trap", "JAR")

    assert "No filter or trap of a pump is registered." in lacks(asked(crew.iris, 10))


def test_swaps_against_their_intervals(crew: Crew) -> None:
    """1-HV swapped on 10, 16 and 26 February: 10 days are more than the seven that are set, six are not."""
    open_container(crew.kim, "C-1", "pail", on(date(2026, 2, 2)))
    first, second, third = (record_swap(crew.kim, "1-HV", on(date(2026, 2, day))) for day in (10, 16, 26))

    answer = asked(crew.iris, 11)

    assert "3 traps chairside: 3 swaps; intervals set by: office rule (3)." in says(answer)
    late = point_with(answer, "came later than the interval")
    assert late.says == (
        "1 of these swaps came later than the interval; the latest was 1-HV after 10 days, where 7 are set. The "
        "interval is the office's own or a manual's, as named above."
    )
    assert (late.sort, late.seqs) == (Sort.MISSING, (third.seq,))
    assert {first.seq, second.seq, third.seq} <= set(answer.seqs)
    past = point_with(answer, "Past the interval on 2 Mar 2026")
    assert "1-SE since 1 Jan 2026" in past.says
    assert "1-HV" not in past.says


def test_a_swap_of_before_the_period_begins_the_service_of_a_trap(crew: Crew) -> None:
    open_container(crew.kim, "C-1", "pail", on(date(2026, 2, 2)))
    swapped = record_swap(crew.kim, "1-HV", on(date(2026, 2, 10)))

    answer = asked(crew.iris, 11, since=date(2026, 2, 20))

    assert "1-HV since 10 Feb 2026" in lacks(answer)
    assert swapped.seq in answer.seqs


def test_a_trap_that_was_moved_to_another_interval_counts_by_the_new_one(crew: Crew) -> None:
    with crew.iris.reading() as reader:
        trap = reader.find_trap("1-SE")
    assert trap is not None
    register_line(crew.mo, "1-SE", TrapDetails(**trap.details.model_dump() | {"interval_days": 90}))

    assert "1-SE" not in lacks(asked(crew.iris, 11))


# -- cleaners ----------------------------------------------------------------------------------------------------------


def test_a_mild_cleaner_in_use(crew: Crew) -> None:
    assert "No line cleaning is recorded in the period." in lacks(asked(crew.iris, 15))
    cleaned = record_line_cleaning(crew.kim, ("r1", "r2"))

    answer = asked(crew.iris, 15)

    point = point_with(answer, "Mild cleaner (invented): pH 6.8 to 7.4, no oxidiser, used once in the period.")
    assert cleaned.seq in point.seqs
    assert lacks(answer) == "Mild cleaner (invented): no safety sheet is noted."


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"ph_low_tenths": 85}, "pH 8.5 lies outside the band 6.0 to 8.0."),
        ({"oxidiser": True, "ph_low_tenths": 70}, "The cleaner is an oxidiser."),
        ({}, "The cleaner's pH is not entered"),
        ({"ph_low_tenths": 70, "chemistry": ("sodium hypochlorite, a chlorine bleach",)}, "The cleaner contains"),
    ],
)
def test_what_a_rule_says_against_a_cleaner_names_the_clause(crew: Crew, changes: dict[str, Any], words: str) -> None:
    said: dict[str, Any] = {
        "name": "Harsh cleaner (invented)",
        "oxidiser": False,
        "safety_sheet_on_file": True,
    } | changes
    line = register_line(crew.mo, "harsh", CleanerDetails(**said))

    found = [one for one in asked(crew.iris, 15).missing if one.says.startswith("Harsh cleaner (invented): ")]

    assert any(words in one.says and "40 CFR 441.30(b)(2)" in one.says for one in found)
    assert all(one.seqs == (line.seq,) for one in found)


def test_a_cleaner_that_was_used_and_retired_is_still_shown(crew: Crew, watch: Watch) -> None:
    record_line_cleaning(crew.kim, ("r1",))
    watch.wait(hours=1)
    retire_line(crew.mo, "cleaner", "mild")

    assert "Mild cleaner (invented): pH 6.8 to 7.4" in says(asked(crew.iris, 15))


def test_each_rule_on_cleaners_is_named_with_its_band_and_what_it_bans(crew: Crew) -> None:
    """40 CFR 441.30(b)(2): pH from 6 to 8; 310 CMR 73.05: 6.5 to 8.0, biodegradable (both read 2026-11 in copies)."""
    put_in_force(crew.mo, "us-massachusetts")

    answer = asked(crew.iris, 15)

    federal = point_with(answer, "Line cleaners (40 CFR 441.30(b)(2)): pH from 6.0 to 8.0, both included.").says
    assert "bleach, chlorine, iodine or peroxide" in federal
    assert "biodegradable" not in federal
    state = point_with(answer, "Line cleaners (310 CMR 73.05): pH from 6.5 to 8.0, both included. No oxidisers.").says
    assert state.endswith("That it is biodegradable is asked too, and not checked here.")


# -- containers --------------------------------------------------------------------------------------------------------


def test_what_stands_here_and_what_nothing_takes(crew: Crew, watch: Watch) -> None:
    assert asked(crew.iris, 19).state is State.GAP
    opened = open_pail(crew.kim)
    watch.wait(hours=1)
    move_container(crew.kim, "C-1", "Plant room")

    answer = asked(crew.iris, 19)

    assert point_with(answer, "C-1 (traps, contact; Plant room)").seqs == (opened.seq,)
    assert lacks(answer) == "No open container takes: sludge."
    close_container(crew.kim, "C-1")
    assert lacks(asked(crew.iris, 19)) == "No open container takes: sludge, traps."


def test_what_has_left_does_not_stand_here(crew: Crew, watch: Watch) -> None:
    open_container(crew.kim, "C-1", "pail", on(date(2026, 2, 2)))
    record_swap(crew.kim, "1-HV", on(date(2026, 2, 3)))
    left(crew.mo, "P-1", date(2026, 2, 20), "C-1")

    assert "C-1" in says(asked(crew.iris, 19, until=date(2026, 2, 19)))
    assert "No container stands here." in lacks(asked(crew.iris, 19))


def test_labels_and_makes_that_rules_ask_for(crew: Crew) -> None:
    open_pail(crew.kim)
    before = asked(crew.iris, 20)
    label = point_with(before, "“Amalgam Waste for Recycling”").says
    assert "(ANSI/ADA Specification 109, advice, not law)" in label
    assert not before.missing
    put_in_force(crew.mo, "river", _A_RULE_ON_CONTAINERS)

    answer = asked(crew.iris, 20)

    assert "Containers of the district (River code 7, not read at its source): closed; airtight; rigid" in says(answer)
    assert "no water added" in says(answer)
    assert lacks(answer) == "Trap pail (C-1): not entered as airtight, rigid, which rules in force ask."
    assert point_with(answer, "can be seen at 1 container.").sort is Sort.HERE

    with crew.iris.reading() as reader:
        pail = reader.find_line("container_type", "pail")
    assert pail is not None
    features = ("airtight", "rigid")
    register_line(crew.mo, "pail", ContainerTypeDetails(**pail.details.model_dump() | {"features": features}))
    assert not asked(crew.iris, 20).missing
    assert "Trap pail: airtight, rigid, as entered." in says(asked(crew.iris, 20))


def test_every_container_on_site_is_named_whose_type_lacks_what_a_rule_asks(crew: Crew, watch: Watch) -> None:
    """310 CMR 73.05, read 2026-11 in a copy: containers are sealed except while waste is added, and sound."""
    put_in_force(crew.mo, "us-massachusetts")
    open_pail(crew.kim)
    open_pail(crew.kim, "C-2")
    jar = open_container(crew.kim, "J-1", "tooth-jar")
    watch.wait(hours=1)
    retire_line(crew.mo, "container_type", "tooth-jar")

    answer = asked(crew.iris, 20)

    asks = "not entered as sealed, sound, without damage, which rules in force ask."
    assert lacks(answer).splitlines() == [f"Trap pail (C-1, C-2): {asks}", f"Tooth jar (J-1): {asks}"]
    assert jar.seq in point_with(answer, "Tooth jar").seqs


# -- what left ---------------------------------------------------------------------------------------------------------


def test_streams_and_proofs(crew: Crew, watch: Watch) -> None:
    open_container(crew.kim, "C-1", "pail", on(date(2026, 2, 2)))
    swap = record_swap(crew.kim, "1-HV", on(date(2026, 2, 3)))
    scrap = record_deposit(crew.kim, "C-1", "contact", on(date(2026, 2, 4)), mass=Mass.parse("12 g"))
    gone = left(crew.mo, "P-1", date(2026, 2, 20), "C-1")

    answer = asked(crew.iris, 17)

    assert point_with(answer, "Put into containers: ").seqs == (swap.seq, scrap.seq)
    assert "chairside traps once" in says(answer)
    assert "contact amalgam once" in says(answer)
    assert "Nothing was put in of: " in lacks(answer)
    assert point_with(answer, "No proof of recycling of P-1, 10 days after it left.").seqs == (gone.seq,)

    proof = receive_pickup(crew.mo, "P-1", received_on=TODAY, proves="recycled")
    point = point_with(asked(crew.iris, 17), "1 container left with 1 pickup; recycling is proved of 1.")
    assert point.seqs == (gone.seq, proof.seq)


def test_waste_of_over_a_year_is_pointed_out(crew: Crew, watch: Watch) -> None:
    """First waste on 2 March 2026: a year later, 2 March 2027, is not over a year; the day after is."""
    opened = open_pail(crew.kim)
    record_swap(crew.kim, "1-HV")
    watch.wait(days=365)
    assert crew.iris.today() == date(2027, 3, 2)
    assert "over a year" not in says(asked(crew.iris, 22))
    watch.wait(days=1)

    answer = asked(crew.iris, 22)

    assert "Nothing has left yet." in lacks(answer)
    assert point_with(answer, "First waste over a year old: C-1 since 2 Mar 2026.").seqs == (opened.seq,)


def test_the_days_on_which_waste_left(crew: Crew, watch: Watch) -> None:
    open_container(crew.kim, "C-1", "pail", on(date(2026, 2, 2)))
    record_swap(crew.kim, "1-HV", on(date(2026, 2, 3)))
    gone = left(crew.mo, "P-1", date(2026, 2, 20), "C-1")

    assert point_with(asked(crew.iris, 22), "Left on 20 Feb 2026 (P-1).").seqs == (gone.seq,)
    later = asked(crew.iris, 22, since=date(2026, 2, 25))
    assert says(later) == "Nothing left in the period; the last time was on 20 Feb 2026."
    watch.wait(days=400)
    assert "Nothing has left since 20 Feb 2026, over a year." in lacks(asked(crew.iris, 22))


def test_papers_of_what_left(crew: Crew) -> None:
    for ref in ("C-1", "C-2"):
        open_container(crew.kim, ref, "pail", on(date(2026, 2, 2)))
        record_swap(crew.kim, "1-HV", on(date(2026, 2, 3)), into=ref)
    left(crew.mo, "P-1", date(2026, 2, 20), "C-1", document="BL-17")
    bare = left(crew.mo, "P-2", date(2026, 2, 24), "C-2")
    came = receive_pickup(crew.mo, "P-1", received_on=date(2026, 2, 27), final_facility="Far Works, Lower Marlow")

    answer = asked(crew.iris, 23)

    assert "2 pickups: 1 with the number of a shipping paper, 1 with a receipt." in says(answer)
    assert point_with(answer, "No number of a shipping paper: P-2.").seqs == (bare.seq,)
    assert point_with(answer, "No receipt of P-2, 6 days after it left.").seqs == (bare.seq,)
    last = asked(crew.iris, 24)
    assert came.seq in point_with(last, "Far Works, Lower Marlow: P-1.").seqs
    assert point_with(last, "names the last facility of: P-2.").seqs == (bare.seq,)
    assert "Sent to Stillhouse Recovery (invented); no address is entered." in lacks(last)


def test_what_was_taken_away_is_the_sum_of_what_the_releases_state(crew: Crew) -> None:
    """Two weighed pails: 812.0 g and 655.5 g gross less 500 g each is 467.5 g, added here by hand in decimals."""
    gross = {"C-1": "812.0 g", "C-2": "655.5 g"}
    for ref in gross:
        open_container(crew.kim, ref, "pail", on(date(2026, 2, 2)))
        record_swap(crew.kim, "1-HV", on(date(2026, 2, 3)), into=ref)
        weigh_container(crew.kim, ref, Mass.parse(gross[ref]), on(date(2026, 2, 19)))
    open_container(crew.kim, "C-3", "pail", on(date(2026, 2, 2)))
    record_swap(crew.kim, "1-SE", on(date(2026, 2, 3)), into="C-3")
    left(crew.mo, "P-1", date(2026, 2, 20), "C-1", "C-3")
    left(crew.mo, "P-2", date(2026, 2, 24), "C-2")
    net = sum(Decimal(text.split()[0]) - 500 for text in gross.values())

    answer = asked(crew.iris, 25)

    weighed = point_with(answer, "weighed.").says
    assert weighed.startswith("2 containers left with ")
    assert abs(Decimal(weighed.removeprefix("2 containers left with ").split(" g")[0]) - net) <= Decimal("0.1")
    estimated = point_with(answer, "estimate")
    assert estimated.says.startswith("1 container left with about ")
    assert "weighed" not in estimated.says
    assert lacks(answer) == "No received weight of: C-1, C-2, C-3."

    receive_pickup(
        crew.mo,
        "P-1",
        received_on=date(2026, 2, 26),
        net=(("C-1", Mass.parse("311 g")), ("C-3", Mass.parse("7 g"))),
    )
    receive_pickup(crew.mo, "P-2", received_on=date(2026, 2, 27), total=Mass.parse("155 g"))
    answer = asked(crew.iris, 25)
    assert "Of these the facility states 318 g for 2 containers." in says(answer)
    assert "Of 1 pickup the facility states 155 g in all." in says(answer)
    assert not answer.missing


def test_who_carried_and_received(crew: Crew) -> None:
    assert says(asked(crew.iris, 26)) == "Nobody is named in the period."
    open_container(crew.kim, "C-1", "pail", on(date(2026, 2, 2)))
    record_swap(crew.kim, "1-HV", on(date(2026, 2, 3)))
    gone = left(crew.mo, "P-1", date(2026, 2, 20), "C-1")

    answer = asked(crew.iris, 26)

    assert point_with(answer, "Ferryman Carriage (invented): took waste away, once.").seqs == (gone.seq,)
    assert point_with(answer, "Stillhouse Recovery (invented): received it, once.").seqs == (gone.seq,)
    assert says(asked(crew.iris, 26, since=TODAY - timedelta(days=3))) == "Nobody is named in the period."


def test_a_container_named_by_no_rule_is_only_to_be_seen(crew: Crew) -> None:
    for name in ("us-federal-dental", "office-conventions"):
        retire_line(crew.mo, "ordinance", name)
    open_pail(crew.kim)

    answer = asked(crew.iris, 20)

    assert answer.state is State.ON_SITE


_A_RULE_ON_CONTAINERS = """
schema = 1
[ordinance]
id = "river-district"
title = "River District sewer code"
authority = "River District"
level = "local"
version = "1"
dated_on = 2025-01-01
source = "Invented for a test"
[[container]]
id = "RD-C"
title = "Containers of the district"
asks = "Containers are closed, airtight and rigid; no water goes in."
needs = ["closed", "airtight", "rigid"]
never_add = ["water"]
citation = "River code 7"
source = "Invented for a test"
read_on = "2026-11"
confirmed = false
confirmed_note = "Told on the telephone."
"""
