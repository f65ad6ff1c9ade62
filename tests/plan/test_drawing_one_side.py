"""One-sided work is drawn: on every bundled pattern, panels and halves in one piece, girths, heights and edges.

What can be drawn on both sides can be drawn on one, and then the other side's pieces are what they were.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from diagnose.model.diagnosis import Amount, CauseFound, Evidence, Side
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import seams_per_half
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Pattern, Piece
from diagnose.places import bundled_cases
from diagnose.plan.drawing import draw
from diagnose.plan.profiles import profile_of
from diagnose.plan.wanted import Wanted, limited
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.entries import Alteration

IN = 25.4
PATTERNS = (
    "boned-bodies.json", "six-panel-corset.json", "front-laced-stays.json", "gored-corset.json",
    "sleeved-bodice.json", "underarm-panels.csv",
)  # fmt: skip


def wanted(base: RuleBase, alteration: Alteration, pattern: Pattern, side: Side) -> Wanted:
    """Half an inch of it in a half, as the first cause that names it would have it."""
    cause, choice = next(
        (cause, choice)
        for cause in base.entries.causes.values()
        for choice in cause.alterations
        if choice.alteration == alteration.id
    )
    sign = next((line.fact for line in choice.only_if if line.value == "yes"), None)
    sign = sign or next((move.sign for move in alteration.moves if move.sign not in (None, "otherwise")), "none")
    found = CauseFound(cause.id, 0.9, side, (Evidence(sign, "rule", 2.0),), ())
    item = Wanted(
        alteration, choice, found, side, Amount(length_mm=IN / 2), dict.fromkeys(STATIONS, 0.0), False,
        seams=seams_per_half(pattern),
    )  # fmt: skip
    if alteration.kind != "girth":
        return item
    whole = (IN if side == "both" else IN / 2) * (-1.0 if alteration.direction == "out" else 1.0)
    profile = profile_of(whole, dict.fromkeys(STATIONS, whole), alteration, choice, base.settings)
    return limited(replace(item, profile=profile, asked=profile, read=frozenset(STATIONS)), base.settings)


def outline(piece: Piece) -> object:
    return tuple(edge.segments for edge in piece.edges)


def same_side(before: Pattern, after: Pattern, side: str) -> None:
    """The pieces of a side are as they were, whether still a pair or parted."""
    old = {piece.name: piece for piece in before.pieces}
    for piece in after.pieces:
        if piece.side == side:
            was = old.get(piece.name) or old[piece.name.removesuffix(f"-{side}")]
            assert outline(piece) == outline(was), piece.name


SHORT = ("boned-bodies.json", "front-laced-stays.json", "underarm-panels.csv")


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=() if name in SHORT else pytest.mark.long) for name in PATTERNS]
)
def test_what_is_drawn_on_both_sides_is_drawn_on_one(name: str, base: RuleBase, settings: Settings) -> None:
    pattern = load_pattern(Path(bundled_cases()) / "patterns" / name)
    drawn_on_one = 0
    for alteration in base.entries.alterations.values():
        if not alteration.does:
            continue
        on_both = draw(wanted(base, alteration, pattern, "both"), pattern, settings)
        on_left = draw(wanted(base, alteration, pattern, "left"), pattern, settings)
        assert bool(on_left.operations) == bool(on_both.operations), (alteration.id, notes_said(on_left.notes, {}))
        if not on_left.operations or on_left.pattern is None:
            continue
        drawn_on_one += 1
        read_pattern(to_json(on_left.pattern))
        again = do(pattern, parse_operations([operation.to_json() for operation in on_left.operations]))
        assert again.pattern == on_left.pattern
        if all(operation.op != "channels" for operation in on_left.operations):
            same_side(pattern, on_left.pattern, "right")
    assert drawn_on_one > 20


@pytest.mark.parametrize("way", ["lengthen", "shorten"])
@pytest.mark.parametrize("where", ["above", "below"])
def test_a_side_of_one_piece_is_made_longer_at_its_edge(
    way: str, where: str, bodies: Pattern, base: RuleBase, settings: Settings
) -> None:
    item = wanted(base, base.entries.alterations[f"{way}-{where}-waist"], bodies, "right")
    drawn = draw(item, bodies, settings)
    assert drawn.pattern is not None
    (piece,) = (piece for piece in drawn.pattern.pieces if piece.side == "right")
    (old,) = bodies.pieces
    role, grows = ("top" if where == "above" else "bottom"), (way == "lengthen") == (where == "above")
    moved = [
        new.end.y - was.end.y
        for was, new in zip(old.edges, piece.edges, strict=True)
        if was.role == role and new.role == role
    ]
    assert all((mm >= -0.01) if grows else (mm <= 0.01) for mm in moved)
    ends = [edge for edge in piece.edges if edge.role in ("fold", "lacing")]
    assert [edge for edge in old.edges if edge.role in ("fold", "lacing")] == ends
    same_side(bodies, drawn.pattern, "left")
