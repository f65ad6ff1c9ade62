"""Photographs as strangers take them: each kind by name and number, to be read within what is said or be refused."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from msgspec.structs import replace
from painting import LaidCard, Scene
from patterns_known import known_patterns
from rendering import Look, scene_of

from diagnose.pattern.brought.photo.chequers import CARD_HIGH_MM, CARD_WIDE_MM
from diagnose.pattern.outline import Pattern

Taken = tuple[Scene, Look]
PATTERNS = ("underarm-panels", "invented-7", "invented-1", "invented-12", "invented-2")


def strange(kind: str, number: int, megapixels: float = 5.0) -> tuple[Pattern, Scene, Look]:
    """The pattern, what lies on the table, and how it is taken."""
    rng = np.random.default_rng(900 + number)
    pattern = known_patterns()["invented-7" if kind == "on the piece" else PATTERNS[number % len(PATTERNS)]]()
    scene = scene_of(pattern, 40 + number, cards=2 if kind in ("two sizes", "one of two lifted") else 1)
    look = Look(
        megapixels=megapixels, tilt_deg=float(rng.uniform(3, 28)), around_deg=float(rng.uniform(0, 360)),
        k1=float(rng.uniform(-0.1, 0.1)), focal=float(rng.uniform(0.68, 0.85)), seed=50 + number,
        shadow=0.35 * (number % 2),
    )  # fmt: skip
    if kind == "on the piece":
        pattern = replace(pattern, pieces=(replace(pattern.pieces[0], levels={}),), seams=())
    return pattern, *KINDS[kind](scene, look, rng)


def _cards(scene: Scene, **more: float) -> Scene:
    return replace(scene, cards=tuple(replace(card, **more) for card in scene.cards))


def _covered(scene: Scene, look: Look, rng: np.random.Generator) -> Taken:
    x, y = scene.cards[0].at
    wide, high = CARD_WIDE_MM * rng.uniform(0.25, 0.6), CARD_HIGH_MM * rng.uniform(0.25, 0.6)
    a, o = x + rng.choice([-20.0, CARD_WIDE_MM + 20 - wide]), y + rng.choice([-20.0, CARD_HIGH_MM + 20 - high])
    return replace(scene, things=(np.array([(a, o), (a + wide, o), (a + wide, o + high), (a, o + high)]),)), look


def _over_the_card(scene: Scene, look: Look, rng: np.random.Generator) -> Taken:
    by = scene.cards[0].at[0] - max(float(piece.outline[:, 0].max()) for piece in scene.pieces)
    card = scene.cards[0]
    return replace(
        scene, over_cards=True, cards=(replace(card, at=(card.at[0] - by - rng.uniform(12, 40), card.at[1])),)
    ), look


def _on_the_piece(scene: Scene, look: Look, rng: np.random.Generator) -> Taken:
    piece = scene.pieces[0]
    large = (piece.outline - (piece.outline.min(0) + piece.outline.max(0)) / 2) * [4.2, 2.0]
    at = (float(rng.uniform(-150, -100)), float(rng.uniform(-150, -110)))
    laid = replace(piece, outline=large, turned_rad=0.0, shift=(0.0, 0.0))
    return replace(scene, pieces=(laid,), cards=(LaidCard(1, at, float(rng.uniform(-0.1, 0.1))),)), look


def _two_sizes(scene: Scene, look: Look, rng: np.random.Generator) -> Taken:
    first, *rest = scene.cards
    return replace(scene, cards=(first, *(replace(c, printed=float(rng.uniform(0.95, 0.992))) for c in rest))), look


def _one_lifted(scene: Scene, look: Look, rng: np.random.Generator) -> Taken:
    first, *rest = scene.cards
    return replace(scene, cards=(first, *(replace(card, lifted_mm=float(rng.uniform(2, 6))) for card in rest))), look


def _glare(scene: Scene, look: Look, rng: np.random.Generator) -> Taken:
    x, y = scene.cards[0].at
    spot = (
        x + float(rng.uniform(0, CARD_WIDE_MM)),
        y + float(rng.uniform(0, CARD_HIGH_MM)),
        float(rng.uniform(25, 90)),
    )
    return scene, replace(look, glare=spot)


def _screen(scene: Scene, look: Look, rng: np.random.Generator) -> Taken:
    left, top, right, bottom = (float(v) for v in rng.uniform(0.0, 0.12, 4))
    crop = (left, top, 1 - right, 1 - bottom)
    return scene, replace(look, margin=0.16, cropped=crop, saved_px=2400, quality=75)


def _crossing(scene: Scene, look: Look, rng: np.random.Generator) -> Taken:
    outline = scene.pieces[int(rng.integers(len(scene.pieces)))].outline
    x, y = outline[int(rng.integers(len(outline)))]
    creases, high = int(rng.integers(2, 4)), float(rng.uniform(0.3, 0.8))
    tilt = float(rng.uniform(0, 40))
    return scene, replace(look, tilt_deg=tilt, creases=creases, crease_mm=high, crossing=(float(x), float(y)))


KINDS: dict[str, Callable[[Scene, Look, np.random.Generator], Taken]] = {
    "card covered": _covered,
    "card curled": lambda s, k, r: (_cards(s, curl_mm=float(r.uniform(1, 12))), k),
    "card lifted": lambda s, k, r: (_cards(s, lifted_mm=float(r.uniform(2, 5))), k),
    "one of two lifted": _one_lifted,
    "two sizes": _two_sizes,
    "sharpened": lambda s, k, r: (s, replace(k, sharpened=float(r.uniform(0.5, 2)), halo=float(r.uniform(0.1, 0.4)))),
    "moved": lambda s, k, r: (s, replace(k, moved_px=float(r.uniform(2, 12)))),
    "JPEG 30": lambda s, k, r: (s, replace(k, quality=30)),
    "screenshot": _screen,
    "over the card": _over_the_card,
    "on the piece": _on_the_piece,
    "cloth of checks": lambda s, k, r: (replace(s, ground="cloth"), k),
    "kraft on checks": lambda s, k, r: (replace(s, ground="cloth", dark_paper=True), k),
    "glare": _glare,
    "white on wood": lambda s, k, r: (replace(s, ground="wood"), k),
    "kraft on wood": lambda s, k, r: (replace(s, ground="wood", dark_paper=True), k),
    "tracing paper": lambda s, k, r: (replace(s, tracing=True), k),
    "tracing paper on wood": lambda s, k, r: (replace(s, tracing=True, ground="wood"), k),
    "crossing creases": _crossing,
}
