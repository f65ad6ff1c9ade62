"""``diagnose batch``: JSON Lines in on stdin, JSON Lines out on stdout, one try-on a line."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.cli import options as o

if TYPE_CHECKING:
    from diagnose.cli.batching import Answered, Making
    from diagnose.rulebase.base import RuleBase
    from diagnose.rulebase.neutral import Matcher
    from diagnose.units import Unit

__all__ = ["batch"]

RulesOption = Annotated[Path | None, typer.Option("--rules", help="A folder of rules to use instead of the bundled.")]
JobsOption = Annotated[
    int,
    typer.Option(
        "--jobs",
        metavar="N",
        parser=o.whole("--jobs", 1, 256),
        help="Processes that share the work; each answers 32 lines at a time.",
    ),
]


def batch(rules: RulesOption = None, unit: o.UnitOption = None, set_: o.Set = None, jobs: JobsOption = 1) -> None:
    """Diagnose many try-ons: one JSON object a line in, one a line out, in the same order."""
    from diagnose.cli.progress import progress

    wrong, done = False, 0
    with progress("Try-ons answered", writing=True) as told:
        for answered in _answered(partial(_made, rules, o.unit_of(unit), set_), jobs):
            wrong = wrong or answered.wrong
            sys.stdout.write(answered.text)
            done += answered.text.count("\n")
            told(done, None)
    if wrong:
        raise typer.Exit(2)


def _answered(making: Making, jobs: int) -> Iterator[Answered]:
    """The answers to stdin: one by one as the lines come, or in blocks where several processes share them."""
    from diagnose.cli.batching import answered_apart, answers, blocks_of, lines_of, written

    base, matcher = making()  # for several jobs too: what is wrong with the rules is told before any is started
    lines = lines_of(sys.stdin.buffer)
    if jobs == 1:
        yield from (written([answer]) for answer in answers(lines, base, matcher))
        return
    yield from answered_apart(blocks_of(lines), jobs, making)


def _made(rules: Path | None, unit: Unit, set_: list[str] | None) -> tuple[RuleBase, Matcher]:
    """The rule base as asked for, and its matcher."""
    from diagnose.engine.matching import matcher_for
    from diagnose.model.standing import under_standing
    from diagnose.rulebase.loading import load_rulebase

    base = load_rulebase(rules)
    base = base.with_settings(o.settings_with(under_standing(base.settings.in_unit(unit)), set_))
    return base, matcher_for(base)
