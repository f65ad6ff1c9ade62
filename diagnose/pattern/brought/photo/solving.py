"""Camera and cards solved together from the cards' corners, and what that makes of the truth of the picture.

The unknowns are the camera's ten numbers and, of each card after the first, where it lies (x, y, turn) in the frame
of the first. They are found by least squares (Levenberg and Marquardt), a corner that strays counting for less. What
telephones' lenses are like is known beforehand only loosely, and enters as such. How sure each unknown is follows from
how far the corners lie off, and is carried to any place of the table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from diagnose.pattern.brought.photo.cards import FoundCard
from diagnose.pattern.brought.photo.lens import Array, View

if TYPE_CHECKING:
    from diagnose.pattern.brought.photo.chequers import opencv as opencv

__all__ = ["Lies", "Solved", "placed", "solve", "then", "turned_back", "unplaced"]

FOCAL_RATIO, FOCAL_LOG_SD = 0.75, 0.35
"""Focal length by the picture's longer side: telephones' main cameras have 0.65 to 0.85."""

K1_SD = 0.1
MIDDLE_SD_RATIO = 0.004
LEAST_SD_PX = 0.03
MODEL_FACTOR = 1.25
"""A real card and lens are never quite what the reckoning takes them for."""

STRAY = 3.0
NEIGHBOUR_MM = 21.0
MOST_ALIKE = 0.8
ROUNDS = 40
REWEIGHINGS = 4
Lies = tuple[float, float, float]
"""Where a card's frame lies in that of the first: x, y and turn (rad)."""


class Solved(Struct, frozen=True):
    """The camera, where each card lies, and how sure both are.

    `off_mm` is how far each card's corners lie off on the table, `spread` the covariance of the unknowns.
    """

    view: View
    lies: Mapping[int, Lies]
    off_mm: Mapping[int, float]
    spread: Array

    def slopes(self, xy: Array) -> Array:
        """How a place of the table moves with the camera's numbers, when its pixel stays: (n, 2, 10)."""
        v, steps = self.view.numbers, _steps(self.view.numbers)
        per_number = []
        for k in range(10):
            more, less = v.copy(), v.copy()
            more[k] += steps[k]
            less[k] -= steps[k]
            per_number.append((View(more).project(xy) - View(less).project(xy)) / (2 * steps[k]))
        by_number = np.stack(per_number, axis=2)
        d = 0.05
        by_place = np.stack(
            [(self.view.project(xy + e) - self.view.project(xy - e)) / (2 * d) for e in ([d, 0.0], [0.0, d])], axis=2
        )
        return -np.linalg.solve(by_place, by_number)

    def shape_sd_mm(self, xy: Array) -> Array:
        """How sure each of the places is, in mm, when all of them may be shifted and turned together."""
        slopes = self.slopes(xy).reshape(-1, 10)
        middle = xy - xy.mean(0)
        rigid = np.zeros((2 * len(xy), 3))
        rigid[0::2, 0] = rigid[1::2, 1] = 1.0
        rigid[0::2, 2], rigid[1::2, 2] = -middle[:, 1], middle[:, 0]
        q, _ = np.linalg.qr(rigid)
        return self._sd_mm(slopes - q @ (q.T @ slopes))

    def place_sd_mm(self, xy: Array) -> Array:
        """How sure each of the places is, in mm, in the frame of the first card."""
        return self._sd_mm(self.slopes(xy).reshape(-1, 10))

    def _sd_mm(self, slopes: Array) -> Array:
        each = np.einsum("ij,jk,ik->i", slopes, self.spread[:10, :10], slopes)
        return np.asarray(np.sqrt(np.maximum(each.reshape(-1, 2).sum(1), 0.0)))


def placed(xy: Array, lies: Lies) -> Array:
    """Points of a card's own frame in the frame of the first card."""
    x, y, a = lies
    return xy @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) + [x, y]


def unplaced(xy: Array, lies: Lies) -> Array:
    """Points of the frame of the first card in a card's own."""
    x, y, a = lies
    return (xy - [x, y]) @ np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])


