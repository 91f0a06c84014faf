"""What weighings say of what went in between them: one increment for each, from the effective facts of a site.

Four things are weighed. A container in place: the change of its gross mass, less the known bodies and the pieces
weighed singly that went in meanwhile. A pickup at the receiving facility: the net mass of each container, or of all
together where the paper has one sum. A trap by itself, gross and tare. A retaining unit, or pieces that are counted,
by themselves. An increment that holds a body of unknown mass, or pieces that nothing gives a mass, teaches nothing;
it is found all the same, so that it can be said what to mend. Where nothing unweighed went in there is no increment.
A received weight that somebody explained (a remark on the pickup about its receipt) is none either: what they explained
is that it does not tell what went in.

Two weighings of one container in a row share a reading; that makes neighbouring increments depend on each other a
little (by the scale's variance, which is small against the scatter of the debris), and is left out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from wasteledger.errors import WasteLedgerError
from wasteledger.estimate.agreement import ReceivedLimits
from wasteledger.estimate.coverage import coverage_factor
from wasteledger.model import entries as kinds
from wasteledger.model.containers import Holding, Tally
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.standing import ContainerStanding
from wasteledger.model.standing.containers import tally_of

READ_FOR_MASS: tuple[str, ...] = tuple(
    body.KIND
    for body in (
        kinds.ContainerOpened,
        kinds.Swap,
        kinds.Deposit,
        kinds.UnitReplaced,
        kinds.Weighing,
        kinds.ContainerClosed,
        kinds.PickupBooked,
        kinds.PickupReleased,
        kinds.Receipt,
        kinds.Remark,
    )
)
"""The kinds of entries that `mass_increments` wants; others may be handed in and change nothing."""

Weighed = Literal["container", "receipt", "trap", "unit", "pieces"]


@dataclass(frozen=True, slots=True)
class Increment:
    """One weighing of what was otherwise only counted.

    Attributes:
        weighed: What stood on the scale.
        ref: The container, pickup, trap or separator, or the container that pieces went into.
        containers: The containers that it speaks of; more than one where a receipt has one sum for several.
        seq: The entry that weighed it.
        began_at: When the last weighing before, or the opening, was; of a single thing the time of its own entry.
        ended_at: When it was weighed.
        net_mg: What the counted things weighed together, bodies of known mass taken off; may be below 0.
        variance_mg2: Of the scales that it rests on.
        tallies: The counted things, without their bodies.
        inserts_unknown: Bodies of unknown mass among them; where there are any, nothing can be learned.
    """

    weighed: Weighed
    ref: str
    containers: tuple[str, ...]
    seq: int
    began_at: datetime
    ended_at: datetime
    net_mg: int
    variance_mg2: float
    tallies: tuple[Tally, ...]
    inserts_unknown: int = 0

    @property
    def sources(self) -> frozenset[str]:
        """What the counted things are: kinds of traps, ``separator_unit``, ``stream:`` and a stream."""
        return frozenset(tally.source for tally in self.tallies)

    @property
    def holding(self) -> Holding:
        """The counted things as a holding of their own."""
        return Holding(tallies=self.tallies)


def mass_increments(facts: Iterable[Fact], limits: ReceivedLimits) -> tuple[Increment, ...]:
    """The increments that the weighings among *facts* give, oldest first.

    Args:
        facts: Effective facts of one site, oldest first, of the kinds in `READ_FOR_MASS` at least.
        limits: How well a received weight is known where its paper does not say.
    """
    facts = tuple(facts)
    # A receipt that was put right is another fact, and what explained it as first written speaks of it no more.
    explained = {
        (fact.body.pickup, fact.body.about)
        for fact in facts
        if isinstance(fact.body, kinds.Remark) and fact.body.pickup and fact.body.about
    }
    walk = _Walk(limits)
    for fact in facts:
        if not (isinstance(fact.body, kinds.Receipt) and (fact.body.pickup, fact.seq) in explained):
            walk.take(fact)
    return tuple(sorted(walk.found, key=lambda one: (one.ended_at, one.seq, one.ref)))


class _Walk:
    """The containers as they stood, and what was found so far."""

    def __init__(self, limits: ReceivedLimits) -> None:
        self.found: list[Increment] = []
        self._limits = limits
        self._standing: dict[str, ContainerStanding] = {}
        self._base_at: dict[str, datetime] = {}
        self._received: set[str] = set()

    def take(self, fact: Fact) -> None:
        body = fact.body
        match body:
            case kinds.ContainerOpened():
                self._standing[body.container] = ContainerStanding.start(Subject("container", body.container), fact)
                self._base_at[body.container] = fact.happened_at
                return
            case kinds.Receipt():
                self._receipt(fact, body)
            case kinds.Swap():
                self._single(fact, _weighed_swap(fact, body))
            case kinds.UnitReplaced():
                self._single(fact, _weighed_unit(fact, body))
            case kinds.Deposit():
                self._single(fact, _weighed_pieces(fact, body))
        for container in _containers(body):
            self._move(container, fact)

    def _single(self, fact: Fact, increment: Increment | None) -> None:
        if increment is not None:
            self.found.append(increment)

    def _move(self, container: str, fact: Fact) -> None:
        before = self._standing.get(container)
        if before is None:
            return
        try:
            after = before.after(fact)
        except WasteLedgerError:
            # The journal refuses this; a fact of a damaged journal must not stop the rest from teaching.
            return
        if isinstance(fact.body, kinds.Weighing):
            self._weighing(container, before, after, fact)
            self._base_at[container] = fact.happened_at
        self._standing[container] = after

    def _weighing(self, container: str, before: ContainerStanding, after: ContainerStanding, fact: Fact) -> None:
        held = before.holding
        if not held.tallies:
            return
        twelfths = after.holding.base_twelfths_mg2 + held.base_twelfths_mg2 + held.added_twelfths_mg2
        if held.base_seq:
            # The empty container was taken off both times: its uncertainty cancels.
            twelfths -= 2 * before.tare_twelfths_mg2
        self.found.append(
            Increment(
                weighed="container",
                ref=container,
                containers=(container,),
                seq=fact.seq,
                began_at=self._base_at[container],
                ended_at=fact.happened_at,
                net_mg=after.holding.base_mg - _known_mg(held),
                variance_mg2=twelfths / 12,
                tallies=held.tallies,
                inserts_unknown=sum(tally.inserts_unknown for tally in held.tallies),
            )
        )

    def _receipt(self, fact: Fact, body: kinds.Receipt) -> None:
        stated = {one.container: one for one in body.containers}
        sent = [one for one in self._standing.values() if one.pickup == body.pickup and one.status == "released"]
        fresh = [one for one in sent if one.container not in self._received]
        for one in fresh:
            if one.container in stated:
                said = stated[one.container]
                self._came(fact, one.container, (one,), said.net_mg, self._received_u_mg(said, one) ** 2)
        left = [one for one in fresh if one.container not in stated]
        if body.total_mg is not None and left and len(fresh) == len(sent):
            # What the paper states of the others is taken off the sum, and brings its own uncertainty along.
            others = [(stated[one.container], one) for one in fresh if one.container in stated]
            net_mg = body.total_mg - sum(said.net_mg for said, _ in others)
            variance = self._limits.uncertainty_mg(body.total_mg + sum(one.tare_mg for one in fresh)) ** 2
            variance += sum(self._received_u_mg(said, one) ** 2 for said, one in others)
            self._came(fact, body.pickup, tuple(left), net_mg, variance)

    def _received_u_mg(self, said: kinds.ReceivedContainer, sent: ContainerStanding) -> float:
        """The standard uncertainty of one container's received weight."""
        if said.uncertainty_mg is not None:
            return said.uncertainty_mg / coverage_factor()
        return self._limits.uncertainty_mg(said.net_mg + sent.tare_mg)

    def _came(
        self, fact: Fact, ref: str, sent: tuple[ContainerStanding, ...], net_mg: int, received_variance: float
    ) -> None:
        self._received.update(one.container for one in sent)
        tallies = Holding()
        for one in sent:
            for tally in one.holding.tallies:
                tallies = tallies.with_tally(tally)
        if not tallies.tallies:
            return
        own = sum(one.holding.base_twelfths_mg2 + one.holding.added_twelfths_mg2 for one in sent) / 12
        self.found.append(
            Increment(
                weighed="receipt",
                ref=ref,
                containers=tuple(one.container for one in sent),
                seq=fact.seq,
                began_at=min(self._base_at[one.container] for one in sent),
                ended_at=fact.happened_at,
                net_mg=net_mg - sum(_known_mg(one.holding) for one in sent),
                variance_mg2=received_variance + own,
                tallies=tallies.tallies,
                inserts_unknown=sum(tally.inserts_unknown for tally in tallies.tallies),
            )
        )


