"""What came back of a pickup and is not what left, and what the second opinion says of the same days."""

from __future__ import annotations

from datetime import date, timedelta

from tests.office.asking import asked, on, point_with, says
from tests.office.makers import Crew
from wasteledger.office.answers import Sort
from wasteledger.office.balance import balance
from wasteledger.office.containers import open_container, weigh_container
from wasteledger.office.pickups import book_pickup, receive_pickup, release_pickup
from wasteledger.office.received import explain_pickup
from wasteledger.office.swaps import record_swap
from wasteledger.office.workplace import Recorded
from wasteledger.units import Mass


def exchanged_weights(crew: Crew) -> tuple[Recorded, Recorded]:
    """Two pails left with 500 g and 250 g; on the paper the two are exchanged."""
    for ref, gross in (("C-1", "1000 g"), ("C-2", "750 g")):
        open_container(crew.kim, ref, "pail", on(date(2026, 2, 2)))
        weigh_container(crew.kim, ref, Mass.parse(gross), on(date(2026, 2, 19)))
    book_pickup(crew.mo, "P-1", "ferryman", "stillhouse", date(2026, 2, 20), ("C-1", "C-2"), on(date(2026, 2, 20), 8))
    gone = release_pickup(crew.mo, "P-1", on(date(2026, 2, 20), 10), taken_by="Dana Driver")
    net = (("C-1", Mass.parse("250 g")), ("C-2", Mass.parse("500 g")))
    return gone, receive_pickup(crew.mo, "P-1", on(date(2026, 2, 26)), received_on=date(2026, 2, 26), net=net)


def test_weights_that_are_not_those_that_left_are_gaps_until_they_are_explained(crew: Crew) -> None:
    gone, paper = exchanged_weights(crew)

    weights, papers = asked(crew.iris, 25), asked(crew.iris, 23)

    first = point_with(weights, "P-1: Container C-1: the facility states 250 g; what left was 500")
    assert "That is less than both uncertainties allow" in first.says
    assert (first.sort, first.seqs) == (Sort.MISSING, (gone.seq, paper.seq))
    assert first.do == 'wasteledger pickup explain P-1 --why "…"'
    assert point_with(weights, "P-1: Container C-2:").sort is Sort.MISSING
    short = point_with(papers, "P-1: its paper states other weights than what left (C-1, C-2). Not explained.")
    assert short.sort is Sort.MISSING

    why = explain_pickup(crew.mo, "P-1", "The two lines were exchanged.")
    for number in (23, 25):
        answer = asked(crew.iris, number)
        found = [one for one in answer.points if f"Explained in entry {why.seq}: The two lines" in one.says]
        assert found
        assert all(one.sort is Sort.SHOWN and why.seq in one.seqs for one in found)
        assert "Not explained" not in says(answer)
        before = asked(crew.iris, number, until=date(2026, 2, 27))
        assert f"Not explained up to 27 Feb 2026; explained on 2 Mar 2026 (entry {why.seq})" in says(before)
        assert why.seq not in before.seqs
    assert "facility states 250 g" not in says(asked(crew.iris, 25, until=date(2026, 2, 25)))


def test_a_paper_that_came_after_the_period_is_told_of(crew: Crew) -> None:
    gone, paper = exchanged_weights(crew)

    for number, words in ((17, "No proof of recycling of P-1"), (23, "No receipt of P-1")):
        point = point_with(asked(crew.iris, number, until=date(2026, 2, 24)), words)
        assert point.says == f"{words} up to 24 Feb 2026; it came on 26 Feb 2026 (entry {paper.seq})."
        assert (point.sort, point.seqs) == (Sort.SHOWN, (gone.seq,))


def test_traps_that_were_forgotten_show_in_the_second_opinion(crew: Crew) -> None:
    """One trap is swapped every third day, two never: what `balance` finds of the same days is told in one line."""
    open_container(crew.kim, "C-1", "pail", on(date(2026, 1, 2)))
    for number in range(20):
        record_swap(crew.kim, "1-HV", on(date(2026, 1, 2) + timedelta(days=3 * number)))
    assert "Second opinion" not in says(asked(crew.iris, 17, until=date(2026, 1, 5)))

    answer = asked(crew.iris, 17)

    first, *others = balance(crew.iris, since=date(2026, 1, 1)).findings
    point = point_with(answer, f"Second opinion, {first.place}: ")
    assert "trap 1-SE" in point.says
    assert len(others) == 1
    assert point.says.endswith(f"{first.says} And 1 more.")
    assert point.sort is Sort.MISSING
    assert point.do == "wasteledger balance --from 2026-01-01 --to 2026-03-02"
