"""The deposit log: what went into which container in a period, corrected entries kept beside what replaced them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from wasteledger.errors import WasteLedgerError
from wasteledger.estimate.containers import Estimate, standing_mass
from wasteledger.estimate.rounding import statement
from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model.entries import ContainerOpened, Correction, Deposit, Swap, UnitReplaced
from wasteledger.model.facts import Entry, Fact, Subject
from wasteledger.model.register import StreamDetails
from wasteledger.model.standing import ContainerStanding
from wasteledger.model.values import Body
from wasteledger.office.coverage import day_bounds
from wasteledger.office.enquiries import LATE_AFTER
from wasteledger.office.learning import current_prior
from wasteledger.office.workplace import zone_of

_FILLING = (Swap, Deposit, UnitReplaced)


@dataclass(frozen=True, slots=True)
class LoggedDeposit:
    """One deposit; *seq* is the entry that says so (the correction's, where it replaces), mass in words and in mg."""

    seq: int
    happened_at: datetime
    recorded_at: datetime
    recorded_by: str
    body: Swap | Deposit | UnitReplaced
    basis: Literal["weighed", "estimate", "none"]
    said: str
    mass_mg: int | None
    late: bool
    corrected_by: int | None = None
    corrects: int | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class LoggedContainer:
    """What one container took in the period, by the deposits that count."""

    standing: ContainerStanding
    deposits: int
    pieces: int
    basis: Literal["weighed", "estimate", "none"]
    said: str
    mass_mg: int | None


def deposits_between(
    reader: Reader, since: date, until: date
) -> tuple[tuple[LoggedDeposit, ...], tuple[LoggedContainer, ...]]:
    """Every deposit from *since* to *until*, both days included, and the sum for each container."""
    zone = zone_of(reader)
    begin, end = day_bounds(since, zone)[0], day_bounds(until, zone)[1]
    names = tuple(kind.KIND for kind in _FILLING)
    entries = list(reader.entries(Filter(since=begin, until=end, kinds=names)))
    corrected = reader.corrections_of([entry.seq for entry in entries])
    masses = _Masses(reader)
    rows = [_written(reader, entry, corrected.get(entry.seq), masses) for entry in entries]
    facts = [fact for fact in reader.facts_between(begin, end, names) if isinstance(fact.body, _FILLING)]
    rows += [_replacing(reader, fact, masses) for fact in facts if fact.seq != fact.place]
    rows.sort(key=lambda row: (row.happened_at, row.seq))
    by_container: dict[str, list[Fact]] = {}
    for fact in facts:
        by_container.setdefault(fact.body.container, []).append(fact)  # type: ignore[attr-defined]
    sums = [masses.sum_of(ref, some) for ref, some in by_container.items()]
    sums.sort(key=lambda one: (one.standing.opened_at, one.standing.container))
    return tuple(rows), tuple(sums)


class _Masses:
    """Masses of single deposits and of some together, by the same estimate as the container's own."""

    def __init__(self, reader: Reader) -> None:
        self._reader, self._prior = reader, current_prior(reader)
        self._sources = {
            line.ref: line.details.mass_source
            for line in reader.lines("stream", retired=True)
            if isinstance(line.details, StreamDetails) and line.details.mass_source
        }
        self._empty: dict[str, ContainerStanding | None] = {}

    def of(self, fact: Fact) -> tuple[Literal["weighed", "estimate", "none"], str, int | None]:
        """Basis, words and mg of one deposit."""
        return self._said(self._with(str(getattr(fact.body, "container", "")), [fact]))

    def sum_of(self, ref: str, facts: list[Fact]) -> LoggedContainer:
        """What one container took by *facts*."""
        filled = self._with(ref, facts)
        basis, said, mass_mg = self._said(filled)
        now = self._reader.find_container(ref)
        if now is None or filled is None:
            raise ValueError(f"container {ref} holds deposits and was never opened")
        return LoggedContainer(now, len(facts), filled.pieces, basis, said, mass_mg)

    def _with(self, ref: str, facts: list[Fact]) -> ContainerStanding | None:
        standing = self._fresh(ref)
        for fact in facts:
            standing = standing.after(fact) if standing is not None else None
        return standing

    def _fresh(self, ref: str) -> ContainerStanding | None:
        if ref not in self._empty:
            about = Subject("container", ref)
            opened = (f for f in self._reader.facts_about(about) if isinstance(f.body, ContainerOpened))
            first = next(opened, None)
            self._empty[ref] = ContainerStanding.start(about, first) if first is not None else None
        return self._empty[ref]

    def _said(
        self, standing: ContainerStanding | None
    ) -> tuple[Literal["weighed", "estimate", "none"], str, int | None]:
        if standing is None:
            return "none", "", None
        found: Estimate = standing_mass(standing.holding, self._prior, mass_sources=self._sources)
        if found.basis == "empty" or (not found.value_mg and not found.upper_mg):
            return "none", "", None
        return ("weighed" if found.basis == "weighed" else "estimate"), statement(found), found.value_mg


def _written(reader: Reader, entry: Entry, correction: tuple[int, str] | None, masses: _Masses) -> LoggedDeposit:
    fact = Fact(entry.seq, entry.seq, entry.happened_at, entry.recorded_at, entry.recorded_by, entry.body)
    stands = correction is None or correction[1] == "reinstate"
    reason = "" if stands or correction is None else _reason(reader, correction[0])
    return _row(fact, masses, corrected_by=None if stands or correction is None else correction[0], reason=reason)


def _replacing(reader: Reader, fact: Fact, masses: _Masses) -> LoggedDeposit:
    return _row(fact, masses, corrects=fact.place, reason=_reason(reader, fact.seq))


def _row(
    fact: Fact, masses: _Masses, *, corrected_by: int | None = None, corrects: int | None = None, reason: str = ""
) -> LoggedDeposit:
    body: Body = fact.body
    if not isinstance(body, _FILLING):
        raise ValueError(f"entry {fact.seq} is no deposit")
    try:
        basis, said, mass_mg = masses.of(fact)
    except WasteLedgerError:
        if corrected_by is None:
            raise
        # What was corrected may be impossible (another stream's container): it is listed, without a mass.
        basis, said, mass_mg = "none", "", None
    late = fact.recorded_at - fact.happened_at > LATE_AFTER
    return LoggedDeposit(
        fact.seq,
        fact.happened_at,
        fact.recorded_at,
        fact.recorded_by,
        body,
        basis,
        said,
        mass_mg,
        late,
        corrected_by,
        corrects,
        reason,
    )


def _reason(reader: Reader, seq: int) -> str:
    body = reader.get_entry(seq).body
    return body.reason if isinstance(body, Correction) else ""
