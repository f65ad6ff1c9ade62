"""What is done once after a whole list of operations: seams walked, match marks set again, corners squared.

Millimetres. Only what a cut (fold, dart, length) has put out of true is walked back: an edge that was moved on purpose
stays as it was drawn, and what a later step has already made even is left alone.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered, PaperOpened, RunRedrawn, StripFolded
from diagnose.pattern.finish.faults import seam_notes
from diagnose.pattern.finish.smoothing import smoothed
from diagnose.pattern.finish.squaring import squared
from diagnose.pattern.finish.walking import (
    Arms,
    arms_change,
    as_before,
    changed_pieces,
    ended,
    name_before,
    owed,
    rises,
    waist_mm,
)
from diagnose.pattern.geometry.plane import across, add, distance, mid, scaled, sub, unit
from diagnose.pattern.geometry.polylines import first_crossing
from diagnose.pattern.geometry.smooth_amounts import Knot, Profile
from diagnose.pattern.in_words import edge_words, piece_first, piece_words, place_title, seam_quoted
from diagnose.pattern.measure import edge_length, seam_difference
from diagnose.pattern.moved.band import Band
from diagnose.pattern.moved.carry import with_marks
from diagnose.pattern.moved.closing import closed_up
from diagnose.pattern.moved.gates import ring_of
from diagnose.pattern.moved.redraw import Shift
from diagnose.pattern.moved.shift import shifted
from diagnose.pattern.outline import END_ROLES, Edge, EdgeRef, Notch, Pattern, Piece, Seam, pair_and_side
from diagnose.units import INCH_MM, both

__all__ = ["Cuts", "finished", "walked"]

NOTCH_PAIR_MM = INCH_MM / 16
NOTCH_OFF_MM = INCH_MM / 32
LEAST_SEWN_MM = 0.05
ALIKE_MM = 0.1


class Cuts(Struct, frozen=True):
    """What cuts have put out of true so far.

    Attributes:
        seams: for each seam, by how much its side a has become longer than its side b.
        pieces: the names of the pieces that were cut, as they were called then.
    """

    seams: Mapping[str, Arms] = field(default_factory=dict)
    pieces: frozenset[str] = frozenset()

    def with_cut(self, before: Pattern, after: Pattern) -> Cuts:
        """The record with one cut more."""
        changed = changed_pieces(before, after)
        found = dict(self.seams)
        for seam in after.seams:
            if seam.pieces & changed:
                found[seam.name] = _sum(found.get(seam.name), arms_change(before, after, seam))
        return Cuts(found, self.pieces | changed)

    def of(self, seam: str) -> Arms:
        """The record for a seam, with what was done to it before its pair was parted."""
        pair, side = pair_and_side(seam)
        return _sum(self.seams.get(seam), self.seams.get(pair) if side else None)


def finished(before: Pattern, made: Altered, cuts: Cuts) -> Altered:
    """What was made, finished: the seams walked, the match marks set to their partners', the corners squared.

    Args:
        before: the pattern before the whole list.
        made: what the list came to.
        cuts: what its cuts have put out of true.
    """
    made = walked(before, made, cuts)
    pattern, said = _rematched(before, made.pattern)
    pattern, trued = _squared(before, pattern)
    made = _gores_followed(before, made.then(Altered(pattern, (*said, *_squared_notes(pattern, trued)), trued)))
    made = smoothed(before, made)
    notes = (*made.notes, *seam_notes(before, made.pattern))
    return replace(made, notes=tuple(dict.fromkeys(notes)))


def _sum(*all_arms: Arms | None) -> Arms:
    known = [arms for arms in all_arms if arms]
    return Arms(sum(arms.upper for arms in known), sum(arms.lower for arms in known))


def walked(before: Pattern, made: Altered, cuts: Cuts) -> Altered:
    """What was made, with each seam that cuts made uneven by over 1/16 in brought back to the difference it had.

    The piece that was cut is trued, of two the one whose edge has changed more.
    """
    for seam in made.pattern.seams:
        by_cuts = cuts.of(seam.name)
        due = _due(by_cuts, arms_change(before, made.pattern, seam)) if any(by_cuts) else by_cuts
        for upper, by_mm in [*owed(made.pattern, seam, due)]:
            made = _trued(before, made, seam, change_mm=by_mm, cut=cuts.pieces, upper=upper)
    return made


def _due(by_cuts: Arms, by_all: Arms) -> Arms:
    """What is to be walked back: what the cuts did, as far as it is still there."""
    pairs = zip(by_cuts, by_all, strict=True)
    return Arms(*(math.copysign(min(abs(a), abs(b)), a) if a * b > 0.0 else 0.0 for a, b in pairs))


def _trued(
    before: Pattern, made: Altered, seam: Seam, change_mm: float, cut: Collection[str], *, upper: bool
) -> Altered:
    """One arm of a seam brought back: `change_mm` is how much longer its side a has become, against side b."""
    sides = [(ref, by) for ref, by in ((seam.a, -change_mm), (seam.b, change_mm)) if _may(before, ref, cut)]
    if not sides:
        return made
    ref, by_mm = max(sides, key=lambda side: _changed(before, made.pattern, side[0]))
    own = made.pattern.piece(ref.piece)
    done = ended(own, ref.edge, by_mm, upper=upper)
    if done is None:
        return made
    word = "drawn on" if by_mm > 0.0 else "trimmed"
    note = (
        f"Walked {seam_quoted(seam.name)}: {edge_words(own.edge(ref.edge))} of {piece_words(ref.piece)} is {word} by"
        f" {both(abs(by_mm))} at its {done.beside.role} end, and {edge_words(own.edge(done.beside.edge))} redrawn to it"
        f" over {both(done.end.reach_mm)}."
    )
    return made.then(Altered(made.pattern.with_piece(done.piece), (note,), (done.end, done.beside)))


def _may(before: Pattern, ref: EdgeRef, cut: Collection[str]) -> bool:
    return ref.piece in cut or name_before(ref.piece, before) in cut


def _changed(before: Pattern, after: Pattern, ref: EdgeRef) -> float:
    old = before.piece(name_before(ref.piece, before) or ref.piece)
    return abs(edge_length(after.piece(ref.piece).edge(ref.edge)) - edge_length(old.edge(ref.edge)))


def _rematched(before: Pattern, pattern: Pattern) -> tuple[Pattern, tuple[str, ...]]:
    """The pattern with the match marks that met their partners' before meeting them again, and what was done."""
    notes = []
    for seam in pattern.seams:
        was = as_before(seam, before)
        if was is None or seam.a == seam.b or any(ref.slit for ref in seam.refs):
            continue
        old = [before.piece(ref.piece) for ref in was.refs]
        now = [pattern.piece(ref.piece) for ref in seam.refs]
        names = (seam.a.edge, seam.b.edge)
        kept = [one.edge(name) == other.edge(name) for one, other, name in zip(old, now, names, strict=True)]
        if all(kept):
            continue
        # The marks of the side that was left as it is are the ones to go by.
        own, other = (0, 1) if kept[1] else (1, 0)
        moved = _rematched_piece(old[own], now[own], old[other], other=now[other], edges=(names[own], names[other]))
        if moved is not now[own]:
            pattern = pattern.with_piece(moved)
            where = f"{seam_quoted(seam.name)} are set again on {piece_words(moved.name)}"
            notes.append(f"Match marks of {where}, to meet their partners.")
    return pattern, tuple(notes)


