"""One container's history, cut at its weighings: what went in between two of them, and by how much the scale rose.

Who shares a weighing out must know all that it tells of, whatever period is asked for. So stretches are made once over
all of the container's history. Where the scale shows less than it did the time before, the later weighing tells of both
stretches: within the limits of the scale the earlier level is set to the later one, beyond them the two become one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from wasteledger.ledger.reader import Reader
from wasteledger.model.entries import Deposit, PickupReleased, Swap, UnitReplaced, Weighing
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.learning import current_prior
from wasteledger.office.masses import mass_of
from wasteledger.office.one_amount import Amount, amount_of, less, stated, together
from wasteledger.units import Mass


@dataclass(frozen=True, slots=True)
class PutIn:
    """Something that came in.

    Attributes:
        at: When.
        fact: The entry; None where a weighing alone shows that something came in.
        alone: What it weighs by itself; None where it was counted only.
    """

    at: datetime
    fact: Fact | None
    alone: Amount | None


@dataclass(frozen=True, slots=True)
class Stretch:
    """What went in from one weighing (or the opening) to the next, where there is one yet.

    Attributes:
        before: What stood in it at the beginning.
        put_in: What went in, by time.
        after: What the weighing, or the release, says of the end; None where there is none.
        seqs: The entries of the weighings.
        faults: Where weighings contradict one another, in words.
        peak_mg: The upper end of the highest level in between, where a later weighing was lower beyond its limits.
    """

    before: Amount
    put_in: tuple[PutIn, ...]
    after: Amount | None = None
    seqs: tuple[int, ...] = ()
    faults: tuple[str, ...] = ()
    peak_mg: int = 0

    @property
    def counted(self) -> tuple[PutIn, ...]:
        """What was not weighed by itself."""
        return counted(self.put_in)

    def until(self, moment: datetime) -> int:
        """How many of what went in came before *moment*."""
        return sum(one.at < moment for one in self.put_in)


def counted(put_in: Iterable[PutIn]) -> tuple[PutIn, ...]:
    """Of these what was not weighed by itself."""
    return tuple(one for one in put_in if one.alone is None)


class History:
    """One container's stretches, and what its entries say by themselves."""

    def __init__(self, reader: Reader, container: str) -> None:
        self._reader, self._container, self._prior = reader, container, current_prior(reader)
        subject = Subject("container", container)
        first, *self._later = reader.facts_about(subject)
        self._empty = ContainerStanding.start(subject, first)
        self.stretches = tuple(_with_fault(one, self.alone(one.put_in)) for one in self._cut())

    def before(self, moment: datetime) -> Amount:
        """What stood in it just before *moment*."""
        standing = self._empty
        for fact in self._later:
            if fact.happened_at >= moment:
                break
            standing = standing.after(fact)
        return amount_of(mass_of(self._reader, standing, self._prior))

    def own(self, put_in: Sequence[PutIn]) -> Amount:
        """What these entries say by themselves, without any weighing of the container."""
        entered = amount_of(mass_of(self._reader, self._standing(put_in), self._prior))
        return together([entered, *(one.alone for one in put_in if one.fact is None and one.alone is not None)])

    def alone(self, put_in: Sequence[PutIn]) -> Amount:
        """Of these what was weighed by itself, together."""
        return self.own([one for one in put_in if one.alone is not None])

    def pieces(self, put_in: Sequence[PutIn]) -> int:
        """How many pieces they put in."""
        return self._standing(put_in).pieces

    def is_told_by_estimates(self, put_in: Sequence[PutIn]) -> bool:
        """Whether every piece has a mass, and some of it is an estimate, which has an interval."""
        mass = mass_of(self._reader, self._standing(put_in), self._prior)
        return not mass.unknown_pieces and mass.estimated_mg > 0

    def is_of_one_source(self, put_in: Sequence[PutIn]) -> bool:
        """Whether all of it was counted, and came from one stream or one kind of trap."""
        holding = self._standing(put_in).holding
        return not holding.added_mg and len({tally.source for tally in holding.tallies}) == 1

    def _cut(self) -> list[Stretch]:
        found: list[Stretch] = []
        before, put_in, standing = Amount(), list[PutIn](), self._empty
        for fact in self._later:
            standing = standing.after(fact)
            match fact.body:
                case Swap() | Deposit() | UnitReplaced():
                    put_in.append(self._put_in(fact))
                case Weighing():
                    after = amount_of(mass_of(self._reader, standing, self._prior))
                    found = _and(found, _ended(before, put_in, after, fact))
                    before, put_in = after, []
                case PickupReleased() as released:
                    # What was stated when it left stands, whatever was corrected since.
                    left = stated([one for one in released.containers if one.container == self._container])
                    if left.basis == "weighed" and found and not put_in:
                        found = _and(found[:-1], replace(found[-1], after=left))
                    elif left.basis == "weighed" or (left.basis == "estimate" and put_in):
                        found = _and(found, _ended(before, put_in, left, fact))
                    return found
        return [*found, Stretch(before, tuple(put_in))] if put_in else found

    def _put_in(self, fact: Fact) -> PutIn:
        standing = self._empty.after(fact)
        is_alone = not standing.holding.tallies
        own = amount_of(mass_of(self._reader, standing, self._prior)) if is_alone else None
        return PutIn(fact.happened_at, fact, own)

    def _standing(self, put_in: Sequence[PutIn]) -> ContainerStanding:
        standing = self._empty
        for one in put_in:
            standing = standing.after(one.fact) if one.fact is not None else standing
        return standing


