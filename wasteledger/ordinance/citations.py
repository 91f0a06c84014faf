"""Which clause a citation names, whatever its spelling."""

from __future__ import annotations

from wasteledger.ordinance.rules import Provision


def keys_of(provision: Provision) -> frozenset[str]:
    """The clauses that a provision is cited by."""
    return frozenset({provision.citation.casefold(), *(one.casefold() for one in provision.also_cited_as)})
