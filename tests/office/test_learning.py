"""Calibrations: written with every weighing, learned anew from all of them, and read back as they counted then."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

import pytest

from tests.makers import a_calibration, a_correction, a_replacement
from tests.office.makers import Crew, as_person, chain_end, container, entry, open_pail, refused, released
from wasteledger.errors import WasteLedgerError
from wasteledger.estimate.learning import PRIOR_DEGREES_OF_FREEDOM
from wasteledger.estimate.prior import DEFAULTS, Prior
from wasteledger.ledger.reader import Filter
from wasteledger.ledger.verify import verify
from wasteledger.model.entries import Calibration
from wasteledger.model.facts import Entry
from wasteledger.model.register import StreamDetails
from wasteledger.model.standing.refusals import BelowTare
from wasteledger.model.traps import Condition
from wasteledger.model.values import Body
from wasteledger.office.budget import budget_of
from wasteledger.office.containers import open_container, record_level, weigh_container
from wasteledger.office.corrections import correct_entry
from wasteledger.office.learning import current_prior, kinds_learned, learn_again, newest_calibration, taught_by
from wasteledger.office.people import register_line, retire_line
from wasteledger.office.pickups import receive_pickup
from wasteledger.office.received import explain_pickup
from wasteledger.office.separator import replace_unit
from wasteledger.office.starting_values import mass_sources, shipped_prior
from wasteledger.office.status import show_container
from wasteledger.office.swaps import record_deposit, record_look, record_remark, record_swap
from wasteledger.office.workplace import Said, Workplace
from wasteledger.resources import find
from wasteledger.settings import TEMPLATES
from wasteledger.units import Mass

SHIPPED = shipped_prior()
HIGH = SHIPPED.kinds.index("high_volume")
TARE_MG, BODY_MG = 500_000, 5_100


def calibrations(place: Workplace) -> list[Entry]:
    """Every calibration of masses in the chain, oldest first."""
    with place.reading() as reader:
        found = reader.entries(Filter(kinds=(Calibration.KIND,), by_recorded=True))
        return [one for one in found if body_of(one).quantity == "mass"]


def believed(place: Workplace, before_seq: int | None = None) -> Prior:
    """What is believed now, or was just before an entry."""
    with place.reading() as reader:
        return current_prior(reader, before_seq=before_seq)


def body_of(one: Entry) -> Calibration:
    """A calibration's body."""
    assert isinstance(one.body, Calibration)
    return one.body


def same_lesson(one: Entry, other: Entry) -> bool:
    """Whether two calibrations say the same, whatever entries they reach to."""
    return body_of(one).model_copy(update={"data_to": 0}) == body_of(other).model_copy(update={"data_to": 0})


@contextmanager
def learns(place: Workplace, times: int = 1) -> Iterator[None]:
    """The block writes so many calibrations, each right behind the entry that taught it."""
    before = len(calibrations(place))
    yield
    found = calibrations(place)
    assert len(found) == before + times
    for one in found[before:]:
        taught_it = entry(place, one.seq - 1)
        assert body_of(one).data_to == taught_it.seq
        assert one.recorded_at == taught_it.recorded_at
        assert (one.recorded_by, one.door) == (taught_it.recorded_by, taught_it.door)
    assert verify(place.ledger.engine, place.site).holds


def swap(place: Workplace, count: int = 1, into: str = "C-1", said: Said = Said()) -> None:  # noqa: B008  (frozen)
    """Some clogged high-volume traps put in whole, each 5.1 g without its debris."""
    for _ in range(count):
        record_swap(place, "1-HV", said, condition=Condition.CLOGGED, into=into)


def fill_and_weigh(place: Workplace, swaps: int, debris_mg: int, ref: str = "C-1") -> int:
    """A pail opened, filled and weighed; the number of the weighing."""
    open_pail(place, ref)
    swap(place, swaps, ref)
    return weigh_container(place, ref, Mass(TARE_MG + swaps * BODY_MG + debris_mg)).seq


