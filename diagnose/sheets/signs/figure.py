"""The figure that signs are drawn on: a body from head to thigh, and stays, a corset or a bodice on it.

Centimetres of a figure of no size in particular; x grows to the right of the picture, y upwards, the waist lies at 0.
From the front and the back the figure is the same on both sides; from the side she looks to the left.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Literal

from diagnose.pattern.geometry.plane import along
from diagnose.pattern.geometry.runs import smooth_through
from diagnose.pattern.outline import Point
from diagnose.sheets.drawn.drawing import Path, polyline

__all__ = ["FIGURES", "Dress", "GapForm", "Lines", "body_lines", "dress_lines", "lacing", "mirrored", "smooth"]

Dress = Literal["stays", "corset", "bodice"]
FIGURES: tuple[Dress, ...] = ("stays", "corset", "bodice")
Run = Sequence[tuple[float, float]]
Lines = Iterator[Path]
GapForm = Callable[[float], tuple[float, float]]
"""The left and the right lacing edge's x at a height."""

EYELETS = 9
HALF_GAP = 1.6

HEAD = ((0.0, 58.0), (4.5, 56.5), (6.3, 51.0), (5.4, 44.5), (2.6, 41.0), (0.0, 40.0))
NECK_AND_ARM = ((4.6, 43.0), (4.7, 38.5), (8.0, 35.6), (15.0, 33.2), (19.0, 29.0), (21.0, 18.0), (22.6, 8.0))
ARM_INSIDE = ((14.6, 22.6), (16.2, 17.0), (17.4, 8.0))
TORSO = (
    (14.6, 22.6),
    (14.6, 18.0),
    (13.2, 11.0),
    (11.0, 0.0),
    (13.6, -8.0),
    (17.0, -16.0),
    (17.8, -26.0),
    (16.6, -40.0),
)
THIGH = ((0.0, -26.5), (1.2, -32.0), (1.8, -40.0))
BREAST = ((2.6, 17.0), (5.0, 13.6), (8.5, 12.9), (12.0, 14.6))

SIDE_FRONT = ((-3.2, 42.0), (-3.0, 37.5), (-6.0, 33.0), (-9.6, 26.0), (-13.4, 19.4), (-12.0, 14.4), (-9.4, 9.0),
              (-8.4, 0.0), (-9.6, -8.0), (-9.4, -16.0), (-7.6, -24.0), (-8.6, -40.0))  # fmt: skip
SIDE_BACK = ((5.0, 42.0), (4.6, 38.0), (8.0, 32.0), (10.4, 25.0), (9.4, 14.0), (6.8, 1.0), (9.0, -7.0), (12.4, -15.0),
             (11.4, -24.0), (8.0, -30.0), (7.4, -40.0))  # fmt: skip
SIDE_HEAD = (
    (-3.2, 42.0),
    (-5.6, 43.0),
    (-6.6, 48.0),
    (-6.0, 54.0),
    (-1.0, 58.4),
    (5.0, 56.4),
    (7.0, 50.0),
    (5.0, 42.0),
)
SIDE_ARM = ((-3.6, 27.5), (-1.8, 32.0), (2.0, 33.0), (5.0, 30.0), (5.0, 26.0))
SIDE_HANGING = (((-3.6, 27.5), (-3.8, 18.0), (-3.4, 10.0)), ((5.0, 26.0), (4.4, 18.0), (3.6, 10.0)))


def smooth(run: Run) -> Path:
    """A smooth line through the places."""
    return Path(tuple(smooth_through([Point(x, y) for x, y in run])))


def straight(run: Run) -> Path:
    """Straight lines from place to place."""
    return polyline(Point(x, y) for x, y in run)


def mirrored(run: Run) -> Run:
    """The places on the other side of the middle."""
    return tuple((-x, y) for x, y in run)


def _both(run: Run) -> Lines:
    yield smooth(run)
    yield smooth(mirrored(run))


def body_lines(view: str) -> Lines:
    """The body as seen from there."""
    if view == "side":
        for run in (SIDE_FRONT, SIDE_BACK, SIDE_HEAD, SIDE_ARM, *SIDE_HANGING):
            yield smooth(run)
        return
    for half in (HEAD, NECK_AND_ARM, ARM_INSIDE, TORSO):
        yield from _both(half)
    if view == "front":
        yield from _both(THIGH)
        yield from _both(BREAST)
    else:
        yield from _both(((0.0, -25.0), (5.0, -26.5), (10.0, -25.0)))
        yield straight(((0.0, -17.0), (0.0, -40.0)))
        yield from _both(((4.5, 27.0), (6.5, 23.0), (6.0, 19.0)))


