"""Photographs that never were: a paper pattern of known outline on a table, as a telephone would take it.

The table is a plane in mm, x to the right, y upwards; paper may stand up from it in creases. Light falls unevenly, a
shadow may lie across. The camera looks down on it from anywhere, its lens bends (radial k1), and the picture is
blurred, noisy, and saved as JPEG. Everything follows from a seed.
"""

from __future__ import annotations

import functools
import subprocess
import tempfile
from pathlib import Path

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from diagnose.pattern.brought.photo import chequers as b
from diagnose.pattern.geometry.curves import flatten
from diagnose.pattern.measure import outline_segments
from diagnose.pattern.outline import Pattern
from diagnose.sheets.card import write_card
from diagnose.sheets.card.card import BOARD_LEFT_MM, board_bottom_mm
from diagnose.sheets.writers.paper_sizes import PAPERS

Array = NDArray[np.float64]
CARD_DPI = 254
GAMMA = 2.2
STEP_PX = 8
FINE_GRAIN_MM, COARSE_GRAIN_MM = 2.5, 14.0


class Laid(Struct, frozen=True):
    """A piece on the table: its name, its outline flattened fine, and how it was laid there (turn, then shift)."""

    name: str
    outline: Array
    turned_rad: float
    shift: tuple[float, float]


class LaidCard(Struct, frozen=True):
    """A card on the table: its number, where its board's lower left corner lies, its turn, and its print's scale."""

    number: int
    at: tuple[float, float]
    turned_rad: float = 0.0
    printed: float = 1.0
    bend_mm: float = 0.0


class Scene(Struct, frozen=True):
    """What lies on the table."""

    pieces: tuple[Laid, ...]
    cards: tuple[LaidCard, ...]
    drawn: bool = False
    squared: bool = False
    dark_paper: bool = False
    inside: tuple[Array, ...] = ()


class Look(Struct, frozen=True):
    """How it is lit and taken."""

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
    hand: bool = False
    margin: float = 0.04
    seed: int = 1
    view: tuple[float, float, float, float] | None = None


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


def rotation(angle: float) -> Array:
    """The matrix of a turn."""
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])


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
        near, far = (near, d) if fits else (d, far)
    for _ in range(8):
        px = at(far, aim).project(corners)
        shift = (px.max(0) + px.min(0)) / 2 - [wide_px / 2, high_px / 2]
        aim = aim + r.T @ np.array([shift[0], shift[1], 0.0]) * far / f * 0.7
    return at(far * 1.02, aim)


def _extent(scene: Scene) -> tuple[float, float, float, float]:
    every = [one.outline for one in scene.pieces] + [_card_corners(card) for card in scene.cards]
    xy = np.concatenate(every)
    return (*(xy.min(0) - 8), *(xy.max(0) + 8))


def _card_corners(card: LaidCard) -> Array:
    page = PAPERS["a4"]
    a, o = -BOARD_LEFT_MM, -board_bottom_mm(page)
    box = np.array([(a, o), (a + page.width_mm, o), (a + page.width_mm, o + page.height_mm), (a, o + page.height_mm)])
    return box @ rotation(card.turned_rad).T + card.at


@functools.cache
def _card_picture(number: int) -> NDArray[np.uint8]:
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "card.pdf").write_bytes(write_card("a4", number))
        run = ["pdftoppm", "-r", str(CARD_DPI), "-gray", "-png", "-f", str(number), "-l", str(number), "card.pdf", "c"]
        subprocess.run(run, cwd=folder, check=True, timeout=120)
        return cv2.imread(str(next(Path(folder).glob("c-*.png"))), cv2.IMREAD_GRAYSCALE)  # type: ignore[return-value]


SUB_ROWS = 4


def covered(outline: Array, shape: tuple[int, int]) -> NDArray[np.float32]:
    """How much of each cell the outline covers; x is the column, y the row, cell 0 has its middle at 0.

    Exact along each of a few lines through every row of cells, so that an edge along the rows or columns of the
    picture lies as truly as a slanting one.
    """
    steps = np.zeros((shape[0], shape[1] + 2), np.float32)
    ends = np.roll(outline, -1, 0)
    for sub in (np.arange(SUB_ROWS) + 0.5) / SUB_ROWS - 0.5:
        for (x0, y0), (x1, y1) in zip(outline, ends, strict=True):
            low, high = sorted((y0, y1))
            rows = np.arange(max(0, int(np.ceil(low - sub))), min(shape[0], int(np.ceil(high - sub))))
            if len(rows):
                x = np.clip(x0 + (rows + sub - y0) * (x1 - x0) / (y1 - y0), -0.5, shape[1] - 0.5)
                first = np.floor(x + 0.5).astype(int)
                part = (first + 0.5 - x) * (1.0 if y1 > y0 else -1.0) / SUB_ROWS
                whole = (1.0 if y1 > y0 else -1.0) / SUB_ROWS
                np.add.at(steps, (rows, first), part)
                np.add.at(steps, (rows, first + 1), whole - part)
    return np.clip(np.abs(np.cumsum(steps[:, :-2], axis=1)), 0, 1)


