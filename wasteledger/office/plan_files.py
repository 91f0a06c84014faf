"""Files that a plan names, or that stand in where it names none: ordinances, streams, the evening round."""

from __future__ import annotations

import unicodedata
from pathlib import Path

from wasteledger.errors import WasteLedgerError
from wasteledger.model.register import OrdinanceDetails, RoundDetails, RoundStep, StreamDetails
from wasteledger.model.streams import Sharing, SharingMatrix
from wasteledger.office.plan_sharings import lay_rules_over
from wasteledger.office.plan_tables import PlanTables
from wasteledger.office.starting_values import shipped_prior
from wasteledger.ordinance import BadOrdinance, Ordinance, SaidBy, in_force, read_ordinance
from wasteledger.ordinance.fields import Table, open_text
from wasteledger.ordinance.figures import sharing_rules
from wasteledger.ordinance.rules import SharingRule
from wasteledger.ordinance.words import Force
from wasteledger.resources import find


class PlanFiles(PlanTables):
    """The lines of the register that come from files beside a plan, and what its own tables need of them."""

    def __init__(self, top: Table, name: str, beside: Path | None) -> None:
        self.top, self.name, self.beside = top, name, beside
        super().__init__()
        self.marks: tuple[int, int] = (750, 1000)
        self.matrix = SharingMatrix({}, {})
        self.sharings: tuple[SaidBy[SharingRule], ...] = ()

    def _text_of(self, relative: str, key: str) -> tuple[str, Path] | None:
        # In a folder of its kind beside the plan, or right beside it, before the office's and the shipped ones.
        beside = [self.beside / relative, self.beside / Path(relative).name] if self.beside else []
        try:
            path = next((own for own in beside if own.is_file()), None) or find(relative)
            return unicodedata.normalize("NFC", path.read_text("utf-8")), path
        except (WasteLedgerError, OSError, UnicodeDecodeError) as error:
            looked = f" Looked first beside the plan, in {self.beside}." if self.beside else ""
            accepted = "Put the file beside the plan, or name one that is there: wasteledger ordinance list."
            if key != "ordinances":
                accepted = "Put the file beside the plan, or name one that is there."
            self.top.fault(key, f"{error}{looked}", accepted)
            return None

    def _opened(self, found: tuple[str, Path]) -> Table | None:
        try:
            return open_text(found[0], found[1].name)
        except BadOrdinance as bad:
            self.top.checks.faults.extend(bad.faults)
            return None

    def _keep_faults_of(self, source: Table) -> None:
        # The faults of a file that the plan names stand beside the plan's own, so that none hides another.
        if source.checks is not self.top.checks:
            self.top.checks.faults.extend(source.checks.faults)

    def _ordinances(self) -> None:
        read: list[Ordinance] = []
        for stem in self._lines(self.top, "ordinances"):
            found = self._text_of(f"ordinances/{stem.removesuffix('.toml')}.toml", "ordinances")
            if found is None:
                continue
            text, path = found
            try:
                ordinance = read_ordinance(text, name=path.name)
            except BadOrdinance as bad:
                self.top.checks.faults.extend(bad.faults)
                continue
            details = self._made(
                self.top,
                OrdinanceDetails,
                name=ordinance.title,
                version=ordinance.version,
                digest=ordinance.digest,
                text=text,
            )
            if details is not None:
                self._add(self.top, ordinance.id, details)
            read.append(ordinance)
        try:
            for ordinance in in_force(read):
                for marks in ordinance.fill_marks:
                    if not marks.is_set_aside and (marks.force is not Force.CONVENTION or self.marks == (750, 1000)):
                        plan_at, close_at = self.marks
                        self.marks = (min(plan_at, marks.plan_at_permille), min(close_at, marks.close_at_permille))
            self.sharings = sharing_rules(read)
        except BadOrdinance as bad:
            self.top.checks.faults.extend(bad.faults)

    def _streams(self) -> None:
        source = self.top
        if not self.top.has("streams"):
            found = self._text_of("practice/streams.toml", "streams")
            if found is not None:
                source = self._opened(found) or source
        pairs: dict[frozenset[str], Sharing] = {}
        words: dict[str, str] = {}
        read: list[tuple[Table, str, list[str]]] = []
        for table in source.tables("streams"):
            ref = table.text("ref")
            words[ref] = table.text("name")
            shares = table.table("shares")
            others = list(shares.keys) if shares else []
            for other in others:
                sharing = shares.word(other, Sharing) if shares else Sharing.NO
                pair = frozenset((ref, other))
                if pairs.setdefault(pair, sharing) is not sharing:
                    table.fault("shares", f"“{ref}” and “{other}” are given two answers.", "Say it once, or the same.")
            read.append((table, ref, others))
        self.matrix, origins = lay_rules_over(SharingMatrix(words, pairs), self.sharings)
        for table, ref, others in read:
            ruled = [other for other in words if other != ref and frozenset((ref, other)) in origins]
            said = [(other, self.matrix.between(ref, other)) for other in dict.fromkeys((*others, *ruled))]
            why = [
                f"With “{other}”: {sharing} ({'; '.join(origins[pair])})."
                for other, sharing in said
                if (pair := frozenset((ref, other))) in origins
            ]
            details = self._made(
                table,
                StreamDetails,
                name=words[ref] or "?",
                shares=tuple((other, sharing.value) for other, sharing in said),
                origin="\n".join((self._line(table, "origin"), *why)).strip(),
                mass_source=self._mass_source(table),
            )
            table.close()
            if details is not None:
                self._add(table, ref, details)
        self._keep_faults_of(source)

    def _mass_source(self, table: Table) -> str | None:
        source = self._line(table, "mass_source")
        if not source:
            return None
        kinds = shipped_prior().kinds
        if source not in kinds:
            table.fault("mass_source", f"There are no starting values for “{source}”.", f"Kinds: {', '.join(kinds)}.")
        return source

    def _round(self) -> None:
        table = self.top.table("round")
        source = table
        if table is None or table.has("file"):
            relative = table.text("file") if table is not None else "round.toml"
            found = self._text_of(f"practice/{relative}", "round")
            if found is None:
                return
            opened = self._opened(found)
            source = opened.table("round", required=True) if opened else None
            if table is not None:
                table.close()
            if opened is not None and source is None:
                self._keep_faults_of(opened)
        if source is None:
            return
        steps: list[RoundStep] = []
        for one in source.tables("steps"):
            step = self._made(one, RoundStep, does=one.text("does"), caution=self._line(one, "caution"))
            one.close()
            if isinstance(step, RoundStep):
                steps.append(step)
        details = self._made(
            source,
            RoundDetails,
            name=source.text("name", default="Evening round"),
            steps=tuple(steps),
            cleaner_per_room_ml=self._volume(source, "cleaner_per_room"),
            suction_on_after_minutes=self._whole(source, "suction_on_after_minutes", None, 0, 240),
        )
        source.close()
        self._keep_faults_of(source)
        if details is not None:
            self._add(source, "evening", details)