FRONT_TOP: dict[Dress, Run] = {
    "stays": ((0.0, 17.6), (5.0, 17.8), (9.6, 20.6), (11.4, 24.4)),
    "corset": ((0.0, 15.6), (3.4, 18.6), (8.0, 20.0), (14.7, 18.4)),
    "bodice": ((0.0, 21.0), (5.4, 22.4), (8.6, 28.0), (9.6, 35.0)),
}
ARMHOLE: dict[Dress, Run] = {
    "stays": ((11.4, 24.4), (12.2, 20.6), (14.6, 19.4)),
    "corset": (),
    "bodice": ((15.0, 33.2), (13.4, 27.0), (14.6, 21.4)),
}
FRONT_HEM: dict[Dress, Run] = {
    "stays": ((0.0, -15.0), (3.6, -8.4), (8.0, -3.0), (11.2, -1.4)),
    "corset": ((0.0, -17.0), (5.0, -15.6), (11.0, -12.6), (16.2, -13.6)),
    "bodice": ((0.0, -11.0), (4.0, -6.6), (8.0, -3.6), (11.4, -2.6)),
}
BACK_TOP: dict[Dress, Run] = {
    "stays": ((1.6, 24.0), (7.0, 23.4), (11.4, 22.4), (14.6, 19.4)),
    "corset": ((1.6, 17.4), (8.0, 17.0), (14.7, 18.4)),
    "bodice": ((1.6, 31.0), (6.0, 32.2), (9.6, 35.0)),
}
BACK_HEM: dict[Dress, Run] = {
    "stays": ((1.6, -4.6), (6.0, -2.6), (11.2, -1.4)),
    "corset": ((1.6, -12.0), (9.0, -12.4), (16.2, -13.6)),
    "bodice": ((1.6, -5.0), (6.0, -3.6), (11.4, -2.6)),
}
FRONT_BONES = (((2.6, 17.6), (1.2, -12.6)), ((5.2, 18.0), (2.6, -10.0)), ((8.0, 19.6), (4.4, -7.0)),
               ((10.8, 22.4), (6.6, -4.4)))  # fmt: skip


def dress_lines(view: str, dress: Dress, gap: GapForm | None = None) -> Lines:
    """The garment as seen from there; from the back with its lacing gap as given (even, where it is not)."""
    if view == "side":
        yield from _side_dress(dress)
        return
    top, hem = (FRONT_TOP, FRONT_HEM) if view == "front" else (BACK_TOP, BACK_HEM)
    yield from _both(top[dress])
    yield from _both(hem[dress])
    if ARMHOLE[dress] and view == "front":
        yield from _both(ARMHOLE[dress])
    if dress == "bodice":
        yield from _both(((9.6, 35.0), (15.0, 33.2)))
        yield from _both(ARMHOLE[dress]) if view == "back" else ()
    yield from _both(SIDES[dress])
    if dress == "stays":
        yield from _tabs(view)
    if view == "front":
        yield from _front(dress)
    else:
        yield from lacing(BACK_TOP[dress][0][1], BACK_HEM[dress][0][1], gap or even)


SIDES: dict[Dress, Run] = {
    "stays": ((14.6, 19.4), (14.5, 18.0), (13.2, 11.0), (11.2, 0.0), (11.2, -1.4)),
    "corset": ((14.7, 18.4), (13.2, 11.0), (11.0, 0.0), (13.6, -8.0), (16.2, -13.6)),
    "bodice": ((14.6, 21.4), (14.5, 18.0), (13.2, 11.0), (11.2, 0.0), (11.4, -2.6)),
}


def _tabs(view: str) -> Lines:
    """Tabs that spread over the hip, from the side towards the middle."""
    feet = ((17.2, -9.0), (14.6, -12.0), (11.0, -13.0), (7.0, -13.4)) if view == "front" else (
        (17.2, -9.0), (14.4, -12.0), (10.4, -12.6), (6.0, -12.4))  # fmt: skip
    roots = ((11.2, -1.4), (10.2, -2.0), (8.8, -2.4), (6.8, -4.4)) if view == "front" else (
        (11.2, -1.4), (9.6, -1.8), (7.6, -2.2), (5.0, -3.0))  # fmt: skip
    for run in _between(roots, feet):
        yield from _pair_of(run)


def _between(roots: Run, feet: Run) -> Iterator[Run]:
    """A tab between each two slits, a little narrower at its foot than the slits stand apart."""
    for n in range(len(feet) - 1):
        a, b = Point(*feet[n]), Point(*feet[n + 1])
        low, high = along(a, b, 0.2), along(a, b, 0.8)
        yield roots[n], (low.x, low.y - 0.5), (high.x, high.y - 0.5), roots[n + 1]


def _pair_of(run: Run) -> Lines:
    yield straight(run)
    yield straight(mirrored(run))


def _front(dress: Dress) -> Lines:
    if dress == "bodice":
        yield straight(((0.0, 21.0), (0.0, -11.0)))
        yield from _both(((7.4, 25.0), (6.6, 15.0), (4.6, 2.0), (4.0, -6.4)))
        return
    if dress == "corset":
        yield straight(((0.6, 15.9), (0.6, -16.9)))
        yield straight(((-0.6, 15.9), (-0.6, -16.9)))
        for y in (12.0, 6.0, 0.0, -6.0, -12.0):
            yield straight(((-0.6, y), (0.6, y)))
        yield from _both(((5.6, 19.4), (5.4, 13.0), (4.0, 1.0), (6.2, -15.2)))
        yield from _both(((10.6, 19.8), (10.2, 12.0), (7.8, 0.0), (11.4, -12.6)))
        return
    yield straight(((0.0, 17.6), (0.0, -15.0)))
    for run in FRONT_BONES:
        yield from _pair_of(run)


