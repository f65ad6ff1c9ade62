"""Taking decoded JSON apart strictly, gathering every mistake on the way.

Each function returns the value, or None once it has noted what is wrong with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TypeVar

from msgspec import Struct, field

from diagnose.errors import FitError, Mistake, first_ones, nearest, quoted
from diagnose.pattern.outline import Point, Polyline
from diagnose.pattern.tolerances import MOST_EXTRA_DEPTH
from diagnose.units import LONGEST_MM, SPELLINGS, Unit, read_length

__all__ = ["Reading"]

LONGEST_NAME = 100
LARGEST_EXTRA = 1e15

Word = TypeVar("Word", bound=str)


class Reading(Struct):
    """One input being read: the unit of text without one, and the mistakes found so far."""

    unit: Unit = "in"
    mistakes: list[Mistake] = field(default_factory=list)

    def note(self, where: str, what: str, do: str = "", *, code: str, typed: str = "") -> None:
        """Note one mistake."""
        self.mistakes.append(Mistake(where, what, do, code=code, typed=typed))

    def note_all(self, mistakes: Iterable[Mistake]) -> None:
        """Note several mistakes."""
        self.mistakes.extend(mistakes)

    def finish(self, where: str) -> None:
        """Refuse the input when anything was noted.

        Raises:
            FitError: with the mistakes; a long list is cut, and says by how much.
        """
        if self.mistakes:
            raise FitError(first_ones(self.mistakes, where))

    def number(self, raw: object, where: str) -> float | None:
        """A length in mm: a JSON number, or text as a maker writes it."""
        if type(raw) is float or type(raw) is int:
            if -LONGEST_MM <= raw <= LONGEST_MM:
                return float(raw)
            bad = quoted(raw)
            self.note(
                where,
                f"{bad} is not a length anyone can measure.",
                "Give a number of millimetres.",
                code="out-of-range",
            )
        elif isinstance(raw, str):
            try:
                return read_length(raw, where, self.unit)
            except FitError as error:
                self.note_all(error.mistakes)
        else:
            self.note(
                where,
                f"{quoted(raw)} is not a length.",
                f"Give a number of millimetres. {SPELLINGS}",
                code="not-a-length",
            )
        return None

    def point(self, raw: object, where: str) -> Point | None:
        """A point: a list of two lengths."""
        if not isinstance(raw, list | tuple) or len(raw) != 2:
            self.note(
                where,
                f"{quoted(raw)} is not a point.",
                typed="Write a point as [x, y], in millimetres.",
                code="not-a-point",
            )
            return None
        x, y = self.number(raw[0], where), self.number(raw[1], where)
        return None if x is None or y is None else Point(x, y)

    def line(self, raw: object, where: str, most: int) -> Polyline | None:
        """A line of two or more points, not all of them one and the same."""
        if not isinstance(raw, list | tuple) or not 2 <= len(raw) <= most:
            self.note(
                where,
                f"{quoted(raw)} is not a line.",
                typed="Write a line as two or more points: [[x, y], [x, y]].",
                code="not-a-line",
            )
            return None
        points = [self.point(p, f"{where}, point {n}") for n, p in enumerate(raw, 1)]
        whole = tuple(p for p in points if p is not None)
        if len(whole) < len(points):
            return None
        if all(p == whole[0] for p in whole):
            self.note(where, "All points of the line are one and the same.", "Give its two ends.", code="one-point")
            return None
        return whole

    def name(self, raw: object, where: str, key: str = "name") -> str | None:
        """A name: short printable text that is not blank."""
        if isinstance(raw, str) and raw.strip() and len(raw) <= LONGEST_NAME and raw.isprintable():
            return raw
        what = f"The {key} is missing." if raw is None else f"{quoted(raw)} does not do as a {key}."
        self.note(where, what, f"Give a {key} of 1 to {LONGEST_NAME} printable characters.", code="bad-name")
        return None

    def word(self, raw: object, known: Sequence[Word], where: str, key: str) -> Word | None:
        """One word of a closed list."""
        for word in known:
            if word == raw:
                return word
        if raw is None:
            self.note(where, f"The {key} is missing.", f"Give one of: {', '.join(known)}.", code="missing")
        else:
            near = nearest(raw, known) if isinstance(raw, str) and len(raw) <= LONGEST_NAME else ""
            self.note(
                where,
                f"{quoted(raw)} is no known {key}.",
                near or f"Give one of: {', '.join(known)}.",
                code="not-a-word",
            )
        return None

    def table(self, raw: object, where: str) -> Mapping[str, object] | None:
        """A JSON object."""
        if isinstance(raw, Mapping) and all(isinstance(key, str) for key in raw):
            return raw
        self.note(
            where,
            f"{quoted(raw)} stands where an object {{…}} is wanted.",
            typed="Write it as in the pattern form.",
            code="not-an-object",
        )
        return None

    def rows(self, raw: object, where: str, key: str, most: int, least: int = 0) -> Sequence[object]:
        """A JSON list of `least` to `most` entries; an empty one once something is wrong with it."""
        if isinstance(raw, list | tuple) and least <= len(raw) <= most:
            return raw
        if isinstance(raw, list | tuple):
            wanted = f"at least {least}" if len(raw) < least else f"at most {most}"
            self.note(where, f"“{key}” holds {len(raw)} entries.", f"Give {wanted}.", code="too-many")
        else:
            what = f"“{key}” is missing." if raw is None else f"“{key}” is {quoted(raw)}, not a list."
            self.note(where, what, "Write it as a list […].", code="not-a-list")
        return ()

    def others(self, raw: Mapping[str, object], known: Iterable[str], where: str) -> dict[str, object]:
        """The keys this program does not know, with their values, which must be plain finite JSON."""
        extra = {key: raw[key] for key in raw.keys() - set(known)}
        kept = {key: _plain(value, MOST_EXTRA_DEPTH) for key, value in sorted(extra.items())}
        for key in [key for key, value in kept.items() if value is _NOT_PLAIN]:
            do = "Keep it to text, finite numbers, true, false, null, lists and objects, not deeply nested."
            self.note(
                where, f"The added key {quoted(key)} holds something that can't be written back.", do, code="unkeepable"
            )
        return kept


_NOT_PLAIN = object()


def _plain(value: object, depth: int) -> object:
    """A copy of a plain finite JSON value, or the mark of one that is not."""
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, int | float):
        return value if abs(value) < LARGEST_EXTRA else _NOT_PLAIN
    if depth and isinstance(value, list | tuple):
        copied = [_plain(entry, depth - 1) for entry in value]
        return _NOT_PLAIN if any(entry is _NOT_PLAIN for entry in copied) else copied
    if depth and isinstance(value, Mapping) and all(isinstance(key, str) for key in value):
        copy = {key: _plain(entry, depth - 1) for key, entry in value.items()}
        return _NOT_PLAIN if any(entry is _NOT_PLAIN for entry in copy.values()) else copy
    return _NOT_PLAIN
