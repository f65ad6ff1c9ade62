"""How true a photograph is, said from the card itself; and the photographs that are not true enough, refused.

What is said bounds the outline, as it lies, against the paper. What has nothing to do with one another is taken at its
worst and added as squares: what the cards' corners leave open of camera, lens and plane, carried to each piece's own
shape; how far paper that does not lie quite flat is shifted where it is seen aslant, with how far the edge in the
picture was seen to lie off the outline that was made of it, which a fold causes too; and a card that lies a little
higher than the pattern. What no edge in a picture can tell is added to that.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct

from diagnose.errors import FitError
from diagnose.pattern.brought.photo.cards import FoundCard
from diagnose.pattern.brought.photo.chequers import CARD_HIGH_MM, CARD_WIDE_MM
from diagnose.pattern.brought.photo.found.fitting import Fitted
from diagnose.pattern.brought.photo.lens import Array
from diagnose.pattern.brought.photo.solving import Lies, Solved, placed, unplaced

__all__ = ["MOST_MM", "SURE", "Truth", "checked_card", "stated"]

MOST_MM = 1.5
"""What is less true is refused."""

SURE = 2.6
"""So many standard deviations of camera and lens are said."""

FLAT_MM = 0.9
"""How far paper may stand up from the table where folds cross: seen aslant it shifts its outline."""

LEVEL_MM = 0.5
"""How much higher than the pattern a card may lie: what is nearer to the camera looks larger, the rest smaller."""

EDGE_MM = 0.15
"""How well an edge can be told at all: half the width of a cut's own roughness or of a pencil's line."""

MOST_TILT_DEG = 50.0
MOST_BLUR_MM = 0.7
MOST_BLUR_PX = 3.5
CARD_OFF_MM = 0.3
MOST_OFF_PX = 0.9


class Truth(Struct, frozen=True):
    """How true the outlines are: at the card, at the place that is least so, both in mm, and as a sentence.

    `level` says what a card that lies higher than the pattern would make of it, which no picture shows.
    """

    card_mm: float
    worst_mm: float
    sentence: str
    level: str


def checked_card(solved: Solved, blur: Sequence[tuple[float, FoundCard]], name: str) -> None:
    """Refuses a photograph that can't be measured by.

    Raises:
        FitError: when it is too oblique or blurred, or a card does not lie flat.
    """
    if solved.view.tilt_deg > MOST_TILT_DEG:
        what = f"The picture was taken too aslant: {solved.view.tilt_deg:.0f}° from straight above."
        raise FitError.of(
            name, what, "Hold the telephone level, straight above the middle of the pattern.", code="too-aslant"
        )
    for smeared, card in blur:
        cell = _pixel_mm(solved, card)
        if smeared * cell > MOST_BLUR_MM or smeared > MOST_BLUR_PX:
            what = (
                f"The picture is blurred: an edge on card {card.number} is smeared over {2.5 * smeared * cell:.1f} mm."
            )
            raise FitError.of(
                name, what, "Take it again in more light, with the telephone held still or propped up.", code="blurred"
            )
    for _, card in blur:
        off = solved.off_mm[card.number]
        if (off > CARD_OFF_MM and off / _pixel_mm(solved, card) > MOST_OFF_PX / 2) or off > 2 * CARD_OFF_MM:
            off_by = f"its corners are {off:.1f} mm off where a plane would have them"
            what, do = (
                f"Card {card.number} does not lie flat: {off_by}.",
                "Print it on stiff paper, pin it at its corners",
            )
            if len(blur) > 1:
                what = (
                    f"Card {card.number} does not lie flat, or was printed to another size than the others: {off_by}."
                )
                do = "Print all in one go at full size, pin them flat on one table"
            raise FitError.of(name, what, f"{do}, and take it again.", code="not-flat")


def _pixel_mm(solved: Solved, card: FoundCard) -> float:
    middle = card.px.mean(0)[None]
    a, z, d = (solved.view.table(middle + step) for step in ([0.0, 0.0], [1.0, 0.0], [0.0, 1.0]))
    return float(max(np.hypot(*(z - a)[0]), np.hypot(*(d - a)[0])))


def stated(
    solved: Sequence[Sequence[tuple[Solved, Lies]]], cards: Mapping[int, Lies], rings: Sequence[Array],
    outlines: Sequence[Fitted], name: str,
) -> Truth:  # fmt: skip
    """How true the outlines are.

    Args:
        solved: for each outline the photographs that it is seen by, each with where its frame lies in the common one.
        cards: where the cards lie in it.
        rings: the traced outlines.
        outlines: what was fitted to each.
        name: for messages.

    Raises:
        FitError: when it is not true enough.
    """
    every = max(solved, key=len)
    card = max(_said(_off(every, _border(lies), 0.0)) for lies in cards.values())
    each = [
        _off(seen_by, ring[:: max(1, len(ring) // 60)], one.stray_mm)
        for seen_by, ring, one in zip(solved, rings, outlines, strict=True)
    ]
    parts = max(each, key=_said)
    worst = _said(parts)
    card, several = min(card, worst), "s" if len(cards) > 1 else ""
    place = "far corner" if len(rings) == 1 else f"piece farthest from {'them' if several else 'it'}"
    low, high = _tenths(card), _tenths(worst)
    at = f"within {high} mm" if low == high else f"within {low} mm at the card{several}, {high} mm at the {place}"
    if worst > MOST_MM:
        what = f"The outlines would be true only {at}; no more than {MOST_MM} mm is taken."
        do, typed = _MEND[int(np.argmax(parts))]
        raise FitError.of(name, what, do, typed=typed, code="too-far-from-card")
    level = (
        f"Card{several} and pattern must lie on one flat table: each millimetre that a card lies higher makes the "
        f"longest piece {_tenths(max(2.0 * float(parts[LEVEL]) / LEVEL_MM for parts in each))} mm shorter."
    )
    sentence = f"By the card{several}, the outlines are true {at}."
    return Truth(card_mm=card, worst_mm=worst, sentence=sentence, level=level)


_MEND = (
    ("", "See that the card lies quite flat, lay a second, different card at the far end (diagnose card --cards 2), "
     "and take it from nearer."),
    ("Hold the telephone level, straight above the middle of the pattern, and see that all lies flat.", ""),
    ("Take it from farther off, the card and the pattern on one flat table.", ""),
    ("Lay it on a plain ground that is much lighter or darker, with nothing against it, flat and sharp in the picture.",
     ""),
)  # fmt: skip
"""What to do by what makes a picture untrue: camera and lens, paper seen aslant, the card's height, or the outline."""

