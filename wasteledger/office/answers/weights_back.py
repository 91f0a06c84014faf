"""What came back of a pickup: papers that did not, and weights on them that are not those that left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wasteledger.model.entries import PickupReleased, Receipt
from wasteledger.office.answers.inquiry import Inquiry, Noted
from wasteledger.office.answers.points import Point, missing, shown
from wasteledger.office.received import Comparison, comparisons_of
from wasteledger.office.words import count, short_day


def not_back(asked: Inquiry, left: Noted[PickupReleased], later: Sequence[Noted[Receipt]], says: str) -> Point:
    """What to say of a paper that had not come back by the end of the period; *later* are those that came after it."""
    pickup = left.body.pickup
    came = next((one for one in later if one.body.pickup == pickup), None)
    if came is not None:
        end = f"up to {short_day(asked.until)}; it came on {short_day(came.on)} (entry {came.seq})"
        return shown(f"{says} {pickup} {end}.", (left.seq,))
    words = f"{says} {pickup}, {count((asked.until - left.on).days, 'day')} after it left."
    return missing(words, (left.seq,), do=f"wasteledger pickup receive {pickup} …")


def weights_that_disagree(asked: Inquiry, left: Sequence[Noted[PickupReleased]]) -> Iterator[Point]:
    """Each weight on a paper that is far from what left, with the entry that explains it."""
    for pickup in (noted.body.pickup for noted in left):
        for one in _beyond(asked, pickup):
            yield _point(asked, f"{pickup}: {one.says}", [one])


def papers_that_disagree(asked: Inquiry, left: Sequence[Noted[PickupReleased]]) -> Iterator[Point]:
    """Each paper that states other weights than what left, in short."""
    for pickup in (noted.body.pickup for noted in left):
        found = _beyond(asked, pickup)
        for receipt in dict.fromkeys(one.receipt_seq for one in found):
            ours = [one for one in found if one.receipt_seq == receipt]
            what = ", ".join(one.container or "all together" for one in ours)
            yield _point(asked, f"{pickup}: its paper states other weights than what left ({what}).", ours)


def _beyond(asked: Inquiry, pickup: str) -> list[Comparison]:
    """What is beyond both uncertainties on the papers that had come by the end of the period."""
    there = {noted.seq for noted in asked.until_end(Receipt)}
    return [one for one in comparisons_of(asked.reader, pickup) if one.is_beyond and one.receipt_seq in there]


def _point(asked: Inquiry, says: str, ours: Sequence[Comparison]) -> Point:
    seqs = [seq for one in ours for seq in (one.release_seq, one.receipt_seq)]
    by = ours[0].explained_seq
    if not by:
        do = f'wasteledger pickup explain {ours[0].pickup} --why "…"'
        return missing(f"{says} Not explained.", seqs, do=do)
    why = ours[0].explained.rstrip(".")
    explained_on = asked.day(asked.reader.get_entry(by).happened_at)
    if explained_on > asked.until:
        until = f"Not explained up to {short_day(asked.until)}; explained on {short_day(explained_on)} (entry {by})"
        return shown(f"{says} {until}: {why}.", seqs)
    return shown(f"{says} Explained in entry {by}: {why}.", [*seqs, by])
