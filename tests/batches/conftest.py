"""A workshop with everything that a pour takes, and a batch that is planned in it."""

from __future__ import annotations

import pytest

from batches.models import Batch
from tests.batches.bench import Bench, bench


@pytest.fixture
def shop(db: None) -> Bench:
    return bench()


@pytest.fixture
def batch(shop: Bench) -> Batch:
    return shop.plan()
