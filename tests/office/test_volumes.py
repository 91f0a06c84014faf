"""What a level teaches is written with it, and the estimate and the forecast of a level give one answer."""

from __future__ import annotations

import subprocess
import sys
from datetime import timedelta

import pytest

from tests.makers import Watch
from tests.office.makers import container, entry, hours_ago, open_pail
from wasteledger.estimate.volume_learning import VolumeFactors, starting_factors, teach_volume
from wasteledger.ledger.reader import Filter
from wasteledger.ledger.verify import verify
from wasteledger.model.entries import Calibration
from wasteledger.model.facts import Entry
from wasteledger.model.traps import Condition
from wasteledger.office.containers import open_container, record_level, weigh_container
from wasteledger.office.corrections import correct_entry
from wasteledger.office.outlook import Outlooks
from wasteledger.office.separator import replace_unit
from wasteledger.office.status import show_container, status
from wasteledger.office.swaps import record_deposit, record_swap
from wasteledger.office.volumes import Volumes, current_factors, site_volume_increments
from wasteledger.office.workplace import Said, Workplace
from wasteledger.units import Mass

HIGH = "stated.high_volume"


def calibrations(place: Workplace, quantity: str = "volume") -> list[Entry]:
    """The calibrations of one quantity, oldest first."""
    with place.reading() as reader:
        every = reader.entries(Filter(kinds=(Calibration.KIND,), by_recorded=True))
        return [one for one in every if isinstance(one.body, Calibration) and one.body.quantity == quantity]


def factors(place: Workplace) -> VolumeFactors:
    with place.reading() as reader:
        return current_factors(reader)


def factor(place: Workplace, kind: str = HIGH) -> float:
    found = factors(place)
    return found.means[found.kinds.index(kind)]


def swaps(place: Workplace, count: int, *, ref: str = "1-HV", into: str = "C-1") -> None:
    """So many swaps, an hour apart."""
    for _ in range(count):
        place.ledger.clock.wait(hours=1)  # type: ignore[attr-defined]
        record_swap(place, ref, condition=Condition.CLOGGED, into=into)


@pytest.fixture
def filled(place: Workplace) -> Workplace:
    """A pail of five litres with twenty inserts of 45 mL, 900 mL as stated, not read yet."""
    open_pail(place)
    swaps(place, 20)
    return place


def test_a_level_writes_what_it_taught_in_one_transaction(filled: Workplace) -> None:
    level = record_level(filled, "C-1", 280)

    (written,) = calibrations(filled)
    assert written.seq == level.seq + 1
    assert written.recorded_at == entry(filled, level.seq).recorded_at
    assert isinstance(written.body, Calibration)
    assert written.body.data_to == level.seq
    # 1400 mL were taken by 900 mL stated.
    assert 1.2 < factor(filled) < 1400 / 900
    assert verify(filled.ledger.engine, filled.site).holds


def test_it_is_read_back_to_the_last_digit(filled: Workplace) -> None:
    record_level(filled, "C-1", 280)

    with filled.reading() as reader:
        taught = teach_volume(starting_factors(), site_volume_increments(reader)).factors
    assert factors(filled) == taught


def test_nothing_is_written_where_nothing_changed(filled: Workplace) -> None:
    record_level(filled, "C-1", 280, Said(key="once"))
    record_level(filled, "C-1", 280, Said(key="once"))
    record_level(filled, "C-1", 280)

    # Said twice, and read once more as before: one calibration in all.
    assert len(calibrations(filled)) == 1


def test_a_level_of_an_empty_container_or_without_a_fill_line_teaches_nothing(place: Workplace) -> None:
    open_pail(place)
    record_level(place, "C-1", 0)
    open_container(place, "J-1", "tooth-jar")
    record_deposit(place, "J-1", "teeth", count=2)
    record_level(place, "J-1", 500)

    assert calibrations(place) == []
    assert factors(place) == starting_factors()


def test_levels_and_weighings_teach_apart(filled: Workplace) -> None:
    record_level(filled, "C-1", 280)
    learned = factors(filled)
    assert calibrations(filled, "mass") == []

    weigh_container(filled, "C-1", Mass(900_000))

    assert len(calibrations(filled, "mass")) == len(calibrations(filled, "volume")) == 1
    assert factors(filled) == learned
    weighed = calibrations(filled, "mass")[0].body
    swaps(filled, 5)
    record_level(filled, "C-1", 500)
    assert len(calibrations(filled, "volume")) == 2
    assert [one.body for one in calibrations(filled, "mass")] == [weighed]


def test_a_swap_typed_in_late_is_learned_from(filled: Workplace) -> None:
    record_level(filled, "C-1", 280)
    before = factor(filled)

    at = hours_ago(filled, 2)
    record_swap(filled, "2-HV", Said(at=at), condition=Condition.CLOGGED, into="C-1")
    assert len(calibrations(filled)) == 2
    # 2-HV is emptied, not put in whole: two millilitres that nobody stated.
    assert factor(filled) == pytest.approx(before, rel=0.01)
    record_swap(filled, "1-HV", Said(at=at - timedelta(minutes=10)), condition=Condition.CLOGGED, into="C-1")
    assert factor(filled) < before

    # One that went in after the level says nothing yet.
    written = len(calibrations(filled))
    swaps(filled, 1)
    assert len(calibrations(filled)) == written


