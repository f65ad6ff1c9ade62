"""Operations on the outline against the same polygon work in plain shapely: milliseconds, ratios, growth.

Run: ``python tests/bench/bench_operations.py [--quick]``. An oblong of 300 by 400 mm, its hem and neck waved by cubics,
is altered at 10, 100, 1,000 and 10,000 segments, and beside it the flattened ring is cut, moved and put together again
by shapely (outlines only: no curves kept, no truing, no marks, no seams). The growth is the exponent of n between the
two largest sizes; n log n would be 1.12 there. Then milliseconds an operation on the bundled patterns.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from shapely import LineString, Polygon, affinity, is_valid, union_all
from shapely.ops import split

from diagnose.pattern.brought import load_pattern
from diagnose.pattern.geometry.bezier import outline_points
from diagnose.pattern.kept import forget
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Cubic, Edge, Line, Pattern, Piece, Point, Segment

PATTERNS = Path(__file__).resolve().parents[2] / "cases" / "patterns"
SIZES = (10, 100, 1_000, 10_000)
WIDE, HIGH = 300.0, 400.0
CHORD_MM = 0.05
AMOUNT = 6.0
Raw = dict[str, Any]
OPERATIONS: dict[str, Raw] = {
    "fold": {"op": "fold", "piece": "sheet", "from": [150.3, -10], "to": [150.3, 410], "amount_from": AMOUNT,
             "amount_to": AMOUNT, "move": "left"},
    "dart": {"op": "dart", "piece": "sheet", "mouth": [150.3, 400], "width": 2 * AMOUNT, "point": [150, 200],
             "relief": [300, 180]},
    "move-edge": {"op": "move-edge", "piece": "sheet", "edge": "back",
                  "by": [{"along": 0, "mm": AMOUNT}, {"along": 1, "mm": AMOUNT}]},
    "reshape-edge": {"op": "reshape-edge", "piece": "sheet", "edge": "neck", "from": [250, 400], "peak": [150, 400],
                     "to": [50, 400], "height": 2 * AMOUNT},
    "length": {"op": "length", "at": {"station": "waist", "offset": 50}, "amount": AMOUNT},
}  # fmt: skip
BUNDLED: dict[str, dict[str, Any]] = {
    "six-panel-corset": {
        "length, all six panels": {"op": "length", "at": {"station": "waist", "offset": 63.5}, "amount": 12.7},
        "move-edge, one seam": {"op": "move-edge", "piece": "p3", "edge": "back-seam",
                                "by": [{"at": "top", "mm": 3}, {"at": "waist", "mm": 3}]},
        "take in evenly: move-edge on all ten seams": [
            {"op": "move-edge", "piece": piece, "edge": f"{side}-seam",
             "by": [{"at": "top", "mm": 3}, {"at": "waist", "mm": 3}]}
            for piece, sides in (("p1", ["back"]), ("p2", ["front", "back"]), ("p3", ["front", "back"]),
                                 ("p4", ["front", "back"]), ("p5", ["front", "back"]), ("p6", ["front"]))
            for side in sides
        ],
        "dart with a relief": {"op": "dart", "piece": "p2", "mouth": [150, 209], "width": 12.7, "point": [153, 0],
                               "relief": [174.3, 0]},
    },
    "boned-bodies": {
        "fold, fourteen channels": {"op": "fold", "piece": "bodies", "from": [375, 125], "to": [228, -150],
                                    "move": "left", "amount_from": 12, "amount_to": 6},
        "reshape-edge": {"op": "reshape-edge", "piece": "bodies", "edge": "neck", "from": [160, 221],
                         "peak": [60, 210], "to": [0, 212], "height": 12.7},
    },
}  # fmt: skip


def waved(start: Point, end: Point, count: int) -> tuple[Segment, ...]:
    """A level line of so many cubics, waved by a little of each one's length."""
    span = (end.x - start.x) / count
    rise = 0.2 * min(1.0, abs(span))
    made = []
    for n in range(count):
        x, y = start.x + n * span, start.y + (rise if n % 2 else -rise)
        ends = Point(x, start.y), Point(x + span if n < count - 1 else end.x, start.y)
        made.append(Cubic(ends[0], Point(x + span / 3, y), Point(x + 2 * span / 3, y), ends[1]))
    return tuple(made)


def sheet(count: int) -> Pattern:
    """The oblong with so many segments, three levels and a grain."""
    a, b, c, d = Point(0.0, 0.0), Point(WIDE, 0.0), Point(WIDE, HIGH), Point(0.0, HIGH)
    half = (count - 2) // 2
    edges = (
        Edge("hem", "bottom", waved(a, b, half)), Edge("back", "seam", (Line(b, c),)),
        Edge("neck", "top", waved(c, d, half)), Edge("front", "seam", (Line(d, a),)),
    )  # fmt: skip
    levels = {name: (Point(0.0, y), Point(WIDE, y)) for name, y in (("hip", 100.0), ("waist", 200.0), ("top", 300.0))}
    piece = Piece("sheet", "pair", "both", edges, levels, grain=(Point(20.0, 50.0), Point(20.0, 350.0)))
    return Pattern("a waved sheet", "back", (piece,))


