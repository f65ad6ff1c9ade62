"""Markup (XML) taken in safely: no entities, nothing nested too deep, not too many elements.

A document with an internal subset of declarations is refused before anything in it is expanded; nothing outside the
file is ever fetched.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from diagnose.errors import FitError
from diagnose.pattern.brought.sketch import MOST_DEPTH, MOST_ELEMENTS, too_many

__all__ = ["local", "parse_markup"]

_PLAIN = "Save it from the drawing program as plain SVG."


def parse_markup(data: bytes, where: str) -> Element:
    """The root element; names carry their namespace in braces.

    Raises:
        FitError: when it declares entities, nests too deeply, holds too much or is not well formed.
    """
    if data[:2] == b"\x1f\x8b":
        raise FitError.of(where, "The file is packed (SVGZ).", _PLAIN, code="packed")
    taking = _Taking(where)
    parser = expat.ParserCreate(None, "}")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = taking.doctype
    parser.EntityDeclHandler = taking.entity
    parser.StartElementHandler = taking.start
    parser.EndElementHandler = taking.end
    parser.CharacterDataHandler = taking.builder.data
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        at = f"{where}, line {error.lineno}"
        why = expat.errors.messages.get(error.code, "it is not well formed")
        raise FitError.of(at, f"This is not sound XML: {why}.", _PLAIN, code="not-xml") from None
    except (LookupError, ValueError):  # how expat answers an encoding it does not know
        what = "The file names an encoding that can't be read."
        raise FitError.of(where, what, "Save it as UTF-8.", code="unknown-encoding") from None
    root: Element = taking.builder.close()
    return root


class _Taking:
    """The elements as they come, counted."""

    def __init__(self, where: str) -> None:
        self.where = where
        self.builder = TreeBuilder()
        self.depth = 0
        self.count = 0

    def doctype(self, name: str, system: str | None, public: str | None, has_subset: int) -> None:
        if has_subset:
            self.entity()

    def entity(self, *declared: object) -> None:
        what = "The file declares entities of its own; they are not expanded."
        raise FitError.of(self.where, what, _PLAIN, code="entities")

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        self.depth += 1
        self.count += 1
        if self.depth > MOST_DEPTH:
            what = f"Elements lie more than {MOST_DEPTH} deep in one another."
            raise FitError.of(self.where, what, _PLAIN, code="too-deep")
        if self.count > MOST_ELEMENTS:
            raise too_many(self.where, f"The file has more than {MOST_ELEMENTS} elements.")
        self.builder.start(tag, attributes)

    def end(self, tag: str) -> None:
        self.depth -= 1
        self.builder.end(tag)


def local(tag: str) -> str:
    """The name without its namespace."""
    return tag.rpartition("}")[2]
