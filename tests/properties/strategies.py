"""Drawn values that every law shares: masses, awkward text, and histories of a small practice.

A history is a list of *attempts*: what somebody tries to record, and when it is said to have happened. Many are
refused; what is refused must leave no trace, and what is taken must obey the laws.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from hypothesis import strategies as st

from tests.makers import (
    MONDAY_MORNING,
    TRAPS,
    a_booking,
    a_closing,
    a_deposit,
    a_level,
    a_line_cleaning,
    a_look,
    a_reading,
    a_receipt,
    a_release,
    a_repair,
    a_swap,
    a_trap,
    a_unit_replacement,
    a_weighing,
    an_inspection,
    an_opening,
    some_procedures,
)
from wasteledger.model.traps import Condition, Insert
from wasteledger.model.values import Body

CONTAINERS = ("C-1", "C-2", "C-3")
PICKUPS = ("P-1", "P-2")


@dataclass(frozen=True, slots=True)
class Attempt:
    """Something to record, *minutes* after Monday morning."""

    body: Body
    minutes: int

    @property
    def happened_at(self) -> datetime:
        """When it is said to have happened."""
        return MONDAY_MORNING + timedelta(minutes=self.minutes)


@dataclass(frozen=True, slots=True)
class Amends:
    """A correction of what was recorded: *which* counts from the newest entry backwards, wrapping around.

    *by* is what should have been written (where that is replaced), *minutes* when.
    """

    which: int
    action: Literal["void", "replace", "reinstate"]
    by: Body
    minutes: int | None


def masses(most_mg: int = 10**10) -> st.SearchStrategy[int]:
    """Milligrams; the edges often."""
    return st.one_of(st.sampled_from([0, 1, most_mg - 1, most_mg]), st.integers(0, most_mg))


def awkward_text() -> st.SearchStrategy[str]:
    """Any text at all: half pairs, controls, signs that grow in NFC, right to left, and plain words."""
    return st.one_of(
        st.text(max_size=60),
        st.text(st.characters(codec=None, categories=["Cs", "Cc", "Mn", "Lo", "Zl", "Zs"]), max_size=40),
        st.sampled_from(["\u0958" * 150, "e\u0301", " \u0301", "\u1e9b\u0323", "\ufb33", "=1+1", "שלום", "\u2028"]),
    )


def times() -> st.SearchStrategy[int]:
    """Minutes within a working week, often the same ones."""
    return st.one_of(st.integers(0, 12).map(lambda hour: 600 * hour), st.integers(0, 7200))


@st.composite
def bodies(draw: st.DrawFn) -> Body:
    """Anything that a practice with three containers might try to record."""
    container, pickup = draw(st.sampled_from(CONTAINERS)), draw(st.sampled_from(PICKUPS))
    trap = draw(st.sampled_from(sorted(TRAPS)))
    match draw(st.integers(0, 19)):
        case 0 | 1 | 2:
            return an_opening(container)
        case 3 | 4 | 5 | 6:
            weighed = draw(st.booleans())
            return a_swap(
                trap,
                container,
                condition=draw(st.sampled_from([Condition.CLOGGED, Condition.DEBRIS, Condition.NOT_LOOKED])),
                insert=draw(st.sampled_from(Insert)),
                insert_mg=draw(st.none() | masses(50_000)),
                days_in_service=draw(st.none() | st.integers(0, 60)),
                gross=a_reading(draw(st.integers(5_000, 90_000))) if weighed else None,
                tare=a_reading(5_000) if weighed else None,
            )
        case 7 | 8:
            by_mass = draw(st.booleans())
            return a_deposit(
                container,
                count=draw(st.integers(1, 9)) if not by_mass or draw(st.booleans()) else None,
                mass=a_reading(draw(masses(10_000))) if by_mass else None,
                stream=draw(st.sampled_from(["scrap", "scrap", "scrap", "teeth"])),
            )
        case 9:
            return a_unit_replacement(container)
        case 10 | 11:
            return a_weighing(container, draw(st.integers(140_000, 900_000)))
        case 12:
            return a_level(container, draw(st.integers(0, 1100)))
        case 13:
            return a_closing(container)
        case 14:
            return a_booking(pickup, tuple(draw(st.sets(st.sampled_from(CONTAINERS), min_size=1, max_size=2))))
        case 15:
            return a_release(pickup, tuple(sorted(draw(st.sets(st.sampled_from(CONTAINERS), min_size=1, max_size=2)))))
        case 16:
            proves = draw(st.sampled_from(["received", "recycled", "both"]))
            return a_receipt(pickup, (container,) if draw(st.booleans()) else (), proves=proves)
        case 17:
            return a_look(trap, draw(st.sampled_from([Condition.CLEAN, Condition.DEBRIS, Condition.CLOGGED])))
        case 18:
            separator: tuple[Body, ...] = (an_inspection(), an_inspection("malfunction"), a_repair())
            return draw(st.sampled_from((*separator, a_line_cleaning("r1"), some_procedures(room="r1"))))
        case _:
            return a_trap(trap, retired=draw(st.booleans()))


def attempts() -> st.SearchStrategy[Attempt]:
    """Something to record, at some time of the week: as often backdated as not."""
    return st.builds(Attempt, bodies(), times())


def amends() -> st.SearchStrategy[Amends]:
    """A correction of something recorded lately, or long ago."""
    return st.builds(
        Amends,
        st.one_of(st.integers(0, 3), st.integers(0, 30)),
        st.sampled_from(["void", "replace", "replace", "reinstate"]),
        bodies(),
        st.none() | times(),
    )


def a_full_life() -> list[Attempt]:
    """Two containers through their whole lives, so that histories have something to disturb."""
    said: list[Body] = [
        an_opening("C-1"),
        an_opening("C-2"),
        a_swap("1-HV", "C-1"),
        a_deposit("C-2"),
        a_swap("2-HV", "C-1", gross=a_reading(40_000), tare=a_reading(5_000)),
        a_weighing("C-1", 260_000),
        a_closing("C-1"),
        a_booking("P-1", ("C-1",)),
        a_release("P-1", ("C-1",)),
        a_receipt("P-1", ("C-1",)),
    ]
    return [Attempt(body, 600 * number) for number, body in enumerate(said)]


@st.composite
def histories(draw: st.DrawFn, most: int = 22) -> list[Attempt | Amends]:
    """What a practice tries to record in a week, in the order in which it is written down."""
    begun: list[Attempt | Amends] = list(a_full_life()[: draw(st.integers(0, 10))])
    return begun + draw(st.lists(st.one_of(attempts(), attempts(), amends()), max_size=most))
