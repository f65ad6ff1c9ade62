"""What pieces, edges, slits and bones are called in running words: the third panel, its front seam, slit 4.

Stored names are short (``p3``, ``front-seam``); a maker reads them as she would say them. Bones are numbered through
the whole pattern, from centre front to centre back, so that each has one number on every sheet; a channel bears the
number of its bone. The numbers hang on the versions that are shown, so a sentence about bones keeps them as values
(`OfBones`) until it is said.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError, Mistake
from diagnose.pattern.outline import Channel, Edge, EdgeRef, Pattern, Piece, pair_and_side
from diagnose.pattern.tolerances import SEAM_MATCH_TOL_MM
from diagnose.sentences import listed, upper_first
from diagnose.units import Unit, both, in_inches, short

__all__ = [
    "Bones", "BonesMistake", "Note", "OfBones", "Parts", "bone_number", "bone_numbers", "bones_mistake",
    "channels_words", "edge_title", "edge_words", "notes_said", "numbered", "piece_called", "piece_first",
    "piece_quoted", "piece_title", "piece_words", "place_title", "reworded", "seam_quoted", "seam_title", "seam_words",
    "slit_title", "too_much_to_sew", "way_square",
]  # fmt: skip

ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh",
            "twelfth")  # fmt: skip
EDGE_NOUNS = ("edge", "seam", "hem", "neck", "armhole", "neckline", "side", "front", "back", "top", "bottom", "end",
              "line")  # fmt: skip
PIECE_NOUNS = ("panel", "front", "back", "side", "gore", "gusset", "strap", "body", "stomacher")
NUMBERED = re.compile(r"(?:p|panel)[ -]?(\d{1,2})")
SHORT_SLIT = re.compile(r"s(\d+)")
LAST_DIGITS = re.compile(r"\d+$")

Bones = Mapping[tuple[str, str], int]
"""The number of each bone, by its piece and channel."""
Parts: TypeAlias = tuple[str | tuple[str, ...], ...]
"""A sentence: what it says, and between that the channels that it names, by their stored names."""


def way_square(off_mm: float) -> str:
    """Which way a line goes square to itself, inwards positive: never in or out alone, which are read as the unit."""
    return "inwards" if off_mm > 0.0 else "outwards"


def piece_title(name: str) -> str:
    """The piece without an article: third panel; right bodies; side back."""
    pair, side = pair_and_side(name)
    if side:
        return f"{side} {piece_title(pair)}"
    number = NUMBERED.fullmatch(name.lower())
    if number and 0 < int(number[1]) <= len(ORDINALS):
        return f"{ORDINALS[int(number[1]) - 1]} panel"
    return name.replace("-", " ").replace("_", " ")


def piece_quoted(name: str) -> str:
    """The piece by its own name, as the drawing it came in calls it: “third panel”."""
    return f"“{piece_title(name)}”"


def piece_words(name: str) -> str:
    """The piece as in running words: the third panel; the bodies piece; gore 2."""
    called = piece_called(name)
    return called if called[-1:].isdigit() else f"the {called}"


def piece_first(name: str) -> str:
    """The piece as it begins a sentence: The third panel."""
    return upper_first(piece_words(name))


def piece_called(name: str) -> str:
    """The piece without an article, and yet as in running words: third panel; bodies piece."""
    title = piece_title(name)
    known = title.split(" ")[-1].lower() in PIECE_NOUNS or re.search(r"\d$", title)
    return title if known else f"{title} piece"


def edge_title(edge: Edge) -> str:
    """The edge without an article: hem; lacing edge; back seam 3."""
    *words, last = edge.name.replace("-", " ").split(" ")
    bare, number = (words, [last]) if last.isdigit() else ([*words, last], [])
    noun = [] if bare and bare[-1].lower() in EDGE_NOUNS else [_noun(edge)]
    return " ".join([*bare, *noun, *number])


def edge_words(edge: Edge) -> str:
    """The edge as in running words: the hem; the lacing edge."""
    return f"the {edge_title(edge)}"


def seam_title(piece: Piece, edge: Edge) -> str:
    """An edge with its piece: third panel, front seam."""
    return f"{piece_title(piece.name)}, {edge_title(edge)}"


def seam_words(pattern: Pattern, name: str) -> str:
    """A seam by the two edges that it joins: Second panel, back seam, and third panel, front seam."""
    seam = next((one for one in pattern.seams if one.name == name), None)
    said = [place_title(pattern, *ref) for ref in seam.refs] if seam else [name.replace("-", " ")]
    words = ", and ".join(said)
    return upper_first(words)


def seam_quoted(name: str) -> str:
    """A seam by its own name, where the sentence tells its edges: seam “side seam”."""
    return f"seam “{name.replace('-', ' ')}”"


def place_title(pattern: Pattern, piece: str, edge: str) -> str:
    """An edge, or the lips of a slit, with its piece, by their stored names."""
    found = [(one, line) for one in pattern.pieces if one.name == piece for line in one.edges if line.name == edge]
    if found:
        return seam_title(*found[0])
    return f"{piece_title(piece)}, {slit_title(EdgeRef(piece, edge).slit or edge)}"


def _noun(edge: Edge) -> str:
    return "seam" if edge.role == "seam" else "edge" if edge.role in ("lacing", "opening", "top", "bottom") else "line"


def slit_title(name: str) -> str:
    """The slit without an article: slit 4."""
    bare = SHORT_SLIT.fullmatch(name)
    return f"slit {bare[1]}" if bare else name.replace("-", " ") if "slit" in name else f"slit {name}"


def too_much_to_sew(over_mm: float, beside: str = "", unit: Unit = "in") -> str:
    """What two edges differ by, and what is the most that can be sewn, to follow on “differ by”.

    Args:
        over_mm: what they differ by.
        beside: what is said of it besides, after the figure.
        unit: hers.
    """
    just = in_inches(abs(over_mm)) == in_inches(SEAM_MATCH_TOL_MM)
    much = f"{'a little over ' if just else ''}{both(abs(over_mm), unit)}{beside}"
    return f"{much}; more than {short(SEAM_MATCH_TOL_MM, unit)} can't be sewn flat."


def bone_numbers(*patterns: Pattern | None) -> Bones:
    """The number of each channel, by piece and name: that in its name where no two have the same; else in order.

    Args:
        patterns: one pattern, or its versions with the oldest first: what a later one adds is numbered after the rest.
    """
    numbers: dict[tuple[str, str], int] = {}
    for pattern in patterns:
        own = [(piece, channel) for piece in (pattern.pieces if pattern else ()) for channel in piece.channels]
        named = {
            (pair_and_side(piece.name)[0], c.name): int(found[0])
            for piece, c in own
            if (found := LAST_DIGITS.search(c.name))
        }
        told = named if len(set(named.values())) == len(named) else {}
        known = set(numbers)
        for piece, channel in sorted(
            own, key=lambda one: (pattern.pieces.index(one[0]) if pattern else 0, _out(one[1]))
        ):
            key, pair = (piece.name, channel.name), (pair_and_side(piece.name)[0], channel.name)
            if key not in numbers:
                same = numbers[pair] if pair in known else told.get(pair)
                taken = set(numbers.values())
                numbers[key] = same or next(n for n in range(1, len(own) + len(taken) + 2) if n not in taken)
    return numbers


def _out(channel: Channel) -> float:
    """How far from centre front the channel lies."""
    return sum(point.x for point in channel.line) / len(channel.line)


def bone_number(bones: Bones, piece: str, channel: str) -> str:
    """A bone by its number; by its name where it has none."""
    number = bones.get((piece, channel)) or bones.get((pair_and_side(piece)[0], channel))
    return str(number) if number else channel


def channels_words(bones: Bones, piece: str, channels: Sequence[str]) -> str:
    """Channels in running words: channel 4; channels 4 and 5."""
    names = [bone_number(bones, piece, channel) for channel in channels]
    return f"channel{'' if len(names) == 1 else 's'} {listed(names)}"


class OfBones(Struct, frozen=True):
    """A sentence about bones of one piece.

    Attributes:
        piece: the piece, by its stored name.
        parts: what is said, and which channels are named in it.
    """

    piece: str
    parts: Parts

    def said(self, bones: Bones) -> str:
        """The sentence, each bone by its number; by its channel's name where it has none."""
        named = (one if isinstance(one, str) else channels_words(bones, self.piece, one) for one in self.parts)
        return upper_first("".join(named))


