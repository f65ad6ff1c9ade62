"""Reading a pattern file of any form that a maker brings."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.errors import FitError
from diagnose.files import bytes_of
from diagnose.pattern.outline import Pattern
from diagnose.units import Unit

if TYPE_CHECKING:
    from diagnose.casebook import Photograph
    from diagnose.pattern.brought.understood.labels import Labels

__all__ = ["are_photographs", "read_pattern_file", "read_photographs"]

DRAWINGS = (".svg", ".dxf")
PHOTOGRAPHS = (".jpg", ".jpeg", ".png", ".heic", ".heif")
_FORMS = (
    "Give a stored pattern (.json), a point table (.csv), a drawing saved as .svg or .dxf, or photographs of it "
    "beside the card (.jpg .png .heic)."
)
_NO_FORMS = {".pdf": "a PDF", ".dwg": "a DWG", ".svgz": "a packed SVG", ".ai": "an AI drawing",
             ".eps": "an EPS drawing", ".webp": "a WebP picture", ".gif": "a GIF picture", ".bmp": "a BMP picture",
             ".tif": "a TIFF picture", ".tiff": "a TIFF picture"}  # fmt: skip


def read_pattern_file(path: Path, unit: Unit, labels: Path | None = None, length: str | None = None) -> Pattern:
    """The pattern of a file: our JSON, a point table, SVG, DXF or a photograph. What was presumed is told on stderr.

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
    if ending in PHOTOGRAPHS:
        return read_photographs([path], unit, labels, length)[0]
    if ending in DRAWINGS:
        return _drawing(path, unit, labels, length)
    given = [name for name, value in (("--labels", labels), ("--length", length)) if value is not None]
    if given:
        what = f"{path.name} is no drawing: it names its pieces and lengths itself."
        raise FitError.of(" and ".join(given), what, "Leave the option out.")
    from diagnose.pattern.form.reader import load_pattern

    return load_pattern(path, unit)


def are_photographs(paths: Sequence[Path]) -> bool:
    """Whether the files are photographs, by their endings.

    Raises:
        FitError: when several files are given and not all of them are.
    """
    photographs = [path.suffix.lower() in PHOTOGRAPHS for path in paths]
    if len(paths) > 1 and not all(photographs):
        what = f"{len(paths)} files are given, and not all of them are photographs."
        raise FitError.of("--pattern", what, "Give one file, or several photographs (.jpg .png .heic).")
    return all(photographs)


def read_photographs(
    paths: Sequence[Path], unit: Unit, labels: Path | None = None, length: str | None = None, ruler: str | None = None
) -> tuple[Pattern, Photograph]:
    """The pattern of photographs beside the card, and the straightened picture. What was presumed is told on stderr.

    Args:
        paths: the photographs.
        unit: of lengths written without one.
        labels: a file that names pieces, edges, levels and seams.
        length: a length to check the scale against, as ``NAME=LENGTH``.
        ruler: how long the card's rule measures, and the line across too where it was measured: ``199 mm, 91.5 mm``.

    Raises:
        FitError: when one is no sound photograph, or not true enough; where the labels file is missing, with a draft.
    """
    from diagnose.casebook import Photograph
    from diagnose.cli.progress import progress
    from diagnose.pattern.brought import Terms, bring_sketch, draft_of_sketch
    from diagnose.pattern.brought.photo.opening import LARGEST_PHOTO
    from diagnose.pattern.brought.photo.reading import read_photos
    from diagnose.pattern.brought.photo.ruler import printed_of

    printed = None if ruler is None else printed_of(ruler, unit)
    files = [(_bytes_of(path, LARGEST_PHOTO), path.name) for path in paths]
    with progress(f"Reading {', '.join(path.name for path in paths)}"):
        found = read_photos(files, printed)
    if labels is not None and not labels.exists():
        raise _no_labels(labels, draft_of_sketch(found.sketch))
    brought = bring_sketch(found.sketch, Terms(unit), _labels(labels, unit), length)
    _tell(brought.said, labels)
    pattern = brought.settled()
    picture, (left, bottom, right, top) = found.under(pattern)
    within, said = found.truth.worst_mm, found.truth.sentence
    return pattern, Photograph(picture, left, bottom, right, top, within, said)


def _drawing(path: Path, unit: Unit, labels: Path | None, length: str | None) -> Pattern:
    from diagnose.cli.progress import progress
    from diagnose.pattern.brought import Terms, bring_drawing, draft_labels
    from diagnose.pattern.brought.drawings.sketch import LARGEST_FILE

    data = _bytes_of(path, LARGEST_FILE)
    if labels is not None and not labels.exists():
        raise _no_labels(labels, draft_labels(data, path.name))
    told = _labels(labels, unit)
    with progress(f"Reading {path.name}"):
        brought = bring_drawing(data, path.name, Terms(unit), told, length)
    _tell(brought.said, labels)
    return brought.settled()


def _labels(path: Path | None, unit: Unit) -> Labels:
    from diagnose.pattern.brought.understood.labels import NO_LABELS, read_labels
    from diagnose.rulebase.reading.yamlfile import read_yaml

    return NO_LABELS if path is None else read_labels(read_yaml(path, path.name).data, path.name, unit)


def _tell(said: Sequence[str], labels: Path | None) -> None:
    from diagnose.cli.printing import talk

    for sentence in said:
        talk(sentence)
    if said and labels is None:
        talk("To say otherwise, give a labels file with --labels; name a new one, and a draft of it is shown.")


def _bytes_of(path: Path, most: int) -> bytes:
    try:
        data = bytes_of(path, most)
    except OSError as error:
        reason = error.strerror or "it can't be opened"
        raise FitError.of(str(path), f"The file can't be read: {reason}.", "Look at its name and place.") from None
    if len(data) > most:
        what = f"The file is larger than {most // 1_000_000} MB."
        raise FitError.of(path.name, what, "Leave out what is not pattern.")
    return data


def _no_labels(labels: Path, draft: str) -> FitError:
    """The error of a labels file that is not there, with what could stand in it."""
    do = f"This draft may be kept under that name, corrected:\n\n{draft}"
    return FitError.of(str(labels), "There is no such labels file.", do)
