from __future__ import annotations

from pathlib import Path

import pytest

from soapshop.authority import Authority


@pytest.fixture
def authority(tmp_path: Path) -> Authority:
    return Authority(tmp_path / "tls")
