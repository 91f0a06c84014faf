"""Days that three US sewer districts and counties set, each by its shipped file, held against independent arithmetic.

Texts as read in November 2026: Metropolitan Council, dental clinics (metrocouncil.org); Central Weber Sewer Improvement
District (centralweber.com/dental); the ordinance of Indian River County, Florida. The E-number counts the worked
examples of that reading.

The reference that we did not make: numpy's ``datetime64`` for days, years and weekdays.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import pytest

from tests.ordinance.makers import FEDERAL, shipped
from tests.outside.numpy_days import days_later, weekday, years_later
from wasteledger.ordinance import (
    Duty,
    Event,
    Interval,
    Manual,
    Obligation,
    Ordinance,
    Record,
    Trigger,
    Unit,
    obligations,
    retention,
)
from wasteledger.ordinance.figures import removal_minimum

TWIN_CITIES, CENTRAL_WEBER, INDIAN_RIVER = (
    shipped(name) for name in ("us-minnesota-twin-cities", "us-utah-central-weber", "us-florida-indian-river")
)


def the_obligation(ordinances: Sequence[Ordinance], rule: str, *triggers: Trigger) -> Obligation:
    """The one obligation that *rule* gives."""
    (found,) = [one for one in obligations(ordinances, triggers) if one.rule == rule]
    return found


def test_e39_twin_cities_log_every_week() -> None:
    """Metropolitan Council: a weekly log; it binds before the manual's month under 40 CFR 441.30(a)(1)(iv)."""
    on = date(2026, 5, 29)
    manual = Manual(inspect_every=Interval(1, Unit.MONTHS))
    logged = Trigger(Event.SEPARATOR_INSPECTED, on, "separator 1", 12, manual)
    found = the_obligation([FEDERAL, TWIN_CITIES], "MN-01", logged)

    assert found.due_on == date(2026, 6, 5) == days_later(on, 7)
    assert (weekday(on), weekday(found.due_on)) == ("Fri", "Fri")
    assert found.binds
    assert [other.rule for other in found.also] == ["US-441-06"]


def test_twin_cities_statement_counts_a_year_from_the_last() -> None:
    """Metropolitan Council: the page says yearly; a year is counted from the last, which is our reading."""
    start = Trigger(Event.IN_FORCE, date(2026, 5, 1), "site", 2, ordinance=TWIN_CITIES.id)
    stated = Trigger(Event.DUTY_DONE, date(2027, 2, 1), "site", 30, duty=Duty.CERTIFY.value, ordinance=TWIN_CITIES.id)

    assert the_obligation([TWIN_CITIES], "MN-STATEMENT", start).due_on == date(2027, 5, 1)
    assert the_obligation([TWIN_CITIES], "MN-STATEMENT", start, stated).due_on == date(2028, 2, 1)
    assert the_obligation([TWIN_CITIES], "MN-STATEMENT", start).standing_of_source == (
        "Read on the council's own page, which says yearly and names no day. "
        "A year is counted from the last statement: our reading."
    )


def test_central_weber_ships_at_least_once_a_year() -> None:
    """Central Weber: a year from the last pickup for all of it, and so from the first waste for each container."""
    shipped_last = Trigger(Event.LAST_PICKUP, date(2026, 3, 2), "site", 20)
    filled = Trigger(Event.CONTAINER_FIRST_WASTE, date(2026, 3, 9), "container A", 21)

    found = {one.rule: one for one in obligations([CENTRAL_WEBER], [shipped_last, filled])}

    assert found["UT-01"].due_on == date(2027, 3, 2) == years_later(date(2026, 3, 2), 1)
    assert weekday(found["UT-01"].due_on) == "Tue"
    assert found["UT-01-CONTAINER"].due_on == date(2027, 3, 9)


def test_indian_river_proof_of_installation() -> None:
    """Indian River County: within 30 days of installation; done once, it does not come back."""
    on = date(2026, 8, 20)
    installed = Trigger(Event.SEPARATOR_INSTALLED, on, "separator 1", 5)
    proved = Trigger(
        Event.DUTY_DONE,
        date(2026, 9, 1),
        "separator 1",
        8,
        duty=Duty.PROVE_INSTALLATION.value,
        ordinance=INDIAN_RIVER.id,
    )

    found = the_obligation([INDIAN_RIVER], "FL-01", installed)

    assert found.due_on == date(2026, 9, 19) == days_later(on, 30)
    assert weekday(found.due_on) == "Sat"
    assert obligations([INDIAN_RIVER], [installed, proved]) == ()


@pytest.mark.parametrize("ordinance", [TWIN_CITIES, INDIAN_RIVER], ids=["Metropolitan Council", "Indian River County"])
def test_records_of_a_district_for_three_years(ordinance: Ordinance) -> None:
    """Metropolitan Council, and Indian River County: three years, as under 40 CFR 441.50(b)."""
    made_on = date(2026, 8, 20)
    for record in (Record.SEPARATOR_INSPECTION, Record.SEPARATOR_REPAIR, Record.PICKUP, Record.RECEIPT):
        kept = retention([ordinance], record, made_on).longest

        assert kept is not None
        assert kept.due_on == date(2029, 8, 20) == years_later(made_on, 3)


def test_twin_cities_removal() -> None:
    """Metropolitan Council: 99 percent."""
    said = removal_minimum([FEDERAL, TWIN_CITIES], date(2026, 8, 20))

    assert said is not None
    assert said.ordinance.id == TWIN_CITIES.id
    assert said.provision.at_least_percent == 99
