"""Lists of operations such as a maker might ask for, drawn at random on any pattern. Millimetres."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from diagnose.pattern.measure import bounds, edge_length, edge_point_at
from diagnose.pattern.outline import Edge, Pattern, Piece

__all__ = ["Raw", "alterations"]

Raw = dict[str, Any]


def _spot(edge: Edge, part: float) -> list[float]:
    return list(edge_point_at(edge, part * edge_length(edge)))


def _ends(piece: Piece, role: str) -> list[Edge]:
    return [edge for edge in piece.edges if edge.role == role]


@st.composite
def folds(draw: st.DrawFn, piece: Piece) -> Raw:
    """A strip across the piece or down it, folded out or spread."""
    box = bounds(piece)
    parts = draw(st.tuples(st.floats(0.25, 0.75), st.floats(0.25, 0.75)))
    amounts = draw(st.tuples(st.floats(-12.0, 12.0), st.floats(-12.0, 12.0)))
    level = draw(st.booleans())
    if level:
        ends = [
            [x, box.bottom + p * (box.top - box.bottom)]
            for x, p in ((box.left - 5, parts[0]), (box.right + 5, parts[0]))
        ]
    else:
        ends = [
            [box.left + p * (box.right - box.left), y] for y, p in ((box.top + 5, parts[0]), (box.bottom - 5, parts[1]))
        ]
    return {
        "op": "fold", "piece": piece.name, "from": ends[0], "to": ends[1], "amount_from": amounts[0],
        "amount_to": amounts[1], "move": draw(st.sampled_from(["left", "right"])),
    }  # fmt: skip


@st.composite
def darts(draw: st.DrawFn, piece: Piece) -> Raw:
    """A dart from the top edge, its slash to a side."""
    mouth = _spot(draw(st.sampled_from(_ends(piece, "top"))), draw(st.floats(0.3, 0.7)))
    side = draw(st.sampled_from([e for e in piece.edges if e.role not in ("top", "bottom")]))
    relief = _spot(side, draw(st.floats(0.35, 0.65)))
    deep = draw(st.floats(0.4, 0.9))
    point = [mouth[0] + (relief[0] - mouth[0]) * 0.3, mouth[1] + (relief[1] - mouth[1]) * deep]
    width = draw(st.floats(0.0, 10.0))
    return {"op": "dart", "piece": piece.name, "mouth": mouth, "width": width, "point": point, "relief": relief}


@st.composite
def moves(draw: st.DrawFn, piece: Piece) -> Raw:
    """An edge moved in or out, evenly or tapering."""
    edge = draw(st.sampled_from([e for e in piece.edges if e.role != "fold"]))
    ends = draw(st.tuples(st.floats(-6.0, 6.0), st.floats(-6.0, 6.0)))
    return {
        "op": "move-edge", "piece": piece.name, "edge": edge.name, "true_partner": draw(st.booleans()),
        "by": [{"along": 0.0, "mm": ends[0]}, {"along": 1.0, "mm": ends[1]}],
        "channels": draw(st.sampled_from(["stay", "follow"])),
    }  # fmt: skip


@st.composite
def reshapings(draw: st.DrawFn, piece: Piece) -> Raw:
    """A top or bottom edge raised or scooped between two of its places."""
    edge = draw(st.sampled_from([*_ends(piece, "top"), *_ends(piece, "bottom")]))
    places = zip(("from", "peak", "to"), (0.05, draw(st.floats(0.3, 0.7)), 0.95), strict=True)
    return {
        "op": "reshape-edge", "piece": piece.name, "edge": edge.name, "direction": draw(st.sampled_from(["up", "out"])),
        "height": draw(st.floats(-8.0, 8.0)), **{key: _spot(edge, part) for key, part in places},
    }  # fmt: skip


lengths = st.fixed_dictionaries(
    {
        "op": st.just("length"), "amount": st.floats(-20.0, 20.0),
        "at": st.fixed_dictionaries({"station": st.sampled_from(["waist"]), "offset": st.floats(-80.0, 90.0)}),
    }
)  # fmt: skip


@st.composite
def others(draw: st.DrawFn, piece: Piece) -> Raw:
    """What adds to a piece, parts it, or draws its tabs and channels anew."""
    kinds: list[Raw] = [{"op": "split-sides", "piece": piece.name}]
    if piece.slits:
        foot, tip = piece.slits[-1].line[0], piece.slits[-1].line[-1]
        deeper, longer = draw(st.floats(-5.0, 10.0)), draw(st.floats(0.5, 8.0))
        kinds += [
            {"op": "tabs", "piece": piece.name, "deepen": deeper, "lengthen": longer},
            {"op": "insert-gore", "piece": piece.name, "slit_foot": list(foot), "tip": list(tip), "width": 30.0},
        ]  # fmt: skip
    if piece.channels:
        name = draw(st.sampled_from([channel.name for channel in piece.channels]))
        kinds += [
            {"op": "channels", "piece": piece.name, "remove": [name]},
            {"op": "channels", "piece": piece.name, "move": [{"name": name, "by": [draw(st.floats(-2.0, 2.0)), 0.0]}]},
        ]
    if "strap-front" in piece.landmarks:
        kinds.append({"op": "strap", "piece": piece.name, "end": "front", "move": draw(st.floats(1.0, 6.0))})
    return draw(st.sampled_from(kinds))


@st.composite
def alterations(draw: st.DrawFn, pattern: Pattern, most: int = 3) -> list[Raw]:
    """Up to so many operations; that all can be done is not promised."""
    made = []
    for _ in range(draw(st.integers(1, most))):
        piece = draw(st.sampled_from(pattern.pieces))
        kind = draw(st.sampled_from([folds, darts, moves, reshapings, others, None]))
        made.append(draw(lengths if kind is None else kind(piece)))
    return made
