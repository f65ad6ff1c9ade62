"""What a cutter would send back, measured on the stored form by geometry of its own: numpy and shapely alone.

`faults(before, after, report)` lists every fault in plain words. Only what was not so before is a fault.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from functools import lru_cache
from itertools import combinations, pairwise
from typing import Any

import numpy as np
from shapely.geometry import LineString, Point, Polygon

__all__ = ["CORNER_DEG", "faults", "girths", "outline_of", "sampled"]

STEP_MM = 0.5
SEAM_MM = 25.4 / 16
CORNER_DEG = 5.0
CORNER_RATIO = 2.0
TURN_DEG_A_MM = 6.5
"""A radius of 9 mm: about the tightest part of a French curve (from memory, no source)."""
RUNS_ON_DEG = 3.0
ON_EDGE_MM = 1.0
LEVEL_MM = 0.02
OUTSIDE_MM = 0.5
AREA_MM2 = 2.0
GIRTH_MM = 0.05
MOST_BUMPS = 2
BEND_DEG = 1.5
SEEN_MM, SEEN_DEG = 0.1, 4.0
"""A wave that strays less from its chord than half a pencil's line, and turns less, is none (no source)."""
DRAWN = ("edges", "levels", "landmarks", "channels", "slits", "notches")
STEEL = ("fold", "opening", "lacing")
STATIONS = ("top", "underbust", "waist", "hip", "bottom")
Json = Mapping[str, Any]
Curve = np.ndarray


def sampled(piece: Json) -> dict[str, Curve]:
    """Each edge of a stored piece as points not more than about half a millimetre apart."""
    return _sampled(json.dumps([piece["start"], piece["edges"]]))


@lru_cache(maxsize=256)
def _sampled(stored: str) -> dict[str, Curve]:
    start, edge_rows = json.loads(stored)
    piece = {"start": start, "edges": edge_rows}
    at = np.array(piece["start"], float)
    edges = {}
    for edge in piece["edges"]:
        runs = [at[None, :]]
        for step in edge["path"]:
            if step[0] == "L":
                end = np.array(step[1:], float)
                count = max(2, math.ceil(float(np.hypot(*(end - at))) / STEP_MM) + 1)
                t = np.linspace(0.0, 1.0, count)[1:, None]
                runs.append(at + (end - at) * t)
            else:
                c1, c2, end = (np.array(step[i : i + 2], float) for i in (1, 3, 5))
                size = sum(float(np.hypot(*d)) for d in (c1 - at, c2 - c1, end - c2))
                t = np.linspace(0.0, 1.0, max(9, math.ceil(size / STEP_MM) + 1))[1:, None]
                u = 1.0 - t
                runs.append(u**3 * at + 3 * u * u * t * c1 + 3 * u * t * t * c2 + t**3 * end)
            at = end
        edges[edge["name"]] = np.concatenate(runs)
    return edges


def outline_of(piece: Json) -> Polygon:
    """The paper of a stored piece."""
    return _outline(json.dumps([piece["start"], piece["edges"]]))


@lru_cache(maxsize=256)
def _outline(stored: str) -> Polygon:
    start, edges = json.loads(stored)
    piece = {"start": start, "edges": edges}
    return Polygon(np.concatenate([curve[:-1] for curve in sampled(piece).values()]))


def _length(curve: Curve) -> float:
    return float(np.hypot(*np.diff(curve, axis=0).T).sum())


def _copies(piece: Json) -> int:
    return 1 if piece["cut"] == "single" else 2


def girths(pattern: Json) -> dict[str, float]:
    """The whole girth at each station, by the length of each level inside its paper."""
    found: dict[str, float] = {}
    for piece in pattern["pieces"]:
        paper = outline_of(piece).buffer(1e-6)
        for station, line in piece.get("levels", {}).items():
            inside = _copies(piece) * LineString(line).intersection(paper).length
            found[station] = found.get(station, 0.0) + inside
    return found


