"""The words that the entries use: those of strength with their numbers, and the figures named in by-hand steps."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import get_args

from diagnose.errors import Mistake
from diagnose.rulebase.reading.load import RuleFolder
from diagnose.rulebase.reading.schema import Cause, Shows, Unexplained

__all__ = ["BY_HAND_FIGURES", "check_words"]

BY_HAND_FIGURES = ("amount", "half", "seam", "edge")
"""What may stand in braces in a by-hand step."""
GIRTH_ONLY = ("half", "seam", "edge")
WORDS: Mapping[str, tuple[str, ...]] = {
    "shows": get_args(Shows),
    "common": get_args(Cause.model_fields["common"].annotation),
    "unexplained": get_args(Unexplained),
    "thresholds": ("act", "maybe"),
}
_BRACES = re.compile(r"\{([^{}]*)\}?|\}")


def check_words(read: RuleFolder) -> Iterator[Mistake]:
    """Every word of strength without its number, or with a wrong one; every unknown figure in a by-hand step."""
    for kind, words in WORDS.items():
        yield from _strengths(read, kind, words, getattr(read.rules.words, kind))
    for alteration in read.rules.alterations.values():
        for i, step in enumerate(alteration.by_hand):
            where = read.at("alterations", alteration.id, "by_hand", i)
            yield from _figures(step, where, girth=alteration.kind == "girth")


def _strengths(read: RuleFolder, kind: str, words: tuple[str, ...], given: Mapping[str, float]) -> Iterator[Mistake]:
    where = read.at("words", "", kind)
    for word in words:
        if word not in given:
            yield Mistake(where, f"'{word}' has no number under {kind}.", "Add it: a chance between 0 and 1.")
    for word, value in given.items():
        here = read.at("words", "", kind, word)
        if word not in words:
            yield Mistake(here, f"No entry may use the word '{word}' under {kind}.", f"Words: {', '.join(words)}.")
        elif not 0.0 < value < 1.0:
            yield Mistake(here, f"'{word}' is worth {value:g}, which is no chance.", "Give more than 0, less than 1.")
    ranked = [given[word] for word in words if word in given]
    if ranked != sorted(ranked, reverse=True):
        yield Mistake(where, f"The numbers under {kind} do not fall with their words.", f"Order: {', '.join(words)}.")


def _figures(step: str, where: str, *, girth: bool) -> Iterator[Mistake]:
    known = BY_HAND_FIGURES if girth else tuple(name for name in BY_HAND_FIGURES if name not in GIRTH_ONLY)
    for match in _BRACES.finditer(step):
        if match[1] not in known or not match[0].endswith("}"):
            say = f"A step by hand has “{match[0]}”, which is no figure{'' if girth else ' of a length'}."
            yield Mistake(where, say, f"Figures: {', '.join(f'{{{name}}}' for name in known)}.")
