"""What of a version's cutting list is cut already: ticks that last."""

from __future__ import annotations

from typing import Any

from diagnose.casebook import Case
from diagnose.casebook.jsonfile import json_text, read_object
from diagnose.casebook.lock import locked
from diagnose.casebook.safely import write_text
from diagnose.errors import FitError

__all__ = ["ticked", "with_ticks"]

NAME = "cutting-ticks.json"
MOST = 500


def ticked(case: Case, version: int) -> frozenset[str]:
    """The lines of a version's cutting list that she has ticked."""
    return frozenset(_read(case).get(str(version), ()))


def with_ticks(case: Case, version: int, lines: frozenset[str]) -> None:
    """Keep which lines are ticked.

    Raises:
        FitError: when they can't be kept.
    """
    with locked(case.folder):
        kept = {**_read(case), str(version): sorted(lines)[:MOST]}
        value = {"format": "fit-cutting-ticks", "version": 1, "ticked": kept}
        write_text(case.folder / NAME, json_text(value, NAME))


def _read(case: Case) -> dict[str, list[str]]:
    """All ticks by version; none where there is no such file, or it is not as written: they are soon set again."""
    try:
        raw: Any = read_object(case.folder / NAME, NAME).get("ticked")
    except FitError:
        return {}
    rows = raw if isinstance(raw, dict) else {}
    return {str(key): [str(one) for one in value] for key, value in rows.items() if isinstance(value, list)}
