"""Setting blocks on pages."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wasteledger.documents.blocks import Block, space
from wasteledger.documents.pages import paginate
from wasteledger.documents.papers import BadPaper


@given(st.lists(st.tuples(st.floats(1, 40), st.booleans()), max_size=60), st.floats(200, 300), st.floats(200, 300))
def test_every_block_stands_once_in_order_and_fits(
    heights: list[tuple[float, bool]], first: float, later: float
) -> None:
    # Never more than three are kept together, so that they always fit on a page.
    blocks = [
        replace(space(height), keeps_next=kept and place % 3 != 2) for place, (height, kept) in enumerate(heights)
    ]

    pages = paginate(blocks, first, later)

    assert [block for page in pages for block in page] == blocks
    for number, page in enumerate(pages):
        assert sum(block.height for block in page) <= (later if number else first) + 0.01
        assert number == len(pages) - 1 or not page[-1].keeps_next


def test_the_head_of_a_table_is_repeated() -> None:
    head = space(10)
    rows = [replace(space(30), running=head) for _ in range(7)]

    pages = paginate([head.kept(), *rows], 100, 100)

    assert [len(page) for page in pages] == [4, 4, 2]
    assert all(page[0].height == 10 for page in pages)


def test_a_block_that_starts_a_page_starts_one() -> None:
    pages = paginate([space(10), replace(space(10), starts_page=True)], 100, 100)

    assert [len(page) for page in pages] == [1, 1]


def test_a_block_higher_than_a_page_is_refused() -> None:
    with pytest.raises(BadPaper, match="higher than a page"):
        paginate([space(10), Block(101, lambda pen, x, y: None)], 100, 100)
