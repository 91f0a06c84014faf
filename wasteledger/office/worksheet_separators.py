"""What the register and the journal answer about who maintains each separator, with the papers that show it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wasteledger.ledger.reader import Reader
from wasteledger.model.facts import Fact
from wasteledger.model.filings import PaperFiled
from wasteledger.model.standing import SeparatorStanding
from wasteledger.office.separator_duties import agreement_of
from wasteledger.office.separator_history import Installed
from wasteledger.office.worksheet_lines import Answer, State, each_once


@dataclass(frozen=True, slots=True)
class _Shown:
    """Who answers for one separator, in words, the entry of an agreement, and whether something is missing."""

    words: str
    seq: int = 0
    is_gap: bool = False


def maintenance(reader: Reader, devices: Sequence[tuple[SeparatorStanding, Installed]], named: Answer) -> Answer:
    """Whom the site names, and who answers for each separator.

    Where others run one, it is a gap that nobody is named or that no agreement is on file. *named* is what the
    site's own line of the register answers, or its gap.
    """
    shown = [(one, device, _of(one, agreement_of(reader, one))) for one, device in devices]
    known = [(one, device, said) for one, device, said in shown if said is not None]
    if not known:
        return named
    says = [] if named.state is State.GAP else list(named.says)
    seqs = [] if named.state is State.GAP else list(named.seqs)
    for one, device, said in known:
        says.append(f"{one.separator}: {said.words}")
        seqs += [device.registered_seq, said.seq]
    state = State.GAP if any(said.is_gap for *_, said in known) else State.FILLED
    return Answer(tuple(says), state, each_once(seqs))


def _of(separator: SeparatorStanding, agreement: Fact | None) -> _Shown | None:
    """None where the register names nobody, and nobody else runs it."""
    details = separator.details
    named = f"{details.responsible} answers for it" if details.responsible else ""
    if details.run_by not in ("shared", "landlord"):
        runs = "run by the practice; " if details.run_by == "practice" else ""
        return _Shown(f"{runs}{named}.") if named else None
    runs = "shared with others" if details.run_by == "shared" else "run by the landlord"
    if agreement is not None and isinstance(agreement.body, PaperFiled):
        paper = f"agreement on file at {agreement.body.place}"
    else:
        paper = "agreement on file" if details.agreement_on_file else "NO AGREEMENT ON FILE"
    return _Shown(
        f"{runs}; {named or 'NOT ENTERED who answers for it (responsible)'}; {paper}.",
        agreement.seq if agreement is not None else 0,
        not named or (agreement is None and not details.agreement_on_file),
    )
