"""Reading a pattern file of any form that a maker brings."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.errors import FitError
from diagnose.pattern.brought import Terms, Understood
from diagnose.pattern.brought.photo import PHOTOGRAPHS

if TYPE_CHECKING:
    from diagnose.casebook import Photograph
    from diagnose.pattern.brought.sketch import Sketch
    from diagnose.pattern.brought.understood.labels import Labels

__all__ = ["read_pattern_file", "read_patterns"]

_FORMS = (
    "Give a stored pattern (.json), a point table (.csv), a drawing saved as .svg or .dxf, or photographs of it "
    "beside the card (.jpg .png .heic)."
)
_NO_FORMS = {".pdf": "a PDF", ".dwg": "a DWG", ".svgz": "a packed SVG", ".ai": "an AI drawing",
             ".eps": "an EPS drawing", ".webp": "a WebP picture", ".gif": "a GIF picture", ".bmp": "a BMP picture",
             ".tif": "a TIFF picture", ".tiff": "a TIFF picture", ".xlsx": "a spreadsheet", ".xls": "a spreadsheet",
             ".ods": "a spreadsheet"}  # fmt: skip


def read_pattern_file(path: Path, terms: Terms, labels: Path | None = None, length: str | None = None) -> Understood:
    """What a pattern file is understood to be: our JSON, a point table, SVG, DXF or a photograph.

    Args:
        path: the file; its ending says the form.
        terms: what is told beside it.
        labels: for drawings and photographs: a file that names pieces, edges, levels and seams.
        length: for drawings and photographs: a length to check the scale against, as ``NAME=LENGTH``.

    Raises:
        FitError: with every mistake of the file; where the labels file is missing, with a draft of one.
    """
    from diagnose.cli.progress import progress
    from diagnose.pattern.brought import bring, bring_sketch, file_bytes, read_sketch
    from diagnose.pattern.brought.bringing import DRAWINGS

    ending = path.suffix.lower()
    if ending in _NO_FORMS:
        raise FitError.of(
            path.name, f"This is {_NO_FORMS[ending]}; it can't be read as a pattern.", _FORMS, code="unknown-form"
        )
    if ending in PHOTOGRAPHS:
        return _read_photographs([path], terms, labels, length=length)[0]
    given = [name for name, value in (("--labels", labels), ("--length", length)) if value is not None]
    if given and ending not in DRAWINGS:
        what = f"{path.name} is no drawing: it names its pieces and lengths itself."
        raise FitError.of(" and ".join(given), what, "Leave the option out.", code="option-out-of-place")
    data = file_bytes(path)
    with progress(f"Reading {path.name}"):
        if ending not in DRAWINGS:
            return bring(data, path.name, terms)
        sketch = read_sketch(data, path.name, terms)
        return bring_sketch(sketch, terms, _labels(labels, sketch, terms), length=length)


def read_patterns(
    paths: Sequence[Path], terms: Terms, labels: Path | None, *, length: str | None, ruler: str | None
) -> tuple[Understood, Photograph | None]:
    """What a pattern's file, or its photographs, are understood to be; of photographs the straightened picture too.

    Args:
        paths: one file of any form, or several photographs.
        terms: what is told beside them.
        labels: for drawings and photographs: a file that names pieces, edges, levels and seams.
        length: for drawings and photographs: a length to check the scale against, as ``NAME=LENGTH``.
        ruler: for photographs: how long the card's rule measures.

    Raises:
        FitError: when several files are not all photographs, an option does not belong to them, or a file is unsound.
    """
    if _are_photographs(paths):
        return _read_photographs(paths, terms, labels, length=length, ruler=ruler)
    if ruler is not None:
        raise FitError.of(
            "--ruler", "It belongs to a photograph of the pattern.", "Leave the option out.", code="option-out-of-place"
        )
    return read_pattern_file(paths[0], terms, labels, length=length), None


def _are_photographs(paths: Sequence[Path]) -> bool:
    """Whether the files are photographs, by their endings.

    Raises:
        FitError: when several files are given and not all of them are.
    """
    photographs = [path.suffix.lower() in PHOTOGRAPHS for path in paths]
    if len(paths) > 1 and not all(photographs):
        what = f"{len(paths)} files are given, and not all of them are photographs."
        raise FitError.of(
            "--pattern", what, "Give one file, or several photographs (.jpg .png .heic).", code="mixed-files"
        )
    return all(photographs)


def _read_photographs(
    paths: Sequence[Path], terms: Terms, labels: Path | None = None, length: str | None = None, ruler: str | None = None
) -> tuple[Understood, Photograph | None]:
    """What photographs beside the card are understood to be, and the straightened picture once nothing is open."""
    from diagnose.casework.pattern_in import photograph_of, photographed
    from diagnose.cli.progress import progress
    from diagnose.pattern.brought import bring_sketch

    with progress(f"Reading {', '.join(path.name for path in paths)}"):
        found = photographed(paths, ruler, terms.unit)
    made = bring_sketch(found.sketch, terms, _labels(labels, found.sketch, terms), length=length)
    return made, photograph_of(found, made.pattern) if made.pattern else None


def _labels(path: Path | None, sketch: Sketch, terms: Terms) -> Labels:
    """What a labels file says; one that is not there is answered with what could stand in it."""
    from diagnose.pattern.brought import draft_of_sketch
    from diagnose.pattern.brought.understood.labels import NO_LABELS, read_labels
    from diagnose.rulebase.reading.yamlfile import read_yaml

    if path is None:
        return NO_LABELS
    if not path.exists():
        do = f"This draft may be kept under that name, corrected:\n\n{draft_of_sketch(sketch)}"
        raise FitError.of(str(path), "There is no such labels file.", do, code="no-such-file")
    return read_labels(read_yaml(path, path.name).data, path.name, terms.unit)
