"""Amalgam restorations removed and placed in a span of days: what the second opinion on the traps starts from.

Counts alone: never who was treated, and never for what.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from wasteledger.model.values import Body, Day, Ref, Value

LONGEST_DAYS = 366
"""A span of more days says too little of when: this program's own convention."""

Restorations = Annotated[int, Field(ge=0, le=100_000)]


class BySurfaces(Value):
    """How many restorations, by the tooth surfaces that each had; ``unknown`` where nobody noted them."""

    one: Restorations = 0
    two: Restorations = 0
    three: Restorations = 0
    four_or_more: Restorations = 0
    unknown: Restorations = 0

    @property
    def total(self) -> int:
        """All of them.

        >>> BySurfaces(one=3, unknown=2).total
        5
        """
        return self.one + self.two + self.three + self.four_or_more + self.unknown

    @property
    def named(self) -> tuple[tuple[str, int], ...]:
        """What there is any of, with the surfaces as people say them.

        >>> BySurfaces(one=3, four_or_more=1).named
        (('1 surface', 3), ('4 or more surfaces', 1))
        """
        counts = (self.one, self.two, self.three, self.four_or_more, self.unknown)
        return tuple((words, count) for words, count in zip(_WORDS, counts, strict=True) if count)


_WORDS = ("1 surface", "2 surfaces", "3 surfaces", "4 or more surfaces", "surfaces not noted")


class Procedures(Body):
    """Amalgam restorations removed and placed from *first_on* to *last_on*, both days included.

    Of one room where *room* names it, else of the whole practice. Noughts are a statement too: nothing was done.
    """

    KIND: ClassVar[str] = "procedures"

    first_on: Day
    last_on: Day
    room: Ref | None = None
    removed: BySurfaces = BySurfaces()
    placed: BySurfaces = BySurfaces()
    source: Literal["typed", "csv"] = "typed"

    @model_validator(mode="after")
    def _a_span_of_days(self) -> Self:
        if self.last_on < self.first_on:
            raise ValueError("the last day lies before the first")
        if (self.last_on - self.first_on).days >= LONGEST_DAYS:
            raise ValueError(f"a span has at most {LONGEST_DAYS} days")
        return self

    def overlaps(self, other: Procedures) -> bool:
        """Whether some day would be counted twice: the whole practice holds every room."""
        same_place = self.room is None or other.room is None or self.room == other.room
        return same_place and self.first_on <= other.last_on and other.first_on <= self.last_on
