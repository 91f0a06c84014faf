"""What each stage holds back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wasteledger.estimate.cascade import ShareOutOfRange, caught_by_stage, escaping_mg, mercury_in_mg, share_removed

shares = st.floats(0, 1)


@given(st.floats(0, 1e12), st.lists(shares, max_size=4))
def test_what_is_held_and_what_escapes_is_what_entered(entering_mg: float, stages: list[float]) -> None:
    total = sum(caught_by_stage(entering_mg, *stages)) + escaping_mg(entering_mg, *stages)

    assert total == pytest.approx(entering_mg, rel=1e-9, abs=1e-6)


@given(st.floats(0.001, 1e12), st.lists(shares, max_size=4))
def test_the_share_removed_is_read_off_what_went_in_and_out(entering_mg: float, stages: list[float]) -> None:
    share = share_removed(entering_mg, escaping_mg(entering_mg, *stages))

    assert escaping_mg(entering_mg, share) == pytest.approx(escaping_mg(entering_mg, *stages), abs=1e-9 * entering_mg)


@pytest.mark.parametrize(("entering", "leaving"), [(0, 0), (-1, 0), (float("nan"), 1), (1, 2), (1, -1)])
def test_no_share_where_nothing_entered_or_more_left(entering: float, leaving: float) -> None:
    with pytest.raises(ShareOutOfRange):
        share_removed(entering, leaving)


def test_without_a_stage_all_escapes() -> None:
    assert escaping_mg(1000.0) == 1000.0
    assert caught_by_stage(1000.0) == ()


@pytest.mark.parametrize("share", [-0.01, 1.01, 68, float("nan")])
def test_a_percentage_is_no_share(share: float) -> None:
    for refused in (
        lambda: escaping_mg(1.0, share),
        lambda: caught_by_stage(1.0, 0.5, share),
        lambda: mercury_in_mg(1.0, share),
    ):
        with pytest.raises(ShareOutOfRange) as refusal:
            refused()
        assert "0.68" in refusal.value.hint