class _Table:
    """The scene as a picture seen straight from above, in linear light."""

    def __init__(self, scene: Scene, look: Look, cell_mm: float, box: tuple[float, float, float, float]) -> None:
        self.cell, self.box = cell_mm, box
        self.shape = (int((box[3] - box[1]) / cell_mm), int((box[2] - box[0]) / cell_mm))
        self.rng = np.random.default_rng(look.seed + 77)
        self.paint = self._ground(scene)
        if scene.drawn:
            self._drawn(scene)
        else:
            self._cut(scene)
        for card in scene.cards:
            self._card(card)
        if look.hand:
            self._hand()

    def at(self, xy: Array) -> Array:
        """Columns and rows (downwards) of places."""
        return np.c_[(xy[:, 0] - self.box[0]) / self.cell, (self.box[3] - xy[:, 1]) / self.cell]

    def _noise(self, mm: float, amount: float, size: tuple[int, int]) -> NDArray[np.float32]:
        h, w = self.shape
        own = (max(2, int(h * self.cell / mm)), max(2, int(w * self.cell / mm)))
        return cv2.resize(self.rng.normal(0, amount, own).astype(np.float32), size, interpolation=cv2.INTER_LINEAR)

    def _ground(self, scene: Scene) -> NDArray[np.uint8]:
        light = np.array([0.72, 0.76, 0.78]) if scene.dark_paper else np.array([0.07, 0.12, 0.20])  # BGR
        if scene.drawn:
            light = np.array([0.13, 0.14, 0.16]) if scene.dark_paper else np.array([0.80, 0.82, 0.83])
        h, w = self.shape
        size = (max(2, int(w * self.cell / FINE_GRAIN_MM)), max(2, int(h * self.cell / FINE_GRAIN_MM)))
        grain = self._noise(COARSE_GRAIN_MM, 0.03, size) + self._noise(FINE_GRAIN_MM, 0.02, size)
        small = np.clip(light * (1 + grain[:, :, None]) * 255, 0, 255).astype(np.uint8)
        out = cv2.resize(small, (w, h), interpolation=cv2.INTER_LINEAR)
        if scene.drawn and scene.squared:
            for pitch, shade, px in ((5.0, 0.80, 0.22), (50.0, 0.62, 0.4)):
                for axis, size in ((1, w), (0, h)):
                    for mm in np.arange(3.1, size * self.cell, pitch):
                        a = int(mm / self.cell)
                        part = (
                            out[:, a : a + max(1, round(px / self.cell))]
                            if axis
                            else out[a : a + max(1, round(px / self.cell)), :]
                        )
                        part[...] = (part * np.array([1 - (1 - shade) * 0.35, 1 - (1 - shade) * 0.7, shade])).astype(
                            np.uint8
                        )
        return out

    def _cut(self, scene: Scene) -> None:
        paper = np.array([0.22, 0.33, 0.42]) if scene.dark_paper else np.array([0.80, 0.84, 0.85])
        for one in scene.pieces:
            cells = self.at(one.outline)
            low, top = np.floor(cells.min(0)).astype(int) - 1, np.ceil(cells.max(0)).astype(int) + 2
            (x0, y0), (x1, y1) = np.maximum(low, 0), np.minimum(top, self.shape[::-1])
            if x1 <= x0 or y1 <= y0:
                continue
            part = covered(cells - [x0, y0], (y1 - y0, x1 - x0))[:, :, None]
            light = np.clip(paper * (1 + self.rng.normal(0, 0.02)) * 255, 0, 255)
            under = self.paint[y0:y1, x0:x1]
            self.paint[y0:y1, x0:x1] = np.round(under * (1 - part) + light * part)
        for line in scene.inside:
            self._line(line, 0.5, 0.25)

    def _drawn(self, scene: Scene) -> None:
        for one in scene.pieces:
            self._line(np.r_[one.outline, one.outline[:1]], 0.6, 0.75 if scene.dark_paper else 0.18)
        for line in scene.inside:
            self._line(line, 0.5, 0.7 if scene.dark_paper else 0.3)

    def _line(self, xy: Array, wide_mm: float, tone: float) -> None:
        cells = self.at(xy)
        thick = max(1, round(wide_mm / self.cell))
        cv2.polylines(
            self.paint, [np.round(cells * 16).astype(np.int32)], False, (tone * 255,) * 3, thick, cv2.LINE_AA, 4
        )

    def _card(self, card: LaidCard) -> None:
        picture, page = _card_picture(card.number), PAPERS["a4"]
        mm = 25.4 / CARD_DPI
        turn = rotation(-card.turned_rad)
        h, w = self.shape
        corners = self.at(_card_corners(card))
        (x0, y0), (x1, y1) = np.floor(corners.min(0)).astype(int) - 2, np.ceil(corners.max(0)).astype(int) + 2
        x0, y0, x1, y1 = max(x0, 0), max(y0, 0), min(x1, w), min(y1, h)
        if x1 <= x0 or y1 <= y0:
            return
        x, y = np.meshgrid(np.arange(x0, x1, dtype=np.float32), np.arange(y0, y1, dtype=np.float32))
        px, py = x * self.cell + self.box[0] - card.at[0], self.box[3] - y * self.cell - card.at[1]
        bx, by = turn[0, 0] * px + turn[0, 1] * py, turn[1, 0] * px + turn[1, 1] * py
        if card.bend_mm:  # bowed along its length: its middle stands up, and is seen shifted sideways
            bx = bx + card.bend_mm * np.sin(np.pi * np.clip(by / b.CARD_HIGH_MM, 0, 1))
        u = (bx / card.printed + BOARD_LEFT_MM) / mm - 0.5
        v = (page.height_mm - board_bottom_mm(page) - by / card.printed) / mm - 0.5
        seen = cv2.remap(picture, u.astype(np.float32), v.astype(np.float32), cv2.INTER_LINEAR, borderValue=255)
        left, low = -BOARD_LEFT_MM, -board_bottom_mm(page)
        inside = (bx >= left) & (by >= low) & (bx < left + page.width_mm) & (by < low + page.height_mm)
        tone = (0.05 + 0.82 * (seen.astype(np.float32) / 255)) * 255
        self.paint[y0:y1, x0:x1][inside] = tone[inside][:, None]

    def _hand(self) -> None:
        h, w = self.shape
        skin = (0.30 * 255, 0.42 * 255, 0.62 * 255)
        size = int(70 / self.cell)
        cv2.ellipse(self.paint, (int(w * 0.02), int(h * 0.985)), (int(size * 1.2), size), 30, 0, 360, skin, -1)
        for k in range(4):
            tip = (int(w * 0.02 + size * (1.25 - 0.1 * k)), int(h * 0.985 - size * (0.2 + 0.3 * k)))
            cv2.line(self.paint, (int(w * 0.02), int(h * 0.985)), tip, skin, int(size * 0.28))