Note: TypeAlias = str | OfBones
"""What an operation has to say, in words but for the numbers of bones."""


def reworded(note: Note, words: Callable[[str], str]) -> Note:
    """The note with what it says put otherwise, say in another unit."""
    if isinstance(note, str):
        return words(note)
    return replace(note, parts=tuple(words(one) if isinstance(one, str) else one for one in note.parts))


def notes_said(notes: Iterable[Note], bones: Bones) -> tuple[str, ...]:
    """What operations had to say, in words."""
    return tuple(note if isinstance(note, str) else note.said(bones) for note in notes)


class BonesMistake(Mistake, frozen=True, kw_only=True):
    """A mistake about bones.

    Attributes:
        of: what is wrong, which `what` says by the channels' names.
    """

    of: OfBones


def bones_mistake(where: str, of: OfBones, do: str, *, code: str) -> BonesMistake:
    """A mistake about bones, called by their channels' names until their numbers are known."""
    return BonesMistake(where, of.said({}), do, code=code, of=of)


def numbered(error: FitError, *patterns: Pattern | None) -> FitError:
    """The refusal with bones by their numbers in the pattern; `patterns` are its versions, the oldest first."""
    if not any(isinstance(one, BonesMistake) for one in error.mistakes):
        return error
    bones = bone_numbers(*patterns)
    return FitError(replace(m, what=m.of.said(bones)) if isinstance(m, BonesMistake) else m for m in error.mistakes)
