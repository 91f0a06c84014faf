"""Reads what a person typed: times of the site, days, levels, masses of several containers."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from wasteledger.errors import NotUnderstood

if TYPE_CHECKING:
    from wasteledger.office.workplace import Workplace
    from wasteledger.units import Mass, Volume


def instant_of(place: Workplace, text: str | None) -> datetime | None:
    """The UTC instant of a time such as ``17:05``, ``yesterday 17:05``, ``2026-03-01 17:05``, or ISO with a zone.

    Raises:
        NotUnderstood: It is no time, or a day without one.
        BeyondReckoning: Its year cannot be reckoned with.
    """
    from wasteledger.office.days import checked_day

    if text is None:
        return None
    day_text, _, clock_text = text.strip().replace("T", " ").rpartition(" ")
    try:
        if day_text.lower() in ("", "today", "yesterday"):
            day = place.today() - timedelta(days=day_text.lower() == "yesterday")
            return place.instant(datetime.combine(day, time.fromisoformat(clock_text)))
        typed = datetime.fromisoformat(text.strip())
    except ValueError as error:
        raise NotUnderstood(
            f"“{text}” is not a time.", hint="Write 17:05 for today, “yesterday 17:05”, or “2026-03-01 17:05”."
        ) from error
    checked_day(typed.date())
    return place.instant(typed)


def day_of(text: str, today: date) -> date:
    """The day of ``2026-03-01``, ``today`` or ``yesterday``.

    Raises:
        NotUnderstood: It is none.
        BeyondReckoning: Its year cannot be reckoned with.
    """
    from wasteledger.office.days import checked_day

    words = {"today": today, "yesterday": today - timedelta(days=1), "tomorrow": today + timedelta(days=1)}
    if text.strip().lower() in words:
        return words[text.strip().lower()]
    try:
        day = date.fromisoformat(text.strip())
    except ValueError as error:
        raise NotUnderstood(f"“{text}” is not a day.", hint="Write the year first, such as 2026-03-01.") from error
    return checked_day(day)


def find_day(text: str | None, today: date) -> date | None:
    """The day that *text* names, or None where there is no text."""
    return None if text is None else day_of(text, today)


def mass_of(text: str | None) -> Mass | None:
    """The mass of ``34.2g``, or None where there is no text."""
    from wasteledger.units import Mass

    return None if text is None else Mass.parse(text)


def volume_of(text: str | None) -> Volume | None:
    """The volume of ``1.9L``, or None where there is no text."""
    from wasteledger.units import Volume

    return None if text is None else Volume.parse(text)


def permille_of(text: str) -> int:
    """Thousandths from a level in percent, such as ``60%`` or ``62.5 %``.

    Raises:
        NotUnderstood: No percent sign, or no number with at most one decimal.
    """
    number = text.strip().removesuffix("%").strip().replace(",", ".")
    whole, _, tenth = number.partition(".")
    if not text.strip().endswith("%") or not whole.isascii() or not whole.isdigit() or len(tenth) > 1:
        raise NotUnderstood(f"“{text}” is not a level.", hint="Write percent of the fill line, such as 60%.")
    if tenth and not (tenth.isascii() and tenth.isdigit()):
        raise NotUnderstood(f"“{text}” is not a level.", hint="Write percent of the fill line, such as 60%.")
    return int(whole) * 10 + int(tenth or 0)


def find_permille(text: str | None) -> int | None:
    """Thousandths from a level in percent, or None where there is no text."""
    return None if text is None else permille_of(text)


def pairs_of(texts: list[str], example: str) -> dict[str, str]:
    """Name and value of each ``name=value``.

    Raises:
        NotUnderstood: One has no equals sign, or a name comes twice.
    """
    found: dict[str, str] = {}
    for text in texts:
        name, sign, value = text.partition("=")
        if not sign or not name.strip() or name.strip() in found:
            raise NotUnderstood(
                f"“{text}” is not a name and a value, or the name came before.", hint=f"Write it such as {example}."
            )
        found[name.strip()] = value.strip()
    return found


def masses_of(texts: list[str]) -> tuple[tuple[str, Mass], ...]:
    """Container and net mass of each ``C-1=812g``."""
    from wasteledger.units import Mass

    return tuple((name, Mass.parse(value)) for name, value in pairs_of(texts, "C-1=812g").items())
