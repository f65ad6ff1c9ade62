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

__all__ = ["ASSETS", "Terms", "asset_path", "message", "page", "query_of", "words_linked"]

HERE = Path(__file__).parent
ASSETS = {"workroom.css": "text/css", "workroom.js": "text/javascript"}
_WITHIN = re.compile(r"(?<=\d) (?=\d+/\d|(?:in|mm|cm|m|yd)\b)")
_NOT_TEXT = re.compile(
    r"""<(head|a|button|label|summary|legend|select|textarea|svg|script|style|code)\b.*?</\1\s*>"""
    r"""|<(?:"[^"]*"|'[^']*'|[^'">])*>""",
    re.DOTALL,
)
"""A tag, or an element whole in which nothing may be linked: what is pressed, drawn or linked already."""


class Terms:
    """Words that lead to their pages of the handbook, each where it stands the first time.

    Args:
        places: the handbook's page of each word.
    """

    def __init__(self, places: Mapping[str, str]) -> None:
        self._pages = {word.casefold(): place for word, place in places.items()}
        longest_first = sorted(self._pages, key=len, reverse=True)
        words = "|".join(re.escape(str(escape(word))) for word in longest_first)
        self._found = re.compile(rf"(?<![\w-])(?:{words})(?![\w-])", re.IGNORECASE) if words else None

    def linked(self, text: str) -> Markup:
        """A sentence, escaped, with its links."""
        return Markup(self._with_links(str(escape(kept_together(text))), set()))

    def linked_page(self, made: str) -> Markup:
        """A page, or a part of one, with the links in its text; what is linked or pressed already stays as it is."""
        seen: set[str] = set()
        parts, at = list[str](), 0
        for match in _NOT_TEXT.finditer(made):
            parts += [self._with_links(made[at : match.start()], seen), match[0]]
            at = match.end()
        return Markup("".join((*parts, self._with_links(made[at:], seen))))

    def _with_links(self, plain: str, seen: set[str]) -> str:
        def link(match: re.Match[str]) -> str:
            place = self._pages.get(str(Markup(match[0]).unescape()).casefold())
            if place is None or place in seen:
                return match[0]
            seen.add(place)
            return f'<a class="term" href="/handbook/{place}">{match[0]}</a>'

        return self._found.sub(link, plain) if self._found is not None else plain


def words_linked(made: str) -> Markup:
    """A page, or a part of one, with each word of the trade linked to what it means."""
    return _trade_words().linked_page(made)


@cache
def _trade_words() -> Terms:
    from diagnose.casework.working import usual_base
    from diagnose.sheets.handbook.linking import page_of

    terms = usual_base().entries.terms.terms
    return Terms({form: page_of("terms", term.id) for term in terms for form in (term.word, *term.also)})


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
    made.filters["words_linked"] = words_linked
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
