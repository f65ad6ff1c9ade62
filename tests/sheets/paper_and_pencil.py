"""A follower of ruler-and-pencil steps: it knows the figures and the old paper, and none of the program's geometry.

Edges are runs of points half a millimetre apart; lengths along them are summed chords. Millimetres, y upwards.
"""

from __future__ import annotations

import math
from itertools import pairwise

import shapely

from diagnose.pattern.outline import Cubic, Line, Piece
from diagnose.sheets.hand.figures import (
    Arcs,
    AtPlace,
    Chord,
    Closing,
    Corner,
    CutAcross,
    Figure,
    Folding,
    GoreFigure,
    Halfway,
    Inset,
    NewLine,
    OnEdge,
    Place,
    RubbedOut,
    Ruled,
    Slide,
    Spreading,
    Square,
    Tab,
    Width,
)  # fmt: skip

XY = tuple[float, float]
STEP_MM = 0.5


def laid_out(piece: Piece) -> dict[str, list[XY]]:
    """The piece's edges as runs of points."""
    return {edge.name: _run(list(edge.segments)) for edge in piece.edges}


def _run(segments: list[Line | Cubic]) -> list[XY]:
    points: list[XY] = [segments[0].start]
    for s in segments:
        if isinstance(s, Line):
            size = math.dist(s.start, s.end)
            count = max(1, math.ceil(size / STEP_MM))
            new = [_mix(s.start, s.end, n / count) for n in range(1, count + 1)]
        else:
            size = math.dist(s.start, s.c1) + math.dist(s.c1, s.c2) + math.dist(s.c2, s.end)
            count = max(2, math.ceil(size / STEP_MM))
            new = [_cubic(s, n / count) for n in range(1, count + 1)]
        points += new
    return points


def _cubic(s: Cubic, t: float) -> XY:
    a, b, c = _mix(s.start, s.c1, t), _mix(s.c1, s.c2, t), _mix(s.c2, s.end, t)
    return _mix(_mix(a, b, t), _mix(b, c, t), t)


def _mix(p: XY, q: XY, t: float) -> XY:
    return (p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t)


def lines_of(piece: Piece) -> dict[str, list[XY]]:
    """What is drawn inside the piece, by what it is."""
    return {
        **{f"channel:{channel.name}": list(channel.line) for channel in piece.channels},
        **{f"slit:{slit.name}": list(slit.line) for slit in piece.slits},
        **{f"level:{station}": list(line) for station, line in piece.levels.items()},
        **({"grain": list(piece.grain)} if piece.grain else {}),
    }


def walk(run: list[XY], mm: float) -> XY:
    """The point so far along the run."""
    for p, q in pairwise(run):
        leg = math.dist(p, q)
        if mm <= leg and leg > 0:
            return _mix(p, q, mm / leg)
        mm -= leg
    return run[-1]


def size_of(run: list[XY]) -> float:
    return sum(math.dist(p, q) for p, q in pairwise(run))


def most_off(runs: list[list[XY]], points: list[XY]) -> float:
    """How far the farthest of the points lies from the runs (measured by shapely)."""
    lines = shapely.MultiLineString([run for run in runs if len(run) > 1])
    return float(shapely.distance(lines, shapely.points(points)).max())


