"""``python3 tests``: check the whole house, in an environment that this command makes for itself."""

import os
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests import bootstrap

USAGE = """\
python3 tests              ruff, mypy and every test; fails if any of them does
python3 tests ARGUMENT...  pytest alone, with these arguments, such as: tests/model -q

Paths are read from the top of the checkout. The tools live in .venv there (made anew whenever pyproject.toml or
Python changes), or in your cache folder where the checkout cannot be written.
"""

CHECKS = {
    "ruff check": ["-m", "ruff", "check"],
    "ruff format": ["-m", "ruff", "format", "--check"],
    "mypy": ["-m", "mypy"],
    "pytest": ["-m", "pytest"],
}


def main(arguments: list[str]) -> int:
    """Run the checks, or pytest with *arguments*, and return 0 when all went well."""
    if arguments in (["-h"], ["--help"]):
        print(USAGE, end="")
        return 0
    folder = bootstrap.ready(bootstrap.DEV)
    # Beside the tools, since the checkout may be one that cannot be written.
    caches = folder / "caches"
    environment = {
        **os.environ,
        "RUFF_CACHE_DIR": str(caches / "ruff"),
        "MYPY_CACHE_DIR": str(caches / "mypy"),
        "HYPOTHESIS_STORAGE_DIRECTORY": str(caches / "hypothesis"),
    }
    python = bootstrap.python_in(folder)
    pytest = [*CHECKS["pytest"], "-o", f"cache_dir={caches / 'pytest'}", *arguments]
    if arguments:
        return bootstrap.run(python, pytest, bootstrap.ROOT, environment)

    passed = {}
    for name, command in {**CHECKS, "pytest": pytest}.items():
        bootstrap.say(f"\n== {name}")
        passed[name] = bootstrap.run(python, command, bootstrap.ROOT, environment) == 0
    bootstrap.say("")
    for name, well in passed.items():
        bootstrap.say(f"{name:12} {'passed' if well else 'FAILED'}")
    return 0 if all(passed.values()) else 1


if __name__ == "__main__":
    bootstrap.start(main)