def faults(before: Json, after: Json, report: Json | None = None) -> list[str]:
    """Every fault of the pattern after that the pattern before did not have.

    Args:
        before: the stored form it was made from.
        after: the stored form.
        report: what the program says of it: girths by station and areas by piece, each with `after_mm` (`after_mm2`).
    """
    old = {piece["name"]: piece for piece in before["pieces"]}
    found: list[str] = []
    for piece in after["pieces"]:
        name = piece["name"]
        was = old.get(name) or old.get(name.removesuffix("-left").removesuffix("-right"))
        if was is not None and all(piece.get(key) == was.get(key) for key in ("start", *DRAWN)):
            continue
        found += [f"{name}: {what}" for what in _piece_faults(was, piece)]
    found += _seam_faults(before, after)
    found += _running_on_faults(before, after)
    if report is not None:
        found += _report_faults(after, report)
    return found


def _piece_faults(was: Json | None, piece: Json) -> Iterator[str]:
    paper = outline_of(piece)
    if not paper.is_valid or paper.area < 1.0:
        yield "the outline is not simple"
        return
    if paper.exterior.is_ccw is False:
        yield "the outline runs clockwise"
    yield from _level_faults(was, piece, paper)
    yield from _bone_faults(was, piece, paper)
    if was is not None:
        yield from _landmark_faults(was, piece)
        yield from _fairness_faults(was, piece)
        yield from _corner_faults(was, piece)
        yield from _mark_faults(was, piece)


def _level_faults(was: Json | None, piece: Json, paper: Polygon) -> Iterator[str]:
    rim = paper.exterior
    known = _loose_levels(was) if was else set()
    for station, line in piece.get("levels", {}).items():
        if station not in known:
            off = max(rim.distance(Point(line[0])), rim.distance(Point(line[-1])))
            outside = _outside(LineString(line), paper, LEVEL_MM)
            if off > LEVEL_MM:
                yield f"level {station} ends {off:.2f} mm off the edge"
            if outside > LEVEL_MM * 2:
                yield f"level {station} runs {outside:.2f} mm outside"
        for a, b, c in zip(line, line[1:], line[2:], strict=False):
            turn = _turn(np.subtract(b, a), np.subtract(c, b))
            if turn > 40.0 and not _bent_before(was, station):
                yield f"level {station} is stepped: it turns {turn:.0f} degrees at ({b[0]:.0f}, {b[1]:.0f})"


def _outside(line: LineString, paper: Polygon, by_mm: float) -> float:
    """How much of the line lies more than so far outside the paper; what lies just beside it is seldom looked at."""
    loose = line.difference(paper).length
    return float(line.difference(paper.buffer(by_mm)).length) if loose > by_mm else 0.0


def _bent_before(was: Json | None, station: str) -> bool:
    line = (was or {}).get("levels", {}).get(station, [])
    turns = [_turn(np.subtract(b, a), np.subtract(c, b)) for a, b, c in zip(line, line[1:], line[2:], strict=False)]
    return max(turns, default=0.0) > 30.0


def _loose_levels(was: Json) -> set[str]:
    """The levels that did not run from edge to edge before and were allowed to."""
    paper = outline_of(was)
    rim = paper.exterior
    return {
        station
        for station, line in was.get("levels", {}).items()
        if max(rim.distance(Point(line[0])), rim.distance(Point(line[-1]))) > LEVEL_MM
        or _outside(LineString(line), paper, LEVEL_MM) > LEVEL_MM
    }


def _turn(out: Any, on: Any) -> float:
    if not (np.hypot(*out) > 1e-9 and np.hypot(*on) > 1e-9):
        return 0.0
    return abs(math.degrees(math.atan2(out[0] * on[1] - out[1] * on[0], out[0] * on[0] + out[1] * on[1])))


