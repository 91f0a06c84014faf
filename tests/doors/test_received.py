"""A receipt far from what left, and the budget of a container, through the command line."""

from __future__ import annotations

import json

import pytest

from tests.doors.conftest import Office


@pytest.fixture
def sent(office: Office) -> Office:
    """T-1 left with pickup P-1, 817.6 g weighed."""
    office.did("weigh", "T-1", "1000g")
    office.did("pickup", "book", "P-1", "T-1", "--carrier", "carrier", "--facility", "recycler", "--on", "2026-03-16")
    office.watch.wait(days=14)
    office.did("pickup", "release", "P-1", "--taken-by", "Dana Driver", "--yes")
    office.watch.wait(days=4)
    return office


def test_a_difference_is_said_everywhere_until_it_is_explained(sent: Office) -> None:
    received = sent.did("pickup", "receive", "P-1", "--on", "2026-03-18", "--net", "T-1=700g")
    assert "! Container T-1: the facility states 700 g; what left was 817.60 g ± " in received.said
    assert "less than both uncertainties allow (99 %; z = −" in received.said
    assert 'wasteledger pickup explain P-1 --why "…"' in received.said

    for command in (("status",), ("container", "show", "T-1")):
        assert "! pickup P-1: Container T-1: the facility states 700 g" in sent.run(*command).said
    assert "! Container T-1: the facility states 700 g" in sent.did("pickup", "list").said
    (weight,) = sent.did("pickup", "list", "--json").json()["received"]
    assert (weight["received_mg"], weight["left_mg"], weight["is_beyond"]) == (700_000, 817_600, True)
    assert float(weight["z"]) < -10

    explained = sent.did("pickup", "explain", "P-1", "--why", "Their scale takes our tare twice.")
    assert "Difference in entry " in explained.said
    assert "pickup P-1" not in sent.run("status").said
    assert "explained in entry" in sent.did("pickup", "list").said
    remark = sent.did("history", "--pickup", "P-1", "--kind", "remark").said
    assert "Their scale takes our tare twice" in remark

    again = sent.run("pickup", "explain", "P-1", "--why", "Once more.")
    assert again.status == 3
    assert "it was explained" in again.complained


def test_a_paper_may_say_what_its_weights_are_good_to(sent: Office) -> None:
    near = sent.did("pickup", "receive", "P-1", "--on", "2026-03-18", "--net", "T-1=800g", "--within", "30g")

    assert "facility states" not in near.said
    assert sent.run("status").said.count("P-1") == 0


def test_the_budget_of_an_estimate_and_of_a_weighing(office: Office) -> None:
    for trap in ("1-HV", "1-SE", "2-HV"):
        office.did("swap", trap, "-c", "clogged", by="ann")

    counted = office.did("container", "show", "T-1", "--budget").said
    assert "Budget of T-1, as reckoned now: about " in counted
    assert "shared error" in counted
    assert "scatter" in counted
    assert "Content (estimate, also of what was weighed):" in counted
    assert "mercury: about " in counted
    assert "to the first order" in counted
    assert "high-volume trap" in counted

    before = office.did("container", "show", "T-1", "--budget", "--json").json()["budget"]
    office.did("weigh", "T-1", "1012.4g")
    after = office.did("container", "show", "T-1", "--budget", "--json").json()["budget"]
    assert before["estimated_mg"] > 0
    assert before["content"]["basis"] == after["content"]["basis"] == "estimate"
    assert (after["weighed_mg"], after["estimated_mg"]) == (830_000, 0)
    assert [one["name"] for one in after["causes"]] == ["scale"]
    # The starter plan says no mass of a trap's body, so what was weighed cannot be split.
    assert after["content"]["not_split_mg"] == 830_000
    assert (
        "830 g is not split, and no content of it is stated" in office.did("container", "show", "T-1", "--budget").said
    )
    assert [one["substance"] for one in before["content"]["parts"]] == ["amalgam", "mercury", "silver"]
    mercury = before["content"]["parts"][1]
    assert mercury["lower_mg"] < mercury["value_mg"] < mercury["upper_mg"]
    assert mercury["first_order_mg"] < mercury["standard_uncertainty_mg"]


def test_the_budget_says_the_same_twice(office: Office) -> None:
    office.did("swap", "1-HV", "-c", "clogged", by="ann")

    one, other = (office.did("container", "show", "T-1", "--budget", "--json").said for _ in range(2))

    assert json.loads(one) == json.loads(other)


def test_a_container_without_the_option_says_no_budget(office: Office) -> None:
    assert "Budget" not in office.did("container", "show", "T-1").said
    assert "budget" not in office.did("container", "show", "T-1", "--json").json()
