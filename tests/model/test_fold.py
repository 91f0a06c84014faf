"""The fold as a whole: whose fault a refusal is, and what it says of times."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.makers import MONDAY_MORNING, a_closing, a_look, a_swap, a_trap, an_opening
from tests.model.histories import facts_of
from wasteledger.model.facts import Subject
from wasteledger.model.standing import Contradicts, fold
from wasteledger.model.standing.refusals import ContainerSealed, NotThereYet

CONTAINER, TRAP = Subject("container", "C-1"), Subject("trap", "1-HV")


def test_nothing_folds_into_nothing() -> None:
    assert fold(CONTAINER, []) is None


def test_the_new_fact_is_refused_in_its_own_words() -> None:
    opened, closed, swapped = facts_of(an_opening(), a_closing(), a_swap())

    with pytest.raises(ContainerSealed):
        fold(CONTAINER, [opened, closed, swapped], new_place=swapped.place)


def test_a_later_fact_that_could_no_longer_be_is_named() -> None:
    opened, swapped, closed = facts_of(an_opening(), a_swap(), a_closing())

    with pytest.raises(Contradicts) as refused:
        fold(CONTAINER, [opened, closed, swapped], new_place=closed.place)

    assert refused.value.later_seq == 2
    assert isinstance(refused.value.reason, ContainerSealed)
    assert str(refused.value) == ("This would contradict entry 2: Container C-1 was closed on 2 March 2026 17:00 UTC.")
    assert "entry 2" in refused.value.hint


def test_too_early_is_told_from_never() -> None:
    looked, registered = facts_of(a_look(), a_trap())

    with pytest.raises(NotThereYet) as too_early:
        fold(TRAP, [looked, registered], new_place=looked.place)
    with pytest.raises(NotThereYet) as never:
        fold(TRAP, [looked], new_place=looked.place)

    since = MONDAY_MORNING + timedelta(hours=2)
    assert too_early.value.instants == {"since": since}
    assert "only since 2 March 2026 16:00 UTC" in str(too_early.value)
    assert "There is no trap “1-HV”" in str(never.value)
