"""Contact sheets: every alteration drawn on a pattern, the old line dashed and the new one black, to be looked at.

``python tests/plan/alteration_pictures.py PATTERN AMOUNT OUT.html``, such as ``boned-bodies.json "1/2 in" sheet.html``.
"""

# ruff: noqa: E402 - the folders of the tests are put on the path before what lies in them is imported
from __future__ import annotations

import html
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "pattern"), str(Path(__file__).parents[2])]

from alteration_table import asked, bundled, stored
from soundness import outline_of

from diagnose.pattern.form.writer import to_json
from diagnose.plan.drawing import draw
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loading import load_rulebase

OLD, NEW = 'stroke="#c66" stroke-dasharray="4 3"', 'stroke="black"'
LEVEL, BONE, SLIT = 'stroke="#39c" stroke-width="0.6"', 'stroke="#aaa" stroke-width="0.6"', 'stroke="#080"'
GAP_MM = 20.0


def line(points: Any, style: str) -> str:
    path = " ".join(f"{x:.2f},{-y:.2f}" for x, y in points)
    return f'<polyline fill="none" points="{path}" {style}/>'


def beside(pieces: list[Any]) -> dict[str, float]:
    """How far each piece is shifted so that none lies on another."""
    at, found = 0.0, {}
    for piece in pieces:
        low, _, high, _ = outline_of(piece).bounds
        found[piece["name"]] = at - low
        at += high - low + GAP_MM
    return found


def picture(before: Any, after: Any) -> str:
    shown = [piece for piece in after["pieces"] if piece["side"] != "right"]
    shifts = beside(shown)
    old = {piece["name"]: piece for piece in before["pieces"]}
    parts, boxes = [], []
    for piece in shown:
        by, was = shifts[piece["name"]], old.get(piece["name"].removesuffix("-left"))
        rings = [(one, style) for one, style in ((was, OLD), (piece, NEW)) if one]
        drawn = [(outline_of(one).exterior.coords, style) for one, style in rings]
        drawn += [(level, LEVEL) for level in piece.get("levels", {}).values()]
        drawn += [(c["line"], BONE) for c in piece.get("channels", [])]
        drawn += [(s["line"], SLIT) for s in piece.get("slits", [])]
        parts += [line([(x + by, y) for x, y in points], style) for points, style in drawn]
        boxes += [outline_of(one).bounds for one, _ in rings]
    width = max(shifts[p["name"]] + outline_of(p).bounds[2] for p in shown)
    low, high = min(b[1] for b in boxes), max(b[3] for b in boxes)
    return (
        f'<svg viewBox="-10 {-high - 10:.0f} {width + 20:.0f} {high - low + 20:.0f}" width="460">{"".join(parts)}</svg>'
    )


def cells(base: RuleBase, pattern: str, amount: str) -> Iterator[str]:
    for altered in base.entries.alterations.values():
        for name, item in asked(altered, amount, "both"):
            drawn = draw(item, bundled(pattern), base.settings)
            if drawn.operations and drawn.pattern is not None:
                shown = picture(stored(pattern), json.loads(json.dumps(to_json(drawn.pattern))))
                yield f"<figure><figcaption>{html.escape(name)}</figcaption>{shown}</figure>"


if __name__ == "__main__":
    _, of_pattern, by_amount, out = sys.argv
    made = list(cells(load_rulebase(), of_pattern, by_amount))
    style = (
        "<style>body{display:flex;flex-wrap:wrap;font:12px sans-serif}figure{margin:4px;border:1px solid #ccc}</style>"
    )
    Path(out).write_text(f"<!doctype html><title>{of_pattern}</title>{style}{''.join(made)}", encoding="utf-8")
