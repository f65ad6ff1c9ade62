"""Where the bundled rules and cases stand, in the checkout or inside the installed package; and folders of her own."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from diagnose.errors import FitError

__all__ = ["bundled_cases", "bundled_rules", "check_rules_folder", "own_folder"]

PACKAGE = Path(__file__).resolve().parent


def _bundled(name: str) -> Path:
    shipped = PACKAGE / "_data" / name
    return shipped if shipped.is_dir() else PACKAGE.parent / name


def bundled_rules() -> Path:
    """The folder of the bundled rule base."""
    return _bundled("rules")


def bundled_cases() -> Path:
    """The folder of the bundled cases and patterns."""
    return _bundled("cases")


def own_folder(of_kind: Callable[..., str]) -> Path:
    """Her own folder for what this program keeps; nowhere, where the machine does not say whole where she is at home.

    Args:
        of_kind: that of platformdirs for the kind of folder.
    """
    name = "diagnose-fit"
    try:
        folder = Path(of_kind(name, appauthor=False))
    except RuntimeError:  # it knows no home, as for a user whom the machine has no entry of
        folder = Path()
    return folder if folder.is_absolute() else Path(os.devnull, name)


def check_rules_folder(folder: Path) -> None:
    """Refuse a folder of rules that is not there."""
    if not folder.is_dir():
        what, do = "There is no such folder of rules.", "Name a folder that holds facts.yaml."
        raise FitError.of(str(folder), what, do, code="no-such-folder")
