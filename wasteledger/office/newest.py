"""The newest fact of some kinds, found without reading all of them."""

from __future__ import annotations

from wasteledger.ledger.reader import BEGINNING, Filter, Reader
from wasteledger.model.facts import Fact
from wasteledger.model.values import Body

_PAGE = 50


def newest_fact(reader: Reader, *wanted: type[Body]) -> Fact | None:
    """The newest fact of those kinds that counts, corrections taken in; None where there is none."""
    names = tuple(kind.KIND for kind in wanted)
    since = BEGINNING
    for start in range(0, reader.count(Filter(kinds=names)), _PAGE):
        newest = list(reader.entries(Filter(kinds=names, newest_first=True, offset=start, limit=_PAGE)))
        corrected = reader.corrections_of([entry.seq for entry in newest])
        standing = next((entry for entry in newest if entry.seq not in corrected), None)
        if standing is not None:
            since = standing.happened_at
            break
    # A replaced entry may have moved to after the newest one that still counts as written.
    facts = reader.facts_between(since, kinds=names)
    return facts[-1] if facts else None
