"""From every released state, with a workshop in it, to the newest: no row is lost and nothing in one changes."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import connections
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.state import StateApps

from soapshop.environment import database
from tests.migrations.released import RELEASED, fill

OURS = ("core", "inventory", "recipes", "batches")
DATABASE = "released"
NOT_OURS_TO_FILL = {"core.User_groups", "core.User_user_permissions"}
SERVER = os.environ.get("SOAPSHOP_TEST_POSTGRES_URL", "")
ON_SERVER = [pytest.param(SERVER, id="postgres", marks=pytest.mark.postgres)] if SERVER else []
# Each worker of a parallel run has a schema of its own on the server that they share.
SCHEMA = f"soapshop_released_{os.environ.get('PYTEST_XDIST_WORKER', 'alone')}"

BEFORE_PORTIONS = RELEASED["what goes in, and when"]
WITH_PORTIONS = [
    ("core", "0004_document"),
    ("inventory", "0004_certificates"),
    ("recipes", "0003_look_and_moulds"),
    ("batches", "0004_jugs_and_colour"),
]
NEW_WITH_PORTIONS = {
    "inventory.Material": {"piece_grams": None, "piece_length": None},
    "recipes.Version": {"picture": {}, "mould_id": None},
    "batches.Batch": {"picture": {}},
    "batches.Weighing": {"jug_id": None},
    "batches.Cure": {"filled_height": None, "bars_weight": None},
    "batches.CureNote": {"scent": ""},
}


@pytest.fixture(params=[pytest.param("", id="sqlite"), *ON_SERVER])
def executor(request: pytest.FixtureRequest, tmp_path: Path, django_db_blocker: Any) -> Iterator[MigrationExecutor]:
    """Migrates a database of its own: a file, or a schema of the server's."""
    options = {"options": f"-c search_path={SCHEMA}"} if request.param else {}
    connections.databases[DATABASE] = {
        **connections.databases["default"],
        **database(request.param or f"sqlite://{tmp_path}/released.sqlite3", tmp_path),
        "OPTIONS": options,
    }
    with django_db_blocker.unblock():
        if request.param:
            _run(f"DROP SCHEMA IF EXISTS {SCHEMA} CASCADE", f"CREATE SCHEMA {SCHEMA}")
        yield MigrationExecutor(connections[DATABASE])
        if request.param:
            _run(f"DROP SCHEMA {SCHEMA} CASCADE")
        connections[DATABASE].close()
    del connections[DATABASE]
    del connections.databases[DATABASE]


def _run(*statements: str) -> None:
    with connections[DATABASE].cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def rows(apps: StateApps) -> dict[str, dict[Any, dict[str, Any]]]:
    """All rows of our tables, by model and primary key."""
    return {
        model._meta.label: {row["pk"]: row for row in model.objects.using(DATABASE).values("pk", *_columns(model))}
        for model in apps.get_models(include_auto_created=True)
        if model._meta.app_label in OURS
    }


def _columns(model: Any) -> list[str]:
    return [field.attname for field in model._meta.concrete_fields]


def migrate(executor: MigrationExecutor, targets: list[tuple[str, str]]) -> StateApps:
    executor.loader.build_graph()
    executor.migrate(targets)
    return executor.loader.project_state(targets).apps


def filled(executor: MigrationExecutor, release: list[tuple[str, str]]) -> dict[str, dict[Any, dict[str, Any]]]:
    """The rows of a workshop of that release, some in every table."""
    then = migrate(executor, release)
    fill(then, DATABASE)
    before = rows(then)
    assert {label for label, found in before.items() if not found} == NOT_OURS_TO_FILL
    return before


@pytest.mark.parametrize("release", RELEASED)
def test_a_workshop_of_a_release_arrives_whole_and_keeps_the_newest_constraints(
    executor: MigrationExecutor, release: str
):
    before = filled(executor, RELEASED[release])

    newest = migrate(executor, executor.loader.graph.leaf_nodes())

    after = rows(newest)
    for label, found in before.items():
        kept = {pk: {name: after[label][pk][name] for name in row} for pk, row in found.items()}
        assert kept == found, label
        assert set(after[label]) == set(found), label
    for model in newest.get_models():
        if model._meta.app_label in OURS:
            for row in model.objects.using(DATABASE).all():
                row.validate_constraints()
    connections[DATABASE].check_constraints()


def test_what_portions_brought_is_empty_in_rows_from_before_and_without_them_one_can_go_back(
    executor: MigrationExecutor,
):
    before = filled(executor, BEFORE_PORTIONS)

    after = rows(migrate(executor, WITH_PORTIONS))

    new: dict[str, dict[str, Any]] = {}
    for label, found in before.items():
        for pk, row in found.items():
            if added := {name: value for name, value in after[label][pk].items() if name not in row}:
                assert new.setdefault(label, added) == added
    assert new == NEW_WITH_PORTIONS
    assert [label for label in after if label not in before and after[label]] == []

    assert rows(migrate(executor, BEFORE_PORTIONS)) == before
