"""The transfer manifest holds every field of its paper, on as many pages as it takes."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from tests.documents import awkward, makers
from tests.documents.reading import by_poppler, by_pypdf, pages
from wasteledger.documents import draw_manifest
from wasteledger.documents.papers import Basis, MassFigure
from wasteledger.settings import Paper

EVERY_FIELD = (
    "P-0012",
    "Prepared 10 March 2026, 10:05 by Rosa Lindqvist",
    "Elm Street Dental",
    "14 Elm Street, Suite 2",
    "Phone 555-0114",
    "Contact Rosa Lindqvist, office manager",
    "Generator ID none needed so far",
    "Quiet River Carriers",
    "Dock 7, Harbour Road",
    "Permit TR-4410",
    "North Hollow Metals Recovery",
    "1 Quarry Lane",
    "Permit RF-0098",
    "Dr. Tomasz Okafor, 555-0115,",
    "12 March 2026",
    "C-001",
    "2 L wide-mouth",
    "Contact amalgam and traps",
    "whole traps, dry",
    "closed, dry, lid tight",
    "in 2 Sep 2025",
    "closed 9 Mar 2026",
    "14 saliva-ejector traps",
    "1.0371 kg",
    "225 g",
    "812.0 g ± 0.4 g",
    "between 20 g and 310 g",
    "weighed",
    "estimate",
    "between 832 g and 1122 g, of which 812.0 g weighed",
    "D009: mercury (40 CFR 261.24(b), table 1)",
    "confirm with carrier",
    "Does one package hold 1 lb (0.454 kg) of mercury or more?",
    "Ask your recycler before mixing streams or disinfecting teeth.",
    "Two documents close a shipment",
    "Example Town asks for the containers to be counted by both parties.",
    "40 CFR Part 441 (federal); Example Town sewer code 5-6",
    "Local codes and licensed handlers decide.",
    "The office's own transfer record. It replaces no official form",
    "A record, not a ruling: the local authority decides, and local codes can be stricter.",
    "Rests on entry 1204 of site elm-street.",
    "Handed over by the practice",
    "Taken over by the carrier",
    "Received by the facility",
    "At receipt: what came against what left",
    "Mass differs",
)


@pytest.mark.parametrize("size", list(Paper))
@pytest.mark.parametrize("read", [by_pypdf, by_poppler])
def test_every_field_can_be_read_back(size: Paper, read: object) -> None:
    assert callable(read)
    said = read(draw_manifest(makers.a_manifest(), size).pdf)

    assert [field for field in EVERY_FIELD if field not in said] == []


def test_the_whole_digest_stands_on_every_page() -> None:
    printed = draw_manifest(makers.a_manifest(40))
    digest = makers.ANCHOR.digest

    for page in pages(printed.pdf):
        groups = [word.text for word in page.words if re.fullmatch("[0-9a-f]{8}", word.text)]
        assert "".join(groups) == digest


def test_each_party_signs_in_its_own_place() -> None:
    said = by_poppler(draw_manifest(makers.a_manifest()).pdf)

    for line in ("Name in print", "Date and time", "Signature"):
        assert len(re.findall(rf"\b{line}\b", said)) == 3


@pytest.mark.parametrize("size", list(Paper))
def test_forty_containers_flow_over_pages_under_a_repeated_head(size: Paper) -> None:
    printed = draw_manifest(makers.a_manifest(40), size)
    read = pages(printed.pdf)

    seen = [word.text for page in read for word in page.words if re.fullmatch(r"C-\d{3}", word.text)]
    assert seen == [f"C-{number:03}" for number in range(1, 41)]
    assert printed.pages == len(read) > 2
    for number, page in enumerate(read, start=1):
        words = " ".join(word.text for word in page.words)
        assert f"page {number} of {len(read)}" in words
        if re.search(r"C-\d{3}", words):
            assert "Stream and contents" in words
        if number > 1:
            assert "Waste transfer manifest, continued" in words


def test_a_usual_manifest_is_signed_on_its_first_page() -> None:
    first = pages(draw_manifest(makers.a_manifest(2)).pdf)[0]

    assert "Signatures" in [word.text for word in first.words]


def test_an_estimate_is_never_called_weighed() -> None:
    estimated = makers.a_container(2)
    paper = makers.a_manifest(0, containers=(estimated,), weighed_total=None, combined="")

    rows = pages(draw_manifest(paper).pdf)[0].words
    line = next(word for word in rows if word.text == "C-002")
    beside = [word.text for word in rows if abs(word.top - line.top) < 2]
    assert "estimate" in beside
    assert "weighed" not in beside


def test_what_was_only_counted_is_said_to_be() -> None:
    counted = makers.a_container(1, gross_mg=None, tare_mg=None, net=MassFigure(Basis.NONE))

    said = by_poppler(draw_manifest(makers.a_manifest(0, containers=(counted,))).pdf, "-layout")

    assert "counted, not" in said


def test_a_reprint_says_so_on_every_page_and_changes_no_figure() -> None:
    paper = makers.a_manifest()
    again = replace(paper, reprinted_at=datetime(2026, 5, 4, 9, 30))  # noqa: DTZ001  wall-clock time of the site

    said = by_pypdf(draw_manifest(again).pdf)

    assert "Reprint, 4 May 2026, 09:30" in said
    for page in pages(draw_manifest(again).pdf):
        assert "(reprint)" in " ".join(word.text for word in page.words)
    for figure in ("812.0 g ± 0.4 g", "between 20 g and 310 g", "1.0371 kg", makers.ANCHOR.digest[:8]):
        assert figure in said
    assert "reprint" not in by_pypdf(draw_manifest(paper).pdf).lower()


def test_a_manifest_without_containers_says_so() -> None:
    assert "No container is on this manifest." in by_pypdf(draw_manifest(makers.a_manifest(0)).pdf)


def test_a_party_with_a_very_long_address_is_cut_and_the_caller_told() -> None:
    party = replace(makers.CARRIER, name=awkward.LONG_NAME * 3, address=(awkward.WIDE,) * 12)

    printed = draw_manifest(makers.a_manifest(carrier=party))

    assert len(printed.findings) >= 2
    assert all(finding.startswith("shortened on paper, whole in the ledger:") for finding in printed.findings)


def test_an_address_of_two_hundred_letters_a_line_is_printed_whole() -> None:
    line = " ".join(["Upper Example Street"] * 9)
    party = replace(makers.CARRIER, address=(line, line))

    printed = draw_manifest(makers.a_manifest(carrier=party, emergency_contact=line))

    assert printed.findings == ()
    assert by_pypdf(printed.pdf).count(line) == 3


def test_an_office_says_it_in_its_own_words(tmp_path: Path) -> None:
    (tmp_path / "documents").mkdir()
    (tmp_path / "documents" / "manifest.toml").write_text(
        'title = "Abfallbegleitblatt"\n[signatures]\nlines = ["Name", "Datum", "Unterschrift"]\n'
        '[containers]\ncolumns = [{ field = "container", heading = "Behälter", share = 1 },'
        ' { field = "net", heading = "Netto", share = 1, align = "right" }]\n',
        encoding="utf-8",
    )
    (tmp_path / "documents" / "common.toml").write_text(
        'language = "de"\n[dates]\nday = "{day}. {month} {year}"\n', encoding="utf-8"
    )

    said = by_pypdf(draw_manifest(makers.a_manifest(), own=tmp_path).pdf)

    assert "Abfallbegleitblatt" in said
    assert "Unterschrift" in said
    assert "Behälter" in said
    assert "Gross" not in said.split("Total")[0]
    assert "12. March 2026" in said
    assert "From: the practice" in said
