"""What the second opinion is handed from the journal, and what an office makes of its answer."""

from __future__ import annotations

import json
import math
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from tests.makers import (
    MONDAY_MORNING,
    SET_UP_AT,
    ZONE,
    Clinic,
    a_correction,
    a_reading,
    a_swap,
    a_unit_replacement,
    an_opening,
    some_procedures,
)
from tests.office.makers import as_person
from wasteledger.estimate.balance import Balance, StageLine
from wasteledger.estimate.capture import Stage
from wasteledger.estimate.procedures import Procedures as Done
from wasteledger.estimate.procedures import Restorations
from wasteledger.estimate.rhythm import Rhythm
from wasteledger.estimate.weighed import Weighings
from wasteledger.model.findings import Finding, Weight
from wasteledger.model.procedures import BySurfaces
from wasteledger.model.traps import Condition, Insert
from wasteledger.office import balance as module
from wasteledger.office.balance import EmptyPeriod, balance, shipped_capture, status_findings
from wasteledger.office.second_opinion import in_grams
from wasteledger.office.starting_values import shipped_prior
from wasteledger.office.workplace import Workplace

CHICAGO = ZoneInfo(ZONE)
REGISTERED, TODAY = SET_UP_AT.date(), MONDAY_MORNING.date()


def on(day: int, month: int = 2) -> datetime:
    """Noon of a day of 2026 in Chicago."""
    return datetime(2026, month, day, 12, tzinfo=CHICAGO)


@pytest.fixture
def place(clinic: Clinic) -> Workplace:
    """The practice with a pail open since it was set up."""
    clinic.append(an_opening(), SET_UP_AT + timedelta(minutes=1))
    return Workplace(clinic.ledger, clinic.site, "kim")


class Spy:
    """Stands in the place of the reckoning, to see what it is handed."""

    def __init__(self) -> None:
        self.first_on = self.last_on = date.min
        self.given: dict[str, Any] = {}
        self.findings: tuple[Finding, ...] = ()

    def __call__(self, first_on: date, last_on: date, works_on: Any, histories: Any, **given: Any) -> Balance:
        self.first_on, self.last_on = first_on, last_on
        self.given = {"works_on": works_on, "histories": histories} | given
        return Balance(
            first_on=first_on,
            last_on=last_on,
            stages=(),
            entering_mg=None,
            entering_u_mg=None,
            escaped_mg=None,
            procedures_share=0.0,
            chi_square=None,
            degrees_of_freedom=0,
            p=None,
            suspect=None,
            rhythm=Rhythm({}, 0, (), None),
            weighings=Weighings(),
            findings=self.findings,
            remarks=("Nothing else.",),
        )


@pytest.fixture
def spy(monkeypatch: pytest.MonkeyPatch) -> Spy:
    """The reckoning, looked at."""
    found = Spy()
    monkeypatch.setattr(module, "weigh_up", found)
    return found


# -- the period ------------------------------------------------------------------------------------------------------


def test_the_period_is_the_last_year_or_what_there_is_of_it(place: Workplace, clinic: Clinic, spy: Spy) -> None:
    balance(place)
    assert (spy.first_on, spy.last_on) == (REGISTERED, TODAY)

    clinic.watch.wait(days=1000)
    today = clinic.watch.now.astimezone(CHICAGO).date()
    balance(place)
    assert (spy.first_on, spy.last_on) == (today - timedelta(days=364), today)
    balance(place, since=date(2026, 2, 1), until=date(2026, 2, 28))
    assert (spy.first_on, spy.last_on) == (date(2026, 2, 1), date(2026, 2, 28))


@pytest.mark.parametrize(
    ("since", "until", "words"),
    [
        (None, date(2026, 3, 3), "2026-03-03 has not come yet"),
        (date(2026, 3, 3), None, "would begin on 2026-03-03, after its end"),
        (date(2026, 2, 2), date(2026, 2, 1), "after its end on 2026-02-01"),
    ],
)
def test_an_empty_period_is_refused(place: Workplace, since: date | None, until: date | None, words: str) -> None:
    with pytest.raises(EmptyPeriod, match=words):
        balance(place, since=since, until=until)


def test_an_inspector_may_look(place: Workplace, spy: Spy) -> None:
    assert balance(as_person(place, "iris")).findings == ()
    assert [spy.given["works_on"](date(2026, 2, 27) + timedelta(days=n)) for n in range(3)] == [True, False, False]


# -- restorations ----------------------------------------------------------------------------------------------------


