"""Looks, swaps, deposits, line cleaning, milestones, remarks: what each writes, and what each refuses."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal

import pytest

from tests.makers import Watch
from tests.office.makers import (
    ROOMS,
    SET_UP_AT,
    Crew,
    as_person,
    assert_repeated,
    chain_end,
    container,
    hours_ago,
    open_pail,
    refused,
    released,
    trap,
)
from wasteledger.errors import NotUnderstood, Unknown, WasteLedgerError
from wasteledger.ledger.append import InTheFuture, KeyReused
from wasteledger.ledger.ledger import UnknownPerson
from wasteledger.ledger.reader import EntryUnknown
from wasteledger.model.entries import BodyNotUnderstood, Deposit, LineCleaning, Look, Milestone, Remark, Swap
from wasteledger.model.register import CleanerDetails, ScaleDetails
from wasteledger.model.standing.refusals import ContainerGone, ContainerSealed, NotThereYet, Retired, WrongStream
from wasteledger.model.traps import Condition, Insert
from wasteledger.office.containers import close_container, open_container
from wasteledger.office.people import register_line, retire_line
from wasteledger.office.swaps import (
    NoContainer,
    container_for,
    record_deposit,
    record_line_cleaning,
    record_look,
    record_milestone,
    record_remark,
    record_swap,
)
from wasteledger.office.workplace import NobodyNamed, NotTheirTask, Recorded, Said, Workplace
from wasteledger.units import Mass, Volume

# -- looks -----------------------------------------------------------------------------------------------------------


def test_a_look_writes_what_was_seen(place: Workplace) -> None:
    looked = record_look(place, "1-HV", Condition.DEBRIS, Said(note="grey ring"), amalgam_seen=True)
    assert looked.entry.body == Look(trap="1-HV", condition=Condition.DEBRIS, amalgam_seen=True, note="grey ring")
    assert (looked.entry.recorded_by, looked.entry.happened_at) == ("kim", place.ledger.clock())
    assert trap(place).last_condition is Condition.DEBRIS
    assert looked.says == "Trap 1-HV: debris, most holes visible."
    assert looked.warnings == ()


@pytest.mark.parametrize("condition", [Condition.CLOGGED, Condition.DAMAGED])
def test_a_trap_past_use_is_said_to_want_replacing(place: Workplace, condition: Condition) -> None:
    looked = record_look(place, "1-HV", condition)
    assert "wants replacing" in looked.warnings[0]
    assert any("downstream" in one for one in looked.warnings) == (condition is Condition.DAMAGED)


def test_a_trap_that_nobody_could_look_at_wants_a_reason(place: Workplace) -> None:
    with refused(place, BodyNotUnderstood, "reason"):
        record_look(place, "1-HV", Condition.NOT_LOOKED)
    with refused(place, BodyNotUnderstood, "reason"):
        record_look(place, "1-HV", Condition.CLEAN, reason="Room locked")
    blank = record_look(place, "1-HV", Condition.NOT_LOOKED, reason="Room locked")
    assert "Room locked" in blank.says
    assert (trap(place).looks, trap(place).last_look_at) == (0, None)


def test_look_tonight_and_swap_tomorrow_by_somebody_else_are_two_events(crew: Crew, watch: Watch) -> None:
    open_pail(crew.kim)
    watch.wait(hours=10)
    tonight = record_look(crew.kim, "1-HV", Condition.CLOGGED, left_to_dry=True)
    assert trap(crew.kim).drying_seq == tonight.seq
    watch.wait(hours=14)
    morning = record_swap(crew.bao, "1-HV")
    assert morning.seq == tonight.seq + 1
    assert (tonight.entry.recorded_by, morning.entry.recorded_by) == ("kim", "bao")
    assert morning.entry.happened_at - tonight.entry.happened_at == timedelta(hours=14)
    # What was seen in the evening is what was in it in the morning.
    assert isinstance(morning.entry.body, Swap)
    assert morning.entry.body.condition is Condition.CLOGGED
    standing = trap(crew.kim)
    assert (standing.looks, standing.swaps, standing.drying_seq) == (1, 1, 0)


# -- swaps -----------------------------------------------------------------------------------------------------------


def test_a_swap_copies_what_the_register_knows_of_the_trap(place: Workplace, watch: Watch) -> None:
    open_pail(place)
    record_swap(place, "1-HV", condition=Condition.DEBRIS)
    watch.wait(days=7, hours=9)
    second = record_swap(place, "1-HV", condition=Condition.CLOGGED, amalgam_seen=True, on_paper=True).entry.body
    assert isinstance(second, Swap)
    assert (second.container, second.stream, second.trap_kind) == ("C-1", "traps", "high_volume")
    assert (second.insert, second.insert_mg, second.insert_ml) == (Insert.WHOLE, 5_100, 45)
    # Local days, so that a swap in the morning and one in the evening a week later are seven days apart.
    assert (second.days_in_service, second.interval_days) == (7, 7)
    assert (second.amalgam_seen, second.on_paper) == (True, True)
    assert container(place).swaps == 2


def test_the_first_swap_of_a_trap_does_not_guess_its_days_in_service(place: Workplace) -> None:
    open_pail(place)
    body = record_swap(place, "1-HV").entry.body
    assert isinstance(body, Swap)
    assert (body.days_in_service, body.condition) == (None, Condition.NOT_LOOKED)


def test_a_reusable_trap_is_emptied(place: Workplace) -> None:
    open_pail(place)
    body = record_swap(place, "2-HV", condition=Condition.DEBRIS).entry.body
    assert isinstance(body, Swap)
    assert body.insert is Insert.EMPTIED


def test_a_swap_estimates_and_a_weighed_swap_does_not(place: Workplace) -> None:
    open_pail(place)
    assert "estimate" in record_swap(place, "1-HV", condition=Condition.CLOGGED).says
    open_pail(place, "C-2")
    weighed = record_swap(place, "1-SE", into="C-2", gross=Mass.parse("9.4 g"), tare=Mass.parse("3.9 g"))
    assert "9.40 g" in weighed.says
    assert weighed.says.endswith("weighed.")
    assert "estimate" not in weighed.says


def test_a_weighed_swap_wants_both_masses_in_order(place: Workplace) -> None:
    open_pail(place)
    with refused(place, BodyNotUnderstood, "both its gross and its tare"):
        record_swap(place, "1-HV", gross=Mass(9_400))
    with refused(place, BodyNotUnderstood, "below its tare"):
        record_swap(place, "1-HV", gross=Mass(3_000), tare=Mass(5_100))
    with refused(place, Unknown, "no scale “kitchen”"):
        record_swap(place, "1-HV", gross=Mass(9_400), tare=Mass(5_100), scale="kitchen")


def test_a_slipped_decimal_is_asked_about(place: Workplace, watch: Watch) -> None:
    """61 g instead of 6.1 g was learned without a word."""
    open_pail(place)
    slipped = record_swap(place, "1-SE", gross=Mass.parse("61 g"), tare=Mass.parse("3.9 g"))
    (asks,) = (one for one in slipped.warnings if "Is the unit right?" in one)
    assert asks.startswith("57.1 g in one saliva-ejector trap is more than the estimate had allowed for, up to ")
    assert asks.endswith(f"If not, correct entry {slipped.seq}.")
    watch.wait(days=7)
    right = record_swap(place, "1-HV", condition=Condition.CLOGGED, gross=Mass.parse("6.1 g"), tare=Mass.parse("5.1 g"))
    assert right.warnings == ()


def test_a_slipped_decimal_right_after_another_swap_is_asked_about_too(place: Workplace, watch: Watch) -> None:
    open_pail(place)
    record_swap(place, "1-SE")
    watch.wait(minutes=5)
    again = record_swap(place, "1-SE", gross=Mass.parse("610 g"), tare=Mass.parse("3.9 g"))
    assert [one.split()[0] for one in again.warnings] == ["Trap", "606.1"]


def test_a_weighing_in_kilograms_is_asked_about_once(place: Workplace) -> None:
    open_pail(place)
    told = record_swap(place, "1-SE", gross=Mass.parse("61 kg"), tare=Mass.parse("3.9 g"))
    assert sum("Is the unit right?" in one for one in told.warnings) == 1


def test_the_same_message_sent_twice_is_not_asked_whether_it_was_typed_twice(place: Workplace, watch: Watch) -> None:
    open_pail(place)
    said = Said(key="k-1")
    first = record_swap(place, "1-HV", said, condition=Condition.CLOGGED)
    watch.wait(minutes=1)
    again = record_swap(place, "1-HV", said, condition=Condition.CLOGGED)
    assert_repeated(place, first, again)
    assert again.warnings == ()
    typed_again = record_swap(place, "1-HV", condition=Condition.CLOGGED)
    assert "swapped just before" in typed_again.warnings[0]


def test_a_swap_goes_where_its_stream_went_last(place: Workplace, watch: Watch) -> None:
    with refused(place, NoContainer, "No open container takes “traps”"):
        record_swap(place, "1-HV")
    open_pail(place)
    open_container(place, "T-1", "tub", tare=Mass(640_000))
    assert record_swap(place, "1-HV").entry.container == "C-1"
    assert record_swap(place, "JAR").entry.container == "T-1"
    open_pail(place, "C-2")
    assert record_swap(place, "1-SE").entry.container == "C-1"
    watch.wait(hours=1)
    record_swap(place, "1-HV", into="C-2")
    with place.reading() as reader:
        assert container_for(reader, "traps") == "C-2"
        assert container_for(reader, "teeth") is None


def test_several_unused_containers_are_asked_about(place: Workplace) -> None:
    open_pail(place, "C-1")
    open_pail(place, "C-2")
    with refused(place, NoContainer, "Several containers take “traps”"):
        record_swap(place, "1-HV")


def test_a_full_container_is_said_to_be_full(place: Workplace) -> None:
    open_container(place, "J-1", "tooth-jar")
    assert record_deposit(place, "J-1", "teeth", count=2).warnings == ()
    assert "Plan a pickup" in record_deposit(place, "J-1", "teeth", count=1).warnings[0]
    assert "is full" in record_deposit(place, "J-1", "teeth", count=1).warnings[0]


# -- deposits --------------------------------------------------------------------------------------------------------


def test_a_deposit_by_count_alone_is_of_unknown_mass(place: Workplace) -> None:
    open_container(place, "J-1", "tooth-jar")
    put_in = record_deposit(place, "J-1", "teeth", count=3)
    assert put_in.entry.body == Deposit(container="J-1", stream="teeth", count=3)
    assert "3 pieces of unknown mass" in put_in.says
    assert "weighed" not in put_in.says
    assert not any(sign in put_in.says for sign in ("0 g", "about"))


def test_a_deposit_may_be_weighed_and_measured(place: Workplace) -> None:
    open_pail(place)
    put_in = record_deposit(place, "C-1", "contact", count=2, mass=Mass(1_200), volume=Volume(3), room="r1")
    body = put_in.entry.body
    assert isinstance(body, Deposit)
    assert body.mass is not None
    assert (body.mass.mass_mg, body.mass.scale, body.mass.readability_mg, body.mass.tolerance_mg) == (
        1_200,
        "bench",
        100,
        200,
    )
    assert (body.volume_ml, body.room) == (3, "r1")
    assert "unknown mass" not in put_in.says


def test_a_deposit_of_nothing_unknown_or_elsewhere_is_refused(place: Workplace) -> None:
    open_pail(place)
    with refused(place, BodyNotUnderstood, "a count, a mass, or both"):
        record_deposit(place, "C-1", "contact")
    with refused(place, Unknown, "no stream “bones”"):
        record_deposit(place, "C-1", "bones", count=1)
    with refused(place, NotThereYet, "no room “r9”"):
        record_deposit(place, "C-1", "contact", count=1, room="r9")
    with refused(place, NotThereYet, "no container “C-9”"):
        record_deposit(place, "C-9", "contact", count=1)


# -- line cleaning ---------------------------------------------------------------------------------------------------


def test_half_a_gallon_a_room_and_evening_is_11_36_litres_for_six_rooms(place: Workplace) -> None:
    # The US gallon is 231 in³, 3.785 412 L (NIST Special Publication 811, 2008 edition, appendix B.8); half a gallon a
    # room and evening is common practice, no source.
    assert Decimal("3.785412") / 2 == Decimal("1.892706")
    a_room = Volume.parse("0.5 gal")
    assert a_room == Volume.parse("1893 mL")
    for all_rooms in (Volume(a_room.ml * 6), Volume.parse("3 gal")):
        assert round(Decimal(all_rooms.ml) / 1000, 2) == Decimal("11.36")
    cleaned = record_line_cleaning(place, ROOMS, volume=Volume(a_room.ml * 6), suction_minutes=5)
    assert cleaned.entry.body == LineCleaning(rooms=ROOMS, cleaner="mild", volume_ml=11_358, suction_left_minutes=5)
    assert cleaned.warnings == ()


@pytest.mark.parametrize(
    ("named", "words"),
    [
        ({"ph_low_tenths": 59, "ph_high_tenths": 70, "oxidiser": False}, "pH 5.9 to 7.0"),
        ({"ph_low_tenths": 70, "ph_high_tenths": 81, "oxidiser": False}, "pH 7.0 to 8.1"),
        ({"ph_low_tenths": 70, "ph_high_tenths": 70, "oxidiser": True}, "oxidiser"),
    ],
    ids=["acid", "alkaline", "oxidiser"],
)
def test_a_red_listed_cleaner_is_recorded_with_the_rule_that_speaks_against_it(
    crew: Crew, named: dict[str, int | bool], words: str
) -> None:
    # 40 CFR 441.30(b)(2): no oxidising or acidic cleaners, nor any with a pH below 6 or above 8.
    details = CleanerDetails.model_validate({"name": "Strong cleaner (invented)"} | named)
    register_line(crew.mo, "strong", details)
    cleaned = record_line_cleaning(crew.kim, ("r1",), cleaner="strong")
    assert cleaned.entry.kind == "line_cleaning"
    federal = [one for one in cleaned.warnings if "441.30(b)(2)" in one]
    assert len(federal) == 1
    assert words in federal[0]


@pytest.mark.parametrize(("low", "high"), [(60, 60), (60, 80), (80, 80)])
def test_both_ends_of_the_band_belong_to_it(crew: Crew, low: int, high: int) -> None:
    register_line(crew.mo, "edge", CleanerDetails(name="Edge", ph_low_tenths=low, ph_high_tenths=high, oxidiser=False))
    assert not [one for one in record_line_cleaning(crew.kim, ("r1",), cleaner="edge").warnings if "441.30" in one]


def test_line_cleaning_wants_a_known_room_and_cleaner(crew: Crew) -> None:
    with refused(crew.kim, Unknown, "no cleaner “bleach”"):
        record_line_cleaning(crew.kim, ("r1",), cleaner="bleach")
    with refused(crew.kim, NotThereYet, "no room “attic”"):
        record_line_cleaning(crew.kim, ("r1", "attic"))
    with refused(crew.kim, BodyNotUnderstood, "rooms"):
        record_line_cleaning(crew.kim, ())
    register_line(crew.mo, "other", CleanerDetails(name="Other", oxidiser=False))
    with refused(crew.kim, NotUnderstood, "Which cleaner"):
        record_line_cleaning(crew.kim, ("r1",))
    retire_line(crew.mo, "cleaner", "other")
    with refused(crew.kim, Retired, "cleaner “other”"):
        record_line_cleaning(crew.kim, ("r1",), cleaner="other")


# -- milestones and remarks ------------------------------------------------------------------------------------------


def test_a_milestone_is_the_office_s_to_record(crew: Crew) -> None:
    with refused(crew.kim, NotTheirTask, "assistant"):
        record_milestone(crew.kim, "first_discharge")
    with refused(crew.mo, BodyNotUnderstood, "what"):
        record_milestone(crew.mo, "moved_house")
    assert record_milestone(crew.mo, "first_discharge").entry.body == Milestone(what="first_discharge")


def test_a_remark_speaks_of_what_is_there(place: Workplace) -> None:
    looked = record_look(place, "1-HV", Condition.CLEAN)
    said = record_remark(place, "Called the maker.", about=looked.seq, trap="1-HV")
    assert said.entry.body == Remark(text="Called the maker.", about=looked.seq, trap="1-HV")
    with refused(place, EntryUnknown, "no entry 999"):
        record_remark(place, "What was this?", about=999)
    with refused(place, NotThereYet, "no trap “9-HV”"):
        record_remark(place, "What was this?", trap="9-HV")
    with refused(place, BodyNotUnderstood, "empty"):
        record_remark(place, "  ")


# -- what every one of them refuses ----------------------------------------------------------------------------------

DOINGS: dict[str, Callable[[Workplace, Said], Recorded]] = {
    "look": lambda place, said: record_look(place, "1-HV", Condition.DEBRIS, said),
    "swap": lambda place, said: record_swap(place, "1-HV", said),
    "deposit": lambda place, said: record_deposit(place, "C-1", "contact", said, count=2, mass=Mass(1_200)),
    "line cleaning": lambda place, said: record_line_cleaning(place, ("r1",), said),
    "remark": lambda place, said: record_remark(place, "Called.", said, container="C-1"),
}
each_doing = pytest.mark.parametrize("do", DOINGS.values(), ids=DOINGS.keys())


@each_doing
def test_nothing_happens_in_the_future(place: Workplace, do: Callable[[Workplace, Said], Recorded]) -> None:
    open_pail(place)
    with refused(place, InTheFuture, "has not come yet"):
        do(place, Said(at=hours_ago(place, -0.01)))


@each_doing
def test_nothing_happens_before_there_was_a_practice(
    place: Workplace, do: Callable[[Workplace, Said], Recorded]
) -> None:
    open_pail(place)
    with refused(place, WasteLedgerError, "only since"):
        do(place, Said(at=SET_UP_AT - timedelta(minutes=1)))


@each_doing
def test_a_time_without_a_zone_is_not_guessed(place: Workplace, do: Callable[[Workplace, Said], Recorded]) -> None:
    open_pail(place)
    with pytest.raises((NotUnderstood, TypeError)) as caught:
        do(place, Said(at=datetime(2026, 3, 1, 9, 0)))  # noqa: DTZ001  (that is what is tried)
    assert isinstance(caught.value, NotUnderstood)


@each_doing
def test_an_inspector_records_nothing(crew: Crew, do: Callable[[Workplace, Said], Recorded]) -> None:
    open_pail(crew.kim)
    with refused(crew.iris, NotTheirTask, "inspector"):
        do(crew.iris, Said())


@each_doing
def test_somebody_must_be_named_and_known(place: Workplace, do: Callable[[Workplace, Said], Recorded]) -> None:
    open_pail(place)
    with refused(place, NobodyNamed, "Nobody"):
        do(as_person(place, None), Said())
    with refused(place, UnknownPerson, "“eve”"):
        do(as_person(place, "eve"), Said())


@each_doing
def test_a_note_that_no_paper_can_hold_is_refused_in_our_own_words(
    place: Workplace, do: Callable[[Workplace, Said], Recorded]
) -> None:
    open_pail(place)
    with refused(place, BodyNotUnderstood, "longer than 2000"):
        do(place, Said(note="n" * 2001))


@each_doing
def test_a_repeated_key_answers_with_the_first_entry_whatever_happened_since(
    crew: Crew, watch: Watch, do: Callable[[Workplace, Said], Recorded]
) -> None:
    open_pail(crew.kim)
    record_look(crew.kim, "1-HV", Condition.CLOGGED)
    first = do(crew.kim, Said(key="k-1"))
    watch.wait(days=1)
    # Since then a second scale and cleaner came, another trap was changed, and the container was closed for a new one.
    register_line(crew.mo, "other", ScaleDetails(name="Other", readability_mg=1, tolerance_mg=1))
    register_line(crew.mo, "other", CleanerDetails(name="Other", oxidiser=False))
    record_look(crew.kim, "1-HV", Condition.CLEAN)
    close_container(crew.kim, "C-1")
    open_pail(crew.kim, "C-2")
    before = chain_end(crew.kim)
    assert_repeated(crew.kim, first, do(crew.kim, Said(key="k-1")))
    assert_repeated(crew.kim, first, do(crew.kim, Said(at=first.entry.happened_at, key="k-1")))
    assert chain_end(crew.kim) == before


@each_doing
def test_a_key_serves_one_saying_only(place: Workplace, do: Callable[[Workplace, Said], Recorded]) -> None:
    open_pail(place)
    record_look(place, "2-HV", Condition.CLEAN, Said(key="k-1"))
    with refused(place, KeyReused, "k-1"):
        do(place, Said(key="k-1"))


def test_a_repeated_key_with_another_container_scale_or_time_is_another_saying(place: Workplace) -> None:
    open_pail(place, "C-1")
    swapped = record_swap(place, "1-HV", Said(key="k-1"))
    open_pail(place, "C-2")
    with refused(place, KeyReused):
        record_swap(place, "1-HV", Said(key="k-1"), into="C-2")
    with refused(place, KeyReused):
        record_swap(place, "1-SE", Said(key="k-1"))
    with refused(place, KeyReused):
        record_swap(place, "1-HV", Said(key="k-1"), condition=Condition.DAMAGED)
    with refused(place, KeyReused):
        record_swap(place, "1-HV", Said(at=swapped.entry.happened_at - timedelta(hours=1), key="k-1"))
    record_deposit(place, "C-2", "contact", Said(key="k-2"), mass=Mass(1_200))
    with refused(place, KeyReused):
        record_deposit(place, "C-2", "contact", Said(key="k-2"), mass=Mass(1_300))


def test_an_unknown_or_retired_trap_is_refused(crew: Crew) -> None:
    open_pail(crew.kim)
    with refused(crew.kim, NotThereYet, "no trap “9-HV”"):
        record_look(crew.kim, "9-HV", Condition.CLEAN)
    with refused(crew.kim, NotThereYet, "no trap “9-HV”"):
        record_swap(crew.kim, "9-HV")
    retire_line(crew.mo, "trap", "1-HV")
    with refused(crew.kim, Retired, "trap “1-HV”"):
        record_look(crew.kim, "1-HV", Condition.CLEAN)
    with refused(crew.kim, Retired, "trap “1-HV”"):
        record_swap(crew.kim, "1-HV")
    # What happened while it was in service is still told.
    assert record_look(crew.kim, "1-HV", Condition.CLEAN, Said(at=hours_ago(crew.kim, 1))).seq


def test_a_closed_or_shipped_container_takes_nothing(crew: Crew) -> None:
    open_pail(crew.kim)
    close_container(crew.kim, "C-1")
    with refused(crew.kim, ContainerSealed, "C-1 was closed"):
        record_swap(crew.kim, "1-HV", into="C-1")
    with refused(crew.kim, ContainerSealed, "C-1 was closed"):
        record_deposit(crew.kim, "C-1", "contact", count=1)
    released(crew.mo)
    with refused(crew.kim, ContainerGone, "left the site with pickup P-1"):
        record_swap(crew.kim, "1-HV", into="C-1")
    with refused(crew.kim, ContainerGone, "left the site with pickup P-1"):
        record_deposit(crew.kim, "C-1", "contact", count=1)


def test_a_container_takes_its_own_streams_only(place: Workplace) -> None:
    open_pail(place)
    with refused(place, WrongStream, "does not take “sludge”"):
        record_swap(place, "JAR", into="C-1")
    with refused(place, WrongStream, "does not take “teeth”"):
        record_deposit(place, "C-1", "teeth", count=1)


def test_a_backdated_swap_takes_its_place_in_time(place: Workplace, watch: Watch) -> None:
    opened = open_pail(place)
    with refused(place, NotThereYet, "container “C-1” is in the ledger only since"):
        record_swap(place, "1-HV", Said(at=opened.entry.happened_at - timedelta(minutes=1)), into="C-1")
    watch.wait(days=3)
    newest = record_swap(place, "1-HV", condition=Condition.DEBRIS)
    earlier = record_swap(place, "1-HV", Said(at=hours_ago(place, 24)), condition=Condition.CLOGGED)
    assert earlier.seq > newest.seq
    assert trap(place).last_swap_seq == newest.seq
    assert trap(place).swaps == container(place).swaps == 2
    body = earlier.entry.body
    assert isinstance(body, Swap)
    assert body.days_in_service is None


def test_a_backdated_swap_into_a_container_closed_by_then_is_refused(place: Workplace, watch: Watch) -> None:
    open_pail(place)
    watch.wait(days=1)
    close_container(place, "C-1")
    watch.wait(days=1)
    with refused(place, ContainerSealed):
        record_swap(place, "1-HV", Said(at=hours_ago(place, 20)), into="C-1")
    assert record_swap(place, "1-HV", Said(at=hours_ago(place, 30)), into="C-1").seq
    assert container(place).status == "closed"
