"""The same races on PostgreSQL: collected where SOAPSHOP_TEST_POSTGRES_URL names a server to use."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

SERVER = os.environ.get("SOAPSHOP_TEST_POSTGRES_URL", "")
HERE = Path(__file__).parent

if SERVER and not os.environ.get("DATABASE_URL"):

    @pytest.mark.postgres
    def test_every_race_ends_the_same_on_postgres():
        races = [str(path) for path in sorted(HERE.glob("test_*.py")) if path != Path(__file__)]
        run = subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *races],
            cwd=HERE.parent.parent,
            env={**os.environ, "DATABASE_URL": SERVER},
            capture_output=True,
            text=True,
            check=False,
        )
        assert run.returncode == 0, run.stdout[-5000:] + run.stderr[-2000:]
