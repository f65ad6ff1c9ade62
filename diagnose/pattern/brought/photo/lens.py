"""The camera over the table: a pinhole whose lens bends outwards or inwards from its middle.

The table is a plane in mm, x to the right, y upwards. A point of it is turned and shifted into the camera's frame,
divided by its depth, bent by 1 + k1·r² (r from the middle, in focal lengths; the first radial term of D. C. Brown,
*Photogrammetric Engineering* 37, 1971) and scaled by the focal length in pixels.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

__all__ = ["Array", "View", "unbent"]

Array = NDArray[np.float64]
ROUNDS = 12


class View(Struct, frozen=True):
    """A camera as ten numbers: turn (3), shift (3), focal length, k1, and the middle of the lens (2), in pixels."""

    numbers: Array

    @property
    def rotation(self) -> Array:
        """The turn as a matrix (Rodrigues)."""
        x, y, z = self.numbers[:3]
        angle = float(np.hypot(np.hypot(x, y), z))
        k = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
        if angle < 1e-9:
            return np.eye(3) + k
        return np.eye(3) + np.sin(angle) / angle * k + (1.0 - np.cos(angle)) / angle**2 * (k @ k)

    @property
    def tilt_deg(self) -> float:
        """How far it looks from straight down."""
        return float(np.degrees(np.arccos(min(1.0, abs(self.rotation[2, 2])))))

    @property
    def eye(self) -> Array:
        """Where it is, in mm of the table."""
        return -self.rotation.T @ self.numbers[3:6]

    def moved(self, lies: tuple[float, float, float]) -> View:
        """The camera in a frame in which its own lies so (x, y, turn)."""
        x, y, a = lies
        turn = np.array([[np.cos(a), np.sin(a), 0.0], [-np.sin(a), np.cos(a), 0.0], [0.0, 0.0, 1.0]])
        r = self.rotation @ turn
        shift = self.numbers[3:6] - r @ np.array([x, y, 0.0])
        return View(np.r_[_turn_of(r), shift, self.numbers[6:]])

    def project(self, xy: Array) -> Array:
        """The pixels (n, 2) where points of the table (n, 2) are seen."""
        r, t = self.rotation, self.numbers[3:6]
        seen = xy @ r[:, :2].T + t
        flat = seen[:, :2] / seen[:, 2:]
        bent = flat * (1.0 + self.numbers[7] * (flat**2).sum(1, keepdims=True))
        return bent * self.numbers[6] + self.numbers[8:10]

    def table(self, px: Array) -> Array:
        """The points of the table (n, 2) seen at pixels (n, 2)."""
        flat = unbent((px - self.numbers[8:10]) / self.numbers[6], float(self.numbers[7]))
        back = np.linalg.inv(np.c_[self.rotation[:, :2], self.numbers[3:6]])
        out = np.c_[flat, np.ones(len(flat))] @ back.T
        return out[:, :2] / out[:, 2:]


def _turn_of(matrix: Array) -> Array:
    """The turn (Rodrigues) of a rotation matrix."""
    from diagnose.pattern.brought.photo.chequers import opencv

    return opencv().Rodrigues(matrix)[0].ravel().astype(float)


def unbent(bent: Array, k1: float) -> Array:
    """The points (n, 2) from the middle, in focal lengths, as a lens that bends nothing would show them."""
    wanted = np.hypot(bent[:, 0], bent[:, 1])
    r = wanted.copy()
    for _ in range(ROUNDS):  # Newton; where the lens folds over itself there is no answer, and the slope is held up
        r = np.clip(r - (r * (1.0 + k1 * r * r) - wanted) / np.maximum(1.0 + 3.0 * k1 * r * r, 0.2), 0.0, 3.0)
    return bent * np.where(wanted > 1e-12, r / np.maximum(wanted, 1e-12), 1.0)[:, None]
