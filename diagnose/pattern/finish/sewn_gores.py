"""Gores after an operation: where the edge a slit begins at was redrawn, the gore sewn in is drawn to the new edge.

Both its legs become as much longer or shorter as the slit, along their own lines, and its hem keeps its shape.
"""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.pattern.altered import Altered
from diagnose.pattern.finish.walking import as_before
from diagnose.pattern.geometry.smooth_amounts import Knot, Profile
from diagnose.pattern.measure import SLIT_PREFIX, seam_difference
from diagnose.pattern.moved.carry import with_marks
from diagnose.pattern.moved.redraw import Shift
from diagnose.pattern.moved.shift import shifted
from diagnose.pattern.outline import END_ROLES, Edge, Pattern, Piece
from diagnose.units import both

__all__ = ["gores_followed"]

LEAST_SEWN_MM = 0.05
ALIKE_MM = 0.1


def gores_followed(before: Pattern, made: Altered) -> Altered:
    """What was made, with each gore as long as the slit it is sewn into, where it was so before.

    Args:
        before: the pattern before the whole list of operations.
        made: what the list came to.
    """
    for gore, hem, by_mm in list(_short(before, made.pattern)):
        redrawn = shifted(gore, {hem.name: Shift(Profile((Knot(0.0, -by_mm),)))})
        piece, notes = with_marks(redrawn)
        word = "longer" if by_mm > 0.0 else "shorter"
        note = f"'{gore.name}' is drawn {both(abs(by_mm))} {word} at its legs, as the slit it is sewn into."
        made = made.then(Altered(made.pattern.with_piece(piece), (*notes, note), redrawn.zones("moved")))
    return made


def _short(before: Pattern, after: Pattern) -> Iterator[tuple[Piece, Edge, float]]:
    """Each gore whose legs no longer match its slit, its free edge, and by how much both legs are too short, mm."""
    for gore in after.pieces:
        hems = [edge for edge in gore.edges if edge.role in END_ROLES]
        found = list(_missing(before, after, gore))
        if len(hems) == 1 and len(found) == 2 and abs(found[0] - found[1]) <= ALIKE_MM:
            by_mm = sum(found) / 2.0
            if abs(by_mm) > LEAST_SEWN_MM:
                yield gore, hems[0], by_mm


def _missing(before: Pattern, after: Pattern, gore: Piece) -> Iterator[float]:
    """For each leg sewn to a slit, by how much it has come to be too short for it."""
    for seam in after.seams:
        for own, lip, sign in ((seam.a, seam.b, -1.0), (seam.b, seam.a, 1.0)):
            was = as_before(seam, before)
            if own.piece == gore.name and lip.edge.startswith(SLIT_PREFIX) and was is not None:
                yield sign * (seam_difference(after, seam) - seam_difference(before, was))
