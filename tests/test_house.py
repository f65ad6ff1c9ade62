"""The rooms of the house: one concept, one file, one name."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[1] / "diagnose"


def test_no_file_name_stands_twice() -> None:
    names = Counter(file.name for file in HOUSE.rglob("*.py") if not file.name.startswith("__"))
    assert [name for name, count in names.items() if count > 1] == []
