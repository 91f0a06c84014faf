"""Which files belong to the project."""

from __future__ import annotations

import subprocess

from tests.bootstrap import ROOT


def tracked(*folders: str) -> list[str]:
    """The files that belong to the project, or to those of its *folders*, as git lists them."""
    # The clone may belong to somebody else than the person who tests it; git would refuse to read it.
    listed = subprocess.run(
        ["git", "-c", "safe.directory=*", "ls-files", "-z", "--", *folders],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return [name for name in listed.stdout.split("\0") if name and (ROOT / name).is_file()]
