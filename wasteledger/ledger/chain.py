"""The hashed bytes: canonical JSON (RFC 8785) of an entry, and SHA-256 over it.

DEVELOPERS.md states the bytes field by field, so that anybody can recompute a chain without this code.
"""

from __future__ import annotations

import hashlib
import json
import unicodedata
from collections.abc import Mapping
from typing import Any

import rfc8785

from wasteledger.errors import NotUnderstood
from wasteledger.model.values import Body, utc_text
from wasteledger.units import LARGEST

GENESIS = "0" * 64
"""The *previous* of a chain's first entry."""


class NotHashable(NotUnderstood):
    """A value that must not enter a hashed body."""

    code = "not-hashable"


def canonical(value: object) -> bytes:
    """RFC 8785 bytes of a value made of strings, whole numbers, truth values, None, lists and mappings.

    Raises:
        NotHashable: A float, a whole number of 2^53 or more, text that is not in NFC or has no UTF-8 form, or a name
            that is not ASCII.
    """
    _check(value, "entry")
    return rfc8785.dumps(value)  # type: ignore[arg-type]


def _check(value: object, place: str) -> None:
    match value:
        case None | bool():
            return
        case int():
            if abs(value) > LARGEST:
                raise NotHashable(f"{place}: {value} is too large to be kept exactly.", hint="Stay below 2^53.")
        case str():
            try:
                # Half of a surrogate pair has no UTF-8 form, which NFC does not mind.
                value.encode()
            except UnicodeEncodeError as error:
                raise NotHashable(
                    f"{place}: the text holds half of a surrogate pair.", hint="Type it again."
                ) from error
            if not unicodedata.is_normalized("NFC", value):
                raise NotHashable(f"{place}: the text is not in Unicode NFC.", hint="Normalise it first.")
        case list() | tuple():
            for index, one in enumerate(value):
                _check(one, f"{place}[{index}]")
        case Mapping():
            for name, one in value.items():
                if not (isinstance(name, str) and name.isascii()):
                    raise NotHashable(f"{place}: the name {name!r} is not ASCII.", hint="Rename it.")
                _check(one, f"{place}.{name}")
        case _:
            raise NotHashable(f"{place}: {type(value).__name__} has no exact form.", hint="Use a whole number or text.")


def body_text(body: Body) -> str:
    """The canonical JSON text of a body; absent values are left out."""
    return canonical(body.model_dump(mode="json", exclude_none=True)).decode()


def entry_bytes(entry: Mapping[str, Any]) -> bytes:
    """The bytes that an entry's digest is taken over.

    Args:
        entry: The columns of its row; *digest* is not needed, *body* is the body's JSON text, times are instants.
    """
    return canonical(
        {
            "site": entry["site"],
            "seq": entry["seq"],
            "kind": entry["kind"],
            "version": entry["version"],
            "happened_at": utc_text(entry["happened_at"]),
            "recorded_at": utc_text(entry["recorded_at"]),
            "recorded_by": entry["recorded_by"],
            "door": entry["door"],
            "body": json.loads(entry["body"]),
            "trap": entry["trap"],
            "container": entry["container"],
            "pickup": entry["pickup"],
            "key": entry["key"],
            "previous": entry["previous"],
        }
    )


def digest_of(hashed: bytes) -> str:
    """SHA-256 as 64 hexadecimal digits."""
    return hashlib.sha256(hashed).hexdigest()
