"""`manage.py test` runs every check, whatever the one before it said, and pytest last."""

import io
import sys

import pytest
from django.core.management import call_command, get_commands

from soapshop.management.commands import test as command
from soapshop.management.commands.test import Step, chosen_steps

FINE = Step("lint", "Lint", ["-c", ""])
BROKEN = Step("format", "Format", ["-c", "raise SystemExit(2)"])
LAST = Step("types", "Types", ["-c", "import os; assert os.environ['SEEN'] == 'yes'"], {"SEEN": "yes"})


def run(monkeypatch: pytest.MonkeyPatch, *steps: Step, pytest_says: str = "") -> str:
    """The output of the command with these steps in place of the real ones."""
    monkeypatch.setattr(command, "CHECKS", list(steps))
    monkeypatch.setattr(command, "EVERY_TEST", ["-c", pytest_says])
    out = io.StringIO()
    call_command("test", stdout=out)
    return out.getvalue()


def test_takes_the_place_of_djangos_own():
    assert get_commands()["test"] == "soapshop"


def test_pytest_comes_last():
    assert [step.name for step in chosen_steps([], [])] == command.NAMES
    assert command.NAMES[-1] == "pytest"


def test_one_step_can_be_chosen():
    assert [step.name for step in chosen_steps(["types", "lint"], [])] == ["lint", "types"]


def test_arguments_for_pytest_reach_it_alone_and_ask_for_no_coverage():
    (step,) = chosen_steps([], ["tests/core", "-k", "demo"])
    assert step.arguments == ["-m", "pytest", "tests/core", "-k", "demo"]


def test_the_whole_run_demands_coverage():
    assert "--cov" in chosen_steps(["pytest"], [])[0].arguments


def test_all_that_passes_is_ok(monkeypatch: pytest.MonkeyPatch):
    summary = run(monkeypatch, FINE, LAST).split("Summary")[1]
    assert summary.count(" ok ") == 3
    assert "FAILED" not in summary


def test_a_failure_stops_nothing_and_counts_at_the_end(monkeypatch: pytest.MonkeyPatch, tmp_path):
    ran = tmp_path / "ran"
    pytest_says = f"open({str(ran)!r}, 'w').close()"
    with pytest.raises(SystemExit) as ended:
        run(monkeypatch, FINE, BROKEN, LAST, pytest_says=pytest_says)
    assert ended.value.code == 1
    assert ran.exists()


def test_a_failure_of_pytest_alone_fails(monkeypatch: pytest.MonkeyPatch):
    with pytest.raises(SystemExit):
        run(monkeypatch, FINE, pytest_says="raise SystemExit(5)")


def test_an_unknown_step_is_refused(capsys: pytest.CaptureFixture[str]):
    with pytest.raises(SystemExit):
        command.Command().run_from_argv(["manage.py", "test", "--only", "luck"])
    assert "luck" in capsys.readouterr().err


def test_the_steps_find_their_own_settings(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("DJANGO_SETTINGS_MODULE", "soapshop.settings")
    seen = "import os; assert 'DJANGO_SETTINGS_MODULE' not in os.environ"
    run(monkeypatch, FINE, pytest_says=seen)


def test_the_steps_run_with_this_python(monkeypatch: pytest.MonkeyPatch):
    run(monkeypatch, Step("lint", "Lint", ["-c", f"import sys; assert sys.executable == {sys.executable!r}"]))
