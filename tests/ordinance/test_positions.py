"""Lines of keys, also where the text looks like keys and is none."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from wasteledger import resources
from wasteledger.ordinance.positions import KeyPath, key_lines, line_of

AWKWARD = '''\
# [not.a.table]
top = "a = 1 # no comment" # [[no]]
text = """
[fake]
key = "inside \\""" still
""""
raw = \'\'\'
[[fake]]
\'\'\'
"quoted key" = 1
"with.dot" . sub = 2

[[rule]]
many = [ # comment with ] in it
  "a]", '[b',
  { x = 1, y = [2, 3] },
]
after = 1
[rule.due]
days = 90
[[rule]]
id = "second"
[[rule.also]]
id = "nested"
[[rule.also]]
id = "nested twice"
[ spaced . "table" ]
end = true'''


def paths_of(value: object, path: KeyPath = ()) -> Iterator[KeyPath]:
    """Every key that the standard reader finds, tables in arrays by their index."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield (*path, key)
            yield from paths_of(inner, (*path, key))
    if isinstance(value, list):
        for place, inner in enumerate(value):
            yield from paths_of(inner, (*path, place))


def test_awkward_text_keeps_its_lines() -> None:
    tomllib.loads(AWKWARD)  # it is TOML, or the test shows nothing

    lines = key_lines(AWKWARD)

    assert {
        path: line for path, line in lines.items() if path[-1] in ("id", "after", "days", "end", "many", "raw")
    } == {
        ("raw",): 7,
        ("rule", 0, "many"): 14,
        ("rule", 0, "after"): 18,
        ("rule", 0, "due", "days"): 20,
        ("rule", 1, "id"): 22,
        ("rule", 1, "also", 0, "id"): 24,
        ("rule", 1, "also", 1, "id"): 26,
        ("spaced", "table", "end"): 28,
    }
    assert ("rule", 0, "x") not in lines  # inside an array that runs over several lines
    assert lines["quoted key",] == 10
    assert lines["with.dot", "sub"] == 11
    assert not any("fake" in path or "no" in path for path in lines)


def test_key_without_a_line_takes_its_table() -> None:
    lines = key_lines(AWKWARD)

    assert line_of(lines, ("rule", 0, "many", 2, "x")) == 14
    assert line_of(lines, ("rule", 1, "missing")) == 21
    assert line_of(lines, ("missing",)) == 1


@pytest.mark.parametrize("file", resources.find_all("ordinances", "*.toml"), ids=lambda file: file.name)
def test_every_key_of_a_shipped_file_is_found_on_a_line_that_names_it(file: Path) -> None:
    text = file.read_text("utf-8")
    written, lines = text.splitlines(), key_lines(text)

    for path in paths_of(tomllib.loads(text)):
        assert str(path[-1]) in written[line_of(lines, path) - 1]