def even(height: float) -> tuple[float, float]:
    """Lacing edges that run parallel."""
    return -HALF_GAP, HALF_GAP


def lacing(top: float, foot: float, gap: GapForm) -> Lines:
    """Both lacing edges, the bone beside each, and the lace crossing between them."""
    heights = [top + (foot - top) * n / 12.0 for n in range(13)]
    for side in (0, 1):
        yield smooth([(gap(y)[side], y) for y in heights])
        yield smooth([(gap(y)[side] + (1.5 if side else -1.5), y) for y in heights])
    holes = [top + (foot - top) * (n + 0.5) / EYELETS for n in range(EYELETS)]
    for first in (0, 1):
        yield straight([(gap(y)[(n + first) % 2] + (0.7 if (n + first) % 2 else -0.7), y) for n, y in enumerate(holes)])


SIDE_TOP: dict[Dress, Run] = {
    "stays": ((-12.9, 17.6), (-9.0, 20.0), (-5.6, 24.4), (-3.8, 20.4), (0.6, 19.0), (5.0, 21.0), (10.2, 24.0)),
    "corset": ((-13.3, 18.6), (-8.0, 19.4), (0.6, 17.4), (9.7, 17.6)),
    "bodice": ((-12.0, 22.0), (-7.6, 24.6), (-2.4, 35.6)),
}
SIDE_HEM: dict[Dress, Run] = {
    "stays": ((-9.8, -12.0), (-6.0, -5.0), (0.6, -1.4), (4.0, -2.0), (7.4, -4.4)),
    "corset": ((-9.6, -16.4), (-4.0, -13.6), (2.0, -13.0), (11.4, -12.4)),
    "bodice": ((-9.8, -9.6), (-5.0, -4.0), (0.6, -2.4), (7.6, -4.6)),
}
SIDE_SEAM: dict[Dress, Run] = {
    "stays": ((0.6, 19.0), (0.2, 9.0), (-0.4, 0.0), (0.6, -1.4)),
    "corset": ((0.6, 17.4), (0.2, 9.0), (-0.4, 0.0), (1.8, -13.0)),
    "bodice": ((0.6, 22.4), (0.2, 9.0), (-0.4, 0.0), (0.6, -2.4)),
}
SIDE_INNER: dict[Dress, tuple[Run, ...]] = {
    "stays": (),
    "corset": (
        ((-7.0, 19.3), (-6.4, 10.0), (-5.0, 0.0), (-5.4, -14.4)),
        ((5.6, 17.4), (5.0, 9.0), (3.6, 0.0), (6.6, -12.6)),
    ),
    "bodice": (
        ((-7.0, 25.4), (-7.4, 14.0), (-4.8, 2.0), (-5.0, -4.0)),
        ((-2.4, 35.6), (2.0, 36.4), (6.6, 34.4)),
        ((-3.6, 27.5), (-2.0, 23.6), (1.0, 22.4), (4.0, 23.6), (5.0, 26.0)),
        ((6.6, 33.0), (5.4, 16.0), (3.4, 1.0), (4.0, -3.0)),
    ),
}
SIDE_BONES = (((-9.6, 18.4), (-7.0, -6.4)), ((-6.6, 21.6), (-4.6, -3.6)), ((-3.0, 19.8), (-2.4, -2.2)),
              ((4.2, 20.6), (2.8, -1.8)), ((7.4, 22.6), (4.8, -2.4)))  # fmt: skip


def _side_dress(dress: Dress) -> Lines:
    for run in (SIDE_TOP[dress], SIDE_HEM[dress], SIDE_SEAM[dress], *SIDE_INNER[dress]):
        yield smooth(run)
    front_top, back_top, front_foot, back_foot = (
        SIDE_TOP[dress][0], SIDE_TOP[dress][-1], SIDE_HEM[dress][0], SIDE_HEM[dress][-1]
    )  # fmt: skip
    if dress == "bodice":
        back_top = (8.0, 32.0)
    yield smooth((front_top, *(p for p in SIDE_FRONT if front_foot[1] + 0.4 < p[1] < front_top[1] - 0.4), front_foot))
    yield smooth((back_top, *(p for p in SIDE_BACK if back_foot[1] + 0.4 < p[1] < back_top[1] - 0.4), back_foot))
    if dress == "bodice":
        yield smooth(((6.6, 34.4), back_top))
    if dress == "stays":
        for run in SIDE_BONES:
            yield straight(run)
        feet = ((-6.6, -13.4), (-2.2, -13.8), (2.6, -14.0), (7.0, -13.6), (11.6, -12.4))
        roots = ((-4.6, -3.8), (-1.6, -2.2), (1.4, -1.6), (4.2, -2.2), (7.4, -4.4))
        for run in _between(roots, feet):
            yield straight(run)
