"""How a value is shown on paper: days with their month spelled, masses in grams or kilograms, words for a basis."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from wasteledger.documents.papers import Anchor, Basis, MassFigure, Party
from wasteledger.documents.wording import Wording
from wasteledger.units import Mass

GROUP = 8


class Shower:
    """Shows values in the words of `common.toml`."""

    def __init__(self, common: Wording) -> None:
        self._common = common
        self._months, self._short = common.lines("dates.months"), common.lines("dates.short_months")

    def day(self, day: date | None) -> str:
        """``12 March 2026``; nothing where there is no day."""
        if day is None:
            return ""
        return self._common.text("dates.day", day=day.day, month=self._months[day.month - 1], year=day.year)

    def short_day(self, day: date | None) -> str:
        """``12 Mar 2026``, for narrow columns."""
        if day is None:
            return ""
        return self._common.text("dates.day", day=day.day, month=self._short[day.month - 1], year=day.year)

    def short_month(self, day: date) -> str:
        """``Mar``."""
        return self._short[day.month - 1]

    def month(self, day: date) -> str:
        """``March 2026``."""
        return self._common.text("dates.month", month=self._months[day.month - 1], year=day.year)

    def time(self, at: datetime) -> str:
        """``17:04``, by the site's clock."""
        return f"{at.hour:02}:{at.minute:02}"

    def moment(self, at: datetime) -> str:
        """``12 March 2026, 17:04``."""
        return self._common.text("dates.moment", day=self.day(at.date()), time=self.time(at))

    def short_moment(self, at: datetime) -> str:
        """``12 Mar 2026, 17:04``."""
        return self._common.text("dates.moment", day=self.short_day(at.date()), time=self.time(at))

    def mass(self, mass_mg: int | None) -> str:
        """A weighed mass of *mass_mg* milligrams in grams or kilograms; a dash where it was not weighed."""
        return self._common.text("words.not_weighed") if mass_mg is None else str(Mass(mass_mg))

    def basis(self, basis: Basis) -> str:
        """The word for a basis."""
        return self._common.text(f"basis.{basis.value}")

    def figure(self, figure: MassFigure | None) -> str:
        """The statement of a mass and the word for its basis."""
        if figure is None:
            return ""
        if not figure.statement:
            return self.basis(figure.basis)
        return self._common.text("basis.figure", statement=figure.statement, basis=self.basis(figure.basis))

    def counts(self, counts: Sequence[tuple[str, int]]) -> str:
        """``14 saliva-ejector traps, 12 high-volume traps``."""
        return ", ".join(f"{count} {what}" for what, count in counts)


def digest_groups(anchor: Anchor) -> str:
    """The whole digest in groups of eight digits, so that it can be read aloud and compared."""
    return " ".join(anchor.digest[place : place + GROUP] for place in range(0, len(anchor.digest), GROUP))


def share_percent(made: int, due: int) -> str:
    """Share of *made* in *due* in percent with one decimal, rounded down so that 99.96 % is not shown as all.

    >>> share_percent(2999, 3000)
    '99.9 %'
    """
    tenths = made * 1000 // due
    return f"{tenths // 10}.{tenths % 10} %"


def address_lines(party: Party) -> list[str]:
    """Address lines that are not empty."""
    return [line for line in party.address if line.strip()]
