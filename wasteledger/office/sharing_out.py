"""What came into a container in a period, where a weighing tells of more than the period: it is shared out.

A weighing tells what came in since the one before it. Where some of that came in outside the period, the part is shared
out by what the journal has of both: by estimates where every piece has one, else by pieces. So the parts of any periods
that follow one another add up to the weighing, and nothing is in two of them. A later weighing therefore changes what
is said of an earlier period. Nothing shared out is ever said as weighed, or as sure as a weighing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import Deposit, PickupReleased, Swap, UnitReplaced, Weighing
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.learning import current_prior
from wasteledger.office.masses import mass_of
from wasteledger.office.one_amount import Amount, amount_of, less, stated, together

DRIFT = 2.0
"""The mean mass of the pieces of one stream may differ by this factor between two times: own judgement, no source."""

JUDGEMENT = (
    "Where a weighing tells of more than the period, it is shared out, by estimates or by pieces. Own judgement: a "
    "mean piece may weigh twice or half as much at another time, and pieces scatter by as much as their mean. Sheets "
    "made before that weighing said otherwise."
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


@dataclass(frozen=True, slots=True)
class _Stretch:
    """What went in from one weighing (or the opening) to the next, where there is one yet.

    *ended_at* and *after* are None where there is none; *seq* is its entry.
    """

    before: Amount
    put_in: tuple[Fact, ...]
    ended_at: datetime | None = None
    after: Amount | None = None
    seq: int = 0


class _History:
    """One container's facts, cut into stretches."""

    def __init__(self, reader: Reader, container: str) -> None:
        self._reader, self._container, self._prior = reader, container, current_prior(reader)
        subject = Subject("container", container)
        first, *self._later = reader.facts_about(subject)
        self._empty = ContainerStanding.start(subject, first)
        self.stretches = self._cut_at_weighings()

    def before(self, moment: datetime) -> Amount:
        """What stood in it just before *moment*, by what was known then; what left as the release stated it."""
        standing = self._empty
        for fact in self._later:
            if fact.happened_at >= moment:
                break
            if isinstance(fact.body, PickupReleased):
                return self._stated(fact.body)
            standing = standing.after(fact)
        return amount_of(mass_of(self._reader, standing, self._prior))

    def own(self, put_in: Sequence[Fact]) -> Amount:
        """What these entries say by themselves, without any weighing of the container."""
        return amount_of(mass_of(self._reader, self._standing(put_in), self._prior))

    def pieces(self, put_in: Sequence[Fact]) -> int:
        """How many pieces they put in."""
        return self._standing(put_in).pieces

    def is_weighed(self, put_in: Sequence[Fact]) -> bool:
        """Whether each of them stood on a scale by itself."""
        return not self._standing(put_in).holding.tallies

    def is_told_by_estimates(self, put_in: Sequence[Fact]) -> bool:
        """Whether every piece has a mass, and some of it is an estimate, which has an interval."""
        mass = mass_of(self._reader, self._standing(put_in), self._prior)
        return not mass.unknown_pieces and mass.estimated_mg > 0

    def is_of_one_source(self, put_in: Sequence[Fact]) -> bool:
        """Whether all of it was counted, and came from one stream or one kind of trap."""
        holding = self._standing(put_in).holding
        return not holding.added_mg and len({tally.source for tally in holding.tallies}) == 1

    def cut(self, moment: datetime) -> None:
        """Part the stretch that *moment* lies in, if weighings tell what stood there then."""
        found: list[_Stretch] = []
        for one in self.stretches:
            earlier = tuple(fact for fact in one.put_in if fact.happened_at < moment)
            later = one.put_in[len(earlier) :]
            there: Amount | None = None
            if earlier and later and self.is_weighed(earlier):
                there = self.before(moment)
            elif earlier and later and one.after is not None and self.is_weighed(later):
                there = less(one.after, self.own(later))
            # What is shared out of the earlier part goes back to the same weighing.
            if there is None:
                found.append(one)
                continue
            found.append(_Stretch(one.before, earlier, moment, there, one.seq))
            found.append(replace(one, before=there, put_in=later))
        self.stretches = found

    def _cut_at_weighings(self) -> list[_Stretch]:
        found: list[_Stretch] = []
        before, put_in, standing = Amount(), list[Fact](), self._empty
        for fact in self._later:
            standing = standing.after(fact)
            match fact.body:
                case Swap() | Deposit() | UnitReplaced():
                    put_in.append(fact)
                case Weighing():
                    after = amount_of(mass_of(self._reader, standing, self._prior))
                    found.append(_Stretch(before, tuple(put_in), fact.happened_at, after, fact.seq))
                    before, put_in = after, []
                case PickupReleased() as released:
                    left = self._stated(released)
                    if left.basis == "weighed" and put_in:
                        return [*found, _Stretch(before, tuple(put_in), fact.happened_at, left, fact.seq)]
                    if left.basis == "weighed" and found:
                        # What was stated when it left stands, whatever was corrected since.
                        found[-1] = replace(found[-1], after=left)
        return [*found, _Stretch(before, tuple(put_in))] if put_in else found

    def _standing(self, put_in: Sequence[Fact]) -> ContainerStanding:
        standing = self._empty
        for fact in put_in:
            standing = standing.after(fact)
        return standing

    def _stated(self, body: PickupReleased) -> Amount:
        return stated([one for one in body.containers if one.container == self._container])