def _containers(body: object) -> tuple[str, ...]:
    match body:
        case kinds.PickupBooked(containers=refs):
            return refs
        case kinds.PickupReleased(containers=released):
            return tuple(one.container for one in released)
        case (
            kinds.Swap(container=ref)
            | kinds.Deposit(container=ref)
            | kinds.UnitReplaced(container=ref)
            | kinds.Weighing(container=ref)
            | kinds.ContainerClosed(container=ref)
        ):
            return (ref,)
    return ()


def _known_mg(holding: Holding) -> int:
    return holding.base_mg + holding.added_mg + sum(tally.inserts_mg for tally in holding.tallies)


def _alone(
    weighed: Weighed,
    ref: str,
    container: str,
    fact: Fact,
    net_mg: int,
    twelfths: int,
    tally: Tally,
    inserts_unknown: int = 0,
) -> Increment:
    bare = Tally(
        tally.source, tally.grade, tally.count, tally.dentists_permille, tally.dentist_days_permille
    )  # the body was taken off already
    return Increment(
        weighed=weighed,
        ref=ref,
        containers=(container,),
        seq=fact.seq,
        began_at=fact.happened_at,
        ended_at=fact.happened_at,
        net_mg=net_mg,
        variance_mg2=twelfths / 12,
        tallies=(bare,),
        inserts_unknown=inserts_unknown,
    )


def _weighed_swap(fact: Fact, body: kinds.Swap) -> Increment | None:
    if body.gross is None or body.tare is None:
        return None
    twelfths = body.gross.twelfths_mg2 + body.tare.twelfths_mg2
    net_mg = body.gross.mass_mg - body.tare.mass_mg
    return _alone("trap", body.trap, body.container, fact, net_mg, twelfths, tally_of(body))


def _weighed_unit(fact: Fact, body: kinds.UnitReplaced) -> Increment | None:
    if body.mass is None:
        return None
    tally, twelfths = tally_of(body), body.mass.twelfths_mg2
    net_mg = body.mass.mass_mg - tally.inserts_mg
    return _alone("unit", body.separator, body.container, fact, net_mg, twelfths, tally, tally.inserts_unknown)


def _weighed_pieces(fact: Fact, body: kinds.Deposit) -> Increment | None:
    if body.mass is None or body.count is None:
        return None
    tally = Tally(f"stream:{body.stream}", "", count=body.count, dentists_permille=1000 * body.count)
    return _alone("pieces", body.container, body.container, fact, body.mass.mass_mg, body.mass.twelfths_mg2, tally)
