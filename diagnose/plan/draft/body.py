"""The body that a draft is held against: its girths and heights, and what the heights say.

Lengths are millimetres, girths of the whole.
"""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.model.settings import Settings
from diagnose.model.tryon import Wearer
from diagnose.pattern.measure import edge_length
from diagnose.pattern.outline import STIFF_ROLES, Pattern, Piece
from diagnose.plan.draft.seams_checked import Checked
from diagnose.units import Unit, both

__all__ = ["check_heights", "check_reduction", "girth_below", "height_of"]


def girth_below(body: Wearer, down_mm: float) -> float | None:
    """The body's girth so far below the waist: straight from the waist's to the hip's, and that from there on."""
    if body.hip_mm is None or body.waist_mm is None or not body.waist_to_hip_mm:
        return body.hip_mm
    share = min(1.0, max(0.0, down_mm / body.waist_to_hip_mm))
    return body.waist_mm + share * (body.hip_mm - body.waist_mm)


def height_of(pattern: Pattern, station: str) -> float | None:
    """How high a station lies on the paper, in the middle of its levels; None where it is not drawn."""
    ups = [point.y for piece in pattern.pieces for point in piece.levels.get(station, ())]
    return sum(ups) / len(ups) if ups else None


def check_reduction(body: Wearer, settings: Settings, unit: Unit) -> Iterator[Checked]:
    """The reduction against the published limit."""
    if body.waist_mm is None or body.planned_reduction_mm is None:
        return
    share, most = body.planned_reduction_mm / body.waist_mm, settings.mm("reduction-most")
    says = f"{both(body.planned_reduction_mm, unit)} off a waist of {both(body.waist_mm, unit)} is {share:.0%}"
    if share > most + 1e-9:
        do = f"Plan no more than {both(most * body.waist_mm, unit)} ({most:.0%})."
        yield Checked("reduction", "mend", f"{says}, and the most advised is {most:.0%}.", do=do)
    else:
        yield Checked("reduction", "right", f"{says}, within the {most:.0%} that is advised.")


def check_heights(
    pattern: Pattern, body: Wearer, settings: Settings, unit: Unit
) -> tuple[tuple[Checked, ...], tuple[str, ...]]:
    """What the heights of the body say of the draft, and those that would tell more."""
    found: list[Checked] = []
    unknown: list[str] = []
    waist = height_of(pattern, "waist")
    side = _lowest_top(pattern)
    if body.underarm_to_waist_mm is None:
        unknown.append("underarm_to_waist")
    elif waist is not None and side is not None:
        room = body.underarm_to_waist_mm - (side - waist)
        least = settings.mm("underarm-clearance")
        up = both(side - waist, unit)
        says = f"The top edge at its lowest lies {up} over the waist, {both(room, unit)} below the pit of the arm"
        if room < least:
            do = f"Lower the top edge under the arm by {both(least - room, unit)}."
            found.append(Checked("underarm", "mend", f"{says}: {both(least, unit)} is wanted.", do=do))
        else:
            found.append(Checked("underarm", "right", f"{says}."))
    if body.waist_to_hip_mm is None:
        unknown.append("waist_to_hip")
    front = _front_mm(pattern)
    if body.front_seated_mm is None:
        unknown.append("front_seated")
    elif front is not None:
        most = body.front_seated_mm - settings.mm("seated-clearance")
        says = f"The front is {both(front, unit)} long, and {both(body.front_seated_mm, unit)} are there when she sits"
        if front > most:
            do = f"Shorten the front by {both(front - most, unit)}, busk and cloth."
            found.append(Checked("front", "mend", f"{says}.", do=do))
        else:
            found.append(Checked("front", "right", f"{says}."))
    return tuple(found), tuple(unknown)


def _lowest_top(pattern: Pattern) -> float | None:
    """The height of the lowest place of the top edge, lacing and front pieces left out where there are others."""
    inner = [piece for piece in pattern.pieces if not _is_end(piece)] or list(pattern.pieces)
    ups = [point.y for piece in inner for edge in piece.edges if edge.role == "top" for point in (edge.start, edge.end)]
    return min(ups, default=None)


def _is_end(piece: Piece) -> bool:
    return any(edge.role in STIFF_ROLES for edge in piece.edges)


def _front_mm(pattern: Pattern) -> float | None:
    """The length of the centre front."""
    roles = ("lacing",) if pattern.closure == "front" else ("opening", "fold")
    found = [edge_length(edge) for piece in pattern.pieces for edge in piece.edges if edge.role in roles]
    return found[0] if found else None
