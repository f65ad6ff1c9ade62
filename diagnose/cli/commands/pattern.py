"""``diagnose pattern``: the pattern itself, any version of it, at any time."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show
from diagnose.cli.progress import progress

if TYPE_CHECKING:
    from diagnose.casebook import Case, PatternVersion

__all__ = ["pattern", "write_pattern"]

OutOption = Annotated[Path, typer.Option("--out", metavar="FILE", help="Its ending chooses: .pdf .svg .dxf .json")]
VersionOption = Annotated[
    int | None,
    typer.Option(
        "--version", metavar="N", parser=o.whole("--version", 1), help="The version; the newest where none is told."
    ),
]


def pattern(
    case: o.CaseArgument, out: OutOption, version: VersionOption = None, paper: o.PaperOption = None,
    allow: o.AllowOption = None, replace: o.ReplaceOption = False, json: o.Json = False,
) -> None:  # fmt: skip
    """Write the pattern itself, to print at true scale or to take elsewhere; no try-on is needed."""
    from diagnose import casebook

    opened = casebook.open_case(case)
    chosen = opened.newest if version is None else opened.version(version)
    write_pattern(opened, chosen, out, paper=paper, allow=allow, replace=replace)
    show([f"Written: {out} (version {chosen.number})"], {"out": str(out), "pattern_version": chosen.number}, json)


def write_pattern(
    case: Case, version: PatternVersion, out: Path, *, paper: str | None, allow: list[str] | None, replace: bool
) -> None:
    """Write a version in the form that the path's ending names.

    Raises:
        FitError: when the ending names no form, an option does not belong to it, or the file is not ours to replace.
    """
    from diagnose.casework.own.own_files import check_own, write_own
    from diagnose.casework.sheeting import pattern_bytes

    o.check_belongs(out, paper, allow)
    check_own(out, replace=replace)
    with progress("Drawing the pages") as told:
        made = pattern_bytes(case, version, out.suffix, paper=o.paper_of(paper), allow=allow or (), told=told)
    write_own(out, made, replace=replace)
