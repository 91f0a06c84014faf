"""Learning from weighings: closed forms in exact fractions, the limits of the prior, and what is refused."""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import pytest
from scipy import linalg, optimize, stats

from wasteledger.errors import NotUnderstood
from wasteledger.estimate import regression
from wasteledger.estimate.regression import (
    BadBelief,
    Belief,
    NotDetermined,
    NotFinite,
    ShapesDiffer,
    VarianceNotPositive,
    learn,
)

# Swaps of two kinds in five containers, the mass that came in (g), and the variance of each about the mean.
SWAPS = ((4, 1), (9, 0), (2, 3), (12, 2), (0, 4))
GRAMS = (21.0, 33.5, 47.0, 70.25, 52.5)
VARIANCES = (4.0, 9.0, 5.0, 14.0, 4.0)
BELIEVED = Belief((3.0, 15.0), ((1.0, 2.5), (2.5, 25.0)), scale=1.5, degrees_of_freedom=6)


def exactly(belief: Belief | None) -> tuple[list[Fraction], list[list[Fraction]], Fraction]:
    """Means, unit covariance and sum of squares for the data above by Cramer's rule, without any rounding."""
    zero, one = Fraction(0), Fraction(1)
    p = [[zero, zero], [zero, zero]]
    h = [zero, zero]
    if belief is not None:
        (a, b), (c, d) = ([Fraction(cell) for cell in row] for row in belief.unit_covariance)
        p = [[d / (a * d - b * c), -b / (a * d - b * c)], [-c / (a * d - b * c), a / (a * d - b * c)]]
        h = [sum((cell * Fraction(m) for cell, m in zip(row, belief.means, strict=True)), zero) for row in p]
    before = [row[:] for row in p]
    for x, y, v in zip(SWAPS, GRAMS, VARIANCES, strict=True):
        for i in range(2):
            h[i] += Fraction(x[i]) * Fraction(y) / Fraction(v)
            for j in range(2):
                p[i][j] += Fraction(x[i]) * Fraction(x[j]) / Fraction(v)
    (a, b), (c, d) = p
    determinant = a * d - b * c
    covariance = [[d / determinant, -b / determinant], [-c / determinant, a / determinant]]
    means = [row[0] * h[0] + row[1] * h[1] for row in covariance]
    squares = sum(
        (
            (Fraction(y) - x[0] * means[0] - x[1] * means[1]) ** 2 / Fraction(v)
            for x, y, v in zip(SWAPS, GRAMS, VARIANCES, strict=True)
        ),
        zero,
    )
    if belief is not None:
        gone = [mean - Fraction(m) for mean, m in zip(means, belief.means, strict=True)]
        squares += sum((gone[i] * before[i][j] * gone[j] * one for i in range(2) for j in range(2)), zero)
    return means, covariance, squares


def close(found: object, expected: object) -> None:
    np.testing.assert_allclose(np.array(found, dtype=float), np.array(expected, dtype=float), rtol=1e-13)


def test_without_a_belief_it_is_generalised_least_squares_in_exact_fractions() -> None:
    means, covariance, squares = exactly(None)

    learned = learn(SWAPS, GRAMS, VARIANCES)

    close(learned.means, means)
    close(learned.unit_covariance, covariance)
    close(learned.residual_sum, squares)
    close(learned.scale, squares / 3)
    assert learned.degrees_of_freedom == 3
    assert learned.held_at_zero == ()


def test_with_a_belief_it_is_the_conjugate_posterior_in_exact_fractions() -> None:
    means, covariance, squares = exactly(BELIEVED)

    learned = learn(SWAPS, GRAMS, VARIANCES, BELIEVED)

    close(learned.means, means)
    close(learned.unit_covariance, covariance)
    close(learned.scale, (6 * Fraction(1.5) + squares) / 11)
    assert learned.degrees_of_freedom == 11


