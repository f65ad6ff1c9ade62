"""Whether a card was printed at its size: by the rule on it as she measured it, else by the sheet that it lies on.

Paper is A4 or Letter, whatever was printed on it; what she measured wins.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from diagnose.errors import FitError, quoted
from diagnose.pattern.brought.photo.chequers import CARD_HIGH_MM, CARD_WIDE_MM, RULER_ACROSS_MM, RULER_MM, opencv
from diagnose.pattern.brought.photo.solving import Lies, placed
from diagnose.pattern.brought.photo.straightening import Straightened
from diagnose.units import Unit, both, read_length

__all__ = ["checked_sheets", "printed_of"]

MOST_RATIO = 1.25
SHEETS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
TRUE_RATIO = 0.006
"""What paper, a tear at its edge and the picture may differ by."""

ALIKE_RATIO = 0.005
FARTHEST_RATIO = 0.2
OUT_MM = 45.0
IN_MM = 1.5
RULE_STEP_MM = 0.25
LEAST_STEP = 0.06
RULE_STRAIGHT_MM = 0.6


def printed_of(text: str, unit: Unit) -> tuple[float, float]:
    """How many times its length the print is, across the sheet and along it.

    Args:
        text: what the rule along the sheet measures, and after a comma and a blank the line across it, where that was
            measured too: ``199 mm`` or ``199 mm, 91.5 mm``.
        unit: of lengths without one.

    Raises:
        FitError: when a length can't be read, or is no length of that rule.
    """
    parts = [part.strip() for part in text.replace(";", ", ").split(", ") if part.strip()]
    if len(parts) not in (1, 2):
        typed = "Write what the rule measures: --ruler '199 mm'."
        raise FitError.of("--ruler", f"{quoted(text)} gives no length.", typed=typed, code="no-value")
    along = _ratio(parts[0], RULER_MM, unit)
    return (along if len(parts) == 1 else _ratio(parts[1], RULER_ACROSS_MM, unit)), along


def _ratio(text: str, should_mm: float, unit: Unit) -> float:
    measured = read_length(text, "--ruler", unit)
    if not should_mm / MOST_RATIO <= measured <= should_mm * MOST_RATIO:
        what = f"“{text}” can't be the rule, which should be {both(should_mm, unit)} long."
        raise FitError.of("--ruler", what, "Measure it from the first long line to the last.", code="not-the-rule")
    return measured / should_mm


def checked_sheets(flat: Straightened, boards: Mapping[int, Lies], name: str) -> None:
    """Refuses a card whose sheet has the shape of A4 or Letter but, by the board on it, another size.

    Where no sheet's edge can be told (it lies on white, or was trimmed) nothing is said.

    Raises:
        FitError: with the scale it seems to have been printed at.
    """
    for number, lies in boards.items():
        size = _sheet_mm(flat, lies)
        if size is None:
            continue
        near = {paper: (size[0] / wide, size[1] / high) for paper, (wide, high) in SHEETS_MM.items()}
        ratio = {p: a for p, (a, z) in near.items() if abs(a / z - 1) < ALIKE_RATIO and abs(a - 1) < FARTHEST_RATIO}
        if not ratio or min(abs(a - 1) for a in ratio.values()) < TRUE_RATIO:
            continue
        paper, a = min(ratio.items(), key=lambda one: abs(one[1] - 1))
        what = (
            f"Card {number} was not printed at its size: if its sheet is {paper}, its 200 mm rule is about "
            f"{RULER_MM / a:.0f} mm long."
        )
        typed = "Measure the rule on it and give it, for example --ruler '198.5 mm'; or print it again at full size."
        raise FitError.of(name, what, typed=typed, code="printed-size")


def _sheet_mm(flat: Straightened, lies: Lies) -> tuple[float, float] | None:
    """Width and height of the card's sheet by its board; None where its edges are not plain."""
    left = _edge(flat, lies, a=(0.0, 0.0), z=(0.0, CARD_HIGH_MM), out=(-1.0, 0.0))
    right = _edge(flat, lies, a=(CARD_WIDE_MM, 0.0), z=(CARD_WIDE_MM, CARD_HIGH_MM), out=(1.0, 0.0))
    low = _edge(flat, lies, a=(0.0, 0.0), z=(CARD_WIDE_MM, 0.0), out=(0.0, -1.0))
    top = _edge(flat, lies, a=(0.0, CARD_HIGH_MM), z=(CARD_WIDE_MM, CARD_HIGH_MM), out=(0.0, 1.0))
    if left is None or right is None or low is None or top is None:
        return None
    return CARD_WIDE_MM + left + right, CARD_HIGH_MM + low + top


def _edge(
    flat: Straightened, lies: Lies, a: tuple[float, float], z: tuple[float, float], out: tuple[float, float]
) -> float | None:
    """How far beyond a side of the board its sheet ends."""
    cv = opencv()
    along = np.linspace(0.06, 0.94, 41)[:, None]
    starts = np.array(a) * (1 - along) + np.array(z) * along
    offsets = np.arange(IN_MM, OUT_MM, RULE_STEP_MM)
    spots = starts[:, None] + np.array(out) * offsets[None, :, None]
    cells = flat.cells(placed(spots.reshape(-1, 2), lies)).astype(np.float32)
    x, y = (cells[:, k].reshape(len(starts), len(offsets)) for k in (0, 1))
    light = cv.remap(flat.light, x, y, cv.INTER_LINEAR).astype(float) / 65535.0
    light /= np.maximum(np.percentile(light, 90, axis=1, keepdims=True), 1e-3)
    size = round(1.5 / RULE_STEP_MM)
    totals = np.cumsum(np.pad(light, ((0, 0), (1, 0))), axis=1)
    means = (totals[:, size:] - totals[:, :-size]) / size
    falls = means[:, :-size] - means[:, size:]
    at = offsets[size] + falls.argmax(1) * RULE_STEP_MM - RULE_STEP_MM / 2
    plain = falls.max(1) > LEAST_STEP
    if plain.mean() < 0.7:
        return None
    middle = float(np.median(at[plain]))
    # a sheet a little turned on its print slants: the median is its middle
    slant = np.polyfit(along[plain, 0], at[plain], 1)
    off = np.abs(at[plain] - np.polyval(slant, along[plain, 0]))
    return middle if float(np.median(off)) < RULE_STRAIGHT_MM else None
