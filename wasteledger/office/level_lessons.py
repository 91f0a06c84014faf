"""What people are told when a level was read: what the estimate had said, how far off it was, what the level taught."""

from __future__ import annotations

import math

from wasteledger.estimate.coverage import coverage_factor, lognormal_limits
from wasteledger.estimate.level import LevelEstimate, standing_level
from wasteledger.estimate.volume_increments import LEVEL_READ_SD_PERMILLE
from wasteledger.estimate.volume_learning import VolumeFactors
from wasteledger.estimate.volumes import VolumesIn
from wasteledger.ledger.append import Appended, Desk
from wasteledger.model.entries import Level
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.standing import ContainerStanding, fold
from wasteledger.office.lessons import Lesson
from wasteledger.office.unlikely import unlikely_level
from wasteledger.office.volumes import current_factors, taught_increments, volumes_since_levels


def level_lesson(desk: Desk, appended: Appended, before: VolumeFactors) -> Lesson:
    """What an entry just written that reads a level was set against, and what it taught.

    Args:
        desk: The desk at which it was written, with the calibration that followed it.
        appended: The entry; one that was written before teaches nothing more.
        before: What was believed before it was written.
    """
    entry = appended.entry
    if appended.repeated or not isinstance(entry.body, Level):
        return Lesson()
    container, order = entry.body.container, (entry.happened_at, entry.seq)
    facts = [fact for fact in desk.facts_about(Subject("container", container)) if fact.order <= order]
    known = _known_before(container, facts[:-1], before)
    says, warnings = _compared(known, entry.body.level_permille) if known is not None else ((), ())
    for one in taught_increments(facts):
        if one.seq == entry.seq:
            says += _learned(before, current_factors(desk), one.volumes)
    return Lesson(says, (*unlikely_level(entry.body, entry.seq), *warnings))


def _known_before(container: str, facts: list[Fact], factors: VolumeFactors) -> LevelEstimate | None:
    standing = fold(Subject("container", container), facts)
    if not isinstance(standing, ContainerStanding):
        return None
    return standing_level(standing, volumes_since_levels(facts).get(container, VolumesIn()), factors)


def _compared(known: LevelEstimate, read: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    lay = f"between {_percent(known.lower_permille)} and {_percent(known.upper_permille)}"
    says = (f"The estimate had said {_percent(known.permille)}, {lay} (95 %).",) if known.is_estimate else ()
    reach = coverage_factor() * LEVEL_READ_SD_PERMILLE
    is_more = read > known.upper_permille + reach and not known.left_out
    if not is_more and read >= known.lower_permille - reach:
        return says, ()
    ask = "Was every swap recorded, and is it the right container?"
    until_then = f"until then it lay {lay}" if known.upper_permille else "nothing is recorded as put in"
    return says, (f"The level reads {_percent(read)}; {until_then}. {ask}",)


def _learned(before: VolumeFactors, after: VolumeFactors, volumes: VolumesIn) -> tuple[str, ...]:
    was, now = taken_words(before, volumes), taken_words(after, volumes)
    if was == now:
        return ()
    return (f"Learned: of what went in, 1 mL takes {now}; before, {was.removesuffix(' (95 %)')}.",)


def taken_words(factors: VolumeFactors, volumes: VolumesIn) -> str:
    """What a millilitre of *volumes* takes, in words: "about 1.22 mL, between 1.03 mL and 1.43 mL (95 %)"."""
    whole = sum(ml for _, ml in volumes.by_kind)
    mean, variance = factors.taken_ml(volumes) / whole, factors.shared_variance_ml2(volumes) / whole**2
    low, high = lognormal_limits(mean, (variance,), coverage_factor(factors.degrees_of_freedom))
    # Carried outward.
    ends = f"between {math.floor(100 * low) / 100:.2f} mL and {math.ceil(100 * high) / 100:.2f} mL"
    return f"about {mean:.2f} mL, {ends} (95 %)"


def _percent(permille: int) -> str:
    return f"{permille / 10:.0f} %"
