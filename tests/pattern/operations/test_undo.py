"""Undo: the record of what was done, done over again from the first version, gives the newest."""

from __future__ import annotations

import json
from collections import Counter
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from random_alterations import alterations

from diagnose.errors import FitError
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Pattern

SAME_MM = 1e-6
patiently = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


def farthest(a: Any, b: Any) -> float:
    """The most by which two JSON values differ in a number; infinite where they differ in anything else."""
    if isinstance(a, bool) or isinstance(b, bool) or not isinstance(a, int | float):
        if isinstance(a, dict) and isinstance(b, dict) and a.keys() == b.keys():
            return max((farthest(a[key], b[key]) for key in a), default=0.0)
        if isinstance(a, list | tuple) and isinstance(b, list | tuple) and len(a) == len(b):
            return max((farthest(x, y) for x, y in zip(a, b, strict=True)), default=0.0)
        return 0.0 if a == b else float("inf")
    return abs(a - b) if isinstance(b, int | float) else float("inf")


def stored(pattern: Pattern) -> Pattern:
    return read_pattern(json.loads(json.dumps(to_json(pattern))))


def check_undo(first: Pattern, asked: list[list[dict[str, Any]]]) -> Counter[str]:
    """Versions made one after the other as far as they can be, then all of them again from the record."""
    found, newest, records = Counter[str](), first, []
    for raw in asked:
        try:
            parsed = parse_operations(raw)
            made = do(newest, parsed).pattern
        except FitError:
            found["refused"] += 1
            continue
        newest = stored(made)
        records.append(json.dumps([one.to_json() for one in parsed]))
        found["done"] += 1
    again = first
    for record in records:
        again = stored(do(again, parse_operations(json.loads(record))).pattern)
    assert farthest(to_json(again), to_json(newest)) <= SAME_MM
    return found


@patiently
@given(st.data())
def test_doing_the_record_again_from_the_first_version_gives_the_newest_corset(
    corset: Pattern, data: st.DataObject
) -> None:
    check_undo(corset, data.draw(st.lists(alterations(corset), min_size=1, max_size=2)))


@patiently
@given(st.data())
def test_doing_the_record_again_from_the_first_version_gives_the_newest_bodies(
    bodies: Pattern, data: st.DataObject
) -> None:
    check_undo(bodies, data.draw(st.lists(alterations(bodies), min_size=1, max_size=2)))


def test_two_records_that_differ_are_told_apart(corset: Pattern) -> None:
    once = do(corset, parse_operations({"op": "length", "at": {"station": "waist", "offset": 60}, "amount": 5})).pattern
    assert farthest(to_json(once), to_json(corset)) > SAME_MM
