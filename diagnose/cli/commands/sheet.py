"""What is shown of a case: ``sheet`` and ``plan`` of its last try-on, ``pattern``, and ``cutting``, what to cut."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show
from diagnose.cli.progress import progress

if TYPE_CHECKING:
    from diagnose.casebook import Case, PatternVersion
    from diagnose.casework.working import WorkedOut

__all__ = ["cutting", "pattern", "plan", "sheet", "write_sheet"]

SinceOption = Annotated[
    int | None,
    typer.Option(
        "--since",
        metavar="N",
        parser=o.whole("--since", 1),
        help="The version that bones were last cut for; the one before.",
    ),
]

PatternOutOption = Annotated[
    Path, typer.Option("--out", metavar="FILE", help="Its ending chooses: .pdf .svg .dxf .json")
]
VersionOption = Annotated[
    int | None,
    typer.Option(
        "--version", metavar="N", parser=o.whole("--version", 1), help="The version; the newest where none is told."
    ),
]

OutOption = Annotated[Path, typer.Option("--out", metavar="FILE", help="Its ending chooses: .html .svg .pdf .dxf")]
WaysOption = Annotated[str | None, typer.Option("--ways", metavar="STEP", help="The ways of one step, best first.")]
AllOption = Annotated[bool, typer.Option("--all", help="Everything that is said of the try-on.")]
WhyOption = Annotated[str | None, typer.Option("--why", metavar="ID", help="Argue one cause or alteration.")]


def sheet(
    case: o.CaseArgument, out: OutOption, paper: o.PaperOption = None, allow: o.AllowOption = None,
    replace: o.ReplaceOption = False, json: o.Json = False,
) -> None:  # fmt: skip
    """Write the fitting sheet of the last try-on, or before the first one the pattern; the ending chooses the form."""
    from diagnose import casebook

    opened = casebook.open_case(case)
    if not opened.tryons and out.suffix.lower() in (".pdf", ".svg", ".dxf"):
        _write_pattern(opened, opened.newest, out, paper=paper, allow=allow, replace=replace)
        show([f"Written: {out} (the pattern; there is no try-on yet)"], {"out": str(out)}, json)
        return
    worked, date = _last(opened)
    write_sheet(worked, out, date, paper=paper, allow=allow, replace=replace)
    show([f"Written: {out}"], {"out": str(out)}, json)


def plan(
    case: o.CaseArgument,
    why: WhyOption = None,
    ways: WaysOption = None,
    all_: AllOption = False,
    json: o.Json = False,
) -> None:
    """Show the plan of the last try-on on one screen (all with --all); or argue a cause, or the ways of one step."""
    from diagnose import casebook
    from diagnose.sheets.json_out import diagnosis_to_json

    if ways is not None:
        o.check_apart("--ways", {"--why": why, "--all": all_})
    if why is not None:
        o.check_apart("--why", {"--all": all_})
    worked, date = _last(casebook.open_case(case))
    if ways is not None:
        from diagnose.plan.stepping import ways_of
        from diagnose.sheets.words.ways_text import step_named, ways_lines, ways_to_json

        step = step_named(worked.diagnosis, ways)
        found = ways_of(step)
        lines = ways_lines(step, found, worked.base, worked.case.unit, worked.before, worked.after)
        show(lines, ways_to_json(step, found, worked.base), json)
        return
    if why is None:
        from diagnose.casework.sheeting import view_of
        from diagnose.sheets.words.text import plan_lines, short_plan

        said = plan_lines if all_ else short_plan
        if json:
            show((), diagnosis_to_json(worked.diagnosis), json)
        else:
            show(said(view_of(worked, date, pictures=False)), {}, json)
        return
    from diagnose.sheets.words.why_text import why_lines, why_to_json

    argued = why_lines(worked.diagnosis, worked.base, why, worked.before, worked.after)
    show(argued, why_to_json(worked.diagnosis, worked.base, why), json)


def _last(case: Case) -> tuple[WorkedOut, str]:
    from diagnose.casework.working import last_tryon, work_out_stored

    stored = last_tryon(case)
    return work_out_stored(case, stored), stored.date


def write_sheet(
    worked: WorkedOut, path: Path, date: str, *, paper: str | None = None, allow: list[str] | None = None,
    replace: bool = False,
) -> None:  # fmt: skip
    """Write the sheet in the form that the path's ending names, in place only of one that this program wrote.

    Raises:
        FitError: when the ending names no form, an option does not belong to it, or it can't be written.
    """
    from diagnose.casework.sheeting import sheet_bytes

    _write(partial(sheet_bytes, worked, path.suffix, date), path, paper=paper, allow=allow, replace=replace)


def _write(
    make: Callable[..., bytes], path: Path, *, paper: str | None, allow: list[str] | None, replace: bool
) -> None:
    """Write what is made under her options, once it is seen that it may be written."""
    from diagnose.casework.own.own_files import check_own, write_own

    o.check_belongs(path, paper, allow)
    check_own(path, replace=replace)
    with progress("Drawing the pages") as told:
        made = make(paper=o.paper_of(paper), allow=allow or (), told=told)
    write_own(path, made, replace=replace)


def pattern(
    case: o.CaseArgument, out: PatternOutOption, version: VersionOption = None, paper: o.PaperOption = None,
    allow: o.AllowOption = None, replace: o.ReplaceOption = False, json: o.Json = False,
) -> None:  # fmt: skip
    """Write the pattern itself, to print at true scale or to take elsewhere; no try-on is needed."""
    from diagnose import casebook

    opened = casebook.open_case(case)
    chosen = opened.newest if version is None else opened.version(version)
    _write_pattern(opened, chosen, out, paper=paper, allow=allow, replace=replace)
    show([f"Written: {out} (version {chosen.number})"], {"out": str(out), "pattern_version": chosen.number}, json)


def _write_pattern(
    case: Case, version: PatternVersion, out: Path, *, paper: str | None, allow: list[str] | None, replace: bool
) -> None:
    """Write a version in the form that the path's ending names.

    Raises:
        FitError: when the ending names no form, an option does not belong to it, or the file is not ours to replace.
    """
    from diagnose.casework.sheeting import pattern_bytes

    _write(partial(pattern_bytes, case, version, out.suffix), out, paper=paper, allow=allow, replace=replace)


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
    show(cutting_lines(found, opened.unit, opened.pattern, before=before), {"cutting": cutting_to_json(found)}, json)
