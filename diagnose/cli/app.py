"""All commands in one place."""

from __future__ import annotations

import typer

from diagnose.cli import alter, batch, gap, rules

__all__ = ["app"]

app = typer.Typer(
    name="diagnose",
    help="From what a try-on shows to the line to draw: fit diagnosis for stays, corsets and boned bodices.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
for command in (gap.gap, gap.takein, batch.batch, alter.alter):
    app.command()(command)
app.add_typer(rules.rules, name="rules")
