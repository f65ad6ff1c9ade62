"""The one door for her pattern, whatever its form: a file's bytes in, what it is understood to be out."""

from __future__ import annotations

import codecs
from contextlib import suppress
from pathlib import Path

from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.files import bytes_of
from diagnose.pattern.brought.drawings.joining import Ring
from diagnose.pattern.brought.drawings.outlines import Outline
from diagnose.pattern.brought.sketch import LARGEST_FILE, Sketch
from diagnose.pattern.brought.table import bring_table
from diagnose.pattern.brought.understanding import USUAL, Terms, Understood, drafted, understand, understood_of
from diagnose.pattern.brought.understood.applying import apply_labels
from diagnose.pattern.brought.understood.edges_presumed import sides_of
from diagnose.pattern.brought.understood.joining_edges import none_joined
from diagnose.pattern.brought.understood.labels import NO_LABELS, Labels
from diagnose.pattern.brought.understood.proposal import Proposal, Proposed
from diagnose.pattern.brought.understood.scale import check_scale
from diagnose.pattern.form.reader import read_stored
from diagnose.pattern.measure import outline_segments
from diagnose.pattern.outline import Pattern

__all__ = [
    "DRAWINGS", "TABLES", "bring", "bring_sketch", "draft_of_sketch", "file_bytes", "load_pattern", "read_sketch",
]  # fmt: skip

DRAWINGS = (".svg", ".dxf")
TABLES = (".csv", ".tsv", ".txt")


def load_pattern(path: Path) -> Pattern:
    """The pattern in a file of any form, where nothing of it is open.

    Raises:
        FitError: when the file can't be read, or for everything that is wrong or open in it.
    """
    data = file_bytes(path)
    if path.suffix.lower() in (*DRAWINGS, *TABLES):
        return bring(data, path.name).settled()
    return read_stored(_text(data, path.name), path.name)


def file_bytes(path: Path, most: int = LARGEST_FILE) -> bytes:
    """What stands in a file of hers.

    Raises:
        FitError: when it can't be read, or is too large.
    """
    try:
        data = bytes_of(path, most)
    except OSError as error:
        reason = error.strerror or "it can't be opened"
        raise FitError.of(
            str(path), f"The file can't be read: {reason}.", "Look at its name and place.", code="unreadable"
        ) from None
    return _of_a_size(data, path.name, most)


def _of_a_size(data: bytes, name: str, most: int = LARGEST_FILE) -> bytes:
    """The file as it stands, where it is not too large."""
    if len(data) > most:
        what = f"The file is larger than {most // 1_000_000} MB."
        raise FitError.of(name, what, "Leave out pictures and what is not pattern.", code="too-large")
    return data


def bring(
    data: bytes, name: str, terms: Terms = USUAL, labels: Labels = NO_LABELS, length: str | None = None
) -> Understood:
    """What a file is understood to be.

    Args:
        data: the file as it stands.
        name: its name; the ending says the form: .svg, .dxf, .csv (or .tsv, .txt), else the stored form.
        terms: what is told beside it.
        labels: what is said of its pieces, edges, levels and seams.
        length: a known length, as ``NAME=LENGTH``, to check the scale by.

    Raises:
        FitError: when the file is not sound or holds no outline, a label fits nothing, or the scale is wrong.
    """
    ending = Path(name).suffix.lower()
    if ending in DRAWINGS:
        return bring_sketch(read_sketch(data, name, terms), terms, labels, length=length)
    none_joined([*labels.pieces.values()])
    if ending in TABLES:
        return bring_table(_table_text(data, name), name, terms, labels=labels)
    pattern = read_stored(_text(data, name), name, terms.unit)
    proposal = apply_labels(_as_proposal(pattern), labels, terms.unit)
    return understood_of(proposal, name, terms, labels=labels, checked=pattern if labels == NO_LABELS else None)


def _text(data: bytes, name: str) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FitError.of(name, "The file is not text in UTF-8.", "Save it as UTF-8.", code="not-text") from None


def _table_text(data: bytes, name: str) -> str:
    """The text of a table, as spreadsheets save it: UTF-8, UTF-16, or the old one of Western Europe."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16", errors="replace")
    if b"\0" in data:
        do = "If it is a spreadsheet's own file, save it there as CSV, and give that."
        raise FitError.of(name, "This is not a table as text.", do, code="not-text")
    for encoding in ("utf-8-sig", "cp1252"):
        with suppress(UnicodeDecodeError):
            return data.decode(encoding)
    return _text(data, name)


def _as_proposal(pattern: Pattern) -> Proposal:
    """A stored pattern as a proposal of which nothing need be presumed."""
    pieces = [
        Proposed(
            Outline(n, piece.name, Ring(outline_segments(piece), (), told={"number": str(n)})), piece,
            sides_of(piece.edges), given=(True,) * len(piece.edges),
        )
        for n, piece in enumerate(pattern.pieces, 1)
    ]  # fmt: skip
    return Proposal(pattern.name, pattern.closure, tuple(pieces), said=(), seams=pattern.seams, extra=pattern.extra)


def read_sketch(data: bytes, name: str, terms: Terms = USUAL) -> Sketch:
    """What a drawing holds; the ending of its name says the form (.dxf, else SVG).

    Args:
        data: the file as it stands.
        name: its name.
        terms: what is told beside it: her unit is that of the drawing, where it names none.

    Raises:
        FitError: when the file is not sound, or is too much.
    """
    told, data = terms.unit if terms.is_told else None, _of_a_size(data, name)
    # Each reader is imported only for a file of its form.
    if name.lower().endswith(".dxf"):
        from diagnose.pattern.brought.drawings.dxf_drawing import read_dxf

        return read_dxf(data, name, told)
    from diagnose.pattern.brought.drawings.svg_drawing import read_svg

    return read_svg(data, name, told)


def bring_sketch(
    sketch: Sketch, terms: Terms = USUAL, labels: Labels = NO_LABELS, length: str | None = None
) -> Understood:
    """What a sketch is understood to be, whatever it was read from; the arguments are those of `bring`.

    Raises:
        FitError: when it holds no outline, a label fits nothing, or the scale is wrong.
    """
    made = understand(sketch, labels, terms)
    if not length:
        return made
    checked = check_scale(made.proposal.pieces, length, terms.unit, unit_mm=made.scale_mm)
    asks = tuple(ask for ask in made.asks if ask.code != "sure-pixels")
    return replace(made, said=(*made.said, checked), asks=asks)


def draft_of_sketch(sketch: Sketch) -> str:
    """A labels file that says what would be presumed of a sketch.

    Raises:
        FitError: when it holds no outline.
    """
    made = understand(sketch)
    return drafted(made.proposal, [one.seam for one in made.seams])
