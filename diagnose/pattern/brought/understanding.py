"""What a pattern brought in is understood to be: one value, shown, corrected, and stored once nothing is open.

`understand` takes a `Sketch` from any source (a drawing, a photograph) and the `Labels` that correct it, and gives an
`Understood`; to correct it, change the labels (`correcting`) and understand the sketch again. Nothing here raises for
what is missing or beyond belief: it is told in `asks`, each with the very lines that settle it, and `settled` refuses.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from statistics import median

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.model.stations import STATIONS
from diagnose.pattern.brought.bands import without_bands
from diagnose.pattern.brought.believing import (
    LOOK,
    NO_LIMITS,
    PART_CODE,
    Believable,
    doubts_of,
    read_in,
)
from diagnose.pattern.brought.drawings.ordering import tells_side
from diagnose.pattern.brought.drawings.outlines import Found, Outline, outlines_of
from diagnose.pattern.brought.drawings.sketch import Sketch, mirrored, rescaled
from diagnose.pattern.brought.understood.applying import apply_labels, draft, lowest_mm
from diagnose.pattern.brought.understood.drawn_marks import with_marks
from diagnose.pattern.brought.understood.inside import lines_inside
from diagnose.pattern.brought.understood.labels import NO_LABELS, Labels
from diagnose.pattern.brought.understood.levels import (
    drawn_level,
    lie_level,
    lifts_mm,
    presumed_heights,
    raised_by,
    through_tips,
)
from diagnose.pattern.brought.understood.proposal import (
    Proposal,
    Proposed,
    as_stored,
    chained,
    front_unsure,
    propose,
    tells_apart,
)
from diagnose.pattern.brought.understood.seams import apart_of, presumed_seams, set_in, unsewn
from diagnose.pattern.brought.understood.told import laid_back
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.measure import bounds, garment_girth
from diagnose.pattern.outline import Pattern, Piece, Point, Seam
from diagnose.units import INCH_MM, UNIT_MM, Unit, both

__all__ = ["LevelFound", "SeamFound", "Terms", "Understood", "understand", "understood_of"]

Levels = dict[str, tuple[Point, ...]]

WAISTS_AGREE_MM = INCH_MM
"""So near to one height the pieces must each be narrowest, for that to be the waist of all."""

SAME_HEIGHT_MM = INCH_MM / 4
"""Pieces whose seams lie no farther apart in height lie at one height."""


class SeamFound(Struct, frozen=True):
    """Two edges taken to be sewn together, and why."""

    seam: Seam
    why: str


class LevelFound(Struct, frozen=True):
    """A level: drawn or told by her, or laid by the program, and how in words."""

    station: str
    is_laid: bool
    why: str


class Terms(Struct, frozen=True):
    """What is told beside the file.

    Attributes:
        unit: of lengths without one, and in sentences.
        is_told: whether she named the unit herself, with the command or in her settings.
        believable: what a pattern and its wearer may measure.
        sure: the words with which she has settled what is beyond belief.
        closure: where it is laced, as far as the garment is told: back, front or both.
    """

    unit: Unit = "in"
    is_told: bool = False
    believable: Believable = NO_LIMITS
    sure: tuple[str, ...] = ()
    closure: str = "back"


USUAL = Terms()


class Understood(Struct, frozen=True):
    """A pattern as it is understood.

    Attributes:
        proposal: the pieces with their edges and roles, as far as they could be told.
        labels: what she has said of them.
        pattern: the checked pattern; None while something needed is missing.
        seams: what is sewn to what, and why it is thought so.
        levels: the levels, found or laid.
        said: everything presumed, in sentences; said_of_seams: that of them which says what is presumed to be sewn.
        asks: what is open. One with the code ``sure-WORD`` is only beyond belief: that word settles it.
        scale_mm: what a unit of the drawing was taken for.
        unit: the unit that a table names itself.
    """

    proposal: Proposal
    labels: Labels
    pattern: Pattern | None
    seams: tuple[SeamFound, ...] = ()
    levels: tuple[LevelFound, ...] = ()
    said: tuple[str, ...] = ()
    said_of_seams: str = ""
    asks: tuple[Mistake, ...] = ()
    scale_mm: float = 1.0
    unit: Unit | None = None

    @property
    def girths_mm(self) -> dict[str, float]:
        """The girth of the whole garment, edge to edge, at each station that has a level."""
        found = {} if self.pattern is None else {s: garment_girth(self.pattern, s) for s in STATIONS}
        return {station: girth for station, girth in found.items() if girth is not None}

    def settled(self) -> Pattern:
        """The pattern, to be stored.

        Raises:
            FitError: with everything that is still open.
        """
        if self.asks or self.pattern is None:
            raise FitError(self.asks)
        return self.pattern


def understand(sketch: Sketch, labels: Labels = NO_LABELS, terms: Terms = USUAL) -> Understood:
    """What the drawing comes to, with her labels laid over it.

    Raises:
        FitError: when it holds no outline or too much, or a label fits nothing in it.
    """
    brought = sketch
    sketch = without_bands(laid_back(sketch))
    if labels.scale_mm is not None:
        sketch = rescaled(sketch, labels.scale_mm)
    if labels.from_right:
        sketch = mirrored(sketch)
    found = outlines_of(sketch, is_back_middle=labels.from_right, count=len(labels.order), size=labels.size)
    if found.is_from_back and not labels.from_right:
        sketch = mirrored(sketch)
        found = outlines_of(sketch, is_back_middle=True, size=labels.size)
        how = "The names say that the back lies on the left: the drawing was turned over."
        found = replace(found, said=(how, *found.said))
    closure = labels.closure or terms.closure
    if labels.order:
        found = _reordered(found, labels.order, sketch.name)
    found = replace(found, outlines=tuple(_called(one, labels) for one in found.outlines))
    proposal = propose(found.outlines, sketch.name.rpartition(".")[0] or sketch.name, closure)
    if closure == "back" and not labels.from_right and not found.is_from_back and _is_front_open(proposal, sketch):
        found = replace(found, asks=(*found.asks, _FRONT))
    inside, told = lines_inside(proposal, found.loose, sketch.words)
    marks = replace(sketch, strokes=(*sketch.strokes, *inside), dots=(*sketch.dots, *found.notches))
    marked = as_stored(with_marks(proposal, marks))
    marked = replace(marked, said=(*sketch.said, *found.said, *marked.said, *told))
    made = understood_of(apply_labels(marked, labels), sketch.name, terms, labels=labels)
    if not (sketch.has_unit or labels.scale_mm) and not {ask.code for ask in made.asks}.isdisjoint(_OF_SIZE):
        made = _with_units(made, brought, labels, terms=terms)
    is_scaled = labels.scale_mm is not None or any(ask.code == "sure-waist" for ask in made.asks)
    scale = () if is_scaled or not terms.believable.is_whole else sketch.asks
    asks = (*_still_open((*found.asks, *scale), labels, terms), *made.asks)
    return replace(made, scale_mm=sketch.unit_mm, asks=asks)


_OF_SIZE = ("sure-waist", "sure-height")


def _with_units(made: Understood, sketch: Sketch, labels: Labels, terms: Terms) -> Understood:
    """What is beyond belief answered with the units in which it would not be, as it would be read in each."""
    others = [
        (unit, understand(replace(rescaled(sketch, mm), has_unit=True, asks=()), labels, terms))
        for unit, mm in UNIT_MM.items()
    ]
    fits = " ".join(
        read_in(unit, other.girths_mm.get("waist", 0.0)) for unit, other in others
        if other.pattern is not None and {ask.code for ask in other.asks}.isdisjoint(_OF_SIZE)
    )  # fmt: skip
    asks = (replace(ask, do=ask.do.replace(LOOK, fits)) if fits and ask.code in _OF_SIZE else ask for ask in made.asks)
    return replace(made, asks=tuple(asks))


_FRONT = Mistake(
    "front", "It can't be told on which side the centre front lies: the edge on the left slants, and the one on the "
    "right is upright, as a centre front mostly is.",
    "If the front is on the right, write in a labels file: centre-front: right; if on the left, say --sure front.",
    code="sure-front",
)  # fmt: skip


def _is_front_open(proposal: Proposal, sketch: Sketch) -> bool:
    """Whether nothing tells on which side the front lies, and the edges speak for the right."""
    names = [*(one.piece.name for one in proposal.pieces), *(words.text for words in sketch.words)]
    told = any(tells_side(name) for name in names) or any(one.is_stored for one in proposal.pieces)
    return not told and front_unsure(proposal.pieces)


def _called(outline: Outline, labels: Labels) -> Outline:
    """The outline by the name that she gives its number, where that says that it is made apart or set in."""
    label = labels.pieces.get(str(outline.number))
    return replace(outline, name=label.name) if label and tells_apart(label.name) else outline


def _reordered(found: Found, order: Sequence[int], where: str) -> Found:
    """The outlines in the order told; each keeps the number by which she names it."""
    if len(order) != len(found.outlines):
        what = f"The order names {len(order)} pieces, and the drawing has {len(found.outlines)}."
        raise FitError.of(f"{where}, order", what, "Write the number of each piece once.", code="wrong-order")
    outlines = tuple(found.outlines[number - 1] for number in order)
    return replace(found, outlines=outlines, asks=tuple(ask for ask in found.asks if ask.code != "sure-order"))


def _still_open(asks: Sequence[Mistake], labels: Labels, terms: Terms) -> tuple[Mistake, ...]:
    """What she has not settled with a word."""
    sure = {f"sure-{word}" for word in (*labels.sure, *terms.sure)}
    doubtful = [ask for ask in asks if not (ask.code.startswith("sure-") and PART_CODE in sure)]
    return tuple(ask for ask in doubtful if ask.code not in sure)


def understood_of(
    proposal: Proposal,
    where: str,
    terms: Terms = USUAL,
    labels: Labels = NO_LABELS,
    *,
    told_mm: float | None = None,
    checked: Pattern | None = None,
) -> Understood:
    """The levels and seams found, and everything checked as a stored pattern is.

    Args:
        proposal: with its labels already laid over it.
        where: the file's name, for messages.
        terms: what is told beside it.
        labels: those that were laid over it; the words she is sure of stand in them.
        told_mm: what a unit of the file was taken for, where the file does not name it.
        checked: the pattern, where it was stored and read as such.
    """
    pieces, seams, said, of_seams = _sewn(proposal)
    unsure = [one.unsure for one in proposal.pieces if one.unsure is not None]
    found, levels = ({}, ()) if unsure else _levels(proposal, [one.piece for one in pieces], seams, unit=terms.unit)
    asks = unsure or _no_waist(proposal, pieces, found)
    sewn = replace(proposal, pieces=pieces)
    laid = [level.why for level in levels if level.is_laid]
    told = (*proposal.said, *_apart_said(pieces, seams), *laid, *filter(None, (of_seams,)), *said)
    made = Understood(
        sewn, labels, None, seams=seams, levels=levels, said=tuple(dict.fromkeys(told)), said_of_seams=of_seams
    )
    if asks:
        crossed = [wrong for one in pieces for wrong in piece_mistakes(one.piece, f"{where}, piece {one.piece.name}")]
        drafts = [] if proposal.is_table else [_draft_of(sewn, seams, where)]
        return replace(made, asks=tuple(crossed or [*asks, *drafts]))
    done = tuple(replace(one.piece, levels=found.get(one.piece.name, one.piece.levels)) for one in pieces)
    pattern = Pattern(
        proposal.name, proposal.closure, done, seams=tuple(one.seam for one in seams), extra=proposal.extra
    )
    try:
        written = checked or read_pattern(to_json(pattern), where)
    except FitError as error:
        return replace(made, asks=error.mistakes)
    pattern = pattern if proposal.is_table else written
    doubts = [
        *proposal.asks,
        *doubts_of(pattern, terms.believable, terms.unit, told_mm=told_mm, is_table=proposal.is_table),
    ]
    if terms.believable.is_whole and proposal.seams is None:
        doubts += unsewn(sewn, [one.seam for one in seams], terms.unit)
    return replace(made, pattern=pattern, asks=_still_open(doubts, labels, terms))


def _apart_said(pieces: Sequence[Proposed], seams: Sequence[SeamFound]) -> tuple[str, ...]:
    if all(one.is_stored for one in pieces):
        return ()
    names = ", ".join(f"“{name}”" for name in apart_of(pieces, [one.seam for one in seams]))
    said = f"{names}: taken for made apart; until it is said what they are sewn to, no girth has them."
    return (said,) if names else ()


def _draft_of(proposal: Proposal, seams: Sequence[SeamFound], where: str) -> Mistake:
    text = f"This draft may be used, corrected, as a file given with --labels:\n\n{drafted(proposal, seams)}"
    return Mistake(where, "Not everything needed can be presumed from the drawing.", text, code="labels-wanted")


def drafted(proposal: Proposal, seams: Sequence[SeamFound]) -> str:
    """The draft of a labels file, with the levels and seams that would be presumed."""
    presumed = presumed_heights([one.piece for one in proposal.pieces])
    low = lowest_mm(proposal)
    heights = {"waist": presumed["waist"] - low} if "waist" in presumed else {}
    return draft(replace(proposal, heights_mm={**heights, **proposal.heights_mm}), [one.seam for one in seams])


def _sewn(proposal: Proposal) -> tuple[tuple[Proposed, ...], tuple[SeamFound, ...], tuple[str, ...], str]:
    """The pieces, what is sewn to what, what is said of that, and the sentence that names the seams presumed."""
    if proposal.seams is not None:
        why = "It is stored so." if all(one.is_stored for one in proposal.pieces) else "You said so."
        return proposal.pieces, tuple(SeamFound(seam, why) for seam in proposal.seams), (), ""
    pieces, seams, said = presumed_seams(proposal.pieces)
    into, into_said = set_in(pieces)
    pairs = ", ".join(f"{'/'.join(seam.a)} to {'/'.join(seam.b)}" for seam in seams)
    of_seams = f"Presumed to be sewn, their lengths being alike: {pairs}." if seams else ""
    why = "Their lengths are alike, and the two pieces lie side by side."
    found = [SeamFound(seam, why) for seam in seams]
    found += [SeamFound(seam, "Its legs are as long as the slit.") for seam in into]
    return pieces, tuple(found), (*said, *into_said), of_seams


def _levels(
    proposal: Proposal, pieces: Sequence[Piece], seams: Sequence[SeamFound], unit: Unit
) -> tuple[dict[str, Levels], tuple[LevelFound, ...]]:
    """The levels of each piece by name, and how each station's was come by."""
    low = lowest_mm(proposal)
    told = {station: low + height for station, height in proposal.heights_mm.items()}
    if all(one.is_stored for one in proposal.pieces):
        found = {piece.name: _with_heights(piece, told, set(told)) for piece in pieces}
        return found, _found(pieces, found, told, how="")
    half = {pieces[n].name for n in chained(proposal.pieces)}
    half |= {ref.piece for one in seams for ref in (one.seam.a, one.seam.b)}
    lifts = lifts_mm(pieces, [one.seam for one in seams])
    lifts |= _lifts_into_slits(pieces, [one.seam for one in seams], lifts)
    if lie_level(pieces) and all(abs(lift) <= SAME_HEIGHT_MM for lift in lifts.values()):
        lifts = {piece.name: 0.0 for piece in pieces}
    main = [piece for piece in pieces if piece.name in half]
    raised = [raised_by(piece, lifts.get(piece.name, 0.0)) for piece in main]
    is_level = lie_level(raised) and (half <= set(lifts) or lie_level(main))
    if not is_level:
        found = {p.name: _with_heights(p, {**presumed_heights([p]), **told}, set(told)) for p in pieces}
        how = "the pieces do not lie at one height, and each was given its own"
        return found, _found(pieces, found, told, how=how)
    heights = {**_narrowest_of_one(raised), **presumed_heights(raised), **_drawn_heights(raised)}
    tips = {piece.name: line for piece in main if "waist" not in heights and (line := through_tips(piece))}
    # What is set in, and sewn to nothing yet, lies on the drawing where there was room: no level is laid across it.
    found = {
        piece.name: _with_heights(piece, {s: y - lift for s, y in heights.items()} | told, set(told))
        if piece.name in half else dict(piece.levels)
        for piece in pieces for lift in (lifts.get(piece.name, 0.0),)
    }  # fmt: skip
    if tips:
        found = {name: _in_station_order({**({"waist": tips[name]} if name in tips else {}), **levels})
                 for name, levels in found.items()}  # fmt: skip
        return found, _found(pieces, found, told, how=_BY_TIPS)
    apart = any(lifts.values())
    carried = "carried along the seams from piece to piece, since the pieces lie at different heights"
    up = f"{both(heights['waist'] - low, unit)} up from the lowest point" if "waist" in heights else ""
    return found, _found(pieces, found, told, how=carried if apart else up)


