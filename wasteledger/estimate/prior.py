"""What is believed of each kind of trap before, or after, weighings: means, their common error, and the scatter.

The file of starting values is handed in as text; whoever calls finds it (``estimate/defaults.toml``).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from wasteledger.estimate.reading import BadFile, Section, opened
from wasteledger.model.traps import Condition, TrapKind

DEFAULTS = "estimate/defaults.toml"
SEPARATOR_UNIT = "separator_unit"
NEEDED_KINDS = (*(kind.value for kind in TrapKind), SEPARATOR_UNIT)
_NEEDED_GRADES = tuple(condition.value for condition in Condition)
_FRACTIONS = ("moisture", "mercury_of_amalgam", "silver_of_amalgam")


class BadPrior(BadFile):
    """Starting values that cannot be read or do not fit together; ``faults`` has one sentence a fault, with its key."""

    code = "bad-prior"
    NOUN = "prior"


@dataclass(frozen=True, slots=True)
class Prior:
    """Means of each kind with their covariance: published values at first, later what weighings have taught.

    Attributes:
        kinds: Trap kinds, ``separator_unit``, kinds of pieces; each once.
        means_mg: Mean debris mass of one full swap of each kind and one dentist (or one trap, or one piece).
        covariance_mg2: Of those means. Its roots are standard uncertainties, to be widened by the coverage factor of
            *degrees_of_freedom* (so the scale matrix of a Student posterior, not its variance).
        scatter_sd_mg: Scatter of one full swap about its mean, for each kind.
        nominal_days: Days in service for which a mean holds, for each kind; 0 where days say nothing.
        grades_permille: Share of a full swap by condition seen; ``not_looked`` multiplies days over nominal days.
        degrees_of_freedom: Behind the covariance and the scatter; infinite for published values.
    """

    kinds: tuple[str, ...]
    means_mg: tuple[float, ...]
    covariance_mg2: tuple[tuple[float, ...], ...]
    scatter_sd_mg: tuple[float, ...]
    nominal_days: tuple[int, ...]
    grades_permille: Mapping[str, int]
    degrees_of_freedom: float = math.inf

    def __post_init__(self) -> None:
        if faults := tuple(self._faults()):
            raise BadPrior(faults)

    def _faults(self) -> list[str]:
        count = len(self.kinds)
        faults = ["kinds: each must be named once."] if len(set(self.kinds)) != count else []
        for name in ("means_mg", "scatter_sd_mg", "nominal_days"):
            values = getattr(self, name)
            if len(values) != count:
                faults.append(f"{name}: {len(values)} values for {count} kinds.")
            if not all(math.isfinite(value) and value >= 0 for value in values):
                faults.append(f"{name}: every value must be 0 or more.")
        if not all(grade >= 0 for grade in self.grades_permille.values()):
            faults.append("grades_permille: every value must be 0 or more.")
        if not self.degrees_of_freedom >= 1:
            faults.append("degrees_of_freedom: must be 1 or more.")
        return faults or self._covariance_faults()

    def _covariance_faults(self) -> list[str]:
        rows, places = self.covariance_mg2, range(len(self.kinds))
        if len(rows) != len(self.kinds) or any(len(row) != len(self.kinds) for row in rows):
            return ["covariance_mg2: must be square, one row for each kind."]
        for i in places:
            if not (math.isfinite(rows[i][i]) and rows[i][i] >= 0):
                return [f"covariance_mg2: the variance of {self.kinds[i]} must be 0 or more."]
        for i in places:
            for j in range(i):
                largest = math.sqrt(rows[i][i] * rows[j][j])
                if not math.isclose(rows[i][j], rows[j][i], rel_tol=1e-9, abs_tol=1e-9 * largest):
                    return [f"covariance_mg2: {self.kinds[i]} with {self.kinds[j]} is not the same both ways."]
                if not abs(rows[i][j]) <= largest * (1 + 1e-9):
                    return [f"covariance_mg2: {self.kinds[i]} with {self.kinds[j]} is correlated beyond 1."]
        return []

    @classmethod
    def sharing(
        cls,
        kinds: tuple[str, ...],
        means_mg: tuple[float, ...],
        scatter_sd_mg: tuple[float, ...],
        nominal_days: tuple[int, ...],
        grades_permille: Mapping[str, int],
        *,
        shared_cv: float,
        between_kinds: float,
        known_sd_mg: Mapping[str, float] | None = None,
    ) -> Prior:
        """A prior whose means all have the coefficient of variation *shared_cv*, correlated *between_kinds*.

        Kinds in *known_sd_mg* have that standard deviation of their mean instead, and share nothing with others.

        Raises:
            BadPrior: The values do not fit together.
        """
        known = known_sd_mg or {}
        sds = [known.get(kind, shared_cv * mean) for kind, mean in zip(kinds, means_mg, strict=True)]

        def common(i: int, j: int) -> float:
            return 1.0 if i == j else 0.0 if kinds[i] in known or kinds[j] in known else between_kinds

        covariance = tuple(
            tuple(one * other * common(i, j) for j, other in enumerate(sds)) for i, one in enumerate(sds)
        )
        return cls(kinds, means_mg, covariance, scatter_sd_mg, nominal_days, grades_permille)


@dataclass(frozen=True, slots=True)
class Share:
    """A part of a whole, between 0 and 1, with its standard deviation."""

    mean: float
    sd: float
    basis: str = ""


@dataclass(frozen=True, slots=True)
class Density:
    """Milligrams a millilitre, with the standard deviation."""

    mean_mg_per_ml: int
    sd_mg_per_ml: int
    basis: str = ""


@dataclass(frozen=True, slots=True)
class KindDefault:
    """One kind's starting values and what each rests on; masses in mg, wet."""

    kind: str
    mean_mg: int
    sd_mg: int
    nominal_days: int
    per: str  # trap, dentist or piece
    basis: str
    amalgam: Share
    mean_sd_mg: int | None = None  # of the mean, where more is known of it than of the others


