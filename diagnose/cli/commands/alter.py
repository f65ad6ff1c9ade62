"""``diagnose alter``: plan steps on a case's newest pattern, or operations on a pattern file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show
from diagnose.errors import FitError

__all__ = ["alter"]

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
    case: o.MaybeCase = None,
    steps: StepsArgument = None,
    pattern: PatternOption = None,
    do: DoOption = None,
    out: OutOption = None,
    way: WayOption = None,
    by_hand: ByHandOption = None,
    unit: o.UnitOption = None,
    replace: o.ReplaceOption = False,
    json: o.Json = False,
) -> None:
    """Apply plan steps and store the next pattern version; or do operations on a pattern file."""
    if case is not None:
        o.check_apart("a case", {"--pattern": pattern, "--do": do, "--out": out, "--unit": unit, "--replace": replace})
        from diagnose.casework.next_version import alter_case

        made = alter_case(case, steps or [], ways=_ways(way or []), by_hand=by_hand or [])
        show(made.said(), made.to_json(), json)
        return
    o.check_apart("a pattern file", {"--way": way, "--by-hand": by_hand})
    missing = [name for name, value in (("--pattern", pattern), ("--do", do), ("--out", out)) if value is None]
    if pattern is None or do is None or out is None:
        raise FitError.of("alter", f"Missing: {', '.join(missing)}.", "Or name a case folder.", code="missing")
    _alter_file(pattern, do, out, unit=unit, replace=replace, as_json=json)


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


def _alter_file(pattern: Path, do: str, out: Path, unit: str | None, *, replace: bool, as_json: bool) -> None:
    from diagnose.casework.own.own_files import check_own, write_own
    from diagnose.pattern import operations
    from diagnose.pattern.brought import load_pattern
    from diagnose.pattern.form.writer import dump_text
    from diagnose.pattern.in_words import bone_numbers, notes_said
    from diagnose.pattern.report import change_report
    from diagnose.sheets.words.change_text import change_lines
    from diagnose.sheets.words.parts import Said, hanging

    chosen = o.unit_of(unit)
    o.check_stored_form(out)
    check_own(out, replace=replace)
    before = load_pattern(pattern)
    done = operations.do(before, operations.parse_operations(o.json_argument(do, "--do"), "do", chosen))
    report = change_report(before, done.pattern)
    write_own(out, dump_text(done.pattern).encode(), replace=replace)
    notes = notes_said(done.notes, bone_numbers(before, done.pattern))
    told = (*notes, *change_lines(report, before, done.pattern, unit=chosen))
    lines: list[Said] = [f"Written: {out}", *hanging(told)]
    show(lines, {"out": str(out), "notes": list(notes), "report": report.to_json()}, as_json)
