"""When a container will be full: which swaps count for it, from when on, and when somebody is warned."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from tests.makers import (
    KIM,
    TRAPS,
    Clinic,
    a_booking,
    a_closing,
    a_correction,
    a_deposit,
    a_level,
    a_line,
    a_look,
    a_reading,
    a_site,
    a_swap,
    a_trap,
    a_unit_replacement,
    a_weighing,
    an_opening,
)
from tests.office.places import a_place
from wasteledger.estimate.volumes import Volume
from wasteledger.ledger.reader import Reader
from wasteledger.model.register import CarrierDetails, ContainerTypeDetails, SeparatorDetails
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.containers import record_level
from wasteledger.office.due import calendar_of
from wasteledger.office.inflows import Feed, Inflows
from wasteledger.office.lead_times import EMPTY_LEAD_DAYS, leads_of
from wasteledger.office.masses import shipped_prior
from wasteledger.office.outlook import FillOutlook, Outlooks, chance_words
from wasteledger.office.status import show_container, status
from wasteledger.office.workplace import Workplace, zone_of

CHAIRSIDE = tuple(trap for trap in TRAPS if trap != "PUMP")


def weeks_of_swaps(clinic: Clinic, weeks: int, container: str = "C-1", traps: tuple[str, ...] = CHAIRSIDE) -> None:
    """Every trap changed each week on the same day and hour, all typed in at the last of them."""
    first_at = clinic.watch.now
    clinic.watch.wait(weeks=weeks - 1)
    with clinic.ledger.writing(clinic.site, KIM) as desk:
        for week in range(weeks):
            for trap in traps:
                desk.append(a_swap(trap, container), happened_at=first_at + timedelta(weeks=week))


def standing(reader: Reader, ref: str) -> ContainerStanding:
    found = reader.find_container(ref)
    assert found is not None
    return found


def feeds(place: Workplace, ref: str = "C-1") -> dict[str, Feed]:
    """What goes into a container, by source; the last feed of a source where it has several."""
    with place.reading() as reader:
        found = Inflows(reader, place.zone, place.today(), calendar_of(reader), shipped_prior())
        return {feed.source: feed for feed in found.of(standing(reader, ref))}


def outlook(place: Workplace, ref: str = "C-1", **named: Any) -> FillOutlook | None:
    with place.reading() as reader:
        return Outlooks(reader, zone_of(reader), place.today()).find(standing(reader, ref), **named)


def foreseen(place: Workplace, ref: str = "C-1", **named: Any) -> FillOutlook:
    found = outlook(place, ref, **named)
    assert found is not None
    return found


# -- which swaps count for which container -----------------------------------------------------------------------------


def test_a_trap_feeds_the_container_that_it_last_went_into(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    clinic.record(an_opening("C-2"))
    for trap in CHAIRSIDE:
        clinic.record(a_swap(trap, "C-1"))
    clinic.record(a_swap("2-HV", "C-2"))

    # The pump's trap was never changed; the container that was used last takes its stream.
    assert {feed.members for feed in feeds(place, "C-1").values()} == {("1-SE", "2-SE"), ("1-HV",)}
    assert {feed.members for feed in feeds(place, "C-2").values()} == {("2-HV",), ("PUMP",)}


def test_when_its_container_is_closed_a_trap_feeds_the_open_one_with_all_its_history(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 5)
    clinic.record(a_closing("C-1"))
    clinic.record(an_opening("C-2"))

    assert feeds(place, "C-1") == {}
    found = feeds(place, "C-2")
    assert {source: len(feed.history) for source, feed in found.items() if feed.history} == {
        "saliva_ejector": 10,
        "high_volume": 10,
    }


def test_the_first_of_two_unused_containers_is_filled_first(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    clinic.record(an_opening("C-2"))

    assert set(feeds(place, "C-1")) == {"saliva_ejector", "high_volume", "pump"}
    assert feeds(place, "C-2") == {}


def test_only_what_counts_as_having_happened_is_counted(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 2)
    wrong = clinic.record(a_swap("1-HV", "C-1"))
    assert len(feeds(place)["high_volume"].history) == 5

    clinic.record(a_correction(wrong))

    assert len(feeds(place)["high_volume"].history) == 4


def test_days_off_and_days_after_the_last_record_are_not_observed(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.append(a_site(closures=((date(2026, 3, 4), date(2026, 3, 5)),)))
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 2)
    clinic.watch.wait(days=1)
    clinic.append(a_look("1-HV"))
    clinic.watch.wait(weeks=3)

    # Monday 2 March to Tuesday 10 March 2026 without the weekend, and without Wednesday and Thursday: closed.
    observed = feeds(place)["high_volume"].observed
    assert [day.day for day in observed] == [2, 3, 6, 9, 10]


def test_a_trap_that_came_later_is_counted_from_then_on(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 3)
    clinic.append(a_trap("3-HV"))
    clinic.append(a_swap("3-HV", "C-1"))

    with place.reading() as reader:
        inflows = Inflows(reader, place.zone, place.today(), calendar_of(reader), shipped_prior())
        high = [feed for feed in inflows.of(standing(reader, "C-1")) if feed.source == "high_volume"]

    assert [(feed.members, len(feed.history), len(feed.observed)) for feed in high] == [
        (("1-HV", "2-HV"), 6, 11),
        (("3-HV",), 1, 1),
    ]
    # Two traps, each every seven days, of which five are worked.
    assert [round(feed.expected_per_day, 9) for feed in high] == [0.4, 0.2]


def test_what_a_swap_brings_is_read_as_the_estimate_reads_it(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    clinic.append(a_swap("1-HV", "C-1", dentists_permille=2000))
    clinic.append(a_deposit("C-1", volume_ml=12))

    found = feeds(place)

    (swap,) = found["high_volume"].history
    assert (swap.exposure, swap.pieces, swap.known_mg, swap.volume) == (2.0, 1, 5_000, Volume("stated.high_volume", 30))
    (deposit,) = found["stream:scrap"].history
    # Nothing tells what scrap weighs: its pieces and its volume count, its mass is not guessed.
    assert (found["stream:scrap"].kind, deposit.exposure, deposit.pieces) == (None, 0.0, 3)
    assert deposit.volume == Volume("stated.deposit", 12)


def test_a_retaining_unit_comes_by_its_own_interval(clinic: Clinic) -> None:
    place = a_place(clinic)
    said = SeparatorDetails(name="Separator", unit_stream="scrap", replace_unit_every_months=12, unit_mg=400_000)
    clinic.append(a_line("SEP", said))
    clinic.record(an_opening("C-1"))
    clinic.record(a_look())
    clinic.record(a_unit_replacement("C-1"))

    unit = feeds(place)["separator_unit"]

    assert (unit.members, len(unit.history), unit.history[0].known_mg) == (("SEP",), 1, 400_000)
    # Once in 365 days, of which five in seven are worked.
    assert unit.expected_per_day == pytest.approx(7 / (365 * 5))


# -- when it is full ---------------------------------------------------------------------------------------------------


def test_before_the_first_swap_the_intervals_speak_and_say_so_with_their_width(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))

    found = foreseen(place)

    assert not found.learned
    assert "intervals" in found.reason
    assert "80 %" in found.reason
    assert found.p10_on is not None
    assert found.p90_on is not None
    # Two swaps' worth of knowledge: the slow end is more than twice as far off as the quick one.
    assert found.p90_on - place.today() > 2 * (found.p10_on - place.today())


def test_half_a_year_of_weekly_swaps_foretells_the_weeks_that_are_left(clinic: Clinic) -> None:
    """Four inserts of 30 mL a week filled half of a pail in 26 weeks; the other half takes as long."""
    place = a_place(clinic)
    clinic.append(a_trap("PUMP", retired=True))
    clinic.record(an_opening("C-1", fill_ml=6240))
    weeks_of_swaps(clinic, 26)
    record_level(place, "C-1", 500)

    found = foreseen(place)

    assert found.measure == "level"
    assert found.p10_on is not None
    assert found.p50_on is not None
    assert found.p90_on is not None
    assert found.p10_on < found.p50_on < found.p90_on
    assert timedelta(weeks=23) < found.p50_on - place.today() < timedelta(weeks=29)
    assert found.learned
    assert "104 " in found.reason
    assert "126 working days" in found.reason
    assert found.says.startswith("forecast, full by level: 10 % chance by ")


def test_the_planning_mark_comes_before_the_closing_mark_and_only_when_asked_for(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 8)

    found = foreseen(place, worth=True)

    assert found.worth_on is not None
    assert found.p50_on is not None
    assert place.today() < found.worth_on < found.p50_on
    assert foreseen(place).worth_on is None


def test_pieces_are_foretold_where_pieces_are_limited(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1", fill_ml=None, items_limit=60, streams=("scrap",)))
    for _ in range(10):
        clinic.watch.wait(weeks=1)
        clinic.append(a_deposit("C-1"))

    found = foreseen(place)

    # Thirty of sixty pieces, three a week: ten weeks are left.
    assert found.measure == "pieces"
    assert found.p50_on is not None
    assert timedelta(weeks=7) < found.p50_on - place.today() < timedelta(weeks=13)


def test_nothing_is_foretold_of_a_closed_container_or_one_without_a_limit(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    clinic.record(a_swap())
    clinic.record(a_closing("C-1"))
    clinic.record(an_opening("C-2", fill_ml=None))
    clinic.record(a_swap("1-HV", "C-2"))

    assert outlook(place, "C-1") is None
    assert outlook(place, "C-2") is None


def test_a_measure_that_nothing_tells_of_does_not_hide_one_that_is_told(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1", streams=("scrap",), mass_limit_mg=10**10))
    for _ in range(3):
        clinic.watch.wait(weeks=1)
        clinic.append(a_deposit("C-1", mass=a_reading(1_200)))

    found = foreseen(place)

    # Nobody stated a volume, so its level is not foretold; grams fill ten tonnes in no time that matters.
    assert found.says == "forecast, full by mass: not within 10 years (chance below 10 %)"
    assert (found.is_told, found.p10_on, found.chance_permille) == (True, None, 0)


def test_a_practice_that_closed_down_still_says_what_stands_there(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 3)
    clinic.append(a_site(closures=((date(2026, 3, 17), date(2060, 1, 1)),)))

    (state,) = status(place).containers

    assert state.standing.swaps == 12
    assert state.outlook is None


def test_the_day_within_the_limit_is_the_last_one(clinic: Clinic) -> None:
    """The day after, the chance passes ten percent; the day on which it is ten percent is the forecast's own."""
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 12)

    found = foreseen(place)

    assert found.within_limit_until is not None
    assert found.p10_on is not None
    assert not found.is_past_limit
    assert found.within_limit_until < found.p10_on <= found.within_limit_until + timedelta(days=3)


