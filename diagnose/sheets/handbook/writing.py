"""Writing the handbook into a folder of its own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from diagnose.casebook.safely import PART_PREFIX, filled
from diagnose.errors import FitError
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.handbook.pages import FINDER, STYLE, TEMPLATES, count_pages, pages

__all__ = ["make_handbook"]

Progress = Callable[[int, int], None]


def make_handbook(
    base: RuleBase, folder: Path, progress: Progress | None = None, made: Callable[[Path], None] | None = None
) -> Path:
    """Write the handbook of a rule base; its front page is returned.

    Args:
        base: the rules; lengths are told in the unit of its settings.
        folder: a folder that is not there yet, is empty, or holds a handbook, which is written over.
        progress: told after each page how many are done, and of how many.
        made: told the folder beside that holds all of it, before it is moved into its place.

    Raises:
        FitError: when the folder holds something else, or can't be written.
    """
    _ready(folder)
    with filled(folder) as part:
        for name in (STYLE, FINDER):
            _write(part / name, (TEMPLATES / name).read_text(encoding="utf-8"))
        total = count_pages(base.entries)
        for done, (place, text) in enumerate(pages(base), 1):
            _write(part / place, text)
            if progress is not None:
                progress(done, total)
        if made is not None:
            made(part)
    return folder / "index.html"


def _ready(folder: Path) -> None:
    if folder.exists() and not folder.is_dir():
        raise FitError.of(
            str(folder), "This is a file, not a folder.", "Name a folder for the handbook.", code="not-a-folder"
        )
    others = [path for path in folder.iterdir() if not path.name.startswith(PART_PREFIX)] if folder.is_dir() else []
    if others and not (folder / STYLE).is_file():
        raise FitError.of(
            str(folder), "The folder holds something else.", "Name an empty folder, or a new one.", code="folder-in-use"
        )


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