def test_restorations_that_count_in_the_period_are_handed_on(place: Workplace, clinic: Clinic, spy: Spy) -> None:
    clinic.append(some_procedures(), on(28))
    void = clinic.append(some_procedures(first_on=date(2026, 2, 16), last_on=date(2026, 2, 20)), on(20)).entry
    before = some_procedures(first_on=date(2026, 1, 5), last_on=date(2026, 1, 9), removed=BySurfaces(four_or_more=7))
    clinic.append(before, on(9, 1))
    clinic.append(a_correction(void))

    found = balance(place, since=date(2026, 2, 1))

    assert spy.given["procedures"] == [
        Done(
            date(2026, 2, 23),
            date(2026, 2, 27),
            removed=Restorations(one=3, two=4, unknown=1),
            placed=Restorations(two=2),
        )
    ]
    assert (found.removed, found.placed) == (8, 2)
    assert balance(place, since=date(2026, 1, 9)).removed == 15
    assert spy.given["procedures"][0].removed == Restorations(four_or_more=7)


def test_when_the_first_restorations_are_of_a_later_day_that_day_is_named(
    place: Workplace, clinic: Clinic, spy: Spy
) -> None:
    clinic.append(some_procedures(), on(28))

    assert balance(place).remarks == (
        "Nothing else.",
        "The first restorations entered are of 2026-02-23: to look from there on, --from 2026-02-23.",
    )
    # The weekend before is no working day, so nothing is missing from it.
    assert balance(place, since=date(2026, 2, 21)).remarks == ("Nothing else.",)


def test_one_room_alone_says_nothing_of_the_line_behind_all_of_them(place: Workplace, clinic: Clinic, spy: Spy) -> None:
    clinic.append(some_procedures(room="r1"), on(28))

    found = balance(place, since=date(2026, 2, 23), until=date(2026, 2, 27))
    assert spy.given["procedures"] == []
    assert "those of r2 are missing" in found.remarks[0]

    clinic.append(some_procedures(room="r2", removed=BySurfaces(), placed=BySurfaces()), on(28))
    found = balance(place, since=date(2026, 2, 23), until=date(2026, 2, 27))
    assert len(spy.given["procedures"]) == 2
    assert found.remarks == ("Nothing else.",)
    # A whole practice's entry holds every room.
    clinic.append(some_procedures(first_on=date(2026, 2, 16), last_on=date(2026, 2, 20)), on(21))
    balance(place, since=date(2026, 2, 16), until=date(2026, 2, 27))
    assert len(spy.given["procedures"]) == 3


def test_days_counted_twice_are_found(place: Workplace, clinic: Clinic, spy: Spy) -> None:
    one, other = (clinic.append(some_procedures(), on(28)).entry for _ in range(2))

    (finding,) = balance(place).findings

    assert (finding.code, finding.seqs, finding.weight) == ("counted-twice", (one.seq, other.seq), Weight.WARNING)
    assert balance(place, until=date(2026, 2, 22)).findings == ()


# -- masses ----------------------------------------------------------------------------------------------------------


def test_what_was_taken_out_is_weighed_or_counted(place: Workplace, clinic: Clinic, spy: Spy) -> None:
    clinic.append(a_swap(), on(2))
    clinic.append(a_swap("2-HV", condition=Condition.DEBRIS, dentists_permille=2000), on(3))
    clinic.append(a_swap("1-SE", condition=Condition.NOT_LOOKED, days_in_service=14), on(3))
    clinic.append(a_swap(gross=a_reading(9_000), tare=a_reading(5_000)), on(9))
    clinic.append(a_swap(gross=a_reading(5_500), tare=a_reading(5_000), insert=Insert.EMPTIED), on(16))
    clinic.append(a_swap("PUMP"), on(30, 1))

    balance(place, since=date(2026, 2, 1))

    masses, prior = spy.given["masses"], shipped_prior()
    mean = dict(zip(prior.kinds, prior.means_mg, strict=True))
    assert dict(zip(masses.kinds, masses.masses_mg, strict=True)) == pytest.approx(
        {"high_volume": 2 * mean["high_volume"] + 4_500, "saliva_ejector": 2 * mean["saliva_ejector"]}
    )
    place_of = {kind: number for number, kind in enumerate(masses.kinds)}
    row = prior.kinds.index("high_volume")
    # Two full swaps by count share their mean's error; the two weighed ones add the scale's: four readings, each with
    # a step and a tolerance of 100 mg (d²/12 + t²/3; JCGM 100:2008, 4.3.7).
    counted = 4 * prior.covariance_mg2[row][row] + 2 * prior.scatter_sd_mg[row] ** 2
    scale = 4 * (100**2 / 12 + 100**2 / 3)
    variance = masses.covariance_mg2[place_of["high_volume"]][place_of["high_volume"]]
    assert variance == pytest.approx(counted + scale)
    assert masses.degrees_of_freedom == math.inf


