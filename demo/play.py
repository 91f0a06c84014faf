"""Runs the main job on the invented demo practice, prints what each user sees, and leaves a ledger and its papers.

The practice's last day is always 20 November 2026, so the same seed prints the same on any day.
"""

from __future__ import annotations

import argparse
import gc
import hashlib
import json
import shlex
import sys
import uuid
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from time import perf_counter
from unittest.mock import patch

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from demo.parts import END_ON, MAIN, SATELLITE, Truth, Watch, first_day
from demo.practice import Years
from demo.show import show
from wasteledger import __version__
from wasteledger.errors import WasteLedgerError
from wasteledger.office.setup import read_plan_file

HERE = Path(__file__).resolve().parent
LEDGER, STAMP, TRUTH, PAPERS = "linden.db", "demo-stamp.json", "truth.json", "papers"


def main(arguments: list[str] | None = None) -> int:
    """Play the demo where it was not played yet, show it, and name what lies where; gives the exit status."""
    asked = _asked(arguments)
    folder: Path = asked.folder.resolve()
    stamp = {"seed": asked.seed, "years": asked.years, "made_from": _made_from()}
    if foreign := _foreign(folder):
        print(f"{folder} holds {foreign}, which the demo did not make; nothing was touched.", file=sys.stderr)
        print("Name an empty or new folder with --folder.", file=sys.stderr)
        return 3
    try:
        if asked.fresh or _read_stamp(folder) != stamp:
            _play(folder, asked.years, asked.seed)
            (folder / STAMP).write_text(json.dumps(stamp), "utf-8")
        else:
            print(f"Already played: {folder} (--fresh plays it anew).")
        show(folder / LEDGER, Truth.load(folder / TRUTH), folder / PAPERS)
    except (WasteLedgerError, OSError) as problem:
        print(f"The demo stopped: {problem}", file=sys.stderr)
        return 3
    _say_where(folder)
    return 0


def _asked(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="demo", description="Three years of an invented practice: a ledger, its papers, and truth beside estimate."
    )
    parser.add_argument("--folder", type=Path, default=Path("wasteledger-demo"), help="where it is left")
    parser.add_argument("--years", type=_years, default=3.0, help="how many years are played (0.2 to 10; 3)")
    parser.add_argument("--seed", type=int, default=20261120, help="another seed, another practice")
    parser.add_argument("--fresh", action="store_true", help="play it anew, even if it was played before")
    return parser.parse_args(arguments)


def _years(text: str) -> float:
    years = float(text)
    if not 0.2 <= years <= 10:
        raise argparse.ArgumentTypeError("write a number of years from 0.2 to 10")
    return years


def _made_from() -> str:
    """A digest of this release and of everything in this folder that shapes the ledger."""
    parts = [__version__]
    parts += [path.read_text("utf-8") for path in sorted(HERE.rglob("*")) if path.suffix in (".py", ".toml")]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def _read_stamp(folder: Path) -> object:
    try:
        return json.loads((folder / STAMP).read_text("utf-8"))
    except (OSError, ValueError):
        return None


def _ours(path: Path) -> bool:
    return path.name in (STAMP, TRUTH, PAPERS) or path.name.startswith(LEDGER)


def _foreign(folder: Path) -> str:
    """The first thing in *folder* that is none of the demo's; empty where there is none."""
    if not folder.exists():
        return ""
    if not folder.is_dir():
        return "a file"
    return next((path.name for path in sorted(folder.iterdir()) if not _ours(path)), "")


def _play(folder: Path, years: float, seed: int) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for path in (folder / STAMP, folder / TRUTH, *folder.glob(f"{LEDGER}*")):
        path.unlink(missing_ok=True)
    gc.set_threshold(100_000)  # nothing here is circular for long, and looking for it takes a tenth of the time
    began, start_on = perf_counter(), first_day(years)
    print(f"Playing an invented practice from {start_on:%d %B %Y} to {END_ON:%d %B %Y} (seed {seed}) ...", flush=True)
    truth, watch = Truth(), Watch(datetime(2020, 1, 1, tzinfo=UTC))
    keys = Random(f"keys {seed}")
    # The recorder's keys are drawn from the seed as well, so that the same seed gives the same digests.
    with patch.object(uuid, "uuid4", lambda: uuid.UUID(int=keys.getrandbits(128), version=4)):
        for number, (name, part) in enumerate((("plan.toml", MAIN), ("satellite.toml", SATELLITE))):
            plan = read_plan_file(HERE / name)
            draws, aside = Random(seed + number), Random(f"aside {seed + number}")
            Years(str(folder / LEDGER), plan, part, watch, draws, aside, truth).play(start_on)
    truth.save(folder / TRUTH)
    print(f"Done in {perf_counter() - began:.0f} s.")


def _say_where(folder: Path) -> None:
    print(f"\nEverything lies in {folder}")
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            print(f"  {path.relative_to(folder)}")
    ledger = shlex.quote(str(folder / LEDGER))
    print(
        f"""
The demo's last day is {END_ON:%d %B %Y}; commands that you type live today, so more is overdue then. Try next:
  wasteledger status --ledger {ledger} --site linden
  wasteledger round --ledger {ledger} --site linden --by tamsin
  wasteledger container show PAIL-1 --ledger {ledger} --site linden
  wasteledger balance --ledger {ledger} --site linden
  wasteledger verify --ledger {ledger} --site linden-mill
Practice, people, carrier, facility, sewer district and every figure in it are invented."""
    )


if __name__ == "__main__":
    sys.exit(main())