def _rematched_piece(old: Piece, now: Piece, old_other: Piece, other: Piece, edges: tuple[str, str]) -> Piece:
    """The piece with the marks of one edge as far from the waist as the partner's that they met before."""
    places, made = dict(_from_waist(other, edges[1])), list(now.notches)
    known = dict(_from_waist(old_other, edges[1]))
    here = dict(_from_waist(now, edges[0]))
    for number, height in _from_waist(old, edges[0]):
        pair = min(known, key=lambda n: abs(known[n] - height), default=None)
        if pair is None or abs(known[pair] - height) > NOTCH_PAIR_MM or number not in here:
            continue
        wanted = places[pair]
        if abs(here[number] - wanted) > NOTCH_OFF_MM:
            made[number] = _at_height(now, made[number], here[number], wanted_mm=wanted)
    return replace(now, notches=tuple(made)) if tuple(made) != now.notches else now


def _from_waist(piece: Piece, name: str) -> Iterator[tuple[int, float]]:
    """For each notch of the edge, its number in the piece and how far above the waist it lies along the edge.

    Where no waist crosses the edge, the height is taken from the edge's lower end.
    """
    edge = piece.edge(name)
    up = rises(edge)
    zero = waist_mm(piece, edge) if any(notch.edge == name for notch in piece.notches) else 0.0
    zero = (0.0 if up else edge_length(edge)) if zero is None else zero
    for number, notch in enumerate(piece.notches):
        if notch.edge == name:
            yield number, (notch.at - zero) if up else (zero - notch.at)


def _at_height(piece: Piece, notch: Notch, now_mm: float, wanted_mm: float) -> Notch:
    edge = piece.edge(notch.edge)
    by = wanted_mm - now_mm
    return replace(notch, at=min(max(notch.at + (by if rises(edge) else -by), 0.0), edge_length(edge)))


def _squared(before: Pattern, pattern: Pattern) -> tuple[Pattern, tuple[RunRedrawn, ...]]:
    trued: list[RunRedrawn] = []
    now = pattern
    for piece in now.pieces:
        name = name_before(piece.name, before)
        old = before.piece(name) if name else piece
        if old is not piece and [e.name for e in old.edges] == [e.name for e in piece.edges]:
            made, one = squared(before, now, old, piece=piece)
            pattern, trued = pattern.with_piece(made), [*trued, *one]
    return pattern, tuple(trued)


