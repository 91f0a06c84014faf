"""What is believed and one reading of known scatter: worked examples of the normal prior.

Sources:
- G. E. P. Box, G. C. Tiao, Bayesian Inference in Statistical Analysis (1973), 1.2: two physicists, N(900, 20) and
  N(800, 80), one reading of 850 with a deviation of 40; then 100 readings with a mean of 870. From memory, and worked
  out anew by the closed form.
- P. M. Lee, Bayesian Statistics: age of granite, N(370, 20) and a reading of 421 with 8; N(400, 50). From memory.
- Course pages read 2026-11-25: N(69, 3) and a reading of 71 with 4, posterior 69.72 and 2.4; N(98.6, 0.7) and 208
  readings of mean 97.7 and deviation 1, posterior 97.708745 and 0.0689999.
- SOCR wiki, AP Statistics Curriculum, Bayesian Normal, read 2026-11-25: N(185, 10) and a reading of 220 with 4 is
  printed there as 218 and 4. Its variance was rounded to 14 before it was used; unrounded it is 215.1724 and 3.71391.

Deviations, not variances, are given after the comma.
"""

from __future__ import annotations

import math

import pytest

from wasteledger.estimate.regression import Belief, Learned, learn


def after(mean: float, sd: float, reading: float, reading_sd: float, count: int = 1) -> Learned:
    belief = Belief((mean,), ((sd**2,),), scale=1.0, degrees_of_freedom=math.inf)
    return learn([(1.0,)] * count, [reading] * count, [reading_sd**2] * count, belief)


@pytest.mark.parametrize(
    ("mean", "sd", "reading", "reading_sd", "count", "posterior", "posterior_sd"),
    [
        (900, 20, 850, 40, 1, 890, 17.8885),
        (800, 80, 850, 40, 1, 840, 35.7771),
        (900, 20, 870, 40, 100, 871.1538, 3.92232),
        (800, 80, 870, 40, 100, 869.8254, 3.99501),
        (370, 20, 421, 8, 1, 413.966, 7.42781),
        (400, 50, 421, 8, 1, 420.476, 7.89953),
        (69, 3, 71, 4, 1, 69.72, 2.4),
        (98.6, 0.7, 97.7, 1, 208, 97.708745, 0.0689999),
        (185, 10, 220, 4, 1, 215.1724, 3.71391),
    ],
    ids=[
        "physicist-a-one",
        "physicist-b-one",
        "physicist-a-hundred",
        "physicist-b-hundred",
        "granite-370",
        "granite-400",
        "height",
        "temperature",
        "speedometer",
    ],
)
def test_normal_prior(
    mean: float,
    sd: float,
    reading: float,
    reading_sd: float,
    count: int,
    posterior: float,
    posterior_sd: float,
) -> None:
    learned = after(mean, sd, reading, reading_sd, count)

    assert learned.means[0] == pytest.approx(posterior, rel=2e-6)
    assert math.sqrt(learned.covariance[0][0]) == pytest.approx(posterior_sd, rel=5e-6)
    assert learned.degrees_of_freedom == math.inf


def test_a_hundred_readings_are_one_of_a_tenth_of_the_deviation() -> None:
    many, one = after(900, 20, 870, 40, 100), after(900, 20, 870, 4)

    assert many.means == pytest.approx(one.means)
    assert many.covariance[0] == pytest.approx(one.covariance[0])


def test_socr_rounding_a_variance_too_early_changes_the_answer() -> None:
    assert abs(after(185, 10, 220, 4).means[0] - 218) > 2.5
