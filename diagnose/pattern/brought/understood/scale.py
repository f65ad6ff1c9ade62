"""The scale of a drawing checked against a length the maker knows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import permutations

from diagnose.errors import FitError, quoted
from diagnose.pattern.brought.understood.proposal import Proposed
from diagnose.pattern.in_words import piece_quoted
from diagnose.pattern.measure import bounds, edge_length
from diagnose.units import INCH_MM, Unit, both, read_length

__all__ = ["SCALE_TOL_RATIO", "check_scale"]

SCALE_TOL_RATIO = 0.005
"""A drawing may be this much off a length measured with a tape or ruler."""

MISTAKE_TOL_RATIO = 0.015
_SIZE_OF: Mapping[str, float] = {
    "mm": 1.0, "cm": 10.0, "inches": INCH_MM, "pixels (96 to the inch)": INCH_MM / 96,
    "points (72 to the inch)": INCH_MM / 72,
}  # fmt: skip
_MISTAKES = (
    *((_SIZE_OF[read] / _SIZE_OF[drawn], f"it is drawn in {drawn} and was read as {read}")
      for drawn, read in permutations(_SIZE_OF, 2)),
    (90 / 96, "it was drawn with 90 pixels to the inch and read with 96, as some older drawing programs do"),
    (96 / 90, "it was drawn with 96 pixels to the inch and read with 90, as some older drawing programs do"),
    (1 / 2, "it is drawn at half size"),
    (2.0, "it is drawn at twice its size"),
)  # fmt: skip
"""How many times as large a drawing comes out by each mistake that may be made of its unit."""


def check_scale(pieces: Sequence[Proposed], known: str, unit: Unit, unit_mm: float) -> str:
    """What the drawing measures there, as a sentence.

    Args:
        pieces: the pieces, named.
        known: ``NAME=LENGTH``, where NAME is an edge (``front.side``, or ``side`` where only one is called so) or a
            piece, whose height it then is.
        unit: the unit of a length without one.
        unit_mm: what one unit of the drawing was taken for.

    Raises:
        FitError: when there is no such edge or piece, or it differs by more than `SCALE_TOL_RATIO`; the sentence gives
            the ratio and the mistake of unit that would explain it.
    """
    name, equals, text = known.rpartition("=")
    name = name.strip()
    if not equals or not name:
        do = "Write it like 'front.side=9 1/2 in'."
        raise FitError.of("--length", f"{quoted(known)} gives no length.", do, code="no-value")
    stated = read_length(text.strip(), "--length", unit)
    if stated <= 0.0:
        what = f"{quoted(text.strip())} is no length to check by."
        raise FitError.of("--length", what, "Give one over 0.", code="not-a-length")
    what, measured = _measured(pieces, name)
    ratio = measured / stated
    if abs(ratio - 1.0) <= SCALE_TOL_RATIO:
        return f"Scale checked: {what} measures {both(measured, unit)}, as stated."
    drawn, wanted = both(measured, unit), both(stated, unit)
    says = f"{what} measures {drawn} in the drawing, but you state {wanted}: {ratio:.4g} times."
    do, typed = _remedy(ratio, unit_mm)
    raise FitError.of("--length", says, do, typed=typed, code="wrong-scale")


def _remedy(ratio: float, unit_mm: float) -> tuple[str, str]:
    """What to do about a drawing that is so many times too large, and what to write where a mistake of unit tells."""
    near = [(factor, why) for factor, why in _MISTAKES if abs(ratio / factor - 1.0) <= MISTAKE_TOL_RATIO]
    if not near:
        return "No mistake of unit explains it: measure again, or look whether the drawing was stretched.", ""
    factor, why = min(near, key=lambda found: abs(ratio / found[0] - 1.0))
    return "", f"Likely {why}. If so, write this in a labels file: scale: {unit_mm / factor:.6g} mm"


def _measured(pieces: Sequence[Proposed], name: str) -> tuple[str, float]:
    """What is measured, in words, and how long it is."""
    for one in pieces:
        if name in _names(one):
            return f"the height of {piece_quoted(one.piece.name)}", bounds(one.piece).high
    found = [
        (f"{one.piece.name}.{edge.name}", edge_length(edge))
        for one in pieces for edge in one.piece.edges
        if name in (edge.name, *(f"{piece}{mark}{edge.name}" for piece in _names(one) for mark in "./"))
    ]  # fmt: skip
    if len(found) == 1:
        return f"“{found[0][0]}”", found[0][1]
    known = ", ".join(f"{one.piece.name}.{edge.name}" for one in pieces[:12] for edge in one.piece.edges)
    if found:
        what = f"Several edges are called {quoted(name)}."
        raise FitError.of("--length", what, f"Name one of: {known}.", code="name-doubled")
    what = f"The drawing has no edge or piece {quoted(name)}."
    raise FitError.of("--length", what, f"It has: {known}.", code="no-such-name")


def _names(one: Proposed) -> tuple[str, ...]:
    return (one.piece.name, *one.outline.names)
