"""Patterns of known outline to photograph: all bundled ones, and a dozen invented."""

from __future__ import annotations

from collections.abc import Callable

from diagnose.pattern.brought import bring, load_pattern
from diagnose.pattern.outline import Cubic, Edge, Line, Pattern, Piece, Point
from diagnose.places import bundled_cases

Names = list[str]


def bundled() -> dict[str, Callable[[], Pattern]]:
    """The bundled patterns, by name."""
    folder = bundled_cases()
    drawing = folder / "pictures" / "stage-bodies.svg"
    return {
        "boned-bodies": lambda: load_pattern(folder / "patterns" / "boned-bodies.json"),
        "six-panel-corset": lambda: load_pattern(folder / "patterns" / "six-panel-corset.json"),
        "underarm-panels": lambda: load_pattern(folder / "patterns" / "underarm-panels.csv"),
        "stage-bodies": lambda: bring(drawing.read_bytes(), drawing.name).pattern,
    }


def invented() -> dict[str, Callable[[], Pattern]]:
    """A dozen patterns of plain panels, each of another shape."""
    rows = [
        # panels, height, waist from below, nip, top bow, hem bow, tabs
        (2, 330, 120, 14, 10, 8), (3, 360, 140, 18, -6, 10), (4, 300, 90, 10, 14, 0), (5, 380, 150, 16, 8, 14),
        (3, 280, 100, 22, 20, 6), (4, 420, 170, 12, -10, 20), (2, 250, 80, 8, 0, 0), (6, 340, 130, 15, 12, 9),
        (5, 310, 110, 20, 18, -5), (3, 400, 180, 24, 5, 16), (4, 270, 100, 6, 9, 12), (2, 440, 190, 26, 15, 10),
    ]  # fmt: skip
    return {f"invented-{n}": lambda row=row, n=n: _panels(f"invented-{n}", n, *row) for n, row in enumerate(rows, 1)}


def known_patterns() -> dict[str, Callable[[], Pattern]]:
    """All of them by name; each is made when it is called for."""
    return {**bundled(), **invented()}


def _panels(name: str, seed: int, count: int, high: int, waist: int, nip: int, top: int, hem: int) -> Pattern:
    pieces = []
    for k in range(count):
        wide = 92.0 + 11.0 * ((k * 7 + seed * 3) % 5)
        left, right = (0 if k == 0 else nip), (0 if k == count - 1 else nip)
        low, lift = 4.0 * ((k + seed) % 3), 9.0 * ((k * 2 + seed) % 4)
        a, b, c, d = Point(0, 0), Point(wide, low), Point(wide - 3, high + lift), Point(0, high)
        edges = (
            Edge("hem", "bottom", (Cubic(a, Point(wide / 3, -hem), Point(2 * wide / 3, low - hem), b),)),
            _side("back-seam", b, c, waist, -right),
            Edge("top", "top", (Cubic(c, Point(2 * wide / 3, high + lift - top), Point(wide / 3, high - top / 2), d),)),
            _side("front-seam", d, a, waist, left),
        )
        spots = {"hip": 30.0, "waist": float(waist), "underbust": waist + 90.0}
        levels = {s: (Point(-5.0, y), Point(wide + 5.0, y)) for s, y in spots.items() if y < high - 25}
        pieces.append(Piece(f"p{k + 1}", "pair", "both", edges=edges, levels=levels))
    return Pattern(name, "back", tuple(pieces))


def _side(name: str, start: Point, end: Point, waist: float, nip: float) -> Edge:
    if not nip:
        return Edge(name, "lacing", (Line(start, end),))
    part = (waist - start.y) / (end.y - start.y)
    mid = Point(start.x + (end.x - start.x) * part + nip, waist)
    up = 1.0 if end.y > start.y else -1.0
    first, second = abs(waist - start.y) * 0.4, abs(end.y - waist) * 0.4
    return Edge(name, "seam", (
        Cubic(start, Point(start.x, start.y + up * first), Point(mid.x, mid.y - up * first), mid),
        Cubic(mid, Point(mid.x, mid.y + up * second), Point(end.x, end.y - up * second), end),
    ))  # fmt: skip
