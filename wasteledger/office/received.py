"""What the receiving facility states against what left: compared, kept as a finding, and explained by an entry."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations

from wasteledger.errors import WasteLedgerError
from wasteledger.estimate.agreement import Stated, is_beyond, z_score
from wasteledger.estimate.coverage import coverage_factor
from wasteledger.estimate.rounding import between
from wasteledger.ledger.append import Desk
from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model.entries import Calibration, PickupReleased, Receipt, ReleasedContainer, Remark
from wasteledger.model.facts import Fact, Subject
from wasteledger.model.findings import Finding
from wasteledger.model.standing import PickupStanding
from wasteledger.model.standing.refusals import NotThereYet
from wasteledger.office.bodies import make
from wasteledger.office.restated import release_of, restated_findings, restated_of
from wasteledger.office.starting_values import received_limits
from wasteledger.office.workplace import OFFICE, Recorded, Said, Workplace, answer, said_before, write
from wasteledger.units import Mass

_NOTHING_SAID = Said()


class NothingToExplain(WasteLedgerError):
    """Nothing that a paper of that pickup states is far from what left, or all of it was explained."""

    code = "nothing-to-explain"


@dataclass(frozen=True, slots=True)
class Comparison:
    """One weight of a receipt against what the release stated of the same.

    Attributes:
        pickup: Which pickup.
        container: Which container; None for all of the pickup together.
        release_seq: The entry that states what left.
        receipt_seq: The entry that states what was received.
        left_mg: What was stated as it left.
        lower_mg: Lower end of its 95 % interval.
        upper_mg: Its upper end.
        is_weighed: Whether all of it was weighed.
        unknown_pieces: Pieces of unknown mass that left with it; more than was stated may be received then.
        left: The same in words.
        received_mg: What the facility states.
        received_uncertainty_mg: Its standard uncertainty.
        is_stated: Whether the paper states that uncertainty; else the office's own limits were taken.
        z: The score, in hundredths; below 0 where less came than left.
        is_beyond: Whether it lies beyond the 99 % level.
        explained_seq: The entry that explains it; 0 where none does.
        explained: What that entry says.
    """

    pickup: str
    container: str | None
    release_seq: int
    receipt_seq: int
    left_mg: int
    lower_mg: int
    upper_mg: int
    is_weighed: bool
    unknown_pieces: int
    left: str
    received_mg: int
    received_uncertainty_mg: int
    is_stated: bool
    z: Decimal
    is_beyond: bool
    explained_seq: int = 0
    explained: str = ""

    @property
    def is_open(self) -> bool:
        """Whether it asks for an explanation."""
        return self.is_beyond and not self.explained_seq

    @property
    def says(self) -> str:
        """The two weights, and which way they differ if they do."""
        what = f"Container {self.container}" if self.container else "All together"
        said = f"{what}: the facility states {Mass(self.received_mg)}; what left was {self.left}."
        if self.is_beyond:
            way = "less" if self.z < 0 else "more"
            said += f" That is {way} than both uncertainties allow (99 %; z = {str(self.z).replace('-', '−')})."
        return said


def comparisons_of(reader: Reader, pickup: str) -> tuple[Comparison, ...]:
    """Every weight that the papers of a pickup state against what left, in the order of the papers.

    The weight of all together is compared where the paper does not state every container's.
    """
    return _comparisons(reader, pickup, _Freedoms(reader))


def all_comparisons(reader: Reader) -> tuple[Comparison, ...]:
    """Those of every pickup of which a paper has come back, by the day they were planned for."""
    received = [one for one in reader.pickups() if one.received_seq or one.recycled_seq]
    freedoms = _Freedoms(reader)
    return tuple(one for pickup in received for one in _comparisons(reader, pickup.pickup, freedoms))


def received_findings(reader: Reader) -> tuple[Finding, ...]:
    """What was received far from what left, or left with another figure than is reckoned now, and is not explained."""
    gone = [one.pickup for one in reader.pickups("released", "received", "closed")]
    restated = [one for pickup in gone for one in restated_of(reader, pickup)]
    return (*_findings(all_comparisons(reader)), *restated_findings(restated))


def findings_on(reader: Reader, pickup: str | None, container: str | None = None) -> tuple[Finding, ...]:
    """The same of one *pickup*, and only what concerns *container* where one is named; none where *pickup* is None."""
    if pickup is None:
        return ()
    found = comparisons_of(reader, pickup)
    restated = [one for one in restated_of(reader, pickup) if container in (None, one.container)]
    ours = [one for one in found if container is None or one.container in (container, None)]
    return (*_findings(ours), *restated_findings(restated))


def warnings_of(reader: Reader, standing: PickupStanding | None, receipt: Receipt) -> tuple[str, ...]:
    """What to say of a receipt before it is written: each weight in it that is far from what left."""
    if standing is None or not standing.released_seq:
        return ()
    facts = reader.facts_about(Subject("pickup", standing.pickup))
    release = release_of(facts)
    if release is None:
        return ()
    compared = _compared(release, None, receipt, _Freedoms(reader), None)
    warnings = [one.says for one in compared if one.is_beyond]
    if warnings:
        warnings += [*_mixed_up(compared), f"{_ASK} {_explain_with(standing.pickup)}"]
    return tuple(warnings)


def explain_pickup(place: Workplace, pickup: str, why: str, said: Said = _NOTHING_SAID) -> Recorded:
    """Write down why what was received of a pickup differs from what left; the finding is then answered.

    The explanation is a remark about the receipt's entry. Of two papers that both differ it explains the first. Where
    no paper differs, but the reckoning is another since it left, it is about the entry that made it so.

    Raises:
        NotThereYet: There is no such pickup.
        NothingToExplain: Nothing of that pickup asks for it.
    """
    with place.writing(OFFICE) as desk:
        earlier = said_before(desk, said, Remark)
        if earlier is not None:
            about, rest = earlier.about, ""
        elif desk.find_pickup(pickup) is None:
            raise NotThereYet("pickup", pickup)
        else:
            about, rest = _asks_for_it(desk, pickup)
        appended = write(desk, make(Remark, text=why, about=about, pickup=pickup), said)
    return answer(appended, f"Difference in entry {about} of pickup {pickup} explained.{rest}")


_ASK = "Ask the carrier and the facility."


def _explain_with(pickup: str) -> str:
    return f'Then write down why: wasteledger pickup explain {pickup} --why "…"'


def _comparisons(reader: Reader, pickup: str, freedoms: _Freedoms) -> tuple[Comparison, ...]:
    facts = reader.facts_about(Subject("pickup", pickup))
    release = release_of(facts)
    if release is None:
        return ()
    return tuple(
        one
        for fact in facts
        if isinstance(fact.body, Receipt)
        for one in _compared(release, fact, fact.body, freedoms, _explanation(facts, fact.seq))
    )


def _asks_for_it(desk: Desk, pickup: str) -> tuple[int, str]:
    """The entry that wants explaining first, and what is to be said of the others."""
    received = list(dict.fromkeys(one.receipt_seq for one in comparisons_of(desk, pickup) if one.is_open))
    restated = list(dict.fromkeys(one.by_seq for one in restated_of(desk, pickup) if one.is_open))
    open_seqs = [*received, *restated]
    if not open_seqs:
        raise NothingToExplain(
            f"Nothing received of pickup {pickup} is far from what left, or it was explained.",
            hint="Other words on a pickup: wasteledger remark.",
        )
    if len(received) > 1:
        return open_seqs[0], " Another paper of it differs too: explain that as well."
    if len(open_seqs) > 1:
        return open_seqs[0], " What is reckoned now differs from what was stated, too: explain that as well."
    return open_seqs[0], ""


def _findings(compared: Sequence[Comparison]) -> tuple[Finding, ...]:
    found = []
    for receipt_seq in dict.fromkeys(one.receipt_seq for one in compared if one.is_open):
        ours = [one for one in compared if one.receipt_seq == receipt_seq]
        beyond = [one for one in ours if one.is_open]
        found.append(
            Finding(
                "received-against-released",
                f"pickup {beyond[0].pickup}",
                " ".join([*(one.says for one in beyond), *_mixed_up(ours)]),
                f"{_ASK} {_explain_with(beyond[0].pickup)}",
                seqs=(beyond[0].release_seq, receipt_seq),
            )
        )
    return tuple(found)


def _mixed_up(compared: Sequence[Comparison]) -> tuple[str, ...]:
    """Pairs of containers that differ both ways, and would not if their received weights were exchanged."""
    single = [one for one in compared if one.container is not None and one.is_beyond and not one.unknown_pieces]
    return tuple(
        f"{one.container} and {other.container} would agree if their weights were exchanged: mixed up?"
        for one, other in combinations(single, 2)
        if one.z * other.z < 0 and _fits(one, other) and _fits(other, one)
    )


def _fits(one: Comparison, other: Comparison) -> bool:
    """Whether the weight received for *other* lies within what left as *one*, give or take both uncertainties."""
    reach = 2 * other.received_uncertainty_mg
    return one.lower_mg - reach <= other.received_mg <= one.upper_mg + reach


def _explanation(facts: Sequence[Fact], receipt_seq: int) -> tuple[int, str] | None:
    for fact in facts:
        if isinstance(fact.body, Remark) and fact.body.about == receipt_seq:
            return fact.seq, " ".join(fact.body.text.split())
    return None


def _compared(
    release: Fact, receipt: Fact | None, paper: Receipt, freedoms: _Freedoms, explanation: tuple[int, str] | None
) -> tuple[Comparison, ...]:
    left = {one.container: one for one in release.body.containers} if isinstance(release.body, PickupReleased) else {}
    pairs: list[tuple[str | None, list[ReleasedContainer], int, int | None]] = [
        (one.container, [left[one.container]], one.net_mg, one.uncertainty_mg)
        for one in paper.containers
        if one.container in left
    ]
    if paper.total_mg is not None and len(pairs) < len(left):
        pairs.append((None, list(left.values()), paper.total_mg, None))
    return tuple(_comparison(release, receipt, paper.pickup, pair, freedoms, explanation) for pair in pairs)


def _comparison(
    release: Fact,
    receipt: Fact | None,
    pickup: str,
    pair: tuple[str | None, list[ReleasedContainer], int, int | None],
    freedoms: _Freedoms,
    explanation: tuple[int, str] | None,
) -> Comparison:
    container, sent, received_mg, stated_mg = pair
    is_weighed = all(one.basis == "weighed" for one in sent)
    # Ends are added, not their squares: one scale's error and one kind's mean are the same in every container.
    stated = Stated(
        value_mg=sum(one.net_mg for one in sent),
        lower_mg=sum(one.lower_mg for one in sent),
        upper_mg=sum(one.upper_mg for one in sent),
        estimated_mg=sum(one.estimated_mg for one in sent),
        is_weighed=is_weighed,
        # A correction of the release keeps the figures that were made as it was first written.
        degrees_of_freedom=math.inf if is_weighed else freedoms.at(release.place),
    )
    # A paper states an expanded uncertainty, as a release does; the office's own limits are limits.
    uncertainty_mg = (
        stated_mg / coverage_factor()
        if stated_mg is not None
        else received_limits().uncertainty_mg(received_mg + sum(one.tare_mg for one in sent))
    )
    z = z_score(stated, received_mg, uncertainty_mg)
    unknown = sum(one.unweighed for one in sent)
    # Pieces of unknown mass are not in what was stated, so more may come of them; less is a difference all the same.
    beyond = is_beyond(z) and not (unknown and z > 0)
    return Comparison(
        pickup=pickup,
        container=container,
        release_seq=release.seq,
        receipt_seq=receipt.seq if receipt is not None else 0,
        left_mg=stated.value_mg,
        lower_mg=stated.lower_mg,
        upper_mg=stated.upper_mg,
        is_weighed=stated.is_weighed,
        unknown_pieces=unknown,
        left=sent[0].statement if container is not None else _range(stated),
        received_mg=received_mg,
        received_uncertainty_mg=round(uncertainty_mg),
        is_stated=stated_mg is not None,
        z=Decimal(round(100 * z)).scaleb(-2),
        is_beyond=beyond,
        explained_seq=explanation[0] if beyond and explanation else 0,
        explained=explanation[1] if beyond and explanation else "",
    )


def _range(stated: Stated) -> str:
    if stated.is_weighed:
        return f"{Mass(stated.value_mg)}, weighed"
    return f"{between(stated.value_mg, stated.lower_mg, stated.upper_mg)}, estimate"


class _Freedoms:
    """The degrees of freedom that estimates had when an entry was made; read once, and only where they are asked for.

    A calibration that was made void since counted when the figures were made, so it counts here.
    """

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._known: list[tuple[int, float]] | None = None

    def at(self, seq: int) -> float:
        """Those of the newest calibration of masses before entry *seq*."""
        if self._known is None:
            wanted = Filter(kinds=(Calibration.KIND,), by_recorded=True)
            self._known = [
                (entry.seq, float(entry.body.degrees_of_freedom))
                for entry in self._reader.entries(wanted)
                if isinstance(entry.body, Calibration) and entry.body.quantity == "mass"
            ]
        return next((freedom for known, freedom in reversed(self._known) if known < seq), math.inf)