def _lifts_into_slits(pieces: Sequence[Piece], seams: Sequence[Seam], lifts: Mapping[str, float]) -> dict[str, float]:
    """How far what is set into a slit must be raised for the point where its legs meet to lie at the slit's tip."""
    tips = {(piece.name, f"slit:{slit.name}"): slit.line[-1].y for piece in pieces for slit in piece.slits}
    ends: dict[tuple[str, str], list[Point]] = {}
    for seam in seams:
        if (seam.b.piece, seam.b.edge) in tips:
            leg = next(p for p in pieces if p.name == seam.a.piece).edge(seam.a.edge)
            ends.setdefault((seam.a.piece, seam.b.piece), []).extend((leg.start, leg.end))
    found: dict[str, float] = {}
    for seam in seams:
        points = ends.get((seam.a.piece, seam.b.piece), [])
        host = (seam.b.piece, seam.b.edge)
        if len(points) == LEG_ENDS and host in tips:
            tip = min(points[:2], key=lambda point: min(distance(point, other) for other in points[2:]))
            found[seam.a.piece] = lifts.get(seam.b.piece, 0.0) + tips[host] - tip.y
    return found


LEG_ENDS = 4


_BY_TIPS = "through the tips of the slits, where tabs begin"


def _in_station_order(levels: Mapping[str, tuple[Point, ...]]) -> Levels:
    return {station: levels[station] for station in STATIONS if station in levels}


