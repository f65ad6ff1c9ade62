"""Small patterns in the stored form, and a zoo of awkward outlines."""

from __future__ import annotations

import copy
from typing import Any


def rectangle_json() -> dict[str, Any]:
    piece = panel_json("panel", 0, 200, 0, 300)
    piece["levels"] = {"top": [[0, 280], [200, 280]], "waist": [[0, 100], [200, 100]], "bottom": [[0, 0], [200, 0]]}
    return pattern_json(piece)


def two_panels_json() -> dict[str, Any]:
    front, back = panel_json("front", 0, 120, -100, 200), panel_json("back", 150, 250, -100, 200)
    front["edges"][3]["role"], back["edges"][1]["role"] = "opening", "lacing"
    front["channels"] = [{"name": "f1", "line": [[60, -90], [60, 190]], "width": 9.5}]
    front["slits"] = [{"name": "s1", "line": [[80, -100], [80, -20]]}]
    front["landmarks"] = {"bust-point": [90, 150]}
    front["notches"] = [{"edge": "back-edge", "at": 100}]
    front["grain"] = [[40, -50], [40, 150]]
    seam = {"name": "side", "a": ["front", "back-edge"], "b": ["back", "front-edge"], "ease": 0}
    return {**pattern_json(front, back), "seams": [seam]}


def pattern_json(*pieces: dict[str, Any]) -> dict[str, Any]:
    head = {"format": "stays-pattern", "version": 1, "name": "trial", "closure": "back"}
    return {**head, "pieces": list(pieces), "seams": []}


def panel_json(name: str, left: float, right: float, bottom: float, top: float) -> dict[str, Any]:
    return {
        "name": name,
        "cut": "pair",
        "side": "both",
        "start": [left, bottom],
        "edges": [
            {"name": "hem", "role": "bottom", "path": [["L", right, bottom]]},
            {"name": "back-edge", "role": "seam", "path": [["L", right, top]]},
            {"name": "top-edge", "role": "top", "path": [["L", left, top]]},
            {"name": "front-edge", "role": "seam", "path": [["L", left, bottom]]},
        ],
        "levels": {"waist": [[left, 0], [right, 0]]},
    }


def zoo() -> dict[str, dict[str, Any]]:
    """Sound outlines that trip careless geometry."""
    lens = {
        "name": "lens", "cut": "single", "side": "left", "start": [0, 0],
        "edges": [
            {"name": "lower", "role": "bottom", "path": [["C", 40, -60, 60, -60, 100, 0]]},
            {"name": "upper", "role": "top", "path": [["C", 60, 60, 40, 60, 0, 0]]},
        ],
        "levels": {"waist": [[-5, 0], [105, 0]], "top": [[-5, 30], [105, 30]]},
    }  # fmt: skip
    comb = panel_json("comb", 0, 100, 0, 100)
    comb["edges"][2]["path"] = [
        ["L", 80, 100], ["L", 80, 20], ["L", 60, 20], ["L", 60, 100], ["L", 40, 100], ["L", 40, 20], ["L", 20, 20],
        ["L", 20, 100], ["L", 0, 100],
    ]  # fmt: skip
    comb["levels"] = {"waist": [[0, 10], [100, 10]], "underbust": [[0, 20], [100, 20]], "top": [[0, 50], [100, 50]]}
    bowed = panel_json("bow-backed", 0, 100, 0, 200)
    bowed["edges"][1]["path"] = [["C", 190, 60, 10, 140, 100, 200]]
    bowed["levels"] = {"waist": [[0, 100], [40, 100], [80, 110], [150, 110]]}
    thin = panel_json("thin", 0, 0.4, 0, 300)
    thin["levels"] = {"waist": [[-1, 150], [2, 150]]}
    far = panel_json("far", 90_000, 90_100, 80_000, 80_100)
    far["levels"] = {"waist": [[89_990, 80_050], [90_110, 80_050]]}
    many = panel_json("many", 0, 1000, 0, 100)
    many["edges"][0]["path"] = [["L", x / 2, (x % 2) * 0.5] for x in range(1, 2000)] + [["L", 1000, 0]]
    many["levels"] = {"waist": [[0, 50], [1000, 50]]}
    pieces = {"lens": lens, "comb": comb, "bow-backed": bowed, "thin": thin, "far away": far, "many steps": many}
    return {name: pattern_json(copy.deepcopy(piece)) for name, piece in pieces.items()}
