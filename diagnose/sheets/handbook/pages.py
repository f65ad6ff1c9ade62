"""The pages of the handbook: which there are, what each is made from, and all of them written into a folder."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cache, partial
from itertools import groupby
from pathlib import Path
from typing import Any

from jinja2 import Environment
from msgspec import Struct

from diagnose.casebook.safely import PART_PREFIX, filled
from diagnose.errors import FitError
from diagnose.pattern.outline import Pattern
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.entries import Alteration, EntryOfItsOwn
from diagnose.rulebase.reading.schema import RuleSet, Term
from diagnose.sheets.entry_pages import FOLDERS, page_of
from diagnose.sheets.handbook.examples import bundled_patterns, work_example
from diagnose.sheets.handbook.linking import Links
from diagnose.sheets.templates import templates_of
from diagnose.sheets.writers.svg import picture_svg, sign_svg
from diagnose.units import both

__all__ = ["FINDER", "STYLE", "Entry", "a_to_z", "count_pages", "make_handbook", "page_at", "pages"]

Progress = Callable[[int, int], None]

TEMPLATES = Path(__file__).parent / "templates"
STYLE = "handbook.css"
FINDER = "find.js"
PLURALS = {"symptoms": "Signs", "causes": "Causes", "alterations": "Alterations", "questions": "Questions"}
SINGLE = ("index", "a-to-z", "garments", "order", "cautions", "readings", "terms", "sources")
ENTRY_TEMPLATES = {kind: f"{kind.removesuffix('s')}.html.j2" for kind in FOLDERS}


class Entry(Struct, frozen=True):
    """A line of an index: which entry, its title, and more words that it is found by."""

    kind: str
    id: str
    title: str
    words: str = ""


def count_pages(rules: RuleSet) -> int:
    """How many pages the handbook has."""
    return len(SINGLE) + len(FOLDERS) + sum(map(len, rules.by_kind.values()))


def pages(base: RuleBase) -> Iterator[tuple[str, str]]:
    """Each page: its place in the folder of the handbook, and its text."""
    for place, made in _makers(base):
        yield place, made()


def page_at(base: RuleBase, place: str) -> str | None:
    """The page at a place in the folder of the handbook; None when there is none."""
    made = dict(_makers(base)).get(place)
    return made() if made is not None else None


def _makers(base: RuleBase) -> Iterator[tuple[str, Callable[[], str]]]:
    """The place of each page, and what makes it."""
    rules, patterns = base.entries, bundled_patterns()
    for name in SINGLE:
        yield f"{name}.html", partial(_single, name, base)
    for kind, folder in FOLDERS.items():
        yield f"{folder}.html", partial(_render, "entries.html.j2", base, "", kind=kind, groups=_groups)
        for entry in rules.by_kind[kind].values():
            yield page_of(kind, entry.id), partial(_entry_page, kind, entry, base, patterns)


def _single(name: str, base: RuleBase) -> str:
    return _render(f"{name}.html.j2", base, "", entries=a_to_z(base.entries), groups=_groups)


def _entry_page(kind: str, entry: EntryOfItsOwn, base: RuleBase, patterns: Sequence[Pattern]) -> str:
    more = {"worked": work_example(entry, base, patterns)} if isinstance(entry, Alteration) else {}
    return _render(ENTRY_TEMPLATES[kind], base, "../", entry=entry, **more)


def a_to_z(rules: RuleSet) -> list[tuple[str, list[Entry]]]:
    """All entries by the first letter of their titles."""
    entries = [
        Entry(kind, entry.id, entry.title, words=_words_of(entry))
        for kind in FOLDERS
        for entry in rules.by_kind[kind].values()
    ]
    words = (Entry("terms", term.id, term.title, words=_words_of(term)) for term in rules.terms.terms)
    entries += words
    entries.sort(key=lambda entry: entry.title.casefold())
    return [(letter, list(own)) for letter, own in groupby(entries, key=lambda entry: entry.title[0].upper())]


def _words_of(entry: EntryOfItsOwn | Term) -> str:
    """What an entry is about, in its own words."""
    said = (getattr(entry, name, "") for name in ("see", "ask", "because", "group", "meaning"))
    return " ".join(text for text in (*said, entry.id.replace("-", " ")) if text)


def _groups(rules: RuleSet, kind: str) -> list[tuple[str, list[EntryOfItsOwn]]]:
    """The entries of a kind by group, in the order of the rule base; questions stand in one."""
    found: dict[str, list[EntryOfItsOwn]] = {}
    for entry in rules.by_kind[kind].values():
        found.setdefault(getattr(entry, "group", "questions").replace("-", " "), []).append(entry)
    return list(found.items())


def _render(template: str, base: RuleBase, root: str, **more: Any) -> str:
    rules, unit = base.entries, base.settings.unit
    links = Links(rules, unit, root)
    return _environment().get_template(template).render(
        rules=rules, base=base, links=links, root=root, style=STYLE, kinds=PLURALS, folders=FOLDERS,
        length=lambda mm: both(mm, unit), **more,
    )  # fmt: skip


@cache
def _environment() -> Environment:
    environment = templates_of(TEMPLATES)
    environment.globals |= {"picture": picture_svg, "sign": sign_svg}
    environment.filters["words"] = lambda text: text.replace("-", " ")
    environment.filters["in_100"] = lambda chance: f"{100.0 * chance:.2g} in 100"
    return environment


def make_handbook(
    base: RuleBase, folder: Path, progress: Progress | None = None, made: Callable[[Path], None] | None = None
) -> Path:
    """Write the handbook of a rule base; its front page is returned.

    Args:
        base: the rules; lengths are told in the unit of its settings.
        folder: a folder that is not there yet, is empty, or holds a handbook, which is written over.
        progress: told after each page how many are done, and of how many.
        made: told the folder beside that holds all of it, before it is moved into its place.

    Raises:
        FitError: when the folder holds something else, or can't be written.
    """
    _ready(folder)
    with filled(folder) as part:
        for name in (STYLE, FINDER):
            _write(part / name, (TEMPLATES / name).read_text(encoding="utf-8"))
        total = count_pages(base.entries)
        for done, (place, text) in enumerate(pages(base), 1):
            _write(part / place, text)
            if progress is not None:
                progress(done, total)
        if made is not None:
            made(part)
    return folder / "index.html"


def _ready(folder: Path) -> None:
    if folder.exists() and not folder.is_dir():
        raise FitError.of(
            str(folder), "This is a file, not a folder.", "Name a folder for the handbook.", code="not-a-folder"
        )
    others = [path for path in folder.iterdir() if not path.name.startswith(PART_PREFIX)] if folder.is_dir() else []
    if others and not (folder / STYLE).is_file():
        raise FitError.of(
            str(folder), "The folder holds something else.", "Name an empty folder, or a new one.", code="folder-in-use"
        )


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
