"""Pages as text: the templates, and what stands ready in all of them."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from jinja2 import Environment
from markupsafe import Markup, escape

from diagnose.errors import Mistake
from diagnose.places import bundled_rules
from diagnose.sentences import kept_together, lower_first, upper_first
from diagnose.sheets.templates import templates_of
from diagnose.workroom.asked import url
from diagnose.workroom.telling import do_here, where_here

if TYPE_CHECKING:
    from diagnose.sheets.drawn.drawing import Drawing
    from diagnose.units import Unit

__all__ = ["ASSETS", "Terms", "asset_path", "message", "page", "query_of", "templates_read", "words_linked"]

HERE = Path(__file__).parent
ASSETS = {"workroom.css": "text/css", "workroom.js": "text/javascript"}
_NOT_TEXT = re.compile(
    r"""<(head|a|button|label|summary|legend|select|textarea|svg|script|style|code)\b.*?</\1\s*>"""
    r"""|<(?:"[^"]*"|'[^']*'|[^'">])*>""",
    re.DOTALL,
)
"""A tag, or an element whole in which nothing may be linked: what is pressed, drawn or linked already."""
_WITHIN = re.compile(r"<(select|textarea|button|svg)\b.*?</\1\s*>", re.DOTALL)
"""What stands within a label, and is not what it says."""
_BETWEEN_TAGS = re.compile(r">([^<]+)<")
WORDS = "terms.yaml"
WORDS_HERE = "<!--words-->"
"""Stands in a template where the words that could be linked nowhere before it are told, each with its link."""


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
        """A page, or a part of one, with the links in its text; what is linked or pressed already stays as it is.

        A word that stands in no text has its mark beside the first label that holds it; one that is only drawn, pressed
        or picked is told at the next `WORDS_HERE`.
        """
        seen: set[str] = set()
        texts, others, at = list[str](), list[str](), 0
        for match in _NOT_TEXT.finditer(made):
            texts.append(self._with_links(made[at : match.start()], seen))
            others.append(match[0])
            at = match.end()
        rest = self._with_links(made[at:], seen)
        others = [self._marked(one, seen) for one in others]
        others = [*self._told_where_asked(others, seen)]
        return Markup("".join(text + other for text, other in zip(texts, others, strict=True)) + rest)

    def _marked(self, made: str, seen: set[str]) -> str:
        """A label with a mark beside it for each of its words that leads nowhere yet; anything else as it is.

        Those of a drawing's layers lie folded away: their words are told with those of the drawing.
        """
        if not made.startswith(("<label", "<legend")) or "data-layer" in made:
            return made
        words = {place: word for place, word in self._words_in(_WITHIN.sub("", made)).items() if place not in seen}
        seen.update(words)
        marks = "".join(
            f'<a class="term mark" href="/handbook/{place}" title="{word}" aria-label="{word}: what it means">?</a>'
            for place, word in words.items()
        )
        return made + marks if made.startswith("<legend") or not marks else f'<span class="marked">{made}{marks}</span>'

    def _told_where_asked(self, others: Sequence[str], seen: set[str]) -> Iterator[str]:
        """All that is no text, with the words that could be linked nowhere told where a template asks for them."""
        asked = [n for n, one in enumerate(others) if one == WORDS_HERE]
        ends = [*asked[:-1], len(others)]
        from_ = 0
        for n, one in enumerate(others):
            if one != WORDS_HERE:
                yield one
                continue
            end = ends[asked.index(n)]
            words = {
                place: word for place, word in self._words_in("".join(others[from_:end])).items() if place not in seen
            }
            seen.update(words)
            links = ", ".join(f'<a class="term" href="/handbook/{place}">{word}</a>' for place, word in words.items())
            yield f'<p class="words-here">Words here: {links}.</p>' if links else ""
            from_ = end

    def _words_in(self, made: str) -> dict[str, str]:
        """The words that stand between the tags of an element, each once, by the page it leads to."""
        if self._found is None:
            return {}
        words: dict[str, str] = {}
        for text in _BETWEEN_TAGS.findall(made):
            for match in self._found.finditer(text):
                words.setdefault(self._place(match[0]), match[0].lower())
        return words

    def _place(self, word: str) -> str:
        """Where a word leads, as it stands in a page."""
        return self._pages.get(str(Markup(word).unescape()).casefold(), "")

    def _with_links(self, plain: str, seen: set[str]) -> str:
        def link(match: re.Match[str]) -> str:
            place = self._place(match[0])
            if not place or place in seen:
                return match[0]
            seen.add(place)
            return f'<a class="term" href="/handbook/{place}">{match[0]}</a>'

        return self._found.sub(link, plain) if self._found is not None else plain


def words_linked(made: str) -> Markup:
    """A page, or a part of one, with each word of the trade linked to what it means."""
    return _trade_words().linked_page(made)


@cache
def _trade_words() -> Terms:
    """The words, out of their list alone: the first page waits for no other rule."""
    from diagnose.rulebase.reading.yamlfile import read_yaml
    from diagnose.sheets.entry_pages import page_of

    rows = read_yaml(bundled_rules() / WORDS, WORDS).data["terms"]
    return Terms({form: page_of("terms", row["id"]) for row in rows for form in (row["word"], *row.get("also", ()))})


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


def templates_read() -> None:
    """Read all templates, so that no page waits for its own."""
    for name in _templates().list_templates():
        _templates().get_template(name)
    _trade_words()


@lru_cache(maxsize=1)
def _templates() -> Environment:
    made = templates_of(HERE / "templates")
    made.globals |= {"asset": asset_path, "url": url, "picture": _picture, "query_of": query_of}
    made.filters |= {
        "upper_first": upper_first, "lower_first": lower_first, "with_unit": _with_unit, "kept": kept_together,
        "piece_title": _piece_title, "words_linked": words_linked,
        "where_here": where_here, "do_here": do_here,
    }  # fmt: skip
    return made


def query_of(ways: Sequence[str]) -> str:
    """The ways taken, as they stand in an address."""
    return urlencode({"way": ways}, doseq=True)


def _with_unit(told: object, unit: Unit) -> str:
    """What she told of the wearer, with its unit."""
    from diagnose.casework.glance import as_told

    return as_told(told, unit)


def _piece_title(name: str) -> str:
    """A piece as she calls it, and as the drawing does."""
    from diagnose.pattern.in_words import piece_title

    return piece_title(name)


def _picture(drawing: Drawing, label: str, kind: str = "") -> Markup:
    """A drawing within a page."""
    from diagnose.sheets.writers.svg import picture_svg

    return picture_svg(drawing, label, kind)
