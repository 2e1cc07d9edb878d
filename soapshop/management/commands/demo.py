"""`manage.py demo`: an invented workshop to look around in."""

from argparse import ArgumentParser
from pathlib import Path
from shutil import rmtree
from typing import Any

from django.conf import settings
from django.core.management import CommandError

from soapshop.demo.sign_in import PASSWORD, USERNAME
from soapshop.demo.story import make_demo
from soapshop.serving.command import ServingCommand

MARK = "invented-demo-workshop"
DATABASE = "soapshop.sqlite3"


class Command(ServingCommand):
    """Make an invented demo workshop and serve it."""

    help = "Make an invented demo workshop in a folder of its own and serve it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--fresh", action="store_true", help="begin the demo anew")

    def make_ready(self, **options: Any) -> None:
        claim(settings.DATA_DIR, fresh=options["fresh"])
        self.stdout.write("Getting the demo workshop ready ...")
        super().make_ready(**options)
        make_demo(self.stdout.write)
        self.stdout.write(f"\n  Everything in it is invented. It lives in {settings.DATA_DIR}.")

    def way_in(self) -> str:
        return f"\n  Sign in as  {USERNAME}  with the password  {PASSWORD}"


def claim(folder: Path, *, fresh: bool) -> None:
    """Mark the folder as the demo's, and empty it if asked to.

    Raises CommandError if the folder holds a workshop that is not the demo's: that one is never touched.
    """
    mark = folder / MARK
    if not mark.exists() and (folder / DATABASE).exists():
        raise CommandError(
            f"{folder} holds a workshop already. Give the demo a folder of its own: --data DIR"
        )
    mark.write_text("This folder holds an invented workshop. It may be deleted.\n", encoding="utf-8")
    if fresh:
        for file in folder.glob(f"{DATABASE}*"):
            file.unlink()
        rmtree(folder / "media", ignore_errors=True)
