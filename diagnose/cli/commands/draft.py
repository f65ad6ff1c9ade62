"""``diagnose draft``: the pattern held against the body before any cloth is cut."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from msgspec import Struct

from diagnose.cli import options as o
from diagnose.cli.printing import show
from diagnose.errors import FitError

if TYPE_CHECKING:
    from diagnose.pattern.outline import Pattern
    from diagnose.rulebase.base import RuleBase
    from diagnose.units import Unit

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
    from diagnose.casework.working import matcher_of
    from diagnose.cli.asking.answers_file import placed
    from diagnose.plan.draft import hold_draft
    from diagnose.sheets.words.draft_text import draft_parts, draft_to_json

    _check_out(out, replace=replace)
    if case is not None and pattern is None:
        told = {"--about": about, "--labels": labels, "--length": length, "--sure": sure, "--unit": unit}
        held = _of_case(case, [name for name, value in told.items() if value])
    elif pattern is not None and case is None:
        held = _of_file(pattern, about, unit, labels=labels, length=length, sure=sure or ())
    else:
        raise FitError.of(
            "draft",
            "One pattern is held against one wearer.",
            "Give a CASE, or --pattern and --about.",
            code="one-pattern",
        )
    about_her = {**held.about, "target": o.targets_of(target)} if target else held.about
    base = held.base.with_settings(o.settings_with(held.base.settings, set_))
    with placed(about):
        found = hold_draft(held.pattern, about_her, base, matcher=matcher_of(base), unit=held.unit)
    lines = [*draft_parts(found, base, held.unit)]
    if out is not None:
        lines.append(_written(found.mended, out, replace=replace))
    show(lines, {"draft": draft_to_json(found, base, held.unit)}, json)
    if found.verdict == "measure":
        raise typer.Exit(NOTHING_SAID)


class _Held(Struct, frozen=True):
    """A pattern, what is told of garment, target and wearer, and the rules and unit that it is held with."""

    pattern: Pattern
    about: Mapping[str, Any]
    base: RuleBase
    unit: Unit


def _of_case(folder: Path, told: Sequence[str]) -> _Held:
    """What a case holds; options told beside it are refused."""
    from diagnose import casebook
    from diagnose.casework.working import base_for

    if told:
        do = "Leave it out; girths taken anew are kept with: diagnose note CASE --measured waist=26 in"
        raise FitError.of(told[0], "A case knows its own garment, wearer and pattern.", do, code="options-apart")
    case = casebook.open_case(folder)
    about = {"garment": case.garment, "target": case.target, "wearer": case.wearer}
    return _Held(pattern=case.pattern, about=about, base=base_for(case), unit=case.unit)


def _of_file(
    pattern: Path, about: Path | None, unit: str | None, *, labels: Path | None, length: str | None, sure: Sequence[str]
) -> _Held:
    from diagnose.casework.pattern_in import terms_for
    from diagnose.casework.working import usual_base
    from diagnose.cli.asking.answers_file import read_answers
    from diagnose.cli.asking.patterns import read_pattern_file

    told = read_answers(about) if about else {}
    chosen = o.unit_told(unit, told.get("unit"), about)
    base = usual_base(chosen)
    garment = {"garment": told.get("garment")}  # whether it is the wearer's is what the draft is to say
    terms = terms_for(chosen, base.settings, garment, is_told=unit is not None, sure=sure)
    read = read_pattern_file(pattern, terms, labels, length=length).settled()
    return _Held(pattern=read, about=told, base=base, unit=chosen)


def _check_out(out: Path | None, *, replace: bool) -> None:
    """See that the mended pattern may be written where she says."""
    if out is not None:
        from diagnose.casework.own.own_files import check_own

        o.check_stored_form(out)
        check_own(out, replace=replace)
    elif replace:
        raise FitError.of(
            "--replace",
            "Nothing is written, so nothing is replaced.",
            "Give --out too, or leave it out.",
            code="options-apart",
        )


def _written(mended: Pattern | None, out: Path, *, replace: bool) -> str:
    """The mended pattern written; a file of hers that is there already is not replaced unasked."""
    from diagnose.casework.own.own_files import write_own
    from diagnose.pattern.form.writer import dump_text

    if mended is None:
        what = "Nothing is drawn into the pattern, so there is none to write."
        raise FitError.of("--out", what, "Leave it out.", code="nothing-drawn")
    write_own(out, dump_text(mended).encode(), replace=replace)
    return f"Written, with the first round drawn in: {out}"
