"""Bones by their numbers, and sentences said with the names that a maker would use.

Bones are numbered through the whole pattern, from centre front to centre back, so that each has one number on every
sheet; a channel bears the number of its bone.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence

from diagnose.pattern.in_words import edge_words, piece_title, piece_words, seam_title, slit_title
from diagnose.pattern.outline import Channel, Pattern, pair_and_side
from diagnose.sentences import listed, upper_first

__all__ = ["Bones", "bone_number", "bone_numbers", "channels_words", "speaking"]

LAST_DIGITS = re.compile(r"\d+$")
NAMING = re.compile(r"['/“]|hannel")
"""What a sentence bears that may name something stored."""

Bones = Mapping[tuple[str, str], int]


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


def speaking(*patterns: Pattern | None) -> Callable[[str], str]:
    """Says a sentence that names what is stored with the names as she would say them.

    Args:
        patterns: one pattern, or its versions with the oldest first.
    """
    bones, known = bone_numbers(*patterns), [pattern for pattern in reversed(patterns) if pattern]
    return lambda text: _spoken(text, known, bones)


def _spoken(text: str, patterns: Iterable[Pattern], bones: Bones) -> str:
    if not NAMING.search(text):
        return text
    begins_with_a_name = text[:1] == "'"
    for pattern in patterns:
        for piece in sorted(pattern.pieces, key=lambda one: -len(one.name)):
            for edge in sorted(piece.edges, key=lambda one: -len(one.name)):
                text = _swapped(text, f"{piece.name}/{edge.name}", seam_title(piece, edge))
                text = _named(text, "edge", edge.name, words=edge_words(edge))
            for channel in sorted(piece.channels, key=lambda one: -len(one.name)):
                if "hannel" in text:
                    text = _swapped(text, channel.name, bone_number(bones, piece.name, channel.name), quoted=True)
            for slit in piece.slits:
                text = _named(text, "slit", slit.name, words=slit_title(slit.name))
            text = _named(text, "gore", piece.name, words=piece_words(piece)) if "gore" in piece.name else text
            text = _named(text, "piece", piece.name, words=piece_words(piece))
            text = text.replace(f"“{piece.name}”", f"“{piece_title(piece.name)}”")
        for seam in pattern.seams:
            text = text.replace(f"'{seam.name}'", f"“{seam.name.replace('-', ' ')}”")
    return upper_first(text) if begins_with_a_name else text


def _named(text: str, kind: str, name: str, words: str) -> str:
    """The text with a quoted name, and the word for its kind before it, said in words that say the kind themselves."""
    text = text.replace(f"{kind.capitalize()} '{name}'", upper_first(words))
    return text.replace(f"{kind} '{name}'", words).replace(f"'{name}'", words)


def _swapped(text: str, name: str, words: str, *, quoted: bool = False) -> str:
    if name not in text:
        return text
    quote = "" if not quoted else "'?" if re.search("[a-z]", name) else "'"
    return re.sub(rf"(?<![\w/-]){quote}{re.escape(name)}{quote}(?![\w/-])", words, text)
