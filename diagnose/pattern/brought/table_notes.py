"""The # lines of a point table: what the measured points do not say.

    # name: underarm panels                       else the file's name
    # unit: in                                    else --unit, or hers
    # closure: back                               else as the garment is said to close, else back
    # cut: front fold                             else fold where an edge has that role, else pair
    # level: hip down=3-1/2 piece=front           without piece: across every piece it crosses
    # seam: side front/side back/side ease=1/8    without ease: none
    # channel: front f1 width=3/8 2,-3 2,6-1/2    its middle line; points are out,up
    # slit: front s1 3,-3 3,0                     from its foot on the bottom edge to its tip
    # landmark: front bust-point 3-1/2,7
    # grain: front 2,-2 2,6
    # notch: front/side 3-1/4                     from the start of the edge
    # sure: part                                  what was beyond belief and is so; part: it is part of a garment

Blanks part the words, so a fraction is written 3-1/2 and a name without a blank. Other words after # are a remark.
Without a level of its own the waist lies at 0, and top and bottom at the greatest and least height that crosses each
piece from edge to edge.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from difflib import get_close_matches

from msgspec import Struct, field

from diagnose.errors import quoted
from diagnose.model.stations import STATIONS
from diagnose.pattern.brought.believing import SURE_WORDS
from diagnose.pattern.form.reader import CLOSURES
from diagnose.pattern.form.strict import Reading
from diagnose.pattern.outline import Channel, EdgeRef, Notch, Point, Seam, Slit
from diagnose.units import UNITS, Unit

__all__ = ["LevelNote", "Notes", "read_notes"]

NEAR_ENOUGH_RATIO = 0.8


class LevelNote(Struct, frozen=True):
    """A level wanted at a height, across one piece or (None) across all."""

    where: str
    station: str
    up_mm: float
    piece: str | None


class Notes(Struct):
    """What the # lines say; marks, landmarks and grain by piece."""

    name: str = ""
    unit: Unit = "in"
    closure: str = ""
    cuts: dict[str, str] = field(default_factory=dict)
    levels: list[LevelNote] = field(default_factory=list)
    seams: list[Seam] = field(default_factory=list)
    marks: dict[str, list[Channel | Slit | Notch]] = field(default_factory=dict)
    landmarks: dict[str, dict[str, Point]] = field(default_factory=dict)
    grain: dict[str, tuple[Point, Point]] = field(default_factory=dict)
    sure: list[str] = field(default_factory=list)
    has_unit: bool = False
    named: list[tuple[str, str]] = field(default_factory=list)
    """The pieces the lines name, each after its place."""


class _Line(Struct, frozen=True):
    where: str
    words: tuple[str, ...]
    options: dict[str, str]
    rest: str


def read_notes(lines: Iterable[tuple[str, str]], reading: Reading) -> Notes:
    """What the # lines say; each line comes with its place."""
    notes = Notes(unit=reading.unit)
    found = [entry for at, line in lines if (entry := _parsed(at, line, reading)) is not None]
    # The unit comes first wherever it stands: every other length is read in it.
    for word, line in sorted(found, key=lambda entry: entry[0] != "unit"):
        usage, take = _WORDS[word]
        if not take(line, notes, reading):
            what = f"The # {word} line is not complete."
            reading.note(line.where, what, f"Write it as: # {word}: {usage}", code="incomplete")
        elif piece := _piece_of(word, line):
            notes.named.append((line.where, piece))
    return notes


def _parsed(at: str, text: str, reading: Reading) -> tuple[str, _Line] | None:
    match = re.fullmatch(r"\s*#\s*([A-Za-z-]+)\s*:(.*)", text)
    if match is None:
        return None
    word, rest = match[1].lower(), match[2].strip().rstrip(',;"\t ').strip()
    if word not in _WORDS:
        near = get_close_matches(word, _WORDS, n=1, cutoff=NEAR_ENOUGH_RATIO)
        if near:
            reading.note(at, f"{quoted(word)} is no word of a # line.", f"Did you mean {near[0]}?", code="not-a-word")
        return None
    parts = rest.split()
    options = dict(part.split("=", 1) for part in parts if "=" in part)
    return word, _Line(at, tuple(part for part in parts if "=" not in part), options, rest=rest)


def _points(words: Sequence[str], at: str, reading: Reading) -> tuple[Point, ...]:
    """The points written out,up (or out;up, with decimal commas); none when one is not two lengths."""
    found: list[Point] = []
    for word in words:
        parts = word.replace(",", ".").split(";") if ";" in word else word.split(",")
        numbers = [reading.number(part, at) for part in parts]
        if len(numbers) != 2:
            return ()
        found.append(Point(numbers[0] or 0.0, numbers[1] or 0.0))
    return tuple(found)


