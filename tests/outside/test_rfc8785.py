"""RFC 8785, JSON Canonicalization Scheme (A. Rundgren, B. Jordan, S. Erdtman, June 2020): its own vectors.

The vectors were compared on 25 November 2026 with several public copies of the RFC, which agree. Our own
canonical form is stricter than the scheme: it refuses floats, names beyond ASCII and text that is not in NFC. So the
examples with such are put to the library that we build on, and the rest to our own function as well.
"""

from __future__ import annotations

import json
import math
import struct
from typing import Any

import pytest
import rfc8785

from wasteledger.ledger.chain import NotHashable, canonical

# Section 3.2.2, the sample input of the serialisation of primitive types.
SAMPLE = r"""{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}"""

# Section 3.2.4, the same after canonicalisation, as UTF-8 bytes.
SAMPLE_BYTES = bytes.fromhex(
    """
    7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72
    75 65 2c 66 61 6c 73 65 5d 2c 22 6e 75 6d 62 65 72 73 22 3a
    5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31
    65 2b 33 30 2c 34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d 32 37
    5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30
    30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d
    """
)

# Section 3.2.3, the sorting example: names in the order of their UTF-16 code units.
UNSORTED = r"""{
  "\u20ac": "Euro Sign",
  "\r": "Carriage Return",
  "\ufb33": "Hebrew Letter Dalet With Dagesh",
  "1": "One",
  "\ud83d\ude00": "Emoji: Grinning Face",
  "\u0080": "Control",
  "\u00f6": "Latin Small Letter O With Diaeresis"
}"""
SORTED = [
    "Carriage Return",
    "One",
    "Control",
    "Latin Small Letter O With Diaeresis",
    "Euro Sign",
    "Emoji: Grinning Face",
    "Hebrew Letter Dalet With Dagesh",
]

# Appendix B, number serialisation samples: the double's bits, and its text.
NUMBERS = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]
# The same appendix: these must cause an error.
NOT_NUMBERS = ["7fffffffffffffff", "7ff0000000000000", "fff0000000000000"]


def double(bits: str) -> float:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    return float(number)


def test_rfc8785_3_2_4_the_sample_becomes_these_bytes() -> None:
    assert rfc8785.dumps(json.loads(SAMPLE)) == SAMPLE_BYTES


def test_rfc8785_3_2_2_our_own_form_of_the_sample_without_its_floats() -> None:
    sample: dict[str, Any] = json.loads(SAMPLE)
    del sample["numbers"]

    expected = json.loads(SAMPLE_BYTES)
    del expected["numbers"]
    assert canonical(sample) == SAMPLE_BYTES.replace(b'"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],', b"")
    assert json.loads(canonical(sample)) == expected


def test_rfc8785_3_2_2_our_own_form_refuses_the_floats() -> None:
    with pytest.raises(NotHashable, match="float"):
        canonical(json.loads(SAMPLE))


@pytest.mark.parametrize(
    ("text", "written"),
    [
        # 3.2.2.2: the short escapes of seven signs, lower-case hexadecimals for the other controls, all else as it is.
        ("\b\t\n\f\r", rb'"\b\t\n\f\r"'),
        ("\x00\x0b\x1f", rb'"\u0000\u000b\u001f"'),
        ('"\\', rb'"\"\\"'),
        ("/\x7f<>&'", b'"/\x7f<>&\'"'),
        ("\u20ac\U0001f600\u2028", '"\u20ac\U0001f600\u2028"'.encode()),
    ],
)
def test_rfc8785_3_2_2_2_strings(text: str, written: bytes) -> None:
    assert rfc8785.dumps(text) == written
    assert canonical(text) == written


def test_rfc8785_3_2_2_2_halves_of_surrogate_pairs_cause_an_error() -> None:
    for broken in ("\ud800", "a\udead", "\ude00\ud83d"):
        with pytest.raises(rfc8785.CanonicalizationError):
            rfc8785.dumps(broken)
        with pytest.raises(NotHashable):
            canonical(broken)


def test_rfc8785_3_2_2_1_literals() -> None:
    assert canonical([None, True, False]) == b"[null,true,false]"


def test_rfc8785_3_2_3_names_are_sorted_by_utf_16_code_units() -> None:
    written = rfc8785.dumps(json.loads(UNSORTED))

    assert list(json.loads(written).values()) == SORTED


def test_rfc8785_3_2_3_our_own_names_are_sorted_in_the_same_order() -> None:
    """Ours are ASCII, where code units, code points and bytes all sort alike; the others are refused."""
    ascii_names = {name: says for name, says in json.loads(UNSORTED).items() if name.isascii()}

    assert canonical(ascii_names) == rb'{"\r":"Carriage Return","1":"One"}'
    with pytest.raises(NotHashable, match="not ASCII"):
        canonical(json.loads(UNSORTED))


def test_rfc8785_3_2_3_inner_objects_are_sorted_and_lists_are_not() -> None:
    assert canonical([56, {"d": True, "10": None, "1": []}]) == b'[56,{"1":[],"10":null,"d":true}]'


@pytest.mark.parametrize(("bits", "text"), NUMBERS)
def test_rfc8785_appendix_b_numbers(bits: str, text: str) -> None:
    assert rfc8785.dumps(double(bits)) == text.encode()


@pytest.mark.parametrize("bits", NOT_NUMBERS)
def test_rfc8785_appendix_b_what_is_no_number(bits: str) -> None:
    assert not math.isfinite(double(bits))
    with pytest.raises(rfc8785.FloatDomainError):
        rfc8785.dumps(double(bits))


@pytest.mark.parametrize("bits", [bits for bits, _ in NUMBERS] + NOT_NUMBERS)
def test_rfc8785_appendix_b_our_own_form_refuses_every_double(bits: str) -> None:
    with pytest.raises(NotHashable):
        canonical(double(bits))


@pytest.mark.parametrize("number", [0, 1, -1, 2**53 - 1, 1 - 2**53])
def test_rfc8785_3_2_2_3_whole_numbers_are_written_as_the_double_of_the_same_value(number: int) -> None:
    assert canonical(number) == rfc8785.dumps(float(number)) == str(number).encode()


def test_rfc8785_appendix_d_numbers_that_a_double_cannot_hold_are_refused() -> None:
    """Two whole numbers must never come out as the same bytes, as 2^53 and 2^53 + 1 would through a double."""
    for number in (2**53, 2**53 + 1, -(2**53)):
        with pytest.raises(NotHashable, match="too large"):
            canonical(number)
