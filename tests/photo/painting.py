"""The table and all that lies on it, painted as seen straight from above, in linear light."""

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
from diagnose.sheets.card import BOARD_LEFT_MM, board_bottom_mm, write_card
from diagnose.sheets.writers.paper_sizes import PAPERS

Array = NDArray[np.float64]
Box = tuple[float, float, float, float]
CARD_DPI = 254
FINE_GRAIN_MM, COARSE_GRAIN_MM = 2.5, 14.0


class Laid(Struct, frozen=True):
    """A piece on the table: its name, its outline flattened fine, and how it was laid there (turn, then shift)."""

    name: str
    outline: Array
    turned_rad: float
    shift: tuple[float, float]


class LaidCard(Struct, frozen=True):
    """A card on the table: its number, where its board's lower left corner lies, its turn, and its print's scale.

    It may be bowed, lie higher than the pattern, or curl up along its right side.
    """

    number: int
    at: tuple[float, float]
    turned_rad: float = 0.0
    printed: float = 1.0
    bend_mm: float = 0.0
    lifted_mm: float = 0.0
    curl_mm: float = 0.0


class Scene(Struct, frozen=True):
    """What lies on the table: a plain one, of wood, or with a cloth of checks; things on it cover what is beneath."""

    pieces: tuple[Laid, ...]
    cards: tuple[LaidCard, ...]
    drawn: bool = False
    squared: bool = False
    dark_paper: bool = False
    inside: tuple[Array, ...] = ()
    ground: str = ""
    tracing: bool = False
    over_cards: bool = False
    things: tuple[Array, ...] = ()


def rotation(angle: float) -> Array:
    """The matrix of a turn."""
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])


def card_corners(card: LaidCard) -> Array:
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


class Table:
    """The scene as a picture seen straight from above, in linear light."""

    def __init__(self, scene: Scene, seed: int, cell_mm: float, box: Box, *, hand: bool) -> None:
        self.cell, self.box = cell_mm, box
        self.shape = (int((box[3] - box[1]) / cell_mm), int((box[2] - box[0]) / cell_mm))
        self.rng = np.random.default_rng(seed + 77)
        self.paint = self._ground(scene)
        paint = self._drawn if scene.drawn else self._cut
        if not scene.over_cards:
            paint(scene)
        for card in scene.cards:
            self._card(card)
        if scene.over_cards:
            paint(scene)
        for thing in scene.things:
            self._thing(thing)
        if hand:
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
        if scene.ground:
            return self._wood() if scene.ground == "wood" else self._cloth()
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

    def _wood(self) -> NDArray[np.uint8]:
        """Boards of oak: streaks along them, dark gaps between."""
        h, w = self.shape
        streaks = self.rng.normal(0, 1, (max(2, int(h * self.cell / 1.2)), max(2, int(w * self.cell / 90)))).astype(
            np.float32
        )
        tone = 1 + 0.16 * cv2.resize(streaks, (w, h), interpolation=cv2.INTER_LINEAR)
        rows = np.arange(h) * self.cell % 118.0
        tone[rows < 1.6] *= 0.4
        return np.clip(tone[:, :, None] * np.array([0.09, 0.16, 0.25]) * 255, 0, 255).astype(np.uint8)

    def _cloth(self) -> NDArray[np.uint8]:
        """Checks of 14 mm, blue and dark blue and pale."""
        h, w = self.shape
        down, along = (np.arange(n) * self.cell % 28.0 < 14.0 for n in (h, w))
        size = down[:, None].astype(int) + along[None]
        tones = np.array([[0.42, 0.36, 0.33], [0.26, 0.13, 0.10], [0.17, 0.05, 0.03]])
        return (tones[size] * 255).astype(np.uint8)

    def _thing(self, outline: Array) -> None:
        cv2.fillPoly(self.paint, [np.round(self.at(outline) * 16).astype(np.int32)], (20, 26, 34), cv2.LINE_AA, 4)

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
            if scene.tracing:
                light = 0.5 * light + 0.4 * under
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
        corners = self.at(card_corners(card))
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
