"""Chains of ten operations on every kind of paper, each step held against what a cutter would send back."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from awkward_patterns import AWKWARD as WHOLE
from awkward_patterns import awkward_pattern
from soundness import faults, outline_of
from stored_forms import zoo

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.in_words import notes_said, seam_quoted
from diagnose.pattern.measure import bounds, edge_length, edge_point_at
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Edge, Pattern
from diagnose.pattern.report import change_report
from diagnose.sentences import upper_first

Raw = dict[str, Any]
CASES = Path(__file__).parents[3] / "cases" / "patterns"
AWKWARD = ["lens", "bow-backed", "far away"]
BUNDLED = ["six-panel-corset", "boned-bodies", "gored-corset", "front-laced-stays", "sleeved-bodice"]
BACK_MM = 0.5
LONG = 10
USUAL_MM = 250.0


@cache
def paper(name: str) -> Pattern:
    path = CASES / f"{name}.json"
    if path.exists():
        return read_pattern(json.loads(path.read_text(encoding="utf-8")))
    return read_pattern(awkward_pattern(name) if name in WHOLE else zoo()[name])


def stored(pattern: Pattern) -> Any:
    return json.loads(json.dumps(to_json(pattern)))


def _spot(edge: Edge, part: float) -> list[float]:
    return list(edge_point_at(edge, part * edge_length(edge)))


def _asked(draw: random.Random, pattern: Pattern) -> Raw:
    """Something a maker might ask for, of a usual amount."""
    piece = draw.choice(pattern.pieces)
    ends = [edge for edge in piece.edges if edge.role in ("top", "bottom")]
    sides = [edge for edge in piece.edges if edge.role not in ("top", "bottom", "fold")]
    kind = draw.choice(["move", "move", "reshape", "reshape", "length", "length", "fold", "dart"])
    k = min(1.0, (bounds(piece).top - bounds(piece).bottom) / USUAL_MM)
    if kind == "length" and "waist" in piece.levels:
        offset = draw.choice([-50.0, -30.0, 0.0, 25.0, 40.0, 63.5])
        return {
            "op": "length",
            "at": {"station": "waist", "offset": k * offset},
            "amount": k * draw.choice([-12, -6, 6, 9.5, 12]),
        }
    if kind == "fold":
        box, part = bounds(piece), draw.uniform(0.35, 0.65)
        x, amount = box.left + part * (box.right - box.left), k * draw.choice([-6.0, 3.0, 6.0])
        ends_of = {"amount_from": amount, "amount_to": draw.choice([amount, amount, amount / 2])}
        return {
            "op": "fold",
            "piece": piece.name,
            "from": [x, box.bottom - 5],
            "to": [x, box.top + 5],
            "move": "left",
            **ends_of,
        }
    if kind == "dart" and sides and any(edge.role == "top" for edge in ends):
        mouth = _spot(next(edge for edge in ends if edge.role == "top"), 0.5)
        relief = _spot(draw.choice(sides), draw.uniform(0.4, 0.6))
        point = [mouth[0] + (relief[0] - mouth[0]) * 0.3, mouth[1] + (relief[1] - mouth[1]) * 0.8]
        return {"op": "dart", "piece": piece.name, "mouth": mouth, "width": 6.0 * k, "point": point, "relief": relief}
    if kind == "move" and sides:
        edge = draw.choice(sides)
        by = [{"along": 0, "mm": k * draw.uniform(-5, 5)}, {"along": 1, "mm": k * draw.uniform(-5, 5)}]
        return {"op": "move-edge", "piece": piece.name, "edge": edge.name, "by": by, "true_partner": True}
    edge = draw.choice(ends)
    places = zip(("from", "peak", "to"), (0.02, draw.uniform(0.4, 0.6), 0.98), strict=True)
    # Not more than the edge has room for: a French curve's tightest part has a radius of about 3/8 in.
    most = min(9.0 * k, 0.0015 * edge_length(edge) ** 2)
    height = draw.uniform(-most, most)
    return {"op": "reshape-edge", "piece": piece.name, "edge": edge.name, "height": height,
            "direction": "up", **{key: _spot(edge, part) for key, part in places}}  # fmt: skip


def chain(name: str, seed: int) -> Iterator[tuple[Raw, Pattern, Altered]]:
    """Up to ten operations that the paper bears, each with the paper before and what was made of it."""
    draw, now, done = random.Random(f"{name} {seed}"), paper(name), 0
    for _ in range(3 * LONG):
        raw = _asked(draw, now)
        try:
            made = do(now, parse_operations(raw))
        except FitError:
            continue
        yield raw, now, made
        now, done = made.pattern, done + 1
        if done == LONG:
            return


def _told(seam: str) -> str:
    """How a sentence about the seam begins."""
    return f"{upper_first(seam_quoted(seam))}: "


def unsound(name: str, seed: int) -> list[str]:
    found: list[str] = []
    for number, (raw, before, made) in enumerate(chain(name, seed)):
        after, said = made.pattern, " ".join(notes_said(made.notes, {}))
        report = change_report(before, after).to_json()
        bad = faults(stored(before), stored(after), report)
        assert read_pattern(stored(after)) == read_pattern(stored(read_pattern(stored(after))))
        # One side of a seam altered alone is what was asked for: then it has to be said by how much the two differ.
        bad = [what for what in bad if not (what.startswith("seam") and _told(what.split()[1][:-1]) in said)]
        found += [f"{name} {seed}, step {number}, {json.dumps(raw)}: {what}" for what in bad]
    return found


@pytest.mark.parametrize(
    ("name", "seed"),
    [
        ("six-panel-corset", 0),
        ("boned-bodies", 0),
        ("bow-backed", 0),
        ("curved waist", 0),
        ("narrow gore", 1),
        ("small bodies", 30),
        ("level on the closing line", 57),
    ],
)
def test_a_chain_of_ten_leaves_nothing_a_cutter_would_send_back(name: str, seed: int) -> None:
    assert unsound(name, seed) == []


@pytest.mark.long
@pytest.mark.parametrize("seed", [1, *(pytest.param(seed, marks=pytest.mark.proof) for seed in (2, 3))])
@pytest.mark.parametrize("name", [*BUNDLED, *WHOLE, *AWKWARD])
def test_chains_of_ten_leave_nothing_a_cutter_would_send_back(name: str, seed: int) -> None:
    assert unsound(name, seed) == []


BACK: dict[str, tuple[str, ...]] = {
    "length": ("amount",), "fold": ("amount_from", "amount_to"), "reshape-edge": ("height",), "move-edge": (),
}  # fmt: skip


def undone(raw: Raw) -> Raw | None:
    """What takes the operation back: its amounts the other way; None for one that has no such."""
    if raw["op"] not in BACK:
        return None
    made: Raw = {**raw, **{name: -raw[name] for name in BACK[raw["op"]]}}
    if raw["op"] == "move-edge":
        made["by"] = [{**place, "mm": -place["mm"]} for place in raw["by"]]
    return made


def swallowed(notes: tuple[str, ...]) -> bool:
    """Whether it was said that something went that can't come back: a level in the strip, or an edge's end."""
    return any(note.startswith("These levels") or "will not draw that bend" in note for note in notes)


def there_and_back(name: str, seed: int) -> Iterator[tuple[str, float]]:
    """For some operations, how far from where it was the outline lies once they are taken back, mm."""
    draw, first = random.Random(f"{name} back {seed}"), paper(name)
    for _ in range(LONG):
        raw = _asked(draw, first)
        back = undone(raw)
        if back is None or raw["op"] == "fold":
            continue
        try:
            there = do(first, parse_operations(raw))
            again = do(there.pattern, parse_operations(back))
        except FitError:
            continue
        pairs = zip(stored(first)["pieces"], stored(again.pattern)["pieces"], strict=True)
        off = max(outline_of(a).exterior.hausdorff_distance(outline_of(b).exterior) for a, b in pairs)
        if not swallowed((*notes_said(there.notes, {}), *notes_said(again.notes, {}))):
            yield json.dumps(raw), off


@pytest.mark.parametrize("name", ["six-panel-corset", "boned-bodies"])
def test_what_is_done_and_taken_back_leaves_the_outline_within_half_a_millimetre(name: str) -> None:
    assert [case for case in there_and_back(name, 0) if case[1] > BACK_MM] == []


@pytest.mark.long
@pytest.mark.parametrize("name", [*BUNDLED, *(pytest.param(name, marks=pytest.mark.proof) for name in WHOLE)])
def test_all_that_is_done_and_taken_back_leaves_the_outline_within_half_a_millimetre(name: str) -> None:
    assert [case for seed in range(3) for case in there_and_back(name, seed) if case[1] > BACK_MM] == []
