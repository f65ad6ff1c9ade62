"""All commands in one place; each is loaded when it is called."""

from __future__ import annotations

import typer

from diagnose.cli.lazily import lazy_group

__all__ = ["app"]

COMMANDS = {
    "demo": "demo:demo", "new": "keeping:new", "tryon": "tryon:tryon", "gap": "gap:gap", "takein": "gap:takein",
    "plan": "sheet:plan", "alter": "alter:alter", "sheet": "sheet:sheet", "cutting": "cutting:cutting",
    "history": "keeping:history", "back": "keeping:back", "note": "keeping:note", "batch": "batch:batch",
    "rules": "rules:rules", "card": "card:card", "workroom": "workroom:workroom",
}  # fmt: skip

app = typer.Typer(
    cls=lazy_group({name: f"diagnose.cli.commands.{place}" for name, place in COMMANDS.items()}),
    name="diagnose",
    help="From what a try-on shows to the line to draw: fit diagnosis for stays, corsets and boned bodices.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


@app.callback()
def _every() -> None:
    """All options belong to the commands."""
