"""The last of bringing a pattern in: levels and seams found, everything checked as a stored pattern is."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.pattern.brought.understood.applying import draft, lowest_mm
from diagnose.pattern.brought.understood.levels import drawn_level, lie_level, presumed_heights
from diagnose.pattern.brought.understood.proposal import Proposal, Proposed
from diagnose.pattern.brought.understood.seams import presumed_seams
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import STATIONS, Pattern, Piece, Point, Seam
from diagnose.units import Unit, both

__all__ = ["finished", "finished_draft"]

Levels = dict[str, tuple[Point, ...]]


def finished(proposal: Proposal, where: str, unit: Unit = "in") -> tuple[Pattern, tuple[str, ...]]:
    """The checked pattern of a proposal, and every sentence on what was presumed.

    Args:
        proposal: with its labels already laid over it.
        where: the drawing's name, for messages.
        unit: the unit of lengths in the sentences.

    Raises:
        FitError: with what can't be presumed and the draft of a labels file; or with what is wrong with the pattern.
    """
    pieces, seams, said = _sewn(proposal)
    unsure = [one.unsure for one in proposal.pieces if one.unsure is not None]
    levels, told = ({}, ()) if unsure else _levels(proposal, [one.piece for one in pieces], unit)
    mistakes = unsure or _missing(proposal, pieces, levels)
    if mistakes:
        crossed = [wrong for one in pieces for wrong in piece_mistakes(one.piece, f"{where}, piece {one.piece.name}")]
        if crossed:
            raise FitError(crossed)
        text = f"This draft may be used, corrected, as a file given with --labels:\n\n{finished_draft(proposal)}"
        raise FitError([*mistakes, Mistake(where, "Not everything needed can be presumed from the drawing.", text)])
    made = tuple(replace(one.piece, levels=levels.get(one.piece.name, one.piece.levels)) for one in pieces)
    pattern = Pattern(proposal.name, proposal.closure, made, seams, proposal.extra)
    return read_pattern(to_json(pattern), where), (*proposal.said, *told, *said)


def finished_draft(proposal: Proposal) -> str:
    """The draft of a labels file, with the levels and seams that would be presumed."""
    pieces, seams, _ = _sewn(proposal)
    found = presumed_heights([one.piece for one in pieces])
    low = lowest_mm(proposal)
    heights = {"waist": found["waist"] - low} if "waist" in found else {}
    return draft(replace(proposal, pieces=pieces, heights_mm={**heights, **proposal.heights_mm}), seams)


def _sewn(proposal: Proposal) -> tuple[tuple[Proposed, ...], tuple[Seam, ...], tuple[str, ...]]:
    if proposal.seams is not None:
        return proposal.pieces, proposal.seams, ()
    pieces, seams, said = presumed_seams(proposal.pieces)
    if seams:
        pairs = ", ".join(f"{'/'.join(seam.a)} to {'/'.join(seam.b)}" for seam in seams)
        said = (f"Presumed to be sewn, their lengths being alike: {pairs}.", *said)
    return pieces, seams, said


def _levels(proposal: Proposal, pieces: Sequence[Piece], unit: Unit) -> tuple[dict[str, Levels], tuple[str, ...]]:
    """The levels of each piece by name, and what was presumed of them."""
    low = lowest_mm(proposal)
    told = {station: low + height for station, height in proposal.heights_mm.items()}
    if all(one.is_stored for one in proposal.pieces):
        return {piece.name: _with_heights(piece, told, set(told)) for piece in pieces}, ()
    if lie_level(pieces):
        presumed = presumed_heights(pieces)
        found = {piece.name: _with_heights(piece, {**presumed, **told}, set(told)) for piece in pieces}
    else:
        presumed = {}
        found = {p.name: _with_heights(p, {**presumed_heights([p]), **told}, set(told)) for p in pieces}
    if all("waist" in piece.levels for piece in pieces) or "waist" in told:
        return found, ()
    if "waist" not in presumed:
        return found, ("The pieces do not lie at one height: each was given levels of its own.",)
    up = both(presumed["waist"] - low, unit)
    waist = f"The waist was presumed at the narrowest place, {up} up from the lowest point"
    return found, (f"{waist}; top and bottom where every piece is still whole.",)


def _with_heights(piece: Piece, heights: dict[str, float], told: set[str]) -> Levels:
    """The piece's levels: told heights before its own, its own before presumed ones."""
    drawn = {station: line for station, height in heights.items() if (line := drawn_level(piece, height))}
    levels = {**drawn, **piece.levels, **{station: drawn[station] for station in told if station in drawn}}
    return {station: levels[station] for station in STATIONS if station in levels}


def _missing(proposal: Proposal, pieces: Sequence[Proposed], levels: dict[str, Levels]) -> list[Mistake]:
    """A mistake where no waist could be found."""
    if all(one.is_stored for one in pieces):
        return []
    high = max(bounds(one.piece).top - bounds(one.piece).bottom for one in pieces)
    bare = [
        one for one in pieces
        if "waist" not in levels.get(one.piece.name, {})
        and bounds(one.piece).top - bounds(one.piece).bottom > high / 2.0
    ]  # fmt: skip
    if not bare or (len(bare) < len(pieces) and lie_level([one.piece for one in pieces])):
        return []
    names = ", ".join(f"“{one.piece.name}”" for one in bare)
    what = f"The waist can't be presumed for {names}: nowhere plainly narrower than above and below."
    return [Mistake("waist", what, "Give its height in a labels file: levels: {waist: 5 1/4 in}.")]
