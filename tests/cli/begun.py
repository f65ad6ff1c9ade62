"""A bundled case begun in a folder: its pattern brought in and one try-on stored."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.casework.working import store_tryon

__all__ = ["begun"]


def begun(folder: Path, name: str, answers: Mapping[str, Any] | None = None) -> Path:
    """The case in the folder, after its own first try-on or after the answers given."""
    bundled = bundled_case(name)
    casebook.create(folder, bundled.pattern, date="2026-03-02", **bundled.about)
    store_tryon(folder, bundled.rounds[0].answers if answers is None else answers, "2026-03-03")
    return folder
