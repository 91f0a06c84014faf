"""Breaking text into lines that fit a width, without losing a letter."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from wasteledger.documents.fonts import Typefaces

ELLIPSIS = "…"
# A line may end after these inside a word: numbers, addresses and compound words stay readable.
_BREAKS_AFTER = "-/–—_@·,;:"
# A line never ends between a number and its unit, nor after these signs.
_UNITS = frozenset(("g", "kg", "mg", "mL", "L", "lb", "oz", "%", "±"))
_HOLDS = "±≈≤≥"
# Han, kana and hangul are written without spaces; a line may end after any of them.
_IDEOGRAPHS = re.compile("[\u2e80-\u303f\u3040-\u30ff\u3400-\u9fff\uac00-\ud7a3\uf900-\ufaff\uff00-\uffef]")


@dataclass(frozen=True, slots=True)
class Style:
    """How text is set: size and leading in points, weight, and grey from 0 (black) to 1 (white)."""

    size: float
    leading: float
    bold: bool = False
    grey: float = 0.0

    def scaled(self, scale: float) -> Style:
        """The same style at *scale* times its size."""
        return replace(self, size=self.size * scale, leading=self.leading * scale)


@lru_cache(maxsize=65536)
def wrap(text: str, width: float, style: Style, faces: Typefaces) -> tuple[str, ...]:
    """Lines of *text*, prepared for drawing, none wider than *width* points.

    Breaks at spaces and line ends, then after hyphens and slashes, at last inside a word; only spaces at a break go.
    A single sign that is wider than the width stands alone on its line.
    """
    prepared = faces.prepare(text)
    if "\n" not in prepared and faces.width(prepared, style.size, bold=style.bold) <= width:
        return (prepared.strip(" "),)
    lines: list[str] = []
    for part in prepared.split("\n"):
        lines += _wrapped(part, width, style, faces)
    return tuple(lines)


def clamp(lines: tuple[str, ...], most: int, width: float, style: Style, faces: Typefaces) -> tuple[str, ...]:
    """At most *most* of *lines*; where some are cut off, the last one ends in an ellipsis within *width*."""
    if len(lines) <= most:
        return lines
    last = _clusters(lines[most - 1].rstrip())
    while last and faces.width("".join(last) + ELLIPSIS, style.size, bold=style.bold) > width:
        last.pop()
    return (*lines[: most - 1], "".join(last) + ELLIPSIS)


def size_that_fits(text: str, width: float, style: Style, least: float, faces: Typefaces) -> Style:
    """*style*, made smaller where *text* on one line would be wider than *width*, but not below *least* points."""
    wide = faces.width(faces.prepare(text), style.size, bold=style.bold)
    if wide <= width:
        return style
    # A hair below the exact ratio, so that rounding never leaves the text wider than its box.
    scale = max(least / style.size, width / wide * 0.999)
    return style.scaled(scale)


def _wrapped(part: str, width: float, style: Style, faces: Typefaces) -> list[str]:
    lines: list[str] = []
    line, line_width = "", 0.0
    for piece in _narrow_pieces(part, width, style, faces):
        bare = faces.width(piece.rstrip(" "), style.size, bold=style.bold)
        if line and line_width + bare > width:
            lines.append(line.rstrip(" "))
            line, line_width = "", 0.0
        if bare > width:
            *whole, piece = _broken(piece, width, style, faces)
            lines += whole
        line += piece
        line_width += faces.width(piece, style.size, bold=style.bold)
    lines.append(line.rstrip(" "))
    return lines


def _narrow_pieces(part: str, width: float, style: Style, faces: Typefaces) -> Iterator[str]:
    """The pieces of *part*; one that is too wide although spaces join it is given word by word."""
    for piece in _pieces(part):
        if " " in piece.strip(" ") and faces.width(piece.rstrip(" "), style.size, bold=style.bold) > width:
            yield from re.findall(r" *[^ ]+ *", piece)
        else:
            yield piece


@lru_cache(maxsize=4096)
def _pieces(part: str) -> tuple[str, ...]:
    """Stretches of *part* after which a line may end; together they are *part* again."""
    found: list[str] = []
    start = 0
    for place, sign in enumerate(part[:-1], start=1):
        following = part[place]
        if sign == " " and following != " ":
            ends = not _belongs(part, place)
        elif sign in _BREAKS_AFTER:
            # Not before a space, and not inside a number or a name such as 10:05, 1,000 or P-0012.
            ends = following != " " and not following.isdigit()
        else:
            ends = following != " " and bool(_IDEOGRAPHS.match(sign) or _IDEOGRAPHS.match(following))
        if ends:
            found.append(part[start:place])
            start = place
    found.append(part[start:])
    return tuple(found)


def _belongs(part: str, place: int) -> bool:
    """Whether the space before *place* joins a number to its unit, or a sign to its number."""
    before = part[place - 2] if place > 1 else ""
    if before and before in _HOLDS:
        return True
    word = part[place : place + 4].split(" ", 1)[0].rstrip(",;.)")
    return before.isdigit() and word in _UNITS


def _broken(word: str, width: float, style: Style, faces: Typefaces) -> list[str]:
    lines, line = list[str](), ""
    for cluster in _clusters(word):
        if line and faces.width((line + cluster).rstrip(" "), style.size, bold=style.bold) > width:
            lines.append(line)
            line = ""
        line += cluster
    return [*lines, line]


def _clusters(text: str) -> list[str]:
    """Letters with the marks that stand on them."""
    found: list[str] = []
    for sign in text:
        if found and unicodedata.combining(sign):
            found[-1] += sign
        else:
            found.append(sign)
    return found
