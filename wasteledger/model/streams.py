"""Waste streams, and which of them may lie in one container.

The streams and the matrix are read from a file (`templates/practice/streams.toml`) or an office's plan; here is only
what can be said about any of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum


class Sharing(StrEnum):
    """Whether two streams may lie in one container."""

    YES = "yes"
    OWN_LID = "own_lid"  # together, but each piece closed under its own lid
    ASK = "ask"  # only by the carrier's or the authority's written word
    NO = "no"


@dataclass(frozen=True, slots=True)
class SharingMatrix:
    """Which streams may share a container; a pair that the file does not name may not.

    Attributes:
        words: Name of each stream as people read it, by stream.
        pairs: Sharing by unordered pair of streams.
    """

    words: Mapping[str, str]
    pairs: Mapping[frozenset[str], Sharing]

    def between(self, one: str, other: str) -> Sharing:
        """What the matrix says of two streams; a stream may always lie with its own kind."""
        if one == other:
            return self.pairs.get(frozenset((one,)), Sharing.YES)
        return self.pairs.get(frozenset((one, other)), Sharing.NO)

    def conflicts(self, streams: Iterable[str], *, written_rule: str = "") -> tuple[tuple[str, str, Sharing], ...]:
        """Pairs among *streams* that may not lie together; a *written_rule* answers every ``ask``."""
        named = sorted(set(streams))
        found: list[tuple[str, str, Sharing]] = []
        for index, one in enumerate(named):
            for other in named[index + 1 :]:
                sharing = self.between(one, other)
                if sharing is Sharing.NO or (sharing is Sharing.ASK and not written_rule):
                    found.append((one, other, sharing))
        return tuple(found)
