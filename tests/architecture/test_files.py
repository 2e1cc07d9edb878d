"""Every file keeps to its part: what views, queries, services and templates may hold."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
APPS = [ROOT / "soapshop" / "core", ROOT / "inventory", ROOT / "recipes", ROOT / "batches"]
WRITING = {
    "save",
    "create",
    "bulk_create",
    "bulk_update",
    "get_or_create",
    "update_or_create",
    "delete",
    "select_for_update",
}
LONGEST_VIEW = 25
LONGEST_FILE = 400


def files(part: str) -> list[Path]:
    """The modules of one part, such as 'views', in every app: a file of that name, or a folder of them."""
    return [
        path
        for app in APPS
        for path in [*app.glob(f"{part}.py"), *(app / part).glob("*.py")]
        if path.exists()
    ]


def calls(path: Path) -> Iterator[tuple[str, int]]:
    """The names of all methods called in a module, with their lines."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            yield node.func.attr, node.lineno


def functions(path: Path) -> Iterator[ast.FunctionDef]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.FunctionDef):
            yield node


def imports(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
    return found


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("part", ["views", "queries", "forms"])
def test_only_services_write(part):
    assert len(files(part)) >= 4
    assert [
        (named(path), line, call) for path in files(part) for call, line in calls(path) if call in WRITING
    ] == []


def test_a_view_is_short():
    long = [
        (named(path), function.name)
        for path in files("views")
        for function in functions(path)
        if length(function) > LONGEST_VIEW
    ]

    assert long == []


def length(function: ast.FunctionDef) -> int:
    """Lines of a function, without its decorators and docstring."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    last = function.end_lineno or 0
    return last - body[0].lineno + 2 if body else 0


def test_services_know_nothing_of_pages():
    forbidden = (
        "django.http",
        "django.shortcuts",
        "django.template",
        "django.contrib.messages",
        "django.forms",
    )

    assert [
        (named(path), name)
        for path in files("services")
        for name in imports(path)
        if name.startswith(forbidden)
    ] == []


def test_queries_and_models_know_nothing_of_requests():
    forbidden = ("django.http", "django.shortcuts", "django.contrib.messages")
    paths = [*files("queries"), *files("models")]

    assert [
        (named(path), name) for path in paths for name in imports(path) if name.startswith(forbidden)
    ] == []


def test_a_service_takes_its_arguments_by_name():
    positional = [
        (named(path), node.name)
        for path in files("services")
        for node in ast.parse(path.read_text()).body
        if isinstance(node, ast.FunctionDef)
        and any(argument.arg == "by" for argument in [*node.args.args, *node.args.kwonlyargs])
        and not node.name.startswith("_")
        and "by" in [argument.arg for argument in node.args.args]
    ]

    assert positional == []


def test_models_have_no_rules_in_save_and_nobody_listens_for_signals():
    assert [named(path) for path in files("models") if "def save(" in path.read_text()] == []
    sources = [path for app in APPS for path in app.rglob("*.py")]
    assert [named(path) for path in sources if "django.db.models.signals" in imports(path)] == []


def test_no_file_grows_beyond_what_one_reads_at_a_sitting():
    sources = [
        path
        for folder in [*APPS, ROOT / "shared"]
        for path in folder.rglob("*.py")
        if "migrations" not in path.parts
    ]

    assert [named(path) for path in sources if len(path.read_text().splitlines()) > LONGEST_FILE] == []


# --- templates ----------------------------------------------------------------------------------------------

TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
BLOCKED = re.compile(r"<style\b|<script(?![^>]*\bsrc=)|\sstyle=|\son[a-z]+=[\"']|javascript:|\bhx-on\b", re.I)


def test_no_template_has_script_or_style_of_its_own():
    assert len(TEMPLATES) > 30
    assert [named(path) for path in TEMPLATES if BLOCKED.search(path.read_text())] == []


@pytest.mark.parametrize(
    "bad", ["<p style='x'>", "<script>1</script>", '<a onclick="x">', "<style>", '<a href="javascript:x">']
)
def test_the_search_for_them_would_find_them(bad):
    assert BLOCKED.search(bad)


def test_nothing_is_marked_safe_in_a_template_but_the_help_texts_of_fields():
    marked = [
        named(path) for path in TEMPLATES if re.search(r"\|\s*safe\b|autoescape\s+off", path.read_text())
    ]

    assert [path for path in marked if "components/field" not in path] == []


def test_every_form_that_is_posted_carries_its_token():
    without = [
        named(path)
        for path in TEMPLATES
        for form in re.findall(r"<form\b.*?</form>", path.read_text(), re.S | re.I)
        if re.search(r'method="post"', form, re.I) and "csrf_token" not in form
    ]

    assert without == []