def _squared_notes(pattern: Pattern, trued: Iterable[RunRedrawn]) -> Iterator[str]:
    ends = ", ".join(dict.fromkeys(place_title(pattern, one.piece, one.edge) for one in trued))
    if ends:
        yield f"Drawn to meet the edge beside as squarely as before: {ends}."


def _gores_followed(before: Pattern, made: Altered) -> Altered:
    """What was made, with each gore as long as the slit it is sewn into, where it was so before.

    Where a cut went through the slit, it goes through the gore as well: the hem moves by as much and keeps its width,
    and the legs are ruled from the tip to its corners. Where the edge a slit begins at was redrawn, both legs become as
    much longer or shorter as the slit, along their own lines, and the hem keeps its shape.
    """
    for gore, hem, by_mm in list(_short(before, made.pattern)):
        done = _cut_as_its_slit(before, made, gore, hem=hem, by_mm=by_mm) or _hem_moved(
            made.pattern, gore, hem, by_mm=by_mm
        )
        word = "longer" if by_mm > 0.0 else "shorter"
        drawn = f"drawn {both(abs(by_mm))} {word} at its legs, as the slit it is sewn into"
        note = f"{piece_first(gore.name)} is {drawn}."
        made = made.then(replace(done, notes=(*done.notes, note)))
    return made


def _hem_moved(pattern: Pattern, gore: Piece, hem: Edge, by_mm: float) -> Altered:
    redrawn = shifted(gore, {hem.name: Shift(Profile((Knot(0.0, -by_mm),)))})
    piece, notes = with_marks(redrawn)
    return Altered(pattern.with_piece(piece), notes, redrawn.zones("moved"))


def _cut_as_its_slit(before: Pattern, made: Altered, gore: Piece, hem: Edge, by_mm: float) -> Altered | None:
    """The gore shortened (or lengthened) where its slit was, every level and its hem as wide as they were; None where
    no cut crossed that, or the gore is none with a tip and two legs.
    """
    from_tip = next(_cuts_from_tip(before, made, gore), None)
    legs = [edge for edge in gore.edges if edge is not hem]
    if from_tip is None or len(legs) != 2:
        return None
    tip = legs[0].end if legs[1].start == legs[0].end else legs[1].end
    way = sub(mid(hem.start, hem.end), tip)
    up, size = unit(way), math.hypot(way.x, way.y)
    if size <= from_tip:
        return None
    at = add(tip, scaled(up, from_tip))
    ring, lasts = ring_of(gore), sum(map(edge_length, legs)) / 2.0
    # A leg that slants gains less than the gore is lengthened by; how much less is seen when it has been drawn.
    amount, done = -by_mm * lasts / size, None
    for _ in range(2):
        band = Band((add(at, across(up)), sub(at, across(up))), up, amount, moving=1.0)
        try:
            gates = band.gates(ring, band.crossings(ring))
            done = closed_up(made.pattern, gore, ring, gates=gates, paper=band.paper())
        except FitError:
            return None
        piece = done.pattern.piece(gore.name)
        gained = sum(edge_length(piece.edge(leg.name)) for leg in legs) / 2.0 - lasts
        amount *= by_mm / gained if gained * by_mm > 0.0 else 1.0
    return done


def _cuts_from_tip(before: Pattern, made: Altered, gore: Piece) -> Iterator[float]:
    """How far from the tip a cut went through the slit the gore is sewn into."""
    for own, lips, _ in made.pattern.in_slits:
        name = name_before(lips.piece, before)
        if own.piece != gore.name or name is None:
            continue
        lines = [slit.line for slit in before.piece(name).slits if slit.name == lips.slit]
        for zone in made.zones:
            if isinstance(zone, StripFolded | PaperOpened) and zone.piece in (lips.piece, name):
                cut = zone.line if isinstance(zone, StripFolded) else zone.cut
                yield from (distance(line[-1], at) for line in lines if (at := first_crossing(line[-1], line[0], cut)))


def _short(before: Pattern, after: Pattern) -> Iterator[tuple[Piece, Edge, float]]:
    """Each gore whose legs no longer match its slit, its free edge, and by how much both legs are too short, mm.

    A pair of gores may be sewn into the slits of a left and of a right piece: then all four seams say the same.
    """
    for gore in after.pieces:
        hems = [edge for edge in gore.edges if edge.role in END_ROLES]
        found = list(_missing(before, after, gore))
        if len(hems) == 1 and len(found) > 1 and max(found) - min(found) <= ALIKE_MM:
            by_mm = sum(found) / len(found)
            if abs(by_mm) > LEAST_SEWN_MM:
                yield gore, hems[0], by_mm


def _missing(before: Pattern, after: Pattern, gore: Piece) -> Iterator[float]:
    """For each leg sewn to a slit, by how much it has come to be too short for it."""
    for own, lips, seam in after.in_slits:
        was = as_before(seam, before)
        if own.piece == gore.name and was is not None:
            sign = 1.0 if seam.a == lips else -1.0
            yield sign * (seam_difference(after, seam) - seam_difference(before, was))
