"""What stands in a container with all that its statement rests on, as the binder prints it."""

from __future__ import annotations

from dataclasses import dataclass

from wasteledger.documents.papers.common import MassFigure


@dataclass(frozen=True, slots=True)
class StandingContainer:
    """One container as it stands at the binder's entry, with the budget of its mass and its content.

    Attributes:
        holds: Its mass, weighed or an estimate.
        made_of: Weighed, estimated, trap bodies, what is not known; each in words.
        uncertainty: The standard uncertainty in words.
        causes: What makes it uncertain, each with its part of the variance.
        freedom: Degrees of freedom in words.
        content: Each substance and how much of it, in words that say "estimate".
        notes: How the content was found, and what it leaves out.
    """

    container: str
    stream: str
    holds: MassFigure
    made_of: str = ""
    uncertainty: str = ""
    causes: str = ""
    freedom: str = ""
    content: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