# -- when a calibration is written -------------------------------------------------------------------------------------


def test_a_weighing_teaches_in_the_same_transaction(place: Workplace) -> None:
    with learns(place):
        fill_and_weigh(place, 10, 15_000)

    now = believed(place)
    assert 1_000 < now.means_mg[HIGH] < 2_000
    assert now.degrees_of_freedom == PRIOR_DEGREES_OF_FREEDOM + 1


def test_looks_levels_and_swaps_that_only_count_teach_no_mass(place: Workplace) -> None:
    fill_and_weigh(place, 10, 15_000)

    with learns(place, times=0):
        record_look(place, "1-HV", Condition.DEBRIS)
        record_level(place, "C-1", 300)
        place.ledger.clock.wait(minutes=1)  # type: ignore[attr-defined]
        swap(place)


def test_a_trap_weighed_by_itself_teaches(place: Workplace) -> None:
    open_pail(place)

    with learns(place):
        record_swap(place, "1-HV", condition=Condition.CLOGGED, gross=Mass(6_000), tare=Mass(5_100))

    assert believed(place).means_mg[HIGH] < SHIPPED.means_mg[HIGH]


def test_a_unit_and_counted_pieces_weighed_by_themselves_teach(crew: Crew) -> None:
    open_container(crew.kim, "B-1", "unit-box")
    with learns(crew.kim):
        replace_unit(crew.kim, "SEP", "B-1", mass=Mass.parse("900 g"))
    assert believed(crew.kim).means_mg[SHIPPED.kinds.index("separator_unit")] < 300_000

    open_pail(crew.kim)
    with crew.kim.reading() as reader:
        line = reader.find_line("stream", "contact")
    assert line is not None
    assert isinstance(line.details, StreamDetails)
    counted_as = line.details.model_copy(update={"mass_source": "removed_restoration"})
    register_line(crew.mo, "contact", counted_as)
    with learns(crew.kim):
        record_deposit(crew.kim, "C-1", "contact", count=3, mass=Mass(600))


def test_a_receipt_teaches(crew: Crew) -> None:
    open_pail(crew.kim)
    swap(crew.kim, 10)
    released(crew.mo)

    with learns(crew.mo):
        receive_pickup(crew.mo, "P-1", received_on=crew.mo.today(), net=(("C-1", Mass(10 * BODY_MG + 15_000)),))

    assert believed(crew.mo).means_mg[HIGH] < 2_000


def test_a_received_weight_teaches_until_it_is_explained(crew: Crew) -> None:
    """Explained it is as if it had never been weighed; without the explanation it teaches again."""
    fill_and_weigh(crew.kim, 10, 15_000)
    alone = believed(crew.mo)
    open_pail(crew.kim, "C-2")
    swap(crew.kim, 4, "C-2")
    released(crew.mo, "C-2")
    heavy = (("C-2", Mass(4 * BODY_MG + 400_000)),)
    receive_pickup(crew.mo, "P-1", received_on=crew.mo.today(), net=heavy)
    taught = believed(crew.mo)
    assert taught.means_mg[HIGH] > 1.5 * alone.means_mg[HIGH]

    with learns(crew.mo):
        why = explain_pickup(crew.mo, "P-1", "Weighed with its pallet.").seq
    assert believed(crew.mo) == alone

    with learns(crew.mo):
        correct_entry(crew.mo, why, "It stood on no pallet.")
    assert believed(crew.mo) == taught
    with learns(crew.mo):
        correct_entry(crew.mo, why, "It did.", action="reinstate")
    assert believed(crew.mo) == alone


def test_the_only_weight_there_was_explained_leaves_the_published_values(crew: Crew) -> None:
    open_pail(crew.kim)
    swap(crew.kim, 4)
    released(crew.mo)
    receive_pickup(crew.mo, "P-1", received_on=crew.mo.today(), net=(("C-1", Mass(4 * BODY_MG + 400_000)),))
    assert believed(crew.mo) != SHIPPED

    with learns(crew.mo):
        explain_pickup(crew.mo, "P-1", "Weighed with its pallet.")

    assert believed(crew.mo) == SHIPPED


