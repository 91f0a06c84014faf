"""What a stated millilitre takes up of the fill line: by hand, and what must not teach it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.makers import MONDAY_MORNING, a_deposit, a_level, a_swap, a_unit_replacement, an_opening
from wasteledger.model.facts import Fact
from wasteledger.model.traps import Insert
from wasteledger.model.values import Body
from wasteledger.office.volumes import FACTOR_CV, PACKING_CV, VolumeFactor, stated_volume_ml, volume_factors


def facts(*bodies: Body) -> list[Fact]:
    """These, one an hour."""
    return [
        Fact(seq, seq, at := MONDAY_MORNING + timedelta(hours=seq), at, "kim", body)
        for seq, body in enumerate(bodies, start=1)
    ]


def a_filled_pail(container: str, level_permille: int) -> list[Body]:
    """Two litres to the line, twenty inserts of 30 mL, and a level."""
    return [an_opening(container), *[a_swap(container=container)] * 20, a_level(container, level_permille)]


def test_one_level_by_hand() -> None:
    """800 mL taken by 600 mL stated: 4/3, with a reading of u = 60/600 and packing of 0.1; prior 1 with u = 0.2.

    Weights 1/0.04 and 1/0.02: (25 + 66.6667) / 75 = 1.222222; u² = 1/75 + 0.01 (closed form, Box, Tiao 1973, 1.2.3; the
    same form as the two physicists' example there).
    """
    found = volume_factors(facts(*a_filled_pail("C-1", 400)))["pail"]

    assert found.mean == pytest.approx(1.2222222, abs=1e-7)
    assert found.sd == pytest.approx(0.1527525, abs=1e-7)
    assert found.containers == 1


def test_more_containers_narrow_the_mean_but_never_below_how_they_differ() -> None:
    one = volume_factors(facts(*a_filled_pail("C-1", 330)))["pail"]
    many = volume_factors(facts(*(body for place in range(40) for body in a_filled_pail(f"C-{place}", 330))))["pail"]

    assert PACKING_CV < many.sd < one.sd < VolumeFactor().sd
    # 660 mL taken by 600 mL stated.
    assert many.mean == pytest.approx(1.1, abs=0.01)


def test_the_last_level_of_a_container_counts() -> None:
    filled = [*a_filled_pail("C-1", 100), *[a_swap()] * 20, a_level("C-1", 600)]

    # 1200 mL by 1200 mL.
    assert volume_factors(facts(*filled))["pail"].mean == pytest.approx(1.0)


def test_what_has_no_volume_teaches_nothing_from_then_on() -> None:
    filled = [*a_filled_pail("C-1", 300), a_deposit("C-1"), a_level("C-1", 900)]

    # The level before the deposit of unknown volume counts: 600 mL by 600 mL.
    assert volume_factors(facts(*filled))["pail"].mean == pytest.approx(1.0)
    assert volume_factors(facts(an_opening(), a_deposit(), a_level())) == {}


def test_a_container_opened_before_the_first_fact_teaches_nothing() -> None:
    assert volume_factors(facts(a_swap(), a_level())) == {}


def test_a_level_of_nothing_does_not_make_volumes_vanish() -> None:
    filled = [body for place in range(60) for body in a_filled_pail(f"C-{place}", 0)]

    assert volume_factors(facts(*filled))["pail"].mean == 0.1


def test_before_any_level_a_stated_volume_is_taken_as_it_is_and_widely() -> None:
    assert VolumeFactor() == VolumeFactor(1.0, (FACTOR_CV**2 + PACKING_CV**2) ** 0.5, 0)


def test_the_stated_volume_of_each_addition() -> None:
    assert stated_volume_ml(a_swap()) == 30
    assert stated_volume_ml(a_swap(insert_ml=None)) is None
    # What was tapped out leaves its body in service.
    assert stated_volume_ml(a_swap(insert=Insert.EMPTIED)) == 0
    assert stated_volume_ml(a_deposit(volume_ml=12)) == 12
    assert stated_volume_ml(a_unit_replacement()) is None
