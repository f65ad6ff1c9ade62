"""All commands in one place."""

from __future__ import annotations

import typer

from diagnose.cli import alter, batch, cutting, demo, gap, keeping, rules, sheet, tryon

__all__ = ["app"]

app = typer.Typer(
    name="diagnose",
    help="From what a try-on shows to the line to draw: fit diagnosis for stays, corsets and boned bodices.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
COMMANDS = (
    demo.demo, keeping.new, tryon.tryon, gap.gap, gap.takein, sheet.plan, alter.alter, sheet.sheet, cutting.cutting,
    keeping.history, keeping.back, batch.batch,
)  # fmt: skip
for command in COMMANDS:
    app.command()(command)
app.add_typer(rules.rules, name="rules")
