"""Which milestone stands: the newest, or of a limit the one whose clock still runs."""

from __future__ import annotations

from wasteledger.ledger.reader import Reader
from wasteledger.model.facts import Fact, Subject


def standing_milestone(reader: Reader, ref: str) -> Fact | None:
    """The milestone whose clock runs: of a limit the first recording since it last ended, else the newest.

    Recording a limit again while it lasts starts nothing anew, and a pickup may leave most of the stock behind: only
    ``…_ended`` ends it.
    """
    facts = reader.facts_about(Subject("milestone", ref))
    if not ref.endswith("_reached"):
        return facts[-1] if facts else None
    ends = reader.facts_about(Subject("milestone", ref.replace("reached", "ended")))
    ended = ends[-1].order if ends else None
    return next((fact for fact in facts if ended is None or fact.order > ended), None)