def test_residuals_stand_in_the_order_of_the_observations() -> None:
    learned = learn(SWAPS, GRAMS, VARIANCES)

    fitted = [x[0] * learned.means[0] + x[1] * learned.means[1] for x in SWAPS]
    expected = [(y - fit) / math.sqrt(v) for y, fit, v in zip(GRAMS, fitted, VARIANCES, strict=True)]
    assert learned.residuals == pytest.approx(expected, rel=1e-12)
    assert learned.residual_sum == pytest.approx(math.fsum(residual**2 for residual in expected), rel=1e-12)


def test_a_known_scale_stays_as_it_was() -> None:
    known = Belief(BELIEVED.means, BELIEVED.unit_covariance, 1.5, math.inf)

    learned = learn(SWAPS, GRAMS, VARIANCES, known)

    assert learned.scale == 1.5
    assert learned.degrees_of_freedom == math.inf
    assert learned.means == learn(SWAPS, GRAMS, VARIANCES, BELIEVED).means


def test_a_scale_of_no_weight_is_forgotten() -> None:
    guesses = (0.001, 1000.0)
    beliefs = [Belief(BELIEVED.means, BELIEVED.unit_covariance, scale, 0) for scale in guesses]

    first, second = (learn(SWAPS, GRAMS, VARIANCES, belief) for belief in beliefs)

    assert first == second
    assert first.degrees_of_freedom == 5


def test_nothing_observed_leaves_the_belief() -> None:
    learned = learn((), (), (), BELIEVED)

    close(learned.means, BELIEVED.means)
    close(learned.unit_covariance, BELIEVED.unit_covariance)
    assert learned.scale == pytest.approx(1.5)
    assert learned.degrees_of_freedom == 6
    assert learned.residuals == ()


def test_a_belief_of_no_weight_at_all_survives_nothing_observed() -> None:
    nothing = Belief((3.0,), ((1.0,),), 2.0, 0)

    assert learn((), (), (), nothing).belief == nothing


def test_a_very_wide_belief_gives_way_to_the_observations() -> None:
    wide = Belief((3.0, 15.0), ((1e16, 0.0), (0.0, 1e16)), 1.0, 0)

    learned, without = learn(SWAPS, GRAMS, VARIANCES, wide), learn(SWAPS, GRAMS, VARIANCES)

    assert learned.means == pytest.approx(without.means, rel=1e-12)
    assert learned.scale * 5 == pytest.approx(without.scale * 3, rel=1e-12)


def test_covariance_is_the_scale_times_the_unit_covariance() -> None:
    learned = learn(SWAPS, GRAMS, VARIANCES)

    assert learned.covariance[0][1] == learned.covariance[1][0] == learned.scale * learned.unit_covariance[0][1]


class TestPrediction:
    learned = learn(SWAPS, GRAMS, VARIANCES, BELIEVED)

    def test_mean_and_spread_of_a_further_observation(self) -> None:
        x = np.array([7.0, 2.0])
        spread = x @ np.array(self.learned.unit_covariance) @ x

        mean, scale_sd, degrees_of_freedom = self.learned.predict((7, 2), 8.0)

        assert mean == pytest.approx(7 * self.learned.means[0] + 2 * self.learned.means[1])
        assert scale_sd == pytest.approx(math.sqrt(self.learned.scale * (8.0 + spread)))
        assert degrees_of_freedom == 11

    def test_it_is_what_adding_a_row_would_do(self) -> None:
        """The density of the next observation is a ratio of two marginal densities (Student's t by Bayes' rule)."""
        x, v, y = (7, 2), 8.0, 61.0
        mean, scale_sd, degrees_of_freedom = self.learned.predict(x, v)
        further = learn((x,), (y,), (v,), self.learned.belief)
        spread = scale_sd**2 / self.learned.scale

        def marginal(scale: float, dof: float) -> float:
            # log of Γ(a) / (b^a): the part of the evidence that a and b make.
            return math.lgamma(dof / 2) - dof / 2 * math.log(dof * scale / 2)

        by_evidence = (
            marginal(further.scale, further.degrees_of_freedom)
            - marginal(self.learned.scale, degrees_of_freedom)
            - math.log(2 * math.pi * spread) / 2
        )
        by_student = stats.t.logpdf(y, degrees_of_freedom, loc=mean, scale=scale_sd)
        assert by_evidence == pytest.approx(float(by_student), rel=1e-12)

    def test_without_scatter_it_is_the_coefficient_itself(self) -> None:
        mean, scale_sd, _ = self.learned.predict((1, 0), 0)

        assert mean == self.learned.means[0]
        assert scale_sd == pytest.approx(math.sqrt(self.learned.covariance[0][0]))

    @pytest.mark.parametrize(
        ("row", "variance"), [((1,), 0.0), ((1, math.nan), 0.0), ((1, 1), -1.0), ((1, 1), math.inf)]
    )
    def test_what_is_refused(self, row: tuple[float, ...], variance: float) -> None:
        with pytest.raises((ShapesDiffer, NotFinite)):
            self.learned.predict(row, variance)


