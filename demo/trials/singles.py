"""How often the interval of a kind's mean holds the truth after some traps of it were weighed by themselves."""

from __future__ import annotations

import math
from random import Random

from demo.trials.practice import FIRST_ON, instant
from demo.trials.standing import OFF_BY
from wasteledger.estimate.increments import Increment
from wasteledger.estimate.kind_means import mean_of
from wasteledger.estimate.learning import teach
from wasteledger.estimate.prior import Prior
from wasteledger.model.containers import Tally

WEIGHED = 10
KIND = "high_volume"


def is_covered(prior: Prior, number: int, random: Random) -> bool:
    """Ten clogged high-volume traps of one practice, whose true mean is off by 2.5, up or down."""
    place = prior.kinds.index(KIND)
    truth_mg = prior.means_mg[place] * (OFF_BY if number % 2 else 1 / OFF_BY)
    log_variance = math.log1p((prior.scatter_sd_mg[place] / prior.means_mg[place]) ** 2)
    at = instant(FIRST_ON)
    weighed = [
        Increment(
            weighed="trap",
            ref=f"{trap}-H",
            containers=("C-1",),
            seq=trap + 1,
            began_at=at,
            ended_at=at,
            net_mg=round(truth_mg * math.exp(random.gauss(-log_variance / 2, math.sqrt(log_variance)))),
            variance_mg2=10_000.0,
            tallies=(Tally(KIND, "clogged", 1, 1000, 7000),),
        )
        for trap in range(WEIGHED)
    ]
    mean = mean_of(teach(prior, weighed).prior, KIND)
    return mean.lower_mg <= truth_mg <= mean.upper_mg
