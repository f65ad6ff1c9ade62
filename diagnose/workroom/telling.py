"""Mistakes as a page tells them: where, in her words, before what; and what is to be done on a page about them."""

from __future__ import annotations

import re
from collections.abc import Mapping

from diagnose.errors import Mistake
from diagnose.model.stations import STATIONS
from diagnose.sentences import upper_first

__all__ = ["FROM_A_COPY", "do_here", "where_here"]

BEGUN_FILE = re.compile(r"pattern(?:-(\d+))?\.\w+")
"""A file as it is kept while a case is begun; she knows it by another name."""
PICTURES = (".jpg", ".jpeg", ".png")
FILE = re.compile(r"[\w./ -]+\.(?:json|ya?ml|csv|tsv|txt|svg|dxf|zip|jpe?g|png)")
LINE = re.compile(r"(?:line|row) \d+")
PART = re.compile(r"(piece|outline|edge|level) (.+)")
FROM_A_COPY = (
    "Take what is named here from a copy; if you kept the whole case in one file, bring that file as a new case."
)

BRING_AGAIN = "Put it right in what you brought, and bring it again."

HERE: Mapping[str, str] = {
    "not-as-stored": FROM_A_COPY,
    "no-tryon": "Go to the case and try it on first.",
    "done-already": "To be without it, go back to an older version, under Versions.",
    "step-drawn": "Leave it out; to be without it, go back to an older version, under Versions.",
    "no-waist": "Say where it lies: type its height, or drag its line, under “Where do the levels lie?”.",
    "level-misses": "Give another height, under “Where do the levels lie?”.",
    "edges-out-of-order": "Say of each of them what it is, under “What is this edge?”.",
    "edges-unsure": "Tap the four on the drawing, under “Where are its corners?”.",
    "no-card": "Print the card, under “Only on paper? Photograph it”, and lay it beside.",
    "card-twice": "Lay different ones: the card is printed as two sheets, a card 1 and a card 2.",
    "printed-size": "Say what the rule on it measures, under “Only on paper? Photograph it”; or print it again at full "
    "size.",
    "too-far-from-card": "See that the card lies quite flat, lay the second sheet of it at the far end, and take it "
    "from nearer.",
    "no-value": "Write what the rule measures, like 199 mm.",
    "extra-missing": "Who put the program on this machine can add what reads them; a drawing can be brought without.",
    "edges-said": "Put them right in the file, and bring it again.",
    "scale": "Give one length you have measured.",
    "sizes": "Say which is hers. The outermost may be the cutting line alone, which is no size.",
    "wrong-scale": "Give one length you have measured, under “How long is one edge, measured?”.",
    "this-machine-only": "It has to be opened for the telephone too, where it is started.",
    "not-an-object": "Bring the drawing that it was made from, or another copy of it.",
}
"""What to do on a page, by the kind of mistake, where something is to be typed otherwise."""


def do_here(mistake: Mistake) -> str:
    """What to do about it on a page: of what is typed at a prompt or in a file, what stands for that here."""
    if not mistake.typed:
        return mistake.do
    return HERE.get(mistake.code) or mistake.do or BRING_AGAIN


def where_here(mistake: Mistake) -> str:
    """Where it stands, as she would say it; empty where the sentence says so itself, or the page shows it.

    Of what the program calls a place only pieces and their parts, levels, files and their lines, and the labels of the
    page's own fields are hers.
    """
    told = [words for part in mistake.where.split(", ") if (words := _hers(part))]
    left = [words for words in told if not _is_said(words.casefold(), mistake.what.casefold())]
    return ", ".join(left) if left and FILE.fullmatch(left[0]) else upper_first(", ".join(left))


def _is_said(words: str, sentence: str) -> bool:
    """Whether a sentence names that place; “front” alone may mean a direction, and is named only in quotes."""
    if f"“{words}”" in sentence:
        return True
    is_plain = " " in words or words in STATIONS
    return is_plain and bool(re.search(rf"(?<!\w){re.escape(words)}(?!\w)", sentence))


def _hers(part: str) -> str:
    if found := BEGUN_FILE.fullmatch(part):
        return f"photograph {found[1] or 1}" if part.endswith(PICTURES) else ""
    if FILE.fullmatch(part) or LINE.fullmatch(part):
        return part
    if found := PART.fullmatch(part):
        return _part(found[1], found[2])
    return part if part in STATIONS or part[:1].isupper() else ""


def _part(kind: str, name: str) -> str:
    from diagnose.pattern.in_words import piece_title  # the first page needs no pattern

    if kind == "level":
        return f"level {name}"
    called = re.sub(r"^\d+ ", "", name).strip("“”")
    return called.replace("-", " ") if kind == "edge" else piece_title(called)
