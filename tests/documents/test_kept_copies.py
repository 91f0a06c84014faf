"""The whole text of one paper of each kind, against a kept copy.

After a change that is meant, write the copies anew with ``python -m tests.documents.test_kept_copies`` and commit them
by themselves, with the reason.
"""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.documents import makers
from tests.documents.every import PAPERS_BY_NAME
from wasteledger.documents import PAPERS
from wasteledger.settings import Paper

KEPT = Path(__file__).parent / "kept"


def text_of(name: str) -> str:
    """The text of one paper of that kind on US Letter, page by page; short ones, where rows would only repeat."""
    short = {"deposit-log": makers.a_log(13), "binder": makers.a_binder(3)}
    paper = short[name] if name in short else PAPERS_BY_NAME[name][0]
    pdf = PAPERS[name].draw(paper, Paper.LETTER).pdf
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]
    lines = [" ".join(line.split()) for page in pages for line in [*page.splitlines(), "----"]]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("name", sorted(PAPERS))
def test_the_text_is_that_of_the_kept_copy(name: str) -> None:
    assert text_of(name) == (KEPT / f"{name}.txt").read_text(encoding="utf-8")


if __name__ == "__main__":
    for each in sorted(PAPERS):
        (KEPT / f"{each}.txt").write_text(text_of(each), encoding="utf-8")
