"""On which line of a TOML text each key stands.

The standard reader keeps no positions. This scan is only asked about text that it has already accepted, so it
needs to know where keys, strings, brackets and comments begin and end, and nothing more.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

KeyPath = tuple[str | int, ...]

_PART = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*')"""
_DOTTED = rf"{_PART}(?:[ \t]*\.[ \t]*{_PART})*"
_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)+")
_HEADER = re.compile(rf"(\[\[?)[ \t]*({_DOTTED})[ \t]*\]\]?")
_KEY = re.compile(rf"({_DOTTED})[ \t]*=")
_ONE_PART = re.compile(_PART)
_VALUE = re.compile(
    r'"""(?:\\.|[^\\])*?"""(?:"{0,2})'
    r"|'''.*?'''(?:'{0,2})"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|#[^\n]*"
    r"|(?P<open>[\[{])|(?P<close>[\]}])|(?P<end>\n)"
    r"""|[^"'#\[\]{}\n]+""",
    re.DOTALL,
)


def key_lines(text: str) -> Mapping[KeyPath, int]:
    r"""Line, counted from 1, of every table header and key in *text*, by path; tables of an array carry their index.

    >>> key_lines("a = 1\n[[rule]]\nid = 'x'\n[[rule]]\nid = 'y'\n")[("rule", 1, "id")]
    5
    """
    found: dict[KeyPath, int] = {}
    counts: dict[KeyPath, int] = {}
    table: KeyPath = ()
    at, counted_to, line = 0, 0, 1
    while at < len(text):
        if blank := _BLANK.match(text, at):
            at = blank.end()
            continue
        line, counted_to = line + text.count("\n", counted_to, at), at
        if header := _HEADER.match(text, at):
            table = _table_path(_parts(header.group(2)), counts, is_array=header.group(1) == "[[")
            for length in range(1, len(table) + 1):
                found.setdefault(table[:length], line)
            at = header.end()
        elif key := _KEY.match(text, at):
            for length in range(1, len(parts := _parts(key.group(1))) + 1):
                found.setdefault((*table, *parts[:length]), line)
            at = _after_value(text, key.end())
        else:  # accepted text never comes here; a scan must end all the same
            at += 1
    return found


def line_of(lines: Mapping[KeyPath, int], path: KeyPath) -> int:
    """Line of *path*, or of the nearest table around it; else 1."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return 1


def _parts(dotted: str) -> tuple[str, ...]:
    return tuple(part.strip("\"'") for part in _ONE_PART.findall(dotted))


def _table_path(parts: tuple[str, ...], counts: dict[KeyPath, int], *, is_array: bool) -> KeyPath:
    path: KeyPath = ()
    for place, part in enumerate(parts):
        path = (*path, part)
        if is_array and place == len(parts) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


def _after_value(text: str, at: int) -> int:
    depth = 0
    while found := _VALUE.match(text, at):
        at = found.end()
        if found["open"]:
            depth += 1
        elif found["close"]:
            depth -= 1
        elif found["end"] and depth == 0:
            break
    return at