@dataclass(frozen=True, slots=True)
class Defaults:
    """A file of starting values as it was read."""

    name: str
    prior: Prior
    kinds: tuple[KindDefault, ...]
    composition: Mapping[str, Share]
    bulk_density: Density
    bases: Mapping[str, str] = field(default_factory=dict)  # what the shared error and the grades rest on


def read_prior(source: str | bytes | Mapping[str, object], *, name: str = DEFAULTS) -> Prior:
    """The prior that a file of starting values describes; see `read_defaults`."""
    return read_defaults(source, name=name).prior


def read_defaults(source: str | bytes | Mapping[str, object], *, name: str = DEFAULTS) -> Defaults:
    """Read a file of starting values: TOML as text or as UTF-8 bytes, or a table that was parsed already.

    Raises:
        BadPrior: No TOML, or keys that are missing, unknown or out of range; all of them are named.
    """
    top = opened(source, name, BadPrior)
    title = top.text("name")
    shared = top.section("shared")
    shared_cv = shared.number("shared_cv", 0, 10)
    between_kinds = shared.number("between_kinds", 0, 1)
    grades = top.section("grades")
    permille = {grade: grades.whole(grade, 0, 2000) for grade in _NEEDED_GRADES}
    bases = {"shared": shared.text("basis"), "grades": grades.text("basis")}
    kinds = _kinds(top.section("kind"))
    composition = top.section("composition")
    fractions = {one: _fraction(composition.section(one)) for one in _FRACTIONS}
    density = composition.section("bulk_density")
    bulk = Density(
        density.whole("mean_mg_per_ml", 1, 20_000), density.whole("sd_mg_per_ml", 0, 20_000), density.text("basis")
    )
    if faults := top.faults():
        raise BadPrior(faults, name=name)
    prior = Prior.sharing(
        tuple(one.kind for one in kinds),
        tuple(float(one.mean_mg) for one in kinds),
        tuple(float(one.sd_mg) for one in kinds),
        tuple(one.nominal_days for one in kinds),
        permille,
        shared_cv=shared_cv,
        between_kinds=between_kinds,
        known_sd_mg={one.kind: float(one.mean_sd_mg) for one in kinds if one.mean_sd_mg is not None},
    )
    return Defaults(title, prior, kinds, fractions, bulk, bases)


def _kinds(table: Section) -> tuple[KindDefault, ...]:
    for needed in NEEDED_KINDS:
        if needed not in table.names():
            table.fault(needed, "is missing")
    return tuple(_kind(kind, table.section(kind)) for kind in table.names())


def _kind(kind: str, section: Section) -> KindDefault:
    per = section.text("per")
    if per not in ("trap", "dentist", "piece"):
        section.fault("per", f"“{per}” must be trap, dentist or piece")
    return KindDefault(
        kind=kind,
        mean_mg=section.whole("mean_mg", 1, 10**9),
        sd_mg=section.whole("sd_mg", 0, 10**9),
        # Pieces are counted, and no days go with a count.
        nominal_days=0 if per == "piece" else section.whole("nominal_days", 1, 10_000),
        per=per,
        basis=section.text("basis"),
        amalgam=Share(
            section.number("amalgam_mean", 0, 1), section.number("amalgam_sd", 0, 1), section.text("amalgam_basis")
        ),
        mean_sd_mg=section.whole("mean_sd_mg", 1, 10**9) if "mean_sd_mg" in section.names() else None,
    )


def _fraction(section: Section) -> Share:
    return Share(section.number("mean", 0, 1), section.number("sd", 0, 1), section.text("basis"))
