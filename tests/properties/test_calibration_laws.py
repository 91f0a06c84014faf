"""Laws of what weighings teach: from increments alone, and through the journal of a practice that records anything."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.estimate.makers import a_holding, a_prior, swaps
from tests.makers import KIM, MONDAY_MORNING, SITE, a_correction, a_reading, a_swap, a_weighing, an_opening
from tests.model.histories import facts_of
from tests.properties.strategies import Amends, Attempt, attempts, histories
from tests.properties.test_ledger_laws import END_OF_WEEK, LAW, a_week, correction
from wasteledger.errors import WasteLedgerError
from wasteledger.estimate.agreement import ReceivedLimits
from wasteledger.estimate.containers import standing_mass
from wasteledger.estimate.increments import Increment, mass_increments
from wasteledger.estimate.learning import PRIOR_DEGREES_OF_FREEDOM, teach
from wasteledger.estimate.prior import Prior
from wasteledger.exchange.journal import export_lines, read_export
from wasteledger.ledger.append import Desk
from wasteledger.ledger.engine import writing
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.reader import Reader
from wasteledger.ledger.verify import verify
from wasteledger.model.entries import Calibration
from wasteledger.model.facts import Entry
from wasteledger.model.values import Body
from wasteledger.office.learning import current_prior, learn_again, newest_calibration, taught_by
from wasteledger.office.starting_values import shipped_prior
from wasteledger.office.workplace import Said, write

LIMITS = ReceivedLimits(share_permille=10, least_mg=2000)
TARE_MG, BODY_MG = 150_000, 5_000


# -- increments alone --------------------------------------------------------------------------------------------------


@st.composite
def increments(draw: st.DrawFn, *, least: int = 1) -> tuple[Increment, ...]:
    """Up to ten weighings of up to thirty traps and five filters, from far too light to far too heavy."""
    found = []
    for seq in range(1, draw(st.integers(least, 10)) + 1):
        traps, filters = draw(st.integers(0, 30)), draw(st.integers(0, 5))
        grade = draw(st.sampled_from(["clogged", "debris", "clean", "not_looked"]))
        tallies = [swaps(traps, grade=grade)] * bool(traps) + [swaps(filters, kind="line_filter", days=30)] * bool(
            filters
        )
        found.append(
            Increment(
                weighed=draw(st.sampled_from(["container", "receipt"])),
                ref="C-1",
                containers=("C-1",),
                seq=seq,
                began_at=MONDAY_MORNING,
                ended_at=MONDAY_MORNING,
                net_mg=draw(st.integers(-50_000, 400_000)),
                variance_mg2=draw(st.floats(1_000, 1e8)),
                tallies=a_holding(*tallies).tallies,
                inserts_unknown=draw(st.sampled_from([0, 0, 0, 2])),
            )
        )
    return tuple(found)


priors = st.builds(a_prior, shared_cv=st.sampled_from([0.3, 1.0]), between_kinds=st.sampled_from([0.0, 0.5]))


@given(priors, increments(), st.randoms(use_true_random=False))
def test_the_order_of_weighings_does_not_matter(prior: Prior, weighed: tuple[Increment, ...], chance: object) -> None:
    """To the last digit, so that a chain read in another order is calibrated alike."""
    shuffled = list(weighed)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]

    one, other = teach(prior, weighed), teach(prior, shuffled)

    assert (one.prior, one.scale, one.held_at_zero) == (other.prior, other.scale, other.held_at_zero)


@given(priors, increments())
def test_what_is_learned_can_always_be_used(prior: Prior, weighed: tuple[Increment, ...]) -> None:
    """However odd the weighings: no mean is below nothing, every one is used or left out, and a mass can be stated."""
    taught = teach(prior, weighed)

    assert sorted(one.seq for one in (*taught.used, *(one for one, _ in taught.left_out))) == [
        one.seq for one in weighed
    ]
    assert min(taught.prior.means_mg) >= 0
    assert taught.held_at_zero == tuple(
        kind for kind, mean in zip(prior.kinds, taught.prior.means_mg, strict=True) if mean == 0
    )
    assert min(taught.prior.scatter_sd_mg) > 0
    assert len(taught.residuals) == len(taught.used)
    if taught.used:
        assert taught.prior.degrees_of_freedom == PRIOR_DEGREES_OF_FREEDOM + len(taught.used)
    found = standing_mass(a_holding(swaps(20), swaps(2, kind="line_filter", days=30)), taught.prior)
    assert 0 <= found.lower_mg <= found.value_mg <= found.upper_mg


@given(priors, increments(), st.sampled_from([10, 1000, 100_000]))
def test_masses_scale(prior: Prior, weighed: tuple[Increment, ...], factor: int) -> None:
    """Grams for milligrams, or tonnes: everything that was learned is in the same unit."""
    larger = replace(
        prior,
        means_mg=tuple(factor * mean for mean in prior.means_mg),
        covariance_mg2=tuple(tuple(factor**2 * cell for cell in row) for row in prior.covariance_mg2),
        scatter_sd_mg=tuple(factor * sd for sd in prior.scatter_sd_mg),
    )
    heavier = [replace(one, net_mg=factor * one.net_mg, variance_mg2=factor**2 * one.variance_mg2) for one in weighed]

    one, other = teach(prior, weighed), teach(larger, heavier)

    # The one squared milligram that every reading has besides does not scale; a thousandth of what others vary by.
    sds = [math.sqrt(one.prior.covariance_mg2[place][place]) for place in range(2)]
    for place, sd in enumerate(sds):
        assert other.prior.means_mg[place] / factor == pytest.approx(one.prior.means_mg[place], abs=0.05 * sd)
        assert math.sqrt(other.prior.covariance_mg2[place][place]) / factor == pytest.approx(sd, rel=0.01)
    assert other.scale == pytest.approx(one.scale, rel=0.02)


# -- a weighing in between ---------------------------------------------------------------------------------------------


def exact(mass_mg: int) -> dict[str, object]:
    """A reading of a scale without step or limits."""
    return {"gross": a_reading(mass_mg).model_copy(update={"readability_mg": 0, "tolerance_mg": 0})}


@st.composite
def fillings(draw: st.DrawFn) -> tuple[list[int], set[int]]:
    """The debris of up to twenty swaps of one kind, and after which of them the pail is weighed: the last always."""
    debris = draw(st.lists(st.integers(0, 20_000), min_size=1, max_size=20))
    stops = draw(st.sets(st.integers(1, len(debris))))
    return debris, stops | {len(debris)}


def weighed_at(debris: list[int], stops: set[int]) -> tuple[Increment, ...]:
    """What an exact scale says of a pail that was weighed after some of the swaps."""
    opening = an_opening(tare=a_reading(TARE_MG).model_copy(update={"readability_mg": 0, "tolerance_mg": 0}))
    bodies: list[Body] = [opening]
    for number in range(1, len(debris) + 1):
        bodies.append(a_swap())
        if number in stops:
            held_mg = sum(debris[:number]) + number * BODY_MG
            bodies.append(a_weighing("C-1").model_copy(update=exact(TARE_MG + held_mg)))
    return mass_increments(facts_of(*bodies), LIMITS)


@given(fillings())
def test_weighings_in_between_part_what_one_would_have_found(filled: tuple[list[int], set[int]]) -> None:
    debris, stops = filled
    whole, parts = weighed_at(debris, {len(debris)}), weighed_at(debris, stops)

    assert len(parts) == len(stops)
    assert sum(one.net_mg for one in parts) == whole[0].net_mg == sum(debris)
    assert sum(tally.count for one in parts for tally in one.tallies) == len(debris)
    assert all(one.variance_mg2 == 0 for one in parts)


@given(fillings())
def test_weighings_in_between_teach_nearly_the_same_mean(filled: tuple[list[int], set[int]]) -> None:
    """Of one kind on an exact scale, x²/v adds up to the same, however the swaps are parted.

    More weighings say more of the scatter, and so of the degrees of freedom and of the scale, against which the mean is
    believed; that moves it by a small part of what is not known of it.
    """
    debris, stops = filled
    prior = a_prior(shared_cv=1.0)

    whole, parts = teach(prior, weighed_at(debris, {len(debris)})), teach(prior, weighed_at(debris, stops))

    for place in range(len(prior.kinds)):
        deviation = math.sqrt(whole.prior.covariance_mg2[place][place])
        assert abs(parts.prior.means_mg[place] - whole.prior.means_mg[place]) < 0.5 * deviation
    assert parts.prior.degrees_of_freedom - whole.prior.degrees_of_freedom == len(stops) - 1


# -- through the journal -----------------------------------------------------------------------------------------------


def an_afternoon() -> list[Attempt]:
    """A pail filled and weighed, and a second one, so that there is something learned to disturb."""
    said: list[Body] = [
        an_opening("C-1"),
        an_opening("C-2"),
        *(a_swap("1-HV", "C-1") for _ in range(3)),
        a_weighing("C-1", TARE_MG + 3 * BODY_MG + 4_000),
        a_swap("2-HV", "C-2"),
        a_swap("1-SE", "C-2"),
        a_weighing("C-2", TARE_MG + 2 * BODY_MG + 9_000),
    ]
    return [Attempt(body, 100 * number) for number, body in enumerate(said)]


@st.composite
def disturbed(draw: st.DrawFn) -> list[Attempt | Amends]:
    """That afternoon, and then what was forgotten or wrong in it: swaps and weighings typed in late, and corrections.

    Corrections count from the newest entry, so they meet calibrations as often as what taught them.
    """
    late = st.builds(
        Attempt,
        st.one_of(
            st.builds(a_swap, st.sampled_from(["1-HV", "2-HV", "1-SE"]), st.sampled_from(["C-1", "C-2"])),
            st.builds(a_weighing, st.sampled_from(["C-1", "C-2"]), st.integers(150_000, 200_000)),
        ),
        st.integers(0, 1500),
    )
    wrong = st.builds(
        Amends,
        st.integers(0, 14),
        st.sampled_from(["void", "void", "replace", "reinstate"]),
        st.builds(a_weighing, st.just("C-1"), st.integers(160_000, 200_000)),
        st.none() | st.integers(0, 1500),
    )
    return [*an_afternoon(), *draw(st.lists(st.one_of(late, wrong), min_size=1, max_size=6))]


def live(ledger: Ledger, history: Iterable[Attempt | Amends]) -> list[tuple[Attempt | Amends, Entry]]:
    """Try to record *history* as the office does, so that what teaches is learned from; what was taken."""
    taken: list[tuple[Attempt | Amends, Entry]] = []
    with writing(ledger.engine) as connection:
        for one in history:
            desk = Desk(connection, SITE, KIM, END_OF_WEEK)
            try:
                if isinstance(one, Attempt):
                    appended = write(desk, one.body, Said(at=one.happened_at))
                else:
                    appended = write(desk, correction(desk, one), Said())
            except WasteLedgerError:
                continue
            taken.append((one, appended.entry))
    return taken


def lesson(reader: Reader) -> dict[str, object] | None:
    """The newest calibration, whatever entries it reaches to; None where it says no more than what was published."""
    entry = newest_calibration(reader)
    if entry is None or current_prior(reader) == shipped_prior():
        return None
    return entry.body.model_dump(exclude={"data_to"})


@LAW
@given(st.one_of(histories(), disturbed()))
def test_the_newest_calibration_is_never_stale(history: list[Attempt | Amends]) -> None:
    """After anything that a practice may record, late or corrected, it says what all weighings together teach."""
    with a_week() as week:
        live(week.ledger, history)
        with week.ledger.writing(SITE, KIM) as desk:
            taught, now = taught_by(desk).prior, current_prior(desk)
            assert learn_again(desk) is None
        assert verify(week.ledger.engine, SITE).holds

    assert now.means_mg == pytest.approx(taught.means_mg, rel=1e-9, abs=1e-6)
    assert now.degrees_of_freedom == taught.degrees_of_freedom
    assert now.scatter_sd_mg == pytest.approx(taught.scatter_sd_mg, rel=1e-9)


@LAW
@given(histories())
def test_calibrations_travel_with_the_chain(history: list[Attempt | Amends]) -> None:
    """An export that is read back holds the same calibrations, and none is written anew on the way."""
    with a_week() as week:
        live(week.ledger, history)
        entries = week.entries()
        read = read_export(export_lines(entries))

    assert list(read.entries) == sorted(entries, key=lambda entry: entry.seq)


@LAW
@given(st.lists(attempts(), max_size=12), st.lists(attempts(), max_size=12), st.data())
def test_an_entry_corrected_away_is_as_if_it_had_never_been_written(
    first: list[Attempt], second: list[Attempt], data: st.DataObject
) -> None:
    history = [*an_afternoon(), *first, *second]
    with a_week() as with_it, a_week() as without:
        taken = live(with_it.ledger, history)
        attempt, entry = data.draw(st.sampled_from([one for one in taken if not isinstance(one[1].body, Calibration)]))
        others = [one for one, _ in taken if one is not attempt]
        assume(len(live(without.ledger, others)) == len(others))
        with with_it.ledger.writing(SITE, KIM) as desk:
            try:
                write(desk, a_correction(entry), Said())
            except WasteLedgerError:
                # A later entry hangs on it, such as everything on the opening of its container.
                assume(False)
        with with_it.ledger.reading(SITE) as reader:
            corrected = lesson(reader)
        with without.ledger.reading(SITE) as reader:
            never = lesson(reader)

    assert corrected == never


@LAW
@given(st.one_of(histories(), disturbed()), st.data())
def test_every_estimate_can_be_made_again_as_it_was_known(history: list[Attempt | Amends], data: st.DataObject) -> None:
    """What was believed before any entry is read the same after whatever followed, corrections of calibrations too."""
    cut = data.draw(st.integers(0, len(history)))
    with a_week() as week:
        live(week.ledger, history[:cut])
        with week.ledger.reading(SITE) as reader:
            end, known = reader.chain_end(), current_prior(reader)
            assert end is not None
        live(week.ledger, history[cut:])
        with week.ledger.reading(SITE) as reader:
            assert current_prior(reader, before_seq=end.entries + 1) == known
