"""``diagnose sheet`` and ``diagnose plan``: the last try-on as a page, a drawing or text, and what argues for it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show
from diagnose.cli.progress import progress
from diagnose.errors import FitError

if TYPE_CHECKING:
    from diagnose.cli.commands.cases import WorkedOut
    from diagnose.sheets.cutting.allowance import Allowances
    from diagnose.sheets.view import SheetView

__all__ = ["plan", "sheet", "view_of", "words_of", "write_sheet"]

CaseArgument = Annotated[Path, typer.Argument(metavar="CASE", help="A case folder.")]
OutOption = Annotated[Path, typer.Option("--out", metavar="FILE", help="Its ending chooses: .html .svg .pdf .dxf")]
PaperOption = Annotated[str, typer.Option("--paper", help="For .pdf: a4, letter or one-sheet.")]
AllowOption = Annotated[
    list[str] | None, typer.Option("--allow", metavar="ROLE=LENGTH", help="Allowance of an edge: seam, top, bottom …")
]
WhyOption = Annotated[str | None, typer.Option("--why", metavar="ID", help="Argue one cause or alteration.")]


def sheet(
    case: CaseArgument, out: OutOption, paper: PaperOption = "a4", allow: AllowOption = None, json: o.Json = False
) -> None:
    """Write the fitting sheet of the last try-on; the ending of FILE chooses the form."""
    worked, date = _last(case)
    write_sheet(worked, out, date, paper=paper, allow=allow)
    show([f"Written: {out}"], {"out": str(out)}, json)


def plan(case: CaseArgument, why: WhyOption = None, json: o.Json = False) -> None:
    """Show the plan of the last try-on, or argue one cause or alteration of it."""
    from diagnose.sheets.writers.json_out import diagnosis_to_json

    worked, date = _last(case)
    if why is None:
        from diagnose.sheets.words.text import plan_lines

        show(plan_lines(view_of(worked, date)), diagnosis_to_json(worked.diagnosis), json)
        return
    from diagnose.sheets.words.why_text import why_lines, why_to_json

    show(why_lines(worked.diagnosis, worked.base, why), why_to_json(worked.diagnosis, worked.base, why), json)


def _last(folder: Path) -> tuple[WorkedOut, str]:
    from diagnose import casebook
    from diagnose.cli.commands.cases import last_tryon, work_out

    case = casebook.open_case(folder)
    stored = last_tryon(case)
    return work_out(case, stored.answers, stored.number, stored.pattern_version), stored.date


def view_of(worked: WorkedOut, date: str) -> SheetView:
    """What the sheet of a try-on shows."""
    from diagnose.pattern.operations import parse_operations
    from diagnose.sheets.view import build_view

    operations = parse_operations(list(worked.operations), "plan") if worked.operations else ()
    title = f"{worked.case.name}: try-on {worked.number}"
    return build_view(
        title, worked.tryon, worked.diagnosis, worked.base, worked.before, worked.after, operations,
        worked.case.unit, date, _version(worked),
    )  # fmt: skip


def words_of(worked: WorkedOut, date: str) -> SheetView:
    """What the sheet of a try-on says, with nothing drawn: it is there much sooner."""
    from diagnose.sheets.words.view_words import view_in_words

    title = f"{worked.case.name}: try-on {worked.number}"
    return view_in_words(title, worked.tryon, worked.diagnosis, worked.base, worked.case.unit, date, _version(worked))


def _version(worked: WorkedOut) -> str:
    tried = worked.tried_version
    return f"version {tried} and what is to be drawn in" if worked.operations else f"version {tried}"


def write_sheet(worked: WorkedOut, path: Path, date: str, *, paper: str = "a4", allow: list[str] | None = None) -> None:
    """Write the sheet in the form that the path's ending names; an older sheet there is replaced.

    Raises:
        FitError: when the ending names no form, or it can't be written.
    """
    from diagnose.casebook.safely import write_bytes

    forms: dict[str, Callable[[], bytes]] = {
        ".html": lambda: _html(worked, date),
        ".svg": lambda: _svg(worked, date),
        ".pdf": lambda: _pdf(worked, date, paper, allow),
        ".dxf": lambda: _dxf(worked, date, allow),
    }
    make = forms.get(path.suffix.lower())
    if make is None:
        raise FitError.of(str(path), f"“{path.suffix}” is no form of sheet.", f"End it in {' '.join(forms)}.")
    write_bytes(path, make())


def _html(worked: WorkedOut, date: str) -> bytes:
    from diagnose.sheets.writers.html import write_html

    return write_html(view_of(worked, date)).encode()


def _svg(worked: WorkedOut, date: str) -> bytes:
    from diagnose.sheets.drawn.pattern_drawing import draw_pattern
    from diagnose.sheets.writers.svg import write_svg

    newest, before = worked.after or worked.before, worked.before if worked.after is not None else None
    drawing = draw_pattern(newest, before, worked.case.unit, version=_version(worked), date=date)
    return write_svg(drawing).encode()


def _pdf(worked: WorkedOut, date: str, paper: str, allow: list[str] | None) -> bytes:
    from diagnose.sheets.writers.pdf import pattern_pdf

    newest, before = worked.after or worked.before, worked.before if worked.after is not None else None
    with progress("Drawing the pages") as told:
        return pattern_pdf(
            newest, before, allowances=_allowances(worked, allow), paper=paper, unit=worked.case.unit,
            version=_version(worked), date=date, told=told,
        )  # fmt: skip


def _dxf(worked: WorkedOut, date: str, allow: list[str] | None) -> bytes:
    from diagnose.sheets.writers.dxf import pattern_dxf

    newest, before = worked.after or worked.before, worked.before if worked.after is not None else None
    return pattern_dxf(
        newest, before, allowances=_allowances(worked, allow), unit=worked.case.unit, version=_version(worked),
        date=date,
    ).encode()  # fmt: skip


def _allowances(worked: WorkedOut, allow: list[str] | None) -> Allowances:
    """The allowances of the settings; a toile's own allowance on its seams, and those chosen on the command line."""
    from diagnose.sheets.cutting.allowance import allowances_of
    from diagnose.units import read_length

    chosen: dict[str, float] = {}
    if worked.tryon.garment.allowance_mm is not None:
        chosen["seam"] = worked.tryon.garment.allowance_mm
    for text in allow or []:
        role, equals, length = text.partition("=")
        if not equals:
            raise FitError.of("--allow", f"“{text}” gives no length.", "Write it like --allow 'seam=1 in'.")
        chosen[role.strip()] = read_length(length, f"--allow {role}", worked.case.unit)
    return allowances_of(worked.base.settings, chosen)
