"""Small drawings for the tests: a two-panel corset in SVG and DXF, in one piece or in many, and outlines compared."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from typing import Any

import ezdxf

from diagnose.pattern.brought import Terms
from diagnose.pattern.brought import bring as bring_file
from diagnose.pattern.brought.understood.labels import NO_LABELS, Labels
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.outline import Edge, Line, Pattern, Piece, Point

FRONT = "M0 0 L120 0 L100 150 L125 320 L0 300 Z"
BACK = "M160 0 L280 0 L280 310 L155 320 L180 150 Z"
"""Two panels 300 to 320 mm high, y upwards, their facing seams bent in at 150: 2 x 323.2 mm long."""

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"'


def svg(body: str, size: str = 'width="400mm" height="400mm" viewBox="0 0 400 400"') -> bytes:
    return f"{HEAD} {size}>{body}</svg>".encode()


def down(path: str, high: float = 400.0) -> str:
    """The same path for a medium whose y runs down."""
    words = path.replace("M", " M ").replace("L", " L ").replace("Z", " Z ").split()
    numbers = 0
    out = []
    for word in words:
        if word.isalpha():
            out.append(word)
            continue
        numbers += 1
        out.append(word if numbers % 2 else f"{high - float(word):g}")
    return " ".join(out)


def plain_svg() -> bytes:
    return svg(f'<path d="{down(FRONT)}"/><path d="{down(BACK)}"/>')


def bring(data: bytes, name: str = "x.svg", labels: Labels = NO_LABELS, length: str | None = None) -> Pattern:
    return bring_file(data, name, Terms("in"), labels, length).settled()


def said(data: bytes, name: str = "x.svg", labels: Labels = NO_LABELS) -> str:
    return "\n".join(bring_file(data, name, Terms("in"), labels).said)


def edges_of(piece: Piece) -> list[tuple[str, str]]:
    return [(edge.name, edge.role) for edge in piece.edges]


UNMOVED = Point(0.0, 0.0)


def off_mm(one: Piece, other: Piece, move: Point = UNMOVED) -> float:
    """How far the two outlines lie apart at most, `other` carried by the move: each walked along the other."""
    return max(_off(one.edges, other.edges, move), _off(other.edges, one.edges, Point(-move.x, -move.y)))


def _off(edges: Sequence[Edge], others: Sequence[Edge], move: Point) -> float:
    run = [segment for edge in others for segment in edge.segments]
    points = [p for edge in edges for segment in edge.segments for p in flatten(segment, 0.5)]
    return max(run_nearest(run, Point(p.x - move.x, p.y - move.y))[1] for p in points)


def dxf(unit: int = 4, version: str = "R2000") -> Any:
    document = ezdxf.new(version)
    document.header["$INSUNITS"] = unit
    return document


def dxf_bytes(document: Any) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def draw_dxf(document: Any, pieces: Iterable[Piece], per_mm: float = 1.0, layer: str = "14") -> None:
    """Each segment of each piece as a LINE or a cubic SPLINE."""
    space = document.modelspace()
    for piece in pieces:
        for segment in (segment for edge in piece.edges for segment in edge.segments):
            points = [segment.start, segment.end] if isinstance(segment, Line) else [
                segment.start, segment.c1, segment.c2, segment.end]  # fmt: skip
            at = [(p.x * per_mm, p.y * per_mm) for p in points]
            if len(at) == 2:
                space.add_line(*at, dxfattribs={"layer": layer})
            else:
                space.add_open_spline(at, degree=3, dxfattribs={"layer": layer})
