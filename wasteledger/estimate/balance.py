"""The second opinion: what procedures say that each stage should have caught, against what its traps say.

Three independent looks at the same record, each in plain words: the rhythm of swaps (`rhythm`), the weighings against
the counts (`weighed`), and the masses by stage (`capture`, `reconcile`). Nothing here changes an entry.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Self

from wasteledger.estimate.capture import CaptureFigures, Stage
from wasteledger.estimate.prior import Prior, Share
from wasteledger.estimate.procedures import Procedures
from wasteledger.estimate.rhythm import Rhythm, TrapHistory
from wasteledger.estimate.weighed import WeighingCheck, Weighings
from wasteledger.model.findings import Finding


@dataclass(frozen=True, slots=True)
class TrapMasses:
    """Wet mass of debris taken out in the period, by kind of trap, with the covariance that the kinds share; mg, mg².

    Attributes:
        kinds: `TrapKind` values and ``separator_unit``; a kind with no swap in the period is left out.
        masses_mg: Estimated or weighed wet mass (drained, without the inserts).
        covariance_mg2: Of these masses (scatter, common error of the means, scale).
        degrees_of_freedom: Behind the covariance; infinite for published values.
    """

    kinds: tuple[str, ...]
    masses_mg: tuple[float, ...]
    covariance_mg2: tuple[tuple[float, ...], ...]
    degrees_of_freedom: float = math.inf

    @classmethod
    def by_count(
        cls, exposures: Mapping[str, float], prior: Prior, *, weighed: Mapping[str, tuple[float, float]] | None = None
    ) -> Self:
        """From counts, as `estimate.containers` reckons them, and from traps that were weighed singly.

        Args:
            exposures: Full swaps of one dentist that were counted, by kind (grade times dentists; see
                `estimate.containers`). Swaps that were weighed singly are not among them.
            prior: Published or learned masses.
            weighed: Net mass in mg and its variance in mg², by kind, of traps that were weighed singly.

        Raises:
            UnknownKind: The prior has no row for a kind.
        """
        raise RuntimeError


@dataclass(frozen=True, slots=True)
class StageLine:
    """One stage of the line: expected from procedures, caught as the traps say, and both reconciled.

    Attributes:
        stage: Which.
        expected_mg: Amalgam expected from the procedures; None where none were entered.
        expected_u_mg: Its standard uncertainty.
        caught_mg: Amalgam in what was taken out of this stage's traps; None where nothing was taken out in the period.
        caught_u_mg: Its standard uncertainty.
        z: Caught against expected, in standard deviations of the logarithm of their ratio; below 0: less was caught.
        reconciled_mg: The best value from both.
        reconciled_u_mg: Its standard uncertainty.
        collecting_share: Share of the period's working days whose catch was taken out within it (1: all).
    """

    stage: Stage
    expected_mg: float | None
    expected_u_mg: float | None
    caught_mg: float | None
    caught_u_mg: float | None
    z: float | None
    reconciled_mg: float | None
    reconciled_u_mg: float | None
    collecting_share: float


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
        chi_square: Of all stages together; None where fewer than one could be compared.
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
            the practice has are those of the kinds named here. Swaps before the period may be in them.
        figures: Shares caught by stage, masses of restorations.
        amalgam: Share of amalgam in the wet debris, by kind (`KindDefault.amalgam`).
        procedures: As entered; those that lie partly in the period count by their share of working days in it.
        masses: What was taken out in the period; None where nothing was.
        weighings: Increments between weighings, each with its prediction from counts.

    Raises:
        BadCount: *last_on* lies before *first_on*.
    """
    raise RuntimeError
