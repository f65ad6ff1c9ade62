"""What of a garment is told in two places, by its maker and by its pattern, and not alike.

Silence is no contradiction: straps, a sleeve or a bone may be made that is not drawn.
"""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.model.tryon import Garment
from diagnose.pattern.measure import seams_per_half
from diagnose.pattern.outline import Pattern, lips_of

__all__ = ["gussets_of", "told_otherwise"]

_CLOSES = {"front": "in front", "back": "behind", "both": "in front and behind"}
LEAST_TAB_SLITS = 2


def told_otherwise(pattern: Pattern, garment: Garment) -> tuple[str, ...]:
    """A sentence for each fact of the garment that its pattern shows to be otherwise."""
    return tuple(f"{said}: put right the one that is wrong." for said in _differences(pattern, garment))


def _differences(pattern: Pattern, garment: Garment) -> Iterator[str]:
    said = "The garment is said to"
    if garment.closure not in (None, pattern.closure):
        yield f"{said} close {_CLOSES[str(garment.closure)]}, and the pattern closes {_CLOSES[pattern.closure]}"
    for fact, is_told, word in (
        ("straps", garment.straps == "none", "strap"), ("a stomacher", garment.stomacher is False, "stomacher"),
        ("sleeves", garment.sleeves is False, "sleeve"),
    ):  # fmt: skip
        drawn = _named(pattern, word)
        if is_told and drawn:
            yield f"{said} have no {fact.removeprefix('a ')}, and the pattern has “{drawn}”"
    slits = _open_slits(pattern)
    if garment.tabs == "none" and slits >= LEAST_TAB_SLITS:
        yield f"{said} have no tabs, and the pattern has {slits} open slits from the lower edge of each half"
    if garment.tabs in ("plain", "boned") and not any(piece.slits for piece in pattern.pieces):
        yield f"{said} have tabs, and the pattern has no slit from its lower edge"
    drawn = gussets_of(pattern)
    if garment.gussets is not None and drawn and garment.gussets != drawn:
        yield f"{said} have gussets: {garment.gussets}, and the pattern has: {drawn}"
    if garment.boning == "none" and any(piece.channels for piece in pattern.pieces):
        yield f"{said} have no bones, and the pattern has channels for them"
    seams = seams_per_half(pattern)
    if garment.seams_per_half not in (None, seams):
        yield f"{said} have {garment.seams_per_half} seams in each half, and the pattern has {seams}"


def _named(pattern: Pattern, word: str) -> str:
    """The piece, or the mark on one, whose name holds the word; empty for none."""
    names = [piece.name for piece in pattern.pieces]
    names += [mark for piece in pattern.pieces for mark in piece.landmarks]
    return next((name for name in names if word in name.casefold()), "")


def _open_slits(pattern: Pattern) -> int:
    """How many slits from the lower edge nothing is set into."""
    filled = {lips for _, lips, _ in pattern.in_slits}
    return sum(
        slit.line[-1].y > slit.line[0].y and lips_of(piece.name, slit.name) not in filled
        for piece in pattern.pieces for slit in piece.slits
    )  # fmt: skip


def gussets_of(pattern: Pattern) -> str:
    """Where gores are set into slits: bust, hip or both; empty for nowhere."""
    filled = {lips for _, lips, _ in pattern.in_slits}
    from_top = {
        slit.line[-1].y < slit.line[0].y
        for piece in pattern.pieces for slit in piece.slits if lips_of(piece.name, slit.name) in filled
    }  # fmt: skip
    return "both" if len(from_top) > 1 else "bust" if True in from_top else "hip" if from_top else ""
