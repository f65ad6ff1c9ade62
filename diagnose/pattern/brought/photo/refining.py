"""The corners of a card found finely: where the straight edges of its squares meet.

A corner's four edges are looked across at many places, along lines that a first camera foretells. Each place gives the
edge to a part of a pixel by what the light adds up to (in linear light, so that black and white weigh the same); two
straight lines through them cross at the corner.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from diagnose.pattern.brought.photo import chequers as b
from diagnose.pattern.brought.photo.cards import FoundCard
from diagnose.pattern.brought.photo.lens import Array

__all__ = ["refined"]

ALONG_MM = (2.2, 8.6)
PLACES_ALONG = 15
ACROSS_MM = 1.9
"""The white rim between a square and its marker is 2.5 mm wide."""

PLACES_ACROSS = 39
FLAT_RATIO = 0.68
LEAST_CONTRAST = 0.08
LEAST_CORNERS = 14
LEAST_EDGES = 18
FARTHEST_MM = 1.6
_WAYS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))


def refined(light: Any, card: FoundCard, seen: Callable[[Array], Array]) -> FoundCard | None:
    """The card with all its printed corners that are in the picture; None where they are too few.

    Args:
        light: the picture's light, linear, 0 to 1 (rows, columns).
        card: as first found.
        seen: the pixels where places of the card (mm, in its own frame) are foretold.
    """
    places = b.corner_places()[sorted(b.real_corners())]
    offsets, flat = np.linspace(-ACROSS_MM, ACROSS_MM, PLACES_ACROSS), int(PLACES_ACROSS * (1.0 - FLAT_RATIO) / 2.0)
    along = np.linspace(*ALONG_MM, PLACES_ALONG)
    found, kept = [], []
    edges = np.stack([_edges(light, places, way, along, offsets, flat, seen) for way in _WAYS], axis=1)
    for n, place in enumerate(places):
        level = _line(np.r_[along, -along], np.r_[edges[n, 0], -edges[n, 2]])
        upright = _line(np.r_[along, -along], np.r_[-edges[n, 1], edges[n, 3]])
        if level is None or upright is None:
            continue
        (a, s), (c, t) = level, upright  # y = a + s·x and x = c + t·y
        x = (c + t * a) / (1.0 - s * t)
        y = a + s * x
        if max(abs(x), abs(y)) < FARTHEST_MM:
            kept.append(place)
            found.append((place[0] + x, place[1] + y))
    if len(kept) < LEAST_CORNERS:
        return None
    return FoundCard(card.number, np.array(kept), seen(np.array(found)))


def _edges(
    light: Any, places: Array, way: tuple[float, float], along: Array, offsets: Array, flat: int,
    seen: Callable[[Array], Array],
) -> Array:  # fmt: skip
    """How far to the left of each foretold edge it lies (mm), by corner and place along; NaN where none is seen."""
    cv = b.opencv()
    out, left = np.array(way), np.array([-way[1], way[0]])
    spots = places[:, None, None] + out * along[None, :, None, None] + left * offsets[None, None, :, None]
    px = seen(spots.reshape(-1, 2)).reshape(*spots.shape).astype(np.float32)
    rows = px.reshape(-1, len(offsets), 2)
    got = cv.remap(light, rows[..., 0], rows[..., 1], cv.INTER_LINEAR, borderValue=float("nan"))
    got = got.astype(float)
    low, high = np.median(got[:, :flat], axis=1), np.median(got[:, -flat:], axis=1)
    step = high - low
    with np.errstate(invalid="ignore", divide="ignore"):
        wide = offsets[1] - offsets[0]
        size = (got.sum(1) - (got[:, 0] + got[:, -1]) / 2.0) * wide
        at = ((low + high) * ACROSS_MM - size) / step
        at[~((np.abs(step) > LEAST_CONTRAST) & (np.abs(at) < ACROSS_MM * 0.8))] = np.nan
    return at.reshape(len(places), len(along))


def _line(along: Array, off: Array) -> tuple[float, float] | None:
    """Height and slope of the line through the edges, strays left out."""
    sound = np.isfinite(off)
    for _ in range(3):
        if sound.sum() < LEAST_EDGES:
            return None
        slope, height = np.polyfit(along[sound], off[sound], 1)
        away = np.abs(off - height - slope * along)
        limit = max(3.0 * 1.4826 * float(np.median(away[sound])), 0.03)
        again = np.isfinite(off) & (away < limit)
        if (again == sound).all():
            break
        sound = again
    return float(height), float(slope)
