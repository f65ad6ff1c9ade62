"""The one door for her pattern, whatever its form: a file's bytes in, what it is understood to be out."""

from __future__ import annotations

from msgspec import structs

from diagnose.pattern.brought.drawings.scale import check_scale
from diagnose.pattern.brought.drawings.sketch import Sketch
from diagnose.pattern.brought.understanding import USUAL, Terms, Understood, drafted, understand
from diagnose.pattern.brought.understood.labels import NO_LABELS, Labels

__all__ = ["bring_drawing", "bring_sketch", "draft_labels", "draft_of_sketch", "read_sketch"]


def read_sketch(data: bytes, name: str) -> Sketch:
    """What a drawing holds; the ending of its name says the form (.dxf, else SVG).

    Raises:
        FitError: when the file is not sound, or is too much.
    """
    # Each reader is imported only for a file of its form.
    if name.lower().endswith(".dxf"):
        from diagnose.pattern.brought.drawings.dxf import read_dxf

        return read_dxf(data, name)
    from diagnose.pattern.brought.drawings.svg import read_svg

    return read_svg(data, name)


def bring_drawing(
    data: bytes, name: str, terms: Terms = USUAL, labels: Labels = NO_LABELS, length: str | None = None
) -> Understood:
    """What a drawing is understood to be.

    Args:
        data: the file as it stands.
        name: its name; the ending says the form.
        terms: what is told beside it.
        labels: what a labels file says.
        length: a known length, as ``NAME=LENGTH``, to check the scale by.

    Raises:
        FitError: when the file is not sound or holds no outline, a label fits nothing, or the scale is wrong.
    """
    return bring_sketch(read_sketch(data, name), terms, labels, length)


def bring_sketch(
    sketch: Sketch, terms: Terms = USUAL, labels: Labels = NO_LABELS, length: str | None = None
) -> Understood:
    """What a sketch is understood to be, whatever it was read from; the arguments are those of `bring_drawing`.

    Raises:
        FitError: when it holds no outline, a label fits nothing, or the scale is wrong.
    """
    made = understand(sketch, labels, terms)
    if not length:
        return made
    checked = check_scale(made.proposal.pieces, length, terms.unit, made.scale_mm)
    return structs.replace(made, said=(*made.said, checked))


def draft_labels(data: bytes, name: str) -> str:
    """A labels file that says what would be presumed of a drawing, to be corrected and kept.

    Raises:
        FitError: when the drawing is not sound, or holds no outline.
    """
    return draft_of_sketch(read_sketch(data, name))


def draft_of_sketch(sketch: Sketch) -> str:
    """A labels file that says what would be presumed of a sketch.

    Raises:
        FitError: when it holds no outline.
    """
    made = understand(sketch)
    return drafted(made.proposal, made.seams)
