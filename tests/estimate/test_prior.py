"""Starting values: the shipped file, and what is refused of another."""

from __future__ import annotations

import copy
import math
import tomllib
from typing import Any

import pytest

from tests.estimate.makers import GRADES
from wasteledger.estimate.prior import DEFAULTS, NEEDED_KINDS, BadPrior, Prior, read_defaults, read_prior
from wasteledger.model.traps import Condition, TrapKind
from wasteledger.resources import find

TEXT = find("estimate/defaults.toml").read_text(encoding="utf-8")


@pytest.fixture
def table() -> dict[str, Any]:
    return copy.deepcopy(tomllib.loads(TEXT))


def test_the_shipped_file_has_every_kind_and_condition() -> None:
    read = read_defaults(TEXT)

    assert {kind.value for kind in TrapKind} | {"separator_unit"} <= set(read.prior.kinds)
    assert {condition.value for condition in Condition} == set(read.prior.grades_permille)
    assert read.prior.degrees_of_freedom == math.inf


def test_every_shipped_value_says_what_it_rests_on() -> None:
    read = read_defaults(TEXT)
    said = [*read.bases.values(), read.bulk_density.basis, *(one.basis for one in read.composition.values())]
    said += [text for kind in read.kinds for text in (kind.basis, kind.amalgam.basis)]

    for basis in said:
        cites_a_year = any(word.strip(",;.:()").isdigit() and len(word.strip(",;.:()")) == 4 for word in basis.split())
        assert cites_a_year or "no source" in basis or basis == "what is counted is amalgam", basis


def test_the_shipped_prior_is_wide_and_linked() -> None:
    prior = read_prior(TEXT)

    debris = [place for place, kind in enumerate(prior.kinds) if kind != "removed_restoration"]
    assert len(debris) == 6
    for i in debris:
        for j in debris:
            product = prior.means_mg[i] * prior.means_mg[j]
            assert prior.covariance_mg2[i][j] == product * (1.0 if i == j else 0.5)


def test_amalgam_in_a_high_volume_trap_lies_between_the_published_figures() -> None:
    """0.32 g a chair-week (Drummond 2003) and 1.96 g a dentist-week (a third of 5.87 g; Adegbembo 2002, 2005)."""
    kind = next(one for one in read_defaults(TEXT).kinds if one.kind == "high_volume")

    assert 5 * 64 < kind.mean_mg * kind.amalgam.mean < 8.91 * 1_880_320_000 / 2_855_178 / 3


def test_text_bytes_and_a_parsed_table_read_alike(table: dict[str, Any]) -> None:
    assert read_defaults(TEXT) == read_defaults(TEXT.encode()) == read_defaults(table)


@pytest.mark.parametrize("kind", NEEDED_KINDS)
def test_a_missing_kind_is_named(table: dict[str, Any], kind: str) -> None:
    del table["kind"][kind]

    assert faults_of(table) == (f"kind.{kind}: is missing.",)


@pytest.mark.parametrize(
    ("path", "value", "fault"),
    [
        ("format", 2, "format: 2 is not read here; 1 is."),
        ("name", "", "name: must be a text that is not empty."),
        ("shared.shared_cv", -0.1, "shared.shared_cv: must be a number from 0 to 10, not -0.1."),
        ("shared.between_kinds", 1.5, "shared.between_kinds: must be a number from 0 to 1, not 1.5."),
        ("shared.between_kinds", True, "shared.between_kinds: must be a number from 0 to 1, not True."),
        ("shared.shared_cv", float("nan"), "shared.shared_cv: must be a number from 0 to 10, not nan."),
        ("grades.debris", 0.5, "grades.debris: must be a whole number from 0 to 2000, not 0.5."),
        ("kind.pump.mean_mg", 60.5, "kind.pump.mean_mg: must be a whole number from 1 to 1000000000, not 60.5."),
        ("kind.pump.nominal_days", 0, "kind.pump.nominal_days: must be a whole number from 1 to 10000, not 0."),
        ("kind.pump.per", "week", "kind.pump.per: “week” must be trap, dentist or piece."),
        ("kind.pump.basis", 3, "kind.pump.basis: must be a text that is not empty."),
        ("kind.pump.sd_gm", 3, "kind.pump.sd_gm: is not known here."),
        ("composition.moisture.mean", 50, "composition.moisture.mean: must be a number from 0 to 1, not 50."),
        ("extra", {}, "extra: is not known here."),
        ("kind.pump", 7, "kind.pump: must be a table."),
    ],
)
def test_a_wrong_value_is_named_by_its_key(table: dict[str, Any], path: str, value: object, fault: str) -> None:
    *tables, key = path.split(".")
    place = table
    for one in tables:
        place = place[one]
    place[key] = value

    assert fault in faults_of(table)


