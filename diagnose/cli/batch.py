"""``diagnose batch``: JSON Lines in on stdin, JSON Lines out on stdout, one try-on a line."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from diagnose.cli import options as o
from diagnose.errors import FitError

if TYPE_CHECKING:
    from diagnose.model.settings import Settings
    from diagnose.rulebase.base import RuleBase
    from diagnose.rulebase.neutral import Matcher

__all__ = ["answer_line", "answers", "batch"]

LONGEST_LINE = 20_000_000
RulesOption = Annotated[Path | None, typer.Option("--rules", help="A folder of rules to use instead of the bundled.")]


def batch(rules: RulesOption = None, unit: o.UnitOption = None, set_: o.Set = None) -> None:
    """Diagnose many try-ons: one JSON object a line in, one a line out, in the same order."""
    from diagnose.engine.matching import matcher_for
    from diagnose.rulebase.base import load_rulebase

    base = load_rulebase(rules)
    chosen = o.unit_of(unit)
    base = base.with_settings(o.settings_with(base.settings.in_unit(chosen), set_))
    wrong = False
    for line in answers(sys.stdin.buffer, base, matcher_for(base)):
        wrong = wrong or "error" in line
        sys.stdout.write(json.dumps(line, ensure_ascii=False, allow_nan=False) + "\n")
    if wrong:
        raise typer.Exit(2)


def answers(lines: Iterable[bytes], base: RuleBase, matcher: Matcher) -> Iterator[dict[str, Any]]:
    """The answer to each line that is not blank."""
    for number, line in enumerate(lines, 1):
        if line.strip():
            yield answer_line(line, number, base, matcher)


def answer_line(line: bytes, number: int, base: RuleBase, matcher: Matcher) -> dict[str, Any]:
    """The answer to one line: a diagnosis, or what is wrong with the line."""
    from diagnose.model.tryon import read_tryon
    from diagnose.plan.whole import diagnose
    from diagnose.sheets.json_out import diagnosis_to_json

    raw: Any = None
    try:
        raw = _decoded(line, number)
        tryon = read_tryon(raw, base.vocabulary, base.settings.unit)
        return diagnosis_to_json(diagnose(tryon, base, matcher, _pattern(tryon.pattern, base.settings)))
    except FitError as error:
        named = raw.get("id") if isinstance(raw, dict) else None
        mistakes = [{"where": m.where or f"line {number}", "what": m.what, "do": m.do} for m in error.mistakes]
        found: dict[str, Any] = {"version": 1, "id": named if isinstance(named, str | int) else None}
        return {**found, "error": mistakes[0]} | ({"errors": mistakes} if len(mistakes) > 1 else {})


def _decoded(line: bytes, number: int) -> Any:
    if len(line) > LONGEST_LINE:
        raise FitError.of(f"line {number}", "The line is longer than 20 MB.", "Split it.")
    try:
        return json.loads(line)
    except (ValueError, RecursionError):
        raise FitError.of(f"line {number}", "This line is not JSON.", "Give one JSON object a line.") from None


def _pattern(raw: Any, settings: Settings) -> Any:
    if raw is None:
        return None
    from diagnose.pattern.reader import read_pattern

    return read_pattern(raw, "pattern", settings.unit)
