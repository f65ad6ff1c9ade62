"""Writing commands killed at random: the short form of ``python tests/faults/killing.py --kills 1000``."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest
from killing import kill_often

KILLS = 3


@pytest.mark.long
@pytest.mark.parametrize("name", ["new", "tryon", "alter", "questions", "sheet.html"])
def test_a_command_killed_at_any_instant_loses_nothing_and_is_not_in_its_own_way(name: str, tmp_path: Path) -> None:
    assert kill_often(name, KILLS, Random(f"{name} 3"), tmp_path) > 0
