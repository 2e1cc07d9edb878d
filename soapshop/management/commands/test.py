"""`manage.py test`: everything that must hold, one step after the other."""

import os
import subprocess
import sys
import time
from argparse import ArgumentParser
from dataclasses import dataclass, field
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand

DEPLOYED = {
    "SOAPSHOP_DEBUG": "0",
    "SOAPSHOP_TLS": "1",
    "SOAPSHOP_BEHIND_PROXY": "1",
    "SOAPSHOP_HOSTS": "soap.example",
}
LINT_IMPORTS = "from importlinter.cli import lint_imports_command; lint_imports_command()"


@dataclass(frozen=True)
class Step:
    """One thing that is checked, by a command for Python."""

    name: str
    what: str
    arguments: list[str]
    environment: dict[str, str] = field(default_factory=dict)


CHECKS = [
    Step("lint", "Lint", ["-m", "ruff", "check", "."]),
    Step("format", "Format", ["-m", "ruff", "format", "--check", "."]),
    Step("types", "Types", ["-m", "mypy"]),
    Step("imports", "Import rules", ["-c", LINT_IMPORTS]),
    Step("templates", "Templates", ["-m", "djhtml", "--check", "--tabwidth", "2", "templates"]),
    Step("migrations", "Missing migrations", ["manage.py", "makemigrations", "--check", "--dry-run"]),
    Step("deploy", "Deployment", ["manage.py", "check", "--deploy", "--fail-level", "WARNING"], DEPLOYED),
]
EVERY_TEST = ["-m", "pytest", "-n", "2", "--dist", "loadgroup", "--cov", "--cov-report=term-missing"]
SOME_TESTS = ["-m", "pytest"]
NAMES = [*(step.name for step in CHECKS), "pytest"]


@dataclass(frozen=True)
class Result:
    """How a step ended."""

    step: Step
    passed: bool
    seconds: float


class Command(BaseCommand):
    """Check everything that must hold: lint, format, types, import rules, templates, migrations, tests."""

    help = "Check everything that must hold. What follows -- goes to pytest, and then only pytest runs."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--only", metavar="NAME", action="append", choices=NAMES, help=", ".join(NAMES))
        parser.add_argument("pytest_arguments", nargs="*", help="for pytest, after --")

    def handle(self, *, only: list[str] | None, pytest_arguments: list[str], **options: Any) -> None:
        results = [self.run_step(step) for step in chosen_steps(only or [], pytest_arguments)]
        self.stdout.write("\nSummary")
        for result in results:
            verdict = "ok" if result.passed else "FAILED"
            self.stdout.write(f"  {result.step.what:<20} {verdict:<7} {result.seconds:6.1f} s")
        if not all(result.passed for result in results):
            sys.exit(1)

    def run_step(self, step: Step) -> Result:
        """Run it with its output as it comes. Each tool finds its own settings, pytest those of the tests."""
        self.stdout.write(f"\n=== {step.what}", self.style.MIGRATE_HEADING)
        self.stdout.flush()
        inherited = {name: value for name, value in os.environ.items() if name != "DJANGO_SETTINGS_MODULE"}
        start = time.monotonic()
        ended = subprocess.run(  # noqa: S603
            [sys.executable, *step.arguments],
            cwd=settings.BASE_DIR,
            env={**inherited, **step.environment},
            check=False,
        )
        return Result(step, ended.returncode == 0, time.monotonic() - start)


def chosen_steps(only: list[str], pytest_arguments: list[str]) -> list[Step]:
    """The steps to run, pytest last. With arguments for pytest: just pytest, and no demand on coverage."""
    if pytest_arguments and not only:
        only = ["pytest"]
    tests = Step("pytest", "Tests", [*SOME_TESTS, *pytest_arguments] if pytest_arguments else EVERY_TEST)
    return [step for step in [*CHECKS, tests] if not only or step.name in only]
