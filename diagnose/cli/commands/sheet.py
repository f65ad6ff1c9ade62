"""``diagnose sheet`` and ``diagnose plan``: the last try-on as a page, a drawing or text, and what argues for it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show
from diagnose.cli.progress import progress

if TYPE_CHECKING:
    from diagnose.casebook import Case
    from diagnose.casework.working import WorkedOut

__all__ = ["plan", "sheet", "write_sheet"]

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
    from diagnose.cli.commands.pattern import write_pattern

    opened = casebook.open_case(case)
    if not opened.tryons and out.suffix.lower() in (".pdf", ".svg", ".dxf"):
        write_pattern(opened, opened.newest, out, paper=paper, allow=allow, replace=replace)
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
    from diagnose.sheets.writers.json_out import diagnosis_to_json

    if ways is not None:
        o.check_apart("--ways", {"--why": why, "--all": all_})
    if why is not None:
        o.check_apart("--why", {"--all": all_})
    worked, date = _last(casebook.open_case(case))
    if ways is not None:
        from diagnose.plan.stepping import ways_of
        from diagnose.sheets.words.ways_text import step_named, ways_lines, ways_to_json

        step = step_named(worked.diagnosis, ways)
        found = ways_of(step, worked.base)
        lines = ways_lines(step, found, worked.base, worked.case.unit, worked.before, worked.after)
        show(lines, ways_to_json(step, found, worked.base), json)
        return
    if why is None:
        from diagnose.casework.sheeting import view_of
        from diagnose.sheets.words.text import plan_lines, short_plan

        said = plan_lines if all_ else short_plan
        shown = () if json else said(view_of(worked, date, pictures=False))
        show(shown, diagnosis_to_json(worked.diagnosis), json)
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
    from diagnose.casework.own.own_files import check_own, write_own
    from diagnose.casework.sheeting import sheet_bytes

    o.check_belongs(path, paper, allow)
    check_own(path, replace=replace)
    with progress("Drawing the pages") as told:
        made = sheet_bytes(worked, path.suffix, date, paper=o.paper_of(paper), allow=allow or (), told=told)
    write_own(path, made, replace=replace)
