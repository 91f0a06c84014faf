"""From the ledger to the binder's section of standing containers: budgets and contents, as plain values."""

from __future__ import annotations

from wasteledger.documents.fill import _without_basis, _Words
from wasteledger.documents.papers.common import Basis, MassFigure
from wasteledger.documents.papers.standing import StandingContainer
from wasteledger.office.budget import Budget, budget_of, rounded
from wasteledger.office.enquiries import Reader
from wasteledger.office.received import Comparison

_BASES = {"weighed": Basis.WEIGHED, "estimate": Basis.ESTIMATE, "empty": Basis.NONE}


def standing_containers(reader: Reader, words: _Words) -> tuple[StandingContainer, ...]:
    """Every container at the site now, by the time it was opened."""
    return tuple(
        _standing(budget_of(reader, one), ", ".join(words.name("stream", stream) for stream in one.streams))
        for one in reader.containers("open", "closed")
    )


def difference_words(compared: tuple[Comparison, ...]) -> list[str]:
    """What came back far from what left, each with its explanation where somebody gave one."""
    found = []
    for one in compared:
        if one.is_beyond:
            why = f" Explained in entry {one.explained_seq}: {one.explained}" if one.explained_seq else ""
            found.append(one.says + why)
    return found


def _standing(budget: Budget, stream: str) -> StandingContainer:
    estimate = budget.estimate
    is_weighed = estimate.basis == "weighed"
    return StandingContainer(
        container=budget.container,
        stream=stream,
        holds=MassFigure(
            _BASES[estimate.basis],
            _without_basis(budget.statement),
            estimate.value_mg if is_weighed else None,
        ),
        made_of="; ".join(f"{name} {words}" for name, words in budget.parts),
        uncertainty=rounded(estimate.standard_uncertainty_mg) if budget.causes else "",
        causes=", ".join(f"{one.name} {one.share}" for one in budget.causes),
        freedom=budget.freedom if budget.causes else "",
        content=budget.contents,
        notes=budget.notes,
    )