def _piece_of(word: str, line: _Line) -> str | None:
    """The piece whose paper the line tells of."""
    if word in ("cut", "channel", "slit", "landmark", "grain", "notch"):
        return line.words[0].partition("/")[0]
    return line.options.get("piece") if word == "level" else None


def _name(line: _Line, notes: Notes, reading: Reading) -> bool:
    notes.name = line.rest
    return bool(line.rest)


def _unit(line: _Line, notes: Notes, reading: Reading) -> bool:
    unit = reading.word(line.rest or None, UNITS, line.where, key="unit")
    notes.unit = reading.unit = unit or notes.unit
    notes.has_unit = True
    return True


def _closure(line: _Line, notes: Notes, reading: Reading) -> bool:
    notes.closure = reading.word(line.rest or None, CLOSURES, line.where.rpartition(",")[0], key="closure") or "back"
    return True


def _cut(line: _Line, notes: Notes, reading: Reading) -> bool:
    if len(line.words) != 2:
        return False
    piece, notes.cuts[piece] = line.words
    return True


def _level(line: _Line, notes: Notes, reading: Reading) -> bool:
    heights = [key for key in ("up", "down") if key in line.options]
    if len(line.words) != 1 or len(heights) != 1:
        return False
    station = reading.word(line.words[0], STATIONS, line.where, key="station")
    height = reading.number(line.options[heights[0]], line.where)
    piece = line.options.get("piece")
    if station is not None and height is not None:
        notes.levels.append(LevelNote(line.where, station, -height if heights == ["down"] else height, piece=piece))
    return True


def _seam(line: _Line, notes: Notes, reading: Reading) -> bool:
    refs = [word.split("/", 1) for word in line.words[1:]]
    if [len(ref) for ref in refs] != [2, 2]:
        return False
    ease = reading.number(line.options.get("ease", "0"), line.where)
    notes.seams.append(Seam(line.words[0], EdgeRef(*refs[0]), EdgeRef(*refs[1]), ease=ease or 0.0))
    return True


def _channel(line: _Line, notes: Notes, reading: Reading) -> bool:
    points = _points(line.words[2:], line.where, reading)
    if len(points) < 2 or "width" not in line.options:
        return False
    width = reading.number(line.options["width"], line.where)
    notes.marks.setdefault(line.words[0], []).append(Channel(line.words[1], points, width or 0.0))
    return True


def _slit(line: _Line, notes: Notes, reading: Reading) -> bool:
    points = _points(line.words[2:], line.where, reading)
    if len(points) < 2:
        return False
    notes.marks.setdefault(line.words[0], []).append(Slit(line.words[1], points))
    return True


def _landmark(line: _Line, notes: Notes, reading: Reading) -> bool:
    points = _points(line.words[2:], line.where, reading)
    if len(points) != 1:
        return False
    notes.landmarks.setdefault(line.words[0], {})[line.words[1]] = points[0]
    return True


def _grain(line: _Line, notes: Notes, reading: Reading) -> bool:
    points = _points(line.words[1:], line.where, reading)
    if len(points) != 2:
        return False
    notes.grain[line.words[0]] = (points[0], points[1])
    return True


def _notch(line: _Line, notes: Notes, reading: Reading) -> bool:
    piece, _, edge = line.words[0].partition("/") if line.words else ("", "", "")
    if not edge or len(line.words) != 2:
        return False
    at = reading.number(line.words[1], line.where)
    notes.marks.setdefault(piece, []).append(Notch(edge, at or 0.0))
    return True


def _sure(line: _Line, notes: Notes, reading: Reading) -> bool:
    words = [reading.word(word.strip(","), SURE_WORDS, line.where, key="sure") for word in line.words]
    notes.sure += [word for word in words if word is not None]
    return bool(line.words)


_WORDS: dict[str, tuple[str, Callable[[_Line, Notes, Reading], bool]]] = {
    "name": ("underarm panels", _name),
    "unit": ("in", _unit),
    "closure": ("back", _closure),
    "cut": ("front fold", _cut),
    "level": ("hip down=3-1/2 piece=front", _level),
    "seam": ("side front/side back/side ease=1/8", _seam),
    "channel": ("front f1 width=3/8 2,-3 2,6", _channel),
    "slit": ("front s1 3,-3 3,0", _slit),
    "landmark": ("front bust-point 3-1/2,7", _landmark),
    "grain": ("front 2,-2 2,6", _grain),
    "notch": ("front/side 3-1/4", _notch),
    "sure": ("part", _sure),
}
