"""Which page of the handbook an entry of the rule base stands on."""

from __future__ import annotations

__all__ = ["FOLDERS", "TERMS_PAGE", "page_of"]

FOLDERS = {"symptoms": "signs", "causes": "causes", "alterations": "alterations", "questions": "questions"}
TERMS_PAGE = "terms.html"


def page_of(kind: str, entry: str) -> str:
    """The page of an entry, from the folder of the handbook: ``signs/spill-at-front.html``; words share one page."""
    if kind == "terms":
        return f"{TERMS_PAGE}#{entry}"
    return f"{FOLDERS[kind]}/{entry}.html"
