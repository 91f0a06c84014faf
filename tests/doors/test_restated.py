"""A weighing corrected after its container left, through the command line."""

from __future__ import annotations

from tests.doors.conftest import Office


def test_a_container_that_left_says_then_and_now(office: Office) -> None:
    weighing = office.did("weigh", "T-1", "1000g", "--json").json()["seq"]
    office.did("pickup", "book", "P-1", "T-1", "--carrier", "carrier", "--facility", "recycler", "--on", "2026-03-16")
    office.watch.wait(days=14)
    office.did("pickup", "release", "P-1", "--taken-by", "Dana Driver", "--yes")
    assert office.did("container", "show", "T-1").said.splitlines()[0].endswith("weighed, as stated when it left")

    office.did("correct", str(weighing), "--set", "gross=900g", "--reason", "Misread.")

    shown = office.run("container", "show", "T-1").said
    changed = f"Container T-1: entry {weighing} was corrected since (entry "
    assert "): 817.60 g ± " in shown.splitlines()[0]
    assert shown.splitlines()[0].endswith(", weighed, as stated when it left")
    assert f"! pickup P-1: {changed}" in shown
    assert "The signed manifest of pickup P-1 shows the figure of then, 817.60 g ± " in shown
    assert "reckoned now: 717.60 g ± " in shown
    assert f"! {changed}" in office.did("pickup", "list").said
    assert f"! pickup P-1: {changed}" in office.run("status").said
    budget = office.run("container", "show", "T-1", "--budget").said
    assert changed in budget
    assert "as reckoned now: 717.60 g" in budget
    told = office.run("container", "show", "T-1", "--json").json()
    assert (told["stated_when_left"], told["restated"]["reckoned_mg"]) == (True, 717_600)
    (listed,) = office.did("pickup", "list", "--json").json()["restated"]
    assert (listed["left_mg"], listed["container"]) == (817_600, "T-1")

    office.did("pickup", "explain", "P-1", "--why", "They wrote 717.6 g on their copy.")

    shown = office.did("container", "show", "T-1").said
    assert f"  {changed}" in shown
    assert "! " not in shown
    assert "explained in entry" in shown
    assert "Container T-1" not in office.run("status").said
