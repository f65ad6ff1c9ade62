"""All commands in one place; each is loaded when it is called, for to load them all takes longer than most of them."""

from __future__ import annotations

import sys
from importlib import import_module
from typing import Any, Literal

import typer
from typer.core import TyperGroup
from typer.main import get_command

__all__ = ["COMMANDS", "app"]

COMMANDS = {
    "demo": "demo", "new": "keeping", "draft": "draft", "tryon": "trying_on", "gap": "gap", "takein": "gap",
    "plan": "sheet",
    "alter": "alter", "sheet": "sheet", "cutting": "sheet", "history": "keeping", "back": "keeping",
    "note": "keeping", "batch": "batch", "rules": "rules", "card": "laid_card", "workroom": "workroom",
    "settings": "maker", "list": "maker", "pattern": "sheet",
}  # fmt: skip
"""For each command its file in `commands`, which has a function (or a group) of its name (`list_` for list)."""


class _Commands(TyperGroup):
    """The commands, each loaded when it is called, or all for the help."""

    def __init__(self, **attributes: Any) -> None:
        super().__init__(**{**attributes, "commands": dict.fromkeys(COMMANDS)})  # the names, for near spellings

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The command; None where there is none of that name."""
        if cmd_name not in COMMANDS:
            return None
        module = import_module(f"diagnose.cli.commands.{COMMANDS[cmd_name]}")
        found = getattr(module, f"{cmd_name}_", None) or getattr(module, cmd_name)
        if not isinstance(found, typer.Typer):
            alone = _typer()
            alone.command(cmd_name)(found)
            found = alone
        command = get_command(found)
        command.name = cmd_name
        return command

    def list_commands(self, ctx: Any) -> list[str]:
        """The names, in the order in which they are shown."""
        return list(COMMANDS)


def _typer(**more: Any) -> typer.Typer:
    """An application whose help rich lays out in a terminal; piped, it is plain."""
    marked: Literal["rich"] | None = "rich" if sys.stdout.isatty() else None
    return typer.Typer(add_completion=False, rich_markup_mode=marked, pretty_exceptions_enable=False, **more)


app = _typer(
    cls=_Commands,
    name="diagnose",
    help="From what a try-on shows to the line to draw: fit diagnosis for stays, corsets and boned bodices.",
    no_args_is_help=True,
)


@app.callback()
def _every() -> None:
    """All options belong to the commands."""
