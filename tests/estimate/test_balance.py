from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from tests.estimate.practices import DAY
from tests.estimate.test_stages import AMALGAM, FIGURES, PRIOR
from wasteledger.estimate.balance import Balance, TrapMasses, balance
from wasteledger.estimate.balance_words import findings_of
from wasteledger.estimate.capture import BadCapture, Stage
from wasteledger.estimate.procedures import BadCount, Procedures, Restorations
from wasteledger.estimate.rhythm import LongGap, Rhythm, TrapHistory
from wasteledger.estimate.stages import StageBalance
from wasteledger.estimate.weighed import WeighingCheck, Weighings
from wasteledger.model.findings import Finding, Weight

NONE = Restorations()
FIRST_ON, LAST_ON = date(2025, 1, 6), date(2025, 12, 28)
MONTH = (date(2025, 5, 1), date(2025, 6, 1))
LINE_OF = {"SE": "saliva_ejector", "HV": "high_volume", "LINE": "line_filter", "JAR": "pump", "SEP": "separator_unit"}
DAYS_OF = {"SE": 7, "HV": 7, "LINE": 28, "JAR": 91, "SEP": 364}


def weekdays(day: date) -> bool:
    return day.weekday() < 5


def a_trap(name: str, **changes: Any) -> TrapHistory:
    short = name.rpartition("-")[2]
    begin = date(2024, 6, 3)
    fields: dict[str, Any] = {
        "trap": name,
        "kind": LINE_OF[short],
        "room": "room" + name[0] if "-" in name else "plant",
        "swapped_on": tuple(begin + DAY * DAYS_OF[short] * n for n in range(900 // DAYS_OF[short])),
        "in_service_from": begin,
        "to": LAST_ON,
        "interval_days": DAYS_OF[short],
    }
    return TrapHistory(**{**fields, **changes})


def a_line() -> list[TrapHistory]:
    chairs = [a_trap(f"{chair}-{short}") for chair in (1, 2, 3) for short in ("SE", "HV")]
    return [*chairs, a_trap("LINE"), a_trap("JAR"), a_trap("SEP")]


def weekly(removed: Restorations, placed: Restorations = NONE) -> list[Procedures]:
    mondays = [FIRST_ON + 7 * DAY * n for n in range(51)]
    return [Procedures(monday, monday + 6 * DAY, removed, placed) for monday in mondays]


WORK = weekly(Restorations(2, 4, 2, 1), Restorations(1, 3, 1, 1))
COUNTS = {"saliva_ejector": 150.0, "high_volume": 150.0, "line_filter": 13.0, "pump": 4.0, "separator_unit": 1.0}


def a_balance(histories: list[TrapHistory] | None = None, **changes: Any) -> Balance:
    fields: dict[str, Any] = {
        "figures": FIGURES,
        "amalgam": AMALGAM,
        "procedures": WORK,
        "masses": TrapMasses.by_count(COUNTS, PRIOR),
    }
    return balance(FIRST_ON, LAST_ON, weekdays, histories or a_line(), **{**fields, **changes})


def without_month(name: str) -> list[TrapHistory]:
    whole = a_trap(name)
    kept = tuple(day for day in whole.swapped_on if not MONTH[0] <= day < MONTH[1])
    return [a_trap(name, swapped_on=kept) if one.trap == name else one for one in a_line()]


def by_code(found: Balance) -> dict[str, Finding]:
    assert len({finding.code for finding in found.findings}) == len(found.findings)
    return {finding.code: finding for finding in found.findings}


def test_a_year_in_which_all_agrees_has_no_findings() -> None:
    found = a_balance()

    assert found.findings == ()
    assert found.suspect is None
    assert found.remarks == ()
    assert [line.stage for line in found.stages] == list(Stage)
    assert found.procedures_share == 1.0
    assert found.entering_mg == pytest.approx(51 * 5_900, rel=0.2)
    assert found.escaped_mg is not None


def test_a_month_of_unrecorded_swaps_is_told_in_plain_words() -> None:
    finding = by_code(a_balance(without_month("2-HV")))["swaps-not-recorded"]

    assert finding.place == "trap 2-HV, 28 April 2025 to 2 June 2025"
    assert finding.says == (
        "Between 28 April 2025 and 2 June 2025 no swap of trap 2-HV (high-volume trap, room2) is recorded: 25 working "
        "days, where 5 working days is usual. About 4 swaps are missing in the record, or were not made."
    )
    assert "Enter a swap that was made" in finding.do


def never_swapped(*names: str) -> list[TrapHistory]:
    return [a_trap(one.trap, swapped_on=()) if one.trap in names else one for one in a_line()]


def test_what_was_never_swapped_has_no_usual_rhythm_but_the_plans() -> None:
    """A trap without one recorded swap was said to be usually swapped every 5.01 working days."""
    (finding,) = (one for one in a_balance(never_swapped("2-HV")).findings if one.place.startswith("trap 2-HV"))

    assert "where by the plan it is swapped every 5 working days." in finding.says
    assert "usual" not in finding.says


def test_a_round_that_was_never_swapped_has_no_usual_rhythm_but_the_plans() -> None:
    finding = by_code(a_balance(never_swapped("1-HV", "2-HV", "3-HV")))["rounds-not-recorded"]

    assert finding.says.endswith("(1-HV, 2-HV, 3-HV), where by the plan each is swapped every 5 working days.")


@pytest.mark.parametrize(
    ("days", "words"), [(5.01, "5 working days"), (4.5, "4.5 working days"), (1.0, "1 working day"), (0.9, "1 working")]
)
def test_no_hundredths_of_a_day_are_said(days: float, words: str) -> None:
    gap = LongGap("1-HV", "high_volume", "", FIRST_ON, LAST_ON, False, 90, days, 3, 0.001)
    (finding,) = findings_of(StageBalance(()), Rhythm({}, 1, (gap,), None), Weighings())
    assert f"where {words}" in finding.says


def test_a_trap_seen_clean_without_a_swap_bears_it_out() -> None:
    histories = without_month("2-HV")
    fall = (date(2025, 5, 13), date(2025, 5, 14))
    histories = [
        a_trap("2-HV", swapped_on=one.swapped_on, falls=(fall,)) if one.trap == "2-HV" else one for one in histories
    ]

    says = by_code(a_balance(histories))["swaps-not-recorded"].says

    assert says.endswith("It was seen clogged on 13 May 2025 and clean on 14 May 2025, so it was changed between.")


def test_an_open_gap_reads_as_one() -> None:
    kept = tuple(day for day in a_trap("1-SE").swapped_on if day < date(2025, 11, 1))
    histories = [a_trap("1-SE", swapped_on=kept) if one.trap == "1-SE" else one for one in a_line()]

    assert by_code(a_balance(histories))["swaps-not-recorded"].says.startswith(
        "Since 27 October 2025 no swap of trap 1-SE (saliva-ejector trap, room1) is recorded: "
    )


def test_rounds_that_all_lack_are_one_finding() -> None:
    histories = [
        a_trap(one.trap, swapped_on=tuple(day for day in one.swapped_on if not MONTH[0] <= day < MONTH[1]))
        for one in a_line()
    ]

    finding = by_code(a_balance(histories))["rounds-not-recorded"]

    assert "no swap of 6 traps is recorded" in finding.says
    assert "closures" in finding.do


def test_a_tenth_missing_here_and_there() -> None:
    histories = [
        a_trap(
            one.trap,
            swapped_on=tuple(
                day for n, day in enumerate(one.swapped_on) if (n + 3 * place) % 10 or one.interval_days > 7
            ),
        )
        for place, one in enumerate(a_line())
    ]

    finding = by_code(a_balance(histories))["many-swaps-not-recorded"]

    assert "about twice the usual or longer" in finding.says
    assert "missing in the record, or were not made" in finding.says


def test_a_filter_that_weighed_nothing_for_a_year() -> None:
    masses = TrapMasses.by_count({**COUNTS, "line_filter": 0.0}, PRIOR, weighed={"line_filter": (300.0, 2500.0)})

    found = a_balance(masses=masses)

    assert found.suspect in ("stage:line_filter", "bypassed:line_filter")
    (finding,) = found.findings
    assert finding.code in ("stage-bypassed", "stage-too-little")
    assert finding.place == "stage line_filter"
    assert finding.says.startswith("The vacuum-line filter held about 0.045 g of amalgam, estimate, where the ")
    assert "in its place and whole" in finding.do


def test_a_filter_bypassed_while_more_came_further_down_is_urgent() -> None:
    counts = {kind: count for kind, count in COUNTS.items() if kind != "line_filter"}
    masses = TrapMasses.by_count(
        {**counts, "pump": 8.0, "separator_unit": 3.0}, PRIOR, weighed={"line_filter": (300.0, 2500.0)}
    )

    finding = by_code(a_balance(masses=masses))["stage-bypassed"]

    assert finding.weight is Weight.URGENT
    assert "The stages behind it do not lack so much." in finding.says


def test_far_more_than_the_procedures_explain() -> None:
    found = a_balance(
        procedures=weekly(Restorations(unknown=1)),
        masses=TrapMasses.by_count({kind: 20 * count for kind, count in COUNTS.items()}, PRIOR),
    )

    assert by_code(found)["procedures-too-few"].place == "procedures"


class TestWeighings:
    more = WeighingCheck("PAIL-1", FIRST_ON, date(2025, 6, 2), 800e3, 500.0, 400e3, 80e3, 12.0, seq=41)
    less = WeighingCheck("TUB-1", FIRST_ON, date(2025, 6, 2), 100e3, 500.0, 400e3, 80e3, 12.0, seq=42)
    odd = WeighingCheck("TUB-1", FIRST_ON, date(2025, 6, 2), 2_000e3, 500.0, 400e3, 80e3, 12.0, seq=43)

    def test_two_containers_mixed_up(self) -> None:
        finding = by_code(a_balance(weighings=[self.more, self.less]))["containers-mixed-up"]

        assert finding.seqs == (41, 42)
        assert finding.place == "containers PAIL-1 and TUB-1, 2 June 2025"
        assert finding.says.startswith("Container PAIL-1 gained 800 g from 6 January 2025 to 2 June 2025, weighed, ")
        assert "; container TUB-1 gained 100 g" in finding.says

    def test_one_container_far_off(self) -> None:
        finding = by_code(a_balance(weighings=[self.odd]))["weighing-disagrees"]

        assert finding.seqs == (43,)
        assert finding.says.startswith("Container TUB-1 gained 2 kg ")
        assert "not recorded" in finding.do

    def test_all_a_little_off(self) -> None:
        checks = [
            WeighingCheck("PAIL-1", FIRST_ON, FIRST_ON + 30 * DAY * n, (640e3, 230e3)[n % 2], 500.0, 400e3, 80e3, seq=n)
            for n in range(1, 9)
        ]

        finding = by_code(a_balance(weighings=checks))["weighings-disagree"]

        assert finding.seqs == tuple(range(1, 9))


class TestPeriod:
    def test_what_lies_after_it_is_left_out(self) -> None:
        late = without_month("2-HV")

        assert not balance(FIRST_ON, date(2025, 4, 30), weekdays, late, figures=FIGURES, amalgam=AMALGAM).findings
        assert not balance(date(2025, 6, 3), LAST_ON, weekdays, late, figures=FIGURES, amalgam=AMALGAM).findings

    def test_a_trap_retired_before_it_is_not_judged(self) -> None:
        gone = a_trap("3-HV", swapped_on=(), to=date(2024, 12, 31))

        assert not a_balance([*[one for one in a_line() if one.trap != "3-HV"], gone]).findings

    def test_procedures_that_lie_partly_in_it_count_in_part(self) -> None:
        half = [Procedures(FIRST_ON - 7 * DAY, FIRST_ON + 6 * DAY, Restorations(two=10))]
        rest = [Procedures(FIRST_ON + 7 * DAY, LAST_ON, Restorations(two=95))]
        full = [Procedures(FIRST_ON, LAST_ON, Restorations(two=100))]

        assert a_balance(procedures=half + rest).entering_mg == pytest.approx(a_balance(procedures=full).entering_mg)

    def test_procedures_for_three_quarters_are_taken_in_proportion_and_wider(self) -> None:
        part = [entry for n, entry in enumerate(WORK) if n % 4]
        found, whole = a_balance(procedures=part), a_balance()

        assert found.entering_mg == pytest.approx(whole.entering_mg, rel=0.02)
        assert found.entering_u_mg is not None
        assert whole.entering_u_mg is not None
        assert found.entering_u_mg > 1.2 * whole.entering_u_mg
        assert found.remarks == (
            "Procedures were entered for 75 % of the working days; the rest is taken in proportion.",
        )

    @pytest.mark.parametrize(
        ("procedures", "remark"),
        [
            ([], "No procedures were entered for this period, so the stages are not compared."),
            (WORK[:9], "Procedures were entered for 18 % of the working days: too few to compare the stages."),
            (
                [Procedures(FIRST_ON, LAST_ON)],
                "The procedures entered name no amalgam restoration, so the stages are not compared.",
            ),
        ],
    )
    def test_with_too_few_procedures_it_says_so(self, procedures: list[Procedures], remark: str) -> None:
        found = a_balance(procedures=procedures)

        assert found.remarks == (remark,)
        assert found.chi_square is None
        assert found.entering_mg is None

    def test_a_stage_that_was_not_emptied_is_remarked_on(self) -> None:
        kept = {kind: count for kind, count in COUNTS.items() if kind != "separator_unit"}
        histories = [*a_line()[:-1], a_trap("SEP", swapped_on=())]
        found = a_balance(histories, masses=TrapMasses.by_count(kept, PRIOR))

        assert found.remarks == (
            "Nothing was taken out of the separator unit in this period, so that stage is not compared.",
        )
        assert not found.findings

    def test_a_pump_trap_emptied_in_the_middle_gathers_for_half(self) -> None:
        middle = FIRST_ON + timedelta(days=178)
        histories = [a_trap("JAR", swapped_on=(middle,), in_service_from=FIRST_ON)]

        (line,) = a_balance(histories, masses=TrapMasses.by_count({"pump": 1.0}, PRIOR)).stages

        assert line.collecting_share == pytest.approx(0.5, abs=0.01)

    def test_backwards_is_refused(self) -> None:
        with pytest.raises(BadCount):
            balance(LAST_ON, FIRST_ON, weekdays, [], figures=FIGURES, amalgam=AMALGAM)

    def test_a_kind_of_no_stage_is_refused(self) -> None:
        with pytest.raises(BadCapture):
            a_balance([a_trap("1-HV", kind="bucket")])

    def test_an_empty_practice(self) -> None:
        found = balance(FIRST_ON, LAST_ON, lambda day: False, [], figures=FIGURES, amalgam=AMALGAM)

        assert (found.stages, found.findings) == ((), ())
