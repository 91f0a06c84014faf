"""Texts that are hard to print, each with the reason why."""

from __future__ import annotations

from hypothesis import strategies as st

LONG_NAME = "Kirkpatrick-Featherstonehaugh, Nakamura, Oyelaran-Adebayo & Partners Dentistry of Upper Example Town"
NO_BREAK = "Donaudampfschifffahrtsgesellschaftskapitänsmützenabzeichenverleihung" * 3
VIETNAMESE = "Nguyễn Thị Ngọc Ánh, 27 Đường Lê Lợi, Quận Nhất"
VIETNAMESE_DECOMPOSED = "Nguyê\u0303n Thi\u0323"
GREEK = "Παπαδόπουλος & ᾿Αθῆναι"
CYRILLIC = "Щербаков Ёлкин, вул. Їжакевича"
ARABIC = "محمد السلام"
HEBREW = "שלום עולם"
HAN = "中文診所"
EMOJI = "Smile 😀 Dental"
LINES = "first line\nsecond line\n\nfourth line"
WIDE = "W" * 200

NAMED = (
    LONG_NAME,
    NO_BREAK,
    VIETNAMESE,
    VIETNAMESE_DECOMPOSED,
    GREEK,
    CYRILLIC,
    ARABIC,
    HEBREW,
    HAN,
    EMOJI,
    LINES,
    WIDE,
    "",
    " ",
    "a" * 2000,
    "%s {0} {name} \\ ( ) < > & ' \"",
)


def awkward_text(most: int = 200) -> st.SearchStrategy[str]:
    """Any text at all, the named ones, and long words made of few letters."""
    return st.one_of(
        st.sampled_from(NAMED).map(lambda text: text[:most]),
        st.text(max_size=most),
        st.text("Wi ", min_size=1, max_size=most),
    )
