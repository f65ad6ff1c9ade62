"""The tests of photographs need OpenCV, and poppler to print the card that they lay on their tables."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

# Threads of the library's own wait for one another where several tests run side by side.
pytest.importorskip("cv2").setNumThreads(1)


@pytest.fixture(scope="session", autouse=True)
def _printed() -> None:
    """Cards are printed, for the camera, by Debian's poppler."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("poppler-utils is not installed")
