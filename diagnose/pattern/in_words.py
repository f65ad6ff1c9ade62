"""What pieces, edges and slits are called in running words: the third panel, its front seam, slit 4.

Stored names are short (``p3``, ``front-seam``); a maker reads them as she would say them.
"""

from __future__ import annotations

import re

from diagnose.pattern.outline import Edge, Pattern, Piece, pair_and_side
from diagnose.sentences import upper_first

__all__ = [
    "edge_title", "edge_words", "piece_called", "piece_title", "piece_words", "place_title", "seam_title", "seam_words",
    "slit_title", "way_square",
]  # fmt: skip

ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh",
            "twelfth")  # fmt: skip
EDGE_NOUNS = ("edge", "seam", "hem", "neck", "armhole", "neckline", "side", "front", "back", "top", "bottom", "end",
              "line")  # fmt: skip
PIECE_NOUNS = ("panel", "front", "back", "side", "gore", "gusset", "strap", "body", "stomacher")
NUMBERED = re.compile(r"(?:p|panel)[ -]?(\d{1,2})")
SHORT_SLIT = re.compile(r"s(\d+)")


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


def piece_words(piece: Piece) -> str:
    """The piece as in running words: the third panel; the bodies piece."""
    return f"the {piece_called(piece)}"


def piece_called(piece: Piece) -> str:
    """The piece without an article, and yet as in running words: third panel; bodies piece."""
    title = piece_title(piece.name)
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
    said = [place_title(pattern, *ref) for ref in (seam.a, seam.b)] if seam else [name.replace("-", " ")]
    words = ", and ".join(said)
    return upper_first(words)


def place_title(pattern: Pattern, piece: str, edge: str) -> str:
    """An edge, or the lips of a slit, with its piece, by their stored names."""
    found = [(one, line) for one in pattern.pieces if one.name == piece for line in one.edges if line.name == edge]
    if found:
        return seam_title(*found[0])
    return f"{piece_title(piece)}, {slit_title(edge.removeprefix('slit:'))}"


def _noun(edge: Edge) -> str:
    return "seam" if edge.role == "seam" else "edge" if edge.role in ("lacing", "opening", "top", "bottom") else "line"


def slit_title(name: str) -> str:
    """The slit without an article: slit 4."""
    bare = SHORT_SLIT.fullmatch(name)
    return f"slit {bare[1]}" if bare else name.replace("-", " ") if "slit" in name else f"slit {name}"
