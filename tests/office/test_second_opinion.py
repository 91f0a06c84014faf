"""A year of a practice's record, whole and with things left out of it, before the second opinion."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

import pytest

from tests.makers import KIM, TRAPS, ZONE, Clinic, a_look, a_swap, a_weighing, an_opening, make_clinic
from tests.office.places import a_place
from wasteledger.ledger.verify import verify
from wasteledger.model.findings import Finding, Weight
from wasteledger.model.procedures import BySurfaces, Procedures
from wasteledger.model.traps import Condition, TrapKind
from wasteledger.model.values import Body
from wasteledger.office.balance import balance
from wasteledger.office.corrections import correct_entry
from wasteledger.office.second_opinion import SecondOpinion
from wasteledger.office.status import status
from wasteledger.office.swaps import record_remark
from wasteledger.office.workplace import Said, Workplace

CHICAGO = ZoneInfo(ZONE)
# The practice was registered on the Thursday before.
FIRST_MONDAY = date(2026, 1, 5)
WEEKS = 46

# What a full swap of each holds here, in mg: close to the published starting values.
DEBRIS_MG = {TrapKind.SALIVA_EJECTOR: 1_100, TrapKind.HIGH_VOLUME: 2_800, TrapKind.PUMP: 4_500}


@dataclass
class Year:
    """Weekly swaps of five traps, and what may go wrong with their record.

    *forgets* says which swap of which week is not written down, *restorations* how many are removed a week (None: they
    are not entered).
    """

    forgets: Callable[[str, int], bool] = lambda trap, week: False
    restorations: int | None = None
    looks: bool = False
    random: Random = field(default_factory=lambda: Random(7))

    def record(self, clinic: Clinic) -> None:
        """Write the year down, and let the clock stand at its end."""
        said: list[tuple[Body, datetime]] = [(an_opening(), _at(FIRST_MONDAY, -1))]
        net_mg = 0
        for week in range(WEEKS):
            monday = FIRST_MONDAY + timedelta(weeks=week)
            for trap in TRAPS:
                # A week is rarely seven days: the swap is made on the first or second morning.
                day = monday + timedelta(days=int(self.random.random() < 0.2))
                kind = TRAPS[trap][1]
                net_mg += 5_000 + round(DEBRIS_MG[kind] * self.random.lognormvariate(-0.1, 0.45))
                if self.looks:
                    said.append((a_look(trap, Condition.CLOGGED), _at(day, 7)))
                if not self.forgets(trap, week):
                    seen = Condition.NOT_LOOKED if kind is TrapKind.PUMP else Condition.CLOGGED
                    said.append((a_swap(trap, condition=seen, days_in_service=7), _at(day, 8)))
                if self.looks:
                    said.append((a_look(trap, Condition.CLEAN), _at(day, 17)))
            if week % 8 == 7:
                said.append((a_weighing(gross_mg=150_000 + net_mg), _at(monday, 30)))
            if self.restorations is not None:
                friday = monday + timedelta(days=4)
                counts = BySurfaces(one=self.restorations // 2, two=self.restorations - self.restorations // 2)
                said.append((Procedures(first_on=monday, last_on=friday, removed=counts), _at(friday, 23)))
        clinic.watch.now = _at(FIRST_MONDAY + timedelta(weeks=WEEKS), 6)
        with clinic.ledger.writing(clinic.site, KIM) as desk:
            for body, at in sorted(said, key=lambda one: one[1]):
                desk.append(body, happened_at=at)


def _at(day: date, hours: float) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=CHICAGO) + timedelta(hours=hours)


def opinion_on(folder: Path, year: Year) -> SecondOpinion:
    """What is said of *year*, from its first Monday on."""
    clinic = make_clinic(folder)
    with clinic.ledger:
        year.record(clinic)
        assert verify(clinic.ledger.engine, clinic.site).holds
        return balance(Workplace(clinic.ledger, clinic.site, "mo"), since=FIRST_MONDAY)


def codes(findings: tuple[Finding, ...]) -> list[str]:
    return [one.code for one in findings]


def test_a_whole_record_disagrees_with_nothing(tmp_path: Path) -> None:
    found = opinion_on(tmp_path, Year())

    assert found.findings == ()
    assert not found.wants_attention
    assert found.balance.rhythm.gaps > 4 * (WEEKS - 3)
    assert len(found.balance.weighings.lines) == WEEKS // 8
    assert any("No procedures were entered" in one for one in found.remarks)
    assert {one.stage.value for one in found.balance.stages} == {"chairside", "pump", "separator"}


def test_a_month_of_one_trap_that_was_not_written_down_is_found_and_named(tmp_path: Path) -> None:
    found = opinion_on(tmp_path, Year(lambda trap, week: trap == "2-HV" and 20 <= week < 25, looks=True))

    gap = next(one for one in found.findings if one.code == "swaps-not-recorded")
    assert gap.place.startswith("trap 2-HV, ")
    assert "r2" in gap.says
    assert "seen clogged on" in gap.says
    (named,) = {one.trap for one in found.balance.rhythm.long_gaps}
    assert named == "2-HV"
    assert found.balance.rhythm.long_gaps[0].missing in (4, 5, 6)


def test_a_remark_on_the_trap_answers_the_gap(tmp_path: Path) -> None:
    clinic = make_clinic(tmp_path)
    with clinic.ledger:
        Year(lambda trap, week: trap == "2-HV" and 20 <= week < 25).record(clinic)
        place = a_place(clinic)
        before = [one for one in balance(place, since=FIRST_MONDAY).findings if one.code == "swaps-not-recorded"]
        assert "second-opinion" in codes(status(place).findings)
        early = _at(FIRST_MONDAY + timedelta(weeks=10), 12)
        record_remark(place, "Hose torn.", Said(at=early), trap="2-HV")
        record_remark(place, "Another trap.", trap="1-HV")
        assert balance(place, since=FIRST_MONDAY).wants_attention

        answer = record_remark(place, "Room 2 was\nrebuilt.", trap="2-HV")
        after = [one for one in balance(place, since=FIRST_MONDAY).findings if one.code == "swaps-not-recorded"]

        assert [one.weight for one in before] == [Weight.WARNING]
        assert [(one.says, one.weight, one.seqs) for one in after] == [(before[0].says, Weight.NOTE, (answer.seq,))]
        assert f"(entry {answer.seq}): Room 2 was rebuilt." in after[0].do
        correct_entry(place, answer.seq, "Wrong room.")
        assert balance(place, since=FIRST_MONDAY).wants_attention


def test_restorations_that_fit_the_traps_agree_and_far_too_many_do_not(tmp_path: Path) -> None:
    usual, many = tmp_path / "usual", tmp_path / "many"
    usual.mkdir()
    many.mkdir()
    # Two high-volume traps a week hold about two grams of amalgam, a half of what twelve removals send on their way.
    fits, differs = opinion_on(usual, Year(restorations=12)), opinion_on(many, Year(restorations=600))

    assert fits.findings == ()
    assert fits.removed == 12 * WEEKS
    chairside = fits.balance.stages[0]
    assert chairside.z is not None
    assert abs(chairside.z) < 2
    assert chairside.reconciled_mg is not None
    assert fits.balance.procedures_share == pytest.approx(1, abs=0.01)
    assert differs.wants_attention
    assert differs.balance.p is not None
    assert differs.balance.p < 0.01
    assert differs.balance.suspect is not None