def test_a_weighed_unit_is_net_of_its_body(place: Workplace, clinic: Clinic, spy: Spy) -> None:
    clinic.append(a_unit_replacement(mass=a_reading(650_000)), on(2))
    balance(place)
    assert dict(zip(spy.given["masses"].kinds, spy.given["masses"].masses_mg, strict=True)) == {
        "separator_unit": 250_000
    }

    # Without the mass of an empty one, the weighing tells nothing of what is inside: it is counted.
    clinic.append(a_unit_replacement(mass=a_reading(650_000), unit_mg=None, days_in_service=365), on(3))
    balance(place, since=date(2026, 2, 3))
    prior = shipped_prior()
    (mass_mg,) = spy.given["masses"].masses_mg
    assert mass_mg == pytest.approx(prior.means_mg[prior.kinds.index("separator_unit")])


def test_nothing_taken_out_is_no_mass(place: Workplace, clinic: Clinic, spy: Spy) -> None:
    clinic.append(a_swap(), on(2))
    balance(place, since=date(2026, 2, 3))

    assert spy.given["masses"] is None
    assert [one.swapped_on for one in spy.given["histories"] if one.trap == "1-HV"] == [(date(2026, 2, 2),)]


def test_figures_are_the_shipped_ones(place: Workplace, spy: Spy) -> None:
    balance(place)

    assert spy.given["figures"] is shipped_capture()
    assert spy.given["amalgam"]["high_volume"].mean == 0.35
    assert set(spy.given["figures"].stages) == set(Stage)


# -- the answer ------------------------------------------------------------------------------------------------------


def test_status_says_the_first_finding_and_how_many_there_are(place: Workplace, spy: Spy) -> None:
    with place.reading() as reader:
        assert status_findings(reader, CHICAGO, TODAY) == ()
        spy.findings = (Finding("long-gap", "trap 1-HV", "It was not swapped.", "Ask.", Weight.WARNING, (7,)),)
        (one,) = status_findings(reader, CHICAGO, TODAY)
        spy.findings *= 2
        (two,) = status_findings(reader, CHICAGO, TODAY)

    assert (one.code, one.place, one.says, one.do, one.seqs) == (
        "second-opinion",
        "trap 1-HV",
        "It was not swapped.",
        "See wasteledger balance.",
        (7,),
    )
    assert two.says == "It was not swapped. And 1 more."


def test_json_has_whole_milligrams_and_decimal_text(place: Workplace, spy: Spy) -> None:
    found = balance(place)
    line = StageLine(Stage.CHAIRSIDE, 1234.6, 99.5, None, None, None, 1300.4, 80.2, 0.98765)
    object.__setattr__(found.balance, "stages", (line,))

    told = json.loads(json.dumps(found.as_json()))

    assert told["stages"] == [
        {
            "stage": "chairside",
            "expected_mg": 1235,
            "expected_u_mg": 100,
            "caught_mg": None,
            "caught_u_mg": None,
            "z": None,
            "reconciled_mg": 1300,
            "reconciled_u_mg": 80,
            "collecting_share": "0.988",
        }
    ]
    assert (told["first_on"], told["remarks"], told["p"]) == ("2026-01-01", ["Nothing else."], None)


@pytest.mark.parametrize(
    ("mass_mg", "uncertainty_mg", "said"),
    [
        (255_731.0, 77_312.0, "256 ± 78"),
        (255_731.0, 7_731.2, "255.7 ± 7.8"),
        (12_345.0, 1_047.0, "12.3 ± 1.1"),
        (1_234.5, 97.0, "1.234 ± 0.097"),
        (3.0, 0.2, "0.003 ± 0.001"),
        (1_255_731.0, 996_000.0, "1300 ± 1000"),
        (None, None, "–"),
    ],
)
def test_masses_stand_in_grams_with_two_digits_of_uncertainty(
    mass_mg: float | None, uncertainty_mg: float | None, said: str
) -> None:
    assert in_grams(mass_mg, uncertainty_mg) == said
