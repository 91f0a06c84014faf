"""Which generator category a month's waste falls into, and how what lies on site stands against its limits.

A category goes by the waste of a calendar month, and can change from month to month (40 CFR 262.13(a), as restated in
Utah Admin. Code R315-262-13). The amalgam in the count is an estimate, so the category is looked up three times: for
the value, and for both ends of its interval. Where they differ, a boundary lies inside, and the category is not
settled by what is known. Amounts are compared exactly, in milligrams.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from wasteledger.ordinance.rules import Category, Ordinance
from wasteledger.ordinance.words import Level

_KILOGRAM_MG = 1_000_000


@dataclass(frozen=True, slots=True)
class Counted:
    """Hazardous waste to be held against limits; whole milligrams.

    Attributes:
        value_mg: All but the acute waste.
        lower_mg: Lower end of its 95 % interval; the value itself where nothing in it is estimated.
        upper_mg: Its upper end, with what is allowed for pieces of unknown mass.
        acute_mg: Acute waste, which has a limit of its own.
        allowed_mg: How much of the upper end is such an allowance.
    """

    value_mg: int
    lower_mg: int
    upper_mg: int
    acute_mg: int = 0
    allowed_mg: int = 0

    @classmethod
    def exactly(cls, value_mg: int, acute_mg: int = 0) -> Counted:
        """An amount that nobody doubts."""
        return cls(value_mg, value_mg, value_mg, acute_mg)

    def plus(self, other: Counted) -> Counted:
        """Both together, where at most one of them is uncertain: intervals of two estimates do not add."""
        return Counted(
            self.value_mg + other.value_mg,
            self.lower_mg + other.lower_mg,
            self.upper_mg + other.upper_mg,
            self.acute_mg + other.acute_mg,
            self.allowed_mg + other.allowed_mg,
        )

    @property
    def with_acute(self) -> Counted:
        """The acute waste counted with the rest, for an ordinance that sets no limit of its own for it."""
        return self.plus(Counted.exactly(self.acute_mg, -self.acute_mg))


@dataclass(frozen=True, slots=True)
class Placed:
    """Where an ordinance's categories place a month.

    Attributes:
        by_value: The category of the value: the month's category. None where no category takes such an amount.
        at_lower: That of the lower end of the interval.
        at_upper: That of the upper end.
        inside_kg: The boundaries between categories that lie inside the interval, in kg, rising.
        by_acute: Whether the acute waste alone makes it the highest category.
    """

    by_value: Category | None
    at_lower: Category | None
    at_upper: Category | None
    inside_kg: tuple[Decimal, ...] = ()
    by_acute: bool = False

    @property
    def is_settled(self) -> bool:
        """Whether every amount in the interval has the same category."""
        return not self.inside_kg

    @property
    def highest(self) -> Category | None:
        """The highest of the three; None where none takes any of the amounts."""
        found = [one for one in (self.by_value, self.at_lower, self.at_upper) if one is not None]
        return max(found, key=_rank, default=None)


class Reach(StrEnum):
    """Whether an amount is over its limit: no, yes, or only at the upper end of its interval."""

    NO = "no"
    MAYBE = "maybe"
    YES = "yes"


@dataclass(frozen=True, slots=True)
class Stocked:
    """How what lies on site stands against the limits of one category.

    Attributes:
        clock: Whether it reached the amount from which a clock runs for the whole stock.
        cap: Whether it is over the amount that may ever lie there.
    """

    category: Category
    clock: Reach
    cap: Reach


def place(categories: Sequence[Category], counted: Counted) -> Placed:
    """Where *categories*, all of one ordinance, place what was *counted* in a month.

    Where two would take an amount, the higher does. Acute waste is held against the limit that a category sets for it;
    where none sets one, it is counted with the rest, which never makes the category lower.
    """
    if not limits_acute(categories):
        counted = counted.with_acute
    if _acute_is_over(categories, counted.acute_mg):
        highest = max(categories, key=_rank)
        return Placed(highest, highest, highest, by_acute=True)
    value, lower, upper = (
        _category_of(categories, mass_mg) for mass_mg in (counted.value_mg, counted.lower_mg, counted.upper_mg)
    )
    inside = [kg for kg in _boundaries(categories) if _lies_inside(categories, kg, counted)]
    return Placed(value, lower, upper, tuple(inside))


def stocked(categories: Sequence[Category], category: Category, counted: Counted) -> Stocked:
    """How what lies on site, as *counted*, stands against the limits of *category*, one of *categories*.

    The amount at which the clock starts belongs to it: 1,000 kg starts it where less than 1,000 kg runs no clock. A
    limit that the category has not is never reached. Acute waste is left out or counted as in `place`.
    """
    if not limits_acute(categories):
        counted = counted.with_acute
    clock_kg, cap_kg = category.stock_below_kg, category.stock_up_to_kg
    return Stocked(
        category,
        Reach.NO if clock_kg is None else _reach(counted, lambda mass_mg: mass_mg >= clock_kg * _KILOGRAM_MG),
        Reach.NO if cap_kg is None else _reach(counted, lambda mass_mg: mass_mg > cap_kg * _KILOGRAM_MG),
    )


def may_leave_out(by: Ordinance, counting: Ordinance) -> bool:
    """Whether what ordinance *by* leaves out of the month's count is left out of the count of *counting*, too.

    Law gives way to nearer law and to law of its own level: a rule on universal waste stands beside the rule that
    counts. An office's conventions take nothing out of a count that is not their own.
    """
    if by.id == counting.id:
        return True
    return by.level is not Level.OFFICE and by.level.nearness >= counting.level.nearness


def limits_acute(categories: Sequence[Category]) -> bool:
    """Whether a limit of its own is set for acute waste."""
    return any(one.acute_over_kg is not None for one in categories)


def month_words(category: Category) -> str:
    """The bounds of a category in words: ``over 100 kg, below 1,000 kg``; ``any amount`` where it has none."""
    bounds = (
        ("over", category.month_over_kg),
        ("from", category.month_from_kg),
        ("up to", category.month_up_to_kg),
        ("below", category.month_below_kg),
    )
    return ", ".join(f"{word} {in_kg(kg)}" for word, kg in bounds if kg is not None) or "any amount"


def in_kg(amount_kg: Decimal) -> str:
    """Kilograms in words: ``1,000 kg``, ``0.5 kg``."""
    shown = f"{amount_kg:,f}"
    return f"{shown.rstrip('0').rstrip('.') if '.' in shown else shown} kg"


def _rank(category: Category) -> int:
    return category.rank


def _category_of(categories: Sequence[Category], mass_mg: int) -> Category | None:
    return max((one for one in categories if _takes(one, mass_mg)), key=_rank, default=None)


def _takes(category: Category, mass_mg: int) -> bool:
    over, begin = category.month_over_kg, category.month_from_kg
    last, end = category.month_up_to_kg, category.month_below_kg
    return (
        (over is None or mass_mg > over * _KILOGRAM_MG)
        and (begin is None or mass_mg >= begin * _KILOGRAM_MG)
        and (last is None or mass_mg <= last * _KILOGRAM_MG)
        and (end is None or mass_mg < end * _KILOGRAM_MG)
    )


def _acute_is_over(categories: Sequence[Category], acute_mg: int) -> bool:
    limits = (one.acute_over_kg for one in categories)
    return any(limit is not None and acute_mg > limit * _KILOGRAM_MG for limit in limits)


def _boundaries(categories: Sequence[Category]) -> list[Decimal]:
    bounds = (
        bound
        for one in categories
        for bound in (one.month_over_kg, one.month_from_kg, one.month_up_to_kg, one.month_below_kg)
    )
    return sorted({bound for bound in bounds if bound is not None})


def _lies_inside(categories: Sequence[Category], boundary_kg: Decimal, counted: Counted) -> bool:
    """Whether two amounts of the interval next to a boundary, a milligram apart, have different categories."""
    at_mg = int(boundary_kg * _KILOGRAM_MG)
    beside = [mass_mg for mass_mg in (at_mg - 1, at_mg, at_mg + 1) if counted.lower_mg <= mass_mg <= counted.upper_mg]
    return len({None if one is None else one.id for one in (_category_of(categories, mg) for mg in beside)}) > 1


def _reach(counted: Counted, is_over: Callable[[int], bool]) -> Reach:
    if is_over(counted.value_mg):
        return Reach.YES
    return Reach.MAYBE if is_over(counted.upper_mg) else Reach.NO