def _narrowest_of_one(pieces: Sequence[Piece]) -> dict[str, float]:
    """The waist as some of the pieces show it each for itself, where they agree, and all together do not show it."""
    own = [heights["waist"] for piece in pieces if "waist" in (heights := presumed_heights([piece]))]
    return {"waist": median(own)} if own and max(own) - min(own) <= WAISTS_AGREE_MM else {}


def _drawn_heights(pieces: Sequence[Piece]) -> dict[str, float]:
    """How high the levels lie that are drawn on some of the pieces."""
    rows = {station: [p.levels[station] for p in pieces if station in p.levels] for station in STATIONS}
    return {station: median(point.y for line in lines for point in line) for station, lines in rows.items() if lines}


def _found(
    pieces: Sequence[Piece], found: Mapping[str, Levels], told: Mapping[str, float], how: str
) -> tuple[LevelFound, ...]:
    """What is said of each station that has a level."""
    rows: list[LevelFound] = []
    for station in STATIONS:
        with_it = [name for name, levels in found.items() if station in levels]
        drawn = [piece.name for piece in pieces if station in piece.levels]
        if not with_it:
            continue
        if station in told or len(drawn) == len(with_it):
            rows.append(LevelFound(station, False, f"The {station} lies where you say."))
        elif drawn:
            bare = ", ".join(f"“{name}”" for name in with_it if name not in drawn)
            rows.append(
                LevelFound(station, True, f"The {station} is not drawn on {bare}: it was run on from the others.")
            )
        elif station == "waist":
            place = "laid" if how == _BY_TIPS else "presumed at the narrowest place"
            rows.append(LevelFound(station, True, f"The waist was {place}{f', {how}' * bool(how)}."))
        else:
            rows.append(LevelFound(station, True, f"The {station} was laid where every piece is still whole."))
    return tuple(rows)


