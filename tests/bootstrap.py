"""Makes the virtual environment that ``python3 demo`` and ``python3 tests`` run in, by the standard library alone.

The first lines must still be reached by an old Python, so this file keeps to the grammar of Python 3.6.
"""

import sys

if sys.version_info < (3, 11):
    sys.exit(
        f"wasteledger needs Python 3.11 or newer, and {sys.executable} is Python {sys.version.split()[0]}: "
        "install a newer one and start this command with it."
    )

import hashlib
import importlib.util
import os
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

RUNTIME = ""  # what the program needs
DEV = "dev"  # that, and the tools of the tests


class NotReady(Exception):
    """The environment cannot be made; the message is for the person who started the command."""


def start(main: Callable[[list[str]], int]) -> None:
    """Run *main* on the command's arguments and leave with its status, or with one sentence when it cannot run."""
    try:
        sys.exit(main(sys.argv[1:]))
    except NotReady as problem:
        sys.exit(str(problem))
    except KeyboardInterrupt:
        sys.exit("Interrupted. Start the command again: what is half-made is made anew.")


def say(line: str) -> None:
    """Print *line* at once, so that it stands before what the next process prints."""
    print(line, flush=True)


def environment_folder() -> Path:
    """``.venv`` in the checkout, or where that cannot be written, a folder for this checkout in the user's cache."""
    folder = ROOT / ".venv"
    try:
        folder.mkdir(exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return folder
    except OSError:
        if sys.platform == "win32":
            cache = os.environ.get("LOCALAPPDATA") or str(Path.home() / "AppData" / "Local")
        elif sys.platform == "darwin":
            cache = str(Path.home() / "Library" / "Caches")
        else:
            cache = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
        return Path(cache, "wasteledger", hashlib.sha256(str(ROOT).encode()).hexdigest()[:16])


def python_in(folder: Path) -> Path:
    """The interpreter of the virtual environment in *folder*."""
    return folder / "Scripts" / "python.exe" if os.name == "nt" else folder / "bin" / "python"


def ready(extra: str) -> Path:
    """Return a folder whose virtual environment holds wasteledger with *extra*, making it where it does not yet stand.

    A stamp in the folder names what it was made from. It is taken away before anything is touched and comes back
    only when all is done, so an environment without a matching stamp is half-made or out of date, and is made anew.

    Raises:
        NotReady: Python comes without what makes environments, or the installation failed.
    """
    folder = environment_folder()
    python, stamp, made_from = python_in(folder), folder / "wasteledger-stamp", _made_from()
    found = stamp.read_text().split("\n") if stamp.is_file() and python.exists() else []
    if found in ([made_from, extra], [made_from, DEV]):
        say(f"Environment: {folder}")
        return folder
    stamp.unlink(missing_ok=True)
    if found[:1] != [made_from]:  # else it only lacks the tools of the tests, which are added to it
        say(f"Making a virtual environment in {folder} with Python {sys.version.split()[0]} ...")
        _make(folder)
    say(f"Installing what pyproject.toml asks for {'and the tools of the tests ' if extra else ''}(a minute, once) ...")
    _install(python, extra, folder / "install.log")
    unfinished = folder / "wasteledger-stamp.new"
    unfinished.write_text(f"{made_from}\n{extra}")
    unfinished.replace(stamp)
    return folder


def run(
    python: Path, arguments: list[str], folder: Path | None = None, environment: dict[str, str] | None = None
) -> int:
    """Run *python* with *arguments* (in *folder*, under *environment*) until it ends, and return its status."""
    return subprocess.run([str(python), *arguments], cwd=folder, env=environment, check=False).returncode


def _made_from() -> str:
    """A digest of what an environment depends on: the project file, this Python, and where the checkout lies."""
    parts = [(ROOT / "pyproject.toml").read_text("utf-8"), sys.version, sys.base_prefix, str(ROOT)]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def _make(folder: Path) -> None:
    # Debian and its kin ship Python without these; asking first gives a sentence and no half-made folder.
    missing = [name for name in ("venv", "ensurepip") if importlib.util.find_spec(name) is None]
    if missing:
        raise NotReady(
            f"This Python cannot make virtual environments without its module {' and '.join(missing)}: install it "
            f"(on Debian and Ubuntu: apt install python{sys.version_info[0]}.{sys.version_info[1]}-venv) and try again."
        )
    import venv

    try:
        venv.create(folder, clear=True, with_pip=True, symlinks=os.name != "nt")
    except (OSError, subprocess.CalledProcessError) as error:
        raise NotReady(
            f"The virtual environment in {folder} could not be made: {error}\n"
            "Leave it if it is active, delete the folder, and try again."
        ) from error


def _install(python: Path, extra: str, log: Path) -> None:
    what = f".[{extra}]" if extra else "."
    command = [str(python), "-m", "pip", "install", "--disable-pip-version-check", "--no-input", "--editable", what]
    with log.open("wb") as output:
        done = subprocess.run(command, cwd=ROOT, stdout=output, stderr=subprocess.STDOUT, check=False)
    if done.returncode:
        last = log.read_text("utf-8", "replace").splitlines()[-25:]
        raise NotReady("\n".join([*last, "", f"pip could not install it; the whole of what it said is in {log}."]))
