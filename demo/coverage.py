"""``python3 demo/coverage.py``: hold estimate, forecast and second opinion against simulated practices."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests import bootstrap


def main(arguments: list[str]) -> int:
    """Print the tables, in the environment that ``python3 demo`` makes for itself; give their status."""
    python = bootstrap.python_in(bootstrap.ready(bootstrap.RUNTIME))
    return bootstrap.run(python, [str(bootstrap.ROOT / "demo" / "trials" / "table.py"), *arguments])


if __name__ == "__main__":
    bootstrap.start(main)
