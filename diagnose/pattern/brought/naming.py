"""What the names in a drawing say: which line is an outline, a level or a mark, and of which piece.

A thing may have several names (label, title, id) and stands in groups or layers that have names too. Understood are:

- a piece's name, on a closed line or on the group round its lines; ``outline-NAME`` is that outline;
- ``PIECE.EDGE`` on one edge of it;
- ``PIECE.level.STATION``, ``PIECE.channel.NAME``, ``PIECE.slit.NAME``, ``PIECE.grain``, ``PIECE.landmark.NAME`` and
  ``PIECE.notch`` on its marks;
- a group named after what lies in it: ``outline``, ``levels``, ``channels``, ``slits``, ``grain``, ``notches``,
  ``landmarks``; groups of words, measures and test squares are left aside.

Names that a drawing program gave by itself (``path12``, ``Layer 1``) say nothing.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import cast

from msgspec import Struct

from diagnose.errors import printable
from diagnose.pattern.brought.sketch import Kind
from diagnose.pattern.form.strict import LONGEST_NAME

__all__ = ["MARKS", "Said", "apart_by_number", "clean_name", "cut_in", "name_in", "said_by"]

_BY_ITSELF = re.compile(
    r"(?:path|rect|g|group|svg|layer|line|polyline|polygon|circle|ellipse|use|text|tspan|symbol|compound|clip|shape"
    r"|block|defpoints|drawing|pattern|pieces?|page)?[\s_#*-]*(?:[\d\s_.:-]*)",
    re.IGNORECASE,
)
_HIDDEN_CODE = re.compile(r"_x([0-9A-Fa-f]{2})_")
_GROUPS: Mapping[str, Kind] = {
    "outline": "outline", "outlines": "outline", "levels": "level", "channels": "channel", "slits": "slit",
    "grain": "grain", "notches": "notch", "landmarks": "landmark", "old-line": "aside", "taken-away": "aside",
    "added": "aside", "dimensions": "aside", "names": "aside", "title": "aside", "test-square": "aside",
    "test squares": "aside", "page": "aside", "allowances": "aside", "seam-allowance": "aside", "cutting-line": "aside",
}  # fmt: skip
MARKS: Sequence[Kind] = ("level", "channel", "slit", "grain", "landmark", "notch")
"""The kinds of marks on a piece."""
_OUTLINE = "outline-"
LONGEST_WORDS = 40
_NOT_NAMES = ("cut ", "piece name:", "size:", "quantity:", "annotation:", "scale", "test", "grain", "place on", "fold",
              "waist", "hip", "bust", "underbust", "centre ", "center ", "seam allowance")  # fmt: skip
_NAME_IS = "piece name:"
_SIZE = re.compile(r"(?:[\d\s.,:/x×*]|by|in|inch|inches|mm|cm|\")+", re.IGNORECASE)
"""A size alone, such as stands on a test square, is no name."""

_CUT_WORDS = re.compile(r"[\s,;:(-]*\bcut\b.*$", re.IGNORECASE)
"""How many are cut, written after a piece's name."""

Names = Sequence[str]


class Said(Struct, frozen=True):
    """What the names of one thing come to."""

    kind: Kind
    piece: str
    part: str


def clean_name(text: str) -> str:
    """The name as it may stand in a pattern: printable, blanks single, not too long; empty when it says nothing."""
    short = _printable(_HIDDEN_CODE.sub(lambda found: chr(int(found[1], 16)), text[: 4 * LONGEST_NAME]))
    return "" if _BY_ITSELF.fullmatch(short) else short


def _printable(text: str) -> str:
    return " ".join(printable(text, instead=" ").split())[:LONGEST_NAME].strip()


def said_by(own: Names, groups: Sequence[Names], data: Mapping[str, str], *, closed: bool) -> Said:
    """What a thing is by its own names and those of the groups round it.

    Args:
        own: its names, the surest first.
        groups: the names of each group it lies in, from the innermost out.
        data: its own added data: piece, edge, mark.
        closed: whether it is a closed line, and so may be a whole outline.
    """
    kind = _first_kind((own, *groups))
    name = _name(own)
    round_it = next((found for names in groups if not _kind(names) and (found := _name(names))), "")
    said = _split(name, kind, round_it, closed=closed)
    if "mark" in data:
        mark, _, part = data["mark"].partition(" ")
        said = Said(cast(Kind, mark) if mark in MARKS else kind, said.piece, _printable(part))
    piece = _printable(data["piece"]) if "piece" in data else clean_name(said.piece)
    return Said(said.kind, piece, _printable(data["edge"]) if "edge" in data else _told_part(said, data))


def _told_part(said: Said, data: Mapping[str, str]) -> str:
    return said.part if "mark" in data else clean_name(said.part)


def _first_kind(things: Sequence[Names]) -> Kind:
    for names in things:
        if _kind(names):
            return _kind(names)
    return ""


def _kind(names: Names) -> Kind:
    return next((_GROUPS[name.lower()] for name in names if name.lower() in _GROUPS), "")


def _name(names: Names) -> str:
    if _kind(names):
        return ""
    return next((found for name in names if (found := clean_name(name))), "")


def _split(name: str, kind: Kind, round_it: str, *, closed: bool) -> Said:
    if name.startswith(_OUTLINE) and len(name) > len(_OUTLINE):
        return Said(kind or "outline", name.removeprefix(_OUTLINE), "")
    piece, _, rest = name.partition(".")
    mark, _, part = rest.partition(".")
    if piece and mark in MARKS:
        return Said(cast(Kind, mark), piece, part)
    if piece and rest:
        return Said(kind, piece, rest)
    if closed:
        return Said(kind, name or round_it, "")
    return Said(kind, round_it, name)


def name_in(texts: Sequence[str]) -> str:
    """The name that words on a piece give it: the first that do as one; empty for none."""
    for text in texts:
        if text.lower().startswith(_NAME_IS):
            return clean_name(text[len(_NAME_IS) :])
    short = [text for text in texts if len(text) <= LONGEST_WORDS and not text.lower().startswith(_NOT_NAMES)]
    named = (_CUT_WORDS.sub("", text) for text in short if any(c.isalpha() for c in text) and not _SIZE.fullmatch(text))
    return next((name for text in named if (name := clean_name(text))), "")


def cut_in(texts: Iterable[str]) -> str:
    """How words on a piece say that it is cut: fold or pair; empty where none say."""
    words = {word for text in texts for word in text.lower().replace(",", " ").split()}
    return "fold" if "fold" in words else "pair" if "pair" in words else ""


def apart_by_number(names: Sequence[str]) -> list[str]:
    """The names, those that stand more than once with a number of their own."""
    counts, seen, made = Counter(names), Counter[str](), list[str]()
    for name in names:
        seen[name] += 1
        made.append(f"{name}-{seen[name]}" if counts[name] > 1 else name)
    return made
