"""How true a photograph is, said from the card itself; and the photographs that are not true enough, refused.

What is said bounds the outline, as it lies, against the paper. Three things that have nothing to do with one another
are each taken at their worst and added as squares: what the cards' corners leave open of camera, lens and plane,
carried to each piece's own shape; how far paper that does not lie quite flat is shifted where it is seen aslant; and
how far the edge in the picture was seen to lie off the outline that was made of it. What no edge in a picture can tell
is added to that.
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
from diagnose.pattern.brought.photo.solving import Lies, Solved, placed

__all__ = ["MOST_MM", "SURE", "Truth", "checked_card", "stated"]

MOST_MM = 1.5
"""What is less true is refused."""

SURE = 2.6
"""So many standard deviations of camera and lens are said."""

FLAT_MM = 0.9
"""How far paper may stand up from the table where folds cross: seen aslant it shifts its outline."""

EDGE_MM = 0.15
"""How well an edge can be told at all: half the width of a cut's own roughness or of a pencil's line."""

MOST_TILT_DEG = 50.0
MOST_BLUR_MM = 0.7
MOST_BLUR_PX = 3.5
CARD_OFF_MM = 0.3
MOST_OFF_PX = 0.9


class Truth(Struct, frozen=True):
    """How true the outlines are: at the card, at the place that is least so, both in mm, and as a sentence."""

    card_mm: float
    worst_mm: float
    sentence: str


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
            what = (
                f"Card {card.number} does not lie flat: its corners are {off:.1f} mm off where a plane would have them."
            )
            raise FitError.of(
                name,
                what,
                "Print it on stiff paper, or pin it down at its corners, and take it again.",
                code="not-flat",
            )


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
        raise FitError.of(name, what, _MEND[int(np.argmax(parts))], code="too-far-from-card")
    return Truth(card, worst, f"By the card{several}, the outlines are true {at}.")


_MEND = (
    "Lay a second, different card at the far end (diagnose card --cards 2), and take it from nearer.",
    "Hold the telephone level, straight above the middle of the pattern, and see that all lies flat.",
    "See that the whole outline stands out sharply from the table, with nothing against it, and all lies flat.",
)
"""What to do by what makes a picture untrue: camera and lens, paper seen aslant, or the outline itself."""


def _tenths(mm: float) -> str:
    """A bound in tenths of a mm, never less than it is."""
    return f"{math.ceil(mm * 10.0 - 1e-9) / 10.0:.1f}"


def _border(lies: Lies) -> Array:
    return placed(
        np.array([(0, 0), (CARD_WIDE_MM, 0), (CARD_WIDE_MM, CARD_HIGH_MM), (0, CARD_HIGH_MM), (CARD_WIDE_MM / 2, 0.0)]),
        lies,
    )


def _off(solved: Sequence[tuple[Solved, Lies]], xy: Array, stray_mm: float) -> Array:
    """How far the places may lie off by camera and lens, by paper seen aslant, and by their own outline, in mm.

    Each is seen by the photograph that is nearest above it, as the picture is laid.
    """
    own = [_unplaced(xy, lies) for _, lies in solved]
    slants = np.stack([_slant(one, there) for (one, _), there in zip(solved, own, strict=True)])
    seen_by = slants.argmin(0)
    parts = [(one, there[seen_by == n]) for n, ((one, _), there) in enumerate(zip(solved, own, strict=True))]
    parts = [(one, there) for one, there in parts if len(there)]
    if len(parts) == 1:
        sd = float(parts[0][0].shape_sd_mm(parts[0][1]).max())
    else:  # what lies across two photographs hangs together by their card alone
        a, z = sorted(float(one.place_sd_mm(there).max()) for one, there in parts)[-2:]
        sd = float(np.hypot(a, z))
    return np.array([SURE * sd, FLAT_MM * float(slants.min(0).max()), stray_mm])


def _said(off: Array) -> float:
    """What is said of three such bounds together."""
    return float(np.sqrt((off**2).sum())) + EDGE_MM


def _slant(solved: Solved, own: Array) -> Array:
    """How aslant each place is seen: how far it lies from under the camera, by how high that is."""
    eye = solved.view.eye
    return np.asarray(np.hypot(*(own - eye[:2]).T) / abs(eye[2]))


def _unplaced(xy: Array, lies: Lies) -> Array:
    x, y, a = lies
    return (xy - [x, y]) @ np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
