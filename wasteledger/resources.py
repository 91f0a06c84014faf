"""Finds the files that the program ships: ordinances, wording of documents, pages, practice plans, the demo.

Three places are looked at, and the first that has the file wins:

1. the office's own folder, named by the environment variable ``WASTELEDGER_TEMPLATES``;
2. the copy packed inside an installed wheel (``wasteledger/_packed``);
3. ``templates/`` beside the package, in a checkout and so in an editable install.

Places 2 and 3 never both exist beside one ``wasteledger/``. An editable install leaves a packed copy in its
environment, but the package it imports is the checkout's, so edits to ``templates/`` are seen at once.
Paths are real ones: pip always unpacks a wheel, and the program is not meant to run from a zip file.
"""

from __future__ import annotations

import os
from pathlib import Path, PurePosixPath

from wasteledger.errors import NotUnderstood, WasteLedgerError
from wasteledger.settings import TEMPLATES, read_settings

_PACKAGE = Path(__file__).resolve().parent


class ShippedFileMissing(WasteLedgerError):
    """A file that should have been shipped, or laid over by the office, is nowhere."""

    code = "shipped-file-missing"

    def __init__(self, wanted: str, places: list[Path]) -> None:
        super().__init__(
            f"There is no “{wanted}”. Looked in: {', '.join(str(place) for place in places)}.",
            hint=f"Check the name and the folder that {TEMPLATES} names; if neither is at fault, install again.",
        )
        self.wanted, self.places = wanted, places


class OwnFolderMissing(WasteLedgerError):
    """The office's own folder of templates is named but is not there; the shipped ones would be the wrong ones."""

    code = "own-folder-missing"

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"The office's own templates should be in {folder}, and there is no such folder.",
            hint=f"Make the folder, or correct {TEMPLATES}, or leave it unset to use the shipped templates.",
        )
        self.folder = folder


class OutsideTemplates(NotUnderstood):
    """A name that would lead out of the folder of templates."""

    code = "outside-templates"

    def __init__(self, name: str) -> None:
        super().__init__(
            f"“{name}” is not the name of a template.",
            hint="Name it from the folder of templates down, such as ordinances/federal.toml.",
        )
        self.name = name


def find(relative: str, *, own: Path | None = None) -> Path:
    """The template *relative* (with ``/``, from the folder of templates down), the office's own copy before ours.

    *own* is the office's folder; left out, it is the one that the environment names.

    Raises:
        OutsideTemplates: The name is absolute or holds ``..``.
        OwnFolderMissing: The office's folder is named but is not there.
        ShippedFileMissing: No place has the file.
    """
    parts = _inside(relative)
    layers = _layers(own)
    for layer in layers:
        if (path := layer.joinpath(*parts)).is_file():
            return path
    raise ShippedFileMissing(relative, layers)


def find_all(folder: str, pattern: str = "*", *, own: Path | None = None) -> list[Path]:
    """The files directly in the template *folder* that match *pattern*, sorted by name; an office's own hides ours.

    Raises:
        OutsideTemplates: The folder's name is absolute or holds ``..``.
        OwnFolderMissing: The office's folder is named but is not there.
        ShippedFileMissing: No place has the folder.
    """
    parts = _inside(folder)
    layers = _layers(own)
    folders = [path for layer in layers if (path := layer.joinpath(*parts)).is_dir()]
    if not folders:
        raise ShippedFileMissing(folder, layers)
    by_name = {path.name: path for place in reversed(folders) for path in place.glob(pattern) if path.is_file()}
    return [by_name[name] for name in sorted(by_name)]


def demo_folder() -> Path:
    """The folder of the demo practice: the packed copy, else ``demo/`` beside the package.

    Raises:
        ShippedFileMissing: Neither is there.
    """
    shipped = _shipped("demo")
    if not shipped.is_dir():
        raise ShippedFileMissing("demo", [shipped])
    return shipped


def _layers(own: Path | None) -> list[Path]:
    own = own or read_settings(os.environ).templates
    if own is not None and not own.is_dir():
        raise OwnFolderMissing(own)
    return [*([own] if own else []), _shipped("templates")]


def _shipped(name: str) -> Path:
    packed = _PACKAGE / "_packed" / name
    return packed if packed.is_dir() else _PACKAGE.parent / name


def _inside(name: str) -> tuple[str, ...]:
    # A backslash or a colon is a way out on Windows only; refused everywhere, so that a name means the same everywhere.
    path = PurePosixPath(name)
    if not path.parts or path.is_absolute() or ".." in path.parts or "\\" in name or ":" in name:
        raise OutsideTemplates(name)
    return path.parts