def _bone_faults(was: Json | None, piece: Json, paper: Polygon) -> Iterator[str]:
    old = {c["name"]: LineString(c["line"]) for c in (was or {}).get("channels", [])}
    old_paper = outline_of(was) if was else None
    lines = {c["name"]: LineString(c["line"]) for c in piece.get("channels", [])}
    for name, line in lines.items():
        before = _outside(old[name], old_paper, OUTSIDE_MM) if old_paper and name in old else 0.0
        outside = _outside(line, paper, OUTSIDE_MM)
        if outside > before + 0.5:
            yield f"bone {name} lies {outside:.1f} mm outside"
        kinks = _kinks(line)
        if kinks > max(1.0, _kinks(old[name]) + 1.0 if name in old else 1.0):
            yield f"bone {name} bends by {kinks:.1f} degrees"
    for a, b in combinations(lines, 2):
        if lines[a].crosses(lines[b]) and not (a in old and b in old and old[a].crosses(old[b])):
            yield f"bones {a} and {b} cross"
        near = (_width(piece, a) + _width(piece, b)) / 2.0
        lies = _lies_on(lines[a], lines[b], near)
        if lies > 0.5 and not (a in old and b in old and lies <= _lies_on(old[a], old[b], near) + 0.05):
            yield f"bones {a} and {b} lie on each other"
    for slit in piece.get("slits", []):
        cut = LineString(slit["line"])
        there = {s["name"]: LineString(s["line"]) for s in (was or {}).get("slits", [])}.get(slit["name"])
        for name, line in lines.items():
            if line.distance(cut) < 0.1 and not (name in old and there is not None and old[name].distance(there) < 0.1):
                yield f"bone {name} lies in slit {slit['name']}"
    for slit in piece.get("slits", []):
        off = paper.exterior.distance(Point(slit["line"][0]))
        if off > ON_EDGE_MM:
            yield f"the foot of slit {slit['name']} is {off:.1f} mm off the edge"


def _width(piece: Json, channel: str) -> float:
    return float(next(c["width"] for c in piece["channels"] if c["name"] == channel))


def _lies_on(a: LineString, b: LineString, near: float) -> float:
    """How much of the shorter bone's line lies within the width of the other."""
    short, long = sorted((a, b), key=lambda line: line.length)
    return short.intersection(long.buffer(near - 0.05)).length / max(short.length, 1e-9)


def _kinks(line: LineString) -> float:
    p = list(line.coords)
    return max(
        (_turn(np.subtract(b, a), np.subtract(c, b)) for a, b, c in zip(p, p[1:], p[2:], strict=False)), default=0.0
    )


def _landmark_faults(was: Json, piece: Json) -> Iterator[str]:
    old, new = ({n: LineString(c) for n, c in sampled(p).items()} for p in (was, piece))
    for name, spot in was.get("landmarks", {}).items():
        edges = [edge for edge, line in old.items() if line.distance(Point(spot)) <= ON_EDGE_MM and edge in new]
        if edges and name in piece.get("landmarks", {}):
            off = min(new[edge].distance(Point(piece["landmarks"][name])) for edge in edges)
            if off > ON_EDGE_MM:
                yield f"landmark {name} is {off:.2f} mm off edge {edges[0]}"


def _corner_faults(was: Json, piece: Json) -> Iterator[str]:
    """Adjoining edges of one role that ran on from each other, and steel edges that were straight, stay so."""
    old, new = sampled(was), sampled(piece)
    roles = {edge["name"]: edge["role"] for edge in piece["edges"]}
    for a, b in zip(names := list(new), names[1:] + names[:1], strict=True):
        if a != b and roles[a] == roles[b] and a in old and b in old:
            before, now = _joint(old[a], old[b]), _joint(new[a], new[b])
            if before < 2.0 and now > CORNER_DEG:
                yield f"edges {a} and {b} meet in a corner of {now:.1f} degrees"
    for name, role in roles.items():
        if role in STEEL and name in old and _bowed(old[name]) < 0.02 and _bowed(new[name]) > 0.1:
            yield f"steel edge {name} bows by {_bowed(new[name]):.2f} mm"


