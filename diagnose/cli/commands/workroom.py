"""``diagnose workroom``: the whole job in the browser of this machine, and on her telephone."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from diagnose.cli.printing import talk
from diagnose.errors import FitError

__all__ = ["in_browser", "workroom"]

FolderArgument = Annotated[Path, typer.Argument(metavar="[FOLDER]", help="The folder that your cases stand in.")]
PhoneOption = Annotated[bool, typer.Option("--phone", help="Open it to your telephone on the home network as well.")]
OpenOption = Annotated[bool, typer.Option("--open/--no-open", help="Open the browser, or only print the address.")]


def workroom(folder: FolderArgument = Path("."), phone: PhoneOption = False, open_: OpenOption = True) -> None:
    """Open the workroom: cases, try-on, plan, altering, versions and print, in the browser."""
    from urllib.parse import quote

    from diagnose.casebook.layout import CASE_NAME
    from diagnose.workroom import hold_workroom

    if not folder.is_dir():
        raise FitError.of(
            str(folder), "There is no such folder.", "Name the folder that your cases stand in.", code="no-such-folder"
        )
    folder, start = folder.resolve(), "/"
    if (folder / CASE_NAME).is_file():
        folder, start = folder.parent, f"/case/{quote(folder.name, safe='')}"
    hold_workroom(folder, talk, in_browser if open_ and has_screen() else None, start=start, phone=phone)


def has_screen() -> bool:
    """Whether a browser could be shown here; one that runs in the terminal would hide what is printed."""
    return sys.platform in ("darwin", "win32") or any(os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY"))


def in_browser(address: str) -> bool:
    """Open an address in her browser; whether that could be done."""
    import webbrowser

    try:
        return webbrowser.open(address)
    except webbrowser.Error:
        return False
