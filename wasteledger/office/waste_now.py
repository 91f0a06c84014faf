"""The category that the duties of a practice go by now, since when, and on which month and end of interval it rests."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from wasteledger.office.other_waste import Month
from wasteledger.office.waste_allowance import allowed_words
from wasteledger.office.waste_counting import Counting
from wasteledger.office.waste_months import MonthCategory, MonthCount

MONTHS_BACK = 24
"""So many months, with the one that runs, are looked at for the beginning of a category: this program's own limit."""


@dataclass(frozen=True, slots=True)
class CategoryNow:
    """The category by which an ordinance's duties go now.

    Attributes:
        name: The highest that this month and the last complete one leave open.
        since: The first day of the unbroken run of months that left it, or a higher one, open.
        is_settled: Whether the value of one of the two months gives it; not where only an end of an interval does, or
            waste that nothing but a rule not read at its source leaves out.
        may_be_older: Whether the run reaches back to the beginning of the journal, or of the months that are looked
            at, so that it may have begun before.
        is_from_beginning: Whether that beginning is the journal's own, so that *since* is its first day.
        may_be: The categories that the two months leave open, the highest first.
        why: The month and the figure that it rests on, in words.
        ordinance_title: The name of the ordinance.
        is_told: Whether other waste was typed in, be it none, for one of the two months; amalgam alone says little of a
            category, so that `due` goes by none without it.
    """

    name: str
    since: date
    is_settled: bool
    may_be_older: bool = False
    why: str = ""
    ordinance_title: str = ""
    is_told: bool = True
    is_from_beginning: bool = False
    may_be: tuple[str, ...] = ()

    @property
    def says(self) -> str:
        """The category, on what it rests and since when, in words; or why `due` goes by none."""
        if not self.is_told:
            return (
                "which category duties go by is not known, so that due shows those of each: no other waste was typed "
                f"in for this month or the last, not even that there was none. Amalgam alone gives {self.name}."
            )
        sure = "" if self.is_settled else "; not settled"
        since = f"since {self.since.isoformat()}{', or before' if self.may_be_older else ''}"
        if self.is_from_beginning:
            since = f"since the ledger's beginning, {self.since.isoformat()}"
        return f"duties go by {self.name} ({self.why}{sure}), {since}."


def standings_of(counting: Counting, first_on: date) -> Mapping[str, CategoryNow]:
    """The category of now of each ordinance that has categories, by its id; *first_on* is the journal's first day."""
    running, first = Month.of(counting.today), Month.of(first_on)
    oldest = min(running, max(first, running.plus(1 - MONTHS_BACK)))
    deciding: dict[str, tuple[MonthCount, MonthCategory]] = {}
    # The newest month comes first, so that a run is followed back from the newest that has the category.
    for month in reversed(counting.lately()):
        for one in month.categories:
            before = deciding.get(one.ordinance)
            if one.highest is not None and (before is None or _stands_before(one, before[1])):
                deciding[one.ordinance] = (month, one)
    found, is_told = {}, any(month.others for month in counting.lately())
    for ordinance, (month, one) in deciding.items():
        if one.highest is not None:
            begun = _begin(counting, ordinance, one.highest.rank, oldest)
            is_from_beginning = begun <= first
            found[ordinance] = CategoryNow(
                name=one.highest.name,
                since=first_on if is_from_beginning else begun.first_on,
                is_settled=_by_value(one),
                may_be_older=begun <= oldest,
                why=_why(month, one),
                ordinance_title=one.ordinance_title,
                is_told=is_told,
                is_from_beginning=is_from_beginning,
                may_be=_may_be(counting, ordinance, one.highest.rank),
            )
    return found


def _may_be(counting: Counting, ordinance: str, highest: int) -> tuple[str, ...]:
    """The names of the categories from the lowest that the months leave open up to the highest, that one first."""
    lowest = max(
        (
            min(found.rank for found in (one.placed.at_lower, one.placed.by_value, one.highest) if found is not None)
            for month in counting.lately()
            for one in month.categories
            if one.ordinance == ordinance and one.highest is not None
        ),
        default=highest,
    )
    ranks = next((ranks for one, ranks in counting.ranks_on(counting.today) if one.id == ordinance), ())
    return tuple(one.name for one in reversed(ranks) if lowest <= one.rank <= highest)


def _stands_before(one: MonthCategory, other: MonthCategory) -> bool:
    """Whether a month decides rather than the newer *other*: a higher category, or the same for sure, or not alone.

    Amalgam alone, without a word on other waste, says less than a whole month.
    """
    if one.highest is None or other.highest is None:
        return one.highest is not None
    return (one.highest.rank, _by_value(one), one.is_told) > (other.highest.rank, _by_value(other), other.is_told)


def _by_value(one: MonthCategory) -> bool:
    """Whether the value itself gives the highest category that is left open."""
    found = one.placed.by_value
    return found is not None and one.highest is not None and found.rank >= one.highest.rank


def _begin(counting: Counting, ordinance: str, rank: int, oldest: Month) -> Month:
    """The first month of the run that leaves a category of that rank, or a higher one, open."""
    known = {one.month: one for one in counting.lately()}
    begun, many = max(month for month, one in known.items() if _leaves_open(one, ordinance, rank)), 2
    at = begun
    while (before := at.plus(-1)) >= oldest:
        standing = _ranks(counting, ordinance, before)
        # Every amount is in the lowest category or a higher one: nothing has to be counted for it.
        if standing and rank != min(standing):
            if before not in known:
                # More at a time, the longer the run: most end soon, and each reading has a price of its own.
                many *= 2
                known |= {one.month: one for one in counting.months(max(oldest, before.plus(1 - many)), before)}
            if not _leaves_open(known[before], ordinance, rank):
                if known[before].others:
                    break
                # Of a month without a word on other waste nobody knows: it parts no run, and begins none.
                at = before
                continue
        elif not standing:
            break
        begun = at = before
    return begun


def _ranks(counting: Counting, ordinance: str, month: Month) -> list[int]:
    day = min(month.last_on, counting.today)
    return [rank.rank for one, ranks in counting.ranks_on(day) for rank in ranks if one.id == ordinance]


def _leaves_open(month: MonthCount, ordinance: str, rank: int) -> bool:
    return any(
        one.highest is not None and one.highest.rank >= rank for one in month.categories if one.ordinance == ordinance
    )


def _why(month: MonthCount, one: MonthCategory) -> str:
    so_far = " so far" if month.is_so_far else ""
    return f"{month.month.words}{so_far}, {_figure(one)}"


def _widened(one: MonthCategory) -> str:
    if not one.counted.allowed_mg:
        return ""
    return f", which takes {allowed_words(one.counted.allowed_mg, one.unknown_pieces)}"


def _figure(one: MonthCategory) -> str:
    placed, highest = one.placed, one.highest
    if placed.by_acute:
        return "for its acute waste"
    if _by_value(one):
        return "by the value"
    if placed.highest is not None and highest is not None and placed.highest.rank >= highest.rank:
        return f"at the upper end{_widened(one)}"
    return f"with {', '.join(one.left_out)}, which only a rule not read at its source leaves out"
