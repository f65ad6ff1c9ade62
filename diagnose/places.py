"""Where the bundled rules and cases stand: in the checkout, or inside the installed package."""

from __future__ import annotations

from pathlib import Path

from diagnose.errors import FitError

__all__ = ["bundled_cases", "bundled_rules", "check_rules_folder"]

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


def check_rules_folder(folder: Path) -> None:
    """Refuse a folder of rules that is not there."""
    if not folder.is_dir():
        what, do = "There is no such folder of rules.", "Name a folder that holds facts.yaml."
        raise FitError.of(str(folder), what, do, code="no-such-folder")
