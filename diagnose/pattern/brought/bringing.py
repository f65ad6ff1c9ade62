"""A drawing's bytes in, a checked pattern out, with what was presumed on the way."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.brought.drawings.outlines import outlines_of
from diagnose.pattern.brought.drawings.scale import check_scale
from diagnose.pattern.brought.drawings.sketch import Sketch, mirrored, rescaled
from diagnose.pattern.brought.understood.applying import apply_labels
from diagnose.pattern.brought.understood.finishing import finished, finished_draft
from diagnose.pattern.brought.understood.labels import NO_LABELS, Labels
from diagnose.pattern.brought.understood.marks import with_marks
from diagnose.pattern.brought.understood.proposal import Proposal, as_stored, propose
from diagnose.pattern.brought.understood.told import laid_back
from diagnose.pattern.outline import Pattern
from diagnose.units import Unit

__all__ = ["Brought", "bring_drawing", "draft_labels", "read_sketch"]


class Brought(Struct, frozen=True):
    """A pattern brought in, and sentences on what was presumed and checked."""

    pattern: Pattern
    said: tuple[str, ...]


def read_sketch(data: bytes, name: str) -> Sketch:
    """What a drawing holds; the ending of its name says the form (.dxf, else SVG).

    Raises:
        FitError: when the file is not sound, or is too much.
    """
    if name.lower().endswith(".dxf"):
        from diagnose.pattern.brought.drawings.dxf import (
            read_dxf,  # each reader is imported only for a file of its form
        )

        return read_dxf(data, name)
    from diagnose.pattern.brought.drawings.svg import read_svg

    return read_svg(data, name)


def bring_drawing(
    data: bytes, name: str, unit: Unit = "in", labels: Labels = NO_LABELS, length: str | None = None
) -> Brought:
    """The pattern of a drawing.

    Args:
        data: the file as it stands.
        name: its name; the ending says the form.
        unit: the unit of lengths in sentences, and of `length` without one.
        labels: what a labels file says.
        length: a known length, as ``NAME=LENGTH``, to check the scale by.

    Raises:
        FitError: when the file is not sound, something needed can't be presumed, a label fits nothing, the scale is
            wrong, or the pattern does not hold.
    """
    sketch, proposal = _proposed(data, name, labels)
    proposal = apply_labels(proposal, labels)
    checked = (check_scale(proposal.pieces, length, unit, sketch.unit_mm),) if length else ()
    pattern, told = finished(proposal, name, unit)
    return Brought(pattern, (*told, *checked))


def draft_labels(data: bytes, name: str) -> str:
    """A labels file that says what would be presumed of a drawing, to be corrected and kept.

    Raises:
        FitError: when the drawing is not sound, or holds no outline.
    """
    _, proposal = _proposed(data, name, NO_LABELS)
    return finished_draft(proposal)


def _proposed(data: bytes, name: str, labels: Labels) -> tuple[Sketch, Proposal]:
    """The drawing at the labels' scale and way round, and what it is presumed to be."""
    sketch = laid_back(read_sketch(data, name))
    if labels.scale_mm is not None:
        sketch = rescaled(sketch, labels.scale_mm)
    if labels.from_right:
        sketch = mirrored(sketch)
    outlines, said = outlines_of(sketch)
    proposal = as_stored(with_marks(propose(outlines, name.rpartition(".")[0] or name), sketch))
    return sketch, replace(proposal, said=(*sketch.said, *said, *proposal.said))
