"""Shared by the tests of faults: a room with a case in it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from killing import prepared


@pytest.fixture(scope="session")
def model(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return prepared(tmp_path_factory.mktemp("fire") / "model")


@pytest.fixture
def room(model: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(model, tmp_path / "room"))