def came_in(reader: Reader, container: str, begin: datetime, end: datetime) -> CameIn:
    """What came into *container* from *begin* to before *end*."""
    history = _History(reader, container)
    history.cut(begin)
    history.cut(end)
    first: Amount | None = None
    last = Amount()
    parts: list[Amount] = []
    seqs: list[int] = []
    words: list[str] = []
    for one in history.stretches:
        within = tuple(fact for fact in one.put_in if begin <= fact.happened_at < end)
        if one.ended_at is None or one.after is None:
            if not within:
                continue
            is_all = first is not None or one.before.basis == "none"
            if is_all and one.put_in[0] is within[0]:
                first, last = first or one.before, history.before(end)
            else:
                parts.append(history.own(within))
            continue
        # A weighing that nothing went in before sets right what the day of the weighing is told of.
        if len(within) == len(one.put_in) and (within or begin <= one.ended_at < end):
            first, last = first or one.before, one.after
            seqs.append(one.seq)
        elif within:
            parts.append(_part(history, one, one.after, begin, end))
            seqs.append(one.seq)
            words.append(_how(history, one, within))
    whole = [less(last, first)] if first is not None else []
    return CameIn(together([*whole, *parts]), tuple(seq for seq in seqs if seq), "; ".join(words))


def _part(history: _History, one: _Stretch, after: Amount, begin: datetime, end: datetime) -> Amount:
    """The period's part of a stretch that ends with a weighing, *after*, and reaches beyond the period."""
    before = tuple(fact for fact in one.put_in if fact.happened_at < begin)
    until = tuple(fact for fact in one.put_in if fact.happened_at < end)
    within, rest = until[len(before) :], (*before, *one.put_in[len(until) :])
    own, other, pieces = history.own(within), history.own(rest), history.pieces
    least_mg = max(0, after.lower_mg - one.before.upper_mg)
    most_mg = max(0, after.upper_mg - one.before.lower_mg)
    whole_mg = max(0, after.value_mg - one.before.value_mg)
    if history.is_told_by_estimates(one.put_in):
        weights = [history.own(some).value_mg for some in (before, until, one.put_in)]
        low = own.lower_mg / max(1, own.lower_mg + other.upper_mg)
        high = own.upper_mg / max(1, own.upper_mg + other.lower_mg)
        # The estimates themselves, of the part and of the rest, are not left out by the sharing either.
        lowest = min(low * least_mg, own.lower_mg, max(0, least_mg - other.upper_mg))
        highest = max(high * most_mg, own.upper_mg, most_mg - other.lower_mg)
    else:
        weights = [pieces(some) for some in (before, until, one.put_in)]
        lowest, highest = 0.0, float(most_mg)
        if history.is_of_one_source(one.put_in):
            low, high = shares_by_pieces(pieces(within), pieces(rest))
            lowest, highest = low * least_mg, high * most_mg
    # Counted from the beginning of the stretch each time, so that parts add up to the milligram.
    earlier_mg, later_mg = (whole_mg * weight // weights[2] for weight in weights[:2])
    value_mg = later_mg - earlier_mg
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


def _how(history: _History, one: _Stretch, within: Sequence[Fact]) -> str:
    by = "estimates" if history.is_told_by_estimates(one.put_in) else "pieces"
    pieces = f"{history.pieces(within)} of {history.pieces(one.put_in)} pieces"
    return f"shared out of entry {one.seq} by {by}: {pieces} came in the period"
