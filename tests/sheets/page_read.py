"""A page strictly read: its tags, links, ids, headings and words, and what is nested wrongly."""

from __future__ import annotations

from collections import Counter
from html.parser import HTMLParser

VOID = {"meta", "link", "br", "hr", "img", "input", "path"}


class Page(HTMLParser):
    """`wrong` is empty where every tag is closed in its turn."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.links: list[str] = []
        self.ids: list[str] = []
        self.headings: list[str] = []
        self.wrong: list[str] = []
        self._open: list[str] = []
        self._words: list[str] = []
        self.feed(text)
        self.close()
        self.wrong += [f"{tag} is never closed" for tag in self._open]

    @property
    def counts(self) -> Counter[str]:
        """How often each tag stands on it."""
        return Counter(tag for tag, _ in self.tags)

    @property
    def words(self) -> str:
        """What is read on it, as it stands in the file."""
        return "".join(self._words)

    @property
    def text(self) -> str:
        """What is read on it on one line, whatever was parted by a tag parted by a blank."""
        return " ".join(" ".join(self._words).split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.tags.append((tag, given))
        self.ids += [str(given["id"])] if "id" in given else []
        self.links += [str(given[name]) for name in ("href", "src") if given.get(name)]
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        if not self._open or self._open.pop() != tag:
            self.wrong.append(f"</{tag}> closes nothing")

    def handle_data(self, data: str) -> None:
        if "style" not in self._open:
            self._words.append(data)
            if self._open and self._open[-1] in ("h1", "h2"):
                self.headings.append(data.strip())
