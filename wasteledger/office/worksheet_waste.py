"""What the journal answers about waste in a period: how much arose, how much left, with whom, and where to."""

from __future__ import annotations

from wasteledger.ledger.reader import Reader
from wasteledger.model.values import Party
from wasteledger.office.amounts import Amounts, ShippedPickup
from wasteledger.office.catch import catch_between
from wasteledger.office.masses import statement
from wasteledger.office.sharing_out import JUDGEMENT
from wasteledger.office.words import count, short_day
from wasteledger.office.worksheet_lines import Answer, NamedAmount, State, each_once

_NONE_LEFT = "No pickup left in the period."


def made(reader: Reader, found: Amounts) -> Answer:
    """How much arose; a gap where pieces of unknown mass are in it."""
    total, debris = found.made_in_all, catch_between(reader, found.since, found.until)
    swaps = "No swap is recorded in the period."
    if debris.swaps:
        swaps = (
            f"Debris of {count(debris.swaps, 'swap')} alone, without the bodies of the traps: "
            f"{statement(debris.estimate)}."
        )
    says = (
        f"In all, as it lies in the containers (debris, trap bodies and deposits): {total.words}.",
        *(f"Container {one.container}: {one.amount.words}{_shared(one.shared)}." for one in found.made),
        *([JUDGEMENT] if any(one.shared for one in found.made) else []),
        swaps,
        f"On site at the end of the period: {found.on_site.words}.",
    )
    amounts = (
        NamedAmount.of("made", total),
        *(NamedAmount.of(f"made in {one.container}", one.amount) for one in found.made),
        NamedAmount.of("on_site", found.on_site),
    )
    state = State.GAP if total.unknown_pieces else State.FILLED
    return Answer(says, state, each_once(seq for one in found.made for seq in one.seqs), amounts)


def shipped(found: Amounts) -> Answer:
    """How much left as stated then, and what the facilities state to have received."""
    if not found.shipped:
        return Answer((_NONE_LEFT,))
    each = (f"Pickup {one.pickup}: {one.amount.words}; {one.received_words}." for one in found.shipped)
    amounts = (
        NamedAmount.of("shipped", found.shipped_in_all),
        *(NamedAmount.of(f"shipped by {one.pickup}", one.amount) for one in found.shipped),
    )
    says = (f"In all, as stated when it left: {found.shipped_in_all.words}.", *each)
    return Answer(says, seqs=_seqs(found), amounts=amounts)


def pickups(found: Amounts) -> Answer:
    """On which days it left, in which containers, and whether a proof of recycling came."""
    return Answer(tuple(map(_pickup_words, found.shipped)) or (_NONE_LEFT,), seqs=_seqs(found))


def carriers(found: Amounts) -> Answer:
    """Who took it."""
    return _parties(found, [(one.carrier, one.pickup) for one in found.shipped])


def facilities(found: Amounts) -> Answer:
    """Who received it, and where it was recycled in the end, as far as a receipt says."""
    answer = _parties(found, [(one.facility, one.pickup) for one in found.shipped])
    says = [
        f"Pickup {one.pickup}: the receipt names {one.final_facility} as where it was recycled in the end."
        for one in found.shipped
        if one.final_facility
    ]
    without = [one.pickup for one in found.shipped if not one.final_facility]
    says += [f"Where {', '.join(without)} was recycled in the end is not recorded."] if without else []
    return Answer((*answer.says, *says), answer.state, answer.seqs)


def party_words(party: Party) -> str:
    """Name, address and number of a carrier or facility, as an entry recorded them; what is missing is said."""
    address = ", ".join(party.address) or "ADDRESS NOT ENTERED"
    more = [*([party.phone] if party.phone else []), *([f"permit {party.permit}"] if party.permit else [])]
    return "; ".join([f"{party.name}, {address}", *more])


def _shared(words: str) -> str:
    return f" ({words})" if words else ""


def _parties(found: Amounts, each: list[tuple[Party, str]]) -> Answer:
    if not each:
        return Answer((_NONE_LEFT,))
    taken: dict[Party, list[str]] = {}
    for party, pickup in each:
        taken.setdefault(party, []).append(pickup)
    says = tuple(f"{party_words(party)} ({', '.join(refs)})." for party, refs in taken.items())
    is_gap = any(not party.address for party in taken)
    return Answer(says, State.GAP if is_gap else State.FILLED, each_once(one.seqs[0] for one in found.shipped))


def _pickup_words(one: ShippedPickup) -> str:
    paper = f" (document {one.document})" if one.document else ""
    proof = (
        f"proof of recycling received {short_day(one.recycled_on)}" if one.recycled_on else "no proof of recycling yet"
    )
    return f"{short_day(one.left_on)}: pickup {one.pickup}{paper}, {', '.join(one.containers)}; {proof}."


def _seqs(found: Amounts) -> tuple[int, ...]:
    return each_once(seq for one in found.shipped for seq in one.seqs)