class Table:
    """One piece on the table, its marks, and what has been drawn on it."""

    def __init__(self, piece: Piece) -> None:
        self.piece = piece
        self.edges = laid_out(piece)
        self.drawn: dict[str, list[list[XY]]] = {name: [run] for name, run in self.edges.items()}
        self.marks: dict[str, XY] = {}
        self.spots: dict[str, XY] = dict(piece.landmarks)
        self.lines: dict[str, list[XY]] = lines_of(piece)
        self.gores: list[list[XY]] = []

    def follow(self, figures: list[Figure]) -> None:
        for figure in figures:
            getattr(self, f"_{type(figure).__name__.lower()}")(figure)

    def off(self, edge: str, points: list[XY]) -> float:
        """How far the farthest of the points lies from what is drawn of that edge."""
        return most_off(self.drawn[edge], points)

    def _place(self, place: Corner | str) -> XY:
        if isinstance(place, str):
            return self.marks[place]
        return self.edges[place.edge][0 if place.end == "start" else -1]

    def _onedge(self, f: OnEdge) -> None:
        run = self.edges[f.edge]
        self.marks[f.mark] = walk(run if f.end == "start" else run[::-1], f.mm)

    def _atplace(self, f: AtPlace) -> None:
        self.marks[f.mark] = self.piece.landmarks[f.landmark]

    def _inset(self, f: Inset) -> None:
        run = self.edges[f.edge] if f.end == "start" else self.edges[f.edge][::-1]
        at, a, b = walk(run, f.mm), walk(run, f.mm - 0.5), walk(run, f.mm + 0.5)
        d = math.dist(a, b) * (1 if f.end == "start" else -1)
        self.marks[f.mark] = (at[0] - (b[1] - a[1]) / d * f.in_mm, at[1] + (b[0] - a[0]) / d * f.in_mm)

    def _arcs(self, f: Arcs) -> None:
        a, b = self._place(f.first), self._place(f.second)
        d = math.dist(a, b)
        along = (d * d + f.first_mm**2 - f.second_mm**2) / (2 * d)
        up = math.sqrt(max(0.0, f.first_mm**2 - along**2)) * (1 if f.left else -1)
        ux, uy = (b[0] - a[0]) / d, (b[1] - a[1]) / d
        self.marks[f.mark] = (a[0] + ux * along - uy * up, a[1] + uy * along + ux * up)

    def _square(self, f: Square) -> None:
        a, b, at = (self.marks[name] for name in (*f.line, f.at))
        d = math.dist(a, b)
        self.marks[f.mark] = (at[0] - (b[1] - a[1]) / d * f.mm, at[1] + (b[0] - a[0]) / d * f.mm)

    def _folding(self, f: Folding) -> None:
        a1, b1, a2, b2 = (self.marks[name] for name in (*f.moving, *f.still))
        turn = math.atan2(b2[1] - a2[1], b2[0] - a2[0]) - math.atan2(b1[1] - a1[1], b1[0] - a1[0])
        # Which side of the moving line is away from the still one: where they cross at one end, the other end tells.
        probe, base = (a2, (a1, b1)) if math.dist(a1, a2) > math.dist(b1, b2) else (b2, (a1, b1))
        away = -1 if _side(*base, probe) > 0 else 1
        self._cut(
            moves=lambda p: _side(a1, b1, p) * away >= 0, stays=lambda p: _side(a2, b2, p) * away <= 0,
            carry=lambda p: _turned(p, a1, a2, turn),
        )  # fmt: skip

    def _spreading(self, f: Spreading) -> None:
        a, b = (self.marks[name] for name in f.line)
        way = 1 if f.moves == "left" else -1
        d = math.dist(a, b)
        nx, ny = -(b[1] - a[1]) / d * way, (b[0] - a[0]) / d * way
        a2, b2 = ((p[0] + nx * mm, p[1] + ny * mm) for p, mm in zip((a, b), f.apart_mm, strict=True))
        turn = math.atan2(b2[1] - a2[1], b2[0] - a2[0]) - math.atan2(b[1] - a[1], b[0] - a[0])
        self._cut(
            moves=lambda p: _side(a, b, p) * way >= 0, stays=lambda p: _side(a, b, p) * way <= 0,
            carry=lambda p: _turned(p, a, a2, turn),
        )  # fmt: skip

    def _closing(self, f: Closing) -> None:
        """Turn one side of the chain leg–point–relief about the point until the legs lie on each other."""
        pivot, moving, still = self.marks[f.point], self.marks[f.moving], self.marks[f.still]
        turn = _angle(pivot, still) - _angle(pivot, moving)
        far = self.marks[f.relief] if f.relief else pivot
        ring = [p for run in self.edges.values() for p in run]
        at = {name: min(range(len(ring)), key=lambda n: math.dist(ring[n], spot)) for name, spot in
              (("moving", self._ahead(pivot, moving)), ("still", self._ahead(pivot, still)), ("far", far))}  # fmt: skip
        places: dict[XY, int] = {}
        for n, p in enumerate(ring):
            places.setdefault(p, n)
        onward = (at["far"] - at["moving"]) % len(ring) < (at["still"] - at["moving"]) % len(ring)

        def part(p: XY) -> tuple[bool, bool]:
            n = places[p]
            if onward:
                moved = (n - at["moving"]) % len(ring) <= (at["far"] - at["moving"]) % len(ring)
                kept = (n - at["far"]) % len(ring) <= (at["still"] - at["far"]) % len(ring)
            else:
                moved = (n - at["far"]) % len(ring) <= (at["moving"] - at["far"]) % len(ring)
                kept = (n - at["still"]) % len(ring) <= (at["far"] - at["still"]) % len(ring)
            return moved, kept

        self._cut(lambda p: part(p)[0], lambda p: part(p)[1], lambda p: _turned(p, pivot, pivot, turn))

    def _ahead(self, pivot: XY, leg: XY) -> XY:
        """Where the leg, run on, meets the outline."""
        ring = [p for run in self.edges.values() for p in run]
        way = _angle(pivot, leg)
        near = [p for p in ring if math.cos(_angle(pivot, p) - way) > 0.99999]
        return min(near, key=lambda p: math.dist(pivot, p))

    def _cutacross(self, f: CutAcross) -> None:
        grain, level = self.piece.grain, self.piece.levels[f.station]
        assert grain is not None
        (x0, y0), (x1, y1) = sorted(grain, key=lambda p: p[1])
        size = math.hypot(x1 - x0, y1 - y0)
        ux, uy = (x1 - x0) / size, (y1 - y0) / size
        on = next(p for a, b in pairwise(level) if (p := _crossing((x0, y0), (x1, y1), a, b)))
        up_at = ux * on[0] + uy * on[1] + f.offset_mm
        waist = self.piece.levels["waist"]
        on_waist = next((p for a, b in pairwise(waist) if (p := _crossing((x0, y0), (x1, y1), a, b))), waist[0])
        above = up_at >= ux * on_waist[0] + uy * on_waist[1] - 1e-6
        way, strip = (1 if above else -1), max(f.amount_mm, 0.0)
        run = sorted((uy * x - ux * y, ux * x + uy * y) for x, y in level)

        def cut_at(p: XY) -> float:
            if not f.level_run:
                return up_at
            at = uy * p[0] - ux * p[1]
            (a, low), (b, high) = next((pair for pair in pairwise(run) if at <= pair[1][0]), run[-2:])
            return low + (high - low) * (at - a) / (b - a) + f.offset_mm

        def height(p: XY) -> float:
            return (ux * p[0] + uy * p[1] - cut_at(p)) * way

        def carry(p: XY) -> XY:
            return (p[0] - ux * f.amount_mm * way, p[1] - uy * f.amount_mm * way)

        self._cut(lambda p: height(p) >= strip, lambda p: height(p) <= 0.0, carry)

    def _cut(self, moves, stays, carry) -> None:  # type: ignore[no-untyped-def]
        for name, run in self.edges.items():
            parts = [[p for p in run if stays(p)], [carry(p) for p in run if moves(p)]]
            self.edges[name] = parts[0] + parts[1] if stays(run[0]) else parts[1] + parts[0]
            self.drawn[name] = [self.edges[name]]

    def _newline(self, f: NewLine) -> None:
        run = [p for name in f.edges for p in self.edges[name]]
        if f.end == "end":
            run = run[::-1]
        marks = sorted(f.marks)
        if f.even:
            marks = [(size_of(run) * n / 200, f.marks[0][1]) for n in range(201)]
        made = []
        for mm, off in marks:
            at, ahead = walk(run, mm), walk(run, mm + 0.5)
            behind = walk(run, min(mm, size_of(run)) - 0.5) if mm > 0.5 else run[0]
            d = math.dist(behind, ahead)
            left = (-(ahead[1] - behind[1]) / d, (ahead[0] - behind[0]) / d)
            way = f.way or (left if f.end == "start" else (-left[0], -left[1]))
            made.append((at[0] + way[0] * off, at[1] + way[1] * off))
        head = [walk(run, n * marks[0][0] / 50) for n in range(50)] if marks[0][1] == 0 and marks[0][0] else []
        size = size_of(run)
        end = marks[-1][0]
        tail = [walk(run, end + n * (size - end) / 50) for n in range(51)] if marks[-1][1] == 0 else []
        first, last = _beyond(made[1], made[0]), _beyond(made[-2], made[-1])
        # She draws a smooth line: it goes into the old one at an end that lies on it.
        before, after = (head[-10:-9] if head else []), (tail[9:10] if tail else [])
        line = [*(head or [first]), *_smooth([*before, *made, *after]), *(tail or [last])]
        for name in f.edges:
            self.drawn[name] = [line]
        self._run_on(f.edges)

    def _run_on(self, edges: tuple[str, ...]) -> None:
        """The edges beside a run, drawn on straight where they met it."""
        names = list(self.edges)
        before = names[names.index(edges[0]) - 1]
        behind = names[(names.index(edges[-1]) + 1) % len(names)]
        run = self.edges[before]
        self.drawn[before] = [*self.drawn[before], [run[-1], _beyond(run[-2], run[-1])]]
        run = self.edges[behind]
        self.drawn[behind] = [*self.drawn[behind], [run[0], _beyond(run[1], run[0])]]

    def _chord(self, f: Chord) -> None:
        """A stretch of an edge drawn anew: what was drawn between the two places gives way to the marks."""
        spots = [self._spot(place) for place in (f.first, f.last)]
        (x, y), d = spots[0], math.dist(*spots)
        ux, uy = (spots[1][0] - x) / d, (spots[1][1] - y) / d
        marks = [(x + ux * along - uy * off, y + uy * along + ux * off) for along, off in f.marks]
        self.drawn[f.edge] = [*self.drawn[f.edge], _smooth([spots[0], *marks, spots[1]])]

    def _spot(self, place: Place) -> XY:
        if isinstance(place, Halfway):
            a, b = (self._place(corner) for corner in place.ends)
            return _mix(a, b, 0.5)
        name, end, mm = place
        run = self.edges[name] if end == "start" else self.edges[name][::-1]
        spot = walk(run, mm)
        if mm < 0.0:
            # Past its end: the edge is run straight on to there.
            self.drawn[name] = [*self.drawn[name], [run[0], spot]]
        return spot

    def _width(self, f: Width) -> None:
        """Nothing is drawn: she measures."""

    def _ruled(self, f: Ruled) -> None:
        a, b = (self.marks[mark] for mark in f.marks)
        size = math.dist(a, b)
        over = [self.marks[mark] for mark in f.over]
        self.lines[f.what] = [_mix(a, b, f.short_mm[0] / size), *over, _mix(b, a, f.short_mm[1] / size)]

    def _rubbedout(self, f: RubbedOut) -> None:
        del self.lines[f.what]

    def _slide(self, f: Slide) -> None:
        if f.what.startswith("slit:"):
            inner, tip = self.lines[f.what][-2:]
            self.lines[f.what][-1] = _mix(tip, inner, -f.by_mm / math.dist(inner, tip))
        elif f.what.startswith("channel:"):
            what, end = f.what.rsplit(":", 1)
            line = self.lines[what]
            at, inner = (0, 1) if end == "start" else (-1, -2)
            line[at] = _mix(line[at], line[inner], -f.by_mm / math.dist(line[at], line[inner]))
        elif f.what.startswith("edge:"):
            self._carried_on(f.what.removeprefix("edge:"), f.by_mm)
        elif f.what in self.spots:
            # Along the top edges, which go round from the back to the front.
            top = [p for edge in self.piece.edges if edge.role == "top" for p in self.edges[edge.name]]
            near = min(range(len(top)), key=lambda n: math.dist(top[n], self.spots[f.what]))
            self.spots[f.what] = walk(top[near::-1], f.by_mm) if f.by_mm > 0 else walk(top[near:], -f.by_mm)

    def _carried_on(self, name: str, by: float) -> None:
        """A hem carried on along the edges beside it and the slits, even from one of them to the next."""
        run, names = self.edges[name], list(self.edges)
        before, behind = (
            self.edges[names[names.index(name) - 1]],
            self.edges[names[(names.index(name) + 1) % len(names)]],
        )
        ways = {0: _way(before[-2], before[-1]), len(run) - 1: _way(behind[1], behind[0])}
        for what, line in self.lines.items():
            if what.startswith("slit:"):
                foot = min(range(len(run)), key=lambda n: math.dist(run[n], line[0]))
                ways[foot] = _way(line[1], line[0])
                line[0] = (line[0][0] + ways[foot][0] * by, line[0][1] + ways[foot][1] * by)
        moved = []
        for (i, v), (j, w) in pairwise(sorted(ways.items())):
            for n in range(i, j + 1):
                x, y = _mix(v, w, (n - i) / (j - i))
                moved.append((run[n][0] + x * by, run[n][1] + y * by))
        self.edges[name] = moved
        self.drawn[name] = [moved]
        for index, at in (
            (names[names.index(name) - 1], moved[0]),
            (names[(names.index(name) + 1) % len(names)], moved[-1]),
        ):
            run = self.edges[index]
            end = run[-1] if math.dist(run[-1], at) < math.dist(run[0], at) else run[0]
            self.drawn[index] = [*self.drawn[index], [end, at]]

    def _tab(self, f: Tab) -> None:
        for edge in f.edges:
            self.drawn[edge] = [[(x + f.by_mm, y) for x, y in self.edges[edge]]]
        x, y = self.spots[f.landmark]
        self.spots[f.landmark] = (x + f.by_mm, y)

    def _gorefigure(self, f: GoreFigure) -> None:
        """The gore laid over its slit: two legs from the tip, and its hem on the arc about it."""
        tip, foot = self.marks[f.slit_tip], self.marks[f.slit_foot]
        middle, half = _angle(tip, foot), math.asin(f.width_mm / 2 / f.leg_mm)
        arc = [
            (tip[0] + f.leg_mm * math.cos(middle + half * n / 20), tip[1] + f.leg_mm * math.sin(middle + half * n / 20))
            for n in range(-20, 21)
        ]
        self.gores.append([tip, *arc, tip])


