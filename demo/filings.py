"""What the demo's manager keeps on file besides the waste: papers, trainings, statements, filings, other waste.

Some of it is missing on purpose (nobody was trained last year, and no certificate of the separator lies there), so that
the answers to an inspector's questions show gaps as gaps.
"""

from __future__ import annotations

from datetime import date, datetime, time
from random import Random

from demo.place import Site
from wasteledger.office.duties import record_duty_done
from wasteledger.office.filings import file_paper, record_statement, record_training
from wasteledger.office.other_waste import Month, record_other_waste
from wasteledger.office.workplace import Said
from wasteledger.units import Mass

TRAINED_IN = (2024, 2025)
CERTIFIED = (date(2024, 3, 12), date(2026, 3, 10))
REPORTED = (date(2024, 1, 16), date(2025, 1, 14), date(2026, 1, 13))


class Filing(Site):
    """A site whose manager keeps its papers."""

    def __init__(self, *arguments: object) -> None:
        super().__init__(*arguments)  # type: ignore[arg-type]
        # Drawn apart, so that it leaves the practice as it is.
        self.sheets = Random(f"sheets of {self.site}")
        self.counted_to: Month | None = None

    def file_papers(self, day: date) -> None:
        """Note what lies in the office when the ledger is begun."""
        self.at(day, time(7, 30))
        file_paper(self.manager, "operating_manual", "Plant room, shelf 2", separator="SEP")
        file_paper(self.manager, "recycler_instructions", "Binder 1", about="Stillhouse, packing and labels (invented)")
        file_paper(self.manager, "safety_sheet", "Binder 1", about="mild")
        file_paper(self.manager, "procedure", "Binder 2", about="Traps are never rinsed; evening round")
        file_paper(self.manager, "invoice", "Binder 3", about="Joon, service (invented)", separator="SEP")
        file_paper(self.manager, "one_time_report", "Binder 2", document="MF-441 (invented)")
        begun = datetime(2021, 6, 15, 9, 0, tzinfo=self.zone)
        said = Said(begun, note="Noted when this ledger was begun.")
        record_duty_done(self.manager, "MA-01", said, document="First certification (invented)")
        for topic in ("no_bulk_mercury", "traps_kept_from_sinks", "all_amalgam_chairs_on_separator"):
            record_statement(self.manager, topic)

    def keep_filings(self, day: date) -> None:
        """What falls on a morning: the count of other waste, filings, trainings."""
        self._count_other_waste(day)
        if day in REPORTED:
            self.at(day, time(8, 40))
            record_duty_done(self.manager, "MFSD-5", document=f"Amounts of {day.year - 1} (invented)")
        if day in CERTIFIED:
            self.at(day, time(8, 40))
            record_duty_done(self.manager, "MA-02", document=f"Certification {day.year} (invented)")
        if day.year in TRAINED_IN and (day.month, day.day) == (9, 10 if day.year == 2024 else 9):
            self.at(day, time(8, 0))
            topics = ("handling", "disposal", "spill", "line_cleaners")
            record_training(
                self.manager, ("tamsin", "bao"), topics, held_by="Odile", document="List of names, binder 2"
            )

    def _count_other_waste(self, day: date) -> None:
        """Early in a month, what the month before made of other hazardous waste."""
        month = Month.of(day).plus(-1)
        if day.day > 20 or self.counted_to == month or month < Month.of(self.started_on):
            return
        self.counted_to = month
        self.at(day, time(8, 50))
        fixer, on_hand = self.sheets.uniform(3.5, 6.5), self.sheets.uniform(1, 9)
        record_other_waste(
            self.manager,
            month,
            "Spent fixer",
            Mass(round(fixer * 10) * 100_000),
            on_hand=Mass(round(on_hand * 10) * 100_000),
        )
