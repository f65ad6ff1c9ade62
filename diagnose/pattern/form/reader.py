"""Reading a stored pattern: decoded JSON in, a checked pattern out, or all its mistakes at once.

Coordinates are millimetres, x from centre front to centre back, y upwards, outlines counter-clockwise. A length may
also be text with a unit. Keys the program does not know are kept in `extra` and written back.
"""

from __future__ import annotations

import json
from collections import Counter

from diagnose.errors import FitError, quoted
from diagnose.pattern.form.checks import seam_mistakes
from diagnose.pattern.form.piece_reader import Row, extra_keys, named_rows, read_piece
from diagnose.pattern.form.strict import Reading
from diagnose.pattern.outline import EdgeRef, Pattern, Seam
from diagnose.pattern.tolerances import MOST_MARKS, MOST_PIECES
from diagnose.units import Unit

__all__ = ["CLOSURES", "FORMAT", "VERSION", "read_pattern", "read_stored"]

FORMAT = "stays-pattern"
VERSION = 1
CLOSURES = ("back", "front", "both")


def read_stored(text: str, where: str, unit: Unit = "in") -> Pattern:
    """The pattern of a text in the stored form.

    Args:
        text: JSON.
        where: the file's name, for messages.
        unit: the unit of a length given as text without one.

    Raises:
        FitError: for every mistake in it.
    """
    raw, doubled = _decoded(text, where)
    reading = Reading(unit)
    for key in doubled:
        reading.note(
            where, f"The key {quoted(key)} stands twice in one object.", "Leave one of the two out.", code="doubled-key"
        )
    return _read(raw, where, reading)


def _decoded(text: str, where: str) -> tuple[object, list[str]]:
    """The JSON of the text, and the keys that stand twice in one object."""
    doubled: list[str] = []

    def keyed(pairs: list[tuple[str, object]]) -> dict[str, object]:
        entries = dict(pairs)
        if len(entries) < len(pairs):
            doubled.extend(key for key, count in Counter(key for key, _ in pairs).items() if count > 1)
        return entries

    try:
        return json.loads(text, object_pairs_hook=keyed), doubled
    except RecursionError:
        raise FitError.of(
            where, "The file is nested too deeply.", "Give a pattern in the stored form.", code="too-deep"
        ) from None
    except json.JSONDecodeError as error:
        at = f"line {error.lineno}, column {error.colno}"
        raise FitError.of(
            f"{where}, {at}", f"This is not JSON: {error.msg}.", "Put it right there.", code="not-json"
        ) from None
    except ValueError:  # Python refuses whole numbers of thousands of digits
        raise FitError.of(
            where, "A number has too many digits.", "Give lengths in millimetres.", code="too-many-digits"
        ) from None


def read_pattern(raw: object, where: str = "pattern", unit: Unit = "in") -> Pattern:
    """The pattern of decoded JSON.

    Args:
        raw: the stored form.
        where: what the places of its mistakes begin with.
        unit: the unit of a length given as text without one; a number is millimetres.

    Raises:
        FitError: every mistake at once, each with its place and remedy.
    """
    return _read(raw, where, Reading(unit))


def _read(raw: object, where: str, reading: Reading) -> Pattern:
    top = reading.table(raw, where)
    pattern = _pattern(top or {}, where, reading) if top is not None else None
    reading.finish(where)
    assert pattern is not None
    return pattern


def _pattern(raw: Row, where: str, reading: Reading) -> Pattern:
    """The pattern as far as it could be read; sound only when nothing was noted."""
    _check_head(raw, where, reading)
    piece_rows = named_rows(raw.get("pieces"), where, "pieces", most=MOST_PIECES, reading=reading, least=1)
    pieces = [read_piece(row, name, at, reading=reading) for at, name, row in piece_rows]
    seam_rows = named_rows(raw.get("seams", ()), where, "seams", most=MOST_MARKS, reading=reading)
    seams = [_seam(row, name, at, reading=reading) for at, name, row in seam_rows]
    pattern = Pattern(
        name=reading.name(raw.get("name"), where) or "",
        closure=reading.word(raw.get("closure"), CLOSURES, where, key="closure") or "",
        pieces=tuple(piece for piece in pieces if piece is not None),
        seams=tuple(seam for seam in seams if seam is not None),
        extra=extra_keys(
            raw, "pattern", where, parts={"seams": [(name, row) for _, name, row in seam_rows]}, reading=reading
        ),
    )
    unread = {name for _, name, _ in piece_rows} - set(pattern.names)
    reading.note_all(seam_mistakes(pattern, where, unread, unit=reading.unit))
    return pattern


def _check_head(raw: Row, where: str, reading: Reading) -> None:
    if raw.get("format") != FORMAT:
        what = f"The format is {quoted(raw['format'])}." if "format" in raw else "The format is missing."
        reading.note(where, what, f'A stored pattern says "format": "{FORMAT}".', code="not-ours")
    version = raw.get("version")
    if type(version) is not int or version != VERSION:
        what = f"The version is {quoted(version)}." if "version" in raw else "The version is missing."
        reading.note(where, what, f"This program reads version {VERSION}.", code="later-version")


def _seam(raw: Row, name: str, where: str, reading: Reading) -> Seam | None:
    a, b = (_edge_ref(raw.get(key), f"{where}, {key}", reading) for key in ("a", "b"))
    ease = reading.number(raw.get("ease", 0.0), f"{where}, ease")
    return None if a is None or b is None or ease is None else Seam(name, a, b, ease=ease)


def _edge_ref(raw: object, where: str, reading: Reading) -> EdgeRef | None:
    if isinstance(raw, list | tuple) and len(raw) == 2:
        piece, edge = reading.name(raw[0], where, "piece"), reading.name(raw[1], where, "edge")
        return None if piece is None or edge is None else EdgeRef(piece, edge)
    what = "It is missing." if raw is None else f"{quoted(raw)} names no edge."
    reading.note(where, what, 'Name it as ["piece", "edge"], or ["piece", "slit:NAME"].', code="not-an-edge")
    return None