# -- when somebody is warned -------------------------------------------------------------------------------------------


def test_a_container_that_may_be_full_before_a_carrier_comes_is_warned_about(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 20)
    clinic.append(a_level("C-1", 920))

    (state,) = status(place).containers

    assert state.outlook is not None
    # Seven days after Monday 13 July 2026; the carrier's lead time is the register's default of a week.
    assert state.outlook.fetch_on == date(2026, 7, 20)
    assert state.outlook.warns
    assert state.outlook.chance_permille > state.outlook.limit_permille == 100
    assert state.wants_attention
    assert state.advice == "book a pickup now: it may be full before one can come"
    said = show_container(place, "C-1").as_json()["outlook"]
    assert (said["warns"], said["is_forecast"], said["fetch_on"]) == (True, True, "2026-07-20")
    assert "above the limit of 10 %" in said["chance_says"]


def test_the_site_sets_the_chance_from_which_it_is_warned(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.append(a_site(warn_chance_permille=5))
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 20)
    clinic.append(a_level("C-1", 900))
    assert foreseen(place).warns

    clinic.append(a_site(warn_chance_permille=500))

    assert not foreseen(place).warns
    assert show_container(place, "C-1").state.advice == "plan a pickup"


def test_of_a_booked_container_the_day_of_its_pickup_counts(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 20)
    clinic.append(a_level("C-1", 800))
    soon = place.today() + timedelta(days=1)
    booking = clinic.append(a_booking(planned_on=soon)).entry

    found = foreseen(place)
    assert (found.booked, found.fetch_on, found.warns) == ("P-1", soon, False)

    clinic.append(a_correction(booking))
    clinic.append(a_booking("P-2", planned_on=soon + timedelta(weeks=8)))

    late = foreseen(place)
    assert (late.booked, late.warns) == ("P-2", True)
    assert "before its pickup" in late.chance_says
    assert show_container(place, "C-1").state.advice == "waits for pickup P-2, and may be full before"


