"""What a pattern brought in is understood to be: one value, shown, corrected, and stored once nothing is open.

`understand` takes a `Sketch` from any source (a drawing, a photograph) and the `Labels` that correct it, and gives an
`Understood`; to correct it, change the labels (`correcting`) and understand the sketch again. Nothing here raises for
what is missing or beyond belief: it is told in `asks`, each with the very lines that settle it, and `settled` refuses.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.model.stations import STATIONS
from diagnose.pattern.brought.bands import without_bands
from diagnose.pattern.brought.believing import (
    APART,
    NO_LIMITS,
    PART,
    Believable,
    doubt,
    doubts_of,
    read_in,
)
from diagnose.pattern.brought.drawings.ordering import tells_side
from diagnose.pattern.brought.drawings.outlines import Found, Outline, outlines_of
from diagnose.pattern.brought.sketch import Sketch, mirrored, rescaled
from diagnose.pattern.brought.told import laid_back
from diagnose.pattern.brought.understood.applying import apply_labels, draft, lowest_mm
from diagnose.pattern.brought.understood.drawn_marks import with_marks
from diagnose.pattern.brought.understood.inside import lines_inside
from diagnose.pattern.brought.understood.joining_edges import propose_joined
from diagnose.pattern.brought.understood.labels import NO_LABELS, Labels
from diagnose.pattern.brought.understood.levels import presumed_heights
from diagnose.pattern.brought.understood.proposal import (
    Proposal,
    Proposed,
    as_stored,
    front_unsure,
    tells_apart,
)
from diagnose.pattern.brought.understood.seams import apart_of, presumed_seams, set_in, unsewn
from diagnose.pattern.brought.understood.stations_found import LevelFound, levels_of, no_waist
from diagnose.pattern.form.checks import piece_mistakes
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.in_words import piece_quoted, seam_title
from diagnose.pattern.measure import garment_girth
from diagnose.pattern.outline import Pattern, Seam
from diagnose.units import UNIT_MM, Unit

__all__ = ["SeamFound", "Terms", "Understood", "understand", "understood_of"]


class SeamFound(Struct, frozen=True):
    """Two edges taken to be sewn together, and why."""

    seam: Seam
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
    is_apart = APART in (*labels.sure, *terms.sure)
    how_drawn = partial(outlines_of, size=labels.size, is_apart=is_apart, unit=terms.unit)
    found = how_drawn(sketch, is_back_middle=labels.from_right, count=len(labels.order))
    if found.is_from_back and not labels.from_right:
        sketch = mirrored(sketch)
        found = how_drawn(sketch, is_back_middle=True)
        how = "The names say that the back lies on the left: the drawing was turned over."
        found = replace(found, said=(how, *found.said))
    closure = labels.closure or terms.closure
    if labels.order:
        found = _reordered(found, labels.order, sketch.name)
    found = replace(found, outlines=tuple(_called(one, labels) for one in found.outlines))
    proposal = propose_joined(found.outlines, labels, sketch.name.rpartition(".")[0] or sketch.name, closure=closure)
    if closure == "back" and not labels.from_right and not found.is_from_back and _is_front_open(proposal, sketch):
        found = replace(found, asks=(*found.asks, _FRONT))
    inside, told = lines_inside(proposal, found.loose, sketch.words)
    marks = replace(sketch, strokes=(*sketch.strokes, *inside), dots=(*sketch.dots, *found.notches))
    marked = as_stored(with_marks(proposal, marks))
    marked = replace(marked, said=(*sketch.said, *found.said, *marked.said, *told))
    made = understood_of(apply_labels(marked, labels, terms.unit), sketch.name, terms, labels=labels)
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
    return replace(made, asks=tuple(doubt(a.where, a.what, typed=fits) if a.code in _OF_SIZE else a for a in made.asks))


_FRONT = Mistake(
    "front", "It can't be told on which side the centre front lies: the edge on the left slants, and the one on the "
    "right is upright, as a centre front mostly is.",
    "", code="sure-front",
    typed="If the front is on the right, write in a labels file: centre-front: right; if on the left, say --sure "
    "front.",
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
    sure = {*labels.sure, *terms.sure}
    return tuple(ask for ask in asks if not ask.sure_word or not sure & {ask.sure_word, PART})


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
    pieces, found_seams, said, of_seams = _sewn(proposal, terms.unit)
    seams, bare = tuple(one.seam for one in found_seams), [one.piece for one in pieces]
    unsure = [one.unsure for one in proposal.pieces if one.unsure is not None]
    found, levels = ({}, ()) if unsure else levels_of(proposal, bare, seams, unit=terms.unit)
    asks = unsure or no_waist(proposal, pieces, found, unit=terms.unit)
    sewn = replace(proposal, pieces=pieces)
    laid = [level.why for level in levels if level.is_laid]
    told = (*proposal.sentences, *_apart_said(pieces, seams), *laid, *filter(None, (of_seams,)), *said)
    made = Understood(
        sewn, labels, None, seams=found_seams, levels=levels, said=tuple(dict.fromkeys(told)), said_of_seams=of_seams
    )
    if asks:
        crossed = [m for one in bare for m in piece_mistakes(one, f"{where}, piece {one.name}", terms.unit)]
        drafts = [] if proposal.is_table else [_draft_of(sewn, seams, where)]
        return replace(made, asks=tuple(crossed or [*asks, *drafts]))
    done = tuple(replace(one, levels=found.get(one.name, one.levels)) for one in bare)
    pattern = Pattern(proposal.name, proposal.closure, done, seams=seams, extra=proposal.extra)
    try:
        written = checked or read_pattern(to_json(pattern), where, terms.unit)
    except FitError as error:
        return replace(made, asks=error.mistakes)
    pattern = pattern if proposal.is_table else written
    doubts = [*proposal.asks]
    doubts += doubts_of(pattern, terms.believable, terms.unit, told_mm=told_mm, is_table=proposal.is_table)
    if terms.believable.is_whole and proposal.seams is None:
        doubts += unsewn(sewn, seams, terms.unit)
    return replace(made, pattern=pattern, asks=_still_open(doubts, labels, terms))


def _apart_said(pieces: Sequence[Proposed], seams: Sequence[Seam]) -> tuple[str, ...]:
    names = [] if all(one.is_stored for one in pieces) else apart_of(pieces, seams)
    if not names:
        return ()
    called = ", ".join(map(piece_quoted, names))
    they, them = ("it is", "it") if len(names) == 1 else ("they are", "them")
    return (f"{called}: taken for made apart; until it is said what {they} sewn to, no girth has {them}.",)


def _draft_of(proposal: Proposal, seams: Sequence[Seam], where: str) -> Mistake:
    text = f"This draft may be used, corrected, as a file given with --labels:\n\n{drafted(proposal, seams)}"
    what = "Not everything needed can be presumed from the drawing."
    return Mistake(where, what, "", typed=text, code="labels-wanted")


def drafted(proposal: Proposal, seams: Sequence[Seam]) -> str:
    """The draft of a labels file, with the levels and seams that would be presumed."""
    presumed = presumed_heights([one.piece for one in proposal.pieces])
    low = lowest_mm(proposal)
    heights = {"waist": presumed["waist"] - low} if "waist" in presumed else {}
    return draft(replace(proposal, heights_mm={**heights, **proposal.heights_mm}), seams)


def _sewn(proposal: Proposal, unit: Unit) -> tuple[tuple[Proposed, ...], tuple[SeamFound, ...], tuple[str, ...], str]:
    """The pieces, what is sewn to what, what is said of that, and the sentence that names the seams presumed."""
    if proposal.seams is not None:
        why = "It is stored so." if all(one.is_stored for one in proposal.pieces) else "You said so."
        return proposal.pieces, tuple(SeamFound(seam, why) for seam in proposal.seams), (), ""
    pieces, seams, said = presumed_seams(proposal.pieces, unit)
    into, into_said = set_in(pieces)
    named = {one.piece.name: one.piece for one in pieces}
    sides = [[seam_title(named[ref.piece], named[ref.piece].edge(ref.edge)) for ref in one.refs] for one in seams]
    pairs = "; ".join(" to ".join(titles) for titles in sides)
    of_seams = f"Presumed to be sewn, their lengths being alike: {pairs}." if seams else ""
    why = "Their lengths are alike, and the two pieces lie side by side."
    found = [SeamFound(seam, why) for seam in seams]
    found += [SeamFound(seam, "Its legs are as long as the slit.") for seam in into]
    return pieces, tuple(found), (*said, *into_said), of_seams
