"""A pattern brought in, held against what can be believed of it and its wearer, and what is said of it then."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from diagnose.casebook import Photograph
from diagnose.errors import FitError, Mistake, nearest, quoted
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.model.tryon_reading import NO_WORDS, read_tryon
from diagnose.pattern.brought import Terms, Understood, file_bytes
from diagnose.pattern.brought.believing import SURE_WORDS, Believable
from diagnose.pattern.form.reader import CLOSURES
from diagnose.pattern.measure import bounds, edge_length
from diagnose.pattern.outline import Edge, Pattern, Piece
from diagnose.pattern.told_otherwise import gussets_of, told_otherwise
from diagnose.sheets.words.parts import Said, hanging, heading, item, table
from diagnose.units import Unit, both, short

if TYPE_CHECKING:
    from diagnose.pattern.brought.photo.photographs import Photographed

__all__ = [
    "doubts_in", "garment_shown", "photograph_of", "photographed", "sure_of", "terms_for", "understood_parts",
    "understood_to_json", "with_told",
]  # fmt: skip

_IN_TABLE = "To say otherwise, write it in the table: # level:, # seam: and # cut: lines, and the roles of edges."
_IN_LABELS = "To say otherwise, give a labels file with --labels; name a new one, and a draft of it is shown."
_CUTS = {"fold": "on the fold", "pair": "a pair", "single": "one"}


def terms_for(
    unit: Unit, settings: Settings, about: Mapping[str, Any], *, is_told: bool = False, sure: Sequence[str] = ()
) -> Terms:
    """What is told beside a pattern's file.

    Args:
        unit: hers.
        settings: with what can be believed of a pattern.
        about: garment, target and wearer as in a try-on, as far as they are told.
        is_told: whether she named the unit with the file.
        sure: the words with which she settled what was beyond belief.

    Raises:
        FitError: when a girth or a target is none, or a word settles nothing.
    """
    odd = [word for word in sure if word not in SURE_WORDS]
    if odd:
        raise FitError(
            Mistake("--sure", f"{quoted(word)} is no word that settles anything.", nearest(word, SURE_WORDS),
                    code="unknown-word") for word in odd
        )  # fmt: skip
    told = {key: value for key in ("wearer", "target") if (value := about.get(key)) is not None}
    tryon = read_tryon({"id": "case", **told}, NO_WORDS, unit)
    wearer = tryon.wearer
    body = {"underbust": wearer.underbust_mm, "waist": wearer.waist_mm, "hip": wearer.hip_mm}
    gaps = tryon.target or dict.fromkeys(STATIONS, settings.mm("target-gap"))
    reduction = wearer.planned_reduction_mm or 0.0
    believable = Believable(
        waist=(settings.mm("believable-waist-least"), settings.mm("believable-waist-most")),
        height=(settings.mm("believable-height-least"), settings.mm("believable-height-most")),
        share=(settings.mm("believable-share-least"), settings.mm("believable-share-most")),
        body={name: mm - (reduction if name == "waist" else 0.0) for name, mm in body.items() if mm},
        gap={str(station): mm for station, mm in gaps.items()},
        is_whole=True,
    )
    garment = about.get("garment")
    closure = garment.get("closure") if isinstance(garment, Mapping) else None
    return Terms(unit, is_told, believable, sure=tuple(sure), closure=closure if closure in CLOSURES else "back")


def photographed(paths: Sequence[Path], ruler: str | None, unit: Unit) -> Photographed:
    """What photographs of one pattern show.

    Args:
        paths: the photographs.
        ruler: how long the card's rule measures, and the line across too where it was measured: ``199 mm, 91.5 mm``.
        unit: of lengths without one.

    Raises:
        FitError: when one is no sound photograph, or not true enough, or the rule can't be so long.
    """
    from diagnose.pattern.brought.photo.photographs import read_photos  # it brings OpenCV, which may not be there
    from diagnose.pattern.brought.photo.pixels import LARGEST_PHOTO
    from diagnose.pattern.brought.photo.printed_size import printed_of

    printed = None if ruler is None else printed_of(ruler, unit)
    return read_photos([(file_bytes(path, LARGEST_PHOTO), path.name) for path in paths], printed)


def photograph_of(found: Photographed, pattern: Pattern) -> Photograph:
    """The straightened picture that lies under a pattern made of it."""
    picture, (left, bottom, right, top) = found.under(pattern)
    return Photograph(
        picture, left, bottom, right_mm=right, top_mm=top, within_mm=found.truth.worst_mm, said=found.truth.sentence
    )


def with_told(understood: Understood, garment: Mapping[str, Any] | None, unit: Unit) -> Understood:
    """What is understood, with what the garment is told to be and the pattern shows otherwise said first of all."""
    if understood.pattern is None or not garment:
        return understood
    told = read_tryon({"id": "case", "garment": garment}, NO_WORDS, unit).garment
    return replace(understood, said=(*told_otherwise(understood.pattern, told), *understood.said))


def garment_shown(understood: Understood) -> dict[str, Any]:
    """What the pattern itself shows of the garment, as in a try-on; so that it need not be asked.

    Only what is there: a part that is not drawn may still be made.
    """
    pattern = understood.pattern
    if pattern is None:
        return {}
    shown: dict[str, Any] = {}
    if all(one.is_stored for one in understood.proposal.pieces):
        shown["closure"] = pattern.closure
        if any(edge.role == "lacing" for piece in pattern.pieces for edge in piece.edges):
            shown["fastening"] = "laced"
    names = " ".join(piece.name.casefold() for piece in pattern.pieces)
    shown |= {fact: True for fact, word in (("stomacher", "stomacher"), ("sleeves", "sleeve")) if word in names}
    if gussets := gussets_of(pattern):
        shown["gussets"] = gussets
    return shown


def doubts_in(understood: Understood) -> tuple[Mistake, ...]:
    """What is open only because it is beyond belief; none while anything else is open."""
    doubts = tuple(ask for ask in understood.asks if ask.sure_word)
    return doubts if len(doubts) == len(understood.asks) else ()


def sure_of(understood: Understood, words: Sequence[str]) -> Understood:
    """The pattern with those doubts settled."""
    return replace(understood, asks=tuple(ask for ask in understood.asks if ask.sure_word not in {*words}))


def understood_parts(understood: Understood, unit: Unit) -> Iterator[Said]:
    """What was understood, to be looked over: pieces, seams and why, levels, girths, everything presumed."""
    pattern = understood.pattern
    if pattern is None:
        raise FitError(understood.asks)
    yield from heading("Pieces, from the centre front on")
    yield from table(("piece", "cut", "wide by high", "edges"), [_piece_row(piece, unit) for piece in pattern.pieces])
    yield from heading("Sewn together")
    yield from _seam_parts(understood, unit)
    yield from heading("Laced, open and on the fold")
    ends = [(piece, edge) for piece in pattern.pieces for edge in piece.edges if edge.role in _ROLES]
    yield from hanging(f"{_ROLES[edge.role]}: {piece.name}, {edge.name}" for piece, edge in ends)
    if not ends:
        yield from hanging(["Nothing: no edge is laced, opens or lies on the fold."])
    yield from heading("Girth of the whole, edge to edge, without the gap")
    laid = {level.station for level in understood.levels if level.is_laid}
    girths = understood.girths_mm.items()
    yield from table(("", "", ""), [(name, both(mm, unit), "laid" if name in laid else "") for name, mm in girths])
    if understood.said:
        yield from heading("Presumed")
        for sentence in understood.said:
            if sentence != understood.said_of_seams:  # they stand in a table of their own
                yield from item(sentence)
        yield from hanging([_IN_TABLE if understood.proposal.is_table else _IN_LABELS])


_ROLES = {"lacing": "Laced", "opening": "Opens", "fold": "On the fold"}


def _piece_row(piece: Piece, unit: Unit) -> tuple[str, str, str, str]:
    box = bounds(piece)
    wide, high = (short(mm, unit) for mm in (box.wide, box.high))
    return piece.name, _CUTS[piece.cut], f"{wide} by {high}", ", ".join(edge.name for edge in piece.edges)


def _seam_parts(understood: Understood, unit: Unit) -> Iterator[Said]:
    pattern = understood.pattern
    edges = {(piece.name, edge.name): edge for piece in pattern.pieces for edge in piece.edges} if pattern else {}
    rows = []
    for found in understood.seams:
        a, b = (edges.get((ref.piece, ref.edge)) for ref in (found.seam.a, found.seam.b))
        rows.append(("/".join(found.seam.a), "to", "/".join(found.seam.b), _lengths(a, b, unit)))
    if rows:
        yield from table(("", "", "", ""), rows)
        yield from hanging(dict.fromkeys(found.why for found in understood.seams))
    else:
        yield from hanging(["Nothing."])


def _lengths(a: Edge | None, b: Edge | None, unit: Unit) -> str:
    if a is None or b is None:
        return ""
    one, other = short(edge_length(a), unit), short(edge_length(b), unit)
    return one if one == other else f"{one} to {other}"


def understood_to_json(understood: Understood) -> dict[str, Any]:
    """What was understood, as data."""
    pattern = understood.pattern
    pieces = pattern.pieces if pattern else tuple(one.piece for one in understood.proposal.pieces)
    return {
        "pieces": [
            {
                "name": piece.name,
                "cut": piece.cut,
                "edges": [{"name": e.name, "role": e.role, "length_mm": round(edge_length(e), 3)} for e in piece.edges],
            }
            for piece in pieces
        ],
        "seams": [
            {"name": one.seam.name, "a": list(one.seam.a), "b": list(one.seam.b), "why": one.why}
            for one in understood.seams
        ],
        "levels": [{"station": one.station, "laid": one.is_laid, "why": one.why} for one in understood.levels],
        "girths_mm": {station: round(mm, 3) for station, mm in understood.girths_mm.items()},
        "presumed": list(understood.said),
        "asks": [ask.to_json() for ask in understood.asks],
    }
