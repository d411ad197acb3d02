"""A shop's repository for each test, and no settings of this machine."""

from pathlib import Path

import pytest
from kept_history import KeptHistory, without_own_configuration


@pytest.fixture
def history(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> KeptHistory:
    without_own_configuration(monkeypatch, tmp_path)
    return KeptHistory(tmp_path / "shop")
