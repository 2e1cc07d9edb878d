"""manage.py makemessages: collect every message into the language files. Needs GNU gettext."""

from __future__ import annotations

import contextlib
import re
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.commands import makemessages


class Command(makemessages.Command):
    """Django's command, kept to what is worth a line in the history: no dates, no line numbers, no wrapping.

    It finds the sentences of `shared` too, which are marked by what they are and not by gettext.
    """

    xgettext_options = [
        *makemessages.Command.xgettext_options,
        "--keyword=Phrase",
        "--keyword=UnitError",
    ]

    def handle(self, *args: Any, **options: Any) -> None:
        options |= {"no_wrap": True, "no_obsolete": True, "add_location": "file"}
        options["ignore_patterns"] = [*options["ignore_patterns"], "tests"]
        with contextlib.chdir(settings.BASE_DIR):
            super().handle(*args, **options)

    def write_po_file(self, potfile: str, locale: str) -> None:
        super().write_po_file(potfile, locale)
        file = Path(potfile).parent / locale / "LC_MESSAGES" / f"{self.domain}.po"
        words = file.read_text(encoding="utf-8")
        file.write_text(re.sub(r'^"POT-Creation-Date: .*\n', "", words, flags=re.MULTILINE), encoding="utf-8")