def _with_heights(piece: Piece, heights: Mapping[str, float], told: set[str]) -> Levels:
    """The piece's levels: told heights before its own, its own before presumed ones."""
    drawn = {station: line for station, height in heights.items() if (line := drawn_level(piece, height))}
    levels = {**drawn, **piece.levels, **{station: drawn[station] for station in told if station in drawn}}
    return {station: levels[station] for station in STATIONS if station in levels}


def _no_waist(proposal: Proposal, pieces: Sequence[Proposed], levels: Mapping[str, Levels]) -> list[Mistake]:
    """A mistake where no waist could be found."""
    if all(one.is_stored for one in pieces):
        return []
    half = [pieces[n].piece.name for n in chained(pieces)]
    high = max(bounds(one.piece).top - bounds(one.piece).bottom for one in pieces)
    bare = [
        one for one in pieces
        if "waist" not in levels.get(one.piece.name, {}) and one.piece.name in half
        and bounds(one.piece).top - bounds(one.piece).bottom > high / 2.0
    ]  # fmt: skip
    if not bare or (len(bare) < len(pieces) and lie_level([one.piece for one in pieces])):
        return []
    names = ", ".join(f"“{one.piece.name}”" for one in bare)
    what = f"The waist can't be presumed for {names}: nowhere plainly narrower than above and below."
    line = "# level: waist up=0" if proposal.is_table else "levels: {waist: 5 1/4 in}"
    where = "the table, with its height" if proposal.is_table else "a labels file, with its height"
    return [Mistake("waist", what, f"Write in {where}: {line}", code="no-waist")]
