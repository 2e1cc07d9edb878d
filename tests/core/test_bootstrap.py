"""Setting up: what is decided when, what is said when it fails, and whether the pinned lists fit."""

import dataclasses
import json
import os
import re
import subprocess
import sys
import threading
import tomllib
from importlib.metadata import requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from soapshop import bootstrap
from soapshop.bootstrap import Situation, Stamp, Step, list_stamp, plan

PYTHON = "/usr/bin/python3.11"
BASE, DEV = list_stamp("base", PYTHON), list_stamp("dev", PYTHON)
NEW_COMPUTER = Situation(turned_off=False, inside=False, missing=True, exists=False, stamp=None, wanted=BASE)
SET_UP = dataclasses.replace(NEW_COMPUTER, exists=True, stamp=BASE)


def situation(now: Situation, **changes: object) -> Situation:
    return dataclasses.replace(now, **changes)  # type: ignore[arg-type]


@pytest.fixture
def empty_project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A project folder without `.venv`, for the code that writes there."""
    monkeypatch.setattr(bootstrap, "ENVIRONMENT", tmp_path / ".venv")
    monkeypatch.setattr(bootstrap, "STAMP", tmp_path / ".venv" / "soapshop-installed.json")
    monkeypatch.setattr(bootstrap, "LOCK", tmp_path / ".venv.lock")
    return tmp_path


class TestPlan:
    def test_a_new_computer_makes_an_environment(self):
        assert plan(NEW_COMPUTER) is Step.MAKE

    def test_a_python_that_has_everything_is_left_alone(self):
        assert plan(situation(NEW_COMPUTER, missing=False)) is Step.GO_ON

    def test_a_developers_own_environment_is_preferred_to_ours(self):
        assert plan(situation(SET_UP, missing=False)) is Step.GO_ON

    def test_a_container_can_turn_the_setting_up_off(self):
        assert plan(situation(NEW_COMPUTER, turned_off=True)) is Step.GO_ON

    def test_the_second_time_goes_at_once(self):
        assert plan(SET_UP) is Step.HAND_OVER
        assert plan(situation(SET_UP, inside=True, missing=False)) is Step.GO_ON

    def test_the_test_list_serves_the_app_too(self):
        assert plan(situation(SET_UP, stamp=DEV)) is Step.HAND_OVER

    def test_the_test_tools_are_added_to_what_is_there(self):
        assert plan(situation(SET_UP, wanted=DEV)) is Step.INSTALL

    def test_a_changed_list_is_installed(self):
        older = Stamp("base", "0" * 64, PYTHON)
        assert plan(situation(SET_UP, stamp=older)) is Step.INSTALL
        assert plan(situation(SET_UP, stamp=older, inside=True, missing=False)) is Step.INSTALL

    def test_an_interrupted_installation_begins_again(self):
        assert plan(situation(SET_UP, stamp=bootstrap.UNFINISHED)) is Step.MAKE

    def test_another_python_makes_it_again(self):
        assert plan(situation(SET_UP, stamp=list_stamp("base", "/usr/bin/python3.10"))) is Step.MAKE

    def test_a_python_that_was_removed_makes_it_again(self):
        assert plan(situation(SET_UP, exists=False)) is Step.MAKE

    def test_an_environment_that_somebody_else_made_is_used(self):
        theirs = situation(SET_UP, stamp=None)
        assert plan(theirs) is Step.HAND_OVER
        assert plan(situation(theirs, inside=True, missing=False)) is Step.GO_ON

    def test_an_environment_that_somebody_else_made_is_completed(self):
        assert plan(situation(SET_UP, stamp=None, inside=True)) is Step.INSTALL


class TestStamp:
    def test_no_stamp_is_none(self, empty_project: Path):
        assert bootstrap.read_stamp() is None

    def test_is_read_as_written(self, empty_project: Path):
        bootstrap.ENVIRONMENT.mkdir()
        bootstrap.write_stamp(DEV)
        assert bootstrap.read_stamp() == DEV
        assert [file.name for file in bootstrap.ENVIRONMENT.iterdir()] == [bootstrap.STAMP.name]

    @pytest.mark.parametrize("content", ["", "{", "[]", '"base"', json.dumps({"sha256": "0"})])
    def test_a_damaged_stamp_means_unfinished(self, empty_project: Path, content: str):
        bootstrap.ENVIRONMENT.mkdir()
        bootstrap.STAMP.write_text(content)
        assert bootstrap.read_stamp() == bootstrap.UNFINISHED

    def test_changes_with_the_list(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
        monkeypatch.setattr(bootstrap, "list_file", lambda packages: tmp_path / packages)
        (tmp_path / "base").write_text("django==5.2.1")
        before = list_stamp("base", PYTHON)
        (tmp_path / "base").write_text("django==5.2.2")
        assert list_stamp("base", PYTHON) != before


class TestSettingUp:
    """With the slow and the far parts replaced: making a virtual environment, and pip."""

    @pytest.fixture
    def pip(self, empty_project: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
        """The lists that would have been installed."""
        installed: list[str] = []

        def create(folder: Path, **options: object) -> None:
            python = bootstrap.environment_python()
            python.parent.mkdir(exist_ok=True)
            python.touch()

        monkeypatch.delenv("SOAPSHOP_SETUP", raising=False)
        monkeypatch.setattr("venv.create", create)
        monkeypatch.setattr(bootstrap, "install", lambda python, listed: installed.append(listed.stem))
        monkeypatch.setattr(bootstrap, "lacks", lambda packages: True)
        return installed

    def test_makes_installs_and_stamps(self, pip: list[str]):
        bootstrap.set_up("base")
        assert pip == ["base"]
        assert bootstrap.read_stamp() == list_stamp("base", os.path.realpath(bootstrap.environment_python()))

    def test_the_second_of_two_at_once_finds_it_done(self, pip: list[str]):
        bootstrap.set_up("base")
        bootstrap.set_up("base")
        assert pip == ["base"]

    def test_an_upgrade_keeps_the_test_tools(self, pip: list[str]):
        bootstrap.set_up("dev")
        stamp = bootstrap.read_stamp()
        assert stamp
        bootstrap.write_stamp(dataclasses.replace(stamp, sha256="0" * 64))
        bootstrap.set_up("base")
        assert pip == ["dev", "dev"]

    def test_interrupted_in_the_middle_it_starts_from_nothing(
        self, pip: list[str], monkeypatch: pytest.MonkeyPatch
    ):
        def cut_short(python: Path, listed: Path) -> None:
            (bootstrap.ENVIRONMENT / "half a package").touch()
            raise KeyboardInterrupt

        with monkeypatch.context() as context:
            context.setattr(bootstrap, "install", cut_short)
            with pytest.raises(SystemExit, match="begins the set-up again"):
                bootstrap.prepare(["manage.py", "migrate"])
        assert bootstrap.read_stamp() == bootstrap.UNFINISHED
        bootstrap.set_up("base")
        assert pip == ["base"]
        assert not (bootstrap.ENVIRONMENT / "half a package").exists()

    def test_a_folder_that_cannot_be_written_is_said_plainly(
        self, empty_project: Path, monkeypatch: pytest.MonkeyPatch
    ):
        monkeypatch.setattr(bootstrap, "LOCK", empty_project / "missing" / "lock")
        monkeypatch.setattr(bootstrap, "lacks", lambda packages: True)
        monkeypatch.delenv("SOAPSHOP_SETUP", raising=False)
        with pytest.raises(SystemExit, match="could not set up"):
            bootstrap.prepare(["manage.py", "check"])

    def test_a_python_without_venv_names_the_package_to_install(
        self, empty_project: Path, monkeypatch: pytest.MonkeyPatch
    ):
        monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
        with pytest.raises(SystemExit, match="sudo apt install python3-venv"):
            bootstrap.make_environment()

    def test_only_one_process_sets_up_at_a_time(self, empty_project: Path):
        order: list[str] = []

        def second() -> None:
            with bootstrap.lock():
                order.append("second")

        waiting = threading.Thread(target=second)
        with bootstrap.lock():
            waiting.start()
            waiting.join(timeout=0.2)
            order.append("first")
        waiting.join(timeout=5)
        assert order == ["first", "second"]


class TestInstalling:
    @pytest.fixture
    def pip(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
        """The source of a stand-in for pip, which `python -m pip` finds first."""
        monkeypatch.setenv("PYTHONPATH", str(tmp_path))
        return tmp_path / "pip.py"

    def test_checks_hashes(self, pip: Path):
        pip.write_text(
            "import sys, pathlib; pathlib.Path(__file__).with_name('seen').write_text(str(sys.argv))"
        )
        bootstrap.install(Path(sys.executable), bootstrap.list_file("base"))
        assert "--require-hashes" in pip.with_name("seen").read_text()

    def test_shows_what_pip_said(self, pip: Path, capsys: pytest.CaptureFixture[str]):
        pip.write_text(
            "import sys; print('WARNING: noise', file=sys.stderr); sys.exit('ERROR: no space left on device')"
        )
        with pytest.raises(SystemExit, match="lines above say why"):
            bootstrap.install(Path(sys.executable), bootstrap.list_file("base"))
        shown = capsys.readouterr().err
        assert "no space left" in shown
        assert "noise" not in shown

    @pytest.mark.parametrize(
        ("said", "meaning"),
        [
            ("Temporary failure in name resolution", "on the internet"),
            ("HTTPSConnectionPool: Read timed out.", "on the internet"),
            ("ProxyError('Cannot connect to proxy.')", "proxy"),
            (
                "THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE",
                "not the one that the list names",
            ),
            ("No space left on device", "lines above"),
        ],
    )
    def test_explains_in_plain_words(self, said: str, meaning: str):
        assert meaning in bootstrap.explain(said)


class TestBeforeDjango:
    def test_an_old_python_is_told_what_is_needed(self):
        with pytest.raises(SystemExit, match=r"needs Python 3\.11 or newer, and this is 3\.9"):
            bootstrap.refuse_old_python((3, 9))

    def test_the_oldest_python_is_the_one_pyproject_names(self, project: dict[str, object]):
        assert project["requires-python"] == ">={}.{}".format(*bootstrap.OLDEST_PYTHON)
        bootstrap.refuse_old_python(bootstrap.OLDEST_PYTHON)

    @pytest.mark.parametrize("command", ["demo", "test"])
    def test_demo_and_tests_never_reach_the_real_workshop(
        self, monkeypatch: pytest.MonkeyPatch, command: str
    ):
        monkeypatch.setenv("SOAPSHOP_DATA", "/srv/workshop")
        monkeypatch.setenv("DATABASE_URL", "postgres://workshop@db/workshop")
        bootstrap.choose_data_folder(["manage.py", command])
        assert os.environ["SOAPSHOP_DATA"] == str(bootstrap.ROOT / f".{command}")
        assert "DATABASE_URL" not in os.environ

    @pytest.mark.parametrize("command", ["serve", "migrate"])
    def test_other_commands_keep_to_the_environment(self, monkeypatch: pytest.MonkeyPatch, command: str):
        monkeypatch.setenv("SOAPSHOP_DATA", "/srv/workshop")
        bootstrap.choose_data_folder(["manage.py", command])
        assert os.environ["SOAPSHOP_DATA"] == "/srv/workshop"

    @pytest.mark.parametrize("command", ["demo", "serve"])
    @pytest.mark.parametrize(
        "words", [["--data", "elsewhere"], ["--data=elsewhere"], ["--port", "1", "--data", "elsewhere"]]
    )
    def test_a_data_folder_can_be_given(
        self, monkeypatch: pytest.MonkeyPatch, command: str, words: list[str]
    ):
        monkeypatch.setenv("SOAPSHOP_DATA", "/srv/workshop")
        monkeypatch.setenv("DATABASE_URL", "")
        bootstrap.choose_data_folder(["manage.py", command, *words])
        assert os.environ["SOAPSHOP_DATA"] == "elsewhere"

    def test_needs_nothing_but_the_standard_library(self):
        """Isolated and without site-packages, as on a computer that has Python only."""
        told = subprocess.run(
            [
                sys.executable,
                "-I",
                "-S",
                "-c",
                "import sys; sys.path.insert(0, '.'); import soapshop.bootstrap",
            ],
            cwd=bootstrap.ROOT,
            capture_output=True,
            text=True,
            check=False,
        )
        assert told.returncode == 0, told.stderr


@pytest.fixture(scope="module")
def project() -> dict[str, object]:
    return tomllib.loads((bootstrap.ROOT / "pyproject.toml").read_text())["project"]


def pins(packages: str) -> dict[str, Requirement]:
    """The pinned packages of a list, by name as normalised by PEP 503."""
    lines = bootstrap.list_file(packages).read_text().replace("\\\n", " ").splitlines()
    listed = [Requirement(line.split("--hash")[0]) for line in lines if line and not line.startswith("#")]
    return {normalised(pin): pin for pin in listed}


def normalised(requirement: Requirement) -> str:
    return re.sub(r"[-_.]+", "-", requirement.name).lower()


class TestPinnedLists:
    @pytest.mark.parametrize(("packages", "extras"), [("base", []), ("dev", ["postgres", "dev"])])
    def test_satisfy_the_ranges_of_pyproject(self, project: dict, packages: str, extras: list[str]):
        pinned = pins(packages)
        ranges = [*project["dependencies"], *(r for e in extras for r in project["optional-dependencies"][e])]
        for wanted in map(Requirement, ranges):
            (version,) = pinned[normalised(wanted)].specifier
            assert version.operator == "=="
            assert wanted.specifier.contains(version.version), wanted

    def test_the_test_list_holds_all_that_the_app_runs_with(self):
        base, dev = pins("base"), pins("dev")
        assert len(base) > 20
        assert base.items() <= dev.items()

    @pytest.mark.parametrize("packages", ["base", "dev"])
    def test_extras_that_packages_ask_of_each_other_are_listed_too(self, packages: str):
        """Else an older pip looks for the newest version of what has the extra, and finds it unpinned."""
        pinned = pins(packages)
        asked = [
            wanted
            for pin in pinned.values()
            if pin.marker is None or pin.marker.evaluate()
            for wanted in map(Requirement, requires(pin.name) or [])
            if wanted.extras and (wanted.marker is None or wanted.marker.evaluate({"extra": ""}))
        ]
        assert asked
        assert all(wanted.extras <= pinned[normalised(wanted)].extras for wanted in asked)

    @pytest.mark.parametrize("packages", ["base", "dev"])
    def test_every_package_has_hashes(self, packages: str):
        entries = bootstrap.list_file(packages).read_text().replace("\\\n", " ").strip().splitlines()
        assert all(re.search(r"--hash=sha256:[0-9a-f]{64}( |$)", entry) for entry in entries)

    @pytest.mark.parametrize("packages", ["base", "dev"])
    def test_no_address_is_named(self, packages: str):
        assert not re.search(
            r"://|--(extra-)?index|--find-links|@", bootstrap.list_file(packages).read_text()
        )

    def test_this_python_has_what_is_listed(self):
        assert not bootstrap.lacks("base")
        assert not bootstrap.lacks("dev")