def test_all_faults_are_told_at_once(table: dict[str, Any]) -> None:
    del table["grades"]["clean"], table["kind"]["pump"]["sd_mg"]

    with pytest.raises(BadPrior, match=r"office\.toml: 2 faults") as refusal:
        read_defaults(table, name="office.toml")
    assert refusal.value.faults == (
        "grades.clean: is missing; a whole number from 0 to 2000.",
        "kind.pump.sd_mg: is missing; a whole number from 0 to 1000000000.",
    )


@pytest.mark.parametrize("source", ["mean_mg = ", b"\xff\xfe"])
def test_what_is_no_toml_is_refused(source: str | bytes) -> None:
    with pytest.raises(BadPrior, match="no TOML text"):
        read_defaults(source)


def test_an_empty_file_names_what_it_lacks() -> None:
    faults = faults_of({})

    assert any(fault.startswith("shared.shared_cv: is missing") for fault in faults)
    assert "kind.high_volume: is missing." in faults


@pytest.mark.parametrize(
    ("changed", "fault"),
    [
        ({"kinds": ("a", "a")}, "named once"),
        ({"means_mg": (1.0,)}, "means_mg: 1 values for 2 kinds"),
        ({"means_mg": (1.0, math.nan)}, "means_mg: every value"),
        ({"scatter_sd_mg": (1.0, -1.0)}, "scatter_sd_mg: every value"),
        ({"grades_permille": {"clean": -1}}, "grades_permille"),
        ({"degrees_of_freedom": 0.5}, "degrees_of_freedom"),
        ({"covariance_mg2": ((1.0, 0.0),)}, "square"),
        ({"covariance_mg2": ((1.0, 0.0), (0.0, -1.0))}, "variance of b"),
        ({"covariance_mg2": ((1.0, 0.2), (0.3, 1.0))}, "both ways"),
        ({"covariance_mg2": ((1.0, 1.2), (1.2, 1.0))}, "beyond 1"),
    ],
)
def test_values_that_do_not_fit_together_are_refused(changed: dict[str, Any], fault: str) -> None:
    fitting: dict[str, Any] = {
        "kinds": ("a", "b"),
        "means_mg": (1.0, 2.0),
        "covariance_mg2": ((1.0, 0.5), (0.5, 1.0)),
        "scatter_sd_mg": (1.0, 1.0),
        "nominal_days": (7, 30),
        "grades_permille": GRADES,
    }
    Prior(**fitting)

    with pytest.raises(BadPrior, match=fault):
        Prior(**(fitting | changed))


def faults_of(table: dict[str, Any]) -> tuple[str, ...]:
    with pytest.raises(BadPrior) as refusal:
        read_defaults(table)
    return refusal.value.faults


def test_a_mean_that_is_better_known_shares_nothing_with_the_others() -> None:
    """0.659 g a removal (Adegbembo and others 2004 and 2005) is no judgement about this practice's traps."""
    shipped = read_prior(find(DEFAULTS).read_bytes())
    place = shipped.kinds.index("removed_restoration")

    row = shipped.covariance_mg2[place]

    assert row[place] == 100.0**2
    assert all(cell == 0 for other, cell in enumerate(row) if other != place)
    assert shipped.covariance_mg2[0][1] > 0