def test_a_corrected_receipt_teaches_until_its_own_explanation(crew: Crew) -> None:
    open_pail(crew.kim)
    swap(crew.kim, 4)
    released(crew.mo)
    net = (("C-1", Mass(4 * BODY_MG + 400_000)),)
    receipt = receive_pickup(crew.mo, "P-1", received_on=crew.mo.today(), net=net).seq
    explain_pickup(crew.mo, "P-1", "Weighed with its pallet.")
    changes = {"containers": f'[{{"container": "C-1", "net_mg": {4 * BODY_MG + 500_000}}}]'}

    with learns(crew.mo):
        correct_entry(crew.mo, receipt, "Another figure.", action="replace", changes=changes)
    assert believed(crew.mo).means_mg[HIGH] > SHIPPED.means_mg[HIGH]

    with learns(crew.mo):
        explain_pickup(crew.mo, "P-1", "With its pallet all the same.")
    assert believed(crew.mo) == SHIPPED


def test_a_remark_that_explains_no_receipt_teaches_nothing(crew: Crew) -> None:
    open_pail(crew.kim)
    swap(crew.kim, 4)
    release = released(crew.mo).seq
    receipt = receive_pickup(
        crew.mo, "P-1", received_on=crew.mo.today(), net=(("C-1", Mass(4 * BODY_MG + 15_000)),)
    ).seq

    with learns(crew.mo, times=0):
        record_remark(crew.mo, "Called the facility.", pickup="P-1")
        record_remark(crew.mo, "Filed.", about=receipt)
        record_remark(crew.mo, "Half an hour late.", about=release, pickup="P-1")


def test_what_is_refused_leaves_neither_an_entry_nor_a_calibration(place: Workplace) -> None:
    fill_and_weigh(place, 10, 15_000)
    before = calibrations(place)

    with refused(place, BelowTare):
        weigh_container(place, "C-1", Mass(TARE_MG - 1))

    assert calibrations(place) == before


def test_a_repeated_key_writes_no_second_calibration(place: Workplace) -> None:
    open_pail(place)
    swap(place, 10)
    key, gross = "0d9c4a1e-0000-4000-8000-000000000001", Mass(TARE_MG + 10 * BODY_MG + 15_000)
    with learns(place):
        first = weigh_container(place, "C-1", gross, Said(key=key))
    end = chain_end(place)

    again = weigh_container(place, "C-1", gross, Said(key=key))

    assert again.repeated
    assert again.entry == first.entry
    assert again.learned == ()
    assert chain_end(place) == end


def test_a_weighing_that_finds_nothing_new_in_a_container_writes_none(place: Workplace) -> None:
    fill_and_weigh(place, 10, 15_000)

    with learns(place, times=0):
        weigh_container(place, "C-1", Mass(TARE_MG + 10 * BODY_MG + 14_900))


def test_bodies_of_unknown_mass_alone_write_none(place: Workplace) -> None:
    open_container(place, "T-1", "tub", tare=Mass(300_000))
    record_swap(place, "JAR", into="T-1")

    with learns(place, times=0):
        weigh_container(place, "T-1", Mass(900_000))


def test_learning_again_from_the_same_writes_none(place: Workplace) -> None:
    fill_and_weigh(place, 10, 15_000)
    fill_and_weigh(place, 4, 9_000, "C-2")

    with learns(place, times=0), place.writing() as desk:
        assert learn_again(desk) is None


# -- what is read back -------------------------------------------------------------------------------------------------


def test_a_calibration_is_read_back_to_the_last_digit(place: Workplace) -> None:
    for number, (count, debris_mg) in enumerate([(10, 15_000), (3, 12_345), (7, 20_001)], start=1):
        fill_and_weigh(place, count, debris_mg, f"C-{number}")

    with place.reading() as reader:
        assert current_prior(reader) == taught_by(reader).prior


