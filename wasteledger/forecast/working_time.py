"""Working days counted from the day of a forecast, and back to dates."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta

from wasteledger.errors import NotUnderstood

_LONGEST_REST_DAYS = 3660


class NeverAtWork(NotUnderstood):
    """A calendar without a working day for ten years."""

    code = "never-at-work"


@dataclass(frozen=True)
class WorkingTime:
    """Working days after *today*, which is day 0 whether it is worked or not.

    >>> time = WorkingTime(date(2026, 3, 6), lambda day: day.weekday() < 5)
    >>> time.nth_working_day(1), time.working_days_until(date(2026, 3, 10))
    (datetime.date(2026, 3, 9), 2)
    """

    today: date
    works_on: Callable[[date], bool]
    _days: list[date] = field(default_factory=list, repr=False, compare=False)
    _counts: dict[date, int] = field(default_factory=dict, repr=False, compare=False)

    def nth_working_day(self, count: int) -> date:
        """The *count*-th working day after today; today itself for 0 or less.

        Raises:
            NeverAtWork: No working day comes for ten years.
        """
        if count <= 0:
            return self.today
        while len(self._days) < count:
            self._walk()
        return self._days[count - 1]

    def working_days_until(self, day: date) -> int:
        """How many working days lie after today, up to *day* with it; 0 for today and before.

        Raises:
            NeverAtWork: No working day comes for ten years.
        """
        if day <= self.today:
            return 0
        while not self._days or self._days[-1] < day:
            self._walk()
        back = day
        while back > self.today and back not in self._counts:
            back -= timedelta(days=1)
        return self._counts.get(back, 0)

    def _walk(self) -> None:
        start = day = self._days[-1] if self._days else self.today
        for _ in range(min(_LONGEST_REST_DAYS, (date.max - start).days)):
            day += timedelta(days=1)
            if self.works_on(day):
                self._days.append(day)
                self._counts[day] = len(self._days)
                return
        raise NeverAtWork(
            f"No working day comes for ten years after {start.day} {start:%B %Y}.",
            hint="Enter the weekdays on which the practice works.",
        )
