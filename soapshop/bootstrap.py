"""Lets manage.py run on a computer that has nothing but Python.

Before Django starts, `prepare` looks whether this Python has the packages that the command needs. If it has,
as in a container or in a developer's own virtual environment, nothing happens. Else `.venv` beside manage.py
is made, the pinned list in soapshop/requirements is installed there with its hashes checked, and the same
command is run again inside it. A stamp in `.venv` says which list is installed: so the second time goes at
once, a changed list is installed anew, and an interrupted installation is begun again.

Standard library only.
"""

from __future__ import annotations

import argparse
import contextlib
import enum
import hashlib
import importlib.util
import json
import os
import re
import shutil
import subprocess
import sys
import venv
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

OLDEST_PYTHON = (3, 11)
ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
STAMP = ENVIRONMENT / "soapshop-installed.json"
LOCK = ROOT / ".venv.lock"
TEST_COMMAND = "test"
OWN_FOLDERS = {"demo": ROOT / ".demo", TEST_COMMAND: ROOT / ".test"}
NETWORK_TROUBLE = re.compile(
    r"connection|resolution|unreachable|timed? ?out|timeout|proxy|ssl|max retries|no matching distribution",
    re.I,
)


class Step(enum.Enum):
    """What has to happen before the command can run."""

    GO_ON = "this Python has everything"
    HAND_OVER = "run again inside .venv"
    INSTALL = "install the list into .venv as it stands"
    MAKE = "make .venv anew and install the list"


@dataclass(frozen=True)
class Stamp:
    """What is installed in `.venv`: which list, its SHA-256, and the real path of the Python it is for."""

    packages: str
    sha256: str
    python: str

    def serves(self, wanted: Stamp) -> bool:
        """The same list; or the test list, which holds every package of the base list too."""
        return self in (wanted, list_stamp("dev", wanted.python))


UNFINISHED = Stamp(packages="", sha256="", python="")


@dataclass(frozen=True)
class Situation:
    """All that decides the next step.

    `inside`: this process already runs in `.venv`. `missing`: packages of the command that this Python lacks.
    `exists`: `.venv` has a Python that is still there. `stamp`: None where `.venv` is not of our making.
    """

    turned_off: bool
    inside: bool
    missing: bool
    exists: bool
    stamp: Stamp | None
    wanted: Stamp


def plan(now: Situation) -> Step:
    """The next step. A developer's own environment is left alone as long as it has what the command needs."""
    if now.turned_off or not (now.inside or now.missing):
        return Step.GO_ON
    fits = now.stamp is None or now.stamp.serves(now.wanted)
    if now.inside:
        return Step.GO_ON if fits and not now.missing else Step.INSTALL
    if not now.exists:
        return Step.MAKE
    if fits:
        return Step.HAND_OVER
    return Step.INSTALL if now.stamp and now.stamp.python == now.wanted.python else Step.MAKE


def prepare(argv: Sequence[str]) -> None:
    """Return if this process can run the command; otherwise set up and run it again in one that can."""
    refuse_old_python(sys.version_info[:2])
    choose_data_folder(argv)
    packages = "dev" if list(argv[1:2]) == [TEST_COMMAND] else "base"
    step = plan(look(packages))
    if step in (Step.MAKE, Step.INSTALL):
        try:
            with lock():
                set_up(packages)
        except (OSError, subprocess.CalledProcessError) as problem:
            sys.exit(f"soapshop could not set up {ENVIRONMENT}: {problem}")
        except KeyboardInterrupt:
            sys.exit("Stopped half-way. The same command begins the set-up again.")
        step = plan(look(packages))
    if step is Step.HAND_OVER:
        run_again()


def refuse_old_python(version: tuple[int, ...]) -> None:
    """Exit with a plain sentence where Python is too old for the app."""
    if version < OLDEST_PYTHON:
        sys.exit(
            "soapshop needs Python {}.{} or newer, and this is {}.{}. Install a newer one and start the "
            "command with it, for example: python3.13 manage.py demo".format(*OLDEST_PYTHON, *version)
        )


def choose_data_folder(argv: Sequence[str]) -> None:
    """Settle the data folder before the settings are read: --data DIR, or the demo's and the tests' own.

    Demo and tests must never reach the real workshop, so they also forget the address of its database.
    """
    command = argv[1] if len(argv) > 1 else ""
    if command in OWN_FOLDERS:
        os.environ["SOAPSHOP_DATA"] = str(OWN_FOLDERS[command])
        os.environ.pop("DATABASE_URL", None)
    if command in ("demo", "serve"):
        options = argparse.ArgumentParser(prog=f"manage.py {command}", add_help=False, allow_abbrev=False)
        options.add_argument("--data")
        given = options.parse_known_args(argv[2:])[0]
        if given.data:
            os.environ["SOAPSHOP_DATA"] = given.data


def look(packages: str) -> Situation:
    """Read the situation off this process and the disk."""
    python = environment_python()
    return Situation(
        turned_off=os.environ.get("SOAPSHOP_SETUP", "").lower() == "off",
        inside=ENVIRONMENT.exists() and ENVIRONMENT.samefile(sys.prefix),
        missing=lacks(packages),
        exists=python.exists(),
        stamp=read_stamp(),
        wanted=list_stamp(packages, os.path.realpath(python)),
    )


