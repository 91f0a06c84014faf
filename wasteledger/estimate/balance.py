"""The second opinion: what procedures say that each stage should have caught, against what its traps say.

Three independent looks at the same record: the rhythm of swaps (`rhythm`), the weighings against the counts
(`weighed`), and the masses by stage (`stages`). Each has its own level of false alarms; by simulation they stay under
two years in a hundred together where every swap was recorded. Nothing here changes an entry.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from wasteledger.estimate.balance_words import findings_of
from wasteledger.estimate.capture import CaptureFigures, Stage, entering_from, stage_of
from wasteledger.estimate.prior import Share
from wasteledger.estimate.procedures import BadCount, Procedures, Restorations, Uncertain
from wasteledger.estimate.rhythm import Rhythm, TrapHistory, watch_rhythm
from wasteledger.estimate.stages import Collecting, StageBalance, StageLine, compare_stages
from wasteledger.estimate.trap_masses import TrapMasses
from wasteledger.estimate.weighed import WeighingCheck, Weighings, compare_weighings
from wasteledger.model.findings import Finding

__all__ = ["Balance", "StageLine", "TrapMasses", "balance"]

# Standard deviation of one week's removals over their mean, a dentist: 17.32 over 8.91 (Adegbembo et al. 2005,
# J Can Dent Assoc 71:565). It holds the differences between dentists too, so it is rather too wide for one practice.
_WEEK_CV = 1.94
# With procedures for less than this share of the working days, the rest is not guessed.
_LEAST_PROCEDURES = 0.5


@dataclass(frozen=True, slots=True)
class Balance:
    """The second opinion on a period.

    Attributes:
        first_on: First day of the period.
        last_on: Last day.
        stages: One line for each stage that the practice has, first stage first.
        entering_mg: Amalgam that the procedures sent into the suction; None where too few were entered.
        entering_u_mg: Its standard uncertainty.
        escaped_mg: Of this, what should have passed all stages.
        procedures_share: Share of the period's working days that procedures were entered for (0 to 1).
        chi_square: Of all stages together; None where none could be compared.
        degrees_of_freedom: Of chi_square: stages compared.
        p: Chance of so large a disagreement if nothing is wrong.
        suspect: ``stage:<stage>`` whose catch does not fit, ``bypassed:<stage>``, or ``procedures``; None where the
            stages agree.
        rhythm: What the gaps between swaps say.
        weighings: What the weighings say.
        findings: All of it in plain words, most pressing first; empty where everything agrees.
        remarks: What could not be compared, and why; no findings.
    """

    first_on: date
    last_on: date
    stages: tuple[StageLine, ...]
    entering_mg: float | None
    entering_u_mg: float | None
    escaped_mg: float | None
    procedures_share: float
    chi_square: float | None
    degrees_of_freedom: int
    p: float | None
    suspect: str | None
    rhythm: Rhythm
    weighings: Weighings
    findings: tuple[Finding, ...]
    remarks: tuple[str, ...]


def balance(
    first_on: date,
    last_on: date,
    works_on: Callable[[date], bool],
    histories: Sequence[TrapHistory],
    *,
    figures: CaptureFigures,
    amalgam: Mapping[str, Share],
    procedures: Sequence[Procedures] = (),
    masses: TrapMasses | None = None,
    weighings: Sequence[WeighingCheck] = (),
) -> Balance:
    """The second opinion on the days from *first_on* to *last_on*, both included.

    Args:
        first_on: First day of the period.
        last_on: Last day.
        works_on: Whether the practice works on a day, as its calendar knows.
        histories: Every trap (and separator unit, kind ``separator_unit``) in service in the period; the stages that
            the practice has are those of the kinds named here. Swaps before the period may be in them, and teach the
            rhythm; what lies after it is left out.
        figures: Shares caught by stage, masses of restorations.
        amalgam: Share of amalgam in the wet debris, by kind (`KindDefault.amalgam`).
        procedures: As entered; those that lie partly in the period count by their share of working days in it.
        masses: What was taken out in the period; None where nothing was.
        weighings: Increments between weighings, each with its prediction from counts.

    Raises:
        BadCount: *last_on* lies before *first_on*.
        BadCapture: A history of a kind that belongs to no stage.
        UnknownKind: *amalgam* lacks a kind that was taken out.
    """
    if last_on < first_on:
        raise BadCount(
            f"The period ends on {last_on}, before it begins on {first_on}.", hint="Give the first day first."
        )
    period = _Period(first_on, last_on, works_on)
    known = [cut for history in histories if (cut := period.cut(history))]
    entering, procedures_share = _entering(period, procedures, figures)
    collecting = _collecting(period, known)
    stages = [stage_of(history.kind) for history in known]
    found = compare_stages(stages, entering, collecting, masses, figures=figures, amalgam=amalgam)
    rhythm = watch_rhythm(known, works_on, since=first_on - timedelta(days=1))
    weighed = compare_weighings(weighings)
    return Balance(
        first_on=first_on,
        last_on=last_on,
        stages=found.lines,
        entering_mg=entering.mean_mg if entering else None,
        entering_u_mg=entering.sd_mg if entering else None,
        escaped_mg=found.escaped_mg,
        procedures_share=procedures_share,
        chi_square=found.chi_square,
        degrees_of_freedom=found.degrees_of_freedom,
        p=found.p,
        suspect=found.likeliest if found.disagrees else None,
        rhythm=rhythm,
        weighings=weighed,
        findings=findings_of(found, rhythm, weighed),
        remarks=tuple(_remarks(found, procedures_share, entering)),
    )


class _Period:
    """Working days from the first day to the last."""

    def __init__(self, first_on: date, last_on: date, works_on: Callable[[date], bool]) -> None:
        self.first_on, self.last_on, self._works_on = first_on, last_on, works_on
        self.days = self.working_days(first_on, last_on)

    def working_days(self, first_on: date, last_on: date) -> set[date]:
        span = (last_on - first_on).days + 1
        return {day for n in range(span) if self._works_on(day := first_on + timedelta(days=n))}

    def cut(self, history: TrapHistory) -> TrapHistory | None:
        """The history up to the last day; None for a trap that was not in service in the period."""
        if history.in_service_from > self.last_on or history.to < self.first_on:
            return None
        swapped_on = tuple(sorted(day for day in history.swapped_on if day <= self.last_on))
        return replace(history, swapped_on=swapped_on, to=min(history.to, self.last_on))

    def cv_of(self, days: float) -> float:
        """Standard deviation of the work of so many working days, over the work of the whole period."""
        weeks = max(1.0, ((self.last_on - self.first_on).days + 1) / 7)
        return _WEEK_CV * math.sqrt(days * weeks / len(self.days)) / weeks if self.days else 0.0


def _entering(
    period: _Period, procedures: Sequence[Procedures], figures: CaptureFigures
) -> tuple[Uncertain | None, float]:
    removed, placed = [0.0] * 5, [0.0] * 5
    covered: set[date] = set()
    for entry in procedures:
        within = period.working_days(max(entry.first_on, period.first_on), min(entry.last_on, period.last_on))
        share = _share_within(period, entry, len(within))
        covered |= within
        removed = _added(removed, entry.removed, share)
        placed = _added(placed, entry.placed, share)
    share = len(covered) / len(period.days) if period.days else 0.0
    if share < _LEAST_PROCEDURES or not sum(removed) + sum(placed):
        return None, share
    entered = entering_from(removed, placed, figures)
    mean_mg = entered.mean_mg / share
    return Uncertain(
        mean_mg, math.hypot(entered.sd_mg / share, mean_mg * period.cv_of(len(period.days) - len(covered)))
    ), share


def _share_within(period: _Period, entry: Procedures, within: int) -> float:
    if period.first_on <= entry.first_on and entry.last_on <= period.last_on:
        return 1.0
    whole = len(period.working_days(entry.first_on, entry.last_on))
    return within / whole if whole else 0.0


def _added(counts: Sequence[float], more: Restorations, share: float) -> list[float]:
    return [count + share * one for count, one in zip(counts, (*more.by_surfaces, more.unknown), strict=True)]


def _collecting(period: _Period, histories: Iterable[TrapHistory]) -> dict[Stage, Collecting]:
    """By stage that was emptied: the part of the period's work that lay in what was taken out, its traps alike."""
    shares: dict[Stage, list[tuple[float, float]]] = defaultdict(list)
    for history in histories:
        inside = [day for day in history.swapped_on if day >= period.first_on]
        before = [day for day in history.swapped_on if day < period.first_on]
        begin = max(before, default=history.in_service_from)
        gathered = period.working_days(begin + timedelta(days=1), max(inside)) if inside else set()
        # Days of the period that nothing was taken out for, and days before it that something was.
        shares[stage_of(history.kind)].append((len(gathered), len(gathered ^ period.days)))
    whole = len(period.days)
    return {
        stage: Collecting(
            share=sum(gathered for gathered, _ in found) / len(found) / whole,
            extra_cv=period.cv_of(sum(apart for _, apart in found) / len(found)),
        )
        for stage, found in shares.items()
        if whole and any(gathered for gathered, _ in found)
    }


def _remarks(found: StageBalance, procedures_share: float, entering: Uncertain | None) -> Iterable[str]:
    percent = f"{100 * procedures_share:.0f} %"
    if entering is None and procedures_share < _LEAST_PROCEDURES:
        if procedures_share:
            yield f"Procedures were entered for {percent} of the working days: too few to compare the stages."
        else:
            yield "No procedures were entered for this period, so the stages are not compared."
    elif entering is None:
        yield "The procedures entered name no amalgam restoration, so the stages are not compared."
    elif procedures_share < 0.995:
        yield f"Procedures were entered for {percent} of the working days; the rest is taken in proportion."
    for line in found.lines:
        if entering and line.z is None:
            yield f"Nothing was taken out of the {line.stage.words} in this period, so that stage is not compared."