def turned_back(lies: Lies) -> Lies:
    """Where a frame lies in another that lies so in it."""
    x, y = unplaced(np.zeros((1, 2)), lies)[0]
    return (float(x), float(y), -lies[2])


def then(inner: Lies, outer: Lies) -> Lies:
    """Where a frame lies in a third, by where it lies in a second and that in the third."""
    x, y = placed(np.array([inner[:2]]), outer)[0]
    return (float(x), float(y), inner[2] + outer[2])


def solve(cards: Sequence[FoundCard], size: tuple[int, int], printed: tuple[float, float] = (1.0, 1.0)) -> Solved:
    """Camera and cards.

    Args:
        cards: as found; the first gives the frame.
        size: of the picture, columns and rows.
        printed: how much longer than it should be the print is, across the sheet and along it.
    """
    places = [card.places * printed for card in cards]
    seen = np.concatenate([card.px for card in cards])
    longer, middle = max(size), (np.array(size) - 1.0) / 2.0
    begun = min(
        (
            _begun(cards, places, longer * ratio, k1=k1, middle=middle)
            for ratio in (0.75, 1.1)
            for k1 in (0.0, 0.12, -0.12)
        ),
        key=lambda one: float(np.median(np.abs(_seen(one, places) - seen))),
    )
    prior_sd = np.array([FOCAL_LOG_SD * longer, K1_SD, MIDDLE_SD_RATIO * longer, MIDDLE_SD_RATIO * longer])
    prior = np.array([FOCAL_RATIO * longer, 0.0, *middle])

    def off(unknown: Array) -> Array:
        return (_seen(unknown, places) - seen).ravel()

    unknown, sd = begun, max(float(np.median(np.abs(off(begun)))) * 1.5, 0.05)
    for _ in range(REWEIGHINGS):
        weights = _weights(off(unknown), sd)

        def rows(u: Array, weights: Array = weights, sd: float = sd) -> Array:
            return np.r_[off(u) * weights / sd, (u[6:10] - prior) / prior_sd]

        unknown, before = _least(rows, unknown), sd
        sd = max(_sd_of(off(unknown), len(unknown)), LEAST_SD_PX)
        if abs(sd - before) < 0.02 * before:
            break
    jac = _slopes(rows, unknown)
    factor = MODEL_FACTOR * _worse_by(off(unknown), places, _weights(off(unknown), sd), sd=sd)
    spread = np.asarray(np.linalg.inv(jac.T @ jac) * factor**2, float)
    view = View(unknown[:10])
    lies = {card.number: _lies(unknown, n) for n, card in enumerate(cards)}
    return Solved(view, lies, off_mm=_off_mm(view, cards, places, lies=lies), spread=spread)


def _begun(cards: Sequence[FoundCard], places: Sequence[Array], f: float, k1: float, middle: Array) -> Array:
    """A first guess: the camera over the card with most corners, then the other cards where it sees them."""
    from diagnose.pattern.brought.photo.chequers import opencv

    cv = opencv()
    k = np.array([[f, 0, middle[0]], [0, f, middle[1]], [0, 0, 1.0]])
    _, turn, shift = cv.solvePnP(np.c_[places[0], np.zeros(len(places[0]))], cards[0].px, k, np.array([k1, 0, 0, 0.0]))
    view = View(np.r_[turn.ravel(), shift.ravel(), f, k1, middle])
    return np.r_[
        view.numbers, *(_fitted(own, view.table(card.px)) for card, own in zip(cards[1:], places[1:], strict=True))
    ]


def _fitted(own: Array, there: Array) -> Array:
    """The shift and turn that lay one set of points on another."""
    a, z = own - own.mean(0), there - there.mean(0)
    angle = np.arctan2((a[:, 0] * z[:, 1] - a[:, 1] * z[:, 0]).sum(), (a * z).sum())
    return np.array([*(there.mean(0) - placed(own.mean(0)[None], (0.0, 0.0, angle))[0]), angle])