class TestNonNegative:
    # The second kind is pulled below zero: its swaps came with less than the first kind's explain.
    rows = ((1, 0), (1, 1), (2, 1), (3, 5))
    observed = (3.0, 1.0, 4.5, 2.0)
    variances = (1.0, 2.0, 1.0, 4.0)

    def test_without_the_limit_it_is_below_zero(self) -> None:
        assert learn(self.rows, self.observed, self.variances).means[1] < 0

    def test_it_is_the_best_that_is_not_below_zero(self) -> None:
        free = learn(self.rows, self.observed, self.variances)
        system = np.array(self.rows, dtype=float) / np.sqrt(self.variances)[:, None]
        target = np.array(self.observed) / np.sqrt(self.variances)
        best, norm = optimize.nnls(system, target)

        learned = learn(self.rows, self.observed, self.variances, non_negative=True)

        assert learned.means == pytest.approx(best)
        assert learned.means[1] == 0
        assert learned.residual_sum == pytest.approx(norm**2)
        assert learned.held_at_zero == (1,)
        assert learned.covariance == free.covariance

    def test_a_belief_is_part_of_the_system(self) -> None:
        belief = Belief((2.0, 0.2), ((0.5, 0.1), (0.1, 0.2)), 1.0, 4)
        precision_root = linalg.cholesky(linalg.inv(np.array(belief.unit_covariance)))
        system = np.vstack((np.array(self.rows) / np.sqrt(self.variances)[:, None], precision_root))
        target = np.concatenate((np.array(self.observed) / np.sqrt(self.variances), precision_root @ belief.means))

        learned = learn(self.rows, self.observed, self.variances, belief, non_negative=True)

        assert learned.held_at_zero == (1,)
        assert learned.means == pytest.approx(optimize.nnls(system, target)[0])

    def test_all_may_be_held(self) -> None:
        learned = learn(((1, 0), (0, 1), (1, 1)), (-1.0, -2.0, -3.5), (1.0, 1.0, 1.0), non_negative=True)

        assert learned.means == (0.0, 0.0)
        assert learned.held_at_zero == (0, 1)

    def test_where_none_is_below_zero_nothing_changes(self) -> None:
        assert learn(SWAPS, GRAMS, VARIANCES, non_negative=True) == learn(SWAPS, GRAMS, VARIANCES)

    def test_a_coefficient_that_must_leave_again(self) -> None:
        """Cases in which the active set takes a coefficient in and puts it out again, against the reference."""
        drawn = np.random.default_rng(20260101)
        left = 0
        for _ in range(200):
            system = drawn.normal(size=(9, 6)) + 0.7
            target = drawn.normal(size=9)
            best, _ = optimize.nnls(system, target)
            learned = learn(system.tolist(), target.tolist(), [1.0] * 9, non_negative=True)
            assert learned.means == pytest.approx(best, abs=1e-9)
            left += len(learned.held_at_zero) > 1
        assert left > 100


