"""Doing all recorded operations over again, to see that the newest version is what they lead to."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.casebook import layout
from diagnose.casebook.case import Case, PatternVersion
from diagnose.casebook.history import line_of
from diagnose.errors import FitError, Mistake
from diagnose.pattern import operations
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.outline import Pattern

REPLAY_TOL_MM = 1e-6
"""How far a replayed length may lie from the stored one: the last decimal that is written."""


def replay(case: Case) -> Pattern:
    """The newest pattern, made again from the version it all began with.

    Raises:
        FitError: when an operation can't be done again, or leads to another pattern than the one stored.
    """
    line = line_of(case, case.newest)
    pattern = line[0].pattern
    for version in line[1:]:
        pattern = _again(pattern, version)
        if not _same(to_json(pattern), to_json(version.pattern)):
            what = f"What is recorded for version {version.number} does not lead to the pattern stored as it."
            do = "One of the two files was changed by hand: take them from a copy, or go back to the version before."
            raise FitError([Mistake(layout.pattern_of(version.number), what, do, code="does-not-replay")])
    return pattern


def _again(pattern: Pattern, version: PatternVersion) -> Pattern:
    """The version made anew, its lengths rounded as they are when stored."""
    where = layout.done_of(version.number)
    if not version.done.operations:
        return pattern
    doing = operations.parse_operations(list(version.done.operations), where)
    return read_pattern(to_json(operations.do(pattern, doing, where).pattern), where)


def _same(a: object, b: object) -> bool:
    """Whether two JSON values are equal but for lengths within the tolerance."""
    if isinstance(a, bool) or isinstance(b, bool):
        return a is b
    if isinstance(a, int | float) and isinstance(b, int | float):
        return abs(a - b) <= REPLAY_TOL_MM * 1.001
    if isinstance(a, Mapping) and isinstance(b, Mapping):
        return a.keys() == b.keys() and all(_same(a[key], b[key]) for key in a)
    if isinstance(a, list | tuple) and isinstance(b, list | tuple):
        return len(a) == len(b) and all(map(_same, a, b))
    return a == b