def test_before_the_first_the_published_values_count(place: Workplace) -> None:
    seq = fill_and_weigh(place, 10, 15_000)

    assert believed(place, before_seq=seq) == SHIPPED
    assert believed(place, before_seq=seq + 1) == SHIPPED
    assert believed(place, before_seq=seq + 2) == believed(place)
    assert kinds_learned(SHIPPED, SHIPPED) == ()
    moved = {one.kind: one for one in kinds_learned(SHIPPED, believed(place))}
    assert moved["high_volume"].before_mg == 3_000
    assert moved["high_volume"].after_mg == believed(place).means_mg[HIGH]
    assert moved["high_volume"].after_u_mg < moved["high_volume"].before_u_mg == 3_000


def test_history_is_read_as_it_was_known(place: Workplace) -> None:
    """Each estimate can be made again with what was believed at its time, whatever was learned or corrected since."""
    seqs = [fill_and_weigh(place, 10, 3_000 * number, f"C-{number}") for number in (1, 5, 9)]
    known = [believed(place, before_seq=seq) for seq in seqs]
    assert len({prior.means_mg for prior in known}) == 3

    correct_entry(place, seqs[0], "Scale was not level.")

    assert [believed(place, before_seq=seq) for seq in seqs] == known
    assert believed(place) != known[-1]


def test_a_calibration_of_volumes_is_none_of_masses(place: Workplace) -> None:
    with place.writing() as desk:
        bare = {"quantity": "volume", "scatter": (), "nominal_days": (), "grades": ()}
        desk.append(a_calibration().model_copy(update=bare))

    assert believed(place) == SHIPPED
    with place.reading() as reader:
        assert newest_calibration(reader) is None
        assert newest_calibration(reader, "volume") is not None


def test_a_kind_that_joined_since_keeps_its_starting_value(place: Workplace) -> None:
    """An old calibration knows one kind: the others stand as published, and share nothing with it."""
    with place.writing() as desk:
        desk.append(a_calibration().model_copy(update={"scale": "4"}))

    now = believed(place)

    assert now.means_mg == tuple(812.5 if kind == "high_volume" else mean for kind, mean in means(SHIPPED))
    assert now.covariance_mg2[HIGH][HIGH] == 12.25
    assert all(now.covariance_mg2[HIGH][other] == 0 for other in range(len(now.kinds)) if other != HIGH)
    other = SHIPPED.kinds.index("pump")
    assert now.covariance_mg2[other] == tuple(
        0.0 if place == HIGH else cell for place, cell in enumerate(SHIPPED.covariance_mg2[other])
    )
    # Scatter and days are as the calibration has them, and for the others as published; grades are common to all.
    assert (now.scatter_sd_mg[HIGH], now.nominal_days[HIGH]) == (790.25, 5)
    assert now.scatter_sd_mg[other] == SHIPPED.scatter_sd_mg[other]
    assert now.nominal_days[other] == SHIPPED.nominal_days[other]
    assert now.grades_permille == dict(a_calibration().grades)
    assert now.degrees_of_freedom == 9


def means(prior: Prior) -> list[tuple[str, float]]:
    """Kinds and their means."""
    return list(zip(prior.kinds, prior.means_mg, strict=True))


# -- corrections -------------------------------------------------------------------------------------------------------


def test_a_weighing_corrected_away_is_as_if_it_had_never_been(place: Workplace) -> None:
    fill_and_weigh(place, 10, 15_000)
    alone = calibrations(place)[-1]
    wrong = fill_and_weigh(place, 4, 40_000, "C-2")
    assert not same_lesson(calibrations(place)[-1], alone)

    with learns(place):
        correct_entry(place, wrong, "Another pail.")

    assert same_lesson(calibrations(place)[-1], alone)


