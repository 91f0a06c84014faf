"""How a container came to be as full as it is: its level, its mass and its pieces after each entry.

The standing is folded again from the container's own entries, by the same fold that keeps it, and each stage is
estimated as it would be today: what has been learned since is used for the past as well.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from typing import Literal

from wasteledger.estimate.containers import Estimate
from wasteledger.estimate.fullness import Component, fullness
from wasteledger.estimate.level import standing_level
from wasteledger.estimate.prior import Prior
from wasteledger.estimate.volume_learning import VolumeFactors
from wasteledger.estimate.volumes import VolumesIn
from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import Level, PickupReleased, Weighing
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.coverage import day_bounds
from wasteledger.office.learning import current_prior
from wasteledger.office.masses import mass_of
from wasteledger.office.volumes import current_factors, volumes_after

MOST_STAGES = 160
"""More days than this are thinned out, since no picture shows them apart; what was weighed or read is always kept."""


@dataclass(frozen=True, slots=True)
class Stage:
    """A container from one entry until the next.

    Attributes:
        at: When the entry happened, in UTC.
        standing: What the fold made of it.
        estimate: Its mass, in mg.
        components: How full it is by each measure that has a limit, in thousandths.
        seen: Whether the entry was a weighing of the container or a reading of its level.
    """

    at: datetime
    standing: ContainerStanding
    estimate: Estimate
    components: tuple[Component, ...]
    seen: Literal["weighed", "read"] | None = None

    def find(self, measure: str) -> Component | None:
        """How full it is by one measure (``level``, ``mass``, ``pieces``); None where that has no limit."""
        return next((one for one in self.components if one.measure == measure), None)


def course_of(reader: Reader, ref: str, zone: tzinfo, until: date | None = None) -> tuple[Stage, ...]:
    """The stages of container *ref* up to the end of the day *until*, oldest first; none where it was opened later.

    Of the entries of one day only the last is a stage of its own, but for weighings and levels, before each of which
    the stage that it set right is kept too. Its release is no stage: nothing stands here any more.
    """
    subject = Subject("container", ref)
    end = day_bounds(until, zone)[1] if until is not None else None
    facts = [fact for fact in reader.facts_about(subject) if end is None or fact.happened_at < end]
    folded = list(_folded(subject, facts))
    prior, factors = current_prior(reader), current_factors(reader)
    return tuple(_stage(reader, one, prior, factors) for one in _kept(folded, zone))


@dataclass(frozen=True, slots=True)
class _Folded:
    """A fact of a container, what the fold made of it, and what had gone in since the last level."""

    fact: Fact
    standing: ContainerStanding
    since: VolumesIn


def _folded(subject: Subject, facts: list[Fact]) -> Iterator[_Folded]:
    standing: ContainerStanding | None = None
    since = VolumesIn()
    for fact in facts:
        if isinstance(fact.body, PickupReleased):
            return
        standing = ContainerStanding.start(subject, fact) if standing is None else standing.after(fact)
        since = volumes_after(since, fact)
        yield _Folded(fact, standing, since)


def _kept(folded: list[_Folded], zone: tzinfo) -> list[_Folded]:
    days = [one.fact.happened_at.astimezone(zone).date() for one in folded]
    last = len(folded) - 1
    seen = {place for place, one in enumerate(folded) if _seen(one.fact)}
    must = {0, last} | seen | {place - 1 for place in seen if place}
    ends = [place for place in range(last + 1) if place == last or days[place] != days[place + 1]]
    # Every n-th day where there are many.
    thinned = ends[:: max(1, math.ceil(len(ends) / MOST_STAGES))]
    return [folded[place] for place in sorted({*must, *thinned} & set(range(last + 1)))]


def _seen(fact: Fact) -> Literal["weighed", "read"] | None:
    match fact.body:
        case Weighing():
            return "weighed"
        case Level():
            return "read"
    return None


def _stage(reader: Reader, folded: _Folded, prior: Prior, factors: VolumeFactors) -> Stage:
    fact, standing = folded.fact, folded.standing
    estimate = mass_of(reader, standing, prior)
    full = fullness(standing, estimate, standing_level(standing, folded.since, factors))
    return Stage(fact.happened_at, standing, estimate, full.components, _seen(fact))


def estimate_before_leaving(reader: Reader, ref: str) -> Estimate | None:
    """What container *ref* was estimated to hold just before its last weighing; None where that was a weighing too.

    It is how far off the estimates were until then, which a container that is weighed only to leave shows nowhere else.
    It is reckoned by what was known before that weighing was written, not by what that and later ones taught.
    """
    subject = Subject("container", ref)
    folded = list(_folded(subject, list(reader.facts_about(subject))))
    weighed = [place for place, one in enumerate(folded) if _seen(one.fact) == "weighed"]
    if not weighed or not weighed[-1]:
        return None
    prior = current_prior(reader, before_seq=folded[weighed[-1]].fact.place)
    estimate = mass_of(reader, folded[weighed[-1] - 1].standing, prior)
    return estimate if estimate.basis == "estimate" and estimate.value_mg else None
