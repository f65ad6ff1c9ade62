"""The straightened picture laid under the pattern made of it, whose pieces may lie otherwise than on the table.

A pattern may have been turned over, brought to another scale, or single pieces of it turned until their grain is
upright. Where each piece went is found by its outline alone: two closed lines with places evenly along them are laid
upon each other by the turn, scale and beginning at which they agree best.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.linalg import inv
from numpy.typing import NDArray

from diagnose.pattern.brought.photo.chequers import opencv
from diagnose.pattern.brought.photo.found.tracing import counter_clockwise, evenly
from diagnose.pattern.brought.photo.lens import Array
from diagnose.pattern.brought.photo.pixels import as_jpeg
from diagnose.pattern.brought.sketch import Sketch
from diagnose.pattern.geometry.bezier import Box, flatten
from diagnose.pattern.measure import outline_segments
from diagnose.pattern.outline import Pattern, Piece, Segment, run_of

__all__ = ["picture_under", "pictures_beside"]

PLACES = 2048
LAID_CHORD_TOL_MM = 0.1
LAID_TOL_MM = 1.5
TURNED_OVER_MM = 0.2
"""A piece was turned over only where it then lies by so much better."""

STAYS_MM = 0.3
"""A piece that nowhere lies farther off than this lies where it lay."""

ROUND_PIECE_MM = 12.0
"""So much of the table round a piece that was turned goes with it."""

MOST_BESIDE_CELLS = 5_000_000
"""How many cells several pictures laid side by side may have."""

STAY = np.eye(3)


def picture_under(picture: bytes, box: Box, sketch: Sketch, pattern: Pattern) -> tuple[bytes, Box]:
    """The picture (a JPEG) and its place under the pattern.

    Args:
        picture: as it lies under the sketch.
        box: what of the sketch's frame it shows.
        sketch: what was read from it.
        pattern: what was made of the sketch.
    """
    drawn = [_ring(stroke.segments) for stroke in sketch.strokes if stroke.closed and stroke.kind == "outline"]
    moves = [found for piece in pattern.pieces if (found := _moved(drawn, piece)) is not None]
    if not moves:
        return picture, box
    most = max((move for _, move in moves), key=lambda move: sum(_alike(move, m, ring) for ring, m in moves))
    others = [(ring, move) for ring, move in moves if not _alike(most, move, ring)]
    if not others and all(_alike(most, STAY, _carried(inv(most), ring)) for ring, _ in moves):
        return picture, box
    return _redrawn(picture, box, most, others=others)


def _moved(drawn: Sequence[Array], piece: Piece) -> tuple[Array, Array] | None:
    """The piece's outline, and the move that carried what was drawn upon it; None where nothing lies upon it.

    Of a piece on the fold the half may have been drawn, or the whole.
    """
    for ring in (_ring(outline_segments(piece)), _opened_out(piece)):
        move = None if ring is None else _best_move(drawn, ring)
        if ring is not None and move is not None:
            return ring, move
    return None


def _opened_out(piece: Piece) -> Array | None:
    """The outline of a piece on the fold, opened out; None of another piece."""
    at = next((n for n, edge in enumerate(piece.edges) if edge.role == "fold"), None)
    if at is None:
        return None
    half = _flat(run_of((*piece.edges[at + 1 :], *piece.edges[:at])))
    start, end = (np.array(spot, dtype=float) for spot in (piece.edges[at].start, piece.edges[at].end))
    along = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
    other = 2.0 * (start + ((half - start) @ along)[:, None] * along) - half
    return _evenly(np.r_[half, start[None], other[:0:-1]])


def _ring(segments: Sequence[Segment]) -> Array:
    """Places evenly along the closed line of segments, counter-clockwise."""
    return _evenly(_flat(segments))


def _flat(segments: Sequence[Segment]) -> Array:
    return np.array([p for segment in segments for p in flatten(segment, LAID_CHORD_TOL_MM)[:-1]], dtype=float)


def _evenly(xy: Array) -> Array:
    """Places evenly along a closed line, counter-clockwise."""
    return counter_clockwise(evenly(xy, PLACES))


def _best_move(drawn: Sequence[Array], ring: Array) -> Array | None:
    """The move (3 by 3) that carries one of the drawn outlines upon the ring; None where none lies upon it."""
    found = [(over, *_move(one, ring, over=over)) for one in drawn for over in (False, True)]
    near = [(off + TURNED_OVER_MM * over, move) for over, off, move in found if off < LAID_TOL_MM]
    return min(near, key=lambda one: one[0])[1] if near else None


def _move(drawn: Array, ring: Array, *, over: bool) -> tuple[float, Array]:
    """How far off the drawn outline lies at best (root of the mean square), and the move that lays it so."""
    flip = -1.0 if over else 1.0
    a, b = ring @ [1.0, 1j], (drawn * [flip, 1.0])[:: int(flip)] @ [1.0, 1j]
    middle_a, middle_b = a.mean(), b.mean()
    a, b = a - middle_a, b - middle_b
    alike = np.fft.ifft(np.fft.fft(a) * np.conj(np.fft.fft(b)))
    first = int(np.abs(alike).argmax())
    turn = alike[first] / (np.abs(b) ** 2).sum()
    off = float(np.sqrt((np.abs(a - turn * np.roll(b, first)) ** 2).mean()))
    shift = middle_a - turn * middle_b
    across, up = (turn.real * flip, -turn.imag, shift.real), (turn.imag * flip, turn.real, shift.imag)
    return off, np.array([across, up, (0.0, 0.0, 1.0)])


def _carried(move: Any, xy: Array) -> Array:
    return np.asarray(xy @ move[:2, :2].T + move[:2, 2])


def _alike(one: Array, other: Array, laid: Array) -> bool:
    """Whether two moves lay what the second lays there in one place."""
    away = _carried(one, _carried(inv(other), laid)) - laid
    return bool(np.hypot(*away.T).max() < STAYS_MM)


def _redrawn(picture: bytes, box: Box, most: Array, others: Sequence[tuple[Array, Array]]) -> tuple[bytes, Box]:
    """The picture carried by the move that most pieces made; the others, each with what is round it, laid upon it."""
    cv = opencv()
    pixels, cell = _pixels(picture, box)
    left, bottom, right, top = box
    here = _to_cells(cell, left, top)
    corners = _carried(most, np.array([(left, bottom), (right, bottom), (right, top), (left, top)]))
    places = np.concatenate([corners, *(ring for ring, _ in others)])
    low, high = places.min(0), places.max(0)
    wide, tall = (int(np.ceil(mm / cell)) for mm in high - low)
    there = _to_cells(cell, low[0], high[1])
    ground = tuple(float(v) for v in np.median(pixels.reshape(-1, 3)[:: max(1, pixels.size // 30000)], axis=0))

    grow = np.ones((2 * round(ROUND_PIECE_MM / cell) + 1,) * 2, np.uint8)
    masks = []
    for ring, move in others:
        mask = np.zeros(pixels.shape[:2], np.uint8)
        cells = _carried(here @ inv(move), ring)
        cv.fillPoly(mask, [np.round(cells).astype(np.int32)], 255)
        masks.append(cv.dilate(mask, grow))
    emptied = pixels.copy()
    for mask in masks:
        emptied[mask > 0] = ground
    out = cv.warpAffine(emptied, (there @ most @ inv(here))[:2], (wide, tall), borderValue=ground)
    for (_, move), mask in zip(others, masks, strict=True):
        to = (there @ move @ inv(here))[:2]
        at = cv.warpAffine(mask, to, (wide, tall)) > 127
        out[at] = cv.warpAffine(pixels, to, (wide, tall), borderValue=ground)[at]
    return as_jpeg(out), Box(float(low[0]), float(high[1] - tall * cell), float(low[0] + wide * cell), float(high[1]))


def _to_cells(cell_mm: float, left: float, top: float) -> Array:
    """From places in mm to columns and rows of a picture that begins there."""
    return inv(np.array([[cell_mm, 0.0, left + cell_mm / 2], [0.0, -cell_mm, top - cell_mm / 2], [0.0, 0.0, 1.0]]))


def pictures_beside(parts: Sequence[tuple[bytes, Box, Box, float]]) -> tuple[bytes, Box]:
    """Several pictures as one (a JPEG), and its place.

    Args:
        parts: each picture with its place, what of it to show, and how far to the right that is to be laid.
    """
    cv = opencv()
    opened = [_pixels(picture, box) for picture, box, *_ in parts]
    laid = [Box(shown.left + by, shown.bottom, shown.right + by, shown.top) for *_, shown, by in parts]
    left, bottom = min(one.left for one in laid), min(one.bottom for one in laid)
    right, top = max(one.right for one in laid), max(one.top for one in laid)
    cell = max(*(cell for _, cell in opened), ((right - left) * (top - bottom) / MOST_BESIDE_CELLS) ** 0.5)
    out = np.full((round((top - bottom) / cell) + 1, round((right - left) / cell) + 1, 3), 255, np.uint8)
    for (pixels, own), (_, box, _, by), at in zip(opened, parts, laid, strict=True):
        columns = np.arange(round((at.left - left) / cell), round((at.right - left) / cell))
        rows = np.arange(round((top - at.top) / cell), round((top - at.bottom) / cell))
        x = ((columns + 0.5) * cell + left - by - box.left) / own - 0.5
        y = ((rows + 0.5) * cell - top + box.top) / own - 0.5
        there = np.meshgrid(x.astype(np.float32), y.astype(np.float32))
        out[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1] = cv.remap(
            pixels, *there, cv.INTER_LINEAR, borderMode=cv.BORDER_REPLICATE
        )
    high, wide = out.shape[:2]
    return as_jpeg(out), Box(left, top - high * cell, left + wide * cell, top)


def _pixels(picture: bytes, box: Box) -> tuple[NDArray[np.uint8], float]:
    """The pixels of a JPEG, and how many mm one is wide."""
    cv = opencv()
    pixels = cv.imdecode(np.frombuffer(picture, np.uint8), cv.IMREAD_COLOR)
    left, _, right, _ = box
    return pixels, (right - left) / pixels.shape[1]
