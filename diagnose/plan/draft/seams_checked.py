"""What can be seen of a draft without a body: partners' lengths, levels and edges running on across seams, bones.

Lengths are millimetres, angles degrees. Each check says what was found, and what to do where it does not hold.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from msgspec import Struct

from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.pattern.geometry.bezier import tangent
from diagnose.pattern.geometry.plane import angle, scaled
from diagnose.pattern.in_words import place_title, seam_words
from diagnose.pattern.measure import edge_length, mm_of_point, seam_difference
from diagnose.pattern.outline import Edge, Pattern, Piece, Point, Seam
from diagnose.pattern.tolerances import SEAM_MATCH_TOL_MM
from diagnose.sentences import lower_first
from diagnose.units import INCH_MM, Unit, both

__all__ = ["Checked", "checks_of_paper"]

AIM_MM = INCH_MM / 16

State = Literal["right", "mend", "unknown"]


class Checked(Struct, frozen=True):
    """One thing looked at: which, whether it is right, what was found, and what to do where it is not."""

    id: str
    state: State
    says: str
    do: str = ""


def checks_of_paper(pattern: Pattern, settings: Settings, unit: Unit) -> tuple[Checked, ...]:
    """Everything that the paper alone tells."""
    return (
        _partners(pattern, unit),
        _levels(pattern, settings.mm("level-step-most"), unit),
        _corners(pattern, settings),
        _bones(pattern, settings),
    )


def _partners(pattern: Pattern, unit: Unit) -> Checked:
    """Edges that are sewn together are of one length."""
    if not pattern.seams:
        alone = sum(edge.role == "seam" for piece in pattern.pieces for edge in piece.edges)
        if not alone:
            return Checked("partners", "right", "The half is in one piece: there is no seam to compare.")
        return Checked("partners", "unknown", "No seams are named.", do="Name which edges are sewn together.")
    off = {seam.name: seam_difference(pattern, seam) for seam in pattern.seams}
    worst = max(pattern.seams, key=lambda seam: abs(off[seam.name]))
    most = abs(off[worst.name])
    where = seam_words(pattern, worst.name)
    if most > SEAM_MATCH_TOL_MM:
        longer = worst.a if off[worst.name] > 0.0 else worst.b
        do = f"Walk the two and true {place_title(pattern, *longer)}, which is the longer."
        return Checked("partners", "mend", f"{where}, differ by {both(most, unit)}.", do=do)
    eased = f", eased in at {lower_first(where)}" if most > AIM_MM else ""
    return Checked("partners", "right", f"Edges sewn together agree within {both(max(most, AIM_MM), unit)}{eased}.")


def _levels(pattern: Pattern, most_mm: float, unit: Unit) -> Checked:
    """A level that meets a seam goes on at the same place of the other side."""
    worst, where = 0.0, ""
    for station, seam, apart in _level_steps(pattern, most_mm):
        if apart > worst:
            worst, where = apart, f"the {station} at {place_title(pattern, *seam.a)}"
    if not where:
        return Checked("levels", "right", "The levels run on across every seam.")
    if worst > most_mm:
        do = "Walk the seam from its lower end, and draw the level where the partner has it."
        return Checked("levels", "mend", f"A level jumps by {both(worst, unit)} at a seam: {where}.", do=do)
    return Checked("levels", "right", f"The levels run on across every seam, within {both(most_mm, unit)}.")


def _level_steps(pattern: Pattern, near_mm: float) -> Iterator[tuple[str, Seam, float]]:
    """How far apart a level meets the two sides of each seam."""
    edges = {(piece.name, edge.name): (piece, edge) for piece in pattern.pieces for edge in piece.edges}
    for seam in pattern.seams:
        sides = [edges.get((ref.piece, ref.edge)) for ref in seam.refs]
        if None in sides or seam.a == seam.b:
            continue
        for station in STATIONS:
            ups = [up for side in sides if side and (up := _up_of_level(*side, station, near_mm=near_mm)) is not None]
            if len(ups) == len(sides):
                yield station, seam, abs(ups[0] - ups[1])


def _up_of_level(piece: Piece, edge: Edge, station: str, near_mm: float) -> float | None:
    """How far up the edge the level meets it, or comes so near to it; None where it does not."""
    line = piece.levels.get(station, ())
    near = min((mm_of_point(edge, point) for point in (line[0], line[-1])), key=lambda one: one[1]) if line else None
    if near is None or near[1] > near_mm:
        return None
    return near[0] if edge.start.y < edge.end.y else edge_length(edge) - near[0]


def _corners(pattern: Pattern, settings: Settings) -> Checked:
    """Top and hem run on across the seams without a corner."""
    most = settings.mm("seam-corner-most")
    rows = list(_turns(pattern))
    if not rows:
        return Checked("edges", "right", "No seam meets the top edge or the hem.")
    turn, where = max(rows)
    if turn > most:
        do = "Lay the two pieces together along the seam and draw the edge through in one line."
        return Checked("edges", "mend", f"{where} turns by {turn:.0f}° at the seam, sewn.", do=do)
    within = f" within {turn:.0f}°" if round(turn) else ""
    return Checked("edges", "right", f"Top and hem run on across the seams{within}.")


def _turns(pattern: Pattern) -> Iterator[tuple[float, str]]:
    """By how much top or hem turns where a seam ends in it on both sides."""
    pieces = {piece.name: piece for piece in pattern.pieces}
    for seam in pattern.seams:
        if seam.a == seam.b or seam.a.piece not in pieces or seam.b.piece not in pieces:
            continue
        for is_top in (True, False):
            angles = [_angle_at(pieces[ref.piece], ref.edge, is_top=is_top) for ref in seam.refs]
            if None not in angles:
                what = "The top edge" if is_top else "The hem"
                turn = abs(180.0 - sum(angle for angle in angles if angle is not None))
                yield turn, f"{what} between {seam.a.piece} and {seam.b.piece}"


def _angle_at(piece: Piece, name: str, *, is_top: bool) -> float | None:
    """The angle of the paper where a seam edge ends in the top edge or the hem; None where it ends in neither."""
    number = next((n for n, edge in enumerate(piece.edges) if edge.name == name), None)
    if number is None:
        return None
    edge = piece.edges[number]
    at_end = (edge.end.y > edge.start.y) == is_top
    beside = piece.edges[(number + 1) % len(piece.edges)] if at_end else piece.edges[number - 1]
    if beside.role != ("top" if is_top else "bottom"):
        return None
    before, after = (edge, beside) if at_end else (beside, edge)
    came, goes = tangent(before.segments[-1], 1.0), tangent(after.segments[0], 0.0)
    return math.degrees(angle(goes, scaled(came, -1.0))) % 360.0


def _bones(pattern: Pattern, settings: Settings) -> Checked:
    """A bone stands on both sides of the eyelets of each lacing edge."""
    laced = [(piece, edge) for piece in pattern.pieces for edge in piece.edges if edge.role == "lacing"]
    if not laced and any(edge.role == "opening" for piece in pattern.pieces for edge in piece.edges):
        return Checked("bones", "right", "It closes by an edge that opens and is not laced: it has no eyelets to bone.")
    if not laced:
        return Checked("bones", "unknown", "No edge is laced.", do="Give the edge that is laced its role.")
    if not any(piece.channels for piece in pattern.pieces):
        return Checked("bones", "unknown", "No boning channels are drawn.",
                       do="Put a bone on both sides of the eyelets, and draw the channels.")  # fmt: skip
    inset = settings.mm("eyelet-inset")
    for piece, edge in laced:
        away = [_off_edge(channel.line, edge) for channel in piece.channels]
        near = [mm for mm in away if mm <= 2.0 * inset + INCH_MM]
        outside, inside = sum(mm < inset for mm in near), sum(mm >= inset for mm in near)
        if not outside or not inside:
            what = "outside" if not outside else "inside"
            do = f"Add a channel {what} the eyelets, which stand {both(inset, settings.unit)} from the edge."
            return Checked("bones", "mend", f"{piece.name} has no bone {what} the eyelets.", do=do)
    return Checked("bones", "right", "A bone stands on both sides of the eyelets.")


def _off_edge(line: tuple[Point, ...], edge: Edge) -> float:
    """How far the middle of a channel lies from an edge."""
    middle = Point(sum(p.x for p in line) / len(line), sum(p.y for p in line) / len(line))
    return mm_of_point(edge, middle)[1]
