"""``diagnose draft``: the pattern held against the body before any cloth is cut."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from diagnose.cli import options as o
from diagnose.cli.printing import show
from diagnose.errors import FitError

if TYPE_CHECKING:
    from diagnose.pattern.brought import Terms
    from diagnose.pattern.outline import Pattern

__all__ = ["draft"]

PatternOption = Annotated[
    Path | None, typer.Option("--pattern", metavar="FILE", help="A pattern that is in no case yet.")
]
AboutOption = Annotated[
    Path | None, typer.Option("--about", metavar="FILE", help="Garment, target and wearer: JSON or YAML.")
]
OutOption = Annotated[
    Path | None, typer.Option("--out", metavar="FILE", help="Write the mended pattern there, in the stored form.")
]
NOTHING_SAID = 1


def draft(
    case: o.MaybeCase = None, pattern: PatternOption = None, about: AboutOption = None, target: o.Target = None,
    unit: o.UnitOption = None, labels: o.Labels = None, length: o.Length = None, set_: o.Set = None,
    sure: o.Sure = None, out: OutOption = None, replace: o.ReplaceOption = False, json: o.Json = False,
) -> None:  # fmt: skip
    """Hold the pattern against the body before any cloth is cut: girths, gap, heights, seams, levels, bones."""
    from diagnose.casework.draft_text import draft_parts, draft_to_json
    from diagnose.casework.working import base_for, matcher_of, usual_base
    from diagnose.cli.asking.answers_file import placed, read_answers
    from diagnose.plan.draft import hold_draft

    if replace and out is None:
        raise FitError.of(
            "--replace",
            "Nothing is written, so nothing is replaced.",
            "Give --out too, or leave it out.",
            code="options-apart",
        )
    if out is not None:
        from diagnose.casework.own.own_files import check_own

        o.check_stored_form(out)
        check_own(out, replace=replace)
    if (case is None) == (pattern is None):
        raise FitError.of(
            "draft",
            "One pattern is held against one wearer.",
            "Give a CASE, or --pattern and --about.",
            code="one-pattern",
        )
    if case is not None:
        told = {"--about": about, "--labels": labels, "--length": length, "--sure": sure, "--unit": unit}
        given = [name for name, value in told.items() if value]
        if given:
            do = "Leave it out; girths taken anew are kept with: diagnose note CASE --measured waist=26 in"
            raise FitError.of(given[0], "A case knows its own garment, wearer and pattern.", do, code="options-apart")
        from diagnose import casebook

        opened = casebook.open_case(case)
        base, chosen, held = base_for(opened), opened.unit, opened.pattern
        known: dict[str, Any] = {"garment": opened.garment, "target": opened.target, "wearer": opened.wearer}
    else:
        from diagnose.casework.pattern_in import terms_for

        known = read_answers(about) if about else {}
        chosen = o.unit_of(unit or known.get("unit"))
        if unit is not None and known.get("unit", unit) != unit:
            what = f"It says {unit}, and the file about the wearer says {known['unit']}."
            raise FitError.of("--unit", what, "Leave the option out, or put the file right.", code="contradiction")
        base = usual_base(chosen)
        garment = {"garment": known.get("garment")}  # whether it is the wearer's is what the draft is to say
        terms = terms_for(chosen, base.settings, garment, is_told=unit is not None, sure=sure or ())
        assert pattern is not None
        held = _read(pattern, terms, labels, length=length)
    if target:
        known["target"] = o.targets_of(target)
    base = base.with_settings(o.settings_with(base.settings, set_))
    with placed(about):
        found = hold_draft(held, known, base, matcher=matcher_of(base), unit=chosen)
    lines = [*draft_parts(found, base, chosen)]
    if out is not None:
        lines.append(_written(found.mended, out, replace=replace))
    show(lines, {"draft": draft_to_json(found, base, chosen)}, json)
    if found.verdict == "measure":
        raise typer.Exit(NOTHING_SAID)


def _written(mended: Pattern | None, out: Path, *, replace: bool) -> str:
    """The mended pattern written; a file of hers that is there already is not replaced unasked."""
    from diagnose.casework.own.own_files import write_own
    from diagnose.pattern.form.writer import dump_text

    if mended is None:
        what = "Nothing is drawn into the pattern, so there is none to write."
        raise FitError.of("--out", what, "Leave it out.", code="nothing-drawn")
    write_own(out, dump_text(mended).encode(), replace=replace)
    return f"Written, with the first round drawn in: {out}"


def _read(pattern: Path, terms: Terms, labels: Path | None, length: str | None) -> Pattern:
    from diagnose.cli.asking.patterns import read_pattern_file

    return read_pattern_file(pattern, terms, labels, length=length).settled()
