"""The office's own template before ours, a clear refusal where there is none, and no way out of the folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from wasteledger import resources
from wasteledger.resources import OutsideTemplates, OwnFolderMissing, ShippedFileMissing


def put(folder: Path, **files: str) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / f"{name}.toml").write_text(text)


@pytest.fixture
def checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A checkout whose templates hold two ordinances, and in whose environment nothing is set."""
    put(tmp_path / "checkout" / "templates" / "ordinances", federal="ours", state="ours")
    (tmp_path / "checkout" / "demo").mkdir()
    monkeypatch.setattr(resources, "_PACKAGE", tmp_path / "checkout" / "wasteledger")
    monkeypatch.delenv("WASTELEDGER_TEMPLATES", raising=False)
    return tmp_path / "checkout"


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """An office's own folder, which replaces one ordinance and adds another."""
    put(tmp_path / "own" / "ordinances", state="own", county="own")
    return tmp_path / "own"


def test_a_checkout_serves_what_stands_beside_the_package(checkout: Path) -> None:
    assert resources.find("ordinances/federal.toml") == checkout / "templates" / "ordinances" / "federal.toml"
    assert resources.demo_folder() == checkout / "demo"


def test_an_installed_package_serves_what_was_packed_in_it(checkout: Path) -> None:
    put(checkout / "wasteledger" / "_packed" / "templates" / "ordinances", federal="packed")
    (checkout / "wasteledger" / "_packed" / "demo").mkdir()

    assert resources.find("ordinances/federal.toml").read_text() == "packed"
    assert resources.demo_folder() == checkout / "wasteledger" / "_packed" / "demo"


def test_the_offices_own_file_comes_first(checkout: Path, own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert resources.find("ordinances/state.toml", own=own).read_text() == "own"
    assert resources.find("ordinances/federal.toml", own=own).read_text() == "ours"

    monkeypatch.setenv("WASTELEDGER_TEMPLATES", str(own))
    assert resources.find("ordinances/state.toml").read_text() == "own"


def test_a_folder_is_merged_by_file_name(checkout: Path, own: Path) -> None:
    (own / "ordinances" / "notes.txt").touch()

    merged = resources.find_all("ordinances", "*.toml", own=own)

    assert [(path.stem, path.read_text()) for path in merged] == [
        ("county", "own"),
        ("federal", "ours"),
        ("state", "own"),
    ]


def test_a_missing_file_names_the_places_looked_at(checkout: Path, own: Path) -> None:
    with pytest.raises(ShippedFileMissing) as refusal:
        resources.find("ordinances/lunar.toml", own=own)

    assert "ordinances/lunar.toml" in str(refusal.value)
    assert refusal.value.places == [own, checkout / "templates"]
    assert all(str(place) in str(refusal.value) for place in refusal.value.places)
    with pytest.raises(ShippedFileMissing):
        resources.find_all("pages")


def test_a_folder_of_ones_own_that_is_not_there_is_not_passed_over(checkout: Path, tmp_path: Path) -> None:
    with pytest.raises(OwnFolderMissing, match="no such folder"):
        resources.find("ordinances/federal.toml", own=tmp_path / "mistyped")


@pytest.mark.parametrize("name", ["../secret.toml", "ordinances/../../x", "/etc/passwd", "..\\x", "C:/x", ""])
def test_no_name_leads_out_of_the_templates(checkout: Path, own: Path, name: str) -> None:
    (own.parent / "secret.toml").touch()

    with pytest.raises(OutsideTemplates):
        resources.find(name, own=own)
    with pytest.raises(OutsideTemplates):
        resources.find_all(name, own=own)