def test_the_only_weighing_corrected_away_leaves_the_published_values(place: Workplace) -> None:
    only = fill_and_weigh(place, 10, 15_000)

    with learns(place):
        correct_entry(place, only, "Another pail.")

    now = believed(place)
    assert now == SHIPPED
    assert math.isinf(now.degrees_of_freedom)


def test_a_weighing_put_right_teaches_what_it_should_have(place: Workplace) -> None:
    fill_and_weigh(place, 10, 15_000)
    right = calibrations(place)[-1]
    wrong = fill_and_weigh(place, 10, 150_000, "C-2")
    correct_entry(place, wrong, "A nought too many.", action="replace", changes={"gross": f"{TARE_MG + 66_000} mg"})
    put_right = calibrations(place)[-1]

    correct_entry(place, wrong, "Not that pail at all.")
    assert same_lesson(calibrations(place)[-1], right)
    correct_entry(place, wrong, "It was.", action="reinstate")
    assert not same_lesson(calibrations(place)[-1], put_right)
    correct_entry(place, wrong, "But so.", action="replace", changes={"gross": f"{TARE_MG + 66_000} mg"})
    assert same_lesson(calibrations(place)[-1], put_right)


def test_a_swap_corrected_away_changes_what_its_weighing_taught(place: Workplace) -> None:
    open_pail(place)
    swap(place, 9)
    double = record_swap(place, "1-HV", condition=Condition.CLOGGED, into="C-1").seq
    weigh_container(place, "C-1", Mass(TARE_MG + 9 * BODY_MG + 30_000))

    with learns(place):
        correct_entry(place, double, "Typed twice.")

    with place.reading() as reader:
        (one,) = taught_by(reader).used
    assert (one.net_mg, one.tallies[0].count) == (30_000, 9)


def test_corrections_that_change_nothing_of_it_write_none(place: Workplace) -> None:
    seq = fill_and_weigh(place, 10, 15_000)
    look = record_look(place, "1-HV", Condition.DEBRIS).seq

    with learns(place, times=0):
        correct_entry(place, look, "Another trap.")
        correct_entry(place, seq, "With a note.", action="replace", changes={"note": "Weighed by Bao."})


def test_a_calibration_made_void_is_not_used(place: Workplace) -> None:
    fill_and_weigh(place, 10, 15_000)
    first = believed(place)
    fill_and_weigh(place, 4, 40_000, "C-2")
    newest = calibrations(place)[-1]
    second = believed(place)

    append(place, a_correction(newest))
    voided = chain_end(place)
    assert voided is not None
    assert believed(place) == first
    # What was known before it was made void is read as it was, and so is what followed when it counted again.
    assert believed(place, before_seq=voided.entries) == second
    append(place, a_correction(newest, "reinstate"))
    assert believed(place) == second
    assert believed(place, before_seq=voided.entries + 1) == first


def test_a_calibration_is_never_taken_from_a_replacement(place: Workplace) -> None:
    """What was learned is what weighings taught; no correction puts other figures in its place."""
    fill_and_weigh(place, 10, 15_000)
    newest = calibrations(place)[-1]

    append(place, a_replacement(newest, a_calibration()))

    assert believed(place) == SHIPPED


def test_who_corrects_a_calibration_has_it_learned_again_at_once(place: Workplace) -> None:
    fill_and_weigh(place, 10, 15_000)
    (first,) = calibrations(place)
    taught = believed(place)

    with learns(place):
        correct_entry(place, first.seq, "I do not like it.")

    assert believed(place) == taught
    assert same_lesson(calibrations(place)[-1], first)


def append(place: Workplace, body: Body) -> Entry:
    """An entry as another program, or an import, may have written it: without the office."""
    with place.writing() as desk:
        return desk.append(body).entry


# -- what was written down late ----------------------------------------------------------------------------------------


