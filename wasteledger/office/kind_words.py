"""Kinds of what is counted, and what is believed of their masses, in words."""

from __future__ import annotations

from collections.abc import Mapping

from wasteledger.estimate.containers import STREAM
from wasteledger.estimate.kind_means import mean_of
from wasteledger.estimate.prior import SEPARATOR_UNIT, Prior
from wasteledger.estimate.rounding import statement
from wasteledger.model.traps import TrapKind


def source_words(source: str) -> str:
    """A source in words: "high-volume trap", "stream contact", "separator unit"."""
    if source.startswith(STREAM):
        return f"stream {source.removeprefix(STREAM)}"
    kinds: Mapping[str, TrapKind] = {kind.value: kind for kind in TrapKind}
    return kinds[source].words if source in kinds else source.replace("_", " ")


def mean_words(prior: Prior, kind: str) -> str:
    """The mean mass of a kind in words: "about 2.4 g, between 1.1 g and 4.6 g (95 %), estimate"."""
    return statement(mean_of(prior, kind))


def one_of(prior: Prior, kind: str) -> str:
    """One of a kind as the prior means it: "one full swap", "one unit", "one piece"."""
    if kind == SEPARATOR_UNIT:
        return "one unit"
    return "one full swap" if prior.nominal_days[prior.kinds.index(kind)] else "one piece"


def held_words(kind: str) -> str:
    """What to say of a kind that weighings pulled below nothing."""
    return (
        f"Weighings pull the mean mass of a {source_words(kind)} below nothing; it is held at 0 g. Was every swap "
        "recorded, and is the mass of every trap's body right? See wasteledger learned."
    )
