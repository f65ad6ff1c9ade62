"""``diagnose demo``: the main job on a bundled case, end to end."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show, talk
from diagnose.errors import FitError

if TYPE_CHECKING:
    from diagnose.casebook.bundled import BundledCase
    from diagnose.casework.working import WorkedOut
    from diagnose.sheets.words.parts import Said

__all__ = ["demo"]

NO_DURABLE = (
    "durable-rules is not installed (it needs a C compiler and Python 3.12 or older), so the program's own matcher "
    "finds the rules that hold: the answers are the same."
)

OutOption = Annotated[Path, typer.Option("--out", help="The folder that the sheets and the case are written to.")]
CASE_NAME = "stage-bodies"
DAYS = ("2026-03-02", "2026-03-09", "2026-03-16", "2026-03-23", "2026-03-30", "2026-04-06")


def demo(out: OutOption = Path("demo-out"), json: o.Json = False) -> None:
    """Run the main job on a bundled case: two try-ons, two alterations, the sheets of both."""
    from diagnose.casebook.bundled import bundled_case
    from diagnose.casebook.safely import filled
    from diagnose.engine.matching import has_durable

    case = bundled_case("singer")
    _free_folder(out)
    from diagnose.sheets.words.parts import wrapped

    if not has_durable():
        talk(NO_DURABLE)
    lines: list[Said] = [case.title.upper(), "", *wrapped(case.story), ""]
    data: dict[str, Any] = {"out": str(out), "rounds": []}
    with filled(out) as part:
        for number, worked in enumerate(_rounds(case, part / CASE_NAME), 1):
            talk(f"Round {number}: drawing the sheets …")
            written = [out / path.name for path in _sheets(worked, part, number)]
            lines += _said(worked, number, written)
            data["rounds"].append(_data(worked, written))
    lines += ["The case itself, with every pattern version and try-on:", f"  {out / CASE_NAME}", ""]
    lines += wrapped(
        "Open the first .html in a browser: it says where to draw each line. The .pdf prints at true scale."
    )
    lines += ["", "The whole job in the browser, on this very case:", f"  diagnose workroom {out}"]
    show(lines, data, json)


def _free_folder(out: Path) -> None:
    if (out / CASE_NAME).exists() or any(out.glob("round-[0-9].*")):
        raise FitError.of(
            str(out), "A demo has been written there already.", "Name another folder with --out.", code="folder-in-use"
        )


def _rounds(bundled: BundledCase, folder: Path) -> list[WorkedOut]:
    """Each try-on worked out and stored, and its first round drawn into the next version."""
    from diagnose import casebook
    from diagnose.casework.next_version import alter_case
    from diagnose.casework.working import store_tryon

    casebook.create(folder, bundled.pattern, date=DAYS[0], **bundled.about)
    worked = []
    for day, round_ in zip(DAYS, bundled.rounds, strict=False):
        worked.append(store_tryon(folder, round_.answers, day))
        if worked[-1].operations:
            alter_case(folder, [], day)
    return worked


def _sheets(worked: WorkedOut, out: Path, number: int) -> list[Path]:
    from diagnose.cli.commands.sheet import write_sheet

    paths = [out / f"round-{number}{ending}" for ending in (".html", ".svg", ".pdf")]
    for path in paths:
        write_sheet(worked, path, DAYS[number - 1])
    return paths


def _said(worked: WorkedOut, number: int, written: list[Path]) -> list[Said]:
    from diagnose.casework.sheeting import words_of
    from diagnose.sheets.words.text import brief_lines

    return [*brief_lines(words_of(worked, DAYS[number - 1])), "", "Sheets", *(f"  {path}" for path in written), ""]


def _data(worked: WorkedOut, written: list[Path]) -> dict[str, Any]:
    from diagnose.sheets.json_out import diagnosis_to_json

    return {"diagnosis": diagnosis_to_json(worked.diagnosis), "sheets": [str(path) for path in written]}
