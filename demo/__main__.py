"""``python3 demo``: run the main job on the demo practice, in an environment that this command makes for itself."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests import bootstrap


def main(arguments: list[str]) -> int:
    """Run the demo with *arguments*, in the folder that the person stands in, and return its status."""
    play = bootstrap.ROOT / "demo" / "play.py"
    if not play.is_file():
        raise bootstrap.NotReady(f"The demo is not in this checkout: {play} is missing.")
    python = bootstrap.python_in(bootstrap.ready(bootstrap.RUNTIME))
    return bootstrap.run(python, [str(play), *arguments])


if __name__ == "__main__":
    bootstrap.start(main)
