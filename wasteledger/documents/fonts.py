"""The typefaces that documents are set in, and which of them draws each character.

Fira Sans (SIL Open Font License 1.1; the package `fontpkg-fira-sans`) covers Latin with all diacritics including
Vietnamese, Greek with the polytonic signs, and Cyrillic. With the extra `scripts` installed, Arabic and Hebrew are
drawn too: Noto Sans Arabic and Heebo, shaped by `arabic-reshaper` and put into visual order by `python-bidi`. An office
may lay further TrueType files (`*.ttf` with outlines of the `glyf` kind) into `documents/fonts/` of its own templates.

A character that none of them has is drawn as a box that holds its code point, and reported: never left out in silence.
"""

from __future__ import annotations

import importlib
import importlib.util
import struct
import threading
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

from wasteledger.errors import WasteLedgerError

_SCRIPT_FONTS = ("fontpkg_noto_sans_arabic", "fontpkg_heebo")
_registering = threading.Lock()
_registered: dict[Path, TTFont] = {}


class BadFont(WasteLedgerError):
    """A font file that cannot be embedded."""

    code = "bad-font"


@dataclass(frozen=True, slots=True)
class Run:
    """Characters that one face draws; *font* is None where no face has them."""

    font: str | None
    text: str


class Typefaces:
    """A regular and a bold chain of faces; the first that has a character draws it.

    Args:
        further: TrueType files asked after the shipped ones, in this order.

    Raises:
        BadFont: One of them is not a TrueType font that may be embedded.
    """

    def __init__(self, further: Sequence[Path] = ()) -> None:
        fira = _folder_of("fontpkg_fira_sans")
        regular = [_register(fira / "FiraSans-Regular.ttf")]
        bold = [_register(fira / "FiraSans-Bold.ttf")]
        self._turns_right_to_left = _has("bidi") and _has("arabic_reshaper")
        if self._turns_right_to_left:
            for package in _SCRIPT_FONTS:
                if _has(package):
                    regular += [_register(path) for path in sorted(_folder_of(package).glob("*.ttf"))]
        regular += [_register(path) for path in further]
        # The other scripts have one weight; bold text falls back on it rather than on a drawn-over imitation.
        self._chains = {False: regular, True: bold + regular[1:]}
        self._first = {weight: self._plain_characters(chain[0]) for weight, chain in self._chains.items()}
        self._advances = {weight: _Advances(self, weight) for weight in (False, True)}

    def prepare(self, text: str) -> str:
        """*text* composed (NFC), without invisible signs, Arabic letters joined; still in reading order."""
        if text.isascii():
            return text.replace("\t", " ").replace("\r\n", "\n").replace("\r", "\n")
        composed = unicodedata.normalize("NFC", text).replace("\t", " ").replace("\r\n", "\n").replace("\r", "\n")
        if self._first[False].issuperset(composed.replace("\n", "")):
            return composed
        if self._turns_right_to_left and _is_arabic(composed):
            composed = str(importlib.import_module("arabic_reshaper").reshape(composed))
        return "".join(sign for sign in composed if unicodedata.category(sign) != "Cf")

    def runs(self, line: str, *, bold: bool = False) -> tuple[Run, ...]:
        """The runs of one prepared *line* from left to right, as they are drawn."""
        if self._first[bold].issuperset(line):
            return (Run(self._chains[bold][0].fontName, line),)
        if self._turns_right_to_left and any(_is_right_to_left(sign) for sign in line):
            line = str(importlib.import_module("bidi").get_display(line))
        found: list[Run] = []
        for sign in line:
            font = self.font_of(sign, bold=bold)
            name = font.fontName if font else None
            if found and found[-1].font == name:
                found[-1] = Run(name, found[-1].text + sign)
            else:
                found.append(Run(name, sign))
        return tuple(found)

    def width(self, line: str, size: float, *, bold: bool = False) -> float:
        """Width of a prepared *line* in points at *size*."""
        advances = self._advances[bold]
        return size * sum([advances[sign] for sign in line])

    def uncovered(self, text: str) -> str:
        """The characters of *text* that no face has, each once, in order of appearance."""
        prepared = self.prepare(text).replace("\n", "")
        return "".join(dict.fromkeys(sign for sign in prepared if self.font_of(sign) is None))

    def font_of(self, sign: str, *, bold: bool = False) -> TTFont | None:
        """The first face that has *sign*; None where none has it, or where it could not be put in order."""
        if unicodedata.category(sign) in ("Cc", "Cs") or (not self._turns_right_to_left and _is_right_to_left(sign)):
            return None
        for font in self._chains[bold]:
            if ord(sign) in font.face.charToGlyph:
                return font
        return None

    @staticmethod
    def _plain_characters(font: TTFont) -> frozenset[str]:
        """What a line may consist of and be drawn by the first face without a further look."""
        known = (chr(code) for code in font.face.charToGlyph)
        return frozenset(
            sign for sign in known if not _is_right_to_left(sign) and unicodedata.category(sign) not in ("Cf", "Cc")
        )


