"""Opening, closing, moving, weighing a container, and reading its level."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest

from tests.makers import Watch
from tests.office.makers import (
    SET_UP_AT,
    Crew,
    assert_repeated,
    chain_end,
    container,
    hours_ago,
    open_pail,
    refused,
    released,
)
from wasteledger.errors import NotUnderstood, Unknown
from wasteledger.ledger.append import InTheFuture, KeyReused
from wasteledger.model.entries import (
    BodyNotUnderstood,
    ContainerClosed,
    ContainerMoved,
    ContainerOpened,
    Level,
    Weighing,
)
from wasteledger.model.register import ContainerTypeDetails, ScaleDetails
from wasteledger.model.standing import Contradicts
from wasteledger.model.standing.refusals import (
    AlreadyThere,
    BelowTare,
    ContainerGone,
    ContainerSealed,
    NotThereYet,
    Retired,
)
from wasteledger.model.traps import Condition
from wasteledger.office.containers import (
    close_container,
    move_container,
    open_container,
    record_level,
    weigh_container,
)
from wasteledger.office.people import register_line, retire_line
from wasteledger.office.swaps import record_deposit, record_swap
from wasteledger.office.workplace import NotTheirTask, Recorded, Said, Workplace
from wasteledger.units import Mass


def test_opening_copies_streams_and_limits_from_the_type(place: Workplace) -> None:
    opened = open_container(place, "C-1", "pail", at_place="Back door")
    body = opened.entry.body
    assert isinstance(body, ContainerOpened)
    assert (body.streams, body.fill_ml, body.mass_limit_mg, body.items_limit) == (
        ("traps", "contact"),
        5_000,
        5_000_000,
        None,
    )
    assert (body.plan_at_permille, body.close_at_permille, body.place) == (750, 1000, "Back door")
    # The type's tare stood on no scale of ours.
    assert (body.tare.mass_mg, body.tare.scale) == (500_000, None)
    assert (container(place).status, container(place).tare_mg) == ("open", 500_000)


def test_a_tare_that_was_weighed_goes_before_the_type_s(place: Workplace) -> None:
    body = open_container(place, "C-1", "pail", tare=Mass(512_300)).entry.body
    assert isinstance(body, ContainerOpened)
    assert (body.tare.mass_mg, body.tare.scale, body.tare.tolerance_mg) == (512_300, "bench", 200)


def test_a_container_without_tare_or_type_is_not_opened(crew: Crew) -> None:
    with refused(crew.kim, NotUnderstood, "weigh empty"):
        open_container(crew.kim, "T-1", "tub")
    with refused(crew.kim, Unknown, "no container type “barrel”"):
        open_container(crew.kim, "T-1", "barrel")
    with refused(crew.kim, BodyNotUnderstood, "container"):
        open_container(crew.kim, "C 1", "pail")
    retire_line(crew.mo, "container_type", "pail")
    with refused(crew.kim, Retired, "container type “pail”"):
        open_container(crew.kim, "C-1", "pail")


def test_a_name_is_never_used_twice(crew: Crew) -> None:
    open_pail(crew.kim)
    with refused(crew.kim, AlreadyThere, "already a container “C-1”"):
        open_pail(crew.kim)
    close_container(crew.kim, "C-1")
    released(crew.mo)
    with refused(crew.kim, AlreadyThere, "already a container “C-1”"):
        open_pail(crew.kim)


def test_a_second_opening_before_the_first_is_refused_too(place: Workplace, watch: Watch) -> None:
    watch.wait(days=2)
    open_pail(place)
    with refused(place, AlreadyThere, "already a container “C-1”"):
        open_container(place, "C-1", "pail", Said(at=hours_ago(place, 24)))


def test_closing_is_for_good(place: Workplace) -> None:
    open_pail(place)
    closed = close_container(place, "C-1", why="other")
    assert closed.entry.body == ContainerClosed(container="C-1", why="other")
    assert container(place).closed_at == closed.entry.happened_at
    with refused(place, ContainerSealed, "C-1 was closed"):
        close_container(place, "C-1")
    with refused(place, BodyNotUnderstood, "why"):
        close_container(place, "C-1", why="tired of it")


def test_a_closing_before_something_that_went_in_contradicts_it(place: Workplace, watch: Watch) -> None:
    open_pail(place)
    watch.wait(days=2)
    swapped = record_swap(place, "1-HV")
    with refused(place, Contradicts, f"contradict entry {swapped.seq}"):
        close_container(place, "C-1", Said(at=hours_ago(place, 24)))
    assert container(place).status == "open"


def test_moving_says_where_it_stands(place: Workplace) -> None:
    open_pail(place)
    assert move_container(place, "C-1", "Store room").entry.body == ContainerMoved(container="C-1", place="Store room")
    assert container(place).place == "Store room"


def test_a_weighing_replaces_the_estimate(place: Workplace, watch: Watch) -> None:
    open_pail(place)
    assert "estimate" in record_swap(place, "1-HV", condition=Condition.CLOGGED).says
    watch.wait(hours=1)
    weighed = weigh_container(place, "C-1", Mass.parse("507.4 g"))
    assert isinstance(weighed.entry.body, Weighing)
    assert weighed.entry.body.gross.scale == "bench"
    assert container(place).holding.base_mg == 7_400
    assert "7.4" in weighed.says
    assert weighed.says.endswith("weighed.")
    assert "estimate" in record_swap(place, "1-SE").says


def test_a_weighing_far_from_the_estimate_is_asked_about(place: Workplace) -> None:
    open_pail(place)
    record_swap(place, "1-HV", condition=Condition.DEBRIS)
    weighed = weigh_container(place, "C-1", Mass.parse("1.9 kg"))
    assert "The scale says 1.4 kg" in weighed.warnings[0]
    assert not weigh_container(place, "C-1", Mass.parse("1.9 kg")).warnings


def test_a_weighing_below_the_tare_is_refused(place: Workplace) -> None:
    open_pail(place)
    with refused(place, BelowTare, "499.9 g is below the empty mass of container C-1, 500 g"):
        weigh_container(place, "C-1", Mass(499_900))
    assert weigh_container(place, "C-1", Mass(500_000)).seq


def test_a_weighing_wants_to_know_the_scale(crew: Crew) -> None:
    open_pail(crew.kim)
    register_line(crew.mo, "other", ScaleDetails(name="Other", readability_mg=10, tolerance_mg=10))
    with refused(crew.kim, NotUnderstood, "Which scale"):
        weigh_container(crew.kim, "C-1", Mass(600_000))
    assert weigh_container(crew.kim, "C-1", Mass(600_000), scale="other").seq
    retire_line(crew.mo, "scale", "other")
    with refused(crew.kim, Unknown, "no scale “other”"):
        weigh_container(crew.kim, "C-1", Mass(600_000), scale="other")


def test_a_level_is_of_the_fill_line(place: Workplace) -> None:
    open_pail(place)
    read = record_level(place, "C-1", 605)
    assert read.entry.body == Level(container="C-1", level_permille=605)
    assert "60.5 %" in read.says
    # Nothing went in, as far as anybody wrote down.
    (warning,) = read.warnings
    assert warning.startswith("The level reads 60 %; nothing is recorded as put in. Was every swap recorded")
    assert "Plan a pickup" in record_level(place, "C-1", 750).warnings[0]
    assert "is full" in record_level(place, "C-1", 1000).warnings[0]
    for permille in (-1, 2001):
        with refused(place, BodyNotUnderstood, "level_permille"):
            record_level(place, "C-1", permille)


DOINGS: dict[str, Callable[[Workplace, Said], Recorded]] = {
    "close": lambda place, said: close_container(place, "C-1", said),
    "move": lambda place, said: move_container(place, "C-1", "Store room", said),
    "weigh": lambda place, said: weigh_container(place, "C-1", Mass(600_000), said),
    "level": lambda place, said: record_level(place, "C-1", 400, said),
}
each_doing = pytest.mark.parametrize("do", DOINGS.values(), ids=DOINGS.keys())


@each_doing
def test_only_what_is_there_can_be_spoken_of(crew: Crew, do: Callable[[Workplace, Said], Recorded]) -> None:
    with refused(crew.kim, NotThereYet, "no container “C-1”"):
        do(crew.kim, Said())
    open_pail(crew.kim)
    with refused(crew.kim, NotThereYet, "only since"):
        do(crew.kim, Said(at=hours_ago(crew.kim, 1)))
    with refused(crew.kim, InTheFuture, "has not come yet"):
        do(crew.kim, Said(at=hours_ago(crew.kim, -1)))
    with refused(crew.iris, NotTheirTask, "inspector"):
        do(crew.iris, Said())
    released(crew.mo)
    with refused(crew.kim, ContainerGone, "left the site"):
        do(crew.kim, Said())


@each_doing
def test_a_repeated_key_answers_with_the_first_entry_after_it_was_shipped(
    crew: Crew, watch: Watch, do: Callable[[Workplace, Said], Recorded]
) -> None:
    open_pail(crew.kim)
    first = do(crew.kim, Said(key="k-1"))
    watch.wait(hours=1)
    register_line(crew.mo, "other", ScaleDetails(name="Other", readability_mg=10, tolerance_mg=10))
    released(crew.mo)
    before = chain_end(crew.kim)
    assert_repeated(crew.kim, first, do(crew.kim, Said(key="k-1")))
    assert chain_end(crew.kim) == before


@pytest.mark.parametrize("tare", [None, Mass(512_300)], ids=["the type's tare", "weighed"])
def test_a_repeated_opening_answers_with_the_first_though_the_type_changed(crew: Crew, tare: Mass | None) -> None:
    first = open_container(crew.kim, "C-1", "pail", Said(key="k-1"), tare=tare)
    register_line(crew.mo, "pail", ContainerTypeDetails(name="Pail", streams=("traps",), fill_ml=9_000, tare_mg=7))
    register_line(crew.mo, "other", ScaleDetails(name="Other", readability_mg=10, tolerance_mg=10))
    retire_line(crew.mo, "container_type", "pail")
    close_container(crew.kim, "C-1")
    assert_repeated(crew.kim, first, open_container(crew.kim, "C-1", "pail", Said(key="k-1"), tare=tare))
    with refused(crew.kim, KeyReused, "k-1"):
        open_container(crew.kim, "C-1", "pail", Said(key="k-1"), tare=Mass(513_000), scale="bench")
    with refused(crew.kim, KeyReused, "k-1"):
        open_container(crew.kim, "C-2", "pail", Said(key="k-1"), tare=tare)


def test_an_opening_has_its_own_bounds_in_time(crew: Crew) -> None:
    with refused(crew.kim, InTheFuture):
        open_container(crew.kim, "C-1", "pail", Said(at=hours_ago(crew.kim, -1)))
    with refused(crew.iris, NotTheirTask, "inspector"):
        open_pail(crew.iris)
    backdated = open_container(crew.kim, "C-1", "pail", Said(at=hours_ago(crew.kim, 48)))
    assert record_deposit(crew.kim, "C-1", "contact", Said(at=hours_ago(crew.kim, 24)), count=1).seq
    assert container(crew.kim).opened_at == backdated.entry.happened_at


def test_a_container_in_use_when_the_practice_was_set_up_is_opened_at_its_own_time(place: Workplace) -> None:
    # Clocks that start with the first waste need the true day.
    a_year_before = SET_UP_AT - timedelta(days=300)
    open_container(place, "C-1", "pail", Said(at=a_year_before))
    assert container(place).opened_at == a_year_before
    assert record_deposit(place, "C-1", "contact", Said(at=a_year_before), count=1).seq
