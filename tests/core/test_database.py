"""The database as the app really opens it."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, connection, transaction

from soapshop.core.models import Workshop
from tests.factories import UserFactory

sqlite_only = pytest.mark.skipif("connection.vendor != 'sqlite'", reason="pragmas are SQLite's")


def pragma(name: str) -> object:
    with connection.cursor() as cursor:
        return cursor.execute(f"PRAGMA {name}").fetchone()[0]


@sqlite_only
@pytest.mark.parametrize(
    ("name", "value"),
    [("journal_mode", "wal"), ("foreign_keys", 1), ("busy_timeout", 10_000), ("synchronous", 1)],
)
def test_the_live_connection_has_the_pragmas(db, name, value):
    assert pragma(name) == value


@sqlite_only
def test_a_transaction_takes_its_lock_at_once():
    assert connection.settings_dict["OPTIONS"]["transaction_mode"] == "IMMEDIATE"
    assert not connection.settings_dict["ATOMIC_REQUESTS"]


@sqlite_only
def test_the_tests_run_on_a_file(db):
    assert "memory" not in str(connection.settings_dict["NAME"])


@pytest.mark.parametrize(
    "bad",
    [
        {"pk": 2},
        {"pk": 1, "watch_from": 0},
        {"pk": 1, "watch_from": 20, "stop_from": 15},
        {"pk": 1, "stop_from": 51},
        {"pk": 1, "scale_step": 0},
    ],
)
def test_the_database_itself_refuses_settings_that_are_wrong(db, bad):
    with pytest.raises(IntegrityError), transaction.atomic():
        Workshop.objects.create(**bad)


def test_the_database_itself_refuses_a_role_that_is_none(db):
    with pytest.raises(IntegrityError), transaction.atomic():
        UserFactory(role="boss")