class TestStability:
    def test_weights_eight_powers_of_ten_apart(self) -> None:
        rows: Sequence[tuple[int, int]] = ((1, 0), (1, 1), (5, 2), (1, 3), (2, 7))
        observed = (3.0, 17.5, 44.0, 47.0, 110.0)
        variances = (1e-4, 1e4, 1e-3, 1e2, 1e4)
        sums = [[Fraction(0)] * 3 for _ in range(2)]
        for x, y, v in zip(rows, observed, variances, strict=True):
            for i in range(2):
                for j, other in enumerate((*x, y)):
                    sums[i][j] += Fraction(x[i]) * Fraction(other) / Fraction(v)
        (a, b, g), (c, d, h) = sums
        determinant = a * d - b * c
        expected = (float((d * g - b * h) / determinant), float((a * h - c * g) / determinant))

        assert learn(rows, observed, variances).means == pytest.approx(expected, rel=1e-13)

    def test_data_far_from_zero_keep_their_scatter(self) -> None:
        """Whole numbers on top of 10^9: every one is exact, so the scatter must be too."""
        observed = [1e9 + value for value in (1, 2, 2, 3, 3, 4, 6)]

        learned = learn([(1,)] * 7, observed, [1.0] * 7)

        assert learned.means[0] == 1e9 + 3
        assert learned.scale == pytest.approx(16 / 6, rel=1e-14)

    def test_columns_of_very_different_size(self) -> None:
        """Without scaling, the narrow column would count as one of noughts."""
        narrow = learn([(x[0], x[1] * 1e-20) for x in SWAPS], GRAMS, VARIANCES)

        assert narrow.means[1] == pytest.approx(learn(SWAPS, GRAMS, VARIANCES).means[1] * 1e20, rel=1e-12)


def test_a_kind_never_seen_keeps_what_is_believed_of_it() -> None:
    apart = Belief((3.0, 15.0), ((1.0, 0.0), (0.0, 25.0)), 1.0, 8)

    learned = learn([(4, 0), (9, 0)], (21.0, 33.5), (4.0, 9.0), apart)

    assert learned.means[1] == pytest.approx(15.0)
    assert learned.unit_covariance[1][1] == pytest.approx(25.0)
    # A linked belief carries over what the first kind taught.
    assert learn([(4, 0), (9, 0)], (21.0, 33.5), (4.0, 9.0), BELIEVED).means[1] > 15.0


@pytest.mark.parametrize(
    ("design", "observed", "variances"),
    [
        ([(1, 2), (1,)], (1.0, 2.0), (1.0, 1.0)),
        ([(1, 2), (1, 3)], (1.0,), (1.0, 1.0)),
        ([(1, 2), (1, 3)], (1.0, 2.0), (1.0,)),
        ([(1, 2, 3)], (1.0,), (1.0,)),
    ],
)
def test_shapes_that_do_not_fit(
    design: list[tuple[float, ...]], observed: tuple[float, ...], variances: tuple[float, ...]
) -> None:
    with pytest.raises(ShapesDiffer):
        learn(design, observed, variances, BELIEVED)


@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf])
def test_values_that_are_no_numbers(wrong: float) -> None:
    for design, observed, variances in (
        ([(wrong,), (1.0,)], (1.0, 2.0), (1.0, 1.0)),
        ([(1.0,), (1.0,)], (wrong, 2.0), (1.0, 1.0)),
        ([(1.0,), (1.0,)], (1.0, 2.0), (wrong, 1.0)),
    ):
        with pytest.raises(NotFinite):
            learn(design, observed, variances)


def test_an_answer_too_large_is_refused() -> None:
    with pytest.raises(NotFinite):
        learn([(1e-300,), (1e-300,)], (1e300, 2e300), (1.0, 1.0))