def lacks(packages: str) -> bool:
    """Does this Python lack any package that pyproject.toml names for the list? Versions are pip's matter."""
    import importlib.metadata  # these two not at the top: a Python that is too old lacks them
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [
        *project["dependencies"],
        *(project["optional-dependencies"]["dev"] if packages == "dev" else []),
    ]
    try:
        for requirement in wanted:
            if ";" not in requirement:  # a marker: needed on some systems only
                importlib.metadata.distribution(re.split(r"[^\w.-]", requirement)[0])
    except importlib.metadata.PackageNotFoundError:
        return True
    return False


def list_file(packages: str) -> Path:
    """The pinned list: `base` to run the app, `dev` to test it as well."""
    return ROOT / "soapshop" / "requirements" / f"{packages}.txt"


def list_stamp(packages: str, python: str) -> Stamp:
    """The stamp of the list as it is now, installed for that Python."""
    return Stamp(packages, hashlib.sha256(list_file(packages).read_bytes()).hexdigest(), python)


def read_stamp() -> Stamp | None:
    """The stamp in `.venv`; None without one, UNFINISHED if it cannot be read."""
    try:
        return Stamp(**json.loads(STAMP.read_text(encoding="utf-8")))
    except FileNotFoundError:
        return None
    except (OSError, ValueError, TypeError):
        return UNFINISHED


def write_stamp(stamp: Stamp) -> None:
    """Replace the stamp in one stroke."""
    new = STAMP.with_suffix(".new")
    new.write_text(json.dumps(asdict(stamp)), encoding="utf-8")
    new.replace(STAMP)


def environment_python() -> Path:
    """The Python inside `.venv`."""
    return ENVIRONMENT / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")


def set_up(packages: str) -> None:
    """Make `.venv` if need be, and install the list into it. Exits with a plain sentence if that fails."""
    step = plan(look(packages))  # anew: another process may have done it while this one waited for the lock
    if step is Step.MAKE:
        make_environment()
    elif step is not Step.INSTALL:
        return
    stamp, python = read_stamp(), environment_python()
    if stamp:
        packages = "dev" if stamp.packages == "dev" else packages  # keep the test tools
        write_stamp(UNFINISHED)
    install(python, list_file(packages))
    if stamp:
        write_stamp(list_stamp(packages, os.path.realpath(python)))
    importlib.invalidate_caches()


def make_environment() -> None:
    """Make `.venv`. The stamp comes first: a folder left half made is then known as ours and made again."""
    if not (importlib.util.find_spec("pip") or importlib.util.find_spec("ensurepip")):
        sys.exit(
            "This Python cannot make a virtual environment: a part of it is not installed. On Debian, Ubuntu "
            "and Raspberry Pi OS this brings it:\n    sudo apt install python3-venv\n"
            "Then run the same command again."
        )
    say(f"Setting up {ENVIRONMENT}. It takes a minute, the first time only.")
    if STAMP.exists():
        shutil.rmtree(ENVIRONMENT)
    ENVIRONMENT.mkdir(exist_ok=True)
    write_stamp(UNFINISHED)
    venv.create(ENVIRONMENT, symlinks=os.name != "nt")


def install(python: Path, requirements: Path) -> None:
    """Install the pinned list with its hashes checked. Exits with a plain sentence if pip fails."""
    say(f"Installing {requirements.relative_to(ROOT)} ...")
    pip = [sys.executable, "-m", "pip", "--python", str(python)]  # one pip serves all: two are slow to make
    if not importlib.util.find_spec("pip"):
        subprocess.run([str(python), "-m", "ensurepip"], capture_output=True, check=True)  # noqa: S603
        pip = [str(python), "-m", "pip"]
    options = ["--quiet", "--disable-pip-version-check", "--no-input", "--require-hashes"]
    result = subprocess.run(  # noqa: S603
        [*pip, "install", *options, "--requirement", str(requirements)],
        capture_output=True,
        text=True,
        check=False,
    )
    if result.returncode:
        say("\n".join(line for line in result.stderr.splitlines()[-12:] if not line.startswith("WARNING")))
        sys.exit(explain(result.stderr))


def explain(output: str) -> str:
    """What a failed pip means, in plain words."""
    if "HASHES" in output:
        return "A package is not the one that the list names, so nothing was installed. Please report this."
    if NETWORK_TROUBLE.search(output):
        return (
            "The packages could not be fetched. Is this computer on the internet, and does it need a proxy? "
            "Then run the same command again; what was fetched already is kept."
        )
    return (
        "The packages could not be installed; the lines above say why. Delete the folder .venv and try again."
    )


def run_again() -> None:
    """The same command with the Python of `.venv`: in place of this process, or under it on Windows."""
    command = [str(environment_python()), *sys.orig_argv[1:]]
    if sys.platform != "win32":
        os.execv(command[0], command)  # noqa: S606
    with contextlib.suppress(KeyboardInterrupt):
        sys.exit(subprocess.run(command, check=False).returncode)  # noqa: S603
    sys.exit(130)


@contextlib.contextmanager
def lock() -> Iterator[None]:
    """One set-up at a time. The system lets go of the lock when a process ends, however it ends."""
    with LOCK.open("a") as file:
        if sys.platform == "win32":
            import msvcrt

            while True:
                with contextlib.suppress(OSError):  # it gives up after ten seconds
                    msvcrt.locking(file.fileno(), msvcrt.LK_LOCK, 1)
                    break
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX)
        yield


def say(words: str) -> None:
    """To the error stream, so that a command's own output stays clean."""
    sys.stderr.write(f"{words}\n")
    sys.stderr.flush()