LEVEL = 2
"""Which of these is the card's height."""


def _tenths(mm: float) -> str:
    """A bound in tenths of a mm, never less than it is."""
    return f"{math.ceil(mm * 10.0 - 1e-9) / 10.0:.1f}"


def _border(lies: Lies) -> Array:
    return placed(
        np.array([(0, 0), (CARD_WIDE_MM, 0), (CARD_WIDE_MM, CARD_HIGH_MM), (0, CARD_HIGH_MM), (CARD_WIDE_MM / 2, 0.0)]),
        lies,
    )


def _off(solved: Sequence[tuple[Solved, Lies]], xy: Array, stray_mm: float) -> Array:
    """How far the places may lie off by camera and lens, paper seen aslant, a card that lies higher, and their outline.

    Each is seen by the photograph that is nearest above it, as the picture is laid.
    """
    own = [unplaced(xy, lies) for _, lies in solved]
    slants = np.stack([_slant(one, there) for (one, _), there in zip(solved, own, strict=True)])
    seen_by = slants.argmin(0)
    parts = [(one, there[seen_by == n]) for n, ((one, _), there) in enumerate(zip(solved, own, strict=True))]
    parts = [(one, there) for one, there in parts if len(there)]
    if len(parts) == 1:
        sd = float(np.max(parts[0][0].shape_sd_mm(parts[0][1])))
    else:  # what lies across two photographs hangs together by their card alone
        a, z = sorted(float(np.max(one.place_sd_mm(there))) for one, there in parts)[-2:]
        sd = float(np.hypot(a, z))
    height = max(abs(float(one.view.eye[2])) for one, _ in solved)
    level = LEVEL_MM * float(np.max(np.hypot(*(xy - xy.mean(0)).T))) / height
    return np.array([SURE * sd, FLAT_MM * float(np.max(slants.min(0))), level, stray_mm])


def _said(off: Array) -> float:
    """What is said of such bounds together: a fold shifts the outline and bends it, so these two add up."""
    lens, aslant, level, stray = off
    return float(np.sqrt(lens**2 + (aslant + stray) ** 2 + level**2)) + EDGE_MM


def _slant(solved: Solved, own: Array) -> Array:
    """How aslant each place is seen: how far it lies from under the camera, by how high that is."""
    eye = solved.view.eye
    return np.asarray(np.hypot(*(own - eye[:2]).T) / abs(eye[2]))
