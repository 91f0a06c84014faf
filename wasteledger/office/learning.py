"""What the practice's own weighings have taught: read from the newest calibration, and learned again at each weighing.

A calibration is an entry of the journal, so a figure of last year can be read again as it was known then: it holds all
that its figures rest on, whatever the office's starting values say today. It is learned anew each time, from the
published values and from every increment that the journal holds; nothing is carried over from the calibration before,
so a correction far back counts as if it had never been otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from typing import Literal, TypeVar

from wasteledger.estimate.increments import READ_FOR_MASS, Increment, mass_increments
from wasteledger.estimate.learning import Taught, teach
from wasteledger.estimate.prior import Prior
from wasteledger.ledger.append import Appended, Desk
from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model import entries as kinds
from wasteledger.model.facts import Entry
from wasteledger.model.register import Register, StreamDetails
from wasteledger.model.values import Body
from wasteledger.office.bodies import make
from wasteledger.office.starting_values import mass_sources, received_limits, shipped_prior

Quantity = Literal["mass", "volume"]
Number = TypeVar("Number", int, float)

_DIGITS = 17
"""Significant digits with which a double is written and read back unchanged."""

_ROUNDING = 1e-10
"""What the order of sums, or another machine, may change of a number that is otherwise the same."""

_SINCE, _UNTIL = datetime.min.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class KindLearned:
    """What is believed of one kind's mean debris, before and after; mg, with standard uncertainties."""

    kind: str
    before_mg: float
    before_u_mg: float
    after_mg: float
    after_u_mg: float

    @property
    def is_sharper(self) -> bool:
        """Whether weighings really told of it, rather than moved it along with others: a fifth of its width is gone."""
        return self.after_u_mg * self.before_mg < 0.8 * self.before_u_mg * self.after_mg


def current_prior(reader: Reader, before_seq: int | None = None) -> Prior:
    """What is believed now: the newest calibration, with what joined the starting values since; else these alone.

    With *before_seq*, what was believed just before that entry was written.

    Raises:
        BadPrior: The starting values have faults.
    """
    starting = shipped_prior()
    entry = newest_calibration(reader, "mass", before_seq)
    return starting if entry is None else _laid_over(starting, entry)


def newest_calibration(reader: Reader, quantity: Quantity = "mass", before_seq: int | None = None) -> Entry | None:
    """The newest calibration that counts (before an entry, if one is given), or None."""
    # Those of the other quantity are many more or many fewer; they are not even read.
    said = f'"quantity":"{quantity}"'
    wanted = Filter(kinds=(kinds.Calibration.KIND,), body_says=said, by_recorded=True, newest_first=True)
    for entry in reader.entries(wanted):
        if before_seq is not None and entry.seq >= before_seq:
            continue
        body = entry.body
        if (
            isinstance(body, kinds.Calibration)
            and body.quantity == quantity
            and _counted(reader, entry.seq, before_seq)
        ):
            return entry
    return None


def _counted(reader: Reader, seq: int, before_seq: int | None) -> bool:
    """Whether entry *seq* counts as first written, by the corrections that had been made before entry *before_seq*."""
    governing = reader.corrections_of((seq,)).get(seq)
    if governing is None:
        return True
    action = governing[1]
    if before_seq is not None and governing[0] >= before_seq:
        # It was corrected afterwards: what it was held for until then is in the corrections before that one.
        wanted = Filter(kinds=(kinds.Correction.KIND,), by_recorded=True)
        bodies = [entry.body for entry in reader.entries(wanted) if entry.seq < before_seq]
        about = [body.action for body in bodies if isinstance(body, kinds.Correction) and body.corrects == seq]
        action = about[-1] if about else "reinstate"
    return action == "reinstate"


def site_increments(reader: Reader) -> tuple[Increment, ...]:
    """Every increment that the journal's weighings give, oldest first."""
    return mass_increments(reader.facts_between(_SINCE, _UNTIL, READ_FOR_MASS), received_limits())


def taught_by(reader: Reader) -> Taught:
    """What all weighings together teach, starting from the published values.

    Raises:
        BadPrior: The starting values have faults.
    """
    return teach(shipped_prior(), site_increments(reader), mass_sources=mass_sources(reader))


def teaches(reader: Reader, entry: Entry) -> bool:
    """Whether an entry just written changes what can be learned.

    It weighed something; or it corrects what did or was counted; or it was counted into a container that has been
    weighed or received since (a swap typed in late); or it explains a received weight, which then counts no more; or it
    says from which kind a stream takes its masses.
    """
    match entry.body:
        case kinds.Weighing() | kinds.Receipt():
            return True
        case kinds.Swap(gross=weighed) | kinds.UnitReplaced(mass=weighed) | kinds.Deposit(mass=weighed):
            return weighed is not None or _was_weighed_since(reader, entry)
        case kinds.Correction(corrects=seq, replacement=put_in):
            touched = {reader.get_entry(seq).kind, put_in.kind if put_in is not None else ""}
            return bool(touched & {*READ_FOR_MASS, kinds.Calibration.KIND, Register.KIND})
        case kinds.Remark(about=about, pickup=pickup):
            # About a receipt as it was first written, or as a correction put it right.
            spoken_of = reader.find_entry(about) if about and pickup else None
            return spoken_of is not None and isinstance(spoken_of.body, kinds.Receipt | kinds.Correction)
        case Register(details=StreamDetails()):
            return True
    return False


def _was_weighed_since(reader: Reader, entry: Entry) -> bool:
    found = reader.find_container(entry.container or "")
    if found is None:
        return False
    weighed = found.weighed_at is not None and entry.happened_at <= found.weighed_at
    return weighed or found.status in ("released", "received")