def test_a_container_read_at_its_mark_is_full_and_nothing_is_foretold(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    weeks_of_swaps(clinic, 4)
    level = clinic.append(a_level("C-1", 1000))

    found = foreseen(place, worth=True)

    assert (found.is_full, found.is_past_limit, found.warns) == (True, True, True)
    assert found.within_limit_until is None
    # No day after today is left to be full on, and none before it is foretold.
    assert {found.p10_on, found.p50_on, found.p90_on, found.worth_on} == {place.today()}
    assert found.says.startswith("it is full by level: read at 100 % on ")
    assert f", entry {level.entry.seq}; it is closed at 100 %" in found.says
    assert "% chance" not in found.says + found.chance_says
    assert found.chance_says.startswith("it is full now; a pickup could come on ")
    assert (found.as_json()["is_full"], found.as_json()["is_forecast"]) == (True, False)

    # What goes in afterwards makes it no emptier.
    clinic.watch.wait(days=1)
    clinic.record(a_swap())
    assert foreseen(place).is_full
    clinic.append(a_level("C-1", 999))
    assert not foreseen(place).is_full


def test_a_container_weighed_or_counted_at_its_mark_is_full(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1", fill_ml=None, mass_limit_mg=50_000, close_at_permille=900))
    clinic.record(an_opening("C-2", fill_ml=None, mass_limit_mg=None, items_limit=2))
    clinic.record(a_swap())
    clinic.record(a_weighing(gross_mg=194_999))
    assert not foreseen(place).is_full
    seq = clinic.record(a_weighing(gross_mg=195_000)).seq
    assert foreseen(place).says == f"it is full by mass: 45 g of 50 g weighed, entry {seq}; it is closed at 90 %"

    clinic.record(a_swap("2-HV", "C-2"))
    assert not foreseen(place, "C-2").is_full
    clinic.record(a_swap("1-HV", "C-2"))
    assert foreseen(place, "C-2").says == "it is full by pieces: 2 of 2 counted; it is closed at 100 %"


# -- lead times --------------------------------------------------------------------------------------------------------


def leads_in(place: Workplace, ref: str = "C-1") -> Any:
    with place.reading() as reader:
        return leads_of(reader, standing(reader, ref))


def a_pail_type(**changes: Any) -> Any:
    return a_line("pail", ContainerTypeDetails(name="Pail", streams=("traps", "scrap"), fill_ml=2000, **changes))


def test_an_empty_container_takes_a_week_unless_its_type_says_otherwise(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.record(an_opening("C-1"))
    assert (leads_in(place).empty_days, leads_in(place).days) == (EMPTY_LEAD_DAYS, 7)
    assert "own convention" in leads_in(place).empty_because

    clinic.append(a_pail_type(empty_lead_days=21))

    assert leads_in(place).days == 21
    assert leads_in(place).bottleneck == "an empty container (by the register's pail) is here within 21 days"
    # Sunday 22 March 2026 is no working day.
    assert foreseen(place).fetch_on == date(2026, 3, 23)


def test_no_empty_container_is_wanted_where_one_stands_ready_or_the_old_one_is_closed(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.append(a_pail_type(empty_lead_days=21))
    clinic.record(an_opening("C-1"))
    clinic.record(an_opening("C-2", streams=("traps",)))
    # The second one does not take scrap, so it cannot stand in for the first; the first can for the second.
    assert leads_in(place, "C-1").empty_days == 21
    assert leads_in(place, "C-2").empty_days == 0

    clinic.record(a_closing("C-1"))

    assert leads_in(place, "C-1").empty_days == 0
    assert leads_in(place, "C-2").empty_days == 21


def test_the_carrier_that_comes_soonest_is_waited_for(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.append(a_line("quick", CarrierDetails(name="Quick Invented Carrier", lead_days=2)))
    clinic.append(a_pail_type(empty_lead_days=0))
    clinic.record(an_opening("C-1"))

    assert leads_in(place).bottleneck == "carrier quick comes within 2 days"


@pytest.mark.parametrize(
    ("permille", "words"), [(0, "under 1 %"), (9, "under 1 %"), (10, "1 %"), (990, "99 %"), (991, "over 99 %")]
)
def test_a_chance_is_never_said_to_be_impossible_or_sure(permille: int, words: str) -> None:
    assert chance_words(permille) == words
