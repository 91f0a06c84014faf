"""The ordinances that a site's register has in force, and what they say of a cleaner."""

from __future__ import annotations

from functools import lru_cache

from wasteledger.ledger.reader import Reader
from wasteledger.model.register import CleanerDetails, OrdinanceDetails
from wasteledger.ordinance import Ordinance, cleaner_findings, read_ordinance


def registered_ordinances(reader: Reader) -> tuple[Ordinance, ...]:
    """The ordinances in force, read from the text that the register recorded.

    Raises:
        BadOrdinance: A text that this release cannot read.
    """
    return tuple(
        _read(line.details.text, line.ref)
        for line in reader.lines("ordinance")
        if isinstance(line.details, OrdinanceDetails)
    )


@lru_cache(maxsize=64)
def _read(text: str, name: str) -> Ordinance:
    return read_ordinance(text, name=f"{name}.toml")


def cleaner_warnings(reader: Reader, cleaner: CleanerDetails) -> tuple[str, ...]:
    """What each rule in force speaks against in a cleaner, with the rule's name."""
    found = cleaner_findings(
        registered_ordinances(reader),
        ph_low_tenths=cleaner.ph_low_tenths,
        ph_high_tenths=cleaner.ph_high_tenths,
        oxidiser=cleaner.oxidiser,
        chemistry=cleaner.chemistry,
    )
    return tuple(f"{one.words} {one.ordinance_title}, {one.citation} ({one.standing_of_source})" for one in found)