def _lies(unknown: Array, number: int) -> Lies:
    if number == 0:
        return (0.0, 0.0, 0.0)
    x, y, a = unknown[10 + 3 * (number - 1) : 13 + 3 * (number - 1)]
    return (float(x), float(y), float(a))


def _seen(unknown: Array, places: Sequence[Array]) -> Array:
    view = View(unknown[:10])
    return np.concatenate([view.project(placed(own, _lies(unknown, n))) for n, own in enumerate(places)])


def _weights(off: Array, sd: float) -> Array:
    """Weights of the rows (roots): a corner far off counts for next to nothing (Geman and McClure)."""
    size = np.repeat(np.hypot(*off.reshape(-1, 2).T), 2)
    return 1.0 / (1.0 + (size / (STRAY * sd)) ** 2)


def _sd_of(off: Array, unknowns: int) -> float:
    """The standard deviation of one coordinate by the median, mended for the unknowns that were fitted."""
    sizes = np.hypot(*off.reshape(-1, 2).T)
    robust = float(np.median(sizes)) / 1.1774
    return robust * float(np.sqrt(len(off) / max(len(off) - unknowns, 1)))


def _worse_by(off: Array, cards: Sequence[Array], weights: Array, sd: float) -> float:
    """By how much less sure all is than if each corner were off by chance and alone.

    Corners on a card that is bent or creased are off together with their neighbours: many corners are then worth few.
    """
    rows = (off * weights).reshape(-1, 2)
    own, pairs, at = float((rows**2).sum()) / max(len(rows), 1), [], 0
    for places in cards:
        part = rows[at : at + len(places)]
        at += len(places)
        apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
        first, second = np.nonzero(np.triu((apart > 1.0) & (apart < NEIGHBOUR_MM)))
        pairs.append((part[first] * part[second]).sum(1))
    alike = min(max(float(np.concatenate(pairs).mean()) / max(own, 2.0 * sd**2), 0.0), MOST_ALIKE)
    spread = float(np.sqrt(own / 2.0 / (weights**2).mean())) / sd
    return max(spread, 1.0) * (1.0 + alike) / (1.0 - alike)


def _off_mm(
    view: View, cards: Sequence[FoundCard], places: Sequence[Array], lies: Mapping[int, Lies]
) -> dict[int, float]:
    """By card, how far its corners lie off on the table: the root of the mean square."""
    return {
        card.number: float(np.sqrt(((view.table(card.px) - placed(own, lies[card.number])) ** 2).sum(1).mean()))
        for card, own in zip(cards, places, strict=True)
    }


def _steps(unknown: Array) -> Array:
    f = unknown[6]
    head = [1e-6] * 3 + [1e-3] * 3 + [f * 1e-5, 1e-5, 0.02, 0.02]
    return np.array(head + [1e-3, 1e-3, 1e-6] * ((len(unknown) - 10) // 3))


def _slopes(rows: Callable[[Array], Array], at: Array) -> Array:
    columns, here = [], rows(at)
    for k, step in enumerate(_steps(at)):
        more = at.copy()
        more[k] += step
        columns.append((rows(more) - here) / step)
    return np.stack(columns, axis=1)


def _least(rows: Callable[[Array], Array], start: Array) -> Array:
    """The unknowns with the least sum of squares near the start."""
    at, damp = start, 1e-3
    here = rows(at)
    for _ in range(ROUNDS):
        jac = _slopes(rows, at)
        normal, down = jac.T @ jac, jac.T @ here
        for _ in range(8):
            step = np.linalg.solve(normal + damp * np.diag(np.diag(normal)), -down)
            there = rows(at + step)
            if np.isfinite(there).all() and there @ there < here @ here:
                gained = here @ here - there @ there
                at, here, damp = at + step, there, damp / 5
                break
            damp *= 5
        else:
            return at
        if gained < 1e-6 * (1 + here @ here):
            return at
    return at