def test_a_swap_typed_in_late_counts_for_the_weighing_that_followed_it(place: Workplace) -> None:
    open_pail(place)
    swap(place, 9)
    place.ledger.clock.wait(hours=2)  # type: ignore[attr-defined]
    weigh_container(place, "C-1", Mass(TARE_MG + 10 * BODY_MG + 30_000))
    place.ledger.clock.wait(hours=2)  # type: ignore[attr-defined]

    with learns(place):
        swap(place, said=Said(at=place.ledger.clock() - timedelta(hours=3)))
    with learns(place, times=0):
        swap(place, said=Said(at=place.ledger.clock() - timedelta(hours=1)))

    with place.reading() as reader:
        (one,) = taught_by(reader).used
    assert (one.net_mg, one.tallies[0].count) == (30_000, 10)


def test_a_weighing_typed_in_late_takes_its_place_in_time(place: Workplace) -> None:
    open_pail(place)
    swap(place, 10)
    weighed_at = place.ledger.clock()
    place.ledger.clock.wait(hours=2)  # type: ignore[attr-defined]
    swap(place, 5)

    with learns(place):
        weigh_container(place, "C-1", Mass(TARE_MG + 10 * BODY_MG + 15_000), Said(at=weighed_at))

    with place.reading() as reader:
        (one,) = taught_by(reader).used
    assert one.tallies[0].count == 10


# -- the register ------------------------------------------------------------------------------------------------------


def test_pieces_keep_their_mass_when_their_stream_is_retired(crew: Crew) -> None:
    with crew.mo.reading() as reader:
        line = reader.find_line("stream", "contact")
    assert line is not None
    assert isinstance(line.details, StreamDetails)
    open_pail(crew.kim)
    record_deposit(crew.kim, "C-1", "contact", count=40)
    weigh_container(crew.kim, "C-1", Mass(TARE_MG + 20_000))
    assert calibrations(crew.kim) == []

    # Naming the kind that its pieces weigh as makes the weighing teach, though nothing was weighed then.
    with learns(crew.mo):
        register_line(crew.mo, "contact", line.details.model_copy(update={"mass_source": "removed_restoration"}))
    with learns(crew.mo, times=0):
        retire_line(crew.mo, "stream", "contact")

    with crew.mo.reading() as reader:
        assert mass_sources(reader)["contact"] == "removed_restoration"
        assert len(taught_by(reader).used) == 1


# -- the office's own starting values ----------------------------------------------------------------------------------


def lay_over(monkeypatch: pytest.MonkeyPatch, folder: Path, text: str) -> None:
    """The office lays *text* over the shipped starting values."""
    own = folder / "own" / DEFAULTS
    own.parent.mkdir(parents=True, exist_ok=True)
    own.write_text(text, "utf-8")
    monkeypatch.setenv(TEMPLATES, str(folder / "own"))


def other_values() -> str:
    """The shipped file with other scatter, grades, days and means of a high-volume trap, and other common errors."""
    text = find(DEFAULTS).read_text("utf-8")
    trap = "[kind.high_volume]\nmean_mg = 3000\nsd_mg = 3000\nnominal_days = 7\n"
    for said, instead in (
        (trap, "[kind.high_volume]\nmean_mg = 9000\nsd_mg = 900\nnominal_days = 30\n"),
        ("clogged = 1000", "clogged = 700"),
        ("debris = 500", "debris = 250"),
        ("shared_cv = 1.0", "shared_cv = 0.2"),
    ):
        assert text.count(said) == 1
        text = text.replace(said, instead)
    return text


def without_pieces() -> str:
    """The shipped file without the kind of piece that it has."""
    before, _, after = find(DEFAULTS).read_text("utf-8").partition("[kind.removed_restoration]")
    return before + "[composition" + after.partition("[composition")[2]


