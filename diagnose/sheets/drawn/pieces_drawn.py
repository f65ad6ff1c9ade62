"""The pieces of a drawing before they are drawn: what was done to each, and how much room its words will want.

All of it follows from the outlines and from what the operations tell: it is worked out once for every drawing of a
change, and letters can be as high as they have to be before anything is drawn. Millimetres, y upwards; a figure lies as
its piece is stored, its dimensions set in letters 1 mm high.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from diagnose.model.stations import STATIONS
from diagnose.pattern.altered import Zone
from diagnose.pattern.geometry.bezier import Box, around, box_of
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.in_words import Bones, bone_numbers
from diagnose.pattern.measure import bounds, cut_level
from diagnose.pattern.outline import Pattern, Piece, Point
from diagnose.sheets.drawn.differences import added_paper, line_moves, taken_paper
from diagnose.sheets.drawn.drawing import Area, Measure, Path, Text, words_corners, words_of
from diagnose.sheets.drawn.pattern_words import Lettering, level_ways, measure_told
from diagnose.sheets.drawn.placing import Placed, Standing, places_of, standing_pieces
from diagnose.sheets.drawn.work_layers import Lettered, Moved, letter_text, letter_ways, work_on
from diagnose.units import Unit

__all__ = ["Figure", "Figures", "figures_of", "is_redrawn"]

FEW_SPOTS = 2
NAMED_ROOM = 2.5
"""Letters of room between pieces in rows without any dimension: names are longer than narrow pieces are wide."""

LETTERED_ROOM = 1.0
"""Letters of room more between pieces that have more marks than so many: their letters stand there."""


class Figure(Struct, frozen=True):
    """A piece as it is stored, the older one beneath it, and what was done to it: paper, lines, amounts, letters."""

    stands: Standing
    changed: bool
    taken: tuple[Area, ...] = ()
    added: tuple[Area, ...] = ()
    lines: tuple[Path | Moved, ...] = ()
    measures: tuple[Measure, ...] = ()
    spots: tuple[tuple[str, Point], ...] = ()

    def measured(self, move: Affine, text_mm: float) -> Iterator[Measure]:
        """The dimensions where the move puts the piece, in letters so high."""
        piece = self.stands.piece
        for one in self.measures:
            told = measure_told(one, piece)
            yield replace(one, start=move(one.start), end=move(one.end), size_mm=text_mm, told=told)


class Figures(Struct, frozen=True):
    """The pieces of a pattern that are to be drawn, over those of the version before it where there is one."""

    pattern: Pattern
    over: bool
    bones: Bones
    pieces: tuple[Figure, ...]

    @property
    def boxes(self) -> list[Box]:
        """The box of each piece as it is now, where it is stored."""
        return [bounds(one.stands.piece) for one in self.pieces]

    def only(self, names: Collection[str]) -> Figures:
        """Some of the pieces."""
        return replace(self, pieces=tuple(one for one in self.pieces if one.stands.piece.name in names))

    def places(self, text_mm: float, room_letters: float, rows: int = 1) -> tuple[Placed, ...]:
        """Where each piece lies, so many letters apart where older pieces lie beneath."""
        lettered = max((len(one.spots) for one in self.pieces), default=0) > FEW_SPOTS
        beside = room_letters + (LETTERED_ROOM if lettered else 0.0) if self.over else NAMED_ROOM if rows > 1 else 0.0
        between_mm = text_mm * beside
        return places_of([one.stands for one in self.pieces], between_mm, rows)

    def at(self, place: Placed) -> Figure:
        """The piece that lies there."""
        return next(one for one in self.pieces if one.stands.piece is place.piece)

    def reach(self, text_mm: float, room_letters: float, rows: int = 1, *, least: float = 0.0) -> Box:
        """What the pieces take up with the words on them, each where it stands best.

        Args:
            text_mm: the height of the letters.
            room_letters: how many letters apart the pieces stand.
            rows: in how many rows.
            least: no letters are lower than so much of that height.
        """
        places = self.places(text_mm, room_letters, rows)
        corners = [corner for text in self._words(places, text_mm, least) for corner in words_corners(text)]
        return around([at.box for at in places] + ([box_of([corners])] if corners else []))

    def _words(self, places: Sequence[Placed], text_mm: float, least: float) -> Iterator[Text]:
        """Dimensions, letters and levels, each in the first place it may have; names stand on their pieces."""
        named = set[str]()
        for at in places:
            one = self.at(at)
            yield from (words_of(measure) for measure in one.measured(at.move, text_mm))
            middle = at.box.middle
            for mark, spot in one.spots:
                yield letter_text(mark, next(letter_ways(at.move(spot), middle, text_mm)), text_mm)
            for station in (name for name in STATIONS if name in at.piece.levels and name not in named):
                ends = [at.move(p) for part in cut_level(at.piece, at.piece.levels[station]).parts for p in part]
                if ends:
                    named.add(station)
                    turned = at.piece.side == "right"
                    yield from next(level_ways(station, ends, Lettering(text_mm, least), turned=turned))


def figures_of(
    pattern: Pattern, before: Pattern | None, unit_: Unit, *, only: Collection[str] | None = None,
    zones: Sequence[Zone] = (), letters: Sequence[Lettered] = (),
) -> Figures:  # fmt: skip
    """The pieces to be drawn.

    Args:
        pattern: as it is now.
        before: as it was.
        unit_: of the dimensions.
        only: names of the pieces wanted; all of them when left out.
        zones: what was done, as the operations tell it.
        letters: the marks of the steps by hand.
    """
    pieces = tuple(_figure(one, unit_, zones, letters=letters) for one in standing_pieces(pattern, before, only))
    return Figures(pattern, before is not None, bone_numbers(before, pattern), pieces=pieces)


def _figure(stands: Standing, unit_: Unit, zones: Sequence[Zone], letters: Sequence[Lettered]) -> Figure:
    new, old = stands.piece, stands.old
    names = (new.name, *((old.name,) if old and new.side != "left" else ()))
    spots = tuple((one.mark, one.spot) for one in letters if one.piece in names)
    changed = old is not None and is_redrawn(new, old)
    work = work_on(new, zones, names, unit_=unit_)
    if work is not None:
        return Figure(
            stands, changed, work.taken, added=work.added, lines=work.lines, measures=work.measures, spots=spots
        )
    if old is None or not changed:
        return Figure(stands, changed, spots=spots)
    moves = line_moves(old, new, unit_)
    return Figure(stands, changed, taken_paper(old, new), added=added_paper(old, new), measures=moves, spots=spots)


def is_redrawn(new: Piece, old: Piece) -> bool:
    """Whether any line of the outline is no longer what it was."""
    return [edge.segments for edge in new.edges] != [edge.segments for edge in old.edges]
