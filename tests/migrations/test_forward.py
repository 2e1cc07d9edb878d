"""From every released state, with a workshop in it, to the newest: no row is lost and nothing in one changes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import connections
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.state import StateApps

from tests.migrations.released import RELEASED, fill

OURS = ("core", "inventory", "recipes", "batches")
DATABASE = "released"


@pytest.fixture
def executor(tmp_path: Path, django_db_blocker: Any) -> Iterator[MigrationExecutor]:
    """Migrates a database of its own, in a file."""
    connections.databases[DATABASE] = {
        **connections.databases["default"],
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(tmp_path / "released.sqlite3"),
        "OPTIONS": {},
    }
    with django_db_blocker.unblock():
        yield MigrationExecutor(connections[DATABASE])
        connections[DATABASE].close()
    del connections[DATABASE]
    del connections.databases[DATABASE]


def rows(apps: StateApps) -> dict[str, dict[Any, dict[str, Any]]]:
    """All rows of our tables, by model and primary key."""
    return {
        model._meta.label: {row["pk"]: row for row in model.objects.using(DATABASE).values("pk", *_columns(model))}
        for model in apps.get_models()
        if model._meta.app_label in OURS
    }


def _columns(model: Any) -> list[str]:
    return [field.attname for field in model._meta.concrete_fields]


def migrate(executor: MigrationExecutor, targets: list[tuple[str, str]]) -> StateApps:
    executor.loader.build_graph()
    executor.migrate(targets)
    return executor.loader.project_state(targets).apps


@pytest.mark.parametrize("release", RELEASED)
def test_a_workshop_of_a_release_arrives_whole_and_keeps_the_newest_constraints(
    executor: MigrationExecutor, release: str
):
    then = migrate(executor, RELEASED[release])
    fill(then, DATABASE)
    before = rows(then)
    assert [label for label, found in before.items() if not found] == []

    newest = migrate(executor, executor.loader.graph.leaf_nodes())

    after = rows(newest)
    for label, found in before.items():
        kept = {pk: {name: after[label][pk][name] for name in row} for pk, row in found.items()}
        assert kept == found, label
    for model in newest.get_models():
        if model._meta.app_label in OURS:
            for row in model.objects.using(DATABASE).all():
                row.validate_constraints()
    connections[DATABASE].check_constraints()
