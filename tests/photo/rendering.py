"""Photographs that never were: a paper pattern of known outline on a table, as a telephone would take it.

The table is a plane in mm, x to the right, y upwards; paper may stand up from it in creases. Light falls unevenly, a
shadow may lie across. The camera looks down on it from anywhere, its lens bends (radial k1), and the picture is
blurred, noisy, and saved as JPEG. Everything follows from a seed.
"""

from __future__ import annotations

import cv2
import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray
from painting import Array, Box, Laid, LaidCard, Scene, Table, card_corners, rotation

from diagnose.pattern.brought.photo import chequers as b
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.measure import outline_segments
from diagnose.pattern.outline import Pattern

GAMMA = 2.2
STEP_PX = 8
SHARP_PX, HALO_PX = 1.6, 24.0
CURLED_MM = 70.0
ASTRAY_MM = 20_000.0


class Look(Struct, frozen=True):
    """How it is lit, taken and saved.

    It may be smeared by the hand's moving (aslant), sharpened, given a halo round what is dark, dazzled by a lamp (x, y
    and radius on the table), cropped (parts of the picture: left, top, right, bottom) and saved smaller.
    """

    megapixels: float = 8.0
    tilt_deg: float = 10.0
    around_deg: float = 0.0
    rolled_deg: float = 0.0
    focal: float = 0.75
    k1: float = 0.0
    off_centre: tuple[float, float] = (0.0, 0.0)
    blur_px: float = 0.7
    noise: float = 0.01
    quality: int = 92
    uneven: float = 0.2
    shadow: float = 0.0
    shadow_soft_mm: float = 15.0
    creases: int = 0
    crease_mm: float = 0.4
    crossing: tuple[float, float] | None = None
    hand: bool = False
    margin: float = 0.04
    seed: int = 1
    view: Box | None = None
    moved_px: float = 0.0
    sharpened: float = 0.0
    halo: float = 0.0
    glare: tuple[float, float, float] | None = None
    cropped: Box | None = None
    saved_px: int = 0


