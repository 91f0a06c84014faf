"""A chain goes out and comes in unchanged; an export that does not hold is refused with every fault named."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.makers import KIM, Clinic, a_look
from wasteledger.errors import StoreNotReachable
from wasteledger.exchange.bring_in import import_file
from wasteledger.exchange.journal import BadExport, export_lines, import_chain, read_export
from wasteledger.ledger.append import SecondFirstEntry
from wasteledger.ledger.chain import canonical, digest_of
from wasteledger.ledger.ledger import Ledger
from wasteledger.ledger.verify import verify

LAST = 33


def changed(line: bytes, change: Callable[[dict[str, Any]], object], *, rehash: bool = True) -> bytes:
    """A line that says something else, its digest made to fit unless told otherwise."""
    said = json.loads(line)
    change(said)
    if rehash:
        bare = {name: value for name, value in said.items() if name != "digest"}
        said["digest"] = digest_of(json.dumps(bare, sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode())
    return json.dumps(said, ensure_ascii=False).encode() + b"\n"


def rechained(lines: list[bytes], change: Callable[[dict[str, Any]], object]) -> list[bytes]:
    """An export in which something else is said, every digest made to fit."""
    previous, forged = "0" * 64, []
    for line in lines:

        def link(said: dict[str, Any], previous: str = previous) -> None:
            said["previous"] = previous
            change(said)

        forged.append(changed(line, link))
        previous = json.loads(forged[-1])["digest"]
    return forged


def findings(lines: list[bytes]) -> dict[str, str]:
    """What is found in an export, by place."""
    with pytest.raises(BadExport) as refused:
        read_export(lines, "chain.jsonl")
    return {one.place: one.says for one in refused.value.findings}


# -- out and in --------------------------------------------------------------------------------------------------------


def test_a_line_is_the_hashed_object_with_its_digest(lived_in: Clinic, exported: list[bytes]) -> None:
    entries = lived_in.entries()
    assert len(exported) == len(entries) == LAST

    for line, entry in zip(exported, entries, strict=True):
        said = json.loads(line)
        assert line == canonical(said) + b"\n"
        digest = said.pop("digest")
        assert digest == entry.digest == digest_of(canonical(said))

    assert "歯科 🦷".encode() in b"".join(exported)


def test_an_imported_chain_has_the_same_digests_and_the_same_standing(
    lived_in: Clinic, exported: list[bytes], empty_ledger: Ledger
) -> None:
    assert import_chain(empty_ledger, exported) == ("elm", LAST)

    there = Clinic(empty_ledger, lived_in.watch)
    assert there.entries() == lived_in.entries()
    assert there.verify().holds
    for what, ref in (("container", "C-1"), ("trap", "1-HV"), ("trap", "2-HV"), ("pickup", "P-1"), ("person", "kim")):
        assert there.standing(what, ref) == lived_in.standing(what, ref)
    assert list(export_lines(there.entries())) == exported


def test_an_imported_chain_goes_on(lived_in: Clinic, exported: list[bytes], empty_ledger: Ledger) -> None:
    import_chain(empty_ledger, exported)
    there = Clinic(empty_ledger, lived_in.watch)

    assert there.record(a_look()).seq == LAST + 1
    assert there.append(lived_in.entries()[-1].body, key=lived_in.entries()[-1].key).repeated
    assert there.verify().holds


def test_spacing_and_order_of_members_do_not_matter(exported: list[bytes]) -> None:
    loosely = [
        json.dumps(dict(reversed(json.loads(line).items())), indent=None).encode() + b"\r\n" for line in exported
    ]

    assert [one.seq for one in read_export(loosely).entries] == list(range(1, LAST + 1))


def test_a_site_that_is_there_is_not_imported_again(lived_in: Clinic, exported: list[bytes]) -> None:
    before = lived_in.entries()

    with pytest.raises(SecondFirstEntry, match="elm"):
        import_chain(lived_in.ledger, exported)

    assert lived_in.entries() == before


def test_a_second_site_is_imported_beside_the_first(lived_in: Clinic, exported: list[bytes]) -> None:
    def oak(said: dict[str, Any]) -> None:
        said["site"] = "oak"
        if said["seq"] == 1:
            said["body"]["ref"] = "oak"

    assert import_chain(lived_in.ledger, rechained(exported, oak)) == ("oak", LAST)

    assert lived_in.ledger.sites() == ["elm", "oak"]
    assert verify(lived_in.ledger.engine, "oak").holds
    assert lived_in.verify().holds


def test_a_check_may_refuse_before_anything_is_written(exported: list[bytes], empty_ledger: Ledger) -> None:
    def refuse(_: object) -> None:
        raise StoreNotReachable("not today")

    with pytest.raises(StoreNotReachable, match="not today"):
        import_chain(empty_ledger, exported, check=refuse)

    assert empty_ledger.sites() == []


# -- what does not hold ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda said: said["body"].update(place="elsewhere"), "digest"),
        (lambda said: said.update(recorded_by="mo"), "digest"),
        (lambda said: said.update(digest="f" * 64), "digest"),
        (lambda said: said.update(previous="f" * 64), "digest"),
        (lambda said: said.pop("door"), "door"),
        (lambda said: said.update(patient="nobody"), "patient"),
    ],
)
def test_a_change_that_leaves_the_digest_is_found(
    exported: list[bytes], change: Callable[[dict[str, Any]], object], says: str
) -> None:
    exported[21] = changed(exported[21], change, rehash=False)

    found = findings(exported)

    assert next(iter(found)) == "chain.jsonl line 22"
    assert says in found["chain.jsonl line 22"]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda said: said.update(version=2), "not known here"),
        (lambda said: said.update(kind="polish"), "not known here"),
        (lambda said: said["body"].update(patient="nobody"), "patient"),
        (lambda said: said["body"].pop("stream"), "stream"),
        (lambda said: said["body"].pop("insert"), "not as an entry of its kind is written"),
        (lambda said: said["body"].update(interval_days=7.0), "float"),
        (lambda said: said["body"].update(note="e\u0301"), "NFC"),
        (lambda said: said.update(body=json.dumps(said["body"])), "body"),
        (lambda said: said.update(trap="1-SE"), "names"),
        (lambda said: said.update(container=None), "names"),
        (lambda said: said.update(happened_at="2026-03-02"), "happened_at"),
        (lambda said: said.update(recorded_at=5), "recorded_at"),
        (lambda said: said.update(seq=True), "seq"),
        (lambda said: said.update(seq="23"), "seq"),
        (lambda said: said.update(seq=24), "23 is due"),
        (lambda said: said.update(version=True), "version"),
        (lambda said: said.update(door=7), "door"),
        (lambda said: said.update(key=None), "key"),
        (lambda said: said.update(recorded_by=["kim"]), "recorded_by"),
        (lambda said: said.update(site="oak"), "oak"),
        (lambda said: said.update(previous="f" * 64), "previous"),
    ],
)
def test_a_forged_line_is_found_though_its_digest_fits(
    exported: list[bytes], change: Callable[[dict[str, Any]], object], says: str
) -> None:
    exported[22] = changed(exported[22], change)

    assert says in findings(exported)["chain.jsonl line 23"]


@pytest.mark.parametrize(
    "line",
    [
        b"\n",
        b"{\n",
        b"null\n",
        b"[]\n",
        b"\xff\xfe\n",
        b'{"a": NaN}\n',
        b"[" * 100_000 + b"\n",
        b'{"seq": 1' + b"0" * 5000 + b"}\n",
    ],
    ids=["empty", "cut off", "null", "list", "no UTF-8", "NaN", "deep", "huge number"],
)
def test_a_line_that_is_no_entry_is_found(exported: list[bytes], line: bytes) -> None:
    exported[22] = line

    assert list(findings(exported)) == ["chain.jsonl line 23"]


def test_a_name_given_twice_is_found(exported: list[bytes]) -> None:
    """Readers differ in which of the two they take."""
    exported[22] = exported[22].replace(b'{"body":', b'{"door":"web","body":', 1)

    assert "twice" in findings(exported)["chain.jsonl line 23"]


@pytest.mark.parametrize(
    ("cut", "place", "says"),
    [
        (slice(5, 6), "chain.jsonl line 6", "Entry 6 is due"),
        (slice(0, 1), "chain.jsonl line 1", "Entry 1 is due"),
    ],
)
def test_a_missing_line_is_found(exported: list[bytes], cut: slice, place: str, says: str) -> None:
    del exported[cut]

    found = findings(exported)

    assert list(found) == [place]
    assert says in found[place]


def test_two_lines_in_the_wrong_order_are_found(exported: list[bytes]) -> None:
    exported[22], exported[23] = exported[23], exported[22]

    assert list(findings(exported)) == [f"chain.jsonl line {number}" for number in (23, 24, 25)]


def test_a_cut_off_end_cannot_be_seen_from_the_lines_alone(exported: list[bytes]) -> None:
    """That is what the digest on a printed paper is for."""
    assert len(read_export(exported[:-3]).entries) == LAST - 3


def test_an_empty_export_is_refused() -> None:
    assert findings([]) == {"chain.jsonl": "There is no entry in it."}


def test_every_fault_is_named_at_once(exported: list[bytes], empty_ledger: Ledger) -> None:
    exported[3] = b"{\n"
    exported[10] = changed(exported[10], lambda said: said.update(door="web"), rehash=False)
    exported[20] = changed(exported[20], lambda said: said["body"].update(patient="nobody"), rehash=False)
    exported[30] = exported[30][:-20]

    with pytest.raises(BadExport) as refused:
        import_chain(empty_ledger, exported, "chain.jsonl")

    assert [one.place for one in refused.value.findings] == [f"chain.jsonl line {number}" for number in (4, 11, 21, 31)]
    assert "line 31" in str(refused.value)
    assert empty_ledger.sites() == []


def test_entries_that_could_never_have_been_are_named_by_line(exported: list[bytes], empty_ledger: Ledger) -> None:
    """Every digest fits, and yet nothing can be weighed below its tare or closed before it was opened."""

    def change(said: dict[str, Any]) -> None:
        if said["kind"] == "weighing":
            said["body"]["gross"]["mass_mg"] = 1
        if said["kind"] == "receipt":
            said["body"]["containers"] = []
            said["happened_at"] = "2026-03-02T14:30:00.000000Z"

    forged = rechained(exported, change)

    with pytest.raises(BadExport) as refused:
        import_chain(empty_ledger, forged, "chain.jsonl")

    assert [(one.place, one.seqs) for one in refused.value.findings] == [
        ("chain.jsonl line 27", (27,)),
        ("chain.jsonl line 32", (32,)),
    ]
    assert "below the empty mass" in refused.value.findings[0].says
    assert empty_ledger.sites() == []


def test_a_key_used_twice_is_found(exported: list[bytes]) -> None:
    key = json.loads(exported[4])["key"]
    forged = rechained(exported, lambda said: said.update(key=key) if said["seq"] in (8, 9) else None)

    assert {place: "entry 5" in says for place, says in findings(forged).items()} == {
        "chain.jsonl line 8": True,
        "chain.jsonl line 9": True,
    }


def test_a_chain_that_begins_with_something_else_is_refused(exported: list[bytes]) -> None:
    forged = [changed(exported[21], lambda said: said.update(seq=1, previous="0" * 64))]

    assert "begins with its site" in findings(forged)["chain.jsonl line 1"]


def test_nothing_half_imported_is_left(exported: list[bytes], empty_ledger: Ledger) -> None:
    with empty_ledger.writing("elm", KIM) as desk:
        assert desk.chain_end() is None
    exported[-1] = changed(exported[-1], lambda said: said.update(happened_at="2030-01-01T00:00:00.000000Z"))

    with pytest.raises(BadExport):
        import_chain(empty_ledger, exported)

    assert empty_ledger.sites() == []
    assert verify(empty_ledger.engine, "elm").entries == 0


# -- from a file -------------------------------------------------------------------------------------------------------


def test_a_file_is_imported_into_a_new_ledger(exported: list[bytes], tmp_path: Path) -> None:
    export, target = tmp_path / "chain.jsonl", tmp_path / "new.db"
    export.write_bytes(b"".join(exported))

    assert import_file(str(target), export) == ("elm", LAST)

    with Ledger.open(str(target)) as ledger:
        assert verify(ledger.engine, "elm").holds


def test_a_bad_file_makes_no_ledger(exported: list[bytes], tmp_path: Path) -> None:
    export, target = tmp_path / "chain.jsonl", tmp_path / "new.db"
    export.write_bytes(b"".join(exported[1:]))

    with pytest.raises(BadExport, match=r"chain\.jsonl line 1"):
        import_file(str(target), export)

    assert not target.exists()


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    for wrong in (tmp_path / "nowhere.jsonl", tmp_path):
        with pytest.raises(StoreNotReachable, match="cannot be read"):
            import_file(str(tmp_path / "new.db"), wrong)
