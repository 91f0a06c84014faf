"""What the register called things when an entry was written, so that a reprint says the same as the first print."""

from __future__ import annotations

from dataclasses import dataclass

from wasteledger.errors import Unknown
from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model.entries import Correction
from wasteledger.model.facts import Subject, effective_facts
from wasteledger.model.register import Details, OrdinanceDetails, Register, SiteDetails
from wasteledger.office.due import laid_over
from wasteledger.ordinance import Ordinance, read_ordinance, waste_codes


@dataclass(frozen=True)
class Naming:
    """The register as it stood when entry *seq* had been written; later changes are not seen."""

    reader: Reader
    seq: int

    def site(self) -> SiteDetails:
        """The site's own line.

        Raises:
            Unknown: There was none.
        """
        found = self.find("site", self.reader.site)
        if not isinstance(found, SiteDetails):
            raise Unknown(f"This ledger has no site “{self.reader.site}”.")
        return found

    def name(self, what: str, ref: str) -> str:
        """The name of a line of the register, or *ref* where it had none."""
        return str(getattr(self.find(what, ref), "name", "") or ref)

    def streams(self, refs: tuple[str, ...]) -> str:
        """The names of some streams, in one line."""
        return ", ".join(self.name("stream", ref) for ref in refs)

    def ordinances(self) -> tuple[Ordinance, ...]:
        """The ordinances in force then.

        Raises:
            BadOrdinance: A text that this release cannot read.
        """
        refs = [line.ref for line in self.reader.lines("ordinance", retired=True)]
        details = [self.find("ordinance", ref) for ref in refs]
        return tuple(read_ordinance(one.text, name=one.name) for one in details if isinstance(one, OrdinanceDetails))

    def codes(self) -> tuple[tuple[str, str, str, str], ...]:
        """The waste codes that those ordinances name: code, words, the rule with its clause, and what is not sure.

        The last says of a code that was not read at its source that it is not confirmed; else it is empty.
        """
        rules, _ = laid_over(self.ordinances())
        return tuple(
            (
                said.provision.code,
                said.provision.title,
                f"{said.ordinance.title}, {said.provision.citation}",
                "" if said.provision.confirmed else said.provision.standing_of_source,
            )
            for said in waste_codes(rules)
        )

    def find(self, what: str, ref: str) -> Details | None:
        """The details of a line in service then, or None."""
        wanted = Filter(subjects=(Subject(what, ref),), kinds=(Register.KIND, Correction.KIND), by_recorded=True)
        written = (entry for entry in self.reader.entries(wanted) if entry.seq <= self.seq)
        bodies = [fact.body for fact in effective_facts(written) if isinstance(fact.body, Register)]
        return bodies[-1].details if bodies and not bodies[-1].retired else None