class Camera(Struct, frozen=True):
    """A pinhole with a bent lens: pixels = f · bent(R·X + t) + centre."""

    wide: int
    high: int
    f: float
    centre: tuple[float, float]
    k1: float
    r: Array
    t: Array

    @property
    def eye(self) -> Array:
        """Where it is, in mm of the table."""
        return -self.r.T @ self.t

    def project(self, xy: Array) -> Array:
        """Pixels of points of the table (n, 2)."""
        y = np.c_[xy, np.zeros(len(xy))] @ self.r.T + self.t
        u = y[:, :2] / y[:, 2:]
        return u * (1 + self.k1 * (u**2).sum(1, keepdims=True)) * self.f + self.centre

    def table(self, columns: Array, rows: Array) -> tuple[Array, Array]:
        """Where the pixels of the columns and rows lie on the table: x and y, each (rows, columns)."""
        x, y = np.meshgrid((columns - self.centre[0]) / self.f, (rows - self.centre[1]) / self.f)
        wanted = np.sqrt(np.maximum(x * x + y * y, 1e-12))
        r = wanted.copy()
        for _ in range(9):  # Newton along the ray: r_d = r (1 + k1 r²)
            r = r - (r * (1 + self.k1 * r * r) - wanted) / (1 + 3 * self.k1 * r * r)
        m = np.linalg.inv(np.c_[self.r[:, :2], self.t])
        seen = np.tensordot(m, np.stack([x * r / wanted, y * r / wanted, np.ones_like(x)]), 1)
        return seen[0] / seen[2], seen[1] / seen[2]

    def table_of(self, low: int, high: int) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Where every pixel of the rows from low up to high lies, worked out at every eighth and drawn through."""
        columns = np.arange(-1, self.wide // STEP_PX + 2) * STEP_PX + (STEP_PX - 1) / 2
        rows = low + np.arange(-1, (high - low) // STEP_PX + 2) * STEP_PX + (STEP_PX - 1) / 2
        size = (len(columns) * STEP_PX, len(rows) * STEP_PX)
        part = slice(STEP_PX, STEP_PX + high - low), slice(STEP_PX, STEP_PX + self.wide)
        x, y = (
            cv2.resize(v.astype(np.float32), size, interpolation=cv2.INTER_LINEAR)[part]
            for v in self.table(columns, rows)
        )
        return x, y


def lay(pattern: Pattern, rng: np.random.Generator, gap_mm: float = 22.0, turn_deg: float = 2.0) -> tuple[Laid, ...]:
    """The pieces of a pattern side by side from the left, each a little turned."""
    made, left = [], 0.0
    for piece in pattern.pieces:
        points = [p for segment in outline_segments(piece) for p in flatten(segment, 0.01)[:-1]]
        xy = np.array(points, dtype=float)
        angle = np.radians(rng.uniform(-turn_deg, turn_deg))
        turned = xy @ rotation(angle).T
        shift = (left - turned[:, 0].min(), rng.uniform(-8, 8) - xy[:, 1].min())
        made.append(Laid(piece.name, turned + shift, angle, shift))
        left += np.ptp(turned[:, 0]) + gap_mm
    return tuple(made)


def scene_of(pattern: Pattern, seed: int, *, cards: int | None = None, **more: object) -> Scene:
    """A pattern laid out with a card at its right, and one at its left where it is wide."""
    rng = np.random.default_rng(seed)
    pieces = lay(pattern, rng)
    every = np.concatenate([one.outline for one in pieces])
    (left, low), (right, high) = every.min(0), every.max(0)
    number = cards if cards is not None else 1 if right - left < 450 else 2
    mid = (low + high) / 2 - b.CARD_HIGH_MM / 2
    jig = lambda: (rng.uniform(0, 12), mid + rng.uniform(-15, 15), np.radians(rng.uniform(-2, 2)))  # noqa: E731
    x, y, a = jig()
    laid = [LaidCard(1, (right + 25 + x, y), a)]
    if number > 1:
        x, y, a = jig()
        laid.append(LaidCard(2, (left - 50 - x - b.CARD_WIDE_MM, y), a))
    return Scene(pieces, tuple(laid), **more)  # type: ignore[arg-type]


def camera_for(scene: Scene, look: Look) -> Camera:
    """A camera that sees all of the scene (or the view asked for), as near as may be."""
    turned = look.view or _extent(scene)
    left, low, right, high = turned
    ratio = 4 / 3
    high_px = int(np.sqrt(look.megapixels * 1e6 / ratio))
    wide_px = int(high_px * ratio)
    tilt, around, rolled = np.radians([look.tilt_deg, look.around_deg, look.rolled_deg])
    down = np.diag([1.0, -1.0, -1.0])  # straight above, x to the right, the table's up up in the picture
    axis = np.array([np.cos(around), np.sin(around), 0.0]) * tilt
    z = np.array([[np.cos(rolled), -np.sin(rolled), 0], [np.sin(rolled), np.cos(rolled), 0], [0, 0, 1.0]])
    r = z @ cv2.Rodrigues(axis)[0] @ down
    f = look.focal * wide_px
    centre = ((wide_px - 1) / 2 + look.off_centre[0] * wide_px, (high_px - 1) / 2 + look.off_centre[1] * wide_px)
    corners = np.array([(left, low), (right, low), (right, high), (left, high)])
    mid = np.array([(left + right) / 2, (low + high) / 2, 0.0])

    def at(distance: float, aim: Array) -> Camera:
        return Camera(wide_px, high_px, f, centre, look.k1, r, np.array([0, 0, distance]) - r @ aim)

    near, far, aim = 100.0, 6000.0, mid
    for _ in range(24):
        d = (near + far) / 2
        for _ in range(4):
            px = at(d, aim).project(corners)
            shift = (px.max(0) + px.min(0)) / 2 - [wide_px / 2, high_px / 2]
            aim = aim + r.T @ np.array([shift[0], shift[1], 0.0]) * d / f * 0.7
        px, m = at(d, aim).project(corners), look.margin
        fits = np.ptp(px[:, 0]) < wide_px * (1 - 2 * m) and np.ptp(px[:, 1]) < high_px * (1 - 2 * m)
        if np.hypot(*(aim - mid)[:2]) > ASTRAY_MM:  # so near that parts lay behind it, and no aim could be taken
            fits, aim = False, mid
        near, far = (near, d) if fits else (d, far)
    for _ in range(8):
        px = at(far, aim).project(corners)
        shift = (px.max(0) + px.min(0)) / 2 - [wide_px / 2, high_px / 2]
        aim = aim + r.T @ np.array([shift[0], shift[1], 0.0]) * far / f * 0.7
    return at(far * 1.02, aim)


def _extent(scene: Scene) -> Box:
    every = [one.outline for one in scene.pieces] + [card_corners(card) for card in scene.cards]
    xy = np.concatenate(every)
    return (*(xy.min(0) - 8), *(xy.max(0) + 8))


class _Heights:
    """Height of the paper over the table, in mm, and how it leans: creases, and cards that do not lie flat."""

    def __init__(self, scene: Scene, look: Look, box: Box) -> None:
        rng = np.random.default_rng(look.seed + 991)
        self.rows = [
            (rng.uniform(box[0], box[2]), rng.uniform(box[1], box[3]), rng.uniform(0, np.pi),
             rng.uniform(0.4, 1.0) * look.crease_mm, rng.uniform(5.0, 16.0))
            for _ in range(look.creases)
        ]  # fmt: skip
        if look.crossing:
            self.rows = [(*look.crossing, *row[2:]) for row in self.rows]
        self.cards = [card for card in scene.cards if card.lifted_mm or card.curl_mm]

    def of_cards(self, x: NDArray[np.float32], y: NDArray[np.float32]) -> NDArray[np.float32]:
        """How high the sheets of cards lie at each place."""
        h = np.zeros_like(x)
        for card in self.cards:
            turn, corners = rotation(-card.turned_rad), card_corners(replace(card, at=(0.0, 0.0), turned_rad=0.0))
            dx, dy = x - np.float32(card.at[0]), y - np.float32(card.at[1])
            bx, by = turn[0, 0] * dx + turn[0, 1] * dy, turn[1, 0] * dx + turn[1, 1] * dy
            (left, low), (right, high) = corners.min(0), corners.max(0)
            on = (bx > left) & (bx < right) & (by > low) & (by < high)
            up = np.clip((bx - right + CURLED_MM) / CURLED_MM, 0, 1) ** 2
            h = np.where(on, card.lifted_mm + card.curl_mm * up, h)
        return h.astype(np.float32)

    def height(self, x: NDArray[np.float32], y: NDArray[np.float32]) -> tuple[NDArray[np.float32], ...]:
        """The height and its slopes."""
        h, hx, hy = np.zeros_like(x), np.zeros_like(x), np.zeros_like(x)
        for x0, y0, a, amount, wide in self.rows:
            nx, ny = np.float32(np.cos(a) / wide), np.float32(np.sin(a) / wide)
            d = (x - np.float32(x0)) * nx + (y - np.float32(y0)) * ny
            bump = np.float32(amount) * np.exp(-d * d)
            h += bump
            hx -= 2 * d * nx * bump
            hy -= 2 * d * ny * bump
        return h, hx, hy


def photograph(scene: Scene, look: Look) -> tuple[bytes, Camera]:
    """The scene as a JPEG, and the camera that took it."""
    picture, camera = picture_of(scene, look)
    done, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, look.quality])
    assert done
    return data.tobytes(), camera


def picture_of(scene: Scene, look: Look) -> tuple[NDArray[np.uint8], Camera]:
    """The scene as pixels (BGR), and the camera."""
    camera = camera_for(scene, look)
    px_mm = float(np.linalg.norm(camera.t)) / camera.f
    corners = _seen(camera)
    lo, hi = corners.min(0), corners.max(0)
    extent = _extent(scene)
    box = (
        max(lo[0], extent[0] - 400),
        max(lo[1], extent[1] - 400),
        min(hi[0], extent[2] + 400),
        min(hi[1], extent[3] + 400),
    )
    cell = max(px_mm / 2.0, np.sqrt((box[2] - box[0]) * (box[3] - box[1]) / 60e6))
    table = Table(scene, look.seed, cell, box, hand=look.hand)
    table.paint = cv2.GaussianBlur(table.paint, (0, 0), 0.35 * px_mm / cell)
    heights = _Heights(scene, look, extent)
    out = np.empty((camera.high, camera.wide, 3), np.uint8)
    light = _Light(look, extent)
    rng = np.random.default_rng(look.seed)
    pad = int(4 * look.blur_px + 2) + int(
        look.moved_px + 3 * (SHARP_PX if look.sharpened else 0) + 3 * (HALO_PX if look.halo else 0)
    )
    for top in range(0, camera.high, 512):
        low, high = top - pad, min(top + 512, camera.high) + pad
        x, y = camera.table_of(low, high)
        h, hx, hy = heights.height(x, y)
        ex, ey, ez = camera.eye.astype(np.float32)
        shade = light.at(x, y) * (1 + 0.5 * (hx * light.way[0] + hy * light.way[1]))
        if heights.cards:
            lift = np.full_like(x, max(card.lifted_mm + card.curl_mm for card in heights.cards))
            for _ in range(4):
                lift = heights.of_cards(x + lift / ez * (ex - x), y + lift / ez * (ey - y))
            h = np.where(lift > 0, lift, h)
        if heights.rows or heights.cards:
            x, y = x + h / ez * (ex - x), y + h / ez * (ey - y)
        u, v = (x - np.float32(box[0])) / np.float32(cell), (np.float32(box[3]) - y) / np.float32(cell)
        seen = cv2.remap(table.paint, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).astype(np.float32) / 255
        seen *= np.clip(shade, 0, None)[:, :, None]
        if look.glare:
            a, o, radius = look.glare
            seen += np.exp(-(((x - a) ** 2 + (y - o) ** 2) / np.float32(radius**2)))[:, :, None]
        if look.blur_px:
            seen = cv2.GaussianBlur(seen, (0, 0), look.blur_px)
        if look.moved_px:
            seen = cv2.filter2D(seen, -1, _smear(look.moved_px))
        seen = _made_crisp(seen, look)[pad : high - low - pad]
        seen = np.power(np.clip(seen, 0, 1), np.float32(1 / GAMMA))
        seen += rng.standard_normal(seen.shape, dtype=np.float32) * np.float32(look.noise)
        out[top : top + len(seen)] = np.clip(seen * 255 + 0.5, 0, 255)
    return _saved(out, look), camera


def _smear(length_px: float) -> Array:
    """A streak of that length, aslant, through the middle."""
    half = int(length_px) + 1
    kernel = np.zeros((2 * half + 1, 2 * half + 1))
    for t in np.linspace(-length_px / 2, length_px / 2, 41):
        kernel[half + round(t * 0.6), half + round(t * 0.8)] += 1 / 41
    return kernel


def _made_crisp(seen: NDArray[np.float32], look: Look) -> NDArray[np.float32]:
    """What telephones do of themselves: edges sharpened, and what is dark lightened, with a halo round it."""
    for amount, px in ((look.sharpened, SHARP_PX), (look.halo, HALO_PX)):
        if amount:
            seen = seen + np.float32(amount) * (seen - cv2.GaussianBlur(seen, (0, 0), px))
    return seen


def _saved(picture: NDArray[np.uint8], look: Look) -> NDArray[np.uint8]:
    """The picture cropped and made smaller, as a screenshot is."""
    high, wide = picture.shape[:2]
    left, top, right, bottom = look.cropped or (0.0, 0.0, 1.0, 1.0)
    picture = picture[int(top * high) : int(bottom * high), int(left * wide) : int(right * wide)]
    if look.saved_px:
        ratio = look.saved_px / max(picture.shape[:2])
        picture = cv2.resize(picture, None, fx=ratio, fy=ratio, interpolation=cv2.INTER_AREA)
    return picture


def _seen(camera: Camera) -> Array:
    """Places of the table along the picture's edge."""
    columns, rows = np.linspace(0, camera.wide - 1, 81), np.linspace(0, camera.high - 1, 61)
    edges = (camera.table(columns, rows[[0, -1]]), camera.table(columns[[0, -1]], rows))
    return np.concatenate([np.c_[x.ravel(), y.ravel()] for x, y in edges])