class _Creases:
    """Height of the paper over the table, in mm, and how it leans."""

    def __init__(self, look: Look, box: tuple[float, float, float, float]) -> None:
        rng = np.random.default_rng(look.seed + 991)
        self.rows = [
            (rng.uniform(box[0], box[2]), rng.uniform(box[1], box[3]), rng.uniform(0, np.pi),
             rng.uniform(0.4, 1.0) * look.crease_mm, rng.uniform(5.0, 16.0))
            for _ in range(look.creases)
        ]  # fmt: skip

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
    table = _Table(scene, look, cell, box)
    table.paint = cv2.GaussianBlur(table.paint, (0, 0), 0.35 * px_mm / cell)
    creases = _Creases(look, extent)
    out = np.empty((camera.high, camera.wide, 3), np.uint8)
    light = _Light(look, extent)
    rng = np.random.default_rng(look.seed)
    pad = int(4 * look.blur_px + 2)
    for top in range(0, camera.high, 512):
        low, high = top - pad, min(top + 512, camera.high) + pad
        x, y = camera.table_of(low, high)
        h, hx, hy = creases.height(x, y)
        ex, ey, ez = camera.eye.astype(np.float32)
        shade = light.at(x, y) * (1 + 0.5 * (hx * light.way[0] + hy * light.way[1]))
        if creases.rows:
            x, y = x + h / ez * (ex - x), y + h / ez * (ey - y)
        u, v = (x - np.float32(box[0])) / np.float32(cell), (np.float32(box[3]) - y) / np.float32(cell)
        seen = cv2.remap(table.paint, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).astype(np.float32) / 255
        seen *= np.clip(shade, 0, None)[:, :, None]
        if look.blur_px:
            seen = cv2.GaussianBlur(seen, (0, 0), look.blur_px)
        seen = seen[pad : high - low - pad]
        seen = np.power(np.clip(seen, 0, 1), np.float32(1 / GAMMA))
        seen += rng.standard_normal(seen.shape, dtype=np.float32) * np.float32(look.noise)
        out[top : top + len(seen)] = np.clip(seen * 255 + 0.5, 0, 255)
    return out, camera


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
