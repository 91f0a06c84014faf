"""What a container holds, as counts and weighings: the plain values that an estimate starts from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self


@dataclass(frozen=True, slots=True)
class Tally:
    """Unweighed additions of one source and one condition, summed.

    Attributes:
        source: A trap kind's value, ``separator_unit``, or ``stream:`` and a stream.
        grade: The condition seen; ``not_looked`` where none was; empty for what is no trap.
        count: How many went in.
        dentists_permille: Sum over them of the dentists served, in thousandths.
        dentist_days_permille: Sum of dentists served times days in service (the trap's own interval where the days
            are not known), in thousandths.
        inserts_mg: Known mass of the bodies that went in with them.
        inserts_unknown: How many bodies of unknown mass went in.
    """

    source: str
    grade: str
    count: int = 0
    dentists_permille: int = 0
    dentist_days_permille: int = 0
    inserts_mg: int = 0
    inserts_unknown: int = 0

    def plus(self, other: Tally) -> Self:
        """Both together; they must be of one source and grade."""
        if (self.source, self.grade) != (other.source, other.grade):
            raise ValueError("tallies of different sources do not add")
        # Years of swaps are added up each time that something is learned, so this is written out.
        return type(self)(
            self.source,
            self.grade,
            self.count + other.count,
            self.dentists_permille + other.dentists_permille,
            self.dentist_days_permille + other.dentist_days_permille,
            self.inserts_mg + other.inserts_mg,
            self.inserts_unknown + other.inserts_unknown,
        )


@dataclass(frozen=True, slots=True)
class Holding:
    """What is known of a container's contents (everything in it but the container itself).

    Attributes:
        base_mg: Net mass at the last weighing, or 0 in an empty container.
        base_twelfths_mg2: Twelve times the variance of *base_mg* (see `Reading.twelfths_mg2`).
        base_seq: The entry of that weighing; 0 where the container was empty.
        added_mg: What was weighed singly and put in since.
        added_twelfths_mg2: Twelve times the variance of *added_mg*.
        tallies: What went in since, unweighed, sorted by source and grade.
    """

    base_mg: int = 0
    base_twelfths_mg2: int = 0
    base_seq: int = 0
    added_mg: int = 0
    added_twelfths_mg2: int = 0
    tallies: tuple[Tally, ...] = ()

    @property
    def stood_on_scale(self) -> bool:
        """Whether the container itself was weighed as it is: nothing went in since, weighed by itself or not."""
        return bool(self.base_seq) and not (self.added_mg or self.added_twelfths_mg2 or self.tallies)

    def with_tally(self, tally: Tally) -> Self:
        """This holding and one more unweighed addition."""
        kept = {(one.source, one.grade): one for one in self.tallies}
        place = (tally.source, tally.grade)
        kept[place] = kept[place].plus(tally) if place in kept else tally
        return replace(self, tallies=tuple(kept[name] for name in sorted(kept)))

    def with_weighed(self, mass_mg: int, twelfths_mg2: int) -> Self:
        """This holding and one more addition that stood on a scale by itself."""
        return replace(
            self, added_mg=self.added_mg + mass_mg, added_twelfths_mg2=self.added_twelfths_mg2 + twelfths_mg2
        )
