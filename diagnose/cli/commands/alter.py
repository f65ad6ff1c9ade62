"""``diagnose alter``: plan steps on a case's newest pattern, or operations on a pattern file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show
from diagnose.errors import FitError

__all__ = ["alter"]

CaseArgument = Annotated[Path | None, typer.Argument(metavar="[CASE]", help="A case folder.")]
StepsArgument = Annotated[
    list[str] | None, typer.Argument(metavar="[STEP ...]", help="Plan steps, or none for round 1.")
]
PatternOption = Annotated[Path | None, typer.Option("--pattern", help="With no case: the pattern file.")]
DoOption = Annotated[str | None, typer.Option("--do", metavar="JSON", help="Operations: JSON text, or a file of it.")]
OutOption = Annotated[Path | None, typer.Option("--out", help="Where the new pattern is written.")]


WayOption = Annotated[
    list[str] | None,
    typer.Option("--way", metavar="STEP=WAY", help="Draw this way of a step: ALTERATION, or ONE:1/2+OTHER:1/2."),
]
ByHandOption = Annotated[
    list[str] | None, typer.Option("--by-hand", metavar="STEP", help="Note a step as done by hand.")
]


def alter(
    case: CaseArgument = None,
    steps: StepsArgument = None,
    pattern: PatternOption = None,
    do: DoOption = None,
    out: OutOption = None,
    way: WayOption = None,
    by_hand: ByHandOption = None,
    unit: o.UnitOption = None,
    json: o.Json = False,
) -> None:
    """Apply plan steps and store the next pattern version; or do operations on a pattern file."""
    if case is not None:
        if pattern is not None or do is not None or out is not None:
            raise FitError.of(
                "alter", "A case and --pattern don't go together.", "Give the one or the other.", code="options-apart"
            )
        from diagnose.casework.working import alter_case

        lines, data = alter_case(case, steps or [], ways=_ways(way or []), by_hand=by_hand or [])
        show(lines, data, json)
        return
    missing = [name for name, value in (("--pattern", pattern), ("--do", do), ("--out", out)) if value is None]
    if pattern is None or do is None or out is None:
        raise FitError.of("alter", f"Missing: {', '.join(missing)}.", "Or name a case folder.", code="missing")
    _alter_file(pattern, do, out, unit, json)


def _ways(told: list[str]) -> dict[str, str]:
    """The ways asked for, by step."""
    ways: dict[str, str] = {}
    for text in told:
        step, equals, way = text.partition("=")
        if not equals:
            raise FitError.of(
                "--way", f"“{text[:60]}” names no way.", "Write it like --way 1.1=fold-out-in-panel", code="no-such-way"
            )
        ways[step.strip()] = way.strip()
    return ways


def _alter_file(pattern: Path, do: str, out: Path, unit: str | None, as_json: bool) -> None:
    from diagnose.casebook.safely import write_new_text
    from diagnose.pattern import operations
    from diagnose.pattern.brought import load_pattern
    from diagnose.pattern.form.writer import dump_text
    from diagnose.pattern.report import change_report
    from diagnose.sheets.words.change_text import change_lines, notes_in_words
    from diagnose.sheets.words.parts import Said, hanging

    chosen = o.unit_of(unit)
    before = load_pattern(pattern)
    done = operations.do(before, operations.parse_operations(o.json_argument(do, "--do"), "do", chosen))
    report = change_report(before, done.pattern)
    write_new_text(out, dump_text(done.pattern))
    said = notes_in_words(done.notes, before, done.pattern)
    told = (*said, *change_lines(report, before, done.pattern, chosen))
    lines: list[Said] = [f"Written: {out}", *hanging(told)]
    show(lines, {"out": str(out), "notes": list(done.notes), "report": report.to_json()}, as_json)
