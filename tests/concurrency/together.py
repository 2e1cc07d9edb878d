"""Deeds done at the same moment, each over a database connection of its own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

from django.core.exceptions import ValidationError
from django.db import connection


def at_once(deeds: Sequence[Callable[[], object]]) -> list[object]:
    """Starts all deeds together and returns what each gave, or the ValidationError that it raised."""
    start = Barrier(len(deeds))

    def run(deed: Callable[[], object]) -> object:
        start.wait(timeout=20)
        try:
            return deed()
        except ValidationError as refused:
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(len(deeds)) as people:
        return list(people.map(run, deeds))
