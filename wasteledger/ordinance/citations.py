"""Section numbers found in citations, so that one rule is known again under a later, a dead or a copied number.

A number counts together with the code that it stands in: ``40 CFR 262.14(a)(5)`` gives the key ``40cfr262.14(a)(5)``.
What is written differently, but means the same number, gives the same key. The forms are those of the rules that the
shipped files cite; a citation in any other form stands for itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from wasteledger.ordinance.figures import SaidBy
from wasteledger.ordinance.merge import in_force
from wasteledger.ordinance.rules import Ordinance, Provision

_HEADING = r"(?:(?:§+|parts?|subparts?|sections?|sec\.)\s*)?"
_NUMBER = r"[0-9]+[a-z]{0,2}(?:[.:/-][0-9]*[a-z]{0,2}[0-9]+[a-z]?)*"
# Two or three signs at most, or a Roman number: a year or a remark in brackets is no paragraph.
_PARAGRAPH = r"\s?\((?:[ivxlc]{1,5}|[a-z]{1,2}|[0-9]{1,3}[a-z]?)\)"
_PLACE = rf"{_HEADING}(?P<number>{_NUMBER})(?P<paragraphs>(?:{_PARAGRAPH})*)"
_CODE = r"(?<![a-z0-9.-])(?:(?P<volume>[0-9]{1,3})\s+)?(?P<code>(?:[a-z]+\.\s?)+[a-z]*\.?|[a-z]+(?:-[a-z]+)?)"

_CITED = re.compile(rf"{_CODE}(?:\s+|(?<=\.)){_PLACE}", re.IGNORECASE)
_FURTHER = re.compile(rf"(?:\s*[,;&]\s*(?:and\s+|or\s+)?|\s+and\s+|\s+or\s+){_PLACE}", re.IGNORECASE)
_SIBLING = re.compile(
    rf"(?:\s*[,;&]\s*(?:and\s+|or\s+)?|\s+and\s+|\s+or\s+)(?P<paragraphs>(?:{_PARAGRAPH})+)", re.IGNORECASE
)
_RANGE = re.compile(
    rf"(?:\s+(?:to|through)\s+|\s*–\s*)(?P<end>\.?{_NUMBER}(?:{_PARAGRAPH})*|(?:{_PARAGRAPH})+)", re.IGNORECASE
)
_UNION_ACT = re.compile(r"\((?P<code>EU|EC|EEC)\)\s*(?:no\.?\s*)?(?P<number>[0-9]+/[0-9]+)", re.IGNORECASE)
_WITHIN = re.compile(
    rf"(?<![a-z])(?P<kind>art(?:icle|\.)?|reg(?:ulation|\.)?)\s*(?P<number>[0-9]{{1,3}}[a-z]?)(?![0-9/])"
    rf"(?P<paragraphs>(?:{_PARAGRAPH})*)",
    re.IGNORECASE,
)
_AMENDED = re.compile(r",?\s*\(?as (?:last )?amended", re.IGNORECASE)
_BARE = re.compile(_PLACE, re.IGNORECASE)

_ROMAN_DEPTH = 2

# Written in small letters, a code is only known by its name; capitals and points mark every other.
_KNOWN_CODES = frozenset(
    {"cfr", "cmr", "nycrr", "vsa", "mrs", "usc", "fr", "r", "njac", "ors", "cgs", "rigl", "ecl", "oac", "nr", "si"}
    | {"env-wq", "env-hw", "krwg", "oreg", "minnr"}
)
# Every town has a section 4: such a word names a place in a text, and not the text.
_NO_CODES = frozenset(
    {"art", "reg", "regs", "sec", "ch", "cl", "para", "no", "anh", "annex", "app", "vol", "p", "pp", "s", "ss", "am"}
    | {"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "sept", "oct", "nov", "dec"}
    | {"january", "february", "march", "april", "june", "july", "august", "september"}
    | {"october", "november", "december"}
)


@dataclass(frozen=True, slots=True)
class _Section:
    """A number and the code it stands in; no code where the citation names only an article or a regulation."""

    code: str
    number: str

    @property
    def key(self) -> str:
        return f"{self.code}{self.number}"


def citation_keys(text: str) -> frozenset[str]:
    """The normalised section numbers found in a citation; the text itself, casefolded, where none is found.

    A list gives a key for each of its members; a range gives one key, which neither of its ends has.

    >>> sorted(citation_keys("40 CFR 262.16(b), (c); 40 CFR § 262.14(a)(5)"))
    ['40cfr262.14(a)(5)', '40cfr262.16(b)', '40cfr262.16(c)']
    >>> citation_keys("Regulation (EU) 2017/852, Art. 10(4)")
    frozenset({'eu2017/852art10(4)'})
    >>> citation_keys("Letter of  the District")
    frozenset({'letter of the district'})
    """
    found = frozenset(section.key for section in _sections(text))
    return found or frozenset({" ".join(text.casefold().split())})


def keys_of(provision: Provision) -> frozenset[str]:
    """The keys of its citation and of the other numbers under which it is cited."""
    return frozenset().union(*(citation_keys(text) for text in (provision.citation, *provision.also_cited_as)))


def rule_keys_of(provision: Provision) -> frozenset[str]:
    """Of its keys those that name their code, and so mean one rule wherever they stand.

    Every district has a “Section 4”, and every regulation an “Art. 10”: such keys find a rule, and join none.
    """
    texts = (provision.citation, *provision.also_cited_as)
    return frozenset(section.key for text in texts for section in _sections(text) if section.code)


def same_rule(one: Provision, other: Provision) -> bool:
    """Whether both cite a number that they share (`rule_keys_of`), whichever of the two numbers is the later."""
    return not rule_keys_of(one).isdisjoint(rule_keys_of(other))


def find_cited(ordinances: Sequence[Ordinance], text: str) -> tuple[SaidBy[Provision], ...]:
    """The provisions in force that are cited by that number, dead numbers among them; empty when none is.

    A number without its code (``262.14(a)(5)``) is looked for in every code. Where nothing has exactly that number,
    what lies beneath it is found: ``40 CFR 441.50`` finds all that is cited from it.

    Raises:
        BadOrdinance: The ordinances do not fit together.
    """
    every = [SaidBy(ordinance, one) for ordinance in in_force(ordinances) for one in ordinance.provisions]
    wanted = citation_keys(text)
    if exactly := tuple(said for said in every if not keys_of(said.provision).isdisjoint(wanted)):
        return exactly
    bare = _BARE.fullmatch(text.strip())
    numbers = frozenset({_number(bare)}) if bare else wanted
    found = [(said, _bare_keys(said.provision) if bare else keys_of(said.provision)) for said in every]
    if exactly := tuple(said for said, keys in found if not keys.isdisjoint(numbers)):
        return exactly
    beneath = tuple(f"{number}{sign}" for number in numbers for sign in "(.")
    return tuple(said for said, keys in found if any(key.startswith(beneath) for key in keys))


def _bare_keys(provision: Provision) -> frozenset[str]:
    texts = (provision.citation, *provision.also_cited_as)
    return frozenset(section.number for text in texts for section in _sections(text))


@lru_cache(maxsize=4096)
def _sections(text: str) -> tuple[_Section, ...]:
    cited = _AMENDED.split(text)[0]
    within = [
        f"{_kind(found)}{number}"
        for found in _WITHIN.finditer(cited)
        for number, _ in _listed(cited, found.end(), _number(found))
    ]
    acts = [f"eu{found['number']}" for found in _UNION_ACT.finditer(cited)]
    acts += [section.key for section in _numbered(cited) if "/" in section.number]
    sections = [section for section in _numbered(cited) if "/" not in section.number]
    if acts:
        # A statute or regulation with a number of its own is cited by what stands inside it.
        sections += [_Section(acts[0], place) for place in within] or [_Section(act, "") for act in acts]
    elif not sections:
        sections = [_Section("", place) for place in within]
    return tuple(dict.fromkeys(sections))


def _numbered(text: str) -> Iterator[_Section]:
    at = 0
    while found := _CITED.search(text, at):
        code = _code_of(found)
        if code is None:
            at = found.start("number")
            continue
        for number, end in _listed(text, found.end(), _number(found)):
            yield _Section(code, number)
            at = end


def _listed(text: str, at: int, number: str) -> Iterator[tuple[str, int]]:
    """The number, and those that a list goes on with, each with the place where it ends; a range stays one."""
    while True:
        if following := _RANGE.match(text, at):
            number += f"..{_squeezed(following['end'])}"
        elif following := _SIBLING.match(text, at):
            yield number, at
            number = _sibling(number, _squeezed(following["paragraphs"]))
        elif (following := _FURTHER.match(text, at)) and _is_alike(number, following):
            yield number, at
            number = _number(following)
        else:
            break
        at = following.end()
    yield number, at


def _code_of(found: re.Match[str]) -> str | None:
    written, volume = found["code"], found["volume"] or ""
    code = re.sub(r"[.\s]", "", written).casefold()
    capitals = written.replace(".", "").replace(" ", "").isupper()
    is_marked = capitals or "." in written or re.fullmatch(r"[A-Z][a-z]+-?[A-Z][A-Za-z]*", written)
    if code in _NO_CODES or not (is_marked or code in _KNOWN_CODES):
        return None
    if len(code) == 1 and "." not in found["number"]:
        return None  # one letter before a whole number is an outline, not a code
    # Capitals before a bare count or a year are an authority's name, or a list's, more often than a code.
    is_section = found["paragraphs"] or re.search("[.:/-]", found["number"])
    return volume + code if volume or is_section or code in _KNOWN_CODES else None


def _is_alike(number: str, following: re.Match[str]) -> bool:
    """Whether a further number has the shape of the one before it, and is no year or count that merely follows."""
    before, after = re.split(r"[(]|\.\.", number)[0], str(following["number"])
    marks = re.compile(r"[.:/-]")
    if not marks.search(before):
        return len(before) >= 3 and len(before) == len(after) and not marks.search(after)
    return bool(marks.search(after))


def _sibling(number: str, paragraphs: str) -> str:
    """*number* with its paragraphs replaced from the level that a further *paragraphs* of a list begins at.

    After (a)(5)(i), a further (ii) gives (a)(5)(ii), (6) gives (a)(6), (b) gives (b), and (a)(6) gives (a)(6).
    """
    base, *levels = re.split(r"(?=\()", number)
    first, *more = re.split(r"(?=\()", paragraphs)[1:]
    depths = range(len(levels)) if more else reversed(range(len(levels)))
    for depth in depths:
        if _sort_of(levels[depth], depth) == _sort_of(first, depth):
            return base + "".join(levels[:depth]) + paragraphs
    return number + paragraphs


def _sort_of(paragraph: str, depth: int) -> str:
    inside = paragraph.strip("()")
    if inside[0].isdecimal():
        return "number"
    # Below a letter and a number stand Roman numbers: (i) follows (h) at the first level, and comes before (ii) there.
    return "roman" if depth >= _ROMAN_DEPTH and re.fullmatch("[ivx]+", inside) else "letter"


def _number(found: re.Match[str]) -> str:
    return _squeezed(found["number"] + found["paragraphs"])


def _kind(found: re.Match[str]) -> str:
    return "art" if found["kind"].casefold().startswith("art") else "reg"


def _squeezed(text: str) -> str:
    return "".join(text.split()).casefold()