def learn_after(desk: Desk, appended: Appended) -> Appended | None:
    """Write a calibration if the entry just appended changed what is known; the same transaction holds both.

    None where the entry was written before, teaches nothing, or leaves everything as it was.
    """
    if appended.repeated or not teaches(desk, appended.entry):
        return None
    return learn_again(desk)


def learn_again(desk: Desk) -> Appended | None:
    """Learn from all weighings, and write down what came of it where that differs from what was known."""
    before = newest_calibration(desk)
    increments = site_increments(desk)
    if not increments and before is None:
        # Nothing was ever weighed: numpy stays unloaded.
        return None
    taught = teach(shipped_prior(), increments, mass_sources=mass_sources(desk))
    if not taught.used and before is None:
        return None
    body = _calibration(taught, "mass", appended_to(desk))
    if before is not None and says_the_same(before.body, body):
        return None
    return desk.append(body)


def appended_to(reader: Reader) -> int:
    """The number of the site's last entry."""
    end = reader.chain_end()
    return end.entries if end else 0


def kinds_learned(before: Prior, after: Prior) -> tuple[KindLearned, ...]:
    """Each kind whose mean the learning moved, in the order of the starting values."""
    found = []
    # The starting values may have lost or gained a kind in between.
    for kind in (kind for kind in before.kinds if kind in after.kinds):
        place, now = before.kinds.index(kind), after.kinds.index(kind)
        mean, learned = before.means_mg[place], after.means_mg[now]
        u, learned_u = math.sqrt(before.covariance_mg2[place][place]), math.sqrt(after.covariance_mg2[now][now])
        if (mean, u) != (learned, learned_u):
            found.append(KindLearned(kind, mean, u, learned, learned_u))
    return tuple(found)


def _calibration(taught: Taught, quantity: Quantity, data_to: int) -> kinds.Calibration:
    prior = taught.prior
    return make(
        kinds.Calibration,
        quantity=quantity,
        data_to=data_to,
        kinds=prior.kinds,
        means=tuple(number_text(mean) for mean in prior.means_mg),
        covariance=tuple(tuple(number_text(cell) for cell in row) for row in prior.covariance_mg2),
        scale=number_text(taught.scale),
        degrees_of_freedom=number_text(prior.degrees_of_freedom),
        scatter=tuple(number_text(sd) for sd in prior.scatter_sd_mg),
        nominal_days=prior.nominal_days,
        grades=tuple(sorted(prior.grades_permille.items())),
    )


def number_text(value: float) -> str:
    """A number as a calibration keeps it: decimal, read back unchanged."""
    return f"{value:.{_DIGITS}g}"


def says_the_same(one: Body, other: kinds.Calibration) -> bool:
    """Whether two calibrations say the same, whatever entries they reach to and however sums were rounded."""
    if not isinstance(one, kinds.Calibration) or _exact(one) != _exact(other):
        return False
    deviations = [math.sqrt(float(row[place])) for place, row in enumerate(other.covariance)]
    pairs = [(one.scale, other.scale, 0.0), (one.degrees_of_freedom, other.degrees_of_freedom, 0.0)]
    pairs += zip(one.means, other.means, deviations, strict=True)
    # Of volumes there is no scatter.
    pairs += zip(one.scatter, other.scatter, deviations, strict=False)
    pairs += [
        (cell, also, sd * across)
        for row, others, sd in zip(one.covariance, other.covariance, deviations, strict=True)
        for cell, also, across in zip(row, others, deviations, strict=True)
    ]
    return all(math.isclose(float(a), float(b), rel_tol=_ROUNDING, abs_tol=_ROUNDING * width) for a, b, width in pairs)


def _exact(body: kinds.Calibration) -> tuple[object, ...]:
    """What of a calibration no rounding touches."""
    return body.quantity, body.kinds, body.nominal_days, body.grades


@lru_cache(maxsize=8)
def _read(digest: str, body: kinds.Calibration) -> Prior:
    """The kinds of a calibration as it holds them."""
    return Prior(
        body.kinds,
        tuple(float(mean) for mean in body.means),
        tuple(tuple(float(cell) for cell in row) for row in body.covariance),
        tuple(float(sd) for sd in body.scatter),
        body.nominal_days,
        dict(body.grades),
        float(body.degrees_of_freedom),
    )


def _laid_over(starting: Prior, entry: Entry) -> Prior:
    """What a calibration holds, wholly as it holds it; kinds that joined the starting values since come from these.

    A kind that the starting values have no more stays as it was learned, since what went in of it still lies there.
    """
    body = entry.body
    assert isinstance(body, kinds.Calibration)
    learned = _read(entry.digest, body)
    known = {kind: place for place, kind in enumerate(learned.kinds)}
    joined = {kind: place for place, kind in enumerate(starting.kinds) if kind not in known}
    order = (*starting.kinds, *(kind for kind in learned.kinds if kind not in starting.kinds))

    def of_each(as_learned: Sequence[Number], as_published: Sequence[Number]) -> tuple[Number, ...]:
        return tuple(as_learned[known[kind]] if kind in known else as_published[joined[kind]] for kind in order)

    def shared(one: str, other: str) -> float:
        if one in known and other in known:
            return learned.covariance_mg2[known[one]][known[other]]
        # What joined since shares nothing with what was learned before it was there.
        both = one in joined and other in joined
        return starting.covariance_mg2[joined[one]][joined[other]] if both else 0.0

    return Prior(
        order,
        of_each(learned.means_mg, starting.means_mg),
        tuple(tuple(shared(one, other) for other in order) for one in order),
        of_each(learned.scatter_sd_mg, starting.scatter_sd_mg),
        of_each(learned.nominal_days, starting.nominal_days),
        {**starting.grades_permille, **learned.grades_permille},
        learned.degrees_of_freedom,
    )