def test_what_was_learned_is_read_whole_whatever_the_office_believes_today(
    place: Workplace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill_and_weigh(place, 10, 15_000)
    swap(place, 2)
    record_swap(place, "2-HV", condition=Condition.DEBRIS, into="C-1")
    record_swap(place, "1-HV", condition=Condition.NOT_LOOKED, into="C-1")
    learned, shown = believed(place), show_container(place, "C-1").state.estimate

    lay_over(monkeypatch, tmp_path, other_values())

    assert shipped_prior().scatter_sd_mg[HIGH] == 900
    assert believed(place) == learned
    assert show_container(place, "C-1").state.estimate == shown
    # The next lesson starts from what the office believes by then.
    with learns(place), place.writing() as desk:
        assert learn_again(desk) is not None
    assert believed(place).nominal_days[HIGH] == 30
    assert show_container(place, "C-1").state.estimate != shown


@pytest.mark.parametrize(
    ("said", "instead"),
    [("nominal_days = 365", "nominal_days = 360"), ("not_looked = 1000", "not_looked = 900")],
    ids=["days", "grades"],
)
def test_a_lesson_that_differs_only_in_what_it_rests_on_is_written(
    place: Workplace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, said: str, instead: str
) -> None:
    fill_and_weigh(place, 10, 15_000)
    first = calibrations(place)[-1]
    text = find(DEFAULTS).read_text("utf-8")
    assert said in text
    lay_over(monkeypatch, tmp_path, text.replace(said, instead))

    with learns(place), place.writing() as desk:
        assert learn_again(desk) is not None

    newest = calibrations(place)[-1]
    assert (body_of(newest).means, body_of(newest).scatter) == (body_of(first).means, body_of(first).scatter)


def test_a_kind_that_left_the_starting_values_stays_as_it_was_learned(
    crew: Crew, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pieces of it lie in the pail; their composition is in the file alone, so that is not stated any more."""
    with crew.mo.reading() as reader:
        line = reader.find_line("stream", "contact")
    assert line is not None
    assert isinstance(line.details, StreamDetails)
    register_line(crew.mo, "contact", line.details.model_copy(update={"mass_source": "removed_restoration"}))
    fill_and_weigh(crew.kim, 10, 15_000)
    record_deposit(crew.kim, "C-1", "contact", count=40)
    learned, shown = believed(crew.kim), show_container(crew.kim, "C-1").state.estimate
    assert shown is not None
    assert shown.unknown_pieces == 0

    lay_over(monkeypatch, tmp_path, without_pieces())

    assert "removed_restoration" not in shipped_prior().kinds
    assert believed(crew.kim) == learned
    assert show_container(crew.kim, "C-1").state.estimate == shown
    with crew.kim.reading() as reader:
        budget = budget_of(reader, container(crew.kim))
        moved = {one.kind for one in kinds_learned(shipped_prior(), believed(crew.kim))}
    assert budget.estimate == shown
    assert budget.content.unknown == (("stream:contact", 40),)
    assert "high_volume" in moved
    assert "removed_restoration" not in moved


def test_a_lesson_never_stops_a_weighing_that_the_scale_allows(place: Workplace) -> None:
    """Ten tonnes typed for ten grams: absurd, and still an entry that can be corrected."""
    open_pail(place)
    swap(place)
    with learns(place):
        seq = weigh_container(place, "C-1", Mass(10**10)).seq

    with learns(place):
        correct_entry(place, seq, "Typed in the wrong unit.")
    assert believed(place) == SHIPPED


@pytest.mark.parametrize("debris_mg", [0, 1, -5_000], ids=["nothing", "a milligram", "less than nothing"])
def test_weighings_of_next_to_nothing_teach_too(place: Workplace, debris_mg: int) -> None:
    with learns(place):
        fill_and_weigh(place, 10, debris_mg)

    now = believed(place)
    assert 0 <= now.means_mg[HIGH] < 1_000
    assert now.covariance_mg2[HIGH][HIGH] > 0


def test_only_who_may_record_teaches(crew: Crew) -> None:
    fill_and_weigh(crew.kim, 10, 15_000)
    before = calibrations(crew.kim)

    with pytest.raises(WasteLedgerError):
        weigh_container(crew.iris, "C-1", Mass(TARE_MG + 99_000))

    assert calibrations(crew.kim) == before
    assert as_person(crew.kim, "bao").by == "bao"
