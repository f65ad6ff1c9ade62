"""What is shown of a case: the sheets of a try-on and the bytes of each form, and what is said of a draft.

A writer is loaded when its form is asked for: each stands on a library of its own, and of all of them one is wanted.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from diagnose.casebook import Case, PatternVersion
from diagnose.casework.working import WorkedOut, base_for, matcher_of, usual_base
from diagnose.errors import FitError
from diagnose.model.settings import Settings
from diagnose.model.tryon_reading import NO_WORDS, read_tryon
from diagnose.pattern.form.writer import dump_text
from diagnose.pattern.outline import Pattern
from diagnose.plan.draft import hold_draft
from diagnose.sheets.cutting.allowance import Allowances, allowances_of
from diagnose.sheets.cutting.bone_page import bone_blocks
from diagnose.sheets.cutting.cut_drawing import Sheet
from diagnose.sheets.drawn.page_flow import HIGH_MM, whole_pages
from diagnose.sheets.drawn.pattern_drawing import draw_pattern
from diagnose.sheets.step_pages import step_blocks
from diagnose.sheets.view import build_view
from diagnose.sheets.view_model import SheetView, Tried
from diagnose.sheets.wall_sheet import wall_sheet
from diagnose.sheets.words.draft_text import draft_detail, last_line
from diagnose.sheets.words.view_words import view_in_words
from diagnose.sheets.writers.paper_sizes import ONE_SHEET, named_paper
from diagnose.sheets.writers.svg import write_svg
from diagnose.units import Unit, read_length

if TYPE_CHECKING:
    from diagnose.sheets.drawn.screens import Screen
    from diagnose.sheets.words.parts import Said

__all__ = ["draft_said", "pattern_bytes", "sheet_bytes", "view_of", "words_of"]

Told = Callable[[int, int | None], None]


def view_of(
    worked: WorkedOut, date: str, *, pictures: bool = True, wall: bool = True, screen: Screen | None = None
) -> SheetView:
    """What the sheet of a try-on shows; without its pictures, or the wall sheet among them, it is there sooner.

    `screen` says where it is looked at, when it is no sheet.
    """
    return build_view(_tried(worked, date), pictures=pictures, wall=wall, screen=screen)


def words_of(worked: WorkedOut, date: str) -> SheetView:
    """What the sheet of a try-on says, with nothing drawn: it is there much sooner."""
    return view_in_words(_tried(worked, date))


def _tried(worked: WorkedOut, date: str) -> Tried:
    """The try-on as its sheet is made of it."""
    return Tried(
        title=f"{worked.case.name}: try-on {worked.number}", tryon=worked.tryon, diagnosis=worked.diagnosis,
        base=worked.base, unit=worked.case.unit, date=date, version=_version(worked), before=worked.before,
        drawn=worked.on_paper,
    )  # fmt: skip


def draft_said(pattern: Pattern, about: Mapping[str, Any], unit: Unit) -> tuple[str, list[Said]]:
    """A draft held against the body: what to do first of all, and the parts that say what it rests on.

    Args:
        pattern: the draft; about: garment, wearer and target as in a try-on.
        unit: the maker's.

    Raises:
        FitError: when a girth or a target is none.
    """
    base = usual_base(unit)
    found = hold_draft(pattern, about, base, matcher=matcher_of(base), unit=unit)
    return last_line(found, base, unit), list(draft_detail(found, base, unit))


def _version(worked: WorkedOut) -> str:
    tried = worked.tried_version
    return f"version {tried} and what is to be drawn in" if worked.operations else f"version {tried}"


def sheet_bytes(
    worked: WorkedOut, ending: str, date: str, *, paper: str = "a4", allow: Sequence[str] = (), told: Told | None = None
) -> bytes:
    """The sheet in the form that a file's ending names.

    Args:
        worked: the try-on worked out.
        ending: .html, .svg, .pdf or .dxf.
        date: its day.
        paper: for a PDF: a4, letter or one-sheet.
        allow: allowances as ``ROLE=LENGTH``.
        told: called with the pages of a PDF drawn, and the pages in all.

    Raises:
        FitError: when the ending names no form.
    """
    forms: dict[str, Callable[[], bytes]] = {
        ".html": lambda: _html(worked, date),
        ".svg": lambda: _svg(worked, date),
        ".pdf": lambda: _pdf(worked, date, paper, allow=allow, told=told),
        ".dxf": lambda: _dxf(worked, date, allow),
    }
    make = forms.get(ending.lower())
    if make is None:
        raise FitError.of(
            "--out", f"“{ending}” is no form of sheet.", f"End it in {' '.join(forms)}.", code="unknown-form"
        )
    return make()


def pattern_bytes(
    case: Case, version: PatternVersion, ending: str, *, paper: str = "a4", allow: Sequence[str] = (),
    told: Told | None = None,
) -> bytes:  # fmt: skip
    """A version of a case's pattern by itself, in the form that a file's ending names.

    Args:
        case: the case.
        version: the version of it.
        ending: .pdf, .svg, .dxf or .json.
        paper: for a PDF: a4, letter or one-sheet.
        allow: allowances as ``ROLE=LENGTH``.
        told: called with the pages of a PDF drawn, and the pages in all.

    Raises:
        FitError: when the ending names no form.
    """
    from diagnose.sheets.writers.dxf import pattern_dxf
    from diagnose.sheets.writers.pdf import pattern_pdf

    garment = read_tryon({"id": "case", "garment": case.garment}, NO_WORDS, case.unit).garment
    allowances = _allowances_for(base_for(case).settings, garment.allowance_mm, allow, unit=case.unit)
    name = f"version {version.number}"
    sheet = Sheet(version.pattern, None, allowances, unit=case.unit, version=name, date=version.date)
    drawn: dict[str, Callable[[], str | bytes]] = {
        ".pdf": lambda: pattern_pdf(sheet, paper, told=told),
        ".svg": lambda: write_svg(draw_pattern(version.pattern, None, case.unit, version=name, date=version.date)),
        ".dxf": lambda: pattern_dxf(sheet),
        ".json": lambda: dump_text(version.pattern),
    }
    make = drawn.get(ending.lower())
    if make is None:
        raise FitError.of(
            "--out", f"“{ending}” is no form of a pattern.", f"End it in {' '.join(drawn)}.", code="unknown-form"
        )
    made = make()
    return made if isinstance(made, bytes) else made.encode()


def _html(worked: WorkedOut, date: str) -> bytes:
    from diagnose.sheets.writers.html import write_html

    return write_html(view_of(worked, date, screen="page")).encode()


def _sheet(worked: WorkedOut, date: str, view: SheetView, *, allow: Sequence[str] = ()) -> Sheet:
    """The pattern of a try-on as its writers are handed it: what is drawn into it, over what it was."""
    newest, before = worked.after or worked.before, worked.before if worked.after is not None else None
    return Sheet(
        newest, before, _allowances(worked, allow), unit=worked.case.unit, version=_version(worked), date=date,
        zones=view.zones, letters=view.letters,
    )  # fmt: skip


def _svg(worked: WorkedOut, date: str) -> bytes:

    sheet = _sheet(worked, date, view_of(worked, date, pictures=False))
    drawing = draw_pattern(
        sheet.pattern, sheet.before, sheet.unit, version=sheet.version, date=date, zones=sheet.zones,
        letters=sheet.letters,
    )  # fmt: skip
    return write_svg(drawing).encode()


def _pdf(worked: WorkedOut, date: str, paper: str, allow: Sequence[str], told: Told | None) -> bytes:
    from diagnose.sheets.writers.pdf import pattern_pdf

    view = view_of(worked, date)
    sheet = _sheet(worked, date, view, allow=allow)
    high_mm = HIGH_MM if paper == ONE_SHEET else named_paper(paper).window[1]
    bones = bone_blocks(sheet.pattern, sheet.before, worked.base.settings, unit=sheet.unit)
    blocks = [*(("steps", block) for block in step_blocks(view.steps)), *(("bones", block) for block in bones)]
    ahead = [("wall sheet", wall_sheet(view, high_mm)), *whole_pages(blocks, high_mm)]
    return pattern_pdf(sheet, paper, told=told, ahead=ahead)


def _dxf(worked: WorkedOut, date: str, allow: Sequence[str]) -> bytes:
    from diagnose.sheets.writers.dxf import pattern_dxf

    return pattern_dxf(_sheet(worked, date, view_of(worked, date, pictures=False), allow=allow)).encode()


def _allowances(worked: WorkedOut, allow: Sequence[str]) -> Allowances:
    return _allowances_for(worked.base.settings, worked.tryon.garment.allowance_mm, allow, unit=worked.case.unit)


def _allowances_for(settings: Settings, own_mm: float | None, allow: Sequence[str], unit: Unit) -> Allowances:
    """The allowances of the settings, over them a toile's own on its seams, and over that those chosen by hand.

    Args:
        settings: with an allowance for each role.
        own_mm: the toile's own.
        allow: chosen ones, as ``ROLE=LENGTH``.
        unit: of a length that names none.

    Raises:
        FitError: when one chosen is none.
    """
    chosen: dict[str, float] = {} if own_mm is None else {"seam": own_mm}
    for text in allow:
        role, equals, length = text.partition("=")
        if not equals:
            raise FitError.of(
                "--allow", f"“{text}” gives no length.", "Write it like --allow 'seam=1 in'.", code="no-value"
            )
        chosen[role.strip()] = read_length(length, f"--allow {role}", unit)
    return allowances_of(settings, chosen)
