"""What the estimator had learned, as an entry of the journal: numbers that a reader can always reckon with."""

from __future__ import annotations

import math
import re
from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from wasteledger.model.values import Body, Name, Permille, Ref, Whole

MOST_KINDS = 200

_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?(e[+-]?[0-9]{1,3})?")
# Of mean masses in mg, of factors, of their scatter: far above anything real, far below where squares overflow.
_LARGEST, _SMALLEST = 1e15, 1e-30
_SCALES = (1e-30, 1e30)
_ROUNDING = 1e-9


class Calibration(Body):
    """What the estimator had learned from the entries up to *data_to*: coefficients in mg, covariance in mg².

    Real numbers are kept as decimal text (17 significant digits at most), since no float enters a hashed body.

    One of masses also holds what else its figures rest on, so that they can be made again whatever the files of
    starting values say by then, or on another machine: for each kind the *scatter* of one full swap (mg) and the
    *nominal_days* for which the mean holds (0 where days say nothing), and *grades*, the share of a full swap by
    condition seen (permille, sorted by condition). One of volumes has none of the three: how a level is read and a
    container is packed stands in no file, and is the same for everybody.

    Whatever is read here can be reckoned with: numbers that fit no distribution are refused as they are written or come
    in with a chain, since an entry that nothing can read would stand in the way of the one that corrects it.
    """

    KIND: ClassVar[str] = "calibration"

    quantity: Literal["mass", "volume"]
    data_to: Whole
    kinds: tuple[Ref, ...] = Field(min_length=1, max_length=MOST_KINDS)
    means: tuple[Name, ...]
    covariance: tuple[tuple[Name, ...], ...]
    scale: Name
    degrees_of_freedom: Name
    scatter: tuple[Name, ...] = ()
    nominal_days: tuple[Whole, ...] = ()
    grades: tuple[tuple[Ref, Permille], ...] = ()

    @model_validator(mode="after")
    def _numbers_that_fit_together(self) -> Self:
        count = len(self.kinds)
        if len(set(self.kinds)) != count:
            raise ValueError("a kind is named twice")
        if len(self.means) != count or any(len(row) != count for row in (self.covariance, *self.covariance)):
            raise ValueError("there must be one mean and one row and column of the covariance for each kind")
        means = [_read(text) for text in self.means]
        if not all(mean == 0 or _SMALLEST <= mean <= _LARGEST for mean in means):
            raise ValueError("no mean may be below 0, nor so small or large that nothing weighs it")
        if not _SCALES[0] <= _read(self.scale) <= _SCALES[1]:
            raise ValueError("the scale must be above 0 and no number that nothing could be")
        if self.degrees_of_freedom != "inf" and not 1 <= _read(self.degrees_of_freedom) <= _LARGEST:
            raise ValueError("the degrees of freedom must be 1 or more, or without limit")
        _check_covariance([[_read(text) for text in row] for row in self.covariance])
        return self

    @model_validator(mode="after")
    def _all_that_its_figures_rest_on(self) -> Self:
        count = len(self.kinds) if self.quantity == "mass" else 0
        if len(self.scatter) != count or len(self.nominal_days) != count:
            raise ValueError(
                "of masses there must be one scatter and one number of days for each kind, of volumes none"
            )
        if not all(0 <= _read(text) <= _LARGEST for text in self.scatter):
            raise ValueError("every scatter must be 0 or more")
        if bool(self.grades) != (self.quantity == "mass"):
            raise ValueError("the grades belong to masses, and to nothing else")
        conditions = [condition for condition, _ in self.grades]
        if conditions != sorted(set(conditions)):
            raise ValueError("the grades must be sorted by condition, each named once")
        return self


def _read(text: str) -> float:
    # Python reads more than this as a number (signs of other scripts, 1_000, nan); no other language does.
    if not _NUMBER.fullmatch(text) or not math.isfinite(value := float(text)):
        raise ValueError(f"“{text}” is not a finite decimal number such as 1234.5 or 1.5e-07")
    return value


def _check_covariance(rows: list[list[float]]) -> None:
    """Refuse what is no covariance: not the same both ways, correlated beyond 1, of less than no variance anywhere."""
    places = range(len(rows))
    if not all(0 <= rows[i][i] <= _LARGEST**2 for i in places):
        raise ValueError("every variance must be 0 or more")
    for i in places:
        for j in range(i):
            largest = math.sqrt(rows[i][i] * rows[j][j])
            if abs(rows[i][j] - rows[j][i]) > _ROUNDING * largest or abs(rows[i][j]) > (1 + _ROUNDING) * largest:
                raise ValueError("the covariance must be the same both ways, and no correlation beyond 1")
    # Elimination row by row: a pivot clearly below 0 is a sum of some quantities that varies by less than nothing.
    left = [row[:] for row in rows]
    for i in places:
        if left[i][i] < -1e-6 * rows[i][i]:
            raise ValueError("the covariance gives some sum of masses a variance below 0")
        if left[i][i] <= 1e-6 * rows[i][i]:
            continue
        for j in range(i + 1, len(rows)):
            share = left[j][i] / left[i][i]
            for k in range(i + 1, len(rows)):
                left[j][k] -= share * left[i][k]