def test_a_corrected_level_counts_as_if_it_had_never_been_otherwise(filled: Workplace) -> None:
    wrong = record_level(filled, "C-1", 800).seq
    correct_entry(filled, wrong, "Ten too many.", action="replace", changes={"level_permille": "180"})
    corrected = factors(filled)

    assert corrected.means[corrected.kinds.index(HIGH)] == pytest.approx(1.0, abs=0.001)
    correct_entry(filled, wrong, "Read off the wrong pail.")

    assert factors(filled).taught == frozenset()
    assert factors(filled) == starting_factors()
    assert len(calibrations(filled)) == 3


# -- one answer --------------------------------------------------------------------------------------------------------


def seen(place: Workplace, ref: str = "C-1") -> dict[str, object]:
    """The level of a container as JSON says it."""
    components = show_container(place, ref).as_json()["fullness"]["components"]
    (found,) = [one for one in components if one["measure"] == "level"]
    return dict(found)


def test_the_level_is_an_estimate_until_it_is_read_and_another_one_after(filled: Workplace) -> None:
    before = seen(filled)
    assert (before["permille"], before["basis"]) == (180, "estimate of what went in")

    record_level(filled, "C-1", 280)
    read = seen(filled)
    assert (read["permille"], read["basis"]) == (280, "level read")
    # Read by eye, so give or take some sixty thousandths.
    assert (read["lower_permille"], read["upper_permille"]) == pytest.approx((220, 340), abs=8)

    swaps(filled, 10)
    after = seen(filled)
    # Ten inserts of 45 mL, at what the level taught of them, of five litres.
    assert after["permille"] == pytest.approx(280 + 90 * factor(filled), abs=1)
    assert after["basis"] == "level read earlier, and estimate of what went in since"
    lower, upper = after["lower_permille"], after["upper_permille"]
    assert isinstance(lower, int)
    assert isinstance(upper, int)
    assert lower < 280 + 90 < upper


def test_the_forecast_starts_from_the_same_level(filled: Workplace) -> None:
    record_level(filled, "C-1", 280)
    swaps(filled, 3)
    swaps(filled, 4, ref="2-HV")
    record_deposit(filled, "C-1", "contact", count=1)

    with filled.reading() as reader:
        standing = container(filled)
        outlooks = Outlooks(reader, filled.zone, filled.today())
        feeds = outlooks._inflows.of(standing)
        measured = outlooks._level(standing, feeds)
        shown = Volumes(reader).level(standing)
    assert measured is not None
    assert shown is not None
    gauge = measured.gauge
    assert gauge.prior is not None
    level_ml = gauge.known + sum(x * mean for x, mean in zip(gauge.exposures, gauge.prior.means_mg, strict=True))
    assert shown.permille == pytest.approx(1000 * level_ml / 5000, abs=1)
    # 2-HV is emptied into it: its debris was stated by nobody, and is in both.
    assert dict(zip(gauge.prior.kinds, gauge.exposures, strict=True))["assumed.high_volume"] == 8
    assert shown.left_out == 1


def test_what_the_standing_keeps_of_stated_volumes_is_what_is_reckoned_with(filled: Workplace) -> None:
    record_level(filled, "C-1", 100)
    swaps(filled, 2)
    swaps(filled, 1, ref="1-SE")
    swaps(filled, 2, ref="2-HV")
    record_deposit(filled, "C-1", "contact", count=1)

    with filled.reading() as reader:
        standing = container(filled)
        since = Volumes(reader).since_level(standing)
    stated = sum(ml for kind, ml in since.by_kind if kind.startswith("stated."))
    assert (stated, since.unknown) == (standing.volume_since_level_ml, standing.volumes_unknown) == (120, 1)


def test_facts_read_before_give_the_same_and_older_containers_are_looked_up(filled: Workplace, watch: Watch) -> None:
    since = watch.now
    with filled.reading() as reader:
        alone = Volumes(reader).since_level(container(filled))
        # Nothing of it lies after this instant, so what went in before has to be looked up.
        assert Volumes(reader, (), since).since_level(container(filled)) == alone
    assert dict(alone.by_kind) == {HIGH: 900}


def test_every_page_says_the_same_level(filled: Workplace) -> None:
    record_level(filled, "C-1", 280)
    swaps(filled, 10)

    shown = show_container(filled, "C-1").state
    (listed,) = status(filled).containers

    assert listed.fullness == shown.fullness
    assert shown.fullness.governing is not None
    assert shown.fullness.governing.is_estimate


def test_a_retaining_unit_is_left_out_and_ends_what_levels_can_tell(place: Workplace) -> None:
    open_container(place, "B-1", "unit-box")
    replace_unit(place, "SEP", into="B-1", done_by="Robin Example")

    with place.reading() as reader:
        since = Volumes(reader).since_level(container(place, "B-1"))
    assert (since.by_kind, since.unknown) == ((), 1)


def test_only_writing_a_level_loads_numpy(filled: Workplace, watch: Watch) -> None:
    """Reading the outlook and the fullness does not, nor does a swap."""
    record_level(filled, "C-1", 280)
    swaps(filled, 3)
    location = str(filled.ledger.engine.url.database)
    script = (
        "import sys\n"
        "from datetime import datetime\n"
        "from wasteledger.office.status import status, show_container\n"
        "from wasteledger.office.swaps import record_swap\n"
        "from wasteledger.office.workplace import Workplace\n"
        f"clock = lambda: datetime.fromisoformat({watch.now.isoformat()!r})\n"
        f"with Workplace.open({location!r}, by='kim', clock=clock) as place:\n"
        "    status(place), show_container(place, 'C-1'), record_swap(place, '1-HV', into='C-1')\n"
        "print('numpy' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"
