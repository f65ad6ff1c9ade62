"""The cards in a photograph: which, and where each corner of their chequers lies, to a part of a pixel."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from msgspec import Struct

from diagnose.errors import FitError
from diagnose.pattern.brought.photo import chequers as b

if TYPE_CHECKING:
    from diagnose.pattern.brought.photo.lens import Array

__all__ = ["FoundCard", "blur_of", "find_cards", "more_cards"]

SMALL_PIXELS = 3_000_000
"""Markers are looked for in a picture of about so many pixels, then their corners in the whole one."""

LEAST_MARKERS = 4


class FoundCard(Struct, frozen=True):
    """A card: its number, and its corners as printed (mm) and as seen (pixels)."""

    number: int
    places: Array
    px: Array

    @property
    def square_px(self) -> float:
        """How large a square is seen."""
        import numpy as np

        spread = [np.sqrt(np.prod(np.std(xy, axis=0))) for xy in (self.px, self.places)]
        return float(spread[0] / spread[1] * b.SQUARE_MM)


def find_cards(gray: Any, name: str) -> tuple[FoundCard, ...]:
    """The cards of a picture in greys, by number.

    Raises:
        FitError: when there is none, or too little of it is seen.
    """
    shrink, seen = max(1.0, float(np.sqrt(gray.size / SMALL_PIXELS))), False
    for factor in (shrink, 1.0) if shrink > 1.2 else (1.0,):
        corners, ids = _markers(gray, factor)
        found = cards_of(corners, ids)
        if found:
            return found
        seen = seen or len(ids) > 0
    if not seen:
        what, do = "No card is seen in the picture.", "Print one (diagnose card --out card.pdf) and lay it beside."
    else:
        what, do = "Too little of the card is seen.", "Photograph it whole, sharp, flat and uncovered."
    raise FitError.of(name, what, do, code="no-card")


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
    lows = [(cells[int(ids[k])][0] * b.SQUARE_MM, b.HIGH_MM - cells[int(ids[k])][1] * b.SQUARE_MM) for k in keep]
    places = np.concatenate([square + low for low in lows])
    px = np.concatenate([corners[k].reshape(-1, 2) for k in keep]).astype(float)
    spread = np.sqrt(np.prod(np.std(px, axis=0)) / np.prod(np.std(places, axis=0)))
    cv = b.opencv()
    _, sound = cv.findHomography(places, px, cv.RANSAC, max(3.0, 0.12 * float(spread) * b.SQUARE_MM))
    if sound is None or sound.sum() < 4 * LEAST_MARKERS:
        return None
    held = sound.ravel() > 0
    return FoundCard(number, places[held], px[held])


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
