r"""Recompute a chain from its export; shares no code with the program.

Usage: python chain_checker.py EXPORT

Each line is one JSON object. Take its "digest" away, write the rest as JSON with sorted names, no spacing and no
escapes beyond those that JSON asks for, and take SHA-256 over the UTF-8 bytes: that is the digest. "previous" is the
digest of the line before, 64 noughts on the first. Python's json module is enough for this: the exports hold no
fractions, and every name is ASCII, so that sorting by code points is what RFC 8785 asks (UTF-16 code units). For
other readers: the short escapes are \b \t \n \f \r \" \\, other controls below U+0020 are \u00xx.
"""

from __future__ import annotations

import hashlib
import json
import sys


def digests_of(text: str) -> list[str]:
    """The digest of each line, recomputed."""
    return [_digest(json.loads(line)) for line in text.split("\n") if line]


def first_wrong(text: str) -> int | None:
    """The first line that does not hold, counted from 1, or None."""
    previous = "0" * 64
    for number, line in enumerate(text.removesuffix("\n").split("\n"), start=1):
        try:
            entry = json.loads(line)
            holds = (entry["seq"], entry["previous"], entry["digest"]) == (number, previous, _digest(entry))
        except (ValueError, KeyError, TypeError):
            return number
        if not holds:
            return number
        previous = entry["digest"]
    return None


def _digest(entry: dict[str, object]) -> str:
    hashed = {name: value for name, value in entry.items() if name != "digest"}
    written = json.dumps(hashed, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(written.encode("utf-8")).hexdigest()


if __name__ == "__main__":
    with open(sys.argv[1], encoding="utf-8", newline="\n") as export:  # noqa: PTH123
        content = export.read()
    wrong = first_wrong(content)
    if wrong is not None:
        print(f"line {wrong} does not hold")
        sys.exit(1)
    print(f"{len(digests_of(content))} entries hold")
