"""What the tests of photographs share: a small pattern laid beside a card, rendered once."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

pytest.importorskip("cv2")
if shutil.which("pdftoppm") is None:
    collect_ignore_glob = ["test_*.py"]


@pytest.fixture(scope="session")
def taken() -> dict[str, bytes]:
    """Photographs already rendered, by what they show."""
    return {}
