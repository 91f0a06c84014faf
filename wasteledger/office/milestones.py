"""Which milestones stand, and so run a clock."""

from __future__ import annotations

from wasteledger.ledger.reader import Reader
from wasteledger.model.facts import Fact, Subject


def standing_milestones(reader: Reader, ref: str) -> tuple[Fact, ...]:
    """The milestones whose clocks run: of a limit the first recording since it last ended, of all else every one.

    Recording a limit again while it lasts starts nothing anew, and a pickup may leave most of the stock behind: only
    ``…_ended`` ends it.
    """
    facts = reader.facts_about(Subject("milestone", ref))
    if not ref.endswith("_reached"):
        return facts
    ends = reader.facts_about(Subject("milestone", ref.replace("reached", "ended")))
    ended = ends[-1].order if ends else None
    return tuple(fact for fact in facts if ended is None or fact.order > ended)[:1]
