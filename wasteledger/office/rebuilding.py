"""Writing the standing anew from the journal, where the journal holds and only what is computed from it differs."""

from __future__ import annotations

from wasteledger.errors import JournalDamaged
from wasteledger.ledger.engine import writing
from wasteledger.ledger.rebuild import rebuild
from wasteledger.ledger.verify import verify
from wasteledger.office.workplace import Workplace

_COMPUTED = frozenset({"standing-differs", "mention-differs", "correction-differs"})


def rebuild_site(place: Workplace) -> int:
    """Compute the site's standing from its journal and put it in place of the one there; returns the entries read.

    Raises:
        JournalDamaged: The journal itself does not hold, so nothing can be computed from it.
    """
    found = verify(place.ledger.engine, place.site)
    damaged = next((one for one in found.findings if one.code not in _COMPUTED), None)
    if damaged is not None:
        raise JournalDamaged(
            f"Nothing was rebuilt, since the journal itself does not hold. {damaged.place}: {damaged.says}",
            hint="Keep the file as it is, and restore a backup beside it.",
        )
    with writing(place.ledger.engine) as connection:
        return rebuild(connection, place.site)