def _joint(out: Curve, on: Curve) -> float:
    return _turn(out[-1] - out[-2], on[1] - on[0])


def _bowed(curve: Curve) -> float:
    return max(LineString([curve[0], curve[-1]]).distance(Point(p)) for p in curve[:: max(1, len(curve) // 64)])


def _mark_faults(was: Json, piece: Json) -> Iterator[str]:
    sizes = {name: _length(curve) for name, curve in sampled(piece).items()}
    for notch in piece.get("notches", []):
        if not -0.02 <= notch["at"] <= sizes.get(notch["edge"], 0.0) + 0.02:
            yield f"the notch at {notch['at']:.1f} mm is off edge {notch['edge']}"
    for kind in ("slits", "landmarks"):
        gone = {_name(one) for one in was.get(kind, [])} - {_name(one) for one in piece.get(kind, [])}
        if gone:
            yield f"{kind} gone: {', '.join(sorted(gone))}"


def _name(one: Any) -> str:
    return str(one if isinstance(one, str) else one["name"])


def _fairness_faults(was: Json, piece: Json) -> Iterator[str]:
    old, new = sampled(was), sampled(piece)
    for name, curve in new.items():
        if name not in old:
            continue
        corners, sharpest, bumps = _shape(curve)
        before = _shape(old[name])
        if corners > before[0]:
            yield f"edge {name} has {corners - before[0]} new corners"
        elif sharpest > max(TURN_DEG_A_MM, 1.5 * before[1]):
            yield f"edge {name} turns {sharpest:.1f} degrees in a millimetre (before: {before[1]:.1f})"
        if bumps > before[2] + MOST_BUMPS:
            yield f"edge {name} has {bumps} bumps, {before[2]} before"


def _shape(curve: Curve) -> tuple[int, float, int]:
    """How many corners an edge has, how much it turns in a millimetre at most beside them, and how often it changes the
    way it bends by more than a degree and a half (corners left out).
    """
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(curve, axis=0).T))])
    if at[-1] < 3.0:
        return 0, 0.0, 0
    ways = np.diff(curve, axis=0)
    turns = np.degrees(np.arctan2(
        ways[:-1, 0] * ways[1:, 1] - ways[:-1, 1] * ways[1:, 0], (ways[:-1] * ways[1:]).sum(axis=1)
    ))  # fmt: skip
    spots = at[1:-1]
    # A corner turns at one place; a tight bend turns at the places beside it too.
    size = np.concatenate([[0.0, 0.0], np.abs(turns), [0.0, 0.0]])
    beside = np.maximum.reduce([size[:-4], size[1:-3], size[3:-1], size[4:]])
    sharp = (np.abs(turns) > CORNER_DEG) & (np.abs(turns) > CORNER_RATIO * beside)
    corners = int(sharp.sum())
    plain = np.where(sharp, 0.0, turns)
    window = np.concatenate([[0.0], np.cumsum(plain)])
    ends = np.searchsorted(spots, spots + 1.0, side="right")
    # The samples in a millimetre stand for as many steps as there are of them.
    covered = np.maximum(1.0, spots[ends - 1] - spots + at[-1] / len(ways))
    most = float(np.max(np.abs(window[ends] - window[np.arange(len(spots))]) / covered)) if len(spots) else 0.0
    return corners, most, _bumps(plain, spots)


def _bumps(turns: np.ndarray, at: np.ndarray) -> int:
    """How often an edge changes the way it bends, by more than a degree and a half that can be seen.

    Args:
        turns: the turn at each sample, degrees.
        at: how far along the edge each lies, mm.
    """
    ends: list[tuple[float, float]] = []
    way, low, high = 0, (0.0, 0.0), (0.0, 0.0)
    for mm, now in zip(at, np.cumsum(turns), strict=True):
        if way >= 0:
            high = max(high, (now, mm))
            if high[0] - now > BEND_DEG:
                ends += [high] if way > 0 else []
                way, low = -1, (now, mm)
                continue
        if way <= 0:
            low = min(low, (now, mm))
            if now - low[0] > BEND_DEG:
                ends += [low] if way < 0 else []
                way, high = 1, (now, mm)
    unseen = sum(
        math.radians(turn := abs(b[0] - a[0])) * (b[1] - a[1]) / 8.0 < SEEN_MM and turn < SEEN_DEG
        for a, b in pairwise(ends)
    )
    return max(0, len(ends) - 2 * unseen)


