"""Reading a pattern file of any form that a maker brings."""

from __future__ import annotations

from pathlib import Path

from diagnose.errors import FitError
from diagnose.files import bytes_of
from diagnose.pattern.outline import Pattern
from diagnose.units import Unit

__all__ = ["read_pattern_file"]

DRAWINGS = (".svg", ".dxf")
_FORMS = "Give a stored pattern (.json), a point table (.csv), or a drawing saved as .svg or .dxf."
_NO_FORMS = {".pdf": "a PDF", ".dwg": "a DWG", ".svgz": "a packed SVG", ".png": "a picture", ".jpg": "a picture",
             ".jpeg": "a picture", ".ai": "an AI drawing", ".eps": "an EPS drawing"}  # fmt: skip


def read_pattern_file(path: Path, unit: Unit, labels: Path | None = None, length: str | None = None) -> Pattern:
    """The pattern of a file: our JSON, a point table, SVG or DXF. What was presumed is told on stderr.

    Args:
        path: the file; its ending says the form.
        unit: of lengths written without one.
        labels: for drawings: a file that names pieces, edges, levels and seams.
        length: for drawings: a length to check the scale against, as ``NAME=LENGTH``.

    Raises:
        FitError: with every mistake of the file; where the labels file is missing, with a draft of one.
    """
    ending = path.suffix.lower()
    if ending in _NO_FORMS:
        raise FitError.of(path.name, f"This is {_NO_FORMS[ending]}; it can't be read as a pattern.", _FORMS)
    if ending in DRAWINGS:
        return _drawing(path, unit, labels, length)
    given = [name for name, value in (("--labels", labels), ("--length", length)) if value is not None]
    if given:
        what = f"{path.name} is no drawing: it names its pieces and lengths itself."
        raise FitError.of(" and ".join(given), what, "Leave the option out.")
    from diagnose.pattern.form.reader import load_pattern

    return load_pattern(path, unit)


def _drawing(path: Path, unit: Unit, labels: Path | None, length: str | None) -> Pattern:
    from diagnose.cli.printing import talk
    from diagnose.cli.progress import progress
    from diagnose.pattern.brought import Terms, bring_drawing
    from diagnose.pattern.brought.understood.labels import NO_LABELS, read_labels
    from diagnose.rulebase.reading.yamlfile import read_yaml

    data = _bytes_of(path)
    if labels is not None and not labels.exists():
        raise _with_draft(data, path.name, labels)
    told = NO_LABELS if labels is None else read_labels(read_yaml(labels, labels.name).data, labels.name, unit)
    with progress(f"Reading {path.name}"):
        brought = bring_drawing(data, path.name, Terms(unit), told, length)
    for sentence in brought.said:
        talk(sentence)
    if brought.said and labels is None:
        talk("To say otherwise, give a labels file with --labels; name a new one, and a draft of it is shown.")
    return brought.settled()


def _bytes_of(path: Path) -> bytes:
    from diagnose.pattern.brought.drawings.sketch import LARGEST_FILE

    try:
        data = bytes_of(path, LARGEST_FILE)
    except OSError as error:
        reason = error.strerror or "it can't be opened"
        raise FitError.of(str(path), f"The file can't be read: {reason}.", "Look at its name and place.") from None
    if len(data) > LARGEST_FILE:
        raise FitError.of(path.name, "The file is larger than 20 MB.", "Leave out pictures and what is not pattern.")
    return data


def _with_draft(data: bytes, name: str, labels: Path) -> FitError:
    """The error of a labels file that is not there, with what could stand in it."""
    from diagnose.pattern.brought import draft_labels

    do = f"This draft may be kept under that name, corrected:\n\n{draft_labels(data, name)}"
    return FitError.of(str(labels), "There is no such labels file.", do)