def _way(a: XY, b: XY) -> XY:
    d = math.dist(a, b)
    return (b[0] - a[0]) / d, (b[1] - a[1]) / d


def _smooth(points: list[XY]) -> list[XY]:
    """A smooth line through the points (a Catmull-Rom spline by chord length), as with a curved rule."""
    kept = [p for n, p in enumerate(points) if n == 0 or math.dist(p, points[n - 1]) > 0.2]
    if len(kept) < 3:
        return kept
    ends = [_mix(kept[1], kept[0], 2.0), *kept, _mix(kept[-2], kept[-1], 2.0)]
    made = [kept[0]]
    for p0, p1, p2, p3 in zip(ends, ends[1:], ends[2:], ends[3:], strict=False):
        t1 = math.dist(p0, p1)
        t2 = t1 + math.dist(p1, p2)
        t3 = t2 + math.dist(p2, p3)
        for n in range(1, 21):
            t = t1 + (t2 - t1) * n / 20
            part = (t - t1) / (t2 - t1)
            a, b, c = _mix(p0, p1, t / t1), _mix(p1, p2, part), _mix(p2, p3, (t - t2) / (t3 - t2))
            made.append(_mix(_mix(a, b, t / t2), _mix(b, c, (t - t1) / (t3 - t1)), part))
    return made


def _beyond(p: XY, q: XY) -> XY:
    """The line p→q run on by 60 mm."""
    d = math.dist(p, q) or 1.0
    return (q[0] + (q[0] - p[0]) / d * 60, q[1] + (q[1] - p[1]) / d * 60)


def _side(a: XY, b: XY, p: XY) -> float:
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def _angle(a: XY, b: XY) -> float:
    return math.atan2(b[1] - a[1], b[0] - a[0])


def _turned(p: XY, about: XY, to: XY, angle: float) -> XY:
    x, y, c, s = p[0] - about[0], p[1] - about[1], math.cos(angle), math.sin(angle)
    return (to[0] + c * x - s * y, to[1] + s * x + c * y)


def _crossing(a: XY, b: XY, c: XY, d: XY) -> XY | None:
    """Where the endless line a→b crosses c–d."""
    s, t = _side(a, b, c), _side(a, b, d)
    return _mix(c, d, s / (s - t)) if s != t and 0 <= s / (s - t) <= 1 else None