def _running_on_faults(before: Json, after: Json) -> Iterator[str]:
    """A top or bottom line that ran on across a seam runs on still."""
    was = dict(_lines_across(before))
    for key, bend in _lines_across(after):
        plain = (key[0].removesuffix("-left").removesuffix("-right"), key[1])
        old = was.get(key, was.get(plain))
        if old is not None and abs(old) <= RUNS_ON_DEG and abs(bend) > RUNS_ON_DEG + 1.0:
            yield f"seam {key[0]}: the {key[1]} line bends by {abs(bend):.1f} degrees across it"


def _lines_across(pattern: Json) -> Iterator[tuple[tuple[str, str], float]]:
    """For each seam and role, by how much the line over both its pieces bends there, degrees."""
    turns: dict[tuple[str, str, str], float] = {}
    for piece in pattern["pieces"]:
        curves = sampled(piece)
        edges = piece["edges"]
        for a, b in zip(edges, edges[1:] + edges[:1], strict=True):
            roles = {a["role"], b["role"]}
            for side, end in ((a, b), (b, a)):
                if end["role"] in ("top", "bottom") and len(roles) == 2:
                    out, on = curves[a["name"]], curves[b["name"]]
                    turns[piece["name"], side["name"], end["role"]] = _turn(out[-1] - out[-2], on[1] - on[0])
    for seam in pattern.get("seams", []):
        for role in ("top", "bottom"):
            both = [turns.get((*seam[end], role)) for end in ("a", "b")]
            if None not in both and seam["a"] != seam["b"]:
                yield (seam["name"], role), sum(both) - 180.0  # type: ignore[arg-type]


def _seam_faults(before: Json, after: Json) -> Iterator[str]:
    was = _differences(before)
    for name, off in _differences(after).items():
        old = was.get(name, was.get(name.removesuffix("-left").removesuffix("-right"), 0.0))
        if abs(off) > max(SEAM_MM, abs(old)) + 0.1:
            yield f"seam {name}: its edges differ by {off:.2f} mm (before: {old:.2f})"


def _differences(pattern: Json) -> dict[str, float]:
    edges = {(p["name"], n): _length(c) for p in pattern["pieces"] for n, c in sampled(p).items()}
    slits = {
        (p["name"], "slit:" + s["name"]): LineString(s["line"]).length
        for p in pattern["pieces"]
        for s in p.get("slits", [])
    }
    known = {**edges, **slits}
    return {
        seam["name"]: known[tuple(seam["a"])] - known[tuple(seam["b"])] - seam.get("ease", 0.0)
        for seam in pattern.get("seams", [])
        if tuple(seam["a"]) in known and tuple(seam["b"]) in known
    }


def _report_faults(after: Json, report: Json) -> Iterator[str]:
    ours = girths(after)
    for station, change in report["girths"].items():
        said = change["after_mm"]
        if said is not None and abs(said - ours.get(station, 0.0)) > GIRTH_MM * len(after["pieces"]):
            yield f"the girth at the {station} is said to be {said:.2f} mm and measures {ours.get(station, 0.0):.2f}"
    areas = {piece["name"]: outline_of(piece).area for piece in after["pieces"]}
    for name, piece in report["pieces"].items():
        said = piece["area"]["after_mm2"]
        if said is not None and abs(said - areas[name]) > AREA_MM2 + areas[name] * 1e-5:
            yield f"the area of {name} is said to be {said:.0f} mm2 and measures {areas[name]:.0f}"
