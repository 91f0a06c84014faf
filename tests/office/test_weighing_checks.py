"""What was weighed, against what the counts let expect of it: never from itself, never what was explained."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.makers import (
    MONDAY_MORNING,
    SET_UP_AT,
    ZONE,
    Clinic,
    a_booking,
    a_closing,
    a_deposit,
    a_reading,
    a_release,
    a_swap,
    a_weighing,
    an_opening,
)
from wasteledger.estimate.weighed import WeighingCheck
from wasteledger.model.entries import Receipt, ReceivedContainer
from wasteledger.office.received import explain_pickup
from wasteledger.office.starting_values import shipped_prior
from wasteledger.office.weighing_checks import weighing_checks
from wasteledger.office.workplace import Workplace

CHICAGO = ZoneInfo(ZONE)
REGISTERED, TODAY = SET_UP_AT.date(), MONDAY_MORNING.date()
TARE_MG, INSERT_MG = 150_000, 5_000
PRIOR = shipped_prior()
HIGH_VOLUME = PRIOR.kinds.index("high_volume")


def on(day: int, month: int = 2) -> datetime:
    """Noon of a day of 2026 in Chicago."""
    return datetime(2026, month, day, 12, tzinfo=CHICAGO)


def checks(clinic: Clinic, first_on: date = REGISTERED, last_on: date = TODAY) -> list[WeighingCheck]:
    """Every check of the period."""
    with clinic.ledger.reading(clinic.site) as reader:
        return list(weighing_checks(reader, CHICAGO, first_on, last_on))


def fill(clinic: Clinic, day: int, swaps: int, debris_mg: int, *, before_mg: int = 0, container: str = "C-1") -> int:
    """*swaps* clogged high-volume traps put in on a day, and the container weighed; gives its net mass."""
    for number in range(swaps):
        clinic.append(a_swap(container=container), on(day) + timedelta(minutes=number))
    net_mg = before_mg + swaps * INSERT_MG + debris_mg
    clinic.append(a_weighing(container, TARE_MG + net_mg), on(day) + timedelta(hours=1))
    return net_mg


@pytest.fixture
def working(clinic: Clinic) -> Clinic:
    """The practice with two pails open since it was set up."""
    for number, container in enumerate(("C-1", "C-2")):
        clinic.append(an_opening(container), SET_UP_AT + timedelta(minutes=number + 1))
    return clinic


def test_the_first_weighing_is_judged_by_the_published_values(working: Clinic) -> None:
    fill(working, 2, swaps=4, debris_mg=11_000)

    (check,) = checks(working)

    assert (check.container, check.from_on, check.on) == ("C-1", REGISTERED, date(2026, 2, 2))
    assert check.weighed_mg == 11_000
    # Two readings, each with a step and a tolerance of 100 mg: d²/12 + t²/3 (JCGM 100:2008, 4.3.7).
    assert check.weighed_sd_mg == pytest.approx(math.sqrt(2 * (100**2 / 12 + 100**2 / 3)))
    assert check.predicted_mg == pytest.approx(4 * PRIOR.means_mg[HIGH_VOLUME])
    variance = 16 * PRIOR.covariance_mg2[HIGH_VOLUME][HIGH_VOLUME] + 4 * PRIOR.scatter_sd_mg[HIGH_VOLUME] ** 2
    assert check.predicted_sd_mg == pytest.approx(math.sqrt(variance))
    assert check.degrees_of_freedom == math.inf


def test_the_others_teach_what_to_expect_and_never_the_one_itself(working: Clinic) -> None:
    held = 0
    for day in (2, 9, 16):
        held = fill(working, day, swaps=10, debris_mg=10_000, before_mg=held)
    fill(working, 23, swaps=10, debris_mg=90_000, before_mg=held)

    *usual, odd = checks(working)

    # One gram a swap as the other three say, far from the published value, and from its own nine.
    assert odd.weighed_mg == 90_000
    assert odd.predicted_mg == pytest.approx(10_000, rel=0.15)
    assert odd.weighed_mg - odd.predicted_mg > 3 * odd.predicted_sd_mg
    # The odd one did teach the others.
    assert all(one.predicted_mg > 1.5 * odd.predicted_mg for one in usual)
    assert [one.on for one in checks(working, date(2026, 2, 9), date(2026, 2, 16))] == [
        date(2026, 2, 9),
        date(2026, 2, 16),
    ]
    # A later weighing says nothing of a period that was over.
    (first,) = checks(working, last_on=date(2026, 2, 2))
    assert first.degrees_of_freedom == math.inf


def test_single_traps_teach_and_are_not_judged(working: Clinic) -> None:
    for number in range(12):
        working.append(a_swap(gross=a_reading(6_000), tare=a_reading(5_000)), on(2) + timedelta(minutes=number))
    assert checks(working) == []

    fill(working, 9, swaps=4, debris_mg=5_000, container="C-2")
    (check,) = checks(working)
    assert check.predicted_mg == pytest.approx(4_000, rel=0.2)


def test_what_cannot_be_predicted_is_not_judged(working: Clinic) -> None:
    working.append(a_deposit("C-1", count=3), on(2))
    working.append(a_weighing("C-1", TARE_MG + 9_000), on(3))
    working.append(a_swap(insert_mg=None), on(4))
    working.append(a_weighing("C-1", TARE_MG + 20_000), on(5))

    assert checks(working) == []


def test_a_received_weight_is_judged_until_it_is_explained(working: Clinic) -> None:
    for number in range(4):
        working.append(a_swap(), on(2) + timedelta(minutes=number))
    working.append(a_closing(), on(3))
    working.append(a_booking(), on(3))
    working.append(a_release(), on(9))
    received = (ReceivedContainer(container="C-1", net_mg=4 * INSERT_MG + 400_000),)
    receipt = working.append(
        Receipt(pickup="P-1", proves="received", received_on=date(2026, 2, 16), containers=received), on(16)
    ).entry

    (check,) = checks(working)
    assert (check.container, check.seq, check.weighed_mg) == ("C-1", receipt.seq, 400_000)

    explain_pickup(Workplace(working.ledger, working.site, "mo"), "P-1", "Weighed with its pallet.")
    assert checks(working) == []
