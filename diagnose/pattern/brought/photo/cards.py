"""The cards in a photograph: which, and where each corner of their chequers lies, to a part of a pixel.

Their markers tell which they are and roughly where. Then a corner's four edges are looked across at many places, along
lines that a first camera foretells. Each place gives the edge to a part of a pixel by what the light adds up to (in
linear light, so that black and white weigh the same); two straight lines through them cross at the corner.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from msgspec import Struct

from diagnose.errors import FitError
from diagnose.pattern.brought.photo import chequers as b

if TYPE_CHECKING:
    from diagnose.pattern.brought.photo.lens import Array

__all__ = ["FoundCard", "blur_of", "find_cards", "more_cards", "refined"]

SMALL_PIXELS = 3_000_000
"""Markers are looked for in a picture of about so many pixels, then their corners in the whole one."""

LEAST_MARKERS = 4
PLACES_FROM_TO_MM = (2.2, 8.6)
PLACES_ALONG = 15
ACROSS_MM = 1.9
"""The white rim between a square and its marker is 2.5 mm wide."""

PLACES_ACROSS = 39
FLAT_RATIO = 0.68
LEAST_CONTRAST = 0.08
LEAST_CORNERS = 14
LEAST_EDGES = 18
CORNER_WITHIN_MM = 1.6
_WAYS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))


class FoundCard(Struct, frozen=True):
    """A card: its number, and its corners as printed (mm) and as seen (pixels)."""

    number: int
    places: Array
    px: Array


def find_cards(gray: Any, name: str) -> tuple[FoundCard, ...]:
    """The cards of a picture in greys, by number.

    Raises:
        FitError: when there is none, or too little of it is seen.
    """
    shrink, seen = max(1.0, float(np.sqrt(gray.size / SMALL_PIXELS))), False
    for factor in (shrink, 1.0) if shrink > 1.2 else (1.0,):
        corners, ids = _markers(gray, factor)
        _none_twice(ids, name)
        found = cards_of(corners, ids)
        if found:
            return found
        seen = seen or len(ids) > 0
    if not seen:
        typed = "Print one (diagnose card --out card.pdf) and lay it beside."
        raise FitError.of(name, "No card is seen in the picture.", typed=typed, code="no-card")
    do = "Photograph it whole, sharp, flat and uncovered."
    raise FitError.of(name, "Too little of the card is seen.", do, code="no-card")


def _none_twice(ids: Any, name: str) -> None:
    """Refuses two prints of one card: which marker belongs to which could not be told.

    Raises:
        FitError: with what to do.
    """
    numbers, counts = np.unique(ids, return_counts=True)
    twice = [int(n) // b.PER_CARD + 1 for n in numbers[counts > 1]]
    for card in sorted(set(twice)):
        if card <= b.CARDS and twice.count(card) >= LEAST_MARKERS:
            typed = "Lay different ones: diagnose card --cards 2 prints a card 1 and a card 2."
            raise FitError.of(name, f"Card {card} lies in the picture twice.", typed=typed, code="card-twice")


def more_cards(flat_gray: Any, known: Sequence[int]) -> tuple[FoundCard, ...]:
    """The cards in a straightened picture that are not known yet; their pixels are its cells."""
    found = cards_of(*_markers(flat_gray, 1.0))
    return tuple(card for card in found if card.number not in known)


def cards_of(corners: Sequence[Any], ids: Any) -> tuple[FoundCard, ...]:
    """The cards that markers belong to, by number."""
    numbers = sorted({int(i) // b.PER_CARD + 1 for i in ids if int(i) < b.PER_CARD * b.CARDS})
    return tuple(card for number in numbers if (card := _card(number, corners, ids)) is not None)


def _markers(gray: Any, factor: float) -> tuple[list[Any], Any]:
    """Corners and numbers of the markers in the picture made so many times smaller."""
    cv = b.opencv()
    size = (round(gray.shape[1] / factor), round(gray.shape[0] / factor))
    small = cv.resize(gray, size, interpolation=cv.INTER_AREA) if factor > 1.0 else gray
    corners, ids, _ = cv.aruco.ArucoDetector(b.dictionary(), _looking(cv)).detectMarkers(small)
    scale = np.array([gray.shape[1] / size[0], gray.shape[0] / size[1]])
    made = [((c + 0.5) * scale - 0.5).astype(np.float32) for c in corners]
    return made, np.array([], int) if ids is None else ids.ravel()


def _looking(cv: Any) -> Any:
    """How markers are looked for: small and aslant ones too."""
    chosen = cv.aruco.DetectorParameters()
    chosen.adaptiveThreshWinSizeMin, chosen.adaptiveThreshWinSizeMax, chosen.adaptiveThreshWinSizeStep = 5, 45, 20
    chosen.minMarkerPerimeterRate = 0.01
    chosen.perspectiveRemovePixelPerCell = 6
    return chosen


def _card(number: int, corners: Sequence[Any], ids: Any) -> FoundCard | None:
    """The card as its markers show it: their corners, those left out that lie where none can."""
    cells = {n: (column, row) for n, column, row in b.markers(number)}
    keep = [k for k, i in enumerate(ids) if int(i) in cells]
    if len(keep) < LEAST_MARKERS:
        return None
    rim = (b.SQUARE_MM - b.MARKER_MM) / 2.0
    square = np.array([(0, 0), (1, 0), (1, -1), (0, -1)]) * b.MARKER_MM + [rim, -rim]
    lows = [(cells[int(ids[k])][0] * b.SQUARE_MM, b.CARD_HIGH_MM - cells[int(ids[k])][1] * b.SQUARE_MM) for k in keep]
    places = np.concatenate([square + low for low in lows])
    px = np.concatenate([corners[k].reshape(-1, 2) for k in keep]).astype(float)
    spread = np.sqrt(np.prod(np.std(px, axis=0)) / np.prod(np.std(places, axis=0)))
    cv = b.opencv()
    _, sound = cv.findHomography(places, px, cv.RANSAC, max(3.0, 0.12 * float(spread) * b.SQUARE_MM))
    if sound is None or sound.sum() < 4 * LEAST_MARKERS:
        return None
    held = sound.ravel() > 0
    return FoundCard(number, places[held], px[held])


def refined(light: Any, card: FoundCard, seen: Callable[[Array], Array]) -> FoundCard | None:
    """The card with all its printed corners that are in the picture; None where they are too few.

    Args:
        light: the picture's light, linear, 0 to 1 (rows, columns).
        card: as first found.
        seen: the pixels where places of the card (mm, in its own frame) are foretold.
    """
    places = b.corner_places()[sorted(b.real_corners())]
    offsets, flat = np.linspace(-ACROSS_MM, ACROSS_MM, PLACES_ACROSS), int(PLACES_ACROSS * (1.0 - FLAT_RATIO) / 2.0)
    along = np.linspace(*PLACES_FROM_TO_MM, PLACES_ALONG)
    found, kept = [], []
    edges = np.stack(
        [_edges(light, places, way, along=along, offsets=offsets, flat=flat, seen=seen) for way in _WAYS], axis=1
    )
    for n, place in enumerate(places):
        level = _line(np.r_[along, -along], np.r_[edges[n, 0], -edges[n, 2]])
        upright = _line(np.r_[along, -along], np.r_[-edges[n, 1], edges[n, 3]])
        if level is None or upright is None:
            continue
        (a, s), (c, t) = level, upright  # y = a + s·x and x = c + t·y
        x = (c + t * a) / (1.0 - s * t)
        y = a + s * x
        if max(abs(x), abs(y)) < CORNER_WITHIN_MM:
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


def blur_of(gray: Any, card: FoundCard) -> float:
    """How far edges of squares are smeared: the standard deviation of the step, in pixels, in the worse direction."""
    cv = b.opencv()
    places, px = card.places, card.px
    by_place = {(round(x), round(y)): p for (x, y), p in zip(places, px, strict=True)}
    worst = []
    for step in ((b.SQUARE_MM, 0.0), (0.0, b.SQUARE_MM)):
        pairs = [
            (p, by_place[key]) for (x, y), p in by_place.items() if (key := (x + step[0], y + step[1])) in by_place
        ]
        if not pairs:
            continue
        a, z = np.array([p for p, _ in pairs]), np.array([q for _, q in pairs])
        size = np.hypot(*(z - a).T)
        across = np.c_[-(z - a)[:, 1], (z - a)[:, 0]] / size[:, None]
        reach = float(np.median(size)) * 0.3
        offsets = np.linspace(-reach, reach, 61)
        spots = (a + z)[:, None] / 2 + across[:, None] * offsets[None, :, None]
        seen = cv.remap(gray, spots[..., 0].astype(np.float32), spots[..., 1].astype(np.float32), cv.INTER_LINEAR)
        seen = seen.astype(float)
        contrast = np.abs(seen[:, :8].mean(1) - seen[:, -8:].mean(1))
        slope = np.abs(np.diff(seen, axis=1)).max(1) / (offsets[1] - offsets[0])
        good = contrast > 25
        if good.any():
            worst.append(float(np.median(contrast[good] / np.maximum(slope[good], 1e-6)) / np.sqrt(2 * np.pi)))
    return max(worst, default=0.0)