def _ended(before: Amount, put_in: Sequence[PutIn], after: Amount, fact: Fact) -> Stretch:
    if not put_in and after.value_mg > before.value_mg:
        # Nothing is recorded that explains the rise: it is told of the day of the weighing.
        put_in = (PutIn(fact.happened_at, None, less(after, before)),)
    return Stretch(before, tuple(put_in), after, (fact.seq,))


def _and(found: Sequence[Stretch], one: Stretch) -> list[Stretch]:
    """One more stretch after those *found*; one that ends lower than it began is carried back to those before."""
    earlier, later, after = list(found), list[Stretch](), one.after
    while earlier and after is not None and after.value_mg < one.before.value_mg:
        last = earlier.pop()
        seqs = (*last.seqs, *one.seqs)
        if after.upper_mg >= one.before.lower_mg:
            # No more than the scale leaves open: the level did not fall, and what went in since shows on no scale.
            later += [replace(one, before=after)] if one.put_in else []
            one = replace(last, after=after, seqs=seqs)
            continue
        fall = Mass(one.before.value_mg - after.value_mg)
        shows = f"entry {one.seqs[-1]} shows {fall} less than entry {last.seqs[-1]} did"
        one = Stretch(
            before=last.before,
            put_in=(*last.put_in, *one.put_in),
            after=after,
            seqs=seqs,
            faults=(*last.faults, *one.faults, f"{shows}, and what came in before is set lower"),
            peak_mg=max(last.peak_mg, one.peak_mg, one.before.upper_mg),
        )
    return [*earlier, one, *reversed(later)]


def _with_fault(one: Stretch, own: Amount) -> Stretch:
    """The stretch, and in words where it rose by less, or by more, than what was weighed by itself, *own*."""
    after = one.after
    if after is None or after.basis != "weighed" or own.basis == "none":
        return one
    rise = less(after, one.before)
    differs = ""
    if rise.upper_mg < own.lower_mg:
        differs = f"{Mass(abs(own.value_mg - rise.value_mg))} less"
    elif rise.lower_mg > own.upper_mg and not one.counted:
        differs = f"{Mass(abs(rise.value_mg - own.value_mg))} more"
    if not differs:
        return one
    fault = f"entry {one.seqs[-1]} shows {differs} than what went in weighed by itself"
    return replace(one, faults=(*one.faults, fault))
