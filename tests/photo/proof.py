"""The proof of the photographs: rendered ones by seed, read, and held against the paper that was photographed.

Run: python tests/photo/proof.py --count 500 [--first 0] [--megapixels 3] [--out proof.jsonl] [--pictures FOLDER]. A run
that was stopped goes on where it ended when it is given the same file. Without --megapixels the pictures have 8 to 50
of them. Pictures that are kept in a folder need not be rendered again. With --joined each pattern is taken in two
photographs that have but the card in common.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from judging import judged
from msgspec.structs import replace
from painting import LaidCard
from patterns_known import known_patterns
from rendering import Look, Scene, photograph, scene_of

from diagnose.errors import FitError
from diagnose.pattern.brought.photo.chequers import CARD_HIGH_MM, CARD_WIDE_MM
from diagnose.pattern.brought.photo.photographs import read_photos
from diagnose.pattern.outline import Pattern


def drawn_by(seed: int, megapixels: float | None = None) -> tuple[str, Pattern, Scene, Look]:
    """The pattern, what lies on the table, and how it is taken."""
    rng = np.random.default_rng(seed)
    every = known_patterns()
    name = list(every)[int(rng.integers(len(every)))]
    pattern = every[name]()
    kind = rng.choice(["cut", "dark", "drawn", "squared"], p=[0.64, 0.12, 0.12, 0.12])
    more = {"drawn": kind in ("drawn", "squared"), "squared": kind == "squared", "dark_paper": kind == "dark"}
    cards = 2 if rng.random() < 0.3 else None
    scene = scene_of(pattern, seed, cards=cards, **more)
    sizes = rng.choice([8.0, 12.0, 12.0, 16.0, 24.0, 50.0], p=[0.3, 0.3, 0.2, 0.1, 0.07, 0.03])
    shadow, creases = rng.random() < 0.5, rng.random() < 0.5
    look = Look(
        megapixels=megapixels or float(sizes), tilt_deg=float(40 * rng.beta(1.2, 1.6)),
        around_deg=float(rng.uniform(0, 360)), rolled_deg=float(rng.choice([0, 90, 180, 270]) + rng.normal(0, 4)),
        focal=float(rng.uniform(0.68, 0.85)), k1=float(rng.uniform(-0.15, 0.15)),
        off_centre=(float(rng.normal(0, 0.003)), float(rng.normal(0, 0.003))), blur_px=float(rng.uniform(0.4, 1.2)),
        noise=float(rng.uniform(0.004, 0.02)), quality=int(rng.integers(80, 96)), uneven=float(rng.uniform(0, 0.35)),
        shadow=float(rng.uniform(0.2, 0.55)) if shadow else 0.0, shadow_soft_mm=float(rng.uniform(8, 30)),
        creases=int(rng.integers(1, 5)) if creases else 0, crease_mm=float(rng.uniform(0.2, 0.8)),
        hand=bool(rng.random() < 0.2), seed=seed,
    )  # fmt: skip
    return name, pattern, scene, look


def joined_by(seed: int, megapixels: float | None = None) -> tuple[str, Pattern, Scene, tuple[Look, Look]]:
    """A pattern with a card in its middle, and the two photographs that show one side of it each, and the card."""
    name, pattern, scene, look = drawn_by(seed, megapixels)
    if len(pattern.pieces) < 2:
        name, pattern = "invented-7", known_patterns()["invented-7"]()
        scene = scene_of(pattern, seed, drawn=scene.drawn, squared=scene.squared, dark_paper=scene.dark_paper)
    rng = np.random.default_rng(seed + 13)
    half = max(1, len(scene.pieces) // 2)
    left, right = (np.concatenate([one.outline for one in part]) for part in (scene.pieces[:half], scene.pieces[half:]))
    low, high = min(left[:, 1].min(), right[:, 1].min()), max(left[:, 1].max(), right[:, 1].max())
    at = (float(left[:, 0].max()) + 28.0, float(low + high - CARD_HIGH_MM) / 2.0)
    by = at[0] + CARD_WIDE_MM + 55.0 - float(right[:, 0].min())
    moved = [replace(one, outline=one.outline + np.array([by, 0.0]), shift=(one.shift[0] + by, one.shift[1]))
             for one in scene.pieces[half:]]  # fmt: skip
    scene = replace(
        scene, pieces=(*scene.pieces[:half], *moved), cards=(LaidCard(1, at, float(rng.uniform(-0.03, 0.03))),)
    )
    low, high = min(low, at[1] - 20.0) - 12.0, max(high, at[1] + CARD_HIGH_MM + 20.0) + 12.0
    views = ((float(left[:, 0].min()) - 12.0, low, at[0] + CARD_WIDE_MM + 38.0, high),
             (at[0] - 15.0, low, float(right[:, 0].max()) + by + 12.0, high))  # fmt: skip
    looks = tuple(
        replace(look, view=view, tilt_deg=float(25 * rng.random()), around_deg=float(rng.uniform(0, 360)), hand=False,
                seed=look.seed + 7 * n) for n, view in enumerate(views)
    )  # fmt: skip
    return name, pattern, scene, looks


def _picture(scene: Scene, look: Look, kept: Path | None) -> bytes:
    """The photograph, from the folder where it was kept."""
    if kept and kept.exists():
        return kept.read_bytes()
    data, _ = photograph(scene, look)
    if kept:
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_bytes(data)
    return data


def proved(
    seed: int, megapixels: float | None = None, pictures: Path | None = None, *, joined: bool = False
) -> dict[str, object]:
    """One photograph, or two that are joined by their card, rendered, read and judged."""
    if joined:
        name, pattern, scene, looks = joined_by(seed, megapixels)
    else:
        name, pattern, scene, only = drawn_by(seed, megapixels)
        looks = (only,)
    look = max(looks, key=lambda one: one.tilt_deg)
    data = [
        (_picture(scene, one, pictures and pictures / f"{'joined-' * joined}{one.seed}-{one.megapixels:.0f}.jpg"),
         f"seed-{one.seed}.jpg") for one in looks
    ]  # fmt: skip
    row: dict[str, object] = {
        "seed": seed, "pattern": name, "megapixels": round(look.megapixels, 1), "tilt": round(look.tilt_deg, 1),
        "cards": len(scene.cards), "k1": round(look.k1, 3), "creases": look.creases, "shadow": look.shadow > 0,
        "hand": look.hand, "kind": "squared" if scene.squared else "drawn" if scene.drawn
        else "dark" if scene.dark_paper else "cut",
    }  # fmt: skip
    wall, used = time.perf_counter(), time.process_time()
    try:
        found = read_photos(data)
    except FitError as error:
        return row | {"refused": str(error), "why": error.mistakes[0].what[:60]}
    row |= {"seconds": round(time.perf_counter() - wall, 2), "cpu": round(time.process_time() - used, 2)}
    result = judged(scene, pattern, found)
    off = result.every
    return row | {
        "said": round(found.truth.worst_mm, 3), "card": round(found.truth.card_mm, 3), "lost": result.lost,
        "found": result.pieces_found, "median": round(float(np.median(off)), 3),
        "p95": round(float(np.percentile(off, 95)), 3), "worst": round(float(off.max()), 3),
        "girth": {station: round(value, 3) for station, value in result.girth_off_mm.items()},
        "points": [round(float(value), 3) for value in np.sort(off)[:: max(1, len(off) // 100)]],
        "cubics": sum(len(stroke.segments) for stroke in found.sketch.strokes if stroke.kind == "outline"),
    }  # fmt: skip


def summed(rows: list[dict[str, object]]) -> str:
    """The figures of a run."""
    read = [row for row in rows if "said" in row]
    refused = [row for row in rows if "refused" in row]
    if not read:
        return f"{len(rows)} photographs, none accepted"
    points = np.concatenate([np.array(row["points"]) for row in read])
    worst, said = np.array([row["worst"] for row in read]), np.array([row["said"] for row in read])
    girths = np.array([abs(value) for row in read for value in row["girth"].values()])  # type: ignore[attr-defined]
    seconds = np.array([row["cpu"] for row in read if 11 < float(str(row["megapixels"])) < 13] or [np.nan])
    why = Counter(" ".join(w for w in str(row["why"]).split() if not w[0].isdigit())[:40] for row in refused)
    lines = [
        f"{len(rows)} photographs, {len(read)} accepted, {len(refused)} refused",
        *(f"  {count}: {what} …" for what, count in why.most_common()),
        f"outline, all points: median {np.median(points):.3f} mm, 95 of 100 {np.percentile(points, 95):.3f} mm",
        f"outline, each photograph's worst point: median {np.median(worst):.2f} mm, "
        f"95 of 100 {np.percentile(worst, 95):.2f} mm, worst {worst.max():.2f} mm",
        f"said: median {np.median(said):.2f} mm; worse than said in {int((worst > said).sum())}, nearest to it "
        f"{float((worst / said).max()):.2f} of what was said",
        f"girth: within 1/16 in in {int((girths <= 25.4 / 16).sum())} of {len(girths)}, "
        f"worst {girths.max(initial=0):.2f} mm",
        f"pieces lost in {sum(bool(row['lost']) for row in read)}",
        *_parted(rows),
        f"12 megapixels: median {np.nanmedian(seconds):.1f} s of processor, most {np.nanmax(seconds):.1f} s",
    ]
    return "\n".join(lines)


def _parted(rows: list[dict[str, object]]) -> list[str]:
    """Of each kind of photograph how many, and how many of them accepted, with their worst places."""
    by: dict[str, list[dict[str, object]]] = {}
    for row in rows:
        tilt, k1 = float(str(row["tilt"])), abs(float(str(row["k1"])))
        for what in (
            str(row["kind"]), f"{row['megapixels']} megapixels", f"{row['cards']} cards",
            f"tilt {10 * int(tilt // 10)}° to {10 * int(tilt // 10) + 10}°",
            f"k1 {0.05 * int(k1 / 0.05):.2f} to {0.05 * int(k1 / 0.05) + 0.05:.2f}",
            "creases" if row["creases"] else "no crease", *(name for name in ("shadow", "hand") if row[name]),
        ):  # fmt: skip
            by.setdefault(what, []).append(row)
    out = ["kind, photographs, accepted; worst place: median, 95 of 100, worst (mm)"]
    for what, part in sorted(by.items()):
        worst = np.array([row["worst"] for row in part if "said" in row] or [np.nan], float)
        figures = ", ".join(f"{value:.2f}" for value in (*np.percentile(worst, (50, 95)), worst.max()))
        out.append(f"{what:22s} {len(part):4d} {sum('said' in row for row in part):4d}  {figures}")
    return out


def main() -> None:
    """Run the proof."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--megapixels", type=float)
    parser.add_argument("--out", type=Path)
    parser.add_argument("--pictures", type=Path)
    parser.add_argument("--joined", action="store_true")
    told = parser.parse_args()
    cv2.setNumThreads(1)
    rows = []
    if told.out and told.out.exists():
        rows = [json.loads(line) for line in told.out.read_text().splitlines()]
    done = {row["seed"] for row in rows}
    for seed in range(told.first, told.first + told.count):
        if seed in done:
            continue
        row = proved(seed, told.megapixels, told.pictures, joined=told.joined)
        rows.append(row)
        if told.out:
            with told.out.open("a") as file:
                file.write(json.dumps(row) + "\n")
        print({k: v for k, v in row.items() if k != "points"}, flush=True)
    print(summed(rows))


if __name__ == "__main__":
    main()
