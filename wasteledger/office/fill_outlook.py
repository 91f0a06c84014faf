"""What is said of a container to come: the days by which it will be full, or that it is full as read off it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, tzinfo
from typing import Any

from wasteledger.model.standing import ContainerStanding
from wasteledger.office.plain import plain
from wasteledger.office.words import short_day
from wasteledger.units import Mass

HORIZON_YEARS = 10


@dataclass(frozen=True, slots=True)
class FillOutlook:
    """When one open container will be full, by forecast.

    Attributes:
        container: Which.
        measure: By which measure it is full first: ``mass``, ``level`` or ``pieces``.
        p10_on: The day by which it is full with a chance of 10 %; None where that lies more than ten years off.
        p50_on: The same for 50 %.
        p90_on: The same for 90 %.
        reason: What the forecast rests on, in words.
        learned: Whether swaps and weighings of this site stand behind it.
        is_told: Whether anything tells how fast it fills; if not, the reason says what is missing, and there is no day.
        fetch_on: The day of its booked pickup, else the first on which one could come.
        fetch_because: Where that day comes from, in words.
        booked: The pickup that it is booked for; None where its day has passed without a release.
        chance_permille: Chance that it is full by that day, in thousandths, carried up.
        limit_permille: The chance from which this site wants to be warned.
        within_limit_until: The last working day by which the chance keeps within that limit; None where it is passed
            today, or never within ten years.
        is_past_limit: Whether it is passed today.
        worth_on: The day by which it is as likely as not at its planning mark; None where that was not asked for, or
            lies more than ten years off.
        full_because: The reading, weighing or count by which it is full, in words; nothing is foretold then, and the
            days are today. Empty where no more is known than a forecast.
    """

    container: str
    measure: str
    p10_on: date | None
    p50_on: date | None
    p90_on: date | None
    reason: str
    learned: bool
    is_told: bool
    fetch_on: date
    fetch_because: str
    booked: str | None
    chance_permille: int
    limit_permille: int
    within_limit_until: date | None = None
    is_past_limit: bool = False
    worth_on: date | None = None
    full_because: str = ""

    @property
    def is_full(self) -> bool:
        """Whether it was read, weighed or counted as full: a fact, and no forecast."""
        return bool(self.full_because)

    @property
    def warns(self) -> bool:
        """Whether the chance of being full before it can be fetched passes the site's limit."""
        return self.chance_permille > self.limit_permille

    @property
    def says(self) -> str:
        """The three days in words: "full by level: 10 % chance by 17 Dec 2026, 50 % by 8 Jan 2027, …"."""
        if self.is_full:
            return f"it is full by {self.measure}: {self.full_because}"
        if not self.is_told:
            return f"no forecast by {self.measure}"
        by = f"forecast, full by {self.measure}"
        days = ((10, self.p10_on), (50, self.p50_on), (90, self.p90_on))
        known = [(chance, on) for chance, on in days if on is not None]
        if not known:
            return f"{by}: not within {HORIZON_YEARS} years (chance below 10 %)"
        said = [
            f"{chance} % chance by {short_day(on)}" if not place else f"{chance} % by {short_day(on)}"
            for place, (chance, on) in enumerate(known)
        ]
        if len(known) < len(days):
            said.append(f"{days[len(known)][0]} % not within {HORIZON_YEARS} years")
        return f"{by}: {', '.join(said)}"

    @property
    def chance_says(self) -> str:
        """The chance before it can be fetched, in words, against the site's limit."""
        if self.is_full:
            when = "its pickup comes on" if self.booked else "a pickup could come on"
            return f"it is full now; {when} {short_day(self.fetch_on)}: {self.fetch_because}"
        limit = f"{self.limit_permille / 10:.0f} %"
        against = f"above the limit of {limit}" if self.warns else f"limit {limit}"
        when = "its pickup" if self.booked else "a pickup could come"
        said = f"{chance_words(self.chance_permille)} chance ({against}) that it is full before {when}"
        return f"{said}, {short_day(self.fetch_on)}: {self.fetch_because}"

    def as_json(self) -> dict[str, Any]:
        """The forecast as JSON says it."""
        found: dict[str, Any] = plain(self)
        return found | {
            "warns": self.warns,
            "is_full": self.is_full,
            "is_forecast": not self.is_full,
            "says": self.says,
            "chance_says": self.chance_says,
        }


def chance_words(permille: int) -> str:
    """A chance in whole percent, never shown as impossible or as sure.

    >>> chance_words(3), chance_words(234), chance_words(999)
    ('under 1 %', '23 %', 'over 99 %')
    """
    if permille < 10:
        return "under 1 %"
    return "over 99 %" if permille > 990 else f"{permille / 10:.0f} %"


def full_as_seen(container: ContainerStanding, zone: tzinfo) -> tuple[str, str] | None:
    """By which measure a container was read, weighed or counted at its closing mark or above, and how, in words.

    The last reading and the last weighing count, whatever went in since: that made it no emptier.
    """
    mark = container.close_at_permille
    closed_at = f"; it is closed at {mark / 10:g} %"
    if container.level_permille is not None and container.level_at is not None and container.level_permille >= mark:
        on = short_day(container.level_at.astimezone(zone).date())
        return "level", f"read at {container.level_permille / 10:g} % on {on}, entry {container.level_seq}{closed_at}"
    limit_mg, held = container.mass_limit_mg, container.holding
    weighed_mg = held.base_mg + held.added_mg
    if limit_mg is not None and weighed_mg and 1000 * weighed_mg >= mark * limit_mg:
        entry = f", entry {held.base_seq}" if held.base_seq else ""
        return "mass", f"{Mass(weighed_mg)} of {Mass(limit_mg)} weighed{entry}{closed_at}"
    limit, pieces = container.items_limit, container.pieces
    if limit is not None and 1000 * pieces >= mark * limit:
        return "pieces", f"{pieces} of {limit} counted{closed_at}"
    return None
