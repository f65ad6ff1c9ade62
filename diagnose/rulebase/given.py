"""The facts that the program itself gives: worked out from the readings, or taken from garment, wearer and pattern.

Every other fact is a sign or a question. What is declared and is none of these can never be known.
"""

from __future__ import annotations

from diagnose.model.tryon import STATIONS

__all__ = ["GIVEN_FACTS"]

_GARMENT = (
    "style", "closure", "boning", "straps", "tabs", "tension", "seams-per-half", "panel-seam-edges", "allowance",
)  # fmt: skip
_WEARER = ("bust", "underbust", "waist", "hip", "planned-reduction", "reduction-ratio", "body-change")
_WHOLE = (
    "change-mean", "change-most", "change-least", "largest-girth-change", "gap-fall", "gap-waist-over-ends",
    "gap-ends-over-waist", "gap-spread", "gap-closed-at", "gap-average", "gap-widest", "miss-mean", "miss-most",
    "miss-size", "miss-spread", "miss-waist-apart", "miss-highest", "miss-unaltered", "done-waist",
)  # fmt: skip

GIVEN_FACTS = frozenset(
    {*_GARMENT, *_WEARER, *_WHOLE, *(f"{of}-{station}" for of in ("gap", "change", "miss") for station in STATIONS)}
)
"""The names that the program gives a value to, where it knows one."""
