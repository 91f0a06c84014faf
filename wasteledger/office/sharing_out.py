"""What came into a container in a period, where a weighing tells of more than the period: it is shared out.

A weighing tells what came in since the one before it. It is shared out once over all of that, entry by entry, whatever
period is asked for: what was weighed by itself keeps its weight, and the rest goes by estimates where every other piece
has one, else by pieces. A period has the sum of its entries, so periods that follow one another add up to the weighing,
and nothing is in two of them. A later weighing therefore changes what is said of an earlier period, and where weighings
contradict one another, that is said. Nothing shared out is ever as sure as a weighing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from wasteledger.ledger.reader import Reader
from wasteledger.office.one_amount import Amount, less, together
from wasteledger.office.stretches import History, PutIn, Stretch, counted

DRIFT = 2.0
"""The mean mass of the pieces of one stream may differ by this factor between two times: own judgement, no source."""

JUDGEMENT = (
    "Where a weighing tells of more than the period, it is shared out: by what each weighs, by estimates or by pieces. "
    "Own judgement: a mean piece may weigh twice or half as much at another time, and pieces scatter by as much as "
    "their mean. Sheets made before that weighing said otherwise."
)


@dataclass(frozen=True, slots=True)
class CameIn:
    """What came into a container in a period.

    Attributes:
        amount: How much.
        seqs: The entries of the weighings behind it.
        shared: How a weighing was shared out, in words; empty where none was.
    """

    amount: Amount
    seqs: tuple[int, ...] = ()
    shared: str = ""


def came_in(reader: Reader, container: str, begin: datetime, end: datetime) -> CameIn:
    """What came into *container* from *begin* to before *end*."""
    history = History(reader, container)
    first: Amount | None = None
    last = Amount()
    parts: list[Amount] = []
    seqs: list[int] = []
    words: list[str] = []
    for one in history.stretches:
        some = slice(one.until(begin), one.until(end))
        if some.start == some.stop:
            continue
        is_whole = some == slice(0, len(one.put_in))
        words += one.faults
        if one.after is not None and one.after.basis == "weighed":
            seqs += one.seqs
            if is_whole:
                first, last = first or one.before, one.after
                continue
            part, how = _part(history, one, some)
            parts.append(part)
            words += [how] if how else []
        elif some.start == 0 and (first is not None or one.before.basis == "none"):
            first = first or one.before
            value_mg = one.before.value_mg + _told_mg(history, one, some.stop)
            last = one.after if one.after is not None and is_whole else _fitted(history.before(end), value_mg)
        else:
            parts.append(_fitted(history.own(one.put_in[some]), _value_mg(history, one, some)))
    whole = [less(last, first)] if first is not None else []
    return CameIn(together([*whole, *parts]), tuple(seqs), "; ".join(words))


def _told_mg(history: History, one: Stretch, count: int) -> int:
    """The mass of the first *count* entries of a stretch: the same whatever period is asked for, so that parts add up.

    What was weighed by itself keeps its weight, and the counted ones share the rest. Where there is no rest, or nothing
    was counted, each has its share by what it says by itself.
    """
    some, put_in = one.put_in[:count], one.put_in
    if one.after is None:
        return history.own(some).value_mg
    whole_mg = max(0, one.after.value_mg - one.before.value_mg)
    if _has_rest(history, one, whole_mg):
        rest_mg = whole_mg - history.alone(one.put_in).value_mg
        return history.alone(some).value_mg + rest_mg * _weight(history, one, some) // _weight(history, one, put_in)
    own_mg = history.own(put_in).value_mg
    if not own_mg:
        return whole_mg if count == len(put_in) else 0
    return whole_mg * history.own(some).value_mg // own_mg


def _value_mg(history: History, one: Stretch, some: slice) -> int:
    return _told_mg(history, one, some.stop) - _told_mg(history, one, some.start)


def _has_rest(history: History, one: Stretch, whole_mg: int) -> bool:
    return bool(one.counted) and whole_mg >= history.alone(one.put_in).value_mg


def _weight(history: History, one: Stretch, some: Sequence[PutIn]) -> int:
    """How much of the rest of a stretch the counted ones of *some* have, in any unit."""
    if _goes_by_estimates(history, one):
        return history.own(counted(some)).value_mg
    return history.pieces(counted(some)) if history.pieces(one.counted) else len(counted(some))


def _goes_by_estimates(history: History, one: Stretch) -> bool:
    if one.after is not None and one.after.basis == "estimate":
        # What was stated when it left was the sum of the estimates; pieces of unknown mass were not in it.
        return history.own(one.counted).value_mg > 0
    return history.is_told_by_estimates(one.counted)


def _fitted(amount: Amount, value_mg: int) -> Amount:
    """The amount with another value, and its ends moved out where they would not hold it."""
    return replace(
        amount,
        value_mg=value_mg,
        lower_mg=min(value_mg, amount.lower_mg),
        upper_mg=max(value_mg, amount.upper_mg),
        weighed_mg=value_mg if amount.basis == "weighed" else min(value_mg, amount.weighed_mg),
    )


def _part(history: History, one: Stretch, some: slice) -> tuple[Amount, str]:
    """A part of a stretch that ends with a weighing, and in words how that was shared out where it was."""
    assert one.after is not None
    whole = less(one.after, one.before)
    within, others = one.put_in[some], one.put_in[: some.start] + one.put_in[some.stop :]
    value_mg = _value_mg(history, one, some)
    if not _has_rest(history, one, whole.value_mg):
        return _scaled(history, one, within, value_mg), _how(history, one, within, one.put_in, "what each weighs")
    if not counted(within):
        return history.alone(within), ""
    if not counted(others):
        return less(whole, history.alone(others)), ""
    by = "estimates" if _goes_by_estimates(history, one) else "pieces"
    own = history.alone(within)
    shared = _shared(history, one, counted(within), counted(others), value_mg - own.value_mg)
    return together([own, shared]), _how(history, one, counted(within), one.counted, by)


def _scaled(history: History, one: Stretch, within: Sequence[PutIn], value_mg: int) -> Amount:
    """A part of a stretch whose entries say by themselves all, or more, than what the scale shows of them."""
    assert one.after is not None
    own, sure, whole = history.own(within), history.alone(within), less(one.after, one.before)
    every = history.alone(one.put_in)
    is_near = every.lower_mg <= whole.upper_mg and whole.lower_mg <= every.upper_mg
    if is_near and not counted(within):
        reach_mg = sure.weighed_expanded_mg + abs(value_mg - sure.value_mg)
        return Amount(value_mg, max(0, value_mg - reach_mg), value_mg + reach_mg, value_mg, reach_mg, "weighed")
    lower_mg, upper_mg = own.lower_mg, own.upper_mg
    if counted(within):
        # What was counted may be all that the scale leaves open, or any of it where the weighings contradict.
        open_mg = whole.upper_mg - (every.lower_mg if is_near else 0)
        lower_mg, upper_mg = sure.lower_mg, max(upper_mg, min(whole.upper_mg, sure.upper_mg + open_mg))
    if one.peak_mg:
        lower_mg, upper_mg = 0, max(upper_mg, one.peak_mg - one.before.lower_mg)
    return Amount(value_mg, max(0, min(value_mg, lower_mg)), max(value_mg, upper_mg), basis="estimate")


def _shared(history: History, one: Stretch, within: Sequence[PutIn], others: Sequence[PutIn], value_mg: int) -> Amount:
    """The share, *value_mg*, that counted ones have in the rest of a weighing, beside the *others*, with its ends."""
    assert one.after is not None
    rest = less(less(one.after, one.before), history.alone(one.put_in))
    own, other = history.own(within), history.own(others)
    lowest, highest = 0.0, float(rest.upper_mg)
    if _goes_by_estimates(history, one):
        low = own.lower_mg / max(1, own.lower_mg + other.upper_mg)
        high = own.upper_mg / max(1, own.upper_mg + other.lower_mg)
        # The estimates themselves, of the part and of the rest, are not left out by the sharing either.
        lowest = min(low * rest.lower_mg, own.lower_mg, max(0, rest.lower_mg - other.upper_mg))
        highest = max(high * rest.upper_mg, own.upper_mg, rest.upper_mg - other.lower_mg)
    elif history.is_of_one_source(one.counted):
        low, high = shares_by_pieces(history.pieces(within), history.pieces(others))
        lowest, highest = low * rest.lower_mg, high * rest.upper_mg
    most_mg = rest.upper_mg
    if one.peak_mg:
        # Weighings contradict one another: any of it may be of the part, and as much as the scale showed in between.
        most_mg = max(most_mg, one.peak_mg - one.before.lower_mg)
        lowest, highest = 0.0, float(most_mg)
    return Amount(
        value_mg=value_mg,
        lower_mg=max(0, min(value_mg, math.floor(lowest))),
        upper_mg=max(value_mg, min(most_mg, math.ceil(highest))),
        basis="estimate",
    )


def shares_by_pieces(within: int, others: int) -> tuple[float, float]:
    """The ends (95 %) of the share of a mass that *within* pieces have of it, beside *others* of the same stream.

    Own judgement, no source: mean masses differ by no more than `DRIFT` either way, and single pieces scatter by as
    much as their mean, as exponential masses do. The logarithm of the ratio of two such means is taken as normal; its
    variance is the sum of two trigamma functions, by the first terms of their series (Abramowitz and Stegun 6.4.12).

    >>> [round(share, 2) for share in shares_by_pieces(218, 203)]
    [0.31, 0.72]
    """
    variance = math.fsum(1 / n + 1 / (2 * n**2) + 1 / (6 * n**3) for n in (within, others))
    factor = DRIFT * math.exp(1.96 * math.sqrt(variance))
    return within / (within + factor * others), factor * within / (factor * within + others)


def _how(history: History, one: Stretch, within: Sequence[PutIn], among: Sequence[PutIn], by: str) -> str:
    pieces = f"{history.pieces(within)} of {history.pieces(among)} pieces"
    return f"shared out of entry {one.seqs[-1]} by {by}: {pieces} came in the period"
