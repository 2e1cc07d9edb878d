"""What README and DEVELOPERS.md name exists, and what must be named is."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import get_commands

ROOT = Path(settings.BASE_DIR)
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
PACKAGES = ("soapshop", "shared", "inventory", "recipes", "batches", "tests")


def code() -> str:
    files = [*ROOT.glob(".ci/*"), *(file for package in PACKAGES for file in (ROOT / package).rglob("*.py"))]
    return "\n".join(file.read_text() for file in files if file != Path(__file__))


def test_every_setting_is_listed_and_every_listed_setting_is_read():
    listed = set(re.findall(r"^\| `(\w+)` \|", DEVELOPERS, re.M))
    read = set(re.findall(r"\b(SOAPSHOP_[A-Z_]+|DATABASE_URL)\b", code()))

    assert listed == read


def test_readme_names_only_settings_that_are_listed():
    named = set(re.findall(r"\b(SOAPSHOP_[A-Z_]+|DATABASE_URL)\b", README))

    assert named <= set(re.findall(r"^\| `(\w+)` \|", DEVELOPERS, re.M))


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_command_exists(text):
    commands = set(re.findall(r"manage\.py (\w+)", text))

    assert commands <= set(get_commands())
    assert commands


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_link_and_every_path_leads_somewhere(text):
    links = re.findall(r"\]\((?!https?:)([^)#]+)\)", text)
    paths = re.findall(r"`((?:soapshop|shared|inventory|recipes|batches|templates|tests)/[\w./-]*)`", text)

    assert [each for each in [*links, *paths] if not (ROOT / each).exists()] == []


def test_nothing_is_visible_at_the_top_beside_the_house():
    house = {
        "README.md", "DEVELOPERS.md", "manage.py", "pyproject.toml",
        "soapshop", "recipes", "batches", "inventory", "templates", "tests", "shared",
    }  # fmt: skip
    ignored = {"test-results", "build", "dist", "htmlcov"}

    assert {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} - ignored == house
