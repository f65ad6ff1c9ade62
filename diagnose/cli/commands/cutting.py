"""``diagnose cutting``: what to cut for the newest pattern version: bones, busk, lace, tape, binding, straps, cloth."""

from __future__ import annotations

from typing import Annotated

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show

__all__ = ["cutting"]

SinceOption = Annotated[
    int | None,
    typer.Option(
        "--since",
        metavar="N",
        parser=o.whole("--since", 1),
        help="The version that bones were last cut for; the one before.",
    ),
]


def cutting(case: o.CaseArgument, since: SinceOption = None, json: o.Json = False) -> None:
    """List what to cut for the newest version, and which bones already cut can be used again."""
    from diagnose import casebook
    from diagnose.casework.working import base_for
    from diagnose.sheets.cutting.cutting_list import cutting_list
    from diagnose.sheets.cutting.cutting_text import cutting_lines, cutting_to_json

    opened = casebook.open_case(case)
    number = since if since is not None else opened.newest.made_from
    before = None if number is None else opened.version(number).pattern
    found = cutting_list(opened.pattern, base_for(opened).settings, before)
    show(cutting_lines(found, opened.unit, opened.pattern, before), {"cutting": cutting_to_json(found)}, json)
