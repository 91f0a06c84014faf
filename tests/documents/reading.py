"""Reading a PDF back with tools that did not write it: pypdf, and poppler's pdftotext and pdftoppm."""

from __future__ import annotations

import html
import io
import re
import subprocess
from dataclasses import dataclass
from pathlib import Path

from pypdf import PdfReader

_WORD = re.compile(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)</word>')
_PAGE = re.compile(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', re.DOTALL)


@dataclass(frozen=True)
class Word:
    text: str
    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True)
class Page:
    width: float
    height: float
    words: tuple[Word, ...]


def by_pypdf(pdf: bytes) -> str:
    """All text, with runs of white space as one space."""
    reader = PdfReader(io.BytesIO(pdf), strict=True)
    return _plain("\n".join(page.extract_text() for page in reader.pages))


def by_poppler(pdf: bytes, *options: str) -> str:
    return _plain(_poppler(pdf, *options))


def layout(pdf: bytes) -> str:
    """The text as it stands on the pages, line by line."""
    return _poppler(pdf, "-layout")


def pages(pdf: bytes) -> list[Page]:
    """Every word with its box, in points from the top left corner."""
    found = []
    for width, height, body in _PAGE.findall(_poppler(pdf, "-bbox")):
        words = tuple(
            Word(html.unescape(text), float(left), float(top), float(right), float(bottom))
            for left, top, right, bottom, text in _WORD.findall(body)
        )
        found.append(Page(float(width), float(height), words))
    return found


def picture(pdf: bytes, folder: Path, dots_per_inch: int = 150) -> Path:
    """The first page as a picture."""
    source = folder / "page.pdf"
    source.write_bytes(pdf)
    command = ["pdftoppm", "-r", str(dots_per_inch), "-png", "-singlefile", str(source), str(folder / "page")]
    subprocess.run(command, check=True, timeout=60)
    return folder / "page.png"


def _poppler(pdf: bytes, *options: str) -> str:
    command = ["pdftotext", *options, "-enc", "UTF-8", "-", "-"]
    run = subprocess.run(command, input=pdf, check=True, capture_output=True, timeout=60)
    # In the head of its word list, poppler writes the file's author in halves of surrogate pairs.
    return run.stdout.decode("utf-8", "surrogatepass")


def _plain(text: str) -> str:
    return " ".join(text.split())
