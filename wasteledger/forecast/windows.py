"""The fewest pickup days that meet every container's window, on working days, and by when each must be booked."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from wasteledger.errors import NotUnderstood


class BadWindow(NotUnderstood):
    """A window that ends before it begins."""

    code = "bad-window"


@dataclass(frozen=True, slots=True)
class Lead:
    """What a pickup waits for, in calendar days from the day on which it is asked for."""

    what: str
    days: int


@dataclass(frozen=True, slots=True)
class Window:
    """The days on which one container should leave.

    Attributes:
        container: Which.
        not_before: The first of them.
        not_after: The last of them.
        binds: What sets the last day, in words.
        opens_because: What sets the first day, in words.
        leads: What its pickup waits for: the carrier, an empty container in its place.

    Raises:
        BadWindow: It ends before it begins.
    """

    container: str
    not_before: date
    not_after: date
    binds: str
    opens_because: str
    leads: tuple[Lead, ...] = ()

    def __post_init__(self) -> None:
        if self.not_after < self.not_before:
            raise BadWindow(
                f"The window of container {self.container} ends on {self.not_after}, before it begins.",
                hint="A container that is late leaves on the first day possible: begin and end its window there.",
            )


@dataclass(frozen=True, slots=True)
class Visit:
    """One pickup day.

    Attributes:
        on: The day; a working day.
        containers: What leaves, in order of name.
        bound_by: The container whose last day sets it.
        binds: What sets that day, in words.
        book_by: The last working day on which it can be asked for so that all is here; None where that has passed.
        bottleneck: What takes longest to come; None where nothing is waited for.
    """

    on: date
    containers: tuple[str, ...]
    bound_by: str
    binds: str
    book_by: date | None
    bottleneck: Lead | None


@dataclass(frozen=True, slots=True)
class Visits:
    """The plan; *without_day* are the windows in which nobody is at work, so that no visit meets them."""

    visits: tuple[Visit, ...]
    without_day: tuple[Window, ...] = ()


def fewest_visits(windows: Iterable[Window], working_day: Callable[[date], bool], *, today: date) -> Visits:
    """The fewest working days that hold at least one day of every window, each as late as it may be.

    The container that must leave soonest sets the first day, on the last working day of its window; all whose windows
    hold that day go along; and so on with the rest. No plan has fewer days, since the windows that set them have no
    day in common.

    Args:
        windows: Each container's.
        working_day: Whether somebody is at work on a day.
        today: The first day on which a pickup can be asked for.
    """
    ends, without_day = [], []
    for window in windows:
        last_on = last_working_day(window.not_after, working_day, not_before=window.not_before)
        if last_on is None:
            without_day.append(window)
        else:
            ends.append((last_on, window.container, window))
    left = sorted(ends, key=lambda end: end[:2])
    visits = []
    while left:
        on, _, soonest = left[0]
        going = [window for _, _, window in left if window.not_before <= on]
        left = [end for end in left if end[2].not_before > on]
        waits = bottleneck(lead for window in going for lead in window.leads)
        visits.append(
            Visit(
                on=on,
                containers=tuple(sorted(window.container for window in going)),
                bound_by=soonest.container,
                binds=soonest.binds,
                book_by=last_working_day(
                    on - timedelta(days=waits.days if waits else 0), working_day, not_before=today
                ),
                bottleneck=waits,
            )
        )
    return Visits(tuple(visits), tuple(without_day))


def bottleneck(leads: Iterable[Lead]) -> Lead | None:
    """What takes longest to come, all being asked for on one day; the first of several; None of none."""
    return max(leads, key=lambda lead: lead.days, default=None)


def last_working_day(day: date, working_day: Callable[[date], bool], *, not_before: date) -> date | None:
    """The last working day on or before *day*; None where none is left since *not_before*."""
    while day >= not_before:
        if working_day(day):
            return day
        day -= timedelta(days=1)
    return None
