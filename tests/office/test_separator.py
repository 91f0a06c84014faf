"""The separator: inspections, repairs, exchange of the retaining unit."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.makers import Watch
from tests.office.makers import Crew, assert_repeated, chain_end, container, hours_ago, open_pail, refused
from wasteledger.ledger.append import InTheFuture
from wasteledger.model.entries import BodyNotUnderstood, Repair, SeparatorInspection, UnitReplaced
from wasteledger.model.register import ScaleDetails
from wasteledger.model.standing import SeparatorStanding
from wasteledger.model.standing.refusals import ContainerSealed, NotThereYet, Retired, WrongStream
from wasteledger.office.containers import close_container, open_container
from wasteledger.office.people import register_line, retire_line
from wasteledger.office.separator import inspect_separator, repair_separator, replace_unit
from wasteledger.office.workplace import NotTheirTask, Recorded, Said, Workplace
from wasteledger.units import Mass


def standing(place: Workplace) -> SeparatorStanding:
    with place.reading() as reader:
        found = reader.find_separator("SEP")
    assert found is not None
    return found


def repaired(place: Workplace, said: Said = Said(), action: str = "repaired") -> Recorded:  # noqa: B008  (frozen)
    return repair_separator(
        place,
        "SEP",
        action,
        said,
        done_by="Robin Fitter",
        description="New seal",
        make_name="Invented",
        model="A",
        serial="S 2",
    )


def test_an_inspection_writes_what_was_found(place: Workplace) -> None:
    seen = inspect_separator(
        place, "SEP", "attention", level=650, leak_seen=True, follow_up="Ask the fitter.", done_by="Kim"
    )
    assert seen.entry.body == SeparatorInspection(
        separator="SEP",
        result="attention",
        level_permille=650,
        leak_seen=True,
        follow_up="Ask the fitter.",
        done_by="Kim",
    )
    assert (standing(place).last_result, standing(place).level_permille) == ("attention", 650)
    assert not seen.warnings


def test_a_malfunction_runs_until_the_repair(crew: Crew, watch: Watch) -> None:
    found = inspect_separator(crew.kim, "SEP", "malfunction")
    assert standing(crew.kim).malfunction_seq == found.seq
    watch.wait(days=1)
    inspect_separator(crew.kim, "SEP", "malfunction")
    # A second look at the same fault does not start the clock again.
    assert standing(crew.kim).malfunction_at == found.entry.happened_at
    done = repaired(crew.mo)
    # 40 CFR 441.50(a)(4): date, person, description, and make and model of the device.
    assert done.entry.body == Repair(
        separator="SEP",
        action="repaired",
        done_by="Robin Fitter",
        description="New seal",
        make="Invented",
        model="A",
        serial="S 2",
    )
    assert standing(crew.kim).malfunction_at is None


def test_the_clock_of_a_malfunction_runs_from_the_day_it_was_found(crew: Crew, watch: Watch) -> None:
    watch.wait(days=20)
    typed_late = inspect_separator(crew.kim, "SEP", "malfunction", Said(at=hours_ago(crew.kim, 24 * 13)))
    day = typed_late.entry.happened_at.strftime("%-d %b %Y")
    (said,) = typed_late.warnings
    assert said.startswith(f"The clock for its repair runs from {day}, when it was found (entry {typed_late.seq}); ")
    second = inspect_separator(crew.kim, "SEP", "malfunction")
    assert second.warnings[0].startswith(
        f"The clock for its repair runs from {day} already, by entry {typed_late.seq};"
    )
    earlier = inspect_separator(crew.kim, "SEP", "malfunction", Said(at=hours_ago(crew.kim, 24 * 15)))
    assert f"when it was found (entry {earlier.seq})" in earlier.warnings[0]
    repaired(crew.mo)
    after_all = inspect_separator(crew.kim, "SEP", "malfunction", Said(at=hours_ago(crew.kim, 24)))
    assert after_all.warnings[0].startswith("No clock for its repair runs")


def test_a_repair_is_the_office_s_to_record(crew: Crew) -> None:
    with refused(crew.kim, NotTheirTask, "assistant"):
        repaired(crew.kim)
    with refused(crew.mo, BodyNotUnderstood, "action"):
        repaired(crew.mo, action="kicked")


def test_the_old_unit_goes_closed_into_its_own_container(place: Workplace, watch: Watch) -> None:
    open_container(place, "U-1", "unit-box")
    first = replace_unit(place, "SEP", "U-1", old_serial="S 1", new_serial="S 2", done_by="Robin Fitter")
    assert first.entry.body == UnitReplaced(
        separator="SEP",
        container="U-1",
        stream="retaining_units",
        old_serial="S 1",
        new_serial="S 2",
        interval_days=365,
        unit_mg=740_000,
        done_by="Robin Fitter",
    )
    assert container(place, "U-1").pieces == 1
    watch.wait(days=180)
    open_container(place, "U-2", "unit-box")
    second = replace_unit(place, "SEP", "U-2", mass=Mass.parse("1.31 kg")).entry.body
    assert isinstance(second, UnitReplaced)
    assert second.days_in_service == 180
    assert second.mass is not None
    assert second.mass.mass_mg == 1_310_000
    assert container(place, "U-2").holding.added_mg == 1_310_000


def test_a_unit_goes_into_no_other_container(place: Workplace) -> None:
    open_pail(place)
    with refused(place, WrongStream, "does not take “retaining_units”"):
        replace_unit(place, "SEP", "C-1")
    with refused(place, NotThereYet, "no container “U-9”"):
        replace_unit(place, "SEP", "U-9")
    open_container(place, "U-1", "unit-box")
    close_container(place, "U-1")
    with refused(place, ContainerSealed, "U-1 was closed"):
        replace_unit(place, "SEP", "U-1")


def test_a_level_has_bounds_and_a_result_its_words(place: Workplace) -> None:
    with refused(place, BodyNotUnderstood, "result"):
        inspect_separator(place, "SEP", "fine")
    with refused(place, BodyNotUnderstood, "level_permille"):
        inspect_separator(place, "SEP", "in order", level=2001)


def _inspect(place: Workplace, said: Said, separator: str = "SEP") -> Recorded:
    return inspect_separator(place, separator, "in order", said, level=300)


def _repair(place: Workplace, said: Said, separator: str = "SEP") -> Recorded:
    return repair_separator(place, separator, "repaired", said, done_by="R", description="D", make_name="M", model="A")


def _replace(place: Workplace, said: Said, separator: str = "SEP") -> Recorded:
    return replace_unit(place, separator, "U-1", said, mass=Mass(900_000))


Doing = Callable[..., Recorded]
each_doing = pytest.mark.parametrize("do", [_inspect, _repair, _replace])


@each_doing
def test_only_a_separator_in_service_at_that_time(crew: Crew, do: Doing) -> None:
    open_container(crew.mo, "U-1", "unit-box", Said(at=hours_ago(crew.mo, 24 * 90)))
    with refused(crew.mo, NotThereYet, "no separator “SEP-9”"):
        do(crew.mo, Said(), "SEP-9")
    with refused(crew.mo, NotThereYet, "separator “SEP” is in the ledger only since"):
        do(crew.mo, Said(at=hours_ago(crew.mo, 24 * 80)))
    with refused(crew.mo, InTheFuture):
        do(crew.mo, Said(at=hours_ago(crew.mo, -1)))
    with refused(crew.iris, NotTheirTask, "inspector"):
        do(crew.iris, Said())
    retire_line(crew.mo, "separator", "SEP")
    with refused(crew.mo, Retired, "separator “SEP”"):
        do(crew.mo, Said())


@each_doing
def test_a_repeated_key_answers_with_the_first_entry(crew: Crew, watch: Watch, do: Doing) -> None:
    open_container(crew.mo, "U-1", "unit-box")
    first = do(crew.mo, Said(key="k-1"))
    watch.wait(days=1)
    register_line(crew.mo, "other", ScaleDetails(name="Other", readability_mg=10, tolerance_mg=10))
    close_container(crew.mo, "U-1")
    retire_line(crew.mo, "separator", "SEP")
    before = chain_end(crew.mo)
    assert_repeated(crew.mo, first, do(crew.mo, Said(key="k-1")))
    assert chain_end(crew.mo) == before
