"""Pictures filled from the ledger of a small practice: every value is that of the standing at its time."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from tests.makers import (
    KIM,
    Clinic,
    a_closing,
    a_correction,
    a_deposit,
    a_level,
    a_reading,
    a_receipt,
    a_swap,
    a_trap,
    a_weighing,
    an_opening,
    make_clinic,
)
from tests.office.places import FEDERAL, a_place
from wasteledger.documents.fill_binder import binder_paper
from wasteledger.documents.fill_pictures import pictures_paper
from wasteledger.documents.papers import Basis, Pictures
from wasteledger.documents.papers.pictures import Interval, Measure, Sign
from wasteledger.errors import NotUnderstood
from wasteledger.model.entries import ReceivedContainer
from wasteledger.model.traps import Condition
from wasteledger.office.catch import Catch, catch_between
from wasteledger.office.containers import weigh_container
from wasteledger.office.courses import MOST_STAGES, Stage, course_of, estimate_before_leaving
from wasteledger.office.pickups import book_pickup, receive_pickup, release_pickup
from wasteledger.office.status import NoSuchContainer, show_container
from wasteledger.office.workplace import Workplace
from wasteledger.units import Mass

MONDAY = date(2026, 3, 2)


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Clinic]:
    """The small practice of `tests.makers`, on a Monday morning, with an empty pail for traps and a limit of mass."""
    made = make_clinic(tmp_path)
    with made.ledger:
        made.record(an_opening(mass_limit_mg=500_000))
        yield made


@pytest.fixture
def place(clinic: Clinic) -> Workplace:
    """That practice with the federal rule in force."""
    return a_place(clinic, FEDERAL)


def course(place: Workplace, until: date | None = None) -> tuple[Stage, ...]:
    with place.reading() as reader:
        return course_of(reader, "C-1", place.zone, until)


def ends(stage: Stage) -> tuple[int, int, int]:
    """The level of a stage between the ends of its interval, in thousandths."""
    found = stage.find("level")
    assert found is not None
    return found.lower_permille, found.permille, found.upper_permille


def caught(place: Workplace, since: date = MONDAY, until: date = MONDAY) -> Catch:
    with place.reading() as reader:
        return catch_between(reader, since, until)


def drawn(place: Workplace, until: date | None = None) -> Pictures:
    return pictures_paper(place, MONDAY, until or place.today()).pictures


# -- the course of a container ---------------------------------------------------------------------------------------


def test_each_day_ends_as_the_container_stood_then(clinic: Clinic, place: Workplace) -> None:
    said = []
    for _ in range(3):
        clinic.record(a_swap())
        clinic.record(a_swap("2-HV", condition=Condition.DEBRIS))
        said.append(show_container(place, "C-1").state)
        clinic.watch.wait(days=1)

    # The pail was opened on the first of these days, so its opening is a stage of its own.
    assert [stage.estimate for stage in course(place)] == [
        course(place)[0].estimate,
        *(state.estimate for state in said),
    ]
    assert course(place)[0].estimate.basis == "empty"
    assert [stage.components for stage in course(place)[1:]] == [state.fullness.components for state in said]


def test_a_weighing_keeps_what_was_estimated_just_before(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_swap())
    clinic.record(a_swap("2-HV"))
    clinic.record(a_weighing(gross_mg=190_000))
    clinic.record(a_swap())

    opened, before, weighed, after = course(place)
    assert [stage.seen for stage in (opened, before, weighed, after)] == [None, None, "weighed", None]
    assert before.estimate.basis == "estimate"
    # 190 g on the scale less the 150 g of the empty pail.
    assert (weighed.estimate.basis, weighed.estimate.value_mg) == ("weighed", 40_000)
    assert after.estimate.basis == "estimate"
    assert after.estimate.weighed_mg == 40_000


def test_what_was_voided_is_not_in_it_and_what_came_later_is_not_yet(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_swap())
    wrong = clinic.record(a_swap("2-HV"))
    clinic.watch.wait(days=1)
    clinic.record(a_swap())
    clinic.record(a_correction(wrong))

    assert [stage.standing.pieces for stage in course(place)] == [0, 1, 2]
    assert [stage.standing.pieces for stage in course(place, MONDAY)] == [0, 1]
    assert course(place, MONDAY - timedelta(days=1)) == ()


def test_it_ends_with_the_release(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_swap())
    clinic.record(a_closing())
    book_pickup(place, "P-1", "swiftcart", "smelter", date(2026, 3, 9), ("C-1",))
    release_pickup(place, "P-1", taken_by="Dana Driver")

    assert course(place)[-1].standing.status == "closed"


def test_many_days_are_thinned_but_no_weighing_is_lost(clinic: Clinic, place: Workplace) -> None:
    weighed, began_at = 0, clinic.watch.now
    clinic.watch.wait(days=3 * MOST_STAGES)
    with clinic.ledger.writing(clinic.site, KIM) as desk:
        for day in range(2 * MOST_STAGES + 50):
            at = began_at + timedelta(days=day + 1)
            desk.append(a_deposit(mass=a_reading(100), count=1), happened_at=at)
            if day % 40 == 7:
                weighed += 1
                desk.append(a_weighing(gross_mg=150_100 + 100 * day), happened_at=at)

    stages = course(place)
    assert sum(stage.seen == "weighed" for stage in stages) == weighed
    assert len(stages) <= MOST_STAGES + 2 * weighed + 2
    assert stages[-1].standing == show_container(place, "C-1").state.standing
    assert [stage.at for stage in stages] == sorted(stage.at for stage in stages)


def test_a_level_is_uncertain_as_it_is_read_and_by_the_volumes_since(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_swap())
    clinic.record(a_level(level_permille=400))
    clinic.record(a_swap())

    _, before, read, after = course(place)
    reached = [ends(stage) for stage in (before, read, after)]
    # 30 mL in a pail of 2 L are 15 thousandths; log-normal factors of CV 0.2 and 0.1 multiply them.
    log_sd = math.sqrt(math.log1p(0.2**2) + math.log1p(0.1**2))
    assert reached[0] == (
        math.floor(15 * math.exp(-(log_sd**2) / 2 - 1.959964 * log_sd)),
        15,
        math.ceil(15 * math.exp(-(log_sd**2) / 2 + 1.959964 * log_sd)),
    )
    assert reached[1] == (400 - math.ceil(1.959964 * 30), 400, 400 + math.ceil(1.959964 * 30))
    # So narrow an addition beside a reading of ±59 adds as variances do, to a thousandth either way.
    whole = 1.959964 * math.hypot(30, 15 * math.hypot(0.2, 0.1))
    assert reached[2] == pytest.approx((415 - whole, 415, 415 + whole), abs=1)


# -- the catch -------------------------------------------------------------------------------------------------------


def test_a_weighed_trap_counts_its_debris_alone(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_swap(gross=a_reading(34_200), tare=a_reading(5_000)))

    found = caught(place)
    (room,) = [one for one in found.rooms if one.room == "r1"]
    (trap,) = [one for one in room.traps if one.trap.trap == "1-HV"]
    for estimate in (trap.estimate, room.estimate, found.estimate):
        assert (estimate.basis, estimate.value_mg) == ("weighed", 29_200)
    assert show_container(place, "C-1").state.estimate.value_mg == 34_200


def test_an_estimated_catch_is_what_the_container_holds_without_the_bodies(clinic: Clinic, place: Workplace) -> None:
    for trap in ("1-SE", "1-HV", "2-HV", "2-HV"):
        clinic.record(a_swap(trap))

    found, held = caught(place), show_container(place, "C-1").state.estimate
    assert found.swaps == 4
    assert held.inserts_mg == 4 * 5_000
    assert found.estimate.value_mg == held.value_mg - held.inserts_mg
    assert (found.estimate.lower_mg, found.estimate.upper_mg) == pytest.approx(
        (held.lower_mg - held.inserts_mg, held.upper_mg - held.inserts_mg), abs=2
    )


def test_rooms_and_traps_add_up_in_value_but_not_in_their_ends(clinic: Clinic, place: Workplace) -> None:
    for trap in ("1-SE", "1-HV", "2-HV", "2-HV"):
        clinic.record(a_swap(trap))

    found = caught(place)
    assert [room.room for room in found.rooms] == ["r1", "r2", "plant"]
    assert sum(room.swaps for room in found.rooms) == found.swaps
    for room in found.rooms:
        assert sum(one.swaps for one in room.traps) == room.swaps
        assert sum(one.estimate.value_mg for one in room.traps) == pytest.approx(room.estimate.value_mg, abs=2)
    assert sum(room.estimate.value_mg for room in found.rooms) == pytest.approx(found.estimate.value_mg, abs=3)
    # The errors of two kinds are only partly the same, so the whole is surer than the sum of the ends says.
    assert sum(room.estimate.upper_mg for room in found.rooms) > found.estimate.upper_mg


def test_a_trap_out_of_service_is_listed_as_long_as_it_was_there(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_trap("1-SE", retired=True))

    names = {one.trap.trap for room in caught(place).rooms for one in room.traps}
    later = MONDAY + timedelta(days=5)
    assert "1-SE" in names
    assert "1-SE" not in {one.trap.trap for room in caught(place, later, later).rooms for one in room.traps}


# -- what left, and what was received --------------------------------------------------------------------------------


def leave(place: Workplace, gross_mg: int | None, received_mg: int) -> None:
    """The pail is weighed, if it is, and leaves; two weeks later its receipt comes."""
    if gross_mg is not None:
        weigh_container(place, "C-1", Mass(gross_mg))
    book_pickup(place, "P-1", "swiftcart", "smelter", place.today(), ("C-1",))
    release_pickup(place, "P-1", taken_by="Dana Driver")
    watch = place.ledger.clock
    watch.wait(days=14)  # type: ignore[attr-defined]
    receive_pickup(place, "P-1", received_on=place.today(), proves="received", net=(("C-1", Mass(received_mg)),))


def test_the_estimate_before_a_weighing_is_reckoned_by_what_was_known_then(clinic: Clinic, place: Workplace) -> None:
    for _ in range(6):
        clinic.record(a_swap())
    stated = show_container(place, "C-1").state.estimate
    leave(place, 330_000, 180_000)

    with place.reading() as reader:
        assert estimate_before_leaving(reader, "C-1") == stated
    (point,) = drawn(place).received
    assert point.before == Interval(stated.value_mg, stated.lower_mg, stated.upper_mg)
    assert (point.basis, point.stated.value, point.received.value) == (Basis.WEIGHED, 180_000, 180_000)
    assert point.agrees


def test_a_container_that_left_as_an_estimate_is_set_against_its_receipt(clinic: Clinic, place: Workplace) -> None:
    for _ in range(6):
        clinic.record(a_swap())
    stated = show_container(place, "C-1").state.estimate
    leave(place, None, 2_000_000)

    (point,) = drawn(place).received
    assert point.basis is Basis.ESTIMATE
    assert point.stated == Interval(stated.value_mg, stated.lower_mg, stated.upper_mg)
    assert point.received.lower < 2_000_000 < point.received.upper
    assert point.before is None
    assert not point.agrees
    assert point.says.startswith("about ")


def test_what_was_received_later_than_the_period_is_left_out_only_if_it_left_later(
    clinic: Clinic, place: Workplace
) -> None:
    clinic.record(a_swap())
    left_on = place.today()
    leave(place, 200_000, 50_000)

    assert len(drawn(place, left_on).received) == 1
    assert pictures_paper(place, MONDAY - timedelta(days=9), MONDAY - timedelta(days=1)).pictures.received == ()


def test_a_second_paper_on_the_same_container_makes_no_second_mark(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_swap())
    leave(place, 200_000, 50_000)
    clinic.record(
        a_receipt(proves="recycled", containers=(), total_mg=None, document="C-77").model_copy(
            update={"containers": (ReceivedContainer(container="C-1", net_mg=49_900),)}
        )
    )

    assert [point.received.value for point in drawn(place).received] == [50_000]


# -- the paper -------------------------------------------------------------------------------------------------------


def test_a_pail_is_drawn_by_its_level_first_with_what_is_ahead(clinic: Clinic, place: Workplace) -> None:
    for _ in range(20):
        clinic.record(a_swap())
        clinic.record(a_swap("2-HV"))
        clinic.watch.wait(days=1)
    clinic.record(a_level(level_permille=620))

    (picture,) = drawn(place).containers
    outlook = show_container(place, "C-1").state.outlook
    assert outlook is not None
    first = picture.courses[0]
    assert first.measure == outlook.measure
    assert first.fan is not None
    assert (first.fan.p10_on, first.fan.p50_on, first.fan.p90_on) == (outlook.p10_on, outlook.p50_on, outlook.p90_on)
    assert first.fan.full_at == first.limit
    mass = next(one for one in picture.courses if one.measure is Measure.MASS)
    assert mass.limit == 500_000
    assert mass.says.endswith("estimate")
    level = next((one for one in picture.courses if one.measure is Measure.LEVEL), None)
    if level is not None:
        assert [(mark.sign, mark.held.value) for mark in level.marks] == [(Sign.READ, 620)]


def test_nothing_is_drawn_ahead_of_a_pail_that_was_read_as_full(clinic: Clinic, place: Workplace) -> None:
    for _ in range(20):
        clinic.record(a_swap())
        clinic.watch.wait(days=1)
    clinic.record(a_level(level_permille=1000))

    (picture,) = drawn(place).containers
    assert picture.courses[0].measure is Measure.LEVEL
    assert [course.fan for course in picture.courses] == [None] * len(picture.courses)


def test_the_past_is_drawn_without_what_is_ahead(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_swap())
    clinic.watch.wait(days=30)
    clinic.record(a_swap())

    (picture,) = drawn(place, MONDAY + timedelta(days=9)).containers
    assert [course.fan for course in picture.courses] == [None] * len(picture.courses)
    # One full high-volume trap by its starting value, 3 g, in its body of 5 g.
    assert [course.steps[-1].held.value for course in picture.courses] == [8_000]
    assert picture.courses[0].until_at.date() == MONDAY + timedelta(days=9)


def test_what_holds_nothing_is_not_drawn(place: Workplace) -> None:
    pictures = drawn(place)

    assert pictures == Pictures()


def test_a_container_that_left_is_drawn_where_it_is_named(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_swap())
    leave(place, 200_000, 50_000)

    assert drawn(place).containers == ()
    (picture,) = pictures_paper(place, MONDAY, place.today(), ("C-1", "C-1")).pictures.containers
    assert picture.state == "left with P-1"
    mass = next(one for one in picture.courses if one.measure is Measure.MASS)
    assert [(mark.sign, mark.held.value) for mark in mass.marks] == [(Sign.WEIGHED, 50_000)]
    assert mass.until_at == mass.steps[-1].at


def test_times_are_those_of_the_site(clinic: Clinic, place: Workplace) -> None:
    clinic.watch.wait(hours=3)
    clinic.record(a_swap(), at=datetime(2026, 3, 2, 16, 30, tzinfo=UTC))

    (picture,) = drawn(place).containers
    # Half past four in the afternoon of Greenwich is half past ten in Chicago, six hours behind in winter.
    assert picture.courses[0].steps[-1].at == datetime(2026, 3, 2, 10, 30)  # noqa: DTZ001  wall-clock time of the site


def test_a_container_that_there_is_not_and_a_period_upside_down_are_refused(place: Workplace) -> None:
    with pytest.raises(NoSuchContainer):
        pictures_paper(place, MONDAY, MONDAY, ("C-9",))
    with pytest.raises(NotUnderstood, match="before it begins"):
        pictures_paper(place, MONDAY, MONDAY - timedelta(days=1))


def test_the_binder_holds_the_same_pictures(clinic: Clinic, place: Workplace) -> None:
    clinic.record(a_swap())
    clinic.record(a_swap("2-HV", gross=a_reading(34_200), tare=a_reading(5_000)))

    paper = binder_paper(place, MONDAY, MONDAY)
    assert paper.pictures == pictures_paper(place, MONDAY, MONDAY).pictures
    assert paper.pictures.catch is not None
    rooms = {room.total.name: room.total for room in paper.pictures.catch.rooms}
    assert rooms["Room r2"].basis is Basis.WEIGHED
    # Two readings, each to 0.1 g and with limits of 0.1 g: u² = 2 (0.1²/12 + 0.1²/3) g², and k = 1.96.
    assert rooms["Room r2"].says == "29.20 g ± 0.18 g"
    assert rooms["Room r1"].basis is Basis.ESTIMATE
    assert rooms["Plant room"].basis is Basis.NONE