def cut(shape: Polygon, *lines: list[tuple[float, float]]) -> list[Polygon]:
    """The parts of a polygon between lines."""
    parts = [shape]
    for line in lines:
        parts = [piece for part in parts for piece in split(part, LineString(line)).geoms]
    return parts


def shapely_strip(shape: Polygon, level: float | None) -> Any:
    """A strip cut out, upright in the middle or at a level, and the paper closed."""
    upright, at, half = level is None, 150.3 if level is None else level, AMOUNT / 2
    lines = [[(at + s, -50), (at + s, 450)] if upright else [(-50, at + s), (350, at + s)] for s in (-half, half)]
    axis, x, y = (0, -AMOUNT, 0.0) if upright else (1, 0.0, -AMOUNT)
    parts = cut(shape, *lines)
    low = [p for p in parts if p.representative_point().coords[0][axis] < at - half]
    high = [p for p in parts if p.representative_point().coords[0][axis] > at + half]
    return union_all([*low, *(affinity.translate(p, x, y) for p in high)])


def shapely_dart(shape: Polygon) -> Any:
    """A wedge cut out, and the paper above the slash turned to close it."""
    half = math.degrees(math.asin(AMOUNT / 200.0))
    legs = [affinity.rotate(LineString([(150, 200), (150, 450)]), angle, origin=(150, 200)) for angle in (-half, half)]
    slash = LineString([(150, 200), (350, 173.3)])
    parts = cut(shape, [*legs[1].coords][::-1] + [*slash.coords][1:])
    staying = max(parts, key=lambda part: part.area)
    moving = [piece for part in parts if part is not staying for piece in cut(part, [(150, 190), *legs[0].coords])]
    turned = max(moving, key=lambda part: part.area)
    return union_all([staying, affinity.rotate(turned, 2 * half, origin=(150, 200))])


def shapely_move(shape: Polygon) -> Any:
    """A strip taken off one side."""
    return shape.difference(Polygon([(WIDE - AMOUNT, -50), (WIDE + 50, -50), (WIDE + 50, 450), (WIDE - AMOUNT, 450)]))


def shapely_hump(shape: Polygon) -> Any:
    """A hump put on the neck."""
    steps = [(50 + 2 * n, HIGH - 1 + 2 * AMOUNT * math.sin(math.pi * n / 100) ** 2) for n in range(101)]
    return shape.union(Polygon([(250, HIGH - 2), *reversed(steps), (50, HIGH - 2)]))


SHAPELY: dict[str, Callable[[Polygon], Any]] = {
    "fold": lambda shape: shapely_strip(shape, None), "dart": shapely_dart, "move-edge": shapely_move,
    "reshape-edge": shapely_hump, "length": lambda shape: shapely_strip(shape, 250.0),
}  # fmt: skip


def best_ms(work: Callable[[], object], repeats: int) -> float:
    """The least processor time of several goes; answers kept from the go before are forgotten."""
    times = []
    for _ in range(repeats):
        forget()
        start = time.process_time()
        work()
        times.append((time.process_time() - start) * 1000)
    return min(times)


def in_shapely(points: list[tuple[float, float]], work: Callable[[Polygon], Any]) -> bool:
    return bool(is_valid(work(Polygon(points))))


def growth_rows(quick: bool) -> list[str]:
    """A row an operation and size: ours, shapely's, the ratio; and the growth on the last row of each."""
    rows = []
    for name, raw in OPERATIONS.items():
        ours: list[float] = []
        for size in SIZES[:3] if quick else SIZES:
            pattern, operations, repeats = sheet(size), parse_operations(raw), 7 if size < 5_000 else 3
            points = [tuple(p) for p in outline_points(pattern.pieces[0], CHORD_MM)]
            ours.append(best_ms(lambda p=pattern, o=operations: do(p, o), repeats))
            theirs = best_ms(lambda p=points, w=SHAPELY[name]: in_shapely(p, w), repeats)
            growth = (
                f"{math.log10(ours[-1] / ours[-2]):8.2f}" if size == SIZES[-1] or (quick and size == SIZES[2]) else ""
            )
            rows.append(f"{name:14}{size:7}{ours[-1]:10.1f}{theirs:10.2f}{ours[-1] / theirs:8.1f}x{growth}")
    return rows


def bundled_rows() -> list[str]:
    rows = []
    for name, asked in BUNDLED.items():
        pattern = load_pattern(PATTERNS / f"{name}.json")
        for what, raw in asked.items():
            operations = parse_operations(raw)
            taken = best_ms(lambda p=pattern, o=operations: do(p, o), 15)
            rows.append(f"{name:18}{what:46}{taken:8.1f}{taken / len(operations):8.1f}")
    return rows


def main() -> None:
    print("operation     segments  ours, ms  shapely, ms  ratio  growth")
    for row in growth_rows("--quick" in sys.argv):
        print(row, flush=True)
    print("\npattern           what                                          all, ms each, ms")
    for row in bundled_rows():
        print(row, flush=True)


if __name__ == "__main__":
    main()
