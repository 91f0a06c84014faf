"""Whether the generator categories of one file fit together: no amount between two of them, none in both."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

from wasteledger.ordinance.fields import Table
from wasteledger.ordinance.rules import Category


def check_categories(tables: Sequence[Table], categories: Sequence[Category]) -> None:
    """Keep a fault at the table of each category that has no clear band, or does not join the one below it."""
    clear = [_is_clear(table, one, categories) for table, one in zip(tables, categories, strict=True)]
    if not all(clear):
        return  # bands that are not clear by themselves would be compared in vain
    ranked = sorted(zip(categories, tables, strict=True), key=lambda pair: pair[0].rank)
    for (below, _), (category, table) in pairwise(ranked):
        _check_join(table, below, category)


def _is_clear(table: Table, category: Category, categories: Sequence[Category]) -> bool:
    """Whether no fault of the category by itself had to be kept."""
    before = len(table.checks.faults)
    if sum(other.name == category.name for other in categories) > 1:
        table.fault("name", f"“{category.name}” stands twice in this file.", "Give each category a name of its own.")
    if sum(other.rank == category.rank for other in categories) > 1:
        table.fault("rank", f"Two categories have the rank {category.rank}.", "Count them up from the lowest, 1.")
    if category.month_over_kg is not None and category.month_from_kg is not None:
        table.fault("month_from_kg", "It begins twice.", "Write month_over_kg or month_from_kg.")
    if category.month_up_to_kg is not None and category.month_below_kg is not None:
        table.fault("month_below_kg", "It ends twice.", "Write month_up_to_kg or month_below_kg.")
    lower, upper = _lower(category), _upper(category)
    if lower is None and any(other.rank < category.rank for other in categories):
        table.fault("", "It has no beginning, and is not the lowest.", "Write month_over_kg or month_from_kg.")
    if lower is not None and upper is not None and _is_empty(category, lower, upper):
        key = "month_up_to_kg" if category.month_up_to_kg is not None else "month_below_kg"
        table.fault(key, "It ends before it begins.", "Write the larger amount as its end.")
    return len(table.checks.faults) == before


def _check_join(table: Table, below: Category, category: Category) -> None:
    begins, ends = _lower(category), _upper(below)
    if begins is None:
        return
    key = "month_over_kg" if category.month_over_kg is not None else "month_from_kg"
    floor = _lower(below)
    if floor is not None and begins <= floor:
        table.fault(key, f"It begins no higher than “{below.name}”.", "Give the higher category the higher rank.")
    elif ends is not None and (ends != begins or _both_or_neither_has_the_bound(below, category)):
        said = f"up to {ends} kg" if below.month_up_to_kg is not None else f"below {ends} kg"
        joins = "month_over_kg" if below.month_up_to_kg is not None else "month_from_kg"
        table.fault(key, f"It does not join “{below.name}”, which goes {said}.", f"Write {joins} = {ends}.")


def _both_or_neither_has_the_bound(below: Category, category: Category) -> bool:
    return (below.month_up_to_kg is not None) == (category.month_from_kg is not None)


def _is_empty(category: Category, lower: Decimal, upper: Decimal) -> bool:
    has_both_ends = category.month_from_kg is not None and category.month_up_to_kg is not None
    return upper < lower or (upper == lower and not has_both_ends)


def _lower(category: Category) -> Decimal | None:
    return category.month_over_kg if category.month_over_kg is not None else category.month_from_kg


def _upper(category: Category) -> Decimal | None:
    return category.month_up_to_kg if category.month_up_to_kg is not None else category.month_below_kg