class _Light:
    """How much light falls where."""

    def __init__(self, look: Look, box: tuple[float, float, float, float]) -> None:
        rng = np.random.default_rng(look.seed + 5)
        a = rng.uniform(0, 2 * np.pi)
        self.way = np.array([np.cos(a), np.sin(a)], np.float32)
        self.mid = np.array([(box[0] + box[2]) / 2, (box[1] + box[3]) / 2], np.float32)
        self.size = np.float32(max(box[2] - box[0], box[3] - box[1]) / 2)
        self.look = look
        s = rng.uniform(0, 2 * np.pi)
        self.shadow = np.array([np.cos(s), np.sin(s)], np.float32)
        self.offset = np.float32(rng.uniform(-0.4, 0.4)) * self.size

    def at(self, x: NDArray[np.float32], y: NDArray[np.float32]) -> NDArray[np.float32]:
        dx, dy = x - self.mid[0], y - self.mid[1]
        light = 0.95 * (1 + np.float32(self.look.uneven) * (dx * self.way[0] + dy * self.way[1]) / self.size)
        light *= 1 - np.float32(0.12) * (dx * dx + dy * dy) / self.size**2
        if self.look.shadow:
            d = (dx * self.shadow[0] + dy * self.shadow[1] - self.offset) / np.float32(self.look.shadow_soft_mm / 4)
            light *= 1 - np.float32(self.look.shadow) / (1 + np.exp(-np.clip(d, -30, 30)))
        return np.clip(light, 0.05, 1.15)
