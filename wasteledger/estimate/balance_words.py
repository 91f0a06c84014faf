"""The second opinion's findings in plain words: what is so, and what may be done about it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from wasteledger.estimate.prior import SEPARATOR_UNIT
from wasteledger.estimate.rhythm import LongGap, ManyLongGaps, Rhythm
from wasteledger.estimate.rounding import round_to
from wasteledger.estimate.stages import StageBalance
from wasteledger.estimate.weighed import WeighingLine, Weighings
from wasteledger.model.findings import Finding, Weight
from wasteledger.model.traps import TrapKind
from wasteledger.units import Mass

# So many traps whose gaps fall together are one round that is missing, not so many traps.
_A_ROUND = 3
_ALL_ODD = 0.0001


def findings_of(stages: StageBalance, rhythm: Rhythm, weighings: Weighings) -> tuple[Finding, ...]:
    """All findings, those that name a trap and its days first."""
    found = list(_long_gaps(rhythm.long_gaps))
    if rhythm.many:
        found.append(_many(rhythm.many))
    if stages.disagrees:
        found.append(_stage(stages))
    found += _weighings(weighings)
    return tuple(found)


def day(one: date) -> str:
    """A day as people read it: 2 March 2026."""
    return f"{one.day} {one:%B %Y}"


def _long_gaps(gaps: Sequence[LongGap]) -> Iterable[Finding]:
    left = list(gaps)
    while left:
        first = left[0]
        together = [gap for gap in left if _fall_together(first, gap)]
        if len({gap.trap for gap in together}) < _A_ROUND:
            together = [first]
        left = [gap for gap in left if gap not in together]
        yield _one_gap(first) if len(together) == 1 else _round_missing(together)


def _fall_together(one: LongGap, other: LongGap) -> bool:
    common = (min(one.to_on, other.to_on) - max(one.from_on, other.from_on)).days
    return 2 * common > max((one.to_on - one.from_on).days, (other.to_on - other.from_on).days)


def _one_gap(gap: LongGap) -> Finding:
    name = f"trap {gap.trap} ({_kind(gap.kind)}, {gap.room})" if gap.room else f"trap {gap.trap} ({_kind(gap.kind)})"
    if gap.is_open:
        says = (
            f"Since {day(gap.from_on)} no swap of {name} is recorded: {gap.working_days} working days up to "
            f"{day(gap.to_on)}, where {_usual(gap)}."
        )
    else:
        says = (
            f"Between {day(gap.from_on)} and {day(gap.to_on)} no swap of {name} is recorded: {gap.working_days} "
            f"working days, where {_usual(gap)}."
        )
    says += f" About {_swaps(gap.missing)} missing in the record, or {'was' if gap.missing == 1 else 'were'} not made."
    for clogged_on, clean_on in gap.falls[:1]:
        says += f" It was seen clogged on {day(clogged_on)} and clean on {day(clean_on)}, so it was changed between."
    return Finding(
        code="swaps-not-recorded",
        place=f"trap {gap.trap}, {day(gap.from_on)} to {day(gap.to_on)}",
        says=says,
        do="Ask who worked there then. Enter a swap that was made, with its day; remark on what was not made.",
    )


def _round_missing(gaps: Sequence[LongGap]) -> Finding:
    begin, end = max(gap.from_on for gap in gaps), min(gap.to_on for gap in gaps)
    traps = ", ".join(gap.trap for gap in gaps)
    planned = next((gap for gap in gaps if gap.is_by_plan), None)
    every = f"each is usually swapped every {_days(gaps[0].usual_days)}"
    if planned is not None:
        every = f"by the plan each is swapped every {_days(planned.usual_days)}"
    return Finding(
        code="rounds-not-recorded",
        place=f"traps {traps}, {day(begin)} to {day(end)}",
        says=f"From {day(begin)} to {day(end)} no swap of {len(gaps)} traps is recorded ({traps}), where {every}.",
        do="If the practice was closed, put those days among its closures. Otherwise enter the swaps that were made.",
    )


def _many(many: ManyLongGaps) -> Finding:
    most = ", ".join(f"{trap} ({count})" for trap, count in many.traps)
    return Finding(
        code="many-swaps-not-recorded",
        place=f"traps, above all {', '.join(trap for trap, _ in many.traps)}",
        says=f"{many.long} of {many.gaps} gaps between swaps are about twice the usual or longer, where swaps made "
        f"late explain about {round(many.expected)}. About {_swaps(many.missing)} missing in the record, or were not "
        f"made; most long gaps: {most}.",
        do="Ask how swaps reach the record, on which days and by whom; have each written down at the trap.",
    )


def _stage(found: StageBalance) -> Finding:
    sort, _, stage = (found.likeliest or "").partition(":")
    if sort == "procedures":
        return _procedures(found.likeliest_sign)
    line = next(one for one in found.lines if one.stage == stage)
    place, words = f"stage {stage}", line.stage.words
    says = f"The {words} held about {_grams(line.caught_mg)} of amalgam, estimate, where the procedures make about "
    says += f"{_grams(line.expected_mg)} likely{_deviations(line.z)}."
    if found.likeliest_sign > 0:
        return Finding(
            code="stage-too-much",
            place=place,
            says=says + " That is more than the uncertainty of both explains.",
            do="See whether procedures were left out, or whether waste of another stage was put with it.",
        )
    behind = [one for one in found.lines[found.lines.index(line) + 1 :] if one.z is not None]
    if sort == "bypassed" or any((one.z or 0.0) > 0 for one in behind):
        more = " The stages behind it do not lack so much." if behind else ""
        return Finding(
            code="stage-bypassed",
            place=place,
            says=says + " That is less than the uncertainty of both explains." + more,
            do=f"See whether the {words} is in its place and whole, and whether a line passes it by; then whether "
            "swaps of it were not recorded.",
            weight=Weight.URGENT,
        )
    return Finding(
        code="stage-too-little",
        place=place,
        says=says + " That is less than the uncertainty of both explains.",
        do=f"See whether swaps of the {words} were not recorded, then whether it is in its place and whole.",
    )


def _procedures(sign: int) -> Finding:
    if sign < 0:
        return Finding(
            code="procedures-too-few",
            place="procedures",
            says="The stages together held more amalgam than the procedures entered explain.",
            do="See whether procedures were left out of the period.",
        )
    return Finding(
        code="procedures-too-many",
        place="procedures",
        says="The stages together held less amalgam than the procedures entered explain.",
        do="See whether procedures were entered twice, then whether swaps were not recorded.",
    )


def _weighings(weighings: Weighings) -> Iterable[Finding]:
    told: list[WeighingLine] = []
    for one, other in weighings.swapped:
        more, less = (one, other) if one.z > 0 else (other, one)
        told += [one, other]
        yield Finding(
            code="containers-mixed-up",
            place=f"containers {more.check.container} and {less.check.container}, "
            f"{day(max(one.check.on, other.check.on))}",
            says=f"{_sentence(f'{_gained(more)}; {_gained(less)}')} What one has too much, the other lacks.",
            do="See whether traps were recorded for one container and put into the other, or the two were taken for "
            "each other on the scale.",
            seqs=tuple(sorted(line.check.seq for line in (one, other) if line.check.seq)),
        )
    for line in weighings.lines:
        if line.is_odd and line not in told:
            told.append(line)
            yield _weighing(line)
    if not told and weighings.p < _ALL_ODD:
        most = max(weighings.lines, key=lambda line: abs(line.z))
        yield Finding(
            code="weighings-disagree",
            place=f"{len(weighings.lines)} weighings",
            says="The weighings disagree with the counts, some one way and some the other, more than their uncertainty "
            f"explains; most of all: {_gained(most)}.",
            do="Go through what went into these containers between the weighings.",
            seqs=tuple(sorted(line.check.seq for line in weighings.lines if line.check.seq)),
        )


def _weighing(line: WeighingLine) -> Finding:
    check = line.check
    return Finding(
        code="weighing-disagrees",
        place=f"container {check.container}, {day(check.on)}",
        says=_sentence(_gained(line)),
        do="See whether something went in that was not recorded, or was recorded for another container."
        if line.z > 0
        else "See whether something recorded as put in is elsewhere, or was taken out.",
        seqs=(check.seq,) if check.seq else (),
    )


def _gained(line: WeighingLine) -> str:
    check = line.check
    gained = "gained" if check.weighed_mg >= 0 else "lost"
    return (
        f"container {check.container} {gained} {_grams(abs(check.weighed_mg))} from {day(check.from_on)} to "
        f"{day(check.on)}, weighed, where its entries make about {_grams(check.predicted_mg)} likely"
        f"{_deviations(line.z)}"
    )


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."


def _grams(mass_mg: float | None) -> str:
    whole = round(mass_mg or 0.0)
    step = 10 ** max(0, len(str(whole)) - 2)
    return str(Mass(round_to(whole, step)))


def _deviations(z: float | None) -> str:
    return f" ({abs(z):.1f} standard deviations apart)" if z is not None else ""


def _usual(gap: LongGap) -> str:
    if gap.is_by_plan:
        return f"by the plan it is swapped every {_days(gap.usual_days)}"
    return f"{_days(gap.usual_days)} is usual"


def _days(days: float) -> str:
    # A middle of whole days may be a half; what a calendar's average adds to it, nobody could see.
    halves = max(1.0, round(2 * days) / 2)
    return "1 working day" if halves == 1 else f"{halves:g} working days"


def _swaps(count: int) -> str:
    return "1 swap is" if count == 1 else f"{count} swaps are"


def _kind(kind: str) -> str:
    return "separator unit" if kind == SEPARATOR_UNIT else TrapKind(kind).words
