"""What a maker might do without advice: plain rules for the girth, on the same wearers, worked on the figures alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from random import Random

from loop_garments import HEIGHTS
from loop_tryon import errors
from loop_wearers import INCH, Wearer

__all__ = ["plain_rules"]

Gaps = Mapping[str, float]
EIGHTH = INCH / 8
FITS_MM = 3 / 8 * INCH


def plain_rules(wearers: Sequence[Wearer]) -> list[tuple[str, str, str]]:
    """For each rule its name, and how many wearers fitted in girth within two and within four rounds."""
    rules: Mapping[str, Callable[[Gaps], Gaps]] = {
        "the whole error at each station, edges bent freely": lambda e: e,
        "the whole error, lacing edges straight": _on_straight_edges,
        "the mean error everywhere": lambda e: dict.fromkeys(e, sum(e.values()) / len(e)),
        "half the error at each station": lambda e: {s: v / 2 for s, v in e.items()},
    }
    found = []
    for name, rule in rules.items():
        counts = [_rounds(wearer, rule) for wearer in wearers]
        within = [sum(c is not None and c <= most for c in counts) for most in (2, 4)]
        found.append((name, *(f"{n} of {len(wearers)}" for n in within)))
    return [(name, two, four) for name, two, four in found]


def _rounds(wearer: Wearer, rule: Callable[[Gaps], Gaps]) -> int | None:
    """After how many rounds the gap is on its target at every station; a closed gap tells no more than closed."""
    chance = Random(wearer.seed)
    left = dict(errors(wearer.body, wearer.pattern).girth)
    for number in range(5):
        if all(abs(e * wearer.body.give[s]) <= FITS_MM for s, e in left.items()):
            return number
        gaps = {s: wearer.body.target[s] - wearer.body.give[s] * e for s, e in left.items()}
        read = {s: max(0, round((gap + chance.uniform(-EIGHTH, EIGHTH)) / EIGHTH)) * EIGHTH for s, gap in gaps.items()}
        change = rule({s: wearer.body.target[s] - gap for s, gap in read.items()})
        left = {s: e - change[s] for s, e in left.items()}
    return None


def _on_straight_edges(error: Gaps) -> Gaps:
    """The straight line nearest to the errors, as the lacing edge would be slanted and moved."""
    heights = [HEIGHTS[s] for s in error]
    middle, mean = sum(heights) / len(heights), sum(error.values()) / len(error)
    spread = sum((h - middle) ** 2 for h in heights)
    slope = sum((HEIGHTS[s] - middle) * (e - mean) for s, e in error.items()) / spread
    return {s: mean + slope * (HEIGHTS[s] - middle) for s in error}
