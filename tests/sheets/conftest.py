"""Shared by the tests of the sheets: the bundled patterns."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.pattern.outline import Pattern
from diagnose.pattern.reader import load_pattern

BUNDLED = Path(__file__).parents[2] / "cases" / "patterns"


@pytest.fixture(scope="session")
def bodies() -> Pattern:
    """The bundled one-piece bodies."""
    return load_pattern(BUNDLED / "boned-bodies.json")


@pytest.fixture(scope="session")
def corset() -> Pattern:
    """The bundled six-panel corset."""
    return load_pattern(BUNDLED / "six-panel-corset.json")
