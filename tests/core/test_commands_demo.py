"""`manage.py demo` makes an invented workshop once, in a folder of its own, and never touches a real one."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError

from soapshop.bootstrap import ROOT
from soapshop.demo.sign_in import PASSWORD, USERNAME
from soapshop.management.commands.demo import DATABASE, MARK, claim


def demo(folder: Path, *options: str) -> str:
    """The output of the command as someone would start it, without serving."""
    unset = {"DJANGO_SETTINGS_MODULE", "SOAPSHOP_HOSTS"}
    ended = subprocess.run(
        [sys.executable, "manage.py", "demo", "--no-serve", "--data", str(folder), *options],
        cwd=ROOT,
        env={name: value for name, value in os.environ.items() if name not in unset},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    return ended.stdout


def count(folder: Path, table: str) -> int:
    with sqlite3.connect(folder / DATABASE) as connection:
        found: int = connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0]  # noqa: S608
    connection.close()
    return found


def test_the_demo_is_made_once_and_anew_only_if_asked(tmp_path):
    first = demo(tmp_path)
    batches = count(tmp_path, "batches_batch")
    assert "Poured batch" in first
    assert f"{USERNAME}  with the password  {PASSWORD}" in first
    assert batches > 1

    assert "Poured batch" not in demo(tmp_path)
    assert count(tmp_path, "batches_batch") == batches

    assert "Poured batch" in demo(tmp_path, "--fresh")
    assert count(tmp_path, "batches_batch") == batches


@pytest.mark.parametrize("fresh", [True, False])
def test_a_real_workshop_is_never_touched(tmp_path, fresh):
    (tmp_path / DATABASE).write_text("years of work")
    (tmp_path / "media").mkdir()
    with pytest.raises(CommandError, match="holds a workshop already"):
        claim(tmp_path, fresh=fresh)
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["media", DATABASE]


def test_beginning_anew_removes_the_demos_files_only(tmp_path):
    claim(tmp_path, fresh=False)
    for name in (DATABASE, f"{DATABASE}-wal", "letter.txt"):
        (tmp_path / name).touch()
    (tmp_path / "media").mkdir()
    claim(tmp_path, fresh=True)
    assert sorted(entry.name for entry in tmp_path.iterdir()) == [MARK, "letter.txt"]
