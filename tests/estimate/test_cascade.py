"""What each stage holds back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wasteledger.estimate.cascade import ShareOutOfRange, caught_by_stage, escaping_mg, mercury_in_mg

shares = st.floats(0, 1)


@given(st.floats(0, 1e12), st.lists(shares, max_size=4))
def test_what_is_held_and_what_escapes_is_what_entered(entering_mg: float, stages: list[float]) -> None:
    total = sum(caught_by_stage(entering_mg, *stages)) + escaping_mg(entering_mg, *stages)

    assert total == pytest.approx(entering_mg, rel=1e-9, abs=1e-6)


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