class _Advances(dict[str, float]):
    """Advance of each character in ems, worked out when first asked for."""

    def __init__(self, faces: Typefaces, bold: bool) -> None:
        super().__init__()
        self._faces, self._bold = faces, bold

    def __missing__(self, sign: str) -> float:
        font = self._faces.font_of(sign, bold=self._bold)
        if font is None:
            self[sign] = code_box_ems(sign)
        else:
            face: Any = font.face
            self[sign] = face.getCharWidth(ord(sign)) / 1000
        return self[sign]


def code_box_ems(sign: str) -> float:
    """Width in ems of the box that stands for a character which no face has."""
    return 1.0 if ord(sign) <= 0xFFFF else 1.3


def code_digits(sign: str) -> tuple[str, str]:
    """The two rows of hexadecimal digits in that box.

    >>> code_digits("中")
    ('4E', '2D')
    """
    digits = f"{ord(sign):04X}" if ord(sign) <= 0xFFFF else f"{ord(sign):06X}"
    half = len(digits) // 2
    return digits[:half], digits[half:]


def uncovered_finding(signs: Iterable[str]) -> str:
    """The sentence that a caller is told about characters which no face has."""
    named = ", ".join(f"{sign} (U+{ord(sign):04X})" if sign.isprintable() else f"U+{ord(sign):04X}" for sign in signs)
    return (
        f"uncovered characters: {named}. No typeface here has them; each is printed as a box with its number. "
        "A TrueType file that has them can be laid into documents/fonts of the office's template folder."
    )


@lru_cache(maxsize=8)
def typefaces(further: tuple[Path, ...] = ()) -> Typefaces:
    """The faces for documents, loaded once for each set of *further* files."""
    return Typefaces(further)


def _register(path: Path) -> TTFont:
    with _registering:
        if path not in _registered:
            # Two folders may each hold a file of one name, so the number tells them apart.
            name = f"wl-{len(_registered)}-{path.stem}"
            try:
                font = TTFont(name, str(path))
            except (TTFError, OSError, struct.error) as error:
                raise BadFont(
                    f"The font file {path} cannot be used: {error}",
                    hint="Use a TrueType file (.ttf) with glyf outlines whose licence allows embedding.",
                ) from error
            _use_table_figures(font)
            pdfmetrics.registerFont(font)
            _registered[path] = font
        return _registered[path]


def _use_table_figures(font: TTFont) -> None:
    """Draw digits with the glyphs of equal width, where the font has them, so that columns of figures stand straight.

    Fira Sans keeps them as glyphs named ``zero.tf`` … ``nine.tf`` behind the OpenType feature `tnum`, which a PDF
    writer cannot switch on; the glyph names stand in the `post` table (OpenType specification, post format 2.0).
    """
    names = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    glyphs = _glyph_names(font)
    wanted = [glyphs.get(f"{name}.tf") for name in names]
    if any(glyph is None for glyph in wanted):
        return
    face: Any = font.face
    metrics, count = face.get_table("hmtx"), struct.unpack(">H", face.get_table("hhea")[34:36])[0]
    units = struct.unpack(">H", face.get_table("head")[18:20])[0]
    for code, glyph in enumerate(wanted, start=ord("0")):
        assert glyph is not None
        face.charToGlyph[code] = glyph
        advance = struct.unpack_from(">H", metrics, 4 * min(glyph, count - 1))[0]
        face.charWidths[code] = advance * 1000 / units


def _glyph_names(font: TTFont) -> dict[str, int]:
    face: Any = font.face
    if "post" not in face.table:
        return {}
    post: bytes = face.get_table("post")
    if struct.unpack(">L", post[:4])[0] != 0x00020000:
        return {}
    count = struct.unpack(">H", post[32:34])[0]
    indices = struct.unpack_from(f">{count}H", post, 34)
    own, place = [], 34 + 2 * count
    while place < len(post):
        length = post[place]
        own.append(post[place + 1 : place + 1 + length].decode("latin-1"))
        place += 1 + length
    # Indices below 258 are the standard names, which hold no table figures.
    return {own[index - 258]: glyph for glyph, index in enumerate(indices) if 258 <= index < 258 + len(own)}


def _has(module: str) -> bool:
    return importlib.util.find_spec(module) is not None


def _folder_of(package: str) -> Path:
    spec = importlib.util.find_spec(package)
    if spec is None or spec.origin is None:
        raise BadFont(
            f"The typeface package {package.replace('_', '-')} is not installed.",
            hint="Install the program again with all that it needs: pip install wasteledger",
        )
    return Path(spec.origin).parent / "files"


def _is_right_to_left(sign: str) -> bool:
    return unicodedata.bidirectional(sign) in ("R", "AL", "RLE", "RLO", "RLI")


def _is_arabic(text: str) -> bool:
    return any(unicodedata.bidirectional(sign) == "AL" for sign in text)
