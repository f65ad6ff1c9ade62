"""Patterns shared by the tests of the outline: a plain rectangle, and a zoo of awkward outlines."""

from __future__ import annotations

from typing import Any

import pytest
from stored_forms import rectangle_json, two_panels_json, zoo

from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.outline import Pattern


@pytest.fixture
def rectangle() -> Pattern:
    """One rectangle, 200 mm wide and 300 mm high, cut as a pair."""
    return read_pattern(rectangle_json())


@pytest.fixture
def raw() -> dict[str, Any]:
    """The stored form of two straight panels sewn together, to be spoilt."""
    return two_panels_json()


@pytest.fixture(params=["lens", "comb", "bow-backed", "thin", "far away", "many steps"])
def awkward(request: pytest.FixtureRequest) -> Pattern:
    """An outline that is sound but out of the common."""
    return read_pattern(zoo()[request.param])