@pytest.mark.parametrize("wrong", [0.0, -1.0])
def test_an_observation_cannot_be_exact(wrong: float) -> None:
    with pytest.raises(VarianceNotPositive, match="Observation 2") as caught:
        learn([(1,), (1,)], (1.0, 2.0), (1.0, wrong))
    assert caught.value.place == 1


@pytest.mark.parametrize(
    "design",
    [
        [(1, 2), (2, 4), (3, 6)],
        [(1, 0), (2, 0), (3, 0)],
        [(0.1, 0.3), (0.2, 0.6), (0.7, 2.1)],
        [(1, 2), (3, 4)],
        [(1, 2)],
    ],
    ids=["multiples", "kind-never-seen", "multiples-but-for-rounding", "no-scatter-left", "one-row"],
)
def test_without_a_belief_every_coefficient_must_be_settled(design: list[tuple[float, ...]]) -> None:
    observed, variances = [1.0] * len(design), [1.0] * len(design)

    with pytest.raises(NotDetermined):
        learn(design, observed, variances)

    assert learn(design, observed, variances, BELIEVED).degrees_of_freedom == 6 + len(design)


def test_nothing_at_all_is_refused() -> None:
    with pytest.raises(NotDetermined):
        learn((), (), ())


@pytest.mark.parametrize(
    ("means", "unit_covariance", "scale", "degrees_of_freedom"),
    [
        ((1.0, 2.0), ((1.0, 0.0),), 1.0, 1.0),
        ((1.0, 2.0), ((1.0,), (0.0,)), 1.0, 1.0),
        ((math.nan,), ((1.0,),), 1.0, 1.0),
        ((1.0,), ((0.0,),), 1.0, 1.0),
        ((1.0,), ((math.inf,),), 1.0, 1.0),
        ((1.0, 2.0), ((1.0, 0.5), (0.4, 1.0)), 1.0, 1.0),
        ((1.0, 2.0), ((1.0, math.nan), (math.nan, 1.0)), 1.0, 1.0),
        ((1.0,), ((1.0,),), 0.0, 1.0),
        ((1.0,), ((1.0,),), math.inf, 1.0),
        ((1.0,), ((1.0,),), 1.0, -1.0),
        ((1.0,), ((1.0,),), 1.0, math.nan),
    ],
)
def test_beliefs_that_are_none(
    means: tuple[float, ...],
    unit_covariance: tuple[tuple[float, ...], ...],
    scale: float,
    degrees_of_freedom: float,
) -> None:
    with pytest.raises(NotUnderstood):
        Belief(means, unit_covariance, scale, degrees_of_freedom)


@pytest.mark.parametrize("correlation", [1.0, 1.5])
def test_a_belief_correlated_to_one_or_beyond(correlation: float) -> None:
    belief = Belief((1.0, 2.0), ((1.0, correlation), (correlation, 1.0)), 1.0, 1.0)

    with pytest.raises(BadBelief):
        learn([(1, 1)], (3.0,), (1.0,), belief)


def test_every_refusal_says_what_would_be_accepted() -> None:
    refusals = [
        ShapesDiffer("x"),
        NotFinite("x"),
        VarianceNotPositive(0, 0.0),
        NotDetermined("x"),
        BadBelief("x"),
    ]

    assert all(refusal.hint and isinstance(refusal, NotUnderstood) for refusal in refusals)
    assert len({refusal.code for refusal in refusals}) == 5


def test_importing_it_loads_no_numpy() -> None:
    """And what was learned is used without it: only learning pays for loading it."""
    script = (
        "import sys\n"
        f"from {regression.__name__} import Learned\n"
        "learned = Learned((2.0,), ((0.5,),), 1.0, 4, (), 0.0)\n"
        "assert learned.predict((3.0,), 1.0)[0] == 6.0\n"
        "assert 'numpy' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", script], check=True)
