"""Pages as text: the templates, and what stands ready in all of them."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from diagnose.errors import Mistake
from diagnose.workroom.asked import url

if TYPE_CHECKING:
    from diagnose.sheets.drawn.drawing import Drawing

__all__ = ["ASSETS", "Terms", "asset_path", "message", "page", "query_of"]

HERE = Path(__file__).parent
ASSETS = {"workroom.css": "text/css", "workroom.js": "text/javascript"}
_WITHIN = re.compile(r"(?<=\d) (?=\d+/\d|(?:in|mm|cm|m|yd)\b)")
LEAST_TERM = 6
"""Titles shorter than this are words of every day, and would be linked where they mean nothing."""


class Terms:
    """Sentences with each entry of the handbook linked where its title stands in them, the first time.

    Args:
        titles: the handbook's page of each title.
    """

    def __init__(self, titles: Mapping[str, str]) -> None:
        self._pages = {title.casefold(): place for title, place in titles.items() if len(title) >= LEAST_TERM}
        longest_first = sorted(self._pages, key=len, reverse=True)
        words = "|".join(re.escape(str(escape(title))) for title in longest_first)
        self._found = re.compile(rf"(?<!\w)(?:{words})(?!\w)", re.IGNORECASE) if words else None

    def linked(self, text: str) -> Markup:
        """The text, escaped, with its links."""
        plain = str(escape(kept_together(text)))
        if self._found is None:
            return Markup(plain)
        seen: set[str] = set()

        def link(match: re.Match[str]) -> str:
            place = self._pages.get(str(Markup(match[0]).unescape()).casefold())
            if place is None or place in seen:
                return match[0]
            seen.add(place)
            return f'<a class="term" href="/handbook/{place}">{match[0]}</a>'

        return Markup(self._found.sub(link, plain))


def page(template: str, **values: Any) -> str:
    """A page of a template."""
    return _templates().get_template(template).render(**values)


def message(title: str, text: str, wrong: Sequence[Mistake] = (), back: str = "/") -> str:
    """A page that only says something, and leads back."""
    return page("message.html.j2", title=title, text=text, wrong=wrong, back=back)


@cache
def asset_path(name: str) -> str:
    """Where a style or script is served: under a hash of what it holds, so that none is ever stale."""
    return f"/static/{hashlib.sha256((HERE / 'static' / name).read_bytes()).hexdigest()[:16]}/{name}"


@lru_cache(maxsize=1)
def _templates() -> Environment:
    loader = FileSystemLoader(HERE / "templates")
    made = Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    made.globals |= {"asset": asset_path, "url": url, "picture": _picture, "query_of": query_of}
    made.filters |= {"upper_first": _upper_first, "kept": kept_together, "piece_title": _piece_title}
    return made


def query_of(ways: Mapping[str, str] | Sequence[str]) -> str:
    """The ways taken, as they stand in an address."""
    rows = [f"{step}={way}" for step, way in ways.items()] if isinstance(ways, Mapping) else ways
    return urlencode([("way", row) for row in rows])


def kept_together(text: str) -> str:
    """The text with each length in one piece, wherever the line ends."""
    return _WITHIN.sub("\N{NO-BREAK SPACE}", text)


def _upper_first(text: str) -> str:
    return text[:1].upper() + text[1:]


def _piece_title(name: str) -> str:
    """A piece as she calls it, and as the drawing does."""
    from diagnose.sheets.words.names import piece_title

    return piece_title(name)


def _picture(drawing: Drawing, label: str, kind: str = "") -> Markup:
    """A drawing within a page; `picture_svg` has escaped every word in it."""
    from diagnose.sheets.writers.svg import picture_svg

    return Markup(picture_svg(drawing, label, kind))
