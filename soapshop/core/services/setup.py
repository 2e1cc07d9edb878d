"""The first visit: who started the server proves it with a code from its terminal, and becomes the owner."""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
from pathlib import Path

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from soapshop.core import queries
from soapshop.core.models import Role, User
from soapshop.core.services import people
from soapshop.core.services.history import record
from soapshop.core.services.workshop import check, locked_workshop

ALPHABET = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"  # nothing that is misread: I L O 0 1
GROUPS, GROUP_LENGTH = 3, 4
MOST_TRIES = 10

WRONG_CODE = _("This is not the code. Look again in the terminal where the server was started.")
CODE_SPENT = _("There were too many wrong codes. Start the server again: it prints a new one.")


def ensure_setup_code() -> str | None:
    """A new one-time code, to be printed at start; None once the workshop has an account.

    Only its hash is kept, in the data folder and not in the database, so that no backup or copy of the
    database carries it. An earlier code stops working.
    """
    if queries.anyone_here():
        _code_file().unlink(missing_ok=True)
        return None
    groups = ("".join(secrets.choice(ALPHABET) for _ in range(GROUP_LENGTH)) for _ in range(GROUPS))
    code = "-".join(groups)
    _write(_hash(code), tries=0)
    return code


def is_open() -> bool:
    """Whether the workshop still waits for its first owner."""
    return not queries.anyone_here()


def set_up(*, code: str, workshop_name: str, username: str, name: str, password: str) -> User:
    """Spend the code: name the workshop and make its first owner.

    Raises ValidationError beside the field that is wrong; the code stays good then, unless it was the code.
    """
    _check_code(code)
    owner = found(workshop_name=workshop_name, username=username, name=name, password=password)
    _code_file().unlink(missing_ok=True)
    return owner


@transaction.atomic
def found(*, workshop_name: str, username: str, name: str, password: str) -> User:
    """Name the workshop and make its first owner, by someone at the terminal. Refused once there is one."""
    workshop = locked_workshop()  # the second of two first visits waits here
    if queries.anyone_here():
        raise ValidationError(gettext("The workshop is already set up. Sign in instead."))
    workshop.name = workshop_name
    try:
        check(workshop)
    except ValidationError as error:
        raise ValidationError({"workshop_name": error.messages}) from error
    workshop.save(update_fields=["name"])
    owner = people.new_account(username=username, name=name, role=Role.OWNER, password=password)
    record(by=owner, subject=workshop, what=gettext("Set up %(workshop)s") % {"workshop": workshop})
    return owner


def _check_code(code: str) -> None:
    try:
        kept = json.loads(_code_file().read_text())
    except FileNotFoundError:
        raise ValidationError({"code": CODE_SPENT}) from None
    if hmac.compare_digest(kept["hash"], _hash(code)):
        return
    if kept["tries"] + 1 >= MOST_TRIES:
        _code_file().unlink(missing_ok=True)
        raise ValidationError({"code": CODE_SPENT})
    _write(kept["hash"], tries=kept["tries"] + 1)
    raise ValidationError({"code": WRONG_CODE})


def _hash(code: str) -> str:
    """Codes are long and random, so a plain hash is enough. Case, spaces and dashes do not matter."""
    plain = "".join(letter for letter in code.upper() if letter.isalnum())
    return hashlib.sha256(plain.encode()).hexdigest()


def _code_file() -> Path:
    return Path(settings.DATA_DIR) / "setup-code"


def _write(code_hash: str, *, tries: int) -> None:
    path = _code_file()
    new = path.with_suffix(".new")
    with os.fdopen(os.open(new, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
        json.dump({"hash": code_hash, "tries": tries}, file)
    new.replace(path)
