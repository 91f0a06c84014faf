"""Hazardous waste counted month by month, and what each ordinance's generator categories make of it.

Amalgam waste counts in the month in which it went into a container, whole: debris by the same estimate as anywhere,
with the error that all swaps of a kind share, and the bodies of the traps; weighed, where it was weighed by itself.
Other waste counts as it was typed in. Pieces whose mass nothing tells are in no count, and are named; only the upper
end that a category is judged by takes an allowance for them.

Each ordinance counts by itself. Streams that a rule in force leaves out of the monthly count are left out of the
counts that it may change, and of no stock; what the category would be with them is said where it differs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from wasteledger.estimate.containers import Estimate, standing_mass
from wasteledger.estimate.pooled import as_one
from wasteledger.ledger.reader import Reader
from wasteledger.model.containers import Holding
from wasteledger.model.entries import Deposit, Swap, UnitReplaced
from wasteledger.model.facts import Fact
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.learning import current_prior
from wasteledger.office.other_waste import Month, other_waste_told, waste_of
from wasteledger.office.starting_values import mass_sources
from wasteledger.office.waste_months import MonthCategory, MonthCount, OtherMade, cited, counted_of
from wasteledger.office.workplace import zone_of
from wasteledger.ordinance.categories import may_leave_out, place
from wasteledger.ordinance.figures import SaidBy, categories, uncounted
from wasteledger.ordinance.rules import Category, Ordinance, Uncounted

_FILLING = (Swap, Deposit, UnitReplaced)


class Counting:
    """A site's waste by the month, with what its own weighings have taught, for ordinances whose overrides fit."""

    def __init__(self, reader: Reader, today: date, rules: Sequence[Ordinance]) -> None:
        self.reader, self.today = reader, today
        self.other_facts = other_waste_told(reader)
        self._zone, self._sources = zone_of(reader), mass_sources(reader)
        self._prior = current_prior(reader)
        self._categories, self._uncounted = categories(rules), uncounted(rules)
        self._empty: dict[str, ContainerStanding] = {}
        self._lately: tuple[MonthCount, ...] | None = None

    def months(self, since: Month, until: Month) -> tuple[MonthCount, ...]:
        """Every month from *since* to *until*, oldest first."""
        wanted = [since.plus(number) for number in range(since.months_to(until) + 1)]
        filled: dict[Month, list[Fact]] = {month: [] for month in wanted}
        begin, end = since.bounds(self._zone)[0], until.bounds(self._zone)[1]
        for fact in self.reader.facts_between(begin, end, tuple(kind.KIND for kind in _FILLING)):
            filled[Month.of(fact.happened_at.astimezone(self._zone).date())].append(fact)
        others: dict[str, list[OtherMade]] = {}
        for fact in self.other_facts:
            others.setdefault(waste_of(fact).month, []).append(_made(fact))
        return tuple(self._count(month, filled[month], others.get(str(month), [])) for month in wanted)

    def lately(self) -> tuple[MonthCount, ...]:
        """The last month that is over, and the one that runs: what a category of now goes by."""
        if self._lately is None:
            running = Month.of(self.today)
            self._lately = self.months(running.plus(-1), running)
        return self._lately

    def on_site(self) -> Estimate:
        """All that stands in containers that have not left, as one: traps of a kind share their error."""
        return self._estimate([one.holding for one in self.reader.containers("open", "closed")])

    def ranks_on(self, day: date) -> tuple[tuple[Ordinance, tuple[Category, ...]], ...]:
        """The categories of each ordinance that has some, the lowest first, as they stand on *day*."""
        found: dict[str, tuple[Ordinance, list[Category]]] = {}
        for said in self._categories:
            if said.provision.stands_on(day):
                found.setdefault(said.ordinance.id, (said.ordinance, []))[1].append(said.provision)
        return tuple((one, tuple(sorted(ranks, key=lambda rank: rank.rank))) for one, ranks in found.values())

    def without_use(self, day: date) -> tuple[SaidBy[Uncounted], ...]:
        """Rules that leave streams out of the month's count, where no ordinance in force makes one that they change."""
        counting = [ordinance for ordinance, _ in self.ranks_on(day)]
        return tuple(
            said
            for said in self._uncounted
            if said.provision.stands_on(day) and not any(may_leave_out(said.ordinance, one) for one in counting)
        )

    def _count(self, month: Month, facts: Sequence[Fact], others: Sequence[OtherMade]) -> MonthCount:
        counted_on, amalgam = min(month.last_on, self.today), self._put_in(facts)
        return MonthCount(
            month=month,
            is_so_far=self.today <= month.last_on,
            amalgam=amalgam,
            seqs=tuple(fact.seq for fact in facts),
            others=tuple(others),
            categories=tuple(
                self._category(ordinance, ranks, facts, amalgam, others, counted_on)
                for ordinance, ranks in self.ranks_on(counted_on)
            ),
        )

    def _category(
        self,
        ordinance: Ordinance,
        ranks: Sequence[Category],
        facts: Sequence[Fact],
        amalgam: Estimate,
        others: Sequence[OtherMade],
        counted_on: date,
    ) -> MonthCategory:
        here = {_filling(fact).stream for fact in facts}
        leaving = [
            said
            for said in self._uncounted
            if may_leave_out(said.ordinance, ordinance)
            and said.provision.stands_on(counted_on)
            and here & set(said.provision.streams)
        ]
        left_out = here & {stream for said in leaving for stream in said.provision.streams}
        typed = [(one.made_mg, one.acute) for one in others]
        with_all = place(ranks, counted_of(amalgam, typed)).highest if left_out else None
        if left_out:
            amalgam = self._put_in([fact for fact in facts if _filling(fact).stream not in left_out])
        counted = counted_of(amalgam, typed)
        return MonthCategory(
            ordinance=ordinance.id,
            ordinance_title=ordinance.title,
            counted=counted,
            placed=place(ranks, counted),
            left_out=tuple(sorted(left_out)),
            left_out_by=tuple(f"{said.ordinance.title}, {cited(said.provision)}" for said in leaving),
            with_all=with_all,
            leaves_out_unread=any(not said.provision.confirmed for said in leaving),
            unknown_pieces=amalgam.unknown_pieces,
            is_told=bool(others),
        )

    def _put_in(self, facts: Sequence[Fact]) -> Estimate:
        """What *facts* put into containers, by one estimate, as each container would count it."""
        filled: dict[str, ContainerStanding] = {}
        for fact in facts:
            ref = _filling(fact).container
            filled[ref] = (filled.get(ref) or self._emptied(ref)).after(fact)
        return self._estimate([one.holding for one in filled.values()])

    def _emptied(self, ref: str) -> ContainerStanding:
        """A container as if it stood open and nothing had gone in yet."""
        if ref not in self._empty:
            found = self.reader.find_container(ref)
            if found is None:
                raise ValueError(f"container {ref} was filled and never opened")
            self._empty[ref] = replace(found, holding=Holding(), status="open", closed_at=None, pickup=None)
        return self._empty[ref]

    def _estimate(self, holdings: Sequence[Holding]) -> Estimate:
        return standing_mass(as_one(holdings), self._prior, mass_sources=self._sources)


def _made(fact: Fact) -> OtherMade:
    body = waste_of(fact)
    return OtherMade(fact.seq, body.name, body.made_mg, body.on_hand_mg, body.acute, body.basis)


def _filling(fact: Fact) -> Swap | Deposit | UnitReplaced:
    if not isinstance(fact.body, _FILLING):
        raise ValueError(f"entry {fact.seq} puts nothing into a container")
    return fact.body
