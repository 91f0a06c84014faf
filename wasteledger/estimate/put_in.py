"""What ever went into a container, by source: before its last weighing and since, counted and weighed singly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wasteledger.estimate.containers import STREAM
from wasteledger.estimate.prior import SEPARATOR_UNIT
from wasteledger.model.containers import Holding, Tally
from wasteledger.model.entries import Deposit, Swap, UnitReplaced, Weighing
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.standing import ContainerStanding
from wasteledger.model.traps import Insert
from wasteledger.model.values import Body


@dataclass(frozen=True, slots=True)
class Piece:
    """What stood on a scale by itself as it went in.

    Attributes:
        source: A trap kind's value, ``separator_unit``, or ``stream:`` and a stream.
        mass_mg: As it was weighed, net of a body that did not go in.
        twelfths_mg2: Twelve times its variance.
        body_mg: Mass of the trap body or unit in it; None where it is not known.
    """

    source: str
    mass_mg: int
    twelfths_mg2: int
    body_mg: int | None = 0


@dataclass(frozen=True, slots=True)
class PutIn:
    """All that went into one container.

    Attributes:
        base_mg: Net mass at the last weighing; 0 where there was none.
        base_twelfths_mg2: Twelve times its variance.
        earlier: Tallies of what had gone in unweighed by then.
        earlier_pieces: What had gone in singly weighed by then.
        since: Tallies of what went in unweighed since.
        since_pieces: What went in singly weighed since.
    """

    base_mg: int = 0
    base_twelfths_mg2: int = 0
    earlier: tuple[Tally, ...] = ()
    earlier_pieces: tuple[Piece, ...] = ()
    since: tuple[Tally, ...] = ()
    since_pieces: tuple[Piece, ...] = ()


def put_in(container: str, facts: Sequence[Fact]) -> PutIn:
    """What went into *container*; *facts* are all its effective facts, oldest first.

    Raises:
        NotThereYet: The first fact does not open it.
    """
    first, *later = facts
    standing = ContainerStanding.start(Subject("container", container), first)
    earlier, earlier_pieces, pieces = Holding(), list[Piece](), list[Piece]()
    for fact in later:
        before, standing = standing, standing.after(fact)
        if isinstance(fact.body, Weighing):
            for tally in before.holding.tallies:
                earlier = earlier.with_tally(tally)
            earlier_pieces += pieces
            pieces = []
        elif (gained := standing.holding.added_mg - before.holding.added_mg) or _was_weighed(fact.body):
            twelfths = standing.holding.added_twelfths_mg2 - before.holding.added_twelfths_mg2
            pieces.append(Piece(_source(fact.body), gained, twelfths, _body_mg(fact.body)))
    holding = standing.holding
    return PutIn(
        base_mg=holding.base_mg,
        base_twelfths_mg2=holding.base_twelfths_mg2,
        earlier=earlier.tallies,
        earlier_pieces=tuple(earlier_pieces),
        since=holding.tallies,
        since_pieces=tuple(pieces),
    )


def _was_weighed(body: Body) -> bool:
    match body:
        case Swap():
            return body.gross is not None and body.tare is not None
        case Deposit() | UnitReplaced():
            return body.mass is not None
    return False


def _source(body: Body) -> str:
    match body:
        case Swap():
            return body.trap_kind.value
        case Deposit():
            return f"{STREAM}{body.stream}"
    return SEPARATOR_UNIT


def _body_mg(body: Body) -> int | None:
    match body:
        case Swap(insert=Insert.WHOLE):
            return body.insert_mg
        case UnitReplaced():
            return body.unit_mg
    return 0
