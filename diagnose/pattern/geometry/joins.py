"""Two runs made to meet in one corner: each is trimmed, or drawn on straight along its own end, as it needs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from msgspec import Struct

from diagnose.pattern.geometry.arclength import length
from diagnose.pattern.geometry.bezier import derivative, flatten, part, point_at, split, tangent
from diagnose.pattern.geometry.hits import line_hits
from diagnose.pattern.geometry.plane import add, cross, distance, dot, scaled, sub
from diagnose.pattern.outline import Cubic, Line, Point, Run, Segment
from diagnose.pattern.tolerances import SLIVER_MM

__all__ = ["chained", "continued", "drawn_on", "meet", "with_end", "with_start"]

JOIN_TOL_MM = 1e-7
SLACK = 1e-9
SEARCH_FACTOR = 10.0
SEARCH_LEAST_MM = 5.0
JOIN_CHORD_TOL_MM = 0.05
CROSSED_MM = 1e-9
SEED_MM = 1.0
POLISH_STEPS = 24
LEAST_TURN = 1e-12
CONTINUED_PART = 0.15
CONTINUED_COSINE = math.cos(math.radians(30.0))


class _Stop(Struct, frozen=True):
    """Where a run is to end (or begin): at `t` of a segment, or straight on beyond its end when `step` is None."""

    step: int | None
    t: float
    point: Point


class _On(Struct, frozen=True):
    """A place on a run: `t` of its segment `step`."""

    step: int
    t: float


def with_start(segment: Segment, start: Point) -> Segment:
    """The segment beginning at another point; the handle beside it goes along."""
    if isinstance(segment, Line):
        return Line(start, segment.end)
    return Cubic(start, add(segment.c1, sub(start, segment.start)), segment.c2, segment.end)


def with_end(segment: Segment, end: Point) -> Segment:
    """The segment ending at another point; the handle beside it goes along."""
    if isinstance(segment, Line):
        return Line(segment.start, end)
    return Cubic(segment.start, segment.c1, add(segment.c2, sub(end, segment.end)), end)


def chained(made: Iterable[Segment], start: Point | None = None, end: Point | None = None) -> Run:
    """The segments meeting exactly: rounding is taken up by each one's start, and by the last one's end."""
    run: list[Segment] = []
    for segment in made:
        here = run[-1].end if run else start
        run.append(with_start(segment, here) if here else segment)
    if run and end:
        run[-1] = with_end(run[-1], end)
    return tuple(run)


def drawn_on(run: Run, to: Point) -> Run:
    """The run drawn on in a straight line to a point beyond its end; a straight last stretch stays one line."""
    last = run[-1]
    if isinstance(last, Line):
        return (*run[:-1], Line(last.start, to))
    return (*run, Line(last.end, to))


def continued(run: Run) -> Run:
    """The run with its last curve continued a little by its own rule; as it is where that would bend much."""
    last = run[-1]
    if isinstance(last, Line):
        return run
    on = split(last, 1.0 + CONTINUED_PART)[0]
    out, end = tangent(last, 1.0), tangent(on, 1.0)
    fair = dot(out, end) >= CONTINUED_COSINE and length(on) <= (1.0 + 2.0 * CONTINUED_PART) * length(last)
    return (*run[:-1], on) if fair else run


def meet(first: Run, second: Run) -> tuple[Run, Run] | None:
    """The two runs, trimmed or drawn on so that the end of `first` is the start of `second`.

    Of all the places where they could meet, the one nearest to the two loose ends is taken.

    Returns:
        The two runs, or None when nothing near enough would join them (they run side by side, or one is used up).
    """
    gap = distance(first[-1].end, second[0].start)
    if gap <= JOIN_TOL_MM:
        return (first, (with_start(second[0], first[-1].end), *second[1:])) if gap else (first, second)
    reach = SEARCH_FACTOR * gap + SEARCH_LEAST_MM
    best: tuple[float, _Stop, _Stop] | None = None
    for stop, begin in _places(first, second, reach):
        cost = distance(first[-1].end, stop.point) + distance(second[0].start, stop.point)
        if cost <= 2.0 * reach and (best is None or cost < best[0]):
            best = (cost, stop, begin)
    if best is None:
        return None
    head, tail = _ended(first, best[1]), _begun(second, best[2])
    return (head, tail) if head and tail else None


def _places(first: Run, second: Run, reach_mm: float) -> Iterator[tuple[_Stop, _Stop]]:
    """Every place near the loose ends where the runs, or the straight lines beyond them, cross."""
    ahead, behind = tangent(first[-1], 1.0), tangent(second[0], 0.0)
    end, start = first[-1].end, second[0].start
    on_first, on_second = _near_end(first, reach_mm), _near_start(second, reach_mm)
    for i in on_first:
        for j in on_second:
            for t, u in _crossings(first[i], second[j]):
                yield from _polished(first, second, a=_On(i, t), b=_On(j, u))
        for t, s in line_hits(first[i], start, sub(start, behind)):
            if s >= -SLACK:
                yield _Stop(i, t, point_at(first[i], t)), _Stop(None, 0.0, point_at(first[i], t))
            elif s > -SEED_MM:
                yield from _polished(first, second, a=_On(i, t), b=_On(0, 0.0))
    for j in on_second:
        for u, s in line_hits(second[j], end, add(end, ahead)):
            if s >= -SLACK:
                yield _Stop(None, 1.0, point_at(second[j], u)), _Stop(j, u, point_at(second[j], u))
            elif s > -SEED_MM:
                yield from _polished(first, second, a=_On(len(first) - 1, 1.0), b=_On(j, u))
    turn = cross(ahead, behind)
    if abs(turn) > 1e-6:
        apart = sub(start, end)
        s, r = cross(apart, behind) / turn, cross(apart, ahead) / turn
        if s >= -SLACK and r <= SLACK:
            point = add(end, scaled(ahead, s))
            yield _Stop(None, 1.0, point), _Stop(None, 0.0, point)


def _near_end(run: Run, reach_mm: float) -> list[int]:
    found, left = [], reach_mm
    for index in range(len(run) - 1, -1, -1):
        found.append(index)
        left -= length(run[index])
        if left < 0.0:
            break
    return found


def _near_start(run: Run, reach_mm: float) -> list[int]:
    found, left = [], reach_mm
    for index, segment in enumerate(run):
        found.append(index)
        left -= length(segment)
        if left < 0.0:
            break
    return found


def _crossings(a: Segment, b: Segment) -> Iterator[tuple[float, float]]:
    """About where two segments cross, as (t on a, t on b): `b` is taken as its chords."""
    points = flatten(b, JOIN_CHORD_TOL_MM)
    for k, (p, q) in enumerate(pairwise(points)):
        for t, s in line_hits(a, p, q) if p != q else ():
            if -SLACK <= s <= 1.0 + SLACK:
                yield t, (k + s) / (len(points) - 1)


def _polished(first: Run, second: Run, a: _On, b: _On) -> Iterator[tuple[_Stop, _Stop]]:
    """The exact crossing near two places (Newton's rule), which may lie on the segment beside."""
    for _ in range(POLISH_STEPS):
        p, q = first[a.step], second[b.step]
        off = sub(point_at(p, a.t), point_at(q, b.t))
        if math.hypot(off.x, off.y) <= CROSSED_MM:
            yield _Stop(a.step, a.t, point_at(p, a.t)), _Stop(b.step, b.t, point_at(p, a.t))
            return
        along_p, along_q = derivative(p, a.t), derivative(q, b.t)
        turn = cross(along_p, along_q)
        if abs(turn) < LEAST_TURN:
            return
        a = _stepped(first, a.step, a.t - cross(off, along_q) / turn)
        b = _stepped(second, b.step, b.t - cross(off, along_p) / turn)


def _stepped(run: Run, step: int, t: float) -> _On:
    """The place at `t`, on the next segment (or the one before) where `t` has left its own."""
    if t < 0.0:
        return _On(step - 1, 1.0) if step > 0 else _On(step, 0.0)
    if t > 1.0:
        return _On(step + 1, 0.0) if step < len(run) - 1 else _On(step, 1.0)
    return _On(step, t)


def _ended(run: Run, stop: _Stop) -> Run:
    if stop.step is None:
        return drawn_on(run, stop.point) if distance(run[-1].end, stop.point) > SLIVER_MM else _with_last(run, stop)
    if stop.t <= SLACK or (stop.step > 0 and distance(run[stop.step].start, stop.point) <= SLIVER_MM):
        return _with_last(run[: stop.step], stop)
    return _with_last((*run[: stop.step], part(run[stop.step], 0.0, stop.t)), stop)


def _with_last(run: Sequence[Segment], stop: _Stop) -> Run:
    return (*run[:-1], with_end(run[-1], stop.point)) if run else ()


def _begun(run: Run, stop: _Stop) -> Run:
    if stop.step is None:
        return _led_in(run, stop.point)
    if stop.t >= 1.0 - SLACK or (stop.step < len(run) - 1 and distance(run[stop.step].end, stop.point) <= SLIVER_MM):
        return _with_first(run[stop.step + 1 :], stop)
    return _with_first((part(run[stop.step], stop.t, 1.0), *run[stop.step + 1 :]), stop)


def _with_first(run: Sequence[Segment], stop: _Stop) -> Run:
    return (with_start(run[0], stop.point), *run[1:]) if run else ()


def _led_in(run: Run, start: Point) -> Run:
    """The run begun in a straight line from a point before its start."""
    if isinstance(run[0], Line) or distance(start, run[0].start) <= SLIVER_MM:
        return (with_start(run[0], start), *run[1:])
    return (Line(start, run[0].start), *run)
